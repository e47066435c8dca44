"""Rows of pixels made ready to be packed: the compiled loops for PNG and TIFF.

Each row becomes differences between neighbours, which pack far better than the values do. The
loops are written so that the compiler turns them into vectors of bytes: neighbours are slices that
are indexed alike, since an index that might be negative is not turned, and no sum leaves its byte,
since wider numbers would fill the vectors with nothing.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.picture.compiling import loop

Bytes = NDArray[np.uint8]

__all__ = ["AVERAGE", "NONE", "PAETH", "differences", "filtered"]

NONE, AVERAGE, PAETH = np.uint8(0), np.uint8(3), np.uint8(4)
"""Filter types of PNG, third edition, 9.2."""


@loop
def filtered(rows: Bytes, step: int, swap: bool, kind: np.uint8, lines: Bytes) -> None:
    """PNG scanlines: each row's filter type, then its filtered bytes.

    Parameters
    ----------
    rows : (H, bytes a row) array
        The pixels' bytes as they lie in memory.
    step
        Bytes a pixel.
    swap
        Whether to exchange each two bytes: PNG holds 16-bit values high byte first.
    kind
        `NONE`, `AVERAGE` or `PAETH`. A first row that would be averaged is put by `PAETH`.
    lines : (H, 1 + bytes a row) array
        Where to put the scanlines.
    """
    height, width = rows.shape
    above = np.empty(width, np.uint8)
    for i in range(width):
        above[i] = 0
    for y in range(height):
        row, line = rows[y], lines[y, 1:]
        # Below nothing but zeros Paeth's choice is the left neighbour, and half of it is worse.
        chosen = PAETH if y == 0 and kind == AVERAGE else kind
        lines[y, 0] = chosen
        if chosen == NONE:
            _copy(row, line)
        else:
            for i in range(step):  # nothing stands to the left, which counts as 0
                line[i] = row[i] - (above[i] >> np.uint8(1) if chosen == AVERAGE else above[i])
            beside, left, up = row[step:], row[: width - step], above[step:]
            if chosen == AVERAGE:
                _average(beside, left, up, line[step:])
            else:
                _paeth(beside, left, up, above, line[step:])
        if swap:  # each byte meets only its own kind, so that they may change places afterwards
            _swap(line)
        above = row


@loop
def _copy(row: Bytes, line: Bytes) -> None:
    for i in range(line.size):
        line[i] = row[i]


@loop
def _swap(line: Bytes) -> None:
    for i in range(line.size // 2):
        first, second = line[2 * i], line[2 * i + 1]
        line[2 * i] = second
        line[2 * i + 1] = first


@loop
def _average(row: Bytes, left: Bytes, up: Bytes, line: Bytes) -> None:
    for i in range(line.size):
        # The mean of two bytes without leaving the byte.
        mean = np.uint8((left[i] & up[i]) + ((left[i] ^ up[i]) >> np.uint8(1)))
        line[i] = np.uint8(row[i] - mean)


@loop
def _paeth(row: Bytes, left: Bytes, up: Bytes, corner: Bytes, line: Bytes) -> None:
    for i in range(line.size):
        a, b, c = left[i], up[i], corner[i]
        to_a = np.uint8(max(b, c) - min(b, c))
        to_b = np.uint8(max(a, c) - min(a, c))
        # The standard's third distance, |a + b − 2c|, is the sum of the other two where a and b
        # lie on one side of c, so never the least; and their difference where c lies between.
        apart = np.uint8(max(to_a, to_b) - min(to_a, to_b))
        to_c = apart if (a < c) != (b < c) else np.uint8(255)
        nearest = b if to_b <= to_c else c
        nearest = a if to_a <= min(to_b, to_c) else nearest
        line[i] = np.uint8(row[i] - nearest)


@loop
def differences(rows: NDArray[Any], step: int, out: NDArray[Any]) -> None:
    """Each value less the one a pixel to its left: TIFF 6.0, section 14, predictor 2.

    Parameters
    ----------
    rows : (H, values a row) array of uint8 or uint16
    step
        Values a pixel.
    out
        Where to put them, of the rows' shape and type.
    """
    for y in range(rows.shape[0]):
        for i in range(step):
            out[y, i] = rows[y, i]
        row, left, line = rows[y, step:], rows[y], out[y, step:]
        for i in range(line.size):
            line[i] = row[i] - left[i]
