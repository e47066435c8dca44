"""Ways with a tick for each frame: on the still, and across the screen."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import Floats
from cropmove.move.course import Course
from cropmove.move.framing import in_frame

__all__ = [
    "directions",
    "number_order",
    "screen_way",
    "tick_numbers",
    "ticks_along",
    "told_apart",
    "too_near_to_draw",
]

DOT = 0.05
"""Millimetres: the dot of a printer of 500 to the inch. Nothing nearer is told apart on paper."""


def screen_way(course: Course, points: Floats) -> Floats:
    """Where points of the set stand on the screen, frame by frame.

    Parameters
    ----------
    course : Course
    points : (2,) or (n, 2) array
        Pixels of the still: one that stays, or one for each frame.

    Returns
    -------
    (n, 2) array
        Delivered pixels from the frame's top-left corner; outside the frame too.

    Examples
    --------
    >>> from fractions import Fraction
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.course import Move
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> left, right = Framing(x=960, y=540, width=1920), Framing(x=970, y=540, width=1920)
    >>> move = Move((Key(frame=1, framing=left), Key(frame=2, framing=right)), Size(1920, 1080))
    >>> course = Course.of(move, frames=2, fps=Fraction(24))
    >>> screen_way(course, np.array([100.0, 50.0])).round(9).tolist()
    [[100.0, 50.0], [90.0, 50.0]]
    """
    delivery = course.delivery
    middle = np.array([delivery.width, delivery.height]) / 2
    return in_frame(course.rows, points) * delivery.width + middle


def directions(points: Floats) -> Floats:
    """Unit vectors along a way at each of its points, taken from the nearest that differ."""
    around = np.gradient(points, axis=0) if len(points) > 1 else np.zeros_like(points)
    lengths = np.hypot(around[:, 0], around[:, 1])
    moving = np.flatnonzero(lengths > 1e-9)
    if not len(moving):
        return np.tile([1.0, 0.0], (len(points), 1))
    every = np.arange(len(points))
    after = np.searchsorted(moving, every).clip(max=len(moving) - 1)
    left, right = moving[(after - 1).clip(min=0)], moving[after]
    nearest = np.where(np.abs(every - left) <= np.abs(right - every), left, right)
    return np.asarray(around[nearest] / lengths[nearest][:, None])


def too_near_to_draw(points: Floats) -> str:
    """What is said of a way whose ends could not be told apart on paper.

    Parameters
    ----------
    points : (n, 2) array
        Pixels.

    Examples
    --------
    >>> too_near_to_draw(np.array([(9.0, 9.0), (9.0, 9.0)]))
    'it stays'
    >>> too_near_to_draw(np.array([(9.0, 9.0), (9.0, 9.6), (9.8, 9.6)]))
    'it keeps within 1 px'
    """
    reach = float(np.hypot(*np.ptp(points, axis=0)))
    return f"it keeps within {reach:.2g} px" if reach >= _STANDS else "it stays"


_STANDS = 0.005
"""Pixels: less is what arithmetic adds to a point that does not move at all."""


def ticks_along(points: Floats, length: float) -> Floats:
    """A short line across the way at each point: (n, 2, 2)."""
    along = directions(points)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1) * length / 2
    return np.stack([points - across, points + across], axis=1)


def tick_numbers(points: Floats, gap: float) -> list[int]:
    """Which points get their number: the first, the last, and those far enough from the others.

    Round numbers go before others.

    Parameters
    ----------
    points : (n, 2) array
    gap : float
        How near two numbers may stand, in the unit of the points.

    Returns
    -------
    list of int
        Indices from 0, rising.

    Examples
    --------
    >>> tick_numbers(np.stack([np.arange(13.0), np.zeros(13)], axis=1), gap=5)
    [0, 5, 12]
    """
    chosen: list[int] = []
    free = np.ones(len(points), dtype=np.bool_)
    for index in number_order(len(points)):
        if free[index] or index == len(points) - 1:
            chosen.append(index)
            free &= np.hypot(*(points - points[index]).T) >= gap
    return sorted(chosen)


def told_apart(points: Floats) -> NDArray[np.intp]:
    """The first point on each dot of the paper: the others would be drawn on top of it.

    Parameters
    ----------
    points : (n, 2) array
        Millimetres.

    Returns
    -------
    array of int
        Indices from 0, rising.

    Examples
    --------
    >>> told_apart(np.array([(0.0, 0.0), (0.01, 0.0), (1.0, 0.0), (0.0, 0.01)])).tolist()
    [0, 2]
    """
    _, first = np.unique(np.round(points / DOT), axis=0, return_index=True)
    return np.sort(first)


def number_order(count: int) -> list[int]:
    """Indices of frames from 0, in the order in which they should get their number.

    Examples
    --------
    >>> number_order(12)
    [0, 11, 9, 4, 1, 2, 3, 5, 6, 7, 8, 10]
    """
    tens, fives = range(9, count, 10), range(4, count, 5)
    return list(dict.fromkeys([0, count - 1, *tens, *fives, *range(count)]))
