"""Does the framing stay inside the still?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.geometry import corner_offsets
from cropmove.move.framing import on_still
from cropmove.shot import Shot

__all__ = ["OUTSIDE", "at_least_as_wide", "stays_inside"]

_SLACK = 1e-6
"""Pixels: what arithmetic may add to a framing that ends on the edge."""


def _find(facts: Facts) -> Iterator[Finding]:
    still = facts.shot.stills.size
    if still is None:
        return
    course = facts.course
    rows = course.opened(facts.shot.delivery.shutter)
    corners = on_still(rows[:, :, None], corner_offsets(course.delivery.shape))
    low, high = corners.min(axis=2), corners.max(axis=2)
    for edge, axis, beyond, side, sign in (
        ("left", 0, -low[..., 0], still.width, 1),
        ("top", 1, -low[..., 1], still.height, 1),
        ("right", 0, high[..., 0] - still.width, still.width, -1),
        ("bottom", 1, high[..., 1] - still.height, still.height, -1),
    ):
        outside = beyond.max(axis=1) > _SLACK
        if not outside.any():
            continue
        worst, moment = (int(n) for n in np.unravel_index(np.argmax(beyond), beyond.shape))
        row, by = rows[worst, moment], float(beyond[worst, moment])
        # Room from the centre to that edge, over what the framing takes on that side.
        room = float(row[axis] if sign > 0 else side - row[axis])
        fitting = float(row[2]) * room / (room + by) if room > 0 else 0.0
        spare = side - float(high[worst, moment, axis] - low[worst, moment, axis])
        is_outside = beyond[worst, beyond.shape[1] // 2] > _SLACK
        when = "" if is_outside else ", not in its middle but while its shutter is open"
        yield Finding(
            id="outside",
            level=Level.FAULT,
            frames=runs_of(course.frame[outside]),
            measured=by,
            limit=0.0,
            unit="pixels of the still",
            what=f"the framing leaves the still at the {edge} by {_rounded_up(by, 1):.10g} px "
            f"at frame {worst + 1}{when}",
            remedy=_remedy(edge, by, fitting, spare),
            figures={
                "edge": edge,
                "first_frame": int(course.frame[outside][0]),
                "worst_frame": worst + 1,
                "fitting_width": fitting,
            },
        )


def _rounded_up(value: float, digits: int) -> float:
    return float(np.ceil(value * 10**digits) / 10**digits)


def _remedy(edge: str, by: float, fitting: float, spare: float) -> str:
    inward = {"left": "right", "right": "left", "top": "down", "bottom": "up"}[edge]
    choices = []
    if spare >= -_SLACK / 2:
        # A tenth is fine enough, but where it would push the other side out.
        far = _rounded_up(by, 1 if spare >= 0.1 else 7)
        choices.append(f"move the centre {far:.10g} px {inward} there")
    if fitting >= 0.1:
        choices.append(f"make the width there at most {np.floor(fitting * 10) / 10:.1f} px")
    return ", or ".join(choices) or "bring the centre back inside the still"


def stays_inside(facts: Facts, changed: Shot) -> bool:
    """Whether a changed move stays inside the still, where the move did as it was."""
    is_inside = not any(OUTSIDE.find(facts))
    return not (is_inside and any(OUTSIDE.find(Facts(changed))))


def at_least_as_wide(shot: Shot, width: float) -> Shot:
    """A shot none of whose keys is narrower; those that are get that width about their centres."""
    wide = (replace(key.framing, width=max(key.framing.width, width)) for key in shot.keys)
    keys = tuple(replace(k, framing=f) for k, f in zip(shot.keys, wide, strict=True))
    return replace(shot, keys=keys)


OUTSIDE = Check(
    id="outside",
    title="the framing leaves the still",
    level=Level.FAULT,
    reason="Beyond the edge nothing was photographed; the last row of pixels would be drawn out.",
    source="common practice, no source",
    find=_find,
)
