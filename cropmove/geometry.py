"""The plane that everything stands on: sizes, corners, turns, and where a pixel is.

x runs right and y runs down from the top-left **corner** of an upright still, which spans
[0, W] × [0, H]. Pixel i covers [i, i + 1]. With y down, a positive angle turns clockwise as seen.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import inf, isfinite, nan
from operator import index
from typing import Any, SupportsIndex, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import complain

__all__ = [
    "HALF_PIXEL",
    "UPRIGHT",
    "Floats",
    "Orientation",
    "Size",
    "corner_offsets",
    "counted",
    "finite",
    "first_highest",
    "hold_finite",
    "hold_unwritable",
    "pixel_centres",
    "turn",
    "unwritable",
]

Floats = NDArray[np.float64]

Numbers = TypeVar("Numbers", bound=NDArray[Any])

HALF_PIXEL = 0.5
"""From a pixel's top-left corner to its centre: the only place that says so."""


@dataclass(frozen=True, slots=True)
class Size:
    """A picture's width and height in whole pixels.

    Examples
    --------
    >>> Size(1920, 1080).shape
    0.5625
    >>> print(Size(6000, 4000))
    6000 x 4000
    """

    width: int
    height: int

    LARGEST = 65_536

    def __post_init__(self) -> None:
        for name in ("width", "height"):
            side = counted(getattr(self, name))
            if side is None or not 1 <= side <= self.LARGEST:
                rule = f"a picture is 1 to {self.LARGEST} whole pixels each way"
                raise complain("", str(self), rule, "give width and height in pixels")
            object.__setattr__(self, name, side)

    @property
    def shape(self) -> float:
        """Height over width."""
        return self.height / self.width

    @property
    def aspect(self) -> Fraction:
        """Width over height, exactly."""
        return Fraction(self.width, self.height)

    def turned(self) -> Size:
        """Width and height exchanged."""
        return Size(self.height, self.width)

    def __str__(self) -> str:
        return f"{self.width} x {self.height}"


def pixel_centres(count: int) -> Floats:
    """Where the centres of `count` pixels in a row stand, in pixels from the first one's edge.

    Examples
    --------
    >>> pixel_centres(3).tolist()
    [0.5, 1.5, 2.5]
    """
    return np.arange(count, dtype=np.float64) + HALF_PIXEL


def corner_offsets(shape: float) -> Floats:
    """The corners of a frame one unit wide, from its centre: (4, 2), clockwise from top left.

    Parameters
    ----------
    shape : float
        Height over width.

    Examples
    --------
    >>> corner_offsets(0.5).tolist()
    [[-0.5, -0.25], [0.5, -0.25], [0.5, 0.25], [-0.5, 0.25]]
    """
    half = shape / 2
    return np.array([(-0.5, -half), (0.5, -half), (0.5, half), (-0.5, half)])


def turn(points: Floats, degrees: Floats | float) -> Floats:
    """Points turned about the origin, clockwise as seen for positive angles.

    Parameters
    ----------
    points : (..., 2) array
        x right, y down.
    degrees : float or array that broadcasts with ``points[..., 0]``

    Examples
    --------
    >>> turn(np.array([1.0, 0.0]), 90).round(12).tolist()
    [0.0, 1.0]
    """
    angle = np.deg2rad(degrees)
    x, y = points[..., 0], points[..., 1]
    c, s = np.cos(angle), np.sin(angle)
    return np.stack([x * c - y * s, x * s + y * c], axis=-1)


@dataclass(frozen=True, slots=True)
class Orientation:
    """How a stored picture is turned and mirrored to stand upright: EXIF tag 274, 1 to 8.

    Source: CIPA DC-008 (Exif), tag 274; the same values as TIFF 6.0's Orientation.

    Examples
    --------
    >>> Orientation(6).upright(np.array([[0, 1, 2], [3, 4, 5]])).tolist()
    [[3, 0], [4, 1], [5, 2]]
    """

    code: int = 1

    def __post_init__(self) -> None:
        if self.code not in range(1, 9):
            raise complain(
                "orientation", self.code, "EXIF knows orientations 1 to 8", "save the still anew"
            )

    @property
    def swaps_sides(self) -> bool:
        """Whether the stored width is the upright height."""
        return self.code >= 5

    def upright_size(self, stored: Size) -> Size:
        """The size of the upright picture."""
        return stored.turned() if self.swaps_sides else stored

    def upright(self, stored: NDArray[Any]) -> NDArray[Any]:
        """The stored picture (rows first) as an upright view of the same memory."""
        view = stored.swapaxes(0, 1) if self.swaps_sides else stored
        # After any exchange of axes, what is left is a flip of rows, of columns, or of both.
        rows = -1 if self.code in (3, 4, 7, 8) else 1
        columns = -1 if self.code in (2, 3, 6, 7) else 1
        return view[::rows, ::columns]

    def stored_box(
        self, box: tuple[float, float, float, float], upright: Size
    ) -> tuple[float, float, float, float]:
        """A box (left, top, right, bottom) of the upright picture, as it lies in the stored one."""
        left, top, right, bottom = box
        if self.code in (2, 3, 6, 7):
            left, right = upright.width - right, upright.width - left
        if self.code in (3, 4, 7, 8):
            top, bottom = upright.height - bottom, upright.height - top
        return (top, left, bottom, right) if self.swaps_sides else (left, top, right, bottom)


UPRIGHT = Orientation()
"""A picture that is stored as it is seen."""


def finite(where: str, value: float) -> float:
    """The value as a float; an `InputError` where it is not a finite number."""
    try:
        number = nan if isinstance(value, str) else float(value)
    except OverflowError:
        number = inf
    except (TypeError, ValueError):
        number = nan
    if not isfinite(number):
        raise complain(where, value, "a number here is finite", "write an ordinary number")
    return number


def hold_finite(thing: object, *names: str, number: Callable[[str, float], float] = finite) -> None:
    """See to it that a frozen thing's numbers of these names, where given, are finite floats.

    Parameters
    ----------
    thing
        It is changed.
    *names
    number : callable, optional
        Takes a name and a value, and gives the float or refuses it; `finite` or something stricter.

    Raises
    ------
    InputError
        With the name of the first that is not.
    """
    for name in names:
        value = getattr(thing, name)
        if value is not None:
            object.__setattr__(thing, name, number(name, value))


def hold_unwritable(thing: object, *names: str) -> None:
    """See to it that a frozen thing's arrays of these names cannot be written to either."""
    for name in names:
        object.__setattr__(thing, name, unwritable(getattr(thing, name)))


def unwritable(array: Numbers) -> Numbers:
    """A view of an array that cannot be written to."""
    view = array.view()
    view.flags.writeable = False
    return view


def first_highest(values: Floats) -> int:
    """Where values first come to their highest, or to within a millionth of it.

    On an even stretch the very highest is wherever arithmetic has rounded up.

    Examples
    --------
    >>> first_highest(np.array([1.0, 3.0, 3.0000000001, 2.0]))
    1
    """
    highest = float(values.max())
    return int(np.argmax(values >= highest - abs(highest) * 1e-6))


def counted(value: object) -> int | None:
    """A whole number as an int, numpy's too; None for all else, and for True and False.

    Examples
    --------
    >>> counted(np.int64(3)), counted(3.0), counted(True)
    (3, None, None)
    """
    if isinstance(value, (bool, np.bool_)):
        return None
    try:
        return index(cast("SupportsIndex", value))
    except TypeError:
        return None
