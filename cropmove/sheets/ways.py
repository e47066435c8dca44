"""Ways with a tick for each frame: on the still, and across the screen."""

from __future__ import annotations

import numpy as np

from cropmove.geometry import Floats
from cropmove.move.course import Course

__all__ = ["directions", "number_order", "screen_way", "tick_numbers", "ticks_along"]


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
    each = np.broadcast_to(np.asarray(points, dtype=np.float64), (len(course), 2))
    framings = (course[frame] for frame in range(1, len(course) + 1))
    seen = (f.to_frame(point, course.delivery) for f, point in zip(framings, each, strict=True))
    return np.array(list(seen))


def directions(points: Floats) -> Floats:
    """Unit vectors along a way at each of its points, taken from the nearest that differ."""
    around = np.gradient(points, axis=0) if len(points) > 1 else np.zeros_like(points)
    lengths = np.hypot(around[:, 0], around[:, 1])
    moving = np.flatnonzero(lengths > 1e-9)
    if not len(moving):
        return np.tile([1.0, 0.0], (len(points), 1))
    nearest = moving[np.abs(moving[None, :] - np.arange(len(points))[:, None]).argmin(axis=1)]
    return np.asarray(around[nearest] / lengths[nearest][:, None])


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
    for index in number_order(len(points)):
        apart = np.hypot(*(points[chosen] - points[index]).T) if chosen else np.array([gap])
        if apart.min() >= gap or index == len(points) - 1:
            chosen.append(index)
    return sorted(chosen)


def number_order(count: int) -> list[int]:
    """Indices of frames from 0, in the order in which they should get their number.

    Examples
    --------
    >>> number_order(12)
    [0, 11, 9, 4, 1, 2, 3, 5, 6, 7, 8, 10]
    """
    tens, fives = range(9, count, 10), range(4, count, 5)
    return list(dict.fromkeys([0, count - 1, *tens, *fives, *range(count)]))
