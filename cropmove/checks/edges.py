"""Does the framing stay inside the still?"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, and_more, runs_of
from cropmove.errors import unless_refused
from cropmove.geometry import Floats, Size, corner_offsets
from cropmove.move.framing import Framing, on_still
from cropmove.move.key import Key
from cropmove.shot import Shot
from cropmove.units import listed

__all__ = ["OUTSIDE", "at_least_as_wide", "stays_inside"]

_SLACK = 1e-6
"""Pixels: what arithmetic may add to a framing that ends on the edge."""
_ROUNDS = 8
"""Rounds in which keys are amended, at the most: what swings out between them takes a few."""
_SHOWN = 4
"""Keys whose numbers are told in the text; all of them are under the figures."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Edge:
    """An edge of the still.

    Parameters
    ----------
    name : str
    axis : int
        0 for left and right, 1 for top and bottom.
    inward : str
        The way back inside.
    sign : int
        1 where that way is right or down.
    side : int
        The still's side along the axis, in pixels.
    """

    name: str
    axis: int
    inward: str
    sign: int
    side: int


def _edges(still: Size) -> tuple[_Edge, ...]:
    return (
        _Edge(name="left", axis=0, inward="right", sign=1, side=still.width),
        _Edge(name="top", axis=1, inward="down", sign=1, side=still.height),
        _Edge(name="right", axis=0, inward="left", sign=-1, side=still.width),
        _Edge(name="bottom", axis=1, inward="up", sign=-1, side=still.height),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Now:
    """How a move stands at an edge, frame by frame: at the worst moment while the shutter is open.

    Parameters
    ----------
    beyond : (n,) array
        How far the frame leaves the still there, in its pixels; below 0 inside.
    itself : (n,) array
        The same of the frame's own framing.
    fitting : (n,) array
        The share of the frame's width that would just fit; 0 where none does.
    spare : (n,) array
        The part of the still's side that the frame leaves free, wherever it stands.
    """

    beyond: Floats
    itself: Floats
    fitting: Floats
    spare: Floats

    @classmethod
    def of(cls, rows: Floats, corners: Floats, edge: _Edge) -> _Now:
        """As what the open shutter sees stands there; see `_seen`."""
        along, at = corners[..., edge.axis], rows[..., edge.axis]
        low, high = along.min(axis=2), along.max(axis=2)
        beyond = -low if edge.sign > 0 else high - edge.side
        # Room from the centre to that edge, over what the framing takes on that side.
        room = np.maximum(at if edge.sign > 0 else edge.side - at, 0.0)
        fitting = np.minimum(room / np.maximum(room + beyond, 1e-300), 1.0)
        worst = np.arange(len(rows)), beyond.argmax(axis=1)
        return cls(
            beyond=beyond[worst],
            itself=beyond[:, rows.shape[1] // 2],
            fitting=fitting[worst],
            spare=edge.side - (high - low)[worst],
        )


def _seen(facts: Facts) -> tuple[Floats, Floats]:
    """What each frame's open shutter sees: rows (n, m, 4), and their corners (n, m, 4, 2)."""
    rows = facts.opened
    return rows, on_still(rows[:, :, None], corner_offsets(facts.course.delivery.shape))


def _left_by(facts: Facts) -> Iterator[tuple[_Edge, _Now]]:
    """The edges by which the framing leaves the still, and how it stands there."""
    still = facts.shot.stills.size
    if still is None:
        return
    rows, corners = _seen(facts)
    for edge in _edges(still):
        now = _Now.of(rows, corners, edge)
        if (now.beyond > _SLACK).any():
            yield edge, now


def _find(facts: Facts) -> Iterator[Finding]:
    course = facts.course
    for edge, now in _left_by(facts):
        outside, worst = now.beyond > _SLACK, int(np.argmax(now.beyond))
        by = float(now.beyond[worst])
        fitting = float(course.width[worst] * now.fitting[worst])
        moved, narrowed = _moved_keys(facts, edge, now), _narrowed_keys(facts, edge)
        is_outside = now.itself[worst] > _SLACK
        when = "" if is_outside else ", not in its middle but while its shutter is open"
        yield Finding(
            id="outside",
            level=Level.FAULT,
            frames=runs_of(course.frame[outside]),
            measured=by,
            limit=0.0,
            unit="pixels of the still",
            what=f"the framing leaves the still at the {edge.name} by {_rounded_up(by, 1):.10g} px "
            f"at frame {worst + 1}{when}",
            remedy=_remedy(edge, worst + 1, moved, narrowed),
            figures={
                "edge": edge.name,
                "first_frame": int(course.frame[outside][0]),
                "worst_frame": worst + 1,
                "fitting_width": fitting,
                "move": {str(frame): far for frame, far in moved.items()},
                "width": {str(frame): most for frame, most in narrowed.items()},
            },
        )


def _rounded_up(value: float, digits: int) -> float:
    return float(np.ceil(value * 10**digits) / 10**digits)


def _remedy(
    edge: _Edge, worst: int, moved: Mapping[int, float], narrowed: Mapping[int, float]
) -> str:
    choices = []
    if list(moved) == [worst]:
        choices.append(f"move the centre {moved[worst]:.10g} px {edge.inward} there")
    elif moved:
        choices.append(f"move the centre {edge.inward}, by {_key_by_key(moved, '.10g')}")
    if list(narrowed) == [worst]:
        choices.append(f"make the width there at most {narrowed[worst]:.1f} px")
    elif narrowed:
        choices.append(f"make the width at most {_key_by_key(narrowed, '.1f')}")
    return ", or ".join(choices) or "bring the centre back inside the still"


def _key_by_key(numbers: Mapping[int, float], form: str) -> str:
    """What each key needs; of many keys the first few."""
    told = [f"{number:{form}} px on frame {frame}" for frame, number in numbers.items()]
    more = and_more(len(told), _SHOWN, "keys")
    return f"{', '.join(told[:_SHOWN])}{more}" if more else listed(told)


def _moved_keys(facts: Facts, edge: _Edge, now: _Now) -> dict[int, float]:
    """How far which keys move inward, by frame, so that no frame leaves by an edge.

    Nothing where that cannot be, because a framing is too large. All of it is tried.
    """
    far: dict[int, float] = {}

    def amend(key: Key, spare: float, by: float) -> None:
        # A tenth is fine enough, but where it would push the other side out.
        digits = 1 if spare >= 0.1 else 7
        far[key.frame] = round(_rounded_up(far.get(key.frame, 0.0) + by, digits), digits)

    def changed(key: Key) -> Framing:
        by = edge.sign * far.get(key.frame, 0.0)
        x, y = (by, 0.0) if edge.axis == 0 else (0.0, by)
        return replace(key.framing, x=key.framing.x + x, y=key.framing.y + y)

    if (now.spare[now.beyond > _SLACK] < -_SLACK / 2).any():
        return {}
    is_mended = _mend(
        facts, edge, lambda key, now, at: amend(key, now.spare[at], now.beyond[at]), changed
    )
    return dict(sorted(far.items())) if is_mended else {}


def _narrowed_keys(facts: Facts, edge: _Edge) -> dict[int, float]:
    """The widths, by frame, at most, of keys so that no frame leaves by an edge; tried likewise."""
    most: dict[int, float] = {}

    def amend(key: Key, share: float) -> None:
        width = most.get(key.frame, key.framing.width)
        most[key.frame] = round(float(np.floor(width * share * 10) / 10), 1)

    def changed(key: Key) -> Framing:
        return replace(key.framing, width=most.get(key.frame, key.framing.width))

    is_mended = _mend(facts, edge, lambda key, now, at: amend(key, now.fitting[at]), changed)
    return dict(sorted(most.items())) if is_mended else {}


def _mend(
    facts: Facts,
    edge: _Edge,
    amend: Callable[[Key, _Now, int], None],
    changed: Callable[[Key], Framing],
) -> bool:
    """Amend keys that leave by an edge, or those about a frame that does, until none does."""
    shot, before = facts.shot, {other.name for other, _ in _left_by(facts)}
    tried = facts

    def amended() -> Shot:
        return replace(shot, keys=tuple(replace(k, framing=changed(k)) for k in shot.keys))

    for _ in range(_ROUNDS):
        now = _Now.of(*_seen(tried), edge)
        if not (now.beyond > _SLACK).any():
            return {other.name for other, _ in _left_by(tried)} <= before
        for key, at in _amiss(shot.keys, now.beyond):
            amend(key, now, at)
        mended = unless_refused(amended)
        if mended is None:
            return False
        tried = Facts(mended)
    return False


def _amiss(keys: Sequence[Key], beyond: Floats) -> list[tuple[Key, int]]:
    """The keys that leave the still, and the places of their frames, from 0.

    Where the way between two keys swings out and no key does, those two, and the worst place.
    """
    there = [(key, key.frame - 1) for key in keys if key.frame <= len(beyond)]
    out = [(key, at) for key, at in there if beyond[at] > _SLACK]
    if out:
        return out
    worst = int(np.argmax(beyond))
    before = [key for key in keys if key.frame - 1 < worst][-1:]
    after = [key for key in keys if key.frame - 1 > worst][:1]
    return [(key, worst) for key in (*before, *after)]


def stays_inside(facts: Facts, changed: Shot) -> bool:
    """Whether a changed move stays inside the still, where the move did as it was."""
    is_inside = not any(_left_by(facts))
    return not (is_inside and any(_left_by(Facts(changed))))


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
