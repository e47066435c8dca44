"""A framing with roll: the still low-passed as for the straight frame, then turned.

The kernel lies along the still's own rows and columns, at the final scale, whatever the roll; so
a slow roll keeps its sharpness. What it makes is sampled `DENSER` times more finely than the
frame, in linear light, and interpolated from six by six samples along the frame's rows. The
frame is made in tiles, so that no whole picture is held in floating point.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import complain
from cropmove.geometry import HALF_PIXEL
from cropmove.picture import loops
from cropmove.picture.kernels import Kernel
from cropmove.picture.light import SRGB, Transfer
from cropmove.picture.resample import (
    _LOWEST,
    _SHIFT,
    Picture,
    _check,
    _decoding,
    _encoding,
    _frame,
    _rows,
    _taps_of,
    resample,
)

__all__ = ["resample_rolled"]

DENSER = 2.0
"""Samples of the picture to be turned for each frame pixel, along an axis."""

TILE = 256
"""Frame pixels along the side of a tile."""

MARGIN = 4
"""Samples around what a tile covers: three for the interpolation, and one for rounding."""


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
    rolling: bool = False,
) -> Picture:
    """What a camera rolled by some degrees sees of a still.

    Parameters
    ----------
    still, size, kernel, transfer, depth, out
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
                              depth, out)  # fmt: skip
    height = width * size[1] / size[0]
    box = (centre[0] - width / 2, centre[1] - height / 2,
           centre[0] + width / 2, centre[1] + height / 2)  # fmt: skip
    _check(still, box, size, depth)
    frame = _frame(still, size, depth, out)
    view = _View(centre, width, roll, size)
    paper = np.empty(0, dtype=np.float32)
    for top in range(0, size[1], TILE):
        for left in range(0, size[0], TILE):
            tile = (left, top, min(left + TILE, size[0]), min(top + TILE, size[1]))
            paper = _fill_tile(still, view, tile, kernel, transfer, frame, paper)
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
) -> Picture:
    """The straight frame of the still turned anticlockwise by quarters, as a view of it."""
    x, y = centre
    rows, columns = still.shape[:2]
    x, y = ((x, y), (y, columns - x), (columns - x, rows - y), (rows - y, x))[quarters]
    height = width * size[1] / size[0]
    box = (x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    turned = np.ascontiguousarray(np.rot90(still, quarters))
    return resample(turned, box, size, kernel=kernel, transfer=transfer, depth=depth, out=out)


class _View:
    """Where each frame pixel's centre stands in the still."""

    def __init__(
        self, centre: tuple[float, float], width: float, roll: float, size: tuple[int, int]
    ) -> None:
        self.step = width / size[0]
        angle = math.radians(roll)
        self.right = self.step * np.array([math.cos(angle), math.sin(angle)])
        self.below = self.step * np.array([-math.sin(angle), math.cos(angle)])
        middle = np.array(size) / 2 - HALF_PIXEL
        self.first = np.array(centre) - middle[0] * self.right - middle[1] * self.below

    def corners(self, tile: tuple[int, int, int, int]) -> NDArray[np.float64]:
        """The centres of a tile's corner pixels, (4, 2)."""
        left, top, right, bottom = tile
        places = [(x, y) for x in (left, right - 1) for y in (top, bottom - 1)]
        return np.array([self.first + x * self.right + y * self.below for x, y in places])


def _fill_tile(
    still: Picture,
    view: _View,
    tile: tuple[int, int, int, int],
    kernel: Kernel,
    transfer: Transfer,
    frame: Picture,
    paper: NDArray[np.float32],
) -> NDArray[np.float32]:
    """Fill one tile; what it was worked out on is handed on to the next, grown where needed."""
    corners = view.corners(tile)
    pitch = view.step / DENSER
    start = corners.min(axis=0) - MARGIN * pitch
    columns, rows = (np.ceil(np.ptp(corners, axis=0) / pitch).astype(int) + 2 * MARGIN).tolist()
    needed = rows * columns * loops.QUAD
    if paper.size < needed:
        paper = np.empty(needed, dtype=np.float32)
    picture = paper[:needed].reshape(rows, columns * loops.QUAD)
    stretch, used = kernel.stretch(view.step), kernel.at(view.step)
    channels = still.shape[2]
    loops.resample_rows(
        _rows(np.ascontiguousarray(still), changeable=False),
        _decoding(transfer, still.dtype),
        _taps_of(used, float(start[0]), pitch, columns, still.shape[1], stretch),
        _taps_of(used, float(start[1]), pitch, rows, still.shape[0], stretch),
        _encoding(transfer),
        _LOWEST,
        _SHIFT,
        loops.Rows(picture.view(np.uint8), 32, channels, loops.QUAD, True),
    )
    across, down = turning_weights(kernel)
    origin = (view.first - start) / pitch - HALF_PIXEL
    left, top, right, bottom = tile
    loops.turn(
        picture, _pair(origin), _pair(view.right / pitch), _pair(view.below / pitch),
        across, down, _encoding(transfer), _LOWEST, _SHIFT, _rows(frame, changeable=True),
        left, right, top, bottom,
    )  # fmt: skip
    return paper


def _pair(vector: NDArray[np.float64]) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])


@lru_cache(maxsize=8)
def turning_weights(kernel: Kernel) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Six weights for each place between two samples: four times each, in one row, and singly.

    Of all six weights those with the least expected square of the error, for a picture whose
    spectrum falls as 1/f and which then went through the kernel: the normal equations of linear
    prediction (N. Wiener, Extrapolation, interpolation, and smoothing of stationary time
    series, 1949), each set of weights then brought to a sum of 1.
    """
    f = np.linspace(0, 0.5, 501)
    x = np.linspace(-kernel.radius, kernel.radius, 2001)
    passed = np.cos(2 * np.pi * DENSER * f[:, None] * x) @ kernel.values(x) * (x[1] - x[0])
    power = passed**2 / np.maximum(f, 0.02)
    offsets = np.arange(-2, 4)
    places = np.arange(loops.PHASES + 1) / loops.PHASES

    def correlation(distance: NDArray[Any]) -> NDArray[np.float64]:
        return np.asarray(np.cos(2 * np.pi * distance[..., None] * f) @ power)

    among = correlation(offsets[:, None] - offsets) + 1e-7 * power.sum() * np.eye(6)
    weights = np.linalg.solve(among, correlation(offsets[:, None] - places)).T
    weights /= weights.sum(axis=1, keepdims=True)
    single = weights.astype(np.float32)
    return np.repeat(single, loops.QUAD, axis=1).reshape(-1), single.reshape(-1)
