"""A virtual camera for photographed frames.

A move is written once, its course is worked out once, and everything else only reads the course.

Examples
--------
>>> import cropmove
>>> shot = cropmove.load("demo_frames/push_in.toml")  # doctest: +SKIP
>>> cropmove.check(shot)  # doctest: +SKIP
()
>>> cropmove.render(shot, out="push_in_frames")  # doctest: +SKIP
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cropmove.checks.finding import Finding, Level
    from cropmove.errors import CropmoveError, InputError, MachineError, MoveFault
    from cropmove.geometry import Size
    from cropmove.jobs import Rendered, check, load, new, render, save, table
    from cropmove.limits import Limits
    from cropmove.marking import marks, shooting_list, tape, twin
    from cropmove.move.course import Course, Move
    from cropmove.move.ease import EASES, Ease, cubic_bezier
    from cropmove.move.framing import Framing
    from cropmove.move.key import Key
    from cropmove.move.subject import Point, Subject
    from cropmove.planning import Wish
    from cropmove.rig.layers import Layer
    from cropmove.rig.optics import Lens
    from cropmove.rig.rig import Rig
    from cropmove.shot import Delivery, Shot, Stills
    from cropmove.shotfile import dumps, loads
    from cropmove.showing import preview, sheet

__version__ = "0.1.0"

_HOMES = {
    "Finding": "checks.finding",
    "Level": "checks.finding",
    "CropmoveError": "errors",
    "InputError": "errors",
    "MachineError": "errors",
    "MoveFault": "errors",
    "Size": "geometry",
    "Rendered": "jobs",
    "check": "jobs",
    "load": "jobs",
    "new": "jobs",
    "render": "jobs",
    "save": "jobs",
    "table": "jobs",
    "Course": "move.course",
    "Move": "move.course",
    "EASES": "move.ease",
    "Ease": "move.ease",
    "cubic_bezier": "move.ease",
    "Framing": "move.framing",
    "Key": "move.key",
    "Wish": "planning",
    "Delivery": "shot",
    "Shot": "shot",
    "Stills": "shot",
    "dumps": "shotfile",
    "loads": "shotfile",
    "Limits": "limits",
    "marks": "marking",
    "shooting_list": "marking",
    "tape": "marking",
    "twin": "marking",
    "Point": "move.subject",
    "Subject": "move.subject",
    "Layer": "rig.layers",
    "Lens": "rig.optics",
    "Rig": "rig.rig",
    "preview": "showing",
    "sheet": "showing",
}

__all__ = [  # noqa: RUF022 - in the order in which they are met
    "load", "save", "loads", "dumps", "new", "Wish", "check", "table", "render", "Rendered",
    "sheet", "preview", "marks", "tape", "shooting_list", "twin",
    "Shot", "Stills", "Delivery", "Key", "Framing", "Size", "Ease", "EASES", "cubic_bezier",
    "Move", "Course", "Subject", "Point", "Limits", "Rig", "Lens", "Layer", "Finding", "Level",
    "CropmoveError", "InputError", "MachineError", "MoveFault",
]  # fmt: skip


if not TYPE_CHECKING:  # a checker would take any name for one that is there

    def __getattr__(name: str) -> Any:
        """Public names are fetched when first asked for: importing cropmove costs nothing."""
        if name not in _HOMES:
            raise AttributeError(f"module 'cropmove' has no attribute '{name}'")
        return getattr(import_module(f"cropmove.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])
