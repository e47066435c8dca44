"""Where a subject is on the still, over the shot: points pinned to frames, straight between."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from cropmove.errors import Complaints, complain, is_name
from cropmove.geometry import Floats, Size, corner_offsets, counted, hold_finite

__all__ = ["Point", "Subject"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """Where the subject is at one frame.

    Parameters
    ----------
    frame : int
        From 1.
    x, y : float
        Its centre, in pixels of the still.
    width, height : float
        Of the box around it, in pixels of the still; 0 for a point.

    Raises
    ------
    InputError
        Where a number is out of its range.

    Examples
    --------
    >>> Point.from_shares(0.5, 0.25, Size(6000, 4000), frame=1)
    Point(frame=1, x=3000.0, y=1000.0, width=0.0, height=0.0)
    """

    frame: int
    x: float
    y: float
    width: float = 0.0
    height: float = 0.0

    def __post_init__(self) -> None:
        frame = counted(self.frame)
        if frame is None or frame < 1:
            rule = "frames are whole numbers from 1"
            raise complain("frame", self.frame, rule, "the first frame of a shot is 1")
        object.__setattr__(self, "frame", frame)
        hold_finite(self, "x", "y", "width", "height")
        if min(self.width, self.height) < 0:
            value = f"{self.width:g} x {self.height:g}"
            rule = "a subject's size is 0 or more"
            raise complain("size", value, rule, "leave it out for a point")

    @classmethod
    def from_shares(cls, x: float, y: float, still: Size, *, frame: int) -> Point:
        """A point from shares of the still, 0 to 1 from its top-left corner."""
        return cls(frame=frame, x=x * still.width, y=y * still.height)

    def to_row(self) -> Floats:
        """(x, y, width, height) as an array."""
        return np.array([self.x, self.y, self.width, self.height])


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What the camera is to keep in frame, and where it is over the shot.

    Between two points it goes straight and evenly; before the first and after the last it stands.

    Parameters
    ----------
    name : str
        "subject" where nobody names it.
    points : tuple of Point
        One or more, in the order of their frames.

    Raises
    ------
    InputError
        Where there is no point, or the frames do not rise.

    Examples
    --------
    >>> boat = Subject(points=(Point(frame=1, x=100, y=50), Point(frame=11, x=200, y=50)))
    >>> boat.at(np.array([1.0, 6.0, 99.0]))[:, 0].tolist()
    [100.0, 150.0, 200.0]
    """

    name: str = "subject"
    points: tuple[Point, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", tuple(self.points))
        if not is_name(self.name):
            rule = "a subject has a name, on one line"
            raise complain("name", self.name, rule, 'leave it out, or write name = "ferry"')
        if not self.points:
            rule = "a subject has at least one point"
            raise complain("subject", self.name, rule, "add a [[subject]] with frame and centre")
        found = Complaints()
        for number, (before, point) in enumerate(pairwise(self.points), start=2):
            with found.at(f"point {number}"):
                if point.frame <= before.frame:
                    rule = f"points stand in the order of their frames; before it is {before.frame}"
                    raise complain("frame", point.frame, rule, "put the points in order")
        found.settle()

    def at(self, frames: Floats) -> Floats:
        """(n, 4) rows of x, y, width and height at n moments, counted in frames."""
        rows = np.array([point.to_row() for point in self.points])
        pinned = np.array([point.frame for point in self.points], dtype=np.float64)
        return np.stack([np.interp(frames, pinned, column) for column in rows.T], axis=1)

    def shown(self, frames: int, on: int = 1) -> Floats:
        """(n, 4) rows at frames 1 to n, as the stills show it: it stands while a still is held.

        Examples
        --------
        >>> boat = Subject(points=(Point(frame=1, x=0, y=0), Point(frame=5, x=40, y=0)))
        >>> boat.shown(5, on=2)[:, 0].tolist()
        [0.0, 0.0, 20.0, 20.0, 40.0]
        """
        first_of_still = np.arange(frames) // on * on + 1
        return self.at(first_of_still.astype(np.float64))

    def boxes(self, frames: int, on: int = 1) -> Floats:
        """(n, 4, 2) corners of its box on the still, clockwise from top left."""
        rows = self.shown(frames, on)
        return np.asarray(rows[:, None, :2] + rows[:, None, 2:] * corner_offsets(1.0))
