"""What the compiled loops are handed: pictures as rows, curves as tables, kernels as taps."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import complain
from cropmove.picture import straight
from cropmove.picture.compiling import Curve, Rows, Taps
from cropmove.picture.kernels import SAMPLES_PER_UNIT, Kernel, sampled
from cropmove.picture.light import (
    LOWEST_OCTAVE,
    STEPS_PER_OCTAVE,
    Transfer,
    decoding_table,
    encoding_table,
    fit_decoding,
    fit_encoding,
    fit_fine_decoding,
)

__all__ = [
    "DEPTHS",
    "LOWEST",
    "SHIFT",
    "Box",
    "Picture",
    "check",
    "decoding_of",
    "encoding_of",
    "frames_as_rows",
    "memory_for",
    "rows_of",
    "taps_of",
]

Box = tuple[float, float, float, float]
Picture = NDArray[Any]
"""Pixels in rows, of uint8, uint16 or float32."""

DEPTHS: dict[int, np.dtype[Any]] = {
    8: np.dtype(np.uint8),
    16: np.dtype(np.uint16),
    32: np.dtype(np.float32),
}
"""Sample types by bits; 32 is linear light in floating point, and not limited to 0 … 1."""

SHIFT = 23 - int(np.log2(STEPS_PER_OCTAVE))
"""Bits of a float32 number below those that say which piece of an encoding table it falls in."""
LOWEST = int(np.float32(2.0**LOWEST_OCTAVE).view(np.int32))
"""The bits of the number at which that table begins."""


def taps_of(
    kernel: Kernel,
    start: float,
    step: float,
    count: int,
    available: int,
    stretch: float,
    width: int | None = None,
) -> Taps:
    """The taps of so many frame pixels, `step` apart from `start` on; see `straight.taps`.

    Parameters
    ----------
    kernel
        As it is for this scale: `Kernel.at` was asked.
    stretch
        How many still pixels a unit of it covers.
    width
        How many taps each pixel has; as many as it reaches, where it is not given.
    """
    found: Taps = straight.taps(
        start,
        step,
        int(count),
        available,
        width or min(int(np.ceil(2 * kernel.radius * stretch)), available),
        sampled(kernel),
        float(SAMPLES_PER_UNIT),
        float(kernel.radius),
        float(stretch),
    )
    return found


_NO_POLYNOMIAL = np.zeros(0, dtype=np.float32)
_NO_TABLE = np.zeros(0, dtype=np.float32)


def decoding_of(transfer: Transfer, kind: np.dtype[Any], depth: int) -> Curve:
    """The curve from codes of that type to light, as closely as frames of `depth` bits show."""
    if kind == np.uint8:
        fit = fit_decoding if depth == 8 else fit_fine_decoding
        return Curve(decoding_table(transfer, 8), fit(transfer))
    if kind == np.uint16:
        return Curve(decoding_table(transfer, 16), _NO_POLYNOMIAL)
    return Curve(_NO_TABLE, _NO_POLYNOMIAL)


def encoding_of(transfer: Transfer, depth: int) -> Curve:
    """The curve from light to codes of so many bits."""
    polynomial = _NO_POLYNOMIAL if depth == 32 else fit_encoding(transfer, depth)
    return Curve(encoding_table(transfer), polynomial)


def rows_of(picture: Picture, *, changeable: bool) -> Rows:
    """A picture for the loops; always of the same types, so that they are compiled only once."""
    height, _, channels = picture.shape
    rows = picture.reshape(height, -1).view(np.uint8)
    rows.flags.writeable = changeable
    return Rows(rows, picture.itemsize * 8, channels)


def frames_as_rows(frames: Picture, *, weighed: bool) -> Rows:
    """Frames to be filled, for the loops: one, or several one below the other.

    Parameters
    ----------
    frames
        Their last axes are height, width and channels.
    weighed
        Whether they get light whose colours stay multiplied by their alpha: they are handed over as
        if all were one channel, of which no alpha is divided out, nor limited.
    """
    *_, width, channels = frames.shape
    row = (width * channels, 1) if weighed else (width, channels)
    return rows_of(frames.reshape(-1, *row), changeable=True)


def memory_for(shape: tuple[int, ...], depth: int, out: Picture | None) -> Picture:
    """The picture or pictures to fill: the caller's own, where it fits, or new memory."""
    shape = tuple(map(int, shape))
    if out is None:
        return np.empty(shape, DEPTHS[depth])
    if out.shape != shape or out.dtype != DEPTHS[depth] or not out.flags.c_contiguous:
        raise complain(
            "out",
            f"{out.dtype} {out.shape}",
            f"a result goes into {DEPTHS[depth]} {shape} in rows",
            "leave it out, or make it with numpy.empty",
        )
    return out


def check(still: Picture, box: Box, size: tuple[int, int], depth: int) -> None:
    """Refuse what cannot be resampled.

    Raises
    ------
    InputError
    """
    if still.ndim != 3 or still.dtype not in DEPTHS.values() or 0 in still.shape:
        raise complain(
            "still",
            f"{still.dtype} {still.shape}",
            "a still is (height, width, channels) of uint8, uint16 or float32",
            "add a last axis to a grey one: still[:, :, None]",
        )
    if still.shape[2] > 4:
        raise complain("still", f"{still.shape[2]} channels", "there are 1 to 4", "leave some out")
    if depth not in DEPTHS:
        raise complain("depth", depth, "it is 8, 16 or 32", "write one of these")
    if min(size) < 1:
        raise complain("size", size, "both sides are 1 pixel or more", "make it larger")
    left, top, right, bottom = box
    if not (np.isfinite(box).all() and left < right and top < bottom):
        raise complain(
            "box", box, "it runs from left to right and top to bottom", "swap or widen its sides"
        )
