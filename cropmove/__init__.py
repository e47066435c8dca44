"""A virtual camera for photographed frames.

A move is written once, its course is worked out once, and everything else only reads the course.

`load` gives the `Shot` of a file, `plan` one from a few words. `check` says what would go wrong,
`sheet` and `preview` show it, `render` makes its frames; `marks`, `tape` and `shooting_list` are
for what is moved by hand. A shot is a plain value: `dataclasses.replace` changes it. What cannot
be is refused with a `CropmoveError`, whose complaints say where, why, and what to do.

Lengths are pixels of the still, x to the right and y down from its top-left corner; on the set
they are millimetres. Frames count from 1. docs/python.md tells more.

Examples
--------
>>> import cropmove
>>> stills = cropmove.Stills(size=cropmove.Size(6000, 4000))  # to come; else Stills.found(FOLDER)
>>> wish = cropmove.Wish(push_in=2, at=("50%", "60%"), seconds=3)
>>> shot, told = cropmove.plan("quay", stills, wish)
>>> shot
Shot('quay', 72 frames at 24 on ones, 2 keys)
>>> shot.course()[72]
Framing(x=3000.0, y=2400.0, width=3000.0, roll=0.0)
>>> max(finding.level for finding in cropmove.check(shot)).name
'NOTE'
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cropmove.checks.facts import Check
    from cropmove.checks.finding import Finding, Level
    from cropmove.checks.registry import CHECKS
    from cropmove.errors import Complaint, CropmoveError, InputError, MachineError, MoveFault
    from cropmove.geometry import Size
    from cropmove.jobs import Progress, Rendered, check, load, new, render, save, table
    from cropmove.limits import LIMITS, Limit, Limits
    from cropmove.marking import boxes, crop, marks, on_ones, shooting_list, tape, twin
    from cropmove.move.course import Course, Move
    from cropmove.move.ease import EASES, Ease, cubic_bezier
    from cropmove.move.framing import Framing
    from cropmove.move.key import Key, Leg
    from cropmove.move.subject import Point, Subject
    from cropmove.planning import Wish, plan
    from cropmove.rig.layers import Layer, Sight
    from cropmove.rig.marks import Marks, Reset
    from cropmove.rig.motion import MOTIONS, Motion
    from cropmove.rig.optics import Lens
    from cropmove.rig.rig import Rig, Stop
    from cropmove.rig.scale import Scale
    from cropmove.rig.stopwatch import Pace, longest_ease, longest_move, pace
    from cropmove.rig.working import Table
    from cropmove.shot import Delivery, Shot, Stills
    from cropmove.shotfile import dumps, loads
    from cropmove.showing import Shown, preview, sheet
    from cropmove.stills.find import StillRef

__version__ = "0.1.0"

_HOMES = {
    "Check": "checks.facts",
    "Finding": "checks.finding",
    "Level": "checks.finding",
    "CHECKS": "checks.registry",
    "Complaint": "errors",
    "CropmoveError": "errors",
    "InputError": "errors",
    "MachineError": "errors",
    "MoveFault": "errors",
    "Size": "geometry",
    "Progress": "jobs",
    "Rendered": "jobs",
    "check": "jobs",
    "load": "jobs",
    "new": "jobs",
    "render": "jobs",
    "save": "jobs",
    "table": "jobs",
    "LIMITS": "limits",
    "Limit": "limits",
    "Limits": "limits",
    "boxes": "marking",
    "crop": "marking",
    "marks": "marking",
    "on_ones": "marking",
    "shooting_list": "marking",
    "tape": "marking",
    "twin": "marking",
    "Course": "move.course",
    "Move": "move.course",
    "EASES": "move.ease",
    "Ease": "move.ease",
    "cubic_bezier": "move.ease",
    "Framing": "move.framing",
    "Key": "move.key",
    "Leg": "move.key",
    "Point": "move.subject",
    "Subject": "move.subject",
    "Wish": "planning",
    "plan": "planning",
    "Layer": "rig.layers",
    "Sight": "rig.layers",
    "Marks": "rig.marks",
    "Reset": "rig.marks",
    "MOTIONS": "rig.motion",
    "Motion": "rig.motion",
    "Lens": "rig.optics",
    "Rig": "rig.rig",
    "Stop": "rig.rig",
    "Scale": "rig.scale",
    "Pace": "rig.stopwatch",
    "longest_ease": "rig.stopwatch",
    "longest_move": "rig.stopwatch",
    "pace": "rig.stopwatch",
    "Table": "rig.working",
    "Delivery": "shot",
    "Shot": "shot",
    "Stills": "shot",
    "dumps": "shotfile",
    "loads": "shotfile",
    "Shown": "showing",
    "preview": "showing",
    "sheet": "showing",
    "StillRef": "stills.find",
}

__all__ = [  # noqa: RUF022 - in the order in which they are met
    "load", "save", "loads", "dumps", "new", "plan", "Wish", "check", "CHECKS", "Check", "LIMITS",
    "table", "render", "Rendered", "Progress", "sheet", "preview", "Shown",
    "marks", "on_ones", "tape", "shooting_list", "boxes", "twin", "crop",
    "pace", "longest_move", "longest_ease", "Pace",
    "Shot", "Stills", "StillRef", "Delivery", "Key", "Framing", "Size", "Ease", "EASES",
    "cubic_bezier", "Move", "Leg", "Course", "Subject", "Point", "Limits", "Limit",
    "Rig", "Motion", "MOTIONS", "Scale", "Stop", "Lens", "Layer", "Table", "Marks", "Reset",
    "Sight", "Finding", "Level",
    "CropmoveError", "InputError", "MachineError", "MoveFault", "Complaint",
]  # fmt: skip


if not TYPE_CHECKING:  # a checker would take any name for one that is there

    def __getattr__(name: str) -> Any:
        """Public names are fetched when first asked for: importing cropmove costs nothing."""
        if name not in _HOMES:
            raise AttributeError(f"module 'cropmove' has no attribute '{name}'")
        return getattr(import_module(f"cropmove.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])
