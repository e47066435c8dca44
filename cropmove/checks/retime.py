"""Legs made longer, shorter or otherwise eased, for remedies that are tried before they are told.

But for `stretched`, which takes a whole shot, everything here works on a leg alone: its keys, cut
out of the shot, begin at frame 1.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import floor
from typing import Any

import numpy as np

from cropmove.errors import InputError, complain, unless_refused
from cropmove.geometry import Floats, Size
from cropmove.move.course import Move, corner_moves
from cropmove.move.framing import Framing
from cropmove.move.key import Key, Leg, legs
from cropmove.move.path import Straight
from cropmove.move.subject import Subject
from cropmove.rig.rig import Rig
from cropmove.shot import Shot

__all__ = [
    "alone",
    "first_passing",
    "in_proportion",
    "lasting",
    "moves_of",
    "shortened",
    "shortest_steps",
    "steps_of",
    "straightened",
    "stretched",
    "times_longer",
    "with_ease",
]

LONGEST = 100_000
"""Steps that a remedy may ask for: over an hour at 24 frames a second."""

_SLACKS = (1, 1.05, 1.1, 1.2, 1.5, 2)
"""What turns on the way slows down a little less than it is lengthened: so much more is tried."""
_MOST_TIMES = 20
"""A move so many times as long is another move. Common practice, no source."""

Measure = Callable[[Floats], float]
"""What is judged of the corner moves of a leg, (n, 4, 2) in frame widths."""


def alone(leg: Leg) -> tuple[Key, ...]:
    """A leg's keys as a move of their own, from frame 1."""
    first = replace(leg.start, stop=True, ease=None, ease_in=None, ease_out=None)
    late = leg.start.frame - 1
    return tuple(
        replace(key, frame=key.frame - late, stop=key.stop or key is leg.end)
        for key in (first, *leg.keys[1:])
    )


def straightened(leg: Leg) -> Leg:
    """A leg without the keys that it passes."""
    return Leg((leg.start, leg.end))


def lasting(keys: Sequence[Key], steps: int) -> tuple[Key, ...]:
    """Keys of a leg spread over another number of steps, in proportion.

    Raises
    ------
    InputError
        Where there are more keys than steps.
    """
    begin, was = keys[0].frame, keys[-1].frame - keys[0].frame
    frames = [begin + round((key.frame - begin) * steps / was) for key in keys]
    for n in range(1, len(frames)):
        frames[n] = max(frames[n], frames[n - 1] + 1)
    frames[-1] = begin + steps
    for n in reversed(range(len(frames) - 1)):
        frames[n] = min(frames[n], frames[n + 1] - 1)
    if frames[0] < begin:
        rule = f"{len(keys)} keys stand on as many frames"
        raise complain("steps", steps, rule, f"take at least {len(keys) - 1}")
    return tuple(replace(key, frame=f) for key, f in zip(keys, frames, strict=True))


def in_proportion(keys: Sequence[Key], first: int, last: int) -> tuple[Key, ...] | None:
    """A move's keys from one frame to another; None where two fall on one, or an ease is too long.

    Whoever moves them by hand rounds each by itself, so that none is pushed on by another.
    """
    was = keys[-1].frame - keys[0].frame
    if not was or last <= first:
        return None
    share = (last - first) / was
    moved = [first + round((key.frame - keys[0].frame) * share) for key in keys]

    def made() -> tuple[Key, ...]:
        late = tuple(replace(key, frame=frame) for key, frame in zip(keys, moved, strict=True))
        legs(late)
        return late

    return unless_refused(made)


def with_ease(keys: Sequence[Key], **ease: object) -> tuple[Key, ...]:
    """Keys of a leg whose last has another ease."""
    return (*keys[:-1], replace(keys[-1], **ease))  # type: ignore[arg-type]


def moves_of(keys: Sequence[Key], delivery: Size) -> Floats:
    """(n, 4, 2) corner moves of a leg's steps, in frame widths."""
    frames = np.arange(keys[0].frame, keys[-1].frame + 1, dtype=np.float64)
    return corner_moves(Move(tuple(keys), delivery).at(frames), delivery.shape)


def steps_of(moves: Floats) -> Floats:
    """(n,) steps in frame widths, at the corner that moves most."""
    return np.asarray(np.hypot(moves[..., 0], moves[..., 1]).max(axis=1))


def first_passing(low: int, high: int, passes: Callable[[int], bool]) -> int | None:
    """The first whole number above `low` and up to `high` that passes; None where none does.

    Whoever is below a number that passes may fail, not the other way round.

    Examples
    --------
    >>> first_passing(3, 100, lambda n: n >= 41), first_passing(3, 100, lambda n: n > 100)
    (41, None)
    """
    if high <= low or not passes(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if passes(middle) else (middle, high)
    return high


def shortest_steps(leg: Leg, delivery: Size, measure: Measure, most: float) -> int | None:
    """The fewest steps in which a leg keeps a measure of its pace within `most`.

    The eases keep what lengths they are given. None where no length that a shot may have does.
    """
    keys = alone(leg)

    def passes(steps: int) -> bool:
        moves = unless_refused(lambda: moves_of(lasting(keys, steps), delivery))
        return moves is not None and measure(moves) <= most

    needed = leg.steps * measure(moves_of(keys, delivery)) / most
    # Keys that are passed fall on whole frames, which can ask for a little more.
    estimates = (min(int(needed * slack) + 2, LONGEST) for slack in (1.02, 1.2, 2))
    found = (first_passing(leg.steps, estimate, passes) for estimate in estimates)
    return next((steps for steps in found if steps is not None), None)


def shortened(leg: Leg, delivery: Size, measure: Measure, most: float) -> Framing | None:
    """Where a straight leg would end that goes the same way less far, in the same time.

    None for a leg that passes keys.
    """
    if leg.passed:
        return None
    keys = alone(leg)
    way = Straight(keys[0].framing, keys[-1].framing)
    now = measure(moves_of(keys, delivery))
    for slack in (0.999, 0.98, 0.95, 0.9, 0.8):
        row = way.at(np.array([most / now * slack]))[0]
        end = Framing.from_row(np.round(row, 2))
        if measure(moves_of((*keys[:-1], replace(keys[-1], framing=end)), delivery)) <= most:
            return end
    return None


Rounded = Callable[[Fraction | float], int]
"""A number of frames to a whole one."""


def stretched(shot: Shot, times: Fraction | float, rounded: Rounded, **also: Any) -> Shot:
    """A shot whose frames all come so many times as late, its eases in proportion.

    Keys, the frames of rigs and those of subjects. Eases that rounding makes a frame or two too
    long for their leg are cut by those.

    Parameters
    ----------
    shot : Shot
    times : Fraction or float
    rounded : callable
        `math.floor` for what is to be no longer than is told, `cropmove.units.whole` for what is
        to come as near as it can.
    also : dict
        What else is to change of the shot.

    Raises
    ------
    InputError
        Where two keys, or two frames of a rig, fall on one.
    """

    def late(frame: int) -> int:
        return 1 + rounded((frame - 1) * times)

    def longer(frames: int | None) -> int | None:
        return None if frames is None else rounded(frames * times)

    frames = late(shot.length)
    keys = tuple(
        replace(
            key,
            frame=late(key.frame),
            ease_in=longer(key.ease_in),
            ease_out=longer(key.ease_out),
        )
        for key in shot.keys
    )
    changed: dict[str, Any] = {
        "keys": _fitted(keys),
        "rigs": tuple(_late_rig(rig, late, longer, frames) for rig in shot.rigs),
        "subjects": tuple(_late_subject(subject, late) for subject in shot.subjects),
        "frames": frames,
    }
    return replace(shot, **changed | also)


def times_longer(shot: Shot, least: float, passes: Callable[[Shot], bool]) -> float | None:
    """How many times as long a shot passes, to a tenth; None where that is too long.

    Parameters
    ----------
    shot : Shot
    least : float
        How many times it has to be at the least.
    passes : callable
        Whether a shot does.
    """
    for slack in _SLACKS:
        times = max(1.1, float(np.ceil(10 * slack * least - 1e-9) / 10))
        if times * shot.length > LONGEST or times > _MOST_TIMES:
            return None
        try:
            longer = stretched(shot, times, floor)
        except InputError:  # two stops fall to one still then
            continue
        if passes(longer):
            return times
    return None


def _fitted(keys: Sequence[Key]) -> tuple[Key, ...]:
    """Keys whose eases fit into their legs, as far as they did before they were rounded."""
    stops = [key for key in keys if key.stop]
    shorter = {
        key.frame: _cut(key.ease_in, key.ease_out, key.frame - before.frame)
        for before, key in pairwise(stops)
    }
    return tuple(replace(key, ease_out=shorter.get(key.frame, key.ease_out)) for key in keys)


def _late_rig(
    rig: Rig, late: Callable[[int], int], longer: Callable[[int | None], int | None], last: int
) -> Rig:
    """A rig whose frames come later; its eases fit into the shortest leg on which it moves."""
    stops = tuple(replace(stop, frame=late(stop.frame)) for stop in rig.stops)
    moving = [b.frame - a.frame for a, b in pairwise(stops) if a.place != b.place]
    ease_in, ease_out = longer(rig.ease_in), longer(rig.ease_out)
    shortest = min(moving, default=last - 1)
    return replace(rig, stops=stops, ease_in=ease_in, ease_out=_cut(ease_in, ease_out, shortest))


def _cut(ease_in: int | None, ease_out: int | None, steps: int) -> int | None:
    """An ease out that fits into so many steps; itself where an ease in alone is too long."""
    if ease_out is None or (ease_in or 0) > steps:
        return ease_out
    return min(ease_out, steps - (ease_in or 0))


def _late_subject(subject: Subject, late: Callable[[int], int]) -> Subject:
    """A subject whose points come later; of two on one frame the last is left."""
    moved = {late(point.frame): point for point in subject.points}
    points = tuple(replace(point, frame=frame) for frame, point in moved.items())
    return replace(subject, points=points)
