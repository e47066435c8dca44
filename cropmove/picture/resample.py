"""Framings of a still as frames: sub-pixel exact, in linear light, antialiased.

Frame pixel i is centred at ``left + (i + ½)·(right − left) / width`` in still pixels, whatever
the box: nothing is rounded to whole still pixels on the way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from cropmove.picture import straight
from cropmove.picture.compiling import Taps
from cropmove.picture.handed import (
    LOWEST,
    SHIFT,
    Box,
    Picture,
    check,
    decoding_of,
    encoding_of,
    frames_as_rows,
    memory_for,
    rows_of,
    taps_of,
)
from cropmove.picture.kernels import Kernel
from cropmove.picture.light import SRGB, Transfer

__all__ = ["resample", "resample_each"]


def resample(
    still: Picture,
    box: Box,
    size: tuple[int, int],
    *,
    kernel: Kernel,
    transfer: Transfer = SRGB,
    depth: int = 8,
    out: Picture | None = None,
    weighed: bool = False,
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
    weighed
        Of light (a depth of 32) with alpha: whether its colours stay multiplied by it, and it is
        not limited to 0 … 1. That is for what is added up first.

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
    check(still, box, size, depth)
    frame = memory_for((size[1], size[0], still.shape[2]), depth, out)
    _fill(frame[None], still, [box], kernel, transfer, weighed)
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
    weighed: bool = False,
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
        check(still, box, size, depth)
    frames = memory_for((len(boxes), size[1], size[0], still.shape[2]), depth, out)
    for some in _passes(boxes, size, kernel):
        _fill(frames[some], still, boxes[some], kernel, transfer, weighed)
    return frames


def _fill(
    frames: Picture,
    still: Picture,
    boxes: Sequence[Box],
    kernel: Kernel,
    transfer: Transfer,
    weighed: bool,
) -> None:
    """The parts of a still inside boxes, as frames, in one pass."""
    _, height, width, _ = frames.shape
    depth = frames.itemsize * 8
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    straight.resample_rows(
        rows_of(np.ascontiguousarray(still), changeable=False),
        decoding_of(transfer, still.dtype, depth),
        _taps(lefts, rights, width, still.shape[1], kernel),
        _taps(tops, bottoms, height, still.shape[0], kernel),
        encoding_of(transfer, depth),
        LOWEST,
        SHIFT,
        frames_as_rows(frames, weighed=weighed),
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
        taps_of(kernel.at(step), float(start), step, count, available, kernel.stretch(step), width)
        for start, step in zip(starts, steps, strict=True)
    ]
    return Taps(np.stack([one.firsts for one in taps]), np.stack([one.weights for one in taps]))
