"""Is a move made twice: by a hand between the stills, and by the framings over them?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.checks.looks import LOOKED_AT
from cropmove.checks.moved import through_the_lens
from cropmove.checks.registration import MIDDLES
from cropmove.errors import called
from cropmove.geometry import Floats
from cropmove.units import listed

__all__ = ["MOVED_TWICE"]

_CERTAIN = 0.2
"""Pixels of a picture as it is looked at, about: a part's shift is found more exactly than that.
Measured, no source."""
_TELLING = 10
"""How many times that all that the hand should have done has to be, for the stills to tell."""
_DONE = 0.3
"""The share of a hand's move, from which on it has been made. A backing that hangs three times as
far off as the subject shifts by a third; locked-off stills stay by 0."""


def _twice(facts: Facts) -> Iterator[Finding]:
    if facts.looks is None or len(facts.looks.parts) < 2:
        return
    by_hand = [marks for marks in facts.table.camera_and_set if marks.moves.any()]
    doing = [m for m in by_hand if m in facts.table.twins]
    # Where something else is moved besides, what the stills show tells of neither alone.
    if not doing or len(doing) < len(by_hand):
        return
    planned = through_the_lens(facts, facts.table, MIDDLES)
    shifts = facts.looks.parts[1 : len(planned) + 1]
    share = _share(shifts, planned[: len(shifts)], _CERTAIN * facts.usual_size.width / LOOKED_AT)
    if share is None or share < _DONE:
        return
    first = facts.course.move.keys[0].framing
    yield Finding(
        id="moved-twice",
        level=Level.CAUTION,
        frames=runs_of(facts.course.frame[facts.moving]),
        measured=100 * share,
        limit=100 * _DONE,
        unit="% of the move by hand",
        what=f"the stills show the move already, as {listed([m.name for m in doing])} "
        f"{'make' if doing[1:] else 'makes'} it: "
        "rendered along the keys it is made a second time",
        remedy=f"render it through the first framing, centre [{first.x:g}, {first.y:g}], width "
        f"{first.width:g}, and whatever the rigs leave out ({called('crop')} writes that shot); or "
        "photograph with the camera locked off",
        figures={"rigs": [m.name for m in doing]},
    )


def _share(shifts: Floats, planned: Floats, certain: float) -> float | None:
    """How much of what was planned the stills show: 1 is all of it; None where they do not tell.

    The median over all parts and stills, each weighed by what was planned for it: what moves in
    the picture by itself, in fewer than half of the parts, does not count.
    """
    told = np.isfinite(shifts).all(axis=-1) & np.isfinite(planned).all(axis=-1)
    way, gone = planned[told], shifts[told]
    weights = (way**2).sum(axis=-1)
    if weights.sum() < (_TELLING * certain) ** 2:
        return None
    meant = weights > 0
    shares, weights = (gone * way).sum(axis=-1)[meant] / weights[meant], weights[meant]
    order = np.argsort(shares)
    middle = np.searchsorted(np.cumsum(weights[order]), weights.sum() / 2)
    return float(shares[order][middle])


MOVED_TWICE = Check(
    id="moved-twice",
    title="the stills show the move already",
    level=Level.CAUTION,
    reason="Where a hand has made on the set what the keys ask for, a render along the keys makes "
    "the move a second time.",
    source="phase correlation, as for bump; what a lens makes of a plane: Hartley & Zisserman, "
    "Multiple View Geometry, 2nd ed., 13.1",
    find=_twice,
    reads_pixels=True,
)
