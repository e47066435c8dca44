"""What the camera sees of a still: a centre, a width, a roll."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cropmove.errors import complain
from cropmove.geometry import Floats, Size, corner_offsets, finite, turn

__all__ = ["FARTHEST", "NARROWEST", "Framing", "in_frame", "on_still"]

FARTHEST, NARROWEST = 1e9, 1e-6
"""Pixels of the still (or degrees): beyond these no number of a framing means anything."""


def on_still(rows: Floats, offsets: Floats) -> Floats:
    """Where offsets from the centres of framings, in frame widths, lie on the still.

    Parameters
    ----------
    rows : (..., 4) array
        x, y, width and roll.
    offsets : (..., 2) array
        All but the last axes broadcast.

    Returns
    -------
    (..., 2) array
        Pixels of the still.

    Examples
    --------
    >>> on_still(np.array([3000.0, 2000.0, 1920.0, 0.0]), np.array([0.5, 0.0])).tolist()
    [3960.0, 2000.0]
    """
    return np.asarray(rows[..., :2] + rows[..., 2:3] * turn(offsets, rows[..., 3]))


def in_frame(rows: Floats, points: Floats) -> Floats:
    """Offsets from the centres of framings, in frame widths, of points of the still.

    The way back of `on_still`, with the same axes.

    Examples
    --------
    >>> in_frame(np.array([3000.0, 2000.0, 1920.0, 0.0]), np.array([3960.0, 2000.0])).tolist()
    [0.5, 0.0]
    """
    return np.asarray(turn(points - rows[..., :2], -rows[..., 3]) / rows[..., 2:3])


@dataclass(frozen=True, slots=True, kw_only=True)
class Framing:
    """What the camera sees of an upright still. Its height follows from the delivery's shape.

    Parameters
    ----------
    x, y : float
        The centre, in pixels of the still from its top-left corner; never rounded.
    width : float
        In pixels of the still; above 0.
    roll : float
        Degrees; positive turns the camera clockwise seen from behind it.

    Raises
    ------
    InputError
        Where a number is not finite or beyond 1e9, or the width is not above 0 (at least 1e-6).

    Examples
    --------
    >>> Framing(x=3000, y=2000, width=1920).box(Size(1920, 1080))
    (2040.0, 1460.0, 3960.0, 2540.0)
    """

    x: float
    y: float
    width: float
    roll: float = 0.0

    def __post_init__(self) -> None:
        for name in ("x", "y", "width", "roll"):
            number = finite(name, getattr(self, name))
            object.__setattr__(self, name, number)
            if abs(number) > FARTHEST:
                rule = f"a number of a framing is at most {FARTHEST:,.0f} either way"
                raise complain(name, number, rule, "write pixels of the still")
        if self.width < NARROWEST:
            remedy = 'give pixels of the still, or a share of it such as "50%"'
            raise complain("width", self.width, "a framing's width is above 0", remedy)

    @classmethod
    def from_row(cls, row: Floats) -> Framing:
        """A framing from (x, y, width, roll)."""
        x, y, width, roll = (float(value) for value in row)
        return cls(x=x, y=y, width=width, roll=roll)

    def to_row(self) -> Floats:
        """(x, y, width, roll) as an array."""
        return np.array([self.x, self.y, self.width, self.roll])

    def height(self, delivery: Size) -> float:
        """The height, in pixels of the still."""
        return self.width * delivery.shape

    def scale(self, delivery: Size) -> float:
        """Delivered pixels per still pixel: 1 is native, above 1 the picture is enlarged."""
        return delivery.width / self.width

    def box(self, delivery: Size) -> tuple[float, float, float, float]:
        """Left, top, right and bottom, in pixels of the still, before any roll."""
        half_width, half_height = self.width / 2, self.height(delivery) / 2
        return (
            self.x - half_width,
            self.y - half_height,
            self.x + half_width,
            self.y + half_height,
        )

    def corners(self, delivery: Size) -> Floats:
        """The frame's corners on the still, rolled: (4, 2), clockwise from the frame's top left."""
        return self.to_still(corner_offsets(delivery.shape))

    def to_still(self, offsets: Floats) -> Floats:
        """Where offsets from the frame's centre, in frame widths, lie on the still.

        Parameters
        ----------
        offsets : (..., 2) array

        Returns
        -------
        (..., 2) array
            Pixels of the still.
        """
        return on_still(self.to_row(), offsets)

    def to_frame(self, points: Floats, delivery: Size) -> Floats:
        """Where points of the still stand in the delivered frame.

        Parameters
        ----------
        points : (..., 2) array
            Pixels of the still.

        Returns
        -------
        (..., 2) array
            Delivered pixels from the frame's top-left corner.

        Examples
        --------
        >>> framing = Framing(x=3000, y=2000, width=3840)
        >>> framing.to_frame(np.array([3000.0, 2000.0]), Size(1920, 1080)).tolist()
        [960.0, 540.0]
        """
        offsets = in_frame(self.to_row(), points)
        return offsets * delivery.width + np.array([delivery.width, delivery.height]) / 2
