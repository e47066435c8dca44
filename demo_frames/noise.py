"""Repeatable randomness for the set: hashes, smooth noise, and the wandering of a maker's hand.

Everything is a pure function of its arguments, so a still drawn twice is the same still.
"""

from collections.abc import Callable
from typing import Any, TypeVar

import numba
import numpy as np
import numpy.typing as npt

Table = npt.NDArray[np.float64]  # things or lamps, one a row
F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """The function, compiled on first use; the compiled form is kept on disk beside the script."""
    machine_code: F = numba.njit(cache=True, fastmath=True, error_model="numpy")(function)
    return machine_code


@compiled
def clamp(value: float, low: float, high: float) -> float:
    """The value, kept between two bounds."""
    return min(max(value, low), high)


@compiled
def blend(start: float, end: float, amount: float) -> float:
    """Part of the way from start to end."""
    return start + (end - start) * amount


@compiled
def rise(low: float, high: float, value: float) -> float:
    """0 below `low`, 1 above `high`, a smooth climb between."""
    t = min(max((value - low) / (high - low), 0.0), 1.0)
    return t * t * (3.0 - 2.0 * t)


@compiled
def dice(i: int, j: int, k: int) -> float:
    """A number in [0, 1) for three integers: a multiply-and-fold hash on 32 bits."""
    h = (i * 0x1B873593 + j * 0x2C1B3C6D + k * 0x297A2D39) & 0xFFFFFFFF
    h = ((h ^ (h >> 15)) * 0x2C1B3C6D) & 0xFFFFFFFF
    h = ((h ^ (h >> 12)) * 0x297A2D39) & 0xFFFFFFFF
    return ((h ^ (h >> 15)) & 0xFFFFFF) / 16777216.0


@compiled
def noise(x: float, y: float, z: float) -> float:
    """Smooth noise in [-1, 1] with features about one unit across."""
    fx, fy, fz = x // 1.0, y // 1.0, z // 1.0
    i, j, k = int(fx), int(fy), int(fz)
    u, v, w = x - fx, y - fy, z - fz
    u, v, w = u * u * (3 - 2 * u), v * v * (3 - 2 * v), w * w * (3 - 2 * w)
    near = blend(
        blend(dice(i, j, k), dice(i + 1, j, k), u),
        blend(dice(i, j + 1, k), dice(i + 1, j + 1, k), u),
        v,
    )
    far = blend(
        blend(dice(i, j, k + 1), dice(i + 1, j, k + 1), u),
        blend(dice(i, j + 1, k + 1), dice(i + 1, j + 1, k + 1), u),
        v,
    )
    return 2.0 * blend(near, far, w) - 1.0


@compiled
def rough(x: float, y: float, z: float) -> float:
    """Noise at three sizes, each half as big and half as strong: plaster, cotton, rock."""
    return (
        noise(x, y, z)
        + 0.5 * noise(2.03 * x + 17.0, 2.03 * y, 2.03 * z)
        + 0.25 * noise(4.1 * x, 4.1 * y + 31.0, 4.1 * z)
    ) / 1.75
