"""Contents that were read whole and found sound, remembered from one run to the next.

A JPEG has no checksum. Damage shows where its data comes to a wrong end, and so to none but who
reads all of it; whoever is to read less of it has to know that it was read whole before.
"""

from __future__ import annotations

import os
import re
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from threading import Lock

from cropmove.errors import MachineError
from cropmove.files import make_folder, write_whole
from cropmove.machine import cache_folder

__all__ = ["ROOM", "Register", "mark_of", "usual_register"]

ROOM = 1_000_000
"""Bytes that a register may take: enough for some fifty thousand contents."""

_MARKS = re.compile(rb"^\d+ [0-9a-f]{8}\n", re.MULTILINE)


def mark_of(content: bytes | memoryview) -> bytes:
    r"""What a content is known by, whatever its file is called: its size and its CRC-32.

    Examples
    --------
    >>> mark_of(b"123456789")
    b'9 cbf43926\n'
    """
    from isal import isal_zlib

    return b"%d %08x\n" % (len(content), isal_zlib.crc32(content))


class Register:
    """The marks of sound contents, a line each, the newest last.

    It is read once, when it is first needed. Several threads and processes may use one file at
    once; what one process adds another learns of in its next run. That it cannot be read or
    written is never an error: what is not known to be sound is read whole. A line that is damaged
    is no content's mark.

    Parameters
    ----------
    file : Path
        It and its folder are made when the first mark is added.
    room : int
        Bytes that it may take; where it grows beyond, the older half is dropped.
    """

    def __init__(self, file: Path, room: int = ROOM) -> None:
        self._file, self._room = file, room
        self._guard = Lock()
        self._read: set[bytes] | None = None

    def has(self, mark: bytes) -> bool:
        """Whether that content was found sound."""
        with self._guard:
            return mark in self._marks()

    def add(self, mark: bytes) -> None:
        """Remember that a content was found sound."""
        with self._guard:
            if mark not in self._marks():
                self._marks().add(mark)
                with suppress(OSError, MachineError):
                    self._append(mark)

    def _marks(self) -> set[bytes]:
        if self._read is None:
            self._read = set()
            with suppress(OSError):
                self._read.update(self._newest(self._room))
        return self._read

    def _append(self, mark: bytes) -> None:
        make_folder(self._file.parent)
        with self._file.open("ab", buffering=0) as file:
            file.write(mark)  # in one go, so that lines of several processes never mix
            is_full = file.tell() > self._room
        if is_full:
            write_whole(self._file, b"".join(self._newest(self._room // 2)))

    def _newest(self, room: int) -> list[bytes]:
        """The last marks, as many as have room."""
        with self._file.open("rb") as file:
            skipped = max(0, file.seek(0, os.SEEK_END) - room)
            file.seek(skipped)
            content = file.read(room)
        if skipped:  # into the middle of a line, perhaps
            content = content[content.find(b"\n") + 1 :]
        return _MARKS.findall(content)


def usual_register() -> Register:
    """The user's own, in `cropmove.machine.cache_folder`."""
    return _register(cache_folder() / "sound_stills.txt")


@lru_cache(maxsize=4)
def _register(file: Path) -> Register:
    return Register(file)
