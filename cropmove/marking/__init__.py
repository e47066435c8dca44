"""Marks for the set: one function for each thing a user can ask of what is moved by hand."""

from cropmove.marking.crops import crop, write_crop
from cropmove.marking.depth import boxes, layers, layers_csv
from cropmove.marking.paper import list_as, shooting_list, tape
from cropmove.marking.prints import Prints, write
from cropmove.marking.table import findings, marks, on_ones
from cropmove.marking.timed import StopwatchWish, stopwatch
from cropmove.marking.twins import twin, write_twin

__all__ = [
    "Prints",
    "StopwatchWish",
    "boxes",
    "crop",
    "findings",
    "layers",
    "layers_csv",
    "list_as",
    "marks",
    "on_ones",
    "shooting_list",
    "stopwatch",
    "tape",
    "twin",
    "write",
    "write_crop",
    "write_twin",
]
