"""The same shot otherwise: at another rate, with another ease, held longer; or another shot."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, lcm

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.retime import stretched
from cropmove.errors import Complaints, called, complain, placed, unknown_word
from cropmove.move.course import Course
from cropmove.move.ease import ease_named
from cropmove.move.key import Key
from cropmove.shot import Shot, held
from cropmove.units import (
    count_or_text,
    duration,
    number_or_text,
    rate,
    rate_text,
    seconds_text,
    whole,
)

__all__ = ["Played", "otherwise", "played", "playing_rate", "shown_at"]

MOST = 120
"""Frames a second that a preview plays at, at most."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Played:
    """A shot as a preview plays it.

    Parameters
    ----------
    shot : Shot
    course : Course
        Its framings, and the still that each frame shows.
    label : str
        What tells it from the one it is compared with; empty where there is none.
    """

    shot: Shot
    course: Course
    label: str = ""


def played(shot: Shot) -> Played:
    """A shot as it is."""
    return Played(shot=shot, course=shot.course())


def otherwise(shot: Shot, text: str) -> Played:
    """The shot with something changed, such as "fps=12", "ease=smooth, ease_out=20" or "on=2".

    Another rate keeps the seconds: every frame number is told anew, and each frame shows the
    still that was seen at that moment.

    Raises
    ------
    InputError
        Where a change is unknown, or cannot be made.

    Examples
    --------
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.shot import Delivery
    >>> wide, tight = Framing(x=3000, y=2000, width=6000), Framing(x=3000, y=2000, width=3000)
    >>> keys = (Key(frame=1, framing=wide), Key(frame=49, framing=tight))
    >>> shot = Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=keys)
    >>> otherwise(shot, "fps=12").shot.keys[-1].frame
    25
    """
    changed, found = shot, Complaints()
    with found.at(called("compare")):
        for name, value in _changes(text):
            with placed(name):
                changed = _CHANGES[name](changed, value)
    found.settle()
    course = changed.course()
    if changed.stills.refs and not shot.one_still:
        course = replace(course, still=_stills_by_time(shot, changed, course))
    label = ", ".join(f"{name} {value}" for name, value in _changes(text))
    return Played(shot=changed, course=course, label=label)


def _changes(text: str) -> list[tuple[str, str]]:
    found = []
    for part in re.split(r",(?![^(]*\))", text):  # a cubic-bezier has commas of its own
        name, sign, value = (piece.strip() for piece in part.partition("="))
        if not sign or not value:
            rule = "what to compare with is another shot file, or a word and its value"
            raise complain("", text, rule, "write, say, fps=12, or ease=smooth, or other.toml")
        if name not in _CHANGES:
            raise unknown_word("", name, _CHANGES, "a change to compare with")
        found.append((name, value))
    return found


def _with_rate(shot: Shot, value: str) -> Shot:
    fps = rate(number_or_text(value))
    factor = fps / shot.fps
    pinned = {f"frames of {rig.name}": [stop.frame for stop in rig.stops] for rig in shot.rigs}
    for name, ends in ({"keys": [key.frame for key in shot.keys]} | pinned).items():
        if len({whole((frame - 1) * factor) for frame in ends}) < len(ends):
            rule = f"at that rate two {name} fall on one frame"
            raise complain("", value, rule, f"compare with a rate nearer to {rate_text(shot.fps)}")
    if shot.length * factor < 1:
        rule = f"the shot lasts {seconds_text(shot.length, shot.fps)}: not one frame at that rate"
        least = ceil(1000 * shot.fps / shot.length) / 1000
        raise complain("", value, rule, f"compare with {least:g} or more")
    frames, on = max(1, whole(shot.length * factor)), max(1, whole(shot.on * factor))
    return stretched(shot, factor, whole, fps=fps, frames=frames, on=on)


def _with_ease(shot: Shot, value: str) -> Shot:
    ease = ease_named(value)

    def eased(key: Key) -> Key:
        if ease.has_lengths:
            return replace(key, ease=ease)
        return replace(key, ease=ease, ease_in=None, ease_out=None)

    return _legs_changed(shot, eased)


def _with_ease_in(shot: Shot, value: str) -> Shot:
    frames = duration(count_or_text(value), shot.fps)
    return _legs_changed(shot, lambda key: replace(key, ease_in=frames))


def _with_ease_out(shot: Shot, value: str) -> Shot:
    frames = duration(count_or_text(value), shot.fps)
    return _legs_changed(shot, lambda key: replace(key, ease_out=frames))


def _legs_changed(shot: Shot, change: Callable[[Key], Key]) -> Shot:
    """The shot with every key changed that the camera moves to."""
    ends = {leg.end.frame for leg in shot.move.legs if not leg.is_hold}
    keys = tuple(change(key) if key.frame in ends else key for key in shot.keys)
    return replace(shot, keys=keys)


def _with_on(shot: Shot, value: str) -> Shot:
    on = held(count_or_text(value))
    if on < shot.on and len(shot.stills) > 1:
        rule = f"the stills are held for {shot.on} frames; there are none in between"
        raise complain("", on, rule, f"compare with {shot.on} or more")
    return replace(shot, on=on, frames=shot.length)


_CHANGES: dict[str, Callable[[Shot, str], Shot]] = {
    "fps": _with_rate,
    "on": _with_on,
    "ease": _with_ease,
    "ease_in": _with_ease_in,
    "ease_out": _with_ease_out,
}


def _stills_by_time(shot: Shot, changed: Shot, course: Course) -> NDArray[np.int64]:
    """The still of the original that is seen while each frame of the other is."""
    original = shot.course().still
    held = (course.frame - 1) // changed.on * changed.on
    factor = shot.fps / changed.fps
    at = held * factor.numerator // factor.denominator
    return np.asarray(original[np.minimum(at, len(original) - 1)])


def playing_rate(rates: list[Fraction]) -> Fraction:
    """The rate at which every one of several plays in whole frames; the fastest where none is.

    Never more than `MOST`: of a faster shot some frames are passed over, and its seconds stay.

    Examples
    --------
    >>> playing_rate([Fraction(24), Fraction(12)]), playing_rate([Fraction(24), Fraction(25)])
    (Fraction(24, 1), Fraction(25, 1))
    """
    below = lcm(*(r.denominator for r in rates))
    common = Fraction(lcm(*(int(r * below) for r in rates)), below)
    return common if common <= MOST else min(max(rates), Fraction(MOST))


def shown_at(length: int, fps: Fraction, playing: Fraction, count: int) -> list[int]:
    """Which frame of a shot is on the screen during each of so many played ones.

    After its end a shot stands on its last frame.

    Examples
    --------
    >>> shown_at(3, Fraction(12), Fraction(24), 8)
    [1, 1, 2, 2, 3, 3, 3, 3]
    """
    factor = fps / playing
    return [min(length, int(played * factor) + 1) for played in range(count)]
