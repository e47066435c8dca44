"""A JPEG's data made that of a less tall picture, which is the upper part of the whole.

The data of a sequential JPEG with one scan runs from the top to the bottom, a row of blocks after
the other, and its frame header says how many picture rows there are (ITU-T T.81, A.2 and B.2.2).
A decoder that is told of fewer stops earlier.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from cropmove.geometry import Size

__all__ = ["shortened"]

# Markers of ITU-T T.81, table B.1.
_START = b"\xff\xd8"
_SEQUENTIAL = (0xFFC0, 0xFFC1)
"""Frames of 8 x 8 blocks coded in order, with Huffman's codes."""
_SCAN = 0xFFDA
_PASSED = (0xFFC4, 0xFFDB, 0xFFDD, 0xFFFE, *range(0xFFE0, 0xFFF0))
"""Tables, restarts, comments and applications' own: they say nothing of the picture's height."""

_BLOCK = 8

Buffer = bytearray | memoryview


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """What a frame header says, and where in the data it says how many rows there are."""

    at: int
    size: tuple[int, int]
    components: int
    rows_at_a_time: int


@contextmanager
def shortened(data: Buffer, stored: Size, rows: int) -> Iterator[int]:
    """Inside, the data ends below the uppermost `rows` rows; gives how many it then has.

    It has a row of blocks more than is asked for: the colour of its last picture row, which lies
    between two rows of a coarser grid, is another than in the whole picture. Decoders take it for
    damaged, since more data follows than it has a use for. It is whole, and all rows are given,
    where no fewer would do, and where the data is laid out otherwise: progressive, in several
    scans, or in any way that is not expected. Afterwards it is as it was: the two bytes of its
    height are changed in place, since a copy would be as large as the file.
    """
    frame = _frame_of(data, stored)
    height = stored.height
    if frame is not None:
        height = min(height, (-(-rows // frame.rows_at_a_time) + 1) * frame.rows_at_a_time)
        struct.pack_into(">H", data, frame.at, height)
    try:
        yield height
    finally:
        if frame is not None:
            struct.pack_into(">H", data, frame.at, stored.height)


def _frame_of(data: Buffer, stored: Size) -> _Frame | None:
    """The frame header, where all is laid out as expected."""
    try:
        frame = _frame(data)
    except (struct.error, IndexError):
        return None
    is_as_known = frame is not None and frame.size == (stored.height, stored.width)
    return frame if is_as_known else None


def _frame(data: Buffer) -> _Frame | None:
    """The frame header, where there is one and a scan of all its components follows."""
    frame, at = None, len(_START)
    if bytes(data[: len(_START)]) != _START:
        return None
    while True:
        marker, length = struct.unpack_from(">HH", data, at)
        inside = at + 4
        if marker == _SCAN:
            holds_all = frame is not None and data[inside] == frame.components
            return frame if holds_all else None
        if marker in _SEQUENTIAL and frame is None:
            frame = _frame_at(data, inside)
        elif marker not in _PASSED:
            return None
        at += 2 + length


def _frame_at(data: Buffer, inside: int) -> _Frame:
    """A frame header read (B.2.2): height is the second entry, after the bits of a sample."""
    _, height, width, components = struct.unpack_from(">BHHB", data, inside)
    factors = [data[inside + 7 + 3 * number] & 0xF for number in range(components)]
    return _Frame(
        at=inside + 1,
        size=(height, width),
        components=components,
        rows_at_a_time=_BLOCK * max(1, *factors),
    )
