"""A PNG file's chunks, and what those before and after the pixels say (PNG, third edition)."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

from cropmove.stills.opening import damaged, opening

__all__ = ["SIGNATURE", "notes"]

SIGNATURE = b"\x89PNG\r\n\x1a\n"
_PIXELS, _END = b"IDAT", b"IEND"


def notes(path: Path) -> dict[bytes, bytes]:
    """The contents of every chunk but the pixels', by the chunk's four-letter name.

    The whole file is walked, since eXIf may follow the pixels; they are stepped over.

    Raises
    ------
    InputError
        Where the chunks do not run whole from IHDR to IEND.
    """
    found: dict[bytes, bytes] = {}
    with opening(path), path.open("rb") as file:
        end = path.stat().st_size
        file.seek(len(SIGNATURE))
        while _END not in found:
            head = file.read(8)
            if len(head) < 8:
                raise damaged(path, "the file stops before its end mark")
            length, name = struct.unpack(">I4s", head)
            if file.tell() + length + 4 > end:
                raise damaged(path, f"the file stops within its {name.decode('latin-1')} part")
            if name == _PIXELS:
                file.seek(length + 4, 1)
                continue
            content, check = file.read(length), file.read(4)
            if zlib.crc32(name + content) != int.from_bytes(check):
                raise damaged(path, f"the {name.decode('latin-1')} part fails its check sum")
            found.setdefault(name, content)
    if len(found.get(b"IHDR", b"")) != 13:
        raise damaged(path, "it has no header part")
    return found
