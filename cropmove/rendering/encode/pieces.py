"""A file in memory as the buffers that were written to it, the large ones not copied."""

from __future__ import annotations

import io
from typing import Any

from cropmove.rendering.encode.packing import Buffer

__all__ = ["Pieces"]

_SMALL = 1 << 16
"""Up to so many bytes are copied, and can be written over: headers and tables are smaller."""


class Pieces(io.RawIOBase):
    """A file to write to; `buffers` are then its content, good as long as what was written is.

    `io.BytesIO` copies what it is given, and all there is whenever it grows, while all other
    threads wait: with it two workers took twice as long for a 16-bit TIFF.

    Examples
    --------
    >>> file = Pieces()
    >>> file.write(b"size: ?, "), file.write(bytes(100_000)), file.seek(6), file.write(b"9")
    (9, 100000, 6, 1)
    >>> [len(buffer) for buffer in file.buffers], bytes(file.buffers[0])
    ([9, 100000], b'size: 9, ')
    """

    def __init__(self) -> None:
        super().__init__()
        self.buffers: list[Buffer] = []
        self._size = self._at = 0

    def writable(self) -> bool:
        """It is."""
        return True

    def seekable(self) -> bool:
        """It is, to write over what is small."""
        return True

    def tell(self) -> int:
        """Where the next bytes go."""
        return self._at

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        """Have the next bytes go elsewhere; what is left out before them is zeros."""
        place = offset + {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._size}[whence]
        if place < 0:
            raise ValueError(f"{place} is before the file")
        self._at = place
        return place

    def write(self, content: Any) -> int:
        """Append, or write over what is small."""
        piece = memoryview(content).cast("B")
        if self._at < self._size:
            self._write_over(piece)
        else:
            if self._at > self._size:
                self._append(memoryview(bytearray(self._at - self._size)))
            self._append(piece if len(piece) > _SMALL else memoryview(bytearray(piece)))
        self._at += len(piece)
        return len(piece)

    def _append(self, piece: memoryview) -> None:
        self.buffers.append(piece)
        self._size += len(piece)

    def _write_over(self, piece: memoryview) -> None:
        inside = self._at
        for buffer in self.buffers:
            if inside >= 0 and inside + len(piece) <= len(buffer) <= _SMALL:
                memoryview(buffer)[inside : inside + len(piece)] = piece
                return
            inside -= len(buffer)
        raise ValueError(f"{len(piece)} bytes at {self._at} are not inside one small piece")
