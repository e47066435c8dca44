"""Framings of a still as frames: sub-pixel exact, in linear light, antialiased.

Frame pixel i is centred at ``left + (i + ½)·(right − left) / width`` in still pixels, whatever
the box: nothing is rounded to whole still pixels on the way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import complain
from cropmove.picture import straight
from cropmove.picture.compiling import Curve, Rows, Taps
from cropmove.picture.kernels import SAMPLES_PER_UNIT, Kernel, sampled
from cropmove.picture.light import (
    LOWEST_OCTAVE,
    SRGB,
    STEPS_PER_OCTAVE,
    Transfer,
    decoding_table,
    encoding_table,
    fit_decoding,
    fit_encoding,
)

__all__ = ["copies", "resample", "resample_each"]

Box = tuple[float, float, float, float]
Picture = NDArray[Any]
"""Pixels in rows, of uint8, uint16 or float32."""

DEPTHS: dict[int, np.dtype[Any]] = {
    8: np.dtype(np.uint8),
    16: np.dtype(np.uint16),
    32: np.dtype(np.float32),
}
"""Sample types by bits; 32 is linear light in floating point, and not limited to 0 … 1."""

_SHIFT = 23 - int(np.log2(STEPS_PER_OCTAVE))
_LOWEST = int(np.float32(2.0**LOWEST_OCTAVE).view(np.int32))


def resample(
    still: Picture,
    box: Box,
    size: tuple[int, int],
    *,
    kernel: Kernel,
    transfer: Transfer = SRGB,
    depth: int = 8,
    out: Picture | None = None,
) -> Picture:
    """The part of a still inside a box, as a picture of the given size.

    Parameters
    ----------
    still
        (height, width, channels) in rows, of uint8, uint16 or float32. One channel is grey,
        three are RGB; two and four have alpha last, which is never gamma-coded, not
        premultiplied going in nor coming out. float32 is linear light already.
    box
        Left, top, right, bottom in still pixels from the still's top-left corner: any real
        numbers. Where the box leaves the still, the still's edge pixels are repeated.
    size
        Width and height of the result in pixels.
    kernel
        One of `cropmove.picture.kernels.KERNELS`.
    transfer
        The curve of the still's codes, and of the result's.
    depth
        8 or 16 bits, or 32 for linear light in float32.
    out
        Where to put the result, of exactly its shape and type.

    Returns
    -------
    ndarray
        (height, width, channels), rounded to the nearest code and kept within range.

    Raises
    ------
    InputError
        For a still, a box, a size or a depth of another kind.

    Examples
    --------
    >>> from cropmove.picture.kernels import kernel_named
    >>> still = np.tile(np.array([0, 255], dtype=np.uint8), (64, 32))[:, :, None]
    >>> half = resample(still, (0, 0, 64, 64), (16, 16), kernel=kernel_named("crisp"))
    >>> int(half[8, 8, 0])
    188
    """
    _check(still, box, size, depth)
    frame = _picture((size[1], size[0], still.shape[2]), depth, out)
    _fill(frame[None], still, [box], kernel, transfer)
    return frame


def resample_each(
    still: Picture,
    boxes: Sequence[Box],
    size: tuple[int, int],
    *,
    kernel: Kernel,
    transfer: Transfer = SRGB,
    depth: int = 8,
    out: Picture | None = None,
) -> Picture:
    """What `resample` makes of each of several boxes, in less time where they are near each other.

    Parameters
    ----------
    boxes
        One or more.
    out
        Where to put the results, of exactly their shape and type.

    Returns
    -------
    ndarray
        (frames, height, width, channels); the other parameters, and the errors, are those of
        `resample`.
    """
    for box in boxes:
        _check(still, box, size, depth)
    frames = _picture((len(boxes), size[1], size[0], still.shape[2]), depth, out)
    for some in _passes(boxes, size, kernel):
        _fill(frames[some], still, boxes[some], kernel, transfer)
    return frames


def copies(box: Box, size: tuple[int, int]) -> bool:
    """Whether the box is at native scale on whole pixels, so that a frame can be a plain copy.

    Every interpolating kernel (crisp, supple, plain) then copies bit for bit. A shot that never
    moves and whose box copies should take one of them; a shot that moves should keep one kernel
    throughout, or the change of sharpness will show.

    Examples
    --------
    >>> copies((40.0, 8.0, 1960.0, 1088.0), (1920, 1080))
    True
    >>> copies((40.5, 8.0, 1960.5, 1088.0), (1920, 1080))
    False
    """
    left, top, right, bottom = box
    native = (right - left, bottom - top) == size
    return native and float(left).is_integer() and float(top).is_integer()


def _fill(
    frames: Picture, still: Picture, boxes: Sequence[Box], kernel: Kernel, transfer: Transfer
) -> None:
    """The parts of a still inside boxes, as frames, in one pass."""
    _, height, width, channels = frames.shape
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    straight.resample_rows(
        _rows(np.ascontiguousarray(still), changeable=False),
        _decoding(transfer, still.dtype),
        _taps(lefts, rights, width, still.shape[1], kernel),
        _taps(tops, bottoms, height, still.shape[0], kernel),
        _encoding(transfer, frames.itemsize * 8),
        _LOWEST,
        _SHIFT,
        _rows(frames.reshape(-1, width, channels), changeable=True),
    )


def _passes(boxes: Sequence[Box], size: tuple[int, int], kernel: Kernel) -> Iterator[slice]:
    """Boxes in runs that are near enough for one pass."""
    begin = 0
    for end in range(1, len(boxes) + 1):
        if end == len(boxes) or not _are_near(boxes[begin : end + 1], size, kernel):
            yield slice(begin, end)
            begin = end


def _are_near(boxes: Sequence[Box], size: tuple[int, int], kernel: Kernel) -> bool:
    """Whether one pass for all the boxes takes less time than one for each.

    What it has to hold at once grows with their distance, most of all up and down: measured, it
    gains up to about these.
    """
    left, top, right, bottom = boxes[0]
    apart = np.ptp(boxes, axis=0)
    across = _reach((right - left) / size[0], kernel)
    down = _reach((bottom - top) / size[1], kernel)
    return bool(max(apart[0], apart[2]) <= 8 * across and max(apart[1], apart[3]) <= 2 * down)


def _reach(step: float, kernel: Kernel) -> float:
    """How many still pixels count for a frame pixel that is `step` of them wide."""
    return 2 * kernel.at(step).radius * kernel.stretch(step)


def _taps(
    starts: Sequence[float], stops: Sequence[float], count: int, available: int, kernel: Kernel
) -> Taps:
    """The taps of frames that begin and end there, along one axis."""
    steps = [
        (float(stop) - float(start)) / count for start, stop in zip(starts, stops, strict=True)
    ]
    width = min(max(int(np.ceil(_reach(step, kernel))) for step in steps), available)
    taps = [
        _taps_of(kernel.at(step), float(start), step, count, available, kernel.stretch(step), width)
        for start, step in zip(starts, steps, strict=True)
    ]
    return Taps(np.stack([one.firsts for one in taps]), np.stack([one.weights for one in taps]))


def _taps_of(
    kernel: Kernel,
    start: float,
    step: float,
    count: int,
    available: int,
    stretch: float,
    width: int | None = None,
) -> Taps:
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


def _decoding(transfer: Transfer, kind: np.dtype[Any]) -> Curve:
    if kind == np.uint8:
        return Curve(decoding_table(transfer, 8), fit_decoding(transfer))
    if kind == np.uint16:
        return Curve(decoding_table(transfer, 16), _NO_POLYNOMIAL)
    return Curve(_NO_TABLE, _NO_POLYNOMIAL)


def _encoding(transfer: Transfer, depth: int) -> Curve:
    polynomial = _NO_POLYNOMIAL if depth == 32 else fit_encoding(transfer, depth)
    return Curve(encoding_table(transfer), polynomial)


def _rows(picture: Picture, *, changeable: bool) -> Rows:
    """A picture for the loops; always of the same types, so that they are compiled only once."""
    height, _, channels = picture.shape
    rows = picture.reshape(height, -1).view(np.uint8)
    rows.flags.writeable = changeable
    return Rows(rows, picture.itemsize * 8, channels)


def _picture(shape: tuple[int, ...], depth: int, out: Picture | None) -> Picture:
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


def _check(still: Picture, box: Box, size: tuple[int, int], depth: int) -> None:
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
