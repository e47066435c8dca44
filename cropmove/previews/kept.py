"""Small stills kept on disk, so that only the first preview of a shot waits for the large ones."""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import MachineError
from cropmove.files import make_folder, write_whole
from cropmove.geometry import Size
from cropmove.machine import cache_folder
from cropmove.stills.find import StillRef

__all__ = ["ROOM", "Kept", "usual_folder"]

Bytes = NDArray[np.uint8]

ROOM = 1_000_000_000
"""Bytes that the kept stills may take together: enough for a thousand and more."""

_SMALLEST = 2_000_000
"""Pixels of a still below which nothing is gained: it is read as quickly itself."""

_ENDING = ".still"
_DIGEST = 16
_MADE = 1
"""Raised where small stills come to be made otherwise, so that old ones are not taken for them."""


def usual_folder() -> Path:
    """Where small stills are kept: in the user's own folder for what can be made again."""
    return cache_folder() / "stills"


@dataclass(frozen=True, slots=True)
class Kept:
    """The small stills of earlier previews.

    A still is known by its path, its size in bytes and when it was changed last: one that was
    taken anew is not mistaken for the old. What cannot be kept or is damaged is read anew, and
    never an error. Several previews may use a folder at once.

    Parameters
    ----------
    folder : Path
        Made when the first still is kept.
    room : int
        Bytes that all of them may take.
    """

    folder: Path
    room: int = ROOM

    def takes(self, still: StillRef, stored: Size, at_least: float) -> bool:
        """Whether keeping it would gain anything."""
        large = stored.width * stored.height >= _SMALLEST
        return large and at_least < 1 and not still.in_movie

    def has(self, still: StillRef, at_least: float) -> bool:
        """Whether it is there; it may still prove damaged."""
        place = self.place(still, at_least)
        return place is not None and place.is_file()

    def get(self, still: StillRef, at_least: float) -> Bytes | None:
        """Its pixels, (h, w, 1 or 3); None where it is not there, or damaged."""
        place = self.place(still, at_least)
        if place is None:
            return None
        try:
            content = place.read_bytes()
            os.utime(place)  # the longest unused goes first
        except OSError:
            return None
        digest, packed = content[:_DIGEST], content[_DIGEST:]
        return _unpacked(packed) if digest == _digest(packed) else None

    def put(self, place: Path | None, pixels: Bytes) -> None:
        """Keep its pixels at the `place` that it had before it was read, whole or not at all."""
        if place is None:
            return
        packed = _packed(pixels)
        with suppress(MachineError):
            make_folder(self.folder)
            write_whole(place, _digest(packed) + packed)

    def make_room(self) -> None:
        """Drop those that were longest unused, until the rest has room."""
        found = []
        with suppress(OSError):
            for path in self.folder.iterdir():
                with suppress(OSError):
                    facts = path.stat()
                    found.append((facts.st_mtime_ns, facts.st_size, path))
        taken = 0
        for _, size, path in sorted(found, key=lambda one: one[0], reverse=True):
            taken += size
            if taken > self.room:
                with suppress(OSError):
                    path.unlink()

    def place(self, still: StillRef, at_least: float) -> Path | None:
        """The file that a still as it is now is kept in; None where there is no such still.

        Ask for it before the still is read: if it is taken anew meanwhile, what was read of the
        old one is not kept as the new one's.
        """
        try:
            facts = still.path.stat()
            where = still.path.resolve()
        except OSError:
            return None
        known_by = (_MADE, str(where), facts.st_size, facts.st_mtime_ns, float(at_least))
        return self.folder / (_digest(repr(known_by).encode()).hex() + _ENDING)


def _digest(content: bytes) -> bytes:
    return blake2b(content, digest_size=_DIGEST).digest()


def _packed(pixels: Bytes) -> bytes:
    """As a JPEG, about a tenth of the size; finer than a preview shows."""
    from simplejpeg import encode_jpeg

    grey = pixels.shape[2] == 1
    space, subsampling = ("GRAY", "Gray") if grey else ("RGB", "420")
    packed: bytes = encode_jpeg(
        np.ascontiguousarray(pixels), quality=92, colorspace=space, colorsubsampling=subsampling
    )
    return packed


def _unpacked(packed: bytes) -> Bytes | None:
    from simplejpeg import decode_jpeg, decode_jpeg_header

    with suppress(ValueError):
        space = "GRAY" if decode_jpeg_header(packed)[2] == "Gray" else "RGB"
        pixels: NDArray[Any] = decode_jpeg(packed, colorspace=space, strict=True)
        return pixels
    return None
