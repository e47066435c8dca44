"""PNG files of 8 and 16 bits (PNG, third edition)."""

from __future__ import annotations

import struct
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.formats import Encoding
from cropmove.rendering.encode.packing import Buffer, packed
from cropmove.scratch import Scratch

__all__ = ["encoded"]

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_COLOUR_TYPES = {1: 0, 2: 4, 3: 2, 4: 6}
"""By channels: grey, grey and alpha, RGB, RGB and alpha (11.2.1, IHDR)."""
_PERCEPTUAL = b"\0"


def encoded(pixels: NDArray[Any], encoding: Encoding, scratch: Scratch) -> tuple[Buffer, ...]:
    """The picture as one PNG file; 16-bit values and straight alpha as they are."""
    height, width, channels = pixels.shape
    ihdr = struct.pack(">IIBBBBB", width, height, encoding.depth, _COLOUR_TYPES[channels], 0, 0, 0)
    return (
        _SIGNATURE,
        *_chunk(b"IHDR", ihdr),
        *_colour(encoding.profile),
        *_chunk(b"IDAT", _packed(pixels, encoding, scratch)),
        *_chunk(b"IEND", b""),
    )


def _chunk(name: bytes, content: Buffer) -> tuple[Buffer, ...]:
    from isal import isal_zlib

    check = isal_zlib.crc32(content, isal_zlib.crc32(name))
    return struct.pack(">I4s", len(content), name), content, check.to_bytes(4)


def _colour(profile: bytes | None) -> tuple[Buffer, ...]:
    """SRGB where the pixels are in no other space, and else their profile (11.3.2)."""
    if profile is None:
        return _chunk(b"sRGB", _PERCEPTUAL)
    return _chunk(b"iCCP", b"ICC profile\0\0" + zlib.compress(profile))


def _packed(pixels: NDArray[Any], encoding: Encoding, scratch: Scratch) -> Buffer:
    from cropmove.rendering.encode.rows import AVERAGE, NONE, PAETH, filtered

    height, _, channels = pixels.shape
    rows = pixels.view(np.uint8).reshape(height, -1)
    lines = scratch.array("lines", (height, 1 + rows.shape[1]), np.uint8)
    swap = pixels.itemsize == 2 and np.little_endian
    # PNG's recommendation is Paeth (12.7). Of grain the average leaves less, and takes less time.
    kind = {"quick": AVERAGE, "small": PAETH, "none": NONE}[encoding.compression]
    filtered(rows, channels * pixels.itemsize, swap, kind, lines)
    return packed(lines, encoding.compression, scratch)
