"""Rows of pixels made ready to be packed: the compiled loops for PNG and TIFF.

Each row becomes differences between neighbours, which pack far better than the values do.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Bytes = NDArray[np.uint8]

__all__ = ["AVERAGE", "NONE", "PAETH", "differences", "filtered"]

NONE, SUB, AVERAGE, PAETH = np.uint8(0), np.uint8(1), np.uint8(3), np.uint8(4)
"""Filter types of PNG, third edition, 9.2."""


@njit(nogil=True, cache=True)
def filtered(rows: Bytes, step: int, swap: bool, kind: np.uint8) -> Bytes:
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
        `NONE`, `AVERAGE` or `PAETH`. The first row, which has none above it, is filtered by its
        left neighbours alone.

    Returns
    -------
    (H, 1 + bytes a row) array
    """
    height, width = rows.shape
    lines = np.empty((height, width + 1), np.uint8)
    # `step` zero bytes stand before each row, so that the first pixel has a left neighbour too.
    above = np.zeros(step + width, np.uint8)
    row = np.zeros(step + width, np.uint8)
    for y in range(height):
        _take(rows[y], row[step:], swap)
        line = lines[y, 1:]
        if kind == NONE:
            lines[y, 0] = NONE
            line[:] = row[step:]
        elif y == 0:
            lines[y, 0] = SUB
            _sub(row[step:], row[:width], line)
        elif kind == AVERAGE:
            lines[y, 0] = AVERAGE
            _average(row[step:], row[:width], above[step:], line)
        else:
            lines[y, 0] = PAETH
            _paeth(row[step:], row[:width], above[step:], above[:width], line)
        row, above = above, row
    return lines


@njit(nogil=True, cache=True)
def _take(source: Bytes, row: Bytes, swap: bool) -> None:
    if swap:
        for i in range(source.size // 2):
            row[2 * i] = source[2 * i + 1]
            row[2 * i + 1] = source[2 * i]
    else:
        row[:] = source


# Neighbours are passed as slices that are indexed alike: an index that might be negative would
# keep the compiler from using vectors, at eight times the cost.


@njit(nogil=True, cache=True)
def _sub(row: Bytes, left: Bytes, line: Bytes) -> None:
    for i in range(line.size):
        line[i] = np.uint8(row[i] - left[i])


@njit(nogil=True, cache=True)
def _average(row: Bytes, left: Bytes, up: Bytes, line: Bytes) -> None:
    for i in range(line.size):
        # The mean of two bytes without leaving the byte.
        mean = np.uint8((left[i] & up[i]) + ((left[i] ^ up[i]) >> np.uint8(1)))
        line[i] = np.uint8(row[i] - mean)


@njit(nogil=True, cache=True)
def _paeth(row: Bytes, left: Bytes, up: Bytes, corner: Bytes, line: Bytes) -> None:
    for i in range(line.size):
        a, b, c = np.int16(left[i]), np.int16(up[i]), np.int16(corner[i])
        to_a, to_b = np.int16(abs(np.int16(b - c))), np.int16(abs(np.int16(a - c)))
        to_c = np.int16(abs(np.int16(a + b - c - c)))
        nearest = b if to_b <= to_c else c
        if to_a <= to_b and to_a <= to_c:
            nearest = a
        line[i] = np.uint8(row[i] - np.uint8(nearest))


@njit(nogil=True, cache=True)
def differences(rows: NDArray[Any], step: int) -> NDArray[Any]:
    """Each value less the one a pixel to its left: TIFF 6.0, section 14, predictor 2.

    Parameters
    ----------
    rows : (H, values a row) array of uint8 or uint16
    step
        Values a pixel.
    """
    out = np.empty_like(rows)
    for y in range(rows.shape[0]):
        out[y, :step] = rows[y, :step]
        row, left, line = rows[y, step:], rows[y, :-step], out[y, step:]
        for i in range(line.size):
            line[i] = row[i] - left[i]
    return out
