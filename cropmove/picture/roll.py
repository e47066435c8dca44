"""A framing with roll: the kernel as for the straight frame, turned lines through what it makes.

The kernel lies along the still's own rows and columns, at the final scale, whatever the roll; so
a slow roll keeps its sharpness. `cropmove.picture.turning` tells how the frame is made of it.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import complain
from cropmove.geometry import HALF_PIXEL
from cropmove.picture import turning
from cropmove.picture.compiling import Taps
from cropmove.picture.handed import (
    LOWEST,
    SHIFT,
    Picture,
    check,
    decoding_of,
    encoding_of,
    frames_as_rows,
    memory_for,
    rows_of,
    taps_of,
)
from cropmove.picture.kernels import SAMPLES_PER_UNIT, Kernel, sampled
from cropmove.picture.light import SRGB, Transfer
from cropmove.picture.resample import resample
from cropmove.picture.sums import TOGETHER

__all__ = ["resample_rolled"]

FINEST = 128
"""At least so many places to a frame pixel are tabulated: the nearest is within 1/256 of it."""


def resample_rolled(
    still: Picture,
    centre: tuple[float, float],
    width: float,
    roll: float,
    size: tuple[int, int],
    *,
    kernel: Kernel,
    transfer: Transfer = SRGB,
    depth: int = 8,
    out: Picture | None = None,
    weighed: bool = False,
    rolling: bool = False,
) -> Picture:
    """What a camera rolled by some degrees sees of a still.

    Parameters
    ----------
    still, size, kernel, transfer, depth, out, weighed
        As for `cropmove.picture.resample.resample`.
    centre
        The middle of the frame in still pixels from the still's top-left corner.
    width
        How many still pixels the frame's width spans, along its own rows.
    roll
        Degrees; positive turns the camera clockwise seen from behind it, so that the picture
        turns anticlockwise.
    rolling
        True where the roll changes in the course of the shot. Right angles then go the way of
        all others; else they are exact, a straight frame of the turned still.

    Raises
    ------
    InputError
        As `resample` does, and for a roll, a centre or a width that is no number.

    Examples
    --------
    >>> from cropmove.picture.kernels import kernel_named
    >>> still = np.zeros((80, 80, 1), dtype=np.uint8)
    >>> still[:, 40:] = 255
    >>> frame = resample_rolled(still, (40, 40), 40, 90, (20, 20), kernel=kernel_named("crisp"))
    >>> frame[[4, 15], 10, 0].tolist()
    [255, 0]
    """
    if not all(map(math.isfinite, (*centre, width, roll))):
        raise complain("roll", (centre, width, roll), "all are finite numbers", "write degrees")
    turns = roll / 90
    if not rolling and turns == round(turns):
        return _turned_square(still, centre, width, round(turns) % 4, size, kernel, transfer,
                              depth, out, weighed)  # fmt: skip
    height = width * size[1] / size[0]
    box = (centre[0] - width / 2, centre[1] - height / 2,
           centre[0] + width / 2, centre[1] + height / 2)  # fmt: skip
    check(still, box, size, depth)
    frame = memory_for((size[1], size[0], still.shape[2]), depth, out)
    step, angle = width / size[0], math.radians(roll)
    right = step * np.array([math.cos(angle), math.sin(angle)])
    below = step * np.array([-math.sin(angle), math.cos(angle)])
    middle = np.array(size) / 2 - HALF_PIXEL
    first = np.array(centre) - middle[0] * right - middle[1] * below
    turning.turn(
        rows_of(np.ascontiguousarray(still), changeable=False),
        decoding_of(transfer, still.dtype, depth),
        _pair(first),
        _pair(right),
        _pair(below),
        _profile(kernel, step, _sideways(right, below)),
        *_rows_down(kernel, step, first, right, below, size, still.shape[0]),
        _between(kernel, step),
        encoding_of(transfer, depth),
        LOWEST,
        SHIFT,
        frames_as_rows(frame, weighed=weighed),
    )
    return frame


def _turned_square(
    still: Picture,
    centre: tuple[float, float],
    width: float,
    quarters: int,
    size: tuple[int, int],
    kernel: Kernel,
    transfer: Transfer,
    depth: int,
    out: Picture | None,
    weighed: bool,
) -> Picture:
    """The straight frame of the still turned anticlockwise by quarters, as a view of it."""
    x, y = centre
    rows, columns = still.shape[:2]
    x, y = ((x, y), (y, columns - x), (columns - x, rows - y), (rows - y, x))[quarters]
    height = width * size[1] / size[0]
    box = (x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    turned = np.ascontiguousarray(np.rot90(still, quarters))
    return resample(turned, box, size, kernel=kernel, transfer=transfer, depth=depth, out=out,
                    weighed=weighed)  # fmt: skip


def _pair(vector: NDArray[np.float64]) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])


def _rows_down(
    kernel: Kernel,
    step: float,
    first: NDArray[np.float64],
    right: NDArray[np.float64],
    below: NDArray[np.float64],
    size: tuple[int, int],
    available: int,
) -> tuple[Taps, int]:
    """Taps of all rows that the frame needs and a few more, and which row the topmost is."""
    pitch = max(abs(right[1]), abs(below[1])) / turning.DENSER
    rises = (size[0] - 1) * right[1], (size[1] - 1) * below[1]
    top = first[1] + sum(min(rise, 0.0) for rise in rises)
    highest = math.floor(top / pitch) - turning.REACH
    count = math.ceil(sum(map(abs, rises)) / pitch) + 3 * turning.REACH + turning.BAND
    start = (highest - HALF_PIXEL) * pitch
    used, stretch = kernel.at(step), kernel.stretch(step)
    return taps_of(used, start, pitch, count, available, stretch), highest


def _sideways(right: NDArray[np.float64], below: NDArray[np.float64]) -> float:
    """How much further right each pixel of a line is than the one above it."""
    along = below if abs(below[1]) >= abs(right[1]) else right
    return float(along[0] if along[1] > 0 else -along[0])


def _profile(kernel: Kernel, step: float, sideways: float) -> turning.Profile:
    """The kernel for so many still pixels a frame pixel, across eight rows.

    At place p of n the taps of the row that begins first begin on the pixel after ``p/n`` − 1, with
    the kernel's left end at p/n; those of the other rows are as much further right as they are,
    less the whole still pixels by which their pair is taken further aside.
    """
    used, stretch = kernel.at(step), kernel.stretch(step)
    places = math.ceil(FINEST / min(stretch, step))
    reach = used.radius * stretch
    leftmost = min(0.0, (TOGETHER - 1) * sideways)
    pairs = (sideways * np.arange(TOGETHER) - leftmost).reshape(-1, 2)
    asides = np.floor(pairs.min(axis=1)).astype(np.int64)
    further = (pairs - asides[:, None]).reshape(-1)
    count = math.ceil(2 * reach + further.max())
    ends = np.arange(places + 1)[:, None, None] / places + further
    far = np.abs(1 + np.arange(count)[:, None] - ends - reach) / stretch * SAMPLES_PER_UNIT
    samples = sampled(used)
    below = np.minimum(far.astype(np.int64), samples.size - 2)
    weights = samples[below] + np.minimum(far - below, 1) * (samples[below + 1] - samples[below])
    weights /= weights.sum(axis=1, keepdims=True)
    return turning.Profile(
        weights=weights.astype(np.float32).reshape(-1),
        places=places,
        taps=count,
        span=count + int(asides.max()),
        reach=float(reach),
        leftmost=leftmost,
        asides=asides,
    )


def _between(kernel: Kernel, step: float) -> NDArray[np.float32]:
    """The `turning_weights` for so many still pixels a frame pixel."""
    share = kernel.share_reduced(step)
    if kernel.reduced is None or not share:
        return turning_weights(kernel)
    one, other = turning_weights(kernel), turning_weights(kernel.reduced)
    return np.float32(1 - share) * one + np.float32(share) * other


@lru_cache(maxsize=8)
def turning_weights(kernel: Kernel) -> NDArray[np.float32]:
    """Eight weights for each place between two rows.

    Of all eight weights those with the least expected square of the error, for a picture whose
    spectrum falls as 1/f and which then went through the kernel: the normal equations of linear
    prediction (N. Wiener, Extrapolation, interpolation, and smoothing of stationary time
    series, 1949), each set of weights then brought to a sum of 1.
    """
    f = np.linspace(0, 0.5, 501)
    x = np.linspace(-kernel.radius, kernel.radius, 2001)
    passed = np.cos(2 * np.pi * turning.DENSER * f[:, None] * x) @ kernel.values(x) * (x[1] - x[0])
    power = passed**2 / np.maximum(f, 0.02)
    offsets = np.arange(turning.REACH) - turning.REACH // 2 + 1
    places = np.arange(turning.PLACES + 1) / turning.PLACES

    def correlation(distance: NDArray[Any]) -> NDArray[np.float64]:
        return np.asarray(np.cos(2 * np.pi * distance[..., None] * f) @ power)

    among = correlation(offsets[:, None] - offsets)
    among += 1e-7 * power.sum() * np.eye(turning.REACH)
    weights = np.linalg.solve(among, correlation(offsets[:, None] - places)).T
    weights /= weights.sum(axis=1, keepdims=True)
    return weights.astype(np.float32).reshape(-1)
