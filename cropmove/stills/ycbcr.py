"""From Y'CbCr, as movies hold it, back to R'G'B'.

Compiled here because the usual scaling library, asked for 16 bits a channel, is off by half a
code of 8 bits on average and by much more where a colour is at its limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.picture.compiling import loop

__all__ = ["LUMA_SHARES", "Coding", "to_rgb"]

LUMA_SHARES: dict[int, tuple[float, float]] = {
    1: (0.2126, 0.0722),
    4: (0.30, 0.11),
    5: (0.299, 0.114),
    6: (0.299, 0.114),
    7: (0.212, 0.087),
    9: (0.2627, 0.0593),
}
"""Shares of red and blue in luma by code point of the matrix: ITU-T H.273, table 4."""

Plane = NDArray[Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Coding:
    """How three planes stand for colours.

    Parameters
    ----------
    bits
        Bits a value.
    shares
        Shares of red and blue in luma.
    is_full
        Whether values take the full range, rather than 16 to 235 of 255 and the like.
    """

    bits: int
    shares: tuple[float, float]
    is_full: bool

    def offsets_and_scales(self) -> NDArray[np.float32]:
        """Luma's black, 1 over its span, chroma's middle, 1 over its span: H.273, 8.3."""
        unit = 1 << (self.bits - 8)
        top = (1 << self.bits) - 1
        black, span, chroma = (0, top, top) if self.is_full else (16 * unit, 219 * unit, 224 * unit)
        return np.array([black, 1 / span, 128 * unit, 1 / chroma], np.float32)


def to_rgb(luma: Plane, blue: Plane, red: Plane, coding: Coding) -> NDArray[Any]:
    """The picture that three planes hold: (H, W, 3), uint8 from 8 bits and uint16 from more.

    Chroma planes may have all or half of the rows and columns, sited as MPEG-2 and H.264 do by
    default: on the first of two columns, midway between two rows.
    """
    kind = np.uint8 if coding.bits == 8 else np.uint16
    pixels = np.empty((*luma.shape, 3), kind)
    kr, kb = coding.shares
    weights = np.array([2 - 2 * kr, 2 - 2 * kb, kr, kb, 1 - kr - kb], np.float32)
    _fill(luma, blue, red, coding.offsets_and_scales(), weights, pixels)
    return pixels


@loop
def _fill(
    luma: Plane,
    blue: Plane,
    red: Plane,
    levels: NDArray[np.float32],
    weights: NDArray[np.float32],
    pixels: Plane,
) -> None:
    height, width = luma.shape
    across, down = -(-width // blue.shape[1]), -(-height // blue.shape[0])
    full = np.float32(255 if pixels.itemsize == 1 else 65535)
    mixed = np.empty(blue.shape[1] + 1, np.float32)
    cb = np.empty(width, np.float32)
    cr = np.empty(width, np.float32)
    for y in range(height):
        _chroma_row(blue, y, across, down, levels, mixed, cb)
        _chroma_row(red, y, across, down, levels, mixed, cr)
        _rgb_row(luma[y], cb, cr, levels, weights, full, pixels[y])


@loop
def _chroma_row(
    plane: Plane,
    y: int,
    across: int,
    down: int,
    levels: NDArray[np.float32],
    mixed: NDArray[np.float32],
    row: NDArray[np.float32],
) -> None:
    """One row of chroma at full width: the nearer row counts three times the further one."""
    near = y // down
    far = near
    if down == 2:
        far = near - 1 if y % 2 == 0 else near + 1
        far = min(max(far, 0), plane.shape[0] - 1)
    middle, scale = levels[2], levels[3]
    count = plane.shape[1]
    for i in range(count):
        value = np.float32(0.75) * plane[near, i] + np.float32(0.25) * plane[far, i]
        mixed[i] = (value - middle) * scale
    mixed[count] = mixed[count - 1]
    if across == 1:
        row[:] = mixed[: row.size]
        return
    for i in range(row.size // 2):
        row[2 * i] = mixed[i]
        row[2 * i + 1] = np.float32(0.5) * (mixed[i] + mixed[i + 1])
    if row.size % 2:
        row[row.size - 1] = mixed[row.size // 2]


@loop
def _rgb_row(
    luma: Plane,
    cb: NDArray[np.float32],
    cr: NDArray[np.float32],
    levels: NDArray[np.float32],
    weights: NDArray[np.float32],
    full: np.float32,
    row: Plane,
) -> None:
    black, scale = levels[0], levels[1]
    to_red, to_blue, kr, kb, kg = weights[0], weights[1], weights[2], weights[3], weights[4]
    one, zero, half = np.float32(1), np.float32(0), np.float32(0.5)
    for x in range(luma.size):
        y = (luma[x] - black) * scale
        r = y + to_red * cr[x]
        b = y + to_blue * cb[x]
        g = (y - kr * r - kb * b) / kg
        row[x, 0] = np.int32(min(max(r, zero), one) * full + half)
        row[x, 1] = np.int32(min(max(g, zero), one) * full + half)
        row[x, 2] = np.int32(min(max(b, zero), one) * full + half)
