"""Looking before rendering: the sheets of a shot and its preview, written beside its file."""

from cropmove.showing.asked import frames_named, points_named
from cropmove.showing.motion import preview
from cropmove.showing.sheets import SHEETS, sheet
from cropmove.showing.written import Shown

__all__ = [
    "SHEETS",
    "Shown",
    "frames_named",
    "points_named",
    "preview",
    "sheet",
]
