"""When the camera is how far along: the named eases, as data with their sources.

An ease answers one question: after `at` of a leg's `steps`, which share of its travel is done?
Two kinds answer it. A **ramp** gathers speed over the ease in, cruises, and loses speed over the
ease out, which is the same ramp backwards with a length of its own. A **Bézier curve** shapes the
whole leg and has no lengths to set.

A ramp is given as its travel: how far it has come after k of its n frames, counted in cruise
steps. With P(n) that travel at its end, a leg of N steps with ramps of a and b cruises at

    v = D / (N - a - b + P(a) + P(b))

so a ramp that comes half as far as the cruise would, P(n) = n / 2, gives the handbook's
v = D / (N - a/2 - b/2).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from math import pi

import numpy as np
from numpy.typing import ArrayLike

from cropmove.errors import complain, unknown_word
from cropmove.geometry import Floats
from cropmove.move.spline import gentle_slopes

__all__ = [
    "DEFAULT_EASE",
    "EASES",
    "Ease",
    "cubic_bezier",
    "default_lengths",
    "ease_named",
    "keeping_time",
]

Ramp = Callable[[Floats, int], Floats]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ease:
    """How a leg gathers and loses speed.

    Parameters
    ----------
    name : str
        As written in a shot file.
    summary, reference : str
        One line of what it does, and where it comes from.
    ramp : callable or None
        ``ramp(k, n)``: travel after k of n frames, in cruise steps.
    curve : tuple of 4 floats or None
        x1, y1, x2, y2 of a W3C cubic-bezier; x1 and x2 within 0 and 1, y1 and y2 -10 and 10.
    """

    name: str
    summary: str = field(repr=False)
    reference: str = field(repr=False)
    ramp: Ramp | None = field(default=None, repr=False)
    curve: tuple[float, float, float, float] | None = field(default=None, repr=False)

    @property
    def has_lengths(self) -> bool:
        """Whether an ease in and an ease out can be set."""
        return self.ramp is not None

    @property
    def overshoots(self) -> bool:
        """Whether the curve may run before its start or past its end."""
        return self.curve is not None and not all(0 <= y <= 1 for y in self.curve[1::2])

    def progress(self, at: ArrayLike, steps: int, ease_in: int = 0, ease_out: int = 0) -> Floats:
        """The share of a leg's travel that is done.

        Parameters
        ----------
        at : array
            Steps since the leg's start, 0 to `steps`; parts of a step too.
        steps : int
            The leg's length, at least 1.
        ease_in, ease_out : int
            Frames, from 0; together at most `steps`. Unused where the ease has no lengths.

        Returns
        -------
        array
            0 at the start, 1 at the end.

        Examples
        --------
        >>> steps_ = np.diff(EASES["odd"].progress(np.arange(61), 60, 10, 10)) * 300
        >>> steps_[:11].round(6).tolist()
        [0.3, 0.9, 1.5, 2.1, 2.7, 3.3, 3.9, 4.5, 5.1, 5.7, 6.0]
        """
        at = np.asarray(at, dtype=np.float64)
        if self.curve is not None:
            return _bezier(at / steps, *self.curve)
        if self.ramp is None:
            return at / steps
        gather, lose = _travel(self.ramp, ease_in), _travel(self.ramp, ease_out)
        begin, end = float(gather(ease_in)), float(lose(ease_out))
        travel = begin + (steps - ease_in - ease_out) + end
        done = np.where(at < ease_in, gather(at), begin + (at - ease_in))
        left = steps - at
        return np.where(left < ease_out, travel - lose(left), done) / travel


def _travel(ramp: Ramp, frames: int) -> Callable[[Floats | float], Floats]:
    """A ramp of a fixed length, level before its start and after its end."""
    if frames == 0:
        return lambda k: np.zeros_like(k, dtype=np.float64)
    return lambda k: ramp(np.clip(np.asarray(k, dtype=np.float64), 0, frames), frames)


def _even(k: Floats, n: int) -> Floats:
    return k * (k + 1) / (2 * (n + 1))


def _odd(k: Floats, n: int) -> Floats:
    return k * k / (2 * n)


def _smooth(k: Floats, n: int) -> Floats:
    t = k / n
    return n * t**3 * (4 / 3 - t + t * t / 5)


def _cosine(k: Floats, n: int) -> Floats:
    return 2 * n / pi * (1 - np.cos(pi * k / (2 * n)))


def _raised_cosine(k: Floats, n: int) -> Floats:
    return k / 2 - n / (2 * pi) * np.sin(pi * k / n)


def _bezier(t: Floats, x1: float, y1: float, x2: float, y2: float) -> Floats:
    """Y where x is t, by halving: x never falls along the curve, so there is one answer."""
    low, high = np.zeros_like(t), np.ones_like(t)
    for _ in range(53):
        middle = (low + high) / 2
        before = _cubic(middle, x1, x2) < t
        low, high = np.where(before, middle, low), np.where(before, high, middle)
    return np.where(t <= 0, 0.0, np.where(t >= 1, 1.0, _cubic((low + high) / 2, y1, y2)))


def _cubic(u: Floats, first: float, second: float) -> Floats:
    return u * (3 * (1 - u) * ((1 - u) * first + u * second) + u * u)


_STAND = "animation-stand practice: fairing, from rest to constant speed and back (Salt 1977)"
_W3C = "W3C CSS Easing Functions Level 1, cubic-bezier()"

EASES: dict[str, Ease] = {
    entry.name: entry
    for entry in (
        Ease(
            name="even",
            summary="steps grow by the same amount each frame, from rest up to the cruise",
            reference=f"step k of n is k / (n + 1) of the cruise; {_STAND}",
            ramp=_even,
        ),
        Ease(
            name="odd",
            summary="steps grow as 1, 3, 5, 7 …: a constant push",
            reference=f"step k of n is (2k - 1) / 2n of the cruise; {_STAND}",
            ramp=_odd,
        ),
        Ease(
            name="smooth",
            summary="minimum jerk: the gentlest start and stop",
            reference="10t^3 - 15t^4 + 6t^5, halved; Flash & Hogan, J. Neurosci. 5:1688, 1985",
            ramp=_smooth,
        ),
        Ease(
            name="cosine",
            summary="half a cosine wave: a firmer start than smooth, a slower cruise",
            reference="(1 - cos(pi t)) / 2, halved; common practice, no source",
            ramp=_cosine,
        ),
        Ease(
            name="raised-cosine",
            summary="speed follows a raised cosine: soft at rest and soft at the cruise",
            reference=f"speed (1 - cos(pi k / n)) / 2 of the cruise; {_STAND}",
            ramp=_raised_cosine,
        ),
        Ease(
            name="none",
            summary="the same step throughout: a hard start and a hard stop",
            reference="even increments; common practice, no source",
        ),
        *(
            Ease(name=name, summary=summary, reference=_W3C, curve=curve)
            for name, summary, curve in (
                ("ease", "quick to start, long to stop", (0.25, 0.1, 0.25, 1.0)),
                ("ease-in", "slow start, hard stop", (0.42, 0.0, 1.0, 1.0)),
                ("ease-out", "hard start, slow stop", (0.0, 0.0, 0.58, 1.0)),
                ("ease-in-out", "slow start and slow stop alike", (0.42, 0.0, 0.58, 1.0)),
            )
        ),
    )
}
"""Every named ease, in the order in which they are told."""

DEFAULT_EASE = EASES["even"]

_HIGHEST = 10
"""A curve as high runs past its end by more than its travel; one far higher, by more than widths
can shrink. Common practice, no source."""

_CURVE = re.compile(r"cubic-bezier\(([^()]*)\)")


def cubic_bezier(x1: float, y1: float, x2: float, y2: float) -> Ease:
    """The ease of a W3C cubic-bezier.

    Raises
    ------
    InputError
        Where x1 or x2 is outside 0 and 1, or y1 or y2 outside -10 and 10.

    Examples
    --------
    >>> cubic_bezier(0.25, 0, 0.75, 1).progress(np.array([0.25]), 1).round(4).tolist()
    [0.1824]
    """
    name = f"cubic-bezier({', '.join(map(_written, (x1, y1, x2, y2)))})"
    if not (0 <= x1 <= 1 and 0 <= x2 <= 1 and abs(y1) <= _HIGHEST and abs(y2) <= _HIGHEST):
        rule = "cubic-bezier takes four numbers, the first and third within 0 and 1, "
        rule += f"the others within -{_HIGHEST} and {_HIGHEST}"
        raise complain("", name, rule, "write, say, cubic-bezier(0.25, 0, 0.75, 1)")
    curve = (float(x1), float(y1), float(x2), float(y2))
    return Ease(name=name, summary="a curve of your own", reference=_W3C, curve=curve)


def _written(number: float) -> str:
    """As short as it can be, and the same number when it is read."""
    short = f"{number:g}"
    return short if float(short) == number else repr(float(number))


def ease_named(name: str) -> Ease:
    """The ease of that name, or of that cubic-bezier.

    Raises
    ------
    InputError
        Where there is none; the nearest name is told.

    Examples
    --------
    >>> ease_named("smooth").summary
    'minimum jerk: the gentlest start and stop'
    """
    match = _CURVE.fullmatch(name.strip())
    if match:
        try:
            x1, y1, x2, y2 = (float(part) for part in match[1].split(","))
        except ValueError:
            rule = "cubic-bezier takes four numbers"
            remedy = "write, say, cubic-bezier(0.25, 0, 0.75, 1)"
            raise complain("", name, rule, remedy) from None
        return cubic_bezier(x1, y1, x2, y2)
    if name not in EASES:
        raise unknown_word("", name, [*EASES, "cubic-bezier(x1, y1, x2, y2)"], "an ease")
    return EASES[name]


def default_lengths(
    steps: int, ease_in: int | None = None, ease_out: int | None = None
) -> tuple[int, int]:
    """Ease in and ease out for a leg that leaves one or both open: longer out than in.

    About a sixth of the leg in, two sevenths out (common practice, no source); what is given is
    kept, and what is not gives way so that both fit.

    Examples
    --------
    >>> default_lengths(48), default_lengths(3), default_lengths(48, ease_out=44)
    ((8, 14), (1, 2), (4, 44))
    """
    if ease_in is None:
        most = steps // 2 if ease_out is None else steps - ease_out
        ease_in = min(max(1, round(steps / 6)), most)
    if ease_out is None:
        ease_out = min(max(ease_in + 1, round(steps * 2 / 7)), steps - ease_in)
    return ease_in, ease_out


def keeping_time(progress: Floats, due: Floats, knots: Floats, ease_through: Floats) -> Floats:
    """Progress bent, as little and as smoothly as can be, so that passed keys are met on time.

    Parameters
    ----------
    progress : array
        The share of the travel that the ease alone would have done.
    due : (k,) array
        That share at the frames of the leg's keys; rising.
    knots : (k,) array
        The share that must be done there; never falling.
    ease_through : (k,) array
        How much of its pace the camera keeps at each key: 1 all of it, 0 none.

    Returns
    -------
    array
        Never falling, its pace continuous; `progress` itself where the keys are met anyway.

    Examples
    --------
    >>> due, knots = np.array([0.0, 0.5, 1.0]), np.array([0.0, 0.4, 1.0])
    >>> keeping_time(due, due, knots, np.ones(3)).tolist()
    [0.0, 0.4, 1.0]
    """
    from scipy.interpolate import CubicHermiteSpline

    slopes = ease_through * gentle_slopes(due, knots)
    return np.asarray(CubicHermiteSpline(due, knots, slopes)(progress))
