"""How a strip lies on its page: straight, or bent round a pivot."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, radians, sin
from typing import Protocol

import numpy as np

from cropmove.sheets.paper import Point

__all__ = ["DEEP", "Bent", "Flat", "Lay", "sampled"]

DEEP = 37.0
"""Millimetres that a strip is deep, from its edge."""


class Lay(Protocol):
    """How a strip lies on the page."""

    def point(self, along: float, deep: float) -> Point:
        """Where a place on the tape is on the page."""
        ...

    def turned(self, along: float) -> float:
        """Degrees, clockwise, that what stands there is turned."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Flat:
    """A straight strip: its edge on top, `start` at (left, top)."""

    left: float
    top: float
    start: float

    def point(self, along: float, deep: float) -> Point:
        """Where a place on the tape is on the page."""
        return self.left + along - self.start, self.top + deep

    def turned(self, along: float) -> float:
        """Never."""
        return 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bent:
    """A strip bent round a point below: its edge is the arc, and it lies outside it.

    Its numbers grow clockwise, or anticlockwise where `hand` is -1: a bent strip fits one way only.
    """

    across: float
    down: float
    radius: float
    middle: float
    hand: int = 1

    def point(self, along: float, deep: float) -> Point:
        """Where a place on the tape is on the page."""
        turn, out = radians(self.turned(along)), self.radius + deep
        return self.across + out * sin(turn), self.down - out * cos(turn)

    def turned(self, along: float) -> float:
        """As the arc is there."""
        return self.hand * (along - self.middle) / self.radius * 180 / pi


def sampled(lay: Lay, low: float, high: float, deep: float) -> list[Point]:
    """A line along the tape: straight, or near enough to its arc that no eye can tell."""
    count = 2 if isinstance(lay, Flat) else max(2, int((high - low) / 0.5))
    return [lay.point(float(at), deep) for at in np.linspace(low, high, count)]
