"""Answers before any file is written: how many frames, how big a step, how long an ease."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

import numpy as np

from cropmove.errors import complain
from cropmove.geometry import Floats, counted, finite
from cropmove.move.ease import DEFAULT_EASE, Ease, default_lengths
from cropmove.move.key import LONGEST

__all__ = ["Pace", "longest_ease", "longest_move", "pace", "steps_in"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """A move along a rule by numbers alone.

    Parameters
    ----------
    travel : float
        How far, in any unit.
    steps : int
        Frames of movement, from `on`.
    ease : Ease
    ease_in, ease_out : int
        Frames.
    on : int
        Frames that each still is held. The first still shows the move's first frame and the last
        its last; those between are evenly spread, as marks are.

    Examples
    --------
    >>> Pace(travel=300, steps=60, ease=DEFAULT_EASE, ease_in=10, ease_out=10).cruise
    6.0
    """

    travel: float
    steps: int
    ease: Ease
    ease_in: int
    ease_out: int
    on: int = 1

    @property
    def stills(self) -> int:
        """How many stills show it."""
        return self.steps // self.on + 1

    @property
    def places(self) -> Floats:
        """Where it stands in each still."""
        at = np.linspace(0.0, self.steps, self.stills)
        lengths = (self.ease_in, self.ease_out)
        return self.travel * self.ease.progress(at, self.steps, *lengths)

    @property
    def step(self) -> Floats:
        """From each still to the next."""
        return np.diff(self.places)

    @property
    def cruise(self) -> float:
        """Its longest step."""
        return round(float(self.step.max()), 9)


def pace(
    travel: float,
    steps: int,
    ease: Ease = DEFAULT_EASE,
    ease_in: int | None = None,
    ease_out: int | None = None,
    *,
    on: int = 1,
) -> Pace:
    """The pace of a move of so many steps; eases that are left open get their usual lengths.

    Parameters
    ----------
    travel : float
        How far it goes, in any unit; above 0.
    steps : int
        Frames of movement, from `on`: seconds times frames a second.
    ease : Ease
        One of `EASES`, or a `cubic_bezier`.
    ease_in, ease_out : int, optional
        Frames; together at most `steps`.
    on : int
        Frames that each still is held.

    Raises
    ------
    InputError
        Where the travel is not above 0, no second still is reached, or the eases do not fit.

    Examples
    --------
    >>> from cropmove.move.ease import EASES
    >>> pace(144, 48, EASES["none"]).cruise        # 12 ft in 2 s at 24: 3 in a frame
    3.0
    """
    if finite("travel", travel) <= 0:
        raise complain("travel", travel, "a travel is above 0", "give how far it goes")
    _check_counts(steps=steps, on=on, ease_in=ease_in, ease_out=ease_out)
    if not 1 <= steps <= LONGEST:
        rule = f"a move has 1 to {LONGEST:,} steps"
        raise complain("steps", steps, rule, f"give it {'more' if steps < 1 else 'less'} time")
    if steps < on:
        rule = f"a move has {on} steps or more where each still is held for {on}"
        raise complain("steps", steps, rule, "give it more time, or hold stills shorter")
    _check_lengths(ease, steps, ease_in, ease_out)
    first, last = default_lengths(steps, ease_in, ease_out) if ease.has_lengths else (0, 0)
    return Pace(travel=travel, steps=steps, ease=ease, ease_in=first, ease_out=last, on=on)


def _check_counts(**counts: int | None) -> None:
    """Refuse frames that are no whole number, or below 0, or none where a still is held."""
    for name, value in counts.items():
        frames, least = counted(value), 1 if name == "on" else 0
        if value is not None and (frames is None or frames < least):
            rule = f"this is a whole number of frames, from {least}"
            raise complain(name, value, rule, "give, say, 2" if least else "give, say, 12")


def _check_lengths(ease: Ease, steps: int, ease_in: int | None, ease_out: int | None) -> None:
    if not ease.has_lengths and (ease_in or ease_out):
        rule = f"{ease.name} has no ease in or ease out to set"
        raise complain("ease_in, ease_out", "", rule, "leave them out, or take another ease")
    if (ease_in or 0) + (ease_out or 0) > steps:
        value = f"{ease_in or 0} + {ease_out or 0}"
        rule = f"the eases fit into the move's {steps} steps"
        raise complain("ease_in, ease_out", value, rule, "shorten them, or give it more time")


def longest_move(
    rule: float,
    cruise: float,
    ease: Ease = DEFAULT_EASE,
    ease_in: int | None = None,
    ease_out: int | None = None,
    *,
    on: int = 1,
) -> Pace:
    """The longest move at a cruise that a rule has room for.

    Parameters
    ----------
    rule : float
        Its length.
    cruise : float
        The longest step from still to still that the move shall have, in the same unit.
    ease, ease_in, ease_out
        As for `pace`.
    on : int
        Frames that each still is held; the move takes whole stills.

    Returns
    -------
    Pace
        Of as many whole steps as fit; its travel is what they come to, at most the rule. Of a curve
        so steep that its longest step swings with their number, one that fits where the next does
        not.

    Raises
    ------
    InputError
        Where the rule has no room for a single step, or for more than a shot can have.

    Examples
    --------
    >>> from cropmove.move.ease import EASES
    >>> longest_move(300, 6, EASES["odd"], 10, 10).steps
    60
    """
    if finite("cruise", cruise) <= 0 or finite("rule", rule) < cruise:
        where = f"a step is above 0 and fits on the rule of {rule:g}"
        raise complain("step", cruise, where, "give a longer rule, or a smaller step")

    _check_counts(on=on, ease_in=ease_in, ease_out=ease_out)

    def travel(moves: int) -> float:
        return float(cruise / pace(1.0, moves * on, ease, ease_in, ease_out, on=on).step.max())

    room, longest = rule * (1 + 1e-9), LONGEST // on
    least = max(1, ceil(((ease_in or 0) + (ease_out or 0)) / on))
    if travel(least) > room:
        short = f"eases of {ease_in or 0} and {ease_out or 0} frames need more than the rule"
        raise complain("rule", rule, short, "give a longer rule, or shorter eases")
    most = least
    while travel(most) <= room:
        if most == longest:
            long = f"a move has at most {LONGEST:,} steps, and they do not fill the rule"
            raise complain("step", cruise, long, "give a longer step")
        most = min(2 * most, longest)
    moves = least + bisect_right(range(least, most), room, key=travel) - 1
    return pace(travel(moves), moves * on, ease, ease_in, ease_out, on=on)


def longest_ease(
    travel: float, steps: int, smallest: float, ease: Ease = DEFAULT_EASE, *, on: int = 1
) -> Pace:
    """The move with the longest equal eases whose every step a hand can still make.

    Parameters
    ----------
    travel : float
    steps : int
    smallest : float
        The smallest step that a hand can make, in the travel's unit.
    ease : Ease
        One with lengths.
    on : int
        Frames that each still is held.

    Raises
    ------
    InputError
        Where even a move without eases has smaller steps, or the ease has no lengths.

    Examples
    --------
    >>> from cropmove.move.ease import EASES
    >>> longest_ease(300, 60, 0.5, EASES["even"]).ease_in
    11
    """
    if not ease.has_lengths:
        rule = f"{ease.name} has no ease in or ease out to set"
        raise complain("ease", ease.name, rule, "take another ease, such as even")
    if finite("smallest", smallest) <= 0:
        raise complain("smallest", smallest, "a step is above 0", "give what a hand can set")
    _check_counts(steps=steps, on=on)

    def too_small(frames: int) -> bool:
        made = pace(travel, steps, ease, frames, frames, on=on)
        return bool(made.step.min() < smallest * (1 - 1e-9))

    fitting = bisect_left(range(steps // 2 + 1), True, key=too_small)
    if not fitting:
        most = floor(travel / smallest) * on
        shorter = f"take at most {most} steps, or a longer travel" if most else "go further"
        even = pace(travel, steps, ease, 0, 0, on=on).cruise
        rule = f"even without an ease a step is {even:.3g}"
        raise complain("smallest", smallest, rule, shorter)
    return pace(travel, steps, ease, fitting - 1, fitting - 1, on=on)


def steps_in(seconds: Fraction, fps: Fraction) -> int:
    """How many steps so many seconds of action are, at so many frames a second: N frames, N steps.

    Source: animation-stand practice (Salt 1977): frames in the move are its steps.

    Examples
    --------
    >>> steps_in(Fraction(2), Fraction(24))
    48
    """
    return round(seconds * fps)
