"""One function for each thing a user can ask for. The command line and Python call these."""

from cropmove.checks.batch import check_batch
from cropmove.jobs.begin import file_for, new
from cropmove.jobs.figures import COLUMNS, check, table
from cropmove.jobs.frames import Clock, Progress, Rendered, render
from cropmove.jobs.reel import Result, Watch, render_batch, several
from cropmove.planning import Wish
from cropmove.shotfile import load, save

__all__ = [
    "COLUMNS",
    "Clock",
    "Progress",
    "Rendered",
    "Result",
    "Watch",
    "Wish",
    "check",
    "check_batch",
    "file_for",
    "load",
    "new",
    "render",
    "render_batch",
    "save",
    "several",
    "table",
]
