"""From R'G'B' to Y'CbCr as movies hold it: BT.709, narrow range, chroma at half resolution.

Compiled here because the usual scaling library, given 16-bit pictures, is off by up to 3.6 codes
of 10 bits, and rounds a 16-bit source twice; these sums are exact and are rounded once.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.picture.compiling import loop

__all__ = ["fill_planes"]

KR, KB = np.float32(0.2126), np.float32(0.0722)
KG = np.float32(1 - 0.2126 - 0.0722)
"""Shares of red, blue and green in luma: ITU-R BT.709-6, 3.2."""
CB, CR = np.float32(1.8556), np.float32(1.5748)
"""Divisors of the colour differences: the same."""

Plane = NDArray[Any]
Rows = NDArray[np.float32]


@loop
def fill_planes(
    pixels: Plane, luma: Plane, blue: Plane, red: Plane, bits: int, halve_rows: bool
) -> None:
    """Write the three planes of a picture.

    Chroma lies on every second pixel of a row, the first included (BT.709-6, 4.3); where rows
    are halved, it lies midway between two rows (ITU-T H.264, chroma_sample_loc_type 0).

    Parameters
    ----------
    pixels : (H, W, 3) array of uint8 or uint16
        Code values, over their full range; H and W even.
    luma, blue, red
        The planes to write, of 8 bits, or of more in uint16; their rows may be longer.
    bits
        What the planes hold: 8 or 10.
    halve_rows
        Whether chroma has half the rows (4:2:0) or all of them (4:2:2).
    """
    height, width, _ = pixels.shape
    full = np.float32(1) / np.float32(255 if pixels.itemsize == 1 else 65535)
    unit = np.float32(1 << (bits - 8))
    # Two rows at a time, each with one pixel more on its left, for the filter.
    cb = np.empty((2, width + 1), np.float32)
    cr = np.empty((2, width + 1), np.float32)
    for top in range(0, height, 2):
        for i in range(2):
            _row(pixels[top + i], full, unit, luma[top + i], cb[i], cr[i])
        if halve_rows:
            _halved(cb[0], cb[1], unit, blue[top // 2])
            _halved(cr[0], cr[1], unit, red[top // 2])
        else:
            for i in range(2):
                _halved(cb[i], cb[i], unit, blue[top + i])
                _halved(cr[i], cr[i], unit, red[top + i])


@loop
def _row(row: Plane, full: np.float32, unit: np.float32, luma: Plane, cb: Rows, cr: Rows) -> None:
    half = np.float32(0.5)
    for x in range(row.shape[0]):
        r, g, b = row[x, 0] * full, row[x, 1] * full, row[x, 2] * full
        y = KR * r + KG * g + KB * b
        luma[x] = np.int32((np.float32(16) + np.float32(219) * y) * unit + half)
        cb[x + 1] = (b - y) / CB
        cr[x + 1] = (r - y) / CR
    cb[0], cr[0] = cb[1], cr[1]


@loop
def _halved(one: Rows, other: Rows, unit: np.float32, plane: Plane) -> None:
    """Every second value of the mean of two rows, through the filter (¼, ½, ¼)."""
    scale = np.float32(224 / 8) * unit
    middle = np.float32(128) * unit + np.float32(0.5)
    for i in range(one.size // 2):
        x = 2 * i
        ends = one[x] + one[x + 2] + other[x] + other[x + 2]
        plane[i] = np.int32(scale * (ends + 2 * (one[x + 1] + other[x + 1])) + middle)
