"""Files made straight from their standards: no library has a hand in them."""

from __future__ import annotations

import struct
import zlib
from typing import Any

from numpy.typing import NDArray


def png_bytes(
    values: NDArray[Any], *chunks: tuple[bytes, bytes], colour: int | None = None
) -> bytes:
    """A PNG without filters, written straight from the standard (PNG, third edition, 5 and 11)."""
    height, width, channels = values.shape
    colour = {1: 0, 2: 4, 3: 2, 4: 6}[channels] if colour is None else colour
    bits = 8 * values.itemsize
    ihdr = struct.pack(">IIBBBBB", width, height, bits, colour, 0, 0, 0)
    big_endian = values.astype(values.dtype.newbyteorder(">"))
    lines = b"".join(b"\0" + row.tobytes() for row in big_endian)
    parts = [(b"IHDR", ihdr), *chunks, (b"IDAT", zlib.compress(lines)), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(*part) for part in parts)


def _chunk(name: bytes, content: bytes) -> bytes:
    check = zlib.crc32(name + content)
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", check)


def icc_bytes(*tags: tuple[bytes, bytes], space: bytes = b"RGB ", pcs: bytes = b"XYZ ") -> bytes:
    """An ICC profile of these tags (ICC.1:2022, 7.2 and 7.3); the name is added."""
    whole = [(b"desc", b"mluc" + struct.pack(">5I", 0, 1, 12, 0x656E5553, 8) + struct.pack(">I", 28)
              + "Test".encode("utf-16-be")), *tags]  # fmt: skip
    at = 128 + 4 + 12 * len(whole)
    table, body = struct.pack(">I", len(whole)), b""
    for name, content in whole:
        padded = content + bytes(-len(content) % 4)
        table += struct.pack(">4sII", name, at + len(body), len(content))
        body += padded
    date = struct.pack(">6H", 2026, 1, 1, 0, 0, 0)
    white = struct.pack(">3i", 0xF6D6, 0x10000, 0xD32D)
    head = struct.pack(">I4sI4s4s4s", at + len(body), bytes(4), 0x04400000, b"mntr", space, pcs)
    head += date + b"acsp" + bytes(28) + white
    return head.ljust(128, b"\0") + table + body


SRGB_COLUMNS = {
    b"rXYZ": (0.43607, 0.22249, 0.01392),
    b"gXYZ": (0.38515, 0.71687, 0.09708),
    b"bXYZ": (0.14307, 0.06061, 0.71410),
}
"""sRGB's primaries under D50, as the profiles of its standard's authors have them."""


def curve_profile(*curves: bytes) -> bytes:
    """A profile of sRGB's primaries with one curve for all channels, or one for each."""
    whole = curves * 3 if len(curves) == 1 else curves
    colours = [(name, _xyz(column)) for name, column in SRGB_COLUMNS.items()]
    white = (b"wtpt", _xyz((0.9642, 1.0, 0.8249)))
    names = (b"rTRC", b"gTRC", b"bTRC")
    return icc_bytes(white, *colours, *zip(names, whole, strict=True))


def _xyz(values: tuple[float, ...]) -> bytes:
    return b"XYZ " + bytes(4) + fixed(*values)


def fixed(*values: float) -> bytes:
    """s15Fixed16Numbers (ICC.1:2022, 4.6)."""
    return b"".join(struct.pack(">i", round(value * 65536)) for value in values)


def parametric(form: int, *numbers: float) -> bytes:
    """A parametricCurveType (ICC.1:2022, 10.18)."""
    return b"para" + bytes(4) + struct.pack(">HH", form, 0) + fixed(*numbers)
