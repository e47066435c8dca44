"""A JPEG's data made that of a less tall picture, which is the upper part of the whole.

The data of a sequential JPEG with one scan runs from the top to the bottom, a row of blocks after
the other, and its frame header says how many picture rows there are (ITU-T T.81, A.2 and B.2.2).
A decoder that is told of fewer stops earlier.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import contextmanager

from cropmove.geometry import Size
from cropmove.stills.segments import SCAN, SEQUENTIAL, Frame, frame_of, segments

__all__ = ["shortened"]

_PASSED = (0xFFC4, 0xFFDB, 0xFFDD, 0xFFFE, *range(0xFFE0, 0xFFF0))
"""Tables, restarts, comments and applications' own (ITU-T T.81, table B.1): they say nothing of the
picture's height."""

_BLOCK = 8

Buffer = bytearray | memoryview


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
        at_a_time = _BLOCK * max(down for _, down in frame.factors)
        height = min(height, (-(-rows // at_a_time) + 1) * at_a_time)
        struct.pack_into(">H", data, frame.height_at, height)
    try:
        yield height
    finally:
        if frame is not None:
            struct.pack_into(">H", data, frame.height_at, stored.height)


def _frame_of(data: Buffer, stored: Size) -> Frame | None:
    """The frame header, where all is laid out as expected."""
    try:
        frame = _frame(data)
    except (struct.error, IndexError):
        return None
    is_as_known = frame is not None and frame.size == (stored.height, stored.width)
    return frame if is_as_known else None


def _frame(data: Buffer) -> Frame | None:
    """The frame header, where it is sequential and a scan of all its components follows."""

    def read(at: int, count: int) -> bytes:
        return bytes(data[at : at + count])

    frame = None
    for segment in segments(read):
        if segment.marker == SCAN:
            holds_all = frame is not None and data[segment.inside] == len(frame.factors)
            return frame if holds_all else None
        if segment.marker in SEQUENTIAL and frame is None:
            frame = frame_of(segment, read)
        elif segment.marker not in _PASSED:
            return None
    return None
