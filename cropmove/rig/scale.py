"""How a mark is read: on a straight rule, along an arc, on a protractor, by the turns of a screw.

Things move by millimetres or degrees; a scale turns those into what is read beside the pointer,
and rounds it to what the scale can show.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import pi, sin

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import complain
from cropmove.geometry import Floats, counted
from cropmove.rig.measures import (
    FARTHEST,
    MM_PER_INCH,
    decimals_of,
    hold_measured,
    inches_text,
    number_text,
    refuse_none,
    turns_text,
)

__all__ = ["DIVISION", "DIVISION_INCH", "PARTS", "Scale", "chord"]

DIVISION = 0.5
"""Millimetres: what a steel rule shows and a hand with a pointer can set. Common practice, no
source. A protractor is read to half a degree likewise."""

DIVISION_INCH = 1 / 32
"""Inches: the fine edge of a usual inch rule. Common practice, no source."""

_FINEST = 128
"""Parts of an inch, at the most, that are told as a fraction."""

PARTS = 10
"""Parts of a turn that can be set by eye on a handle. Common practice, no source."""


def chord(radius: float, degrees: float) -> float:
    """The straight distance between two points of an arc, for setting it out with dividers.

    Source: 2 R sin(θ / 2), any geometry textbook.

    Examples
    --------
    >>> round(chord(400, 15), 3)
    104.421
    """
    return 2 * radius * sin(abs(degrees) * pi / 360)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """What a thing's place is read on. Readings are whole counts of its division.

    Parameters
    ----------
    angular : bool
        Whether the thing moves by degrees; by millimetres otherwise.
    radius : float or None
        Of the arc or the rim that the pointer runs along, in millimetres: readings are then
        millimetres along it.
    thread : float or None
        Millimetres (degrees) that a turn of a handle moves the thing: readings are turns.
    parts : int
        Parts that a turn is divided into.
    division : float or None
        The finest that is read, in millimetres, or in degrees on a protractor; None for the usual.
    inches : bool
        Whether readings are told in inches.

    Raises
    ------
    InputError
        Where a number is out of its range, or the words do not go together.

    Examples
    --------
    >>> import numpy as np
    >>> arc = Scale(angular=True, radius=400)
    >>> arc.text(arc.counts(np.array([15.0]))[0])
    '104.5'
    """

    angular: bool = False
    radius: float | None = None
    thread: float | None = None
    parts: int = PARTS
    division: float | None = None
    inches: bool = False

    def __post_init__(self) -> None:
        lengths = ("radius", "thread", "division")
        hold_measured(self, *lengths)
        refuse_none(self, *lengths, remedy="write {name} as measured")
        for name in lengths:
            if (value := getattr(self, name)) and value > FARTHEST:
                rule = f"this is at most {FARTHEST:,.0f}"
                raise complain(name, value, rule, f"write {name} as measured")
        parts = counted(self.parts)
        if parts is None or not 1 <= parts <= 1000:
            raise complain("parts", self.parts, "a turn has 1 to 1000 parts", "write parts = 10")
        object.__setattr__(self, "parts", parts)
        if self.radius is not None and not self.angular:
            rule = "a radius belongs to a thing that turns; this one goes straight"
            raise complain("radius", self.radius, rule, "leave it out")
        if self.radius is not None and self.thread is not None:
            rule = "a thing is read on an arc or by the turns of a screw, one of the two"
            raise complain("radius, thread", "", rule, "leave one of them out")
        if self.inches and self.kind in ("screw", "protractor"):
            rule = f"inches are for lengths; a {self.kind} is read in {self.unit}"
            raise complain("unit", "in", rule, "leave it out")

    @property
    def kind(self) -> str:
        """Which of the four: "rule", "arc", "protractor" or "screw"."""
        if self.thread is not None:
            return "screw"
        if not self.angular:
            return "rule"
        return "protractor" if self.radius is None else "arc"

    @property
    def unit(self) -> str:
        """What readings are told in."""
        if self.kind == "screw":
            return "turns"
        if self.kind == "protractor":
            return "degrees"
        return "in" if self.inches else "mm"

    @property
    def fineness(self) -> float:
        """The division in force, in millimetres, degrees or turns."""
        if self.kind == "screw":
            return 1 / self.parts
        usual = DIVISION_INCH * MM_PER_INCH if self.inches else DIVISION
        return usual if self.division is None else self.division

    @property
    def per_reading(self) -> float:
        """How far the thing moves (mm or degrees) where a reading grows by 1 mm, degree or turn."""
        if self.thread is not None:
            return self.thread
        return 180 / pi / self.radius if self.radius is not None else 1.0

    def exact(self, places: Floats) -> Floats:
        """What would be read, unrounded, at places in millimetres or degrees."""
        return np.asarray(places / self.per_reading)

    def counts(self, places: Floats) -> NDArray[np.int64]:
        """The nearest readings, as counts of the division; half-way ties go to the even one.

        Each is rounded from the absolute place, once, so that no error builds up.
        Sources: NIST Handbook 44, 10.3 (ties); ISO 80000-1, annex B (round once).

        Examples
        --------
        >>> import numpy as np
        >>> rule = Scale(division=0.5)
        >>> (rule.counts(np.linspace(0, 250, 49)) * 0.5)[[1, 2, 48]].tolist()
        [5.0, 10.5, 250.0]
        """
        # What floating-point arithmetic leaves beside a tie is put back on it first.
        return np.rint(np.round(self.exact(places) / self.fineness, 9)).astype(np.int64)

    def text(self, count: int | np.int64) -> str:
        """A reading as it stands on the scale."""
        if self.kind == "screw":
            return turns_text(int(count), self.parts)
        if self.inches:
            inches = self.fineness / MM_PER_INCH
            part = Fraction(inches).limit_denominator(_FINEST)
            halved = part.denominator & (part.denominator - 1) == 0
            if halved and abs(float(part) - inches) < 1e-9:
                return inches_text(int(count) * part)
            return number_text(float(count) * inches, max(3, decimals_of(inches)))
        return number_text(float(count) * self.fineness, decimals_of(self.fineness))

    def length_text(self, length: float) -> str:
        """A difference of readings (mm, degrees or turns), with its unit."""
        shown = length / MM_PER_INCH if self.inches else length
        return f"{number_text(shown, 3 if self.inches else 2)} {self.unit}"
