"""From a stopwatch to steps, before any file is written."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from cropmove.errors import all_called, called, complain, placed
from cropmove.move.ease import DEFAULT_EASE, Ease, ease_named
from cropmove.rig.measures import MM_PER_INCH, millimetres
from cropmove.rig.stopwatch import Pace, longest_ease, longest_move, pace, steps_in
from cropmove.shot import held
from cropmove.units import (
    count_or_text,
    count_text,
    duration,
    held_text,
    number_or_text,
    rate,
    rate_text,
    seconds_text,
)

__all__ = ["StopwatchWish", "stopwatch"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StopwatchWish:
    """What is known of a move before any file is written.

    Parameters
    ----------
    travel, rule, step, smallest : str, optional
        How far it goes, how long the rule is, the longest step it shall have, and the smallest
        that a hand can make: "300", "12 in", "30 deg"; millimetres where no unit is given.
    seconds : float, optional
    frames : int, optional
        The same as seconds: N frames of movement are N steps.
    fps : str
    on : int
        Frames that each still is held; a step is from one still to the next.
    ease : str, optional
    ease_in, ease_out : str, optional
        Frames ("8") or seconds ("0.5 s").
    """

    travel: str | None = None
    rule: str | None = None
    step: str | None = None
    smallest: str | None = None
    seconds: float | None = None
    frames: int | None = None
    fps: str = "24"
    on: int = 1
    ease: str | None = None
    ease_in: str | None = None
    ease_out: str | None = None


def stopwatch(wish: StopwatchWish) -> str:
    """An answer in one line.

    Raises
    ------
    InputError
        Where too little is known or too much, or lengths and angles are mixed.

    Examples
    --------
    >>> stopwatch(StopwatchWish(travel="12 ft", seconds=2, ease="none"))
    '2 s at 24 for 144 in: 48 steps, frames 1 to 49; 3 in a frame throughout'
    >>> stopwatch(StopwatchWish(travel="12 ft", seconds=2, on=2, ease="none"))
    '2 s at 24 for 144 in: on twos 24 steps in 25 stills, frames 1 to 49; 6 in a still throughout'
    >>> stopwatch(StopwatchWish(rule="300", step="6", ease_in="10", ease_out="10"))[:57]
    'a rule of 300 mm at 6 mm a step: 60 steps, 2.5 s at 24, f'
    """
    _check_asked(wish)
    with placed(called("fps")):
        fps = rate(number_or_text(wish.fps))
    with placed(called("on")):
        held(wish.on)
    ease = DEFAULT_EASE
    if wish.ease is not None:
        with placed(called("ease")):
            ease = ease_named(wish.ease)
    asked = _Asked(wish=wish, fps=fps, ease=ease)
    if wish.rule is not None and wish.step is not None:
        return asked.longest_move()
    if wish.travel is None and wish.rule is None:
        rule = "the stopwatch wants a travel, or a rule"
        raise complain(
            called("travel"),
            "",
            rule,
            f"say, for one, {called('travel', 300)} {called('seconds', 2.5)}",
        )
    return asked.pace()


_ANSWERED = (
    (("rule", "step"), ("travel", "seconds", "frames", "smallest")),
    (("travel",), ("rule", "step")),
    (("smallest",), ("ease_in", "ease_out")),
)
"""What is asked for, and what would be given twice with it or is the answer itself."""


def _check_asked(wish: StopwatchWish) -> None:
    """Refuse what would be left aside: the stopwatch answers one question at a time."""
    for asked, answered in _ANSWERED:
        if any(getattr(wish, name) is None for name in asked):
            continue
        more = [name for name in answered if getattr(wish, name) is not None]
        if more:
            rule = f"this does not go with {all_called(asked)}"
            value = ", ".join(str(getattr(wish, name)) for name in more)
            remedy = f"leave out {all_called(more)}"
            if more == ["step"]:
                remedy += f"; for a longest step say {called('rule', wish.travel)} "
                remedy += called("step", wish.step)
            raise complain(all_called(more), value, rule, remedy)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """A wish with its rate and its ease."""

    wish: StopwatchWish
    fps: Fraction
    ease: Ease

    def longest_move(self) -> str:
        """How long a move a rule has room for."""
        rule, unit = self._measure("rule")
        cruise, _ = self._measure("step", unit)
        made = longest_move(rule, cruise, self.ease, *self._lengths(), on=self.wish.on)
        return (
            f"a rule of {_plain(rule)} {unit} at {_plain(cruise)} {unit} a step: "
            f"{self._counted(made)}, {self._seconds(made.steps)}, frames 1 to {made.steps + 1}, "
            f"travel {_plain(made.travel)} {unit}{self._eases(made)}"
        )

    def pace(self) -> str:
        """How big the steps are, and how long an ease can be."""
        name = "rule" if self.wish.travel is None else "travel"
        travel, unit = self._measure(name)
        steps = self._steps()
        if self.wish.smallest is None:
            made = pace(travel, steps, self.ease, *self._lengths(), on=self.wish.on)
            longest = ""
        else:
            smallest, _ = self._measure("smallest", unit)
            made = longest_ease(travel, steps, smallest, self.ease, on=self.wish.on)
            longest = f"; no longer ease has steps of {_plain(smallest)} {unit} or more"
        first, last, cruise = float(made.step[0]), float(made.step[-1]), made.cruise
        steady = made.step.max() - made.step.min() < 1e-9 * travel
        each = "a frame" if made.on == 1 else "a still"
        paced = f"{_plain(cruise)} {unit} {each} throughout"
        if not steady:
            paced = f"{_plain(cruise)} {unit} {each} at the cruise, "
            paced += f"{_plain(first)} first and {_plain(last)} last{self._eases(made)}"
        return (
            f"{self._seconds(steps)} for {_plain(travel)} {unit}: {self._counted(made)}, "
            f"frames 1 to {steps + 1}; {paced}{longest}"
        )

    def _counted(self, made: Pace) -> str:
        if made.on == 1:
            return f"{made.steps} steps"
        moves = made.stills - 1
        return f"{held_text(made.on)} {count_text(moves, 'step')} in {made.stills} stills"

    def _measure(self, name: str, like: str | None = None) -> tuple[float, str]:
        text = str(getattr(self.wish, name))
        with placed(called(name)):
            value, unit = _measured(text)
            if like is not None and unit != like:
                if "deg" in (unit, like):
                    rule = "lengths and angles do not mix"
                    raise complain("", text, rule, f"give it in {like}")
                value *= MM_PER_INCH if (unit, like) == ("in", "mm") else 1 / MM_PER_INCH
            return value, like or unit

    def _steps(self) -> int:
        if (self.wish.seconds is None) == (self.wish.frames is None):
            rule = "the stopwatch wants one length of time"
            raise complain(
                called("seconds"),
                "",
                rule,
                f"say {called('seconds', 2.5)}, or {called('frames', 60)}",
            )
        if self.wish.frames is not None:
            return self.wish.frames
        with placed(called("seconds")):
            return steps_in(
                Fraction(duration(f"{self.wish.seconds} s", Fraction(1000)), 1000), self.fps
            )

    def _lengths(self) -> tuple[int | None, int | None]:
        return self._moment("ease_in"), self._moment("ease_out")

    def _moment(self, name: str) -> int | None:
        text = getattr(self.wish, name)
        if text is None:
            return None
        with placed(called(name)):
            return duration(count_or_text(text), self.fps)

    def _seconds(self, steps: int) -> str:
        return f"{seconds_text(steps, self.fps)} at {rate_text(self.fps)}"

    def _eases(self, made: Pace) -> str:
        if not self.ease.has_lengths:
            return f" ({self.ease.name})"
        return f" ({self.ease.name}, ease in {made.ease_in}, ease out {made.ease_out})"


_DEGREES = re.compile(r"\s*(\d{1,9}(?:\.\d{0,9})?)\s*(?:deg|degrees|°)\s*")


def _measured(text: str) -> tuple[float, str]:
    """A measure with its unit: millimetres, inches or degrees."""
    angle = _DEGREES.fullmatch(text)
    if angle:
        return float(angle[1]), "deg"
    length = millimetres(number_or_text(text))
    if text.strip().endswith(("in", "ft", '"')):
        return length / MM_PER_INCH, "in"
    return length, "mm"


def _plain(value: float) -> str:
    """Three digits after the point at the most, and no more than say something."""
    return f"{value:.3f}".rstrip("0").rstrip(".")
