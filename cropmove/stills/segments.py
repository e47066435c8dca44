"""A JPEG's segments, and its frame header: how its picture is coded (ITU-T T.81, annex B)."""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass

__all__ = ["SCAN", "SEQUENTIAL", "Frame", "Segment", "first_frame", "frame_of", "segments"]

# Markers of ITU-T T.81, table B.1.
_START = b"\xff\xd8"
_FILL = 0xFFFF
SCAN = 0xFFDA
SEQUENTIAL = (0xFFC0, 0xFFC1)
"""Frames of 8 x 8 blocks coded in order, with Huffman's codes."""
_READ = (*SEQUENTIAL, 0xFFC2, 0xFFC9, 0xFFCA)
"""Those, progressive ones, and the two with arithmetic codes."""
_FRAMES = (*range(0xFFC0, 0xFFC4), *range(0xFFC5, 0xFFC8), *range(0xFFC9, 0xFFCC),
           *range(0xFFCD, 0xFFD0))  # fmt: skip

_SHARES = ((1, 1), (2, 1), (2, 2), (1, 2), (4, 1), (1, 4))
"""Pixels across and down that share a colour: 4:4:4, 4:2:2, 4:2:0, 4:4:0, 4:1:1 and 4:4:1."""

Read = Callable[[int, int], bytes]
"""``read(at, count)``: so many bytes of a file from a place on; fewer where it ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A marker, where what belongs to it begins, and how many bytes that is."""

    marker: int
    inside: int
    length: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What a frame header says (B.2.2).

    Parameters
    ----------
    marker : int
        How the picture is coded.
    bits : int
        Of a sample.
    size : (height, width)
    height_at : int
        Where in the file the height stands, in two bytes.
    factors : tuple of (across, down)
        The sampling factors of each component.
    """

    marker: int
    bits: int
    size: tuple[int, int]
    height_at: int
    factors: tuple[tuple[int, int], ...]

    @property
    def is_read(self) -> bool:
        """Whether it is coded in a way that is read: not lossless, nor by and by larger."""
        return self.marker in _READ

    @property
    def shares_colour_as_usual(self) -> bool:
        """Whether its colours are thinned out in a way that is read.

        Examples
        --------
        >>> usual = Frame(marker=0xFFC0, bits=8, size=(16, 16), height_at=5,
        ...               factors=((2, 2), (1, 1), (1, 1)))
        >>> usual.shares_colour_as_usual
        True
        """
        luma, *colours = self.factors
        if not colours:
            return True
        plain = set(colours) == {(1, 1)} and luma in _SHARES
        # The same said in larger numbers.
        half = luma == (2, 2) and set(colours) in ({(2, 1)}, {(1, 2)})
        whole = set(self.factors) == {luma} and luma[0] * luma[1] <= 3
        return plain or half or whole


def segments(read: Read) -> Iterator[Segment]:
    """The segments up to the first scan, that one too.

    Raises
    ------
    struct.error
        Where the file does not begin as a JPEG, or ends before.
    """
    if read(0, len(_START)) != _START:
        raise struct.error("no JPEG begins so")
    at, marker = len(_START), 0
    while marker != SCAN:
        (marker,) = struct.unpack(">H", read(at, 2))
        if marker == _FILL:  # before a marker any number of fill bytes may stand (B.1.1.2)
            at += 1
            continue
        (length,) = struct.unpack(">H", read(at + 2, 2))
        yield Segment(marker=marker, inside=at + 4, length=length - 2)
        at += 2 + length


def frame_of(segment: Segment, read: Read) -> Frame | None:
    """The frame header in a segment; None where it is another.

    Raises
    ------
    struct.error
        Where it breaks off.
    """
    if segment.marker not in _FRAMES:
        return None
    inside = segment.inside
    bits, height, width, components = struct.unpack(">BHHB", read(inside, 6))
    told = struct.unpack(f"{3 * components}B", read(inside + 6, 3 * components))
    return Frame(
        marker=segment.marker,
        bits=bits,
        size=(height, width),
        height_at=inside + 1,
        factors=tuple((both >> 4, both & 0xF) for both in told[1::3]),
    )


def first_frame(read: Read) -> Frame | None:
    """The frame header of a JPEG; None where there is none before the first scan, or it is broken.

    Examples
    --------
    >>> first_frame(lambda at, count: b"nothing of the kind"[at : at + count]) is None
    True
    """
    try:
        frames = (frame_of(segment, read) for segment in segments(read))
        return next((frame for frame in frames if frame), None)
    except struct.error:
        return None
