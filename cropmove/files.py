"""Files written whole or not at all, and the machine's refusals in plain words."""

from __future__ import annotations

import errno
import os
import re
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path
from typing import Any

from cropmove.errors import Complaint, MachineError, called, complain, numbered

__all__ = [
    "another_folder",
    "drop_left_parts",
    "legible",
    "make_folder",
    "place_new",
    "refuse_old",
    "speaking_plainly",
    "utf8",
    "write_whole",
    "writing_whole",
]

_REMEDIES = {
    errno.ENOSPC: "free some room on that disk, or write to another place",
    errno.EDQUOT: "free some of your quota, or write to another place",
    errno.EFBIG: "that disk takes no file so large: write to another place",
    errno.EROFS: "that disk is read-only: write to another place",
    errno.EACCES: "ask for the right to write there, or write to another place",
    errno.EPERM: "ask for the right to write there, or write to another place",
    errno.EEXIST: "a file has that name: give another",
    errno.ENOTDIR: "part of that path is a file: give a folder",
    errno.ENAMETOOLONG: "give a shorter name",
}


_WRITES = count()
"""A number for each file that is written: two threads may write the same one at a time."""


@contextmanager
def speaking_plainly(path: Path) -> Iterator[None]:
    """Turn what the system says about a path into a `MachineError` with a remedy."""
    try:
        yield
    except OSError as error:
        raise MachineError(
            Complaint(
                where=str(path),
                rule=f"the machine refused: {os.strerror(error.errno) if error.errno else error}",
                remedy=_REMEDIES.get(error.errno or 0, "check the path and the disk"),
            )
        ) from error


def make_folder(path: Path) -> None:
    """Make a folder and those above it; do nothing where it stands.

    Raises
    ------
    MachineError
        Where the disk will not have it, or the way to it is a link that leads nowhere.
    """
    for link in (path, *path.parents):
        if os.path.islink(link) and not os.path.exists(link):
            rule = "this is a link, and what it leads to is not there"
            remedy = "plug in the disk that it leads to, or give another folder"
            raise MachineError(Complaint(where=str(link), rule=rule, remedy=remedy))
    with speaking_plainly(path):
        path.mkdir(parents=True, exist_ok=True)


@contextmanager
def writing_whole(path: Path, *, before: Callable[[Path], Any] | None = None) -> Iterator[Path]:
    """A temporary name beside a file, for writing under; at the end the file gets its own.

    Parameters
    ----------
    path : Path
        What stands there is replaced.
    before : callable, optional
        Called with the finished temporary file, just before it gets its name.

    Raises
    ------
    MachineError
        Where the disk is full, read-only or otherwise unwilling; nothing half-written stays.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}.{next(_WRITES)}.part")
    with speaking_plainly(path):
        try:
            yield part
            if before:
                before(part)
            part.replace(path)
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)


def drop_left_parts(folder: Path) -> None:
    """Take away what a run that was cut off has left half-written in a folder a day ago or more.

    What is younger may be at work, on another machine too.
    """
    for path in folder.glob(".*.part"):
        with suppress(OSError):
            if _PART.fullmatch(path.name) and time.time() - path.stat().st_mtime > _LEFT:
                path.unlink()


_PART = re.compile(r"\..+\.\d+\.\d+\.part")
_LEFT = 24 * 3600


def utf8(text: str) -> bytes:
    r"""A text as a file holds it: a sign that has no code, from a name of other bytes, is numbered.

    Examples
    --------
    >>> utf8("caf\udce9")
    b'caf\\udce9'
    """
    return text.encode("utf-8", "backslashreplace")


def legible(text: str) -> str:
    r"""A text as a page can show it: what `utf8` numbers is numbered, and what breaks a line.

    Examples
    --------
    >>> legible("caf\udce9") == "caf\\udce9"
    True
    """
    return numbered(utf8(text).decode())


def write_whole(
    path: Path, content: bytes | memoryview, *, before: Callable[[Path], Any] | None = None
) -> None:
    """Write a file whole or not at all; see `writing_whole`."""
    with writing_whole(path, before=before) as part:
        part.write_bytes(content)


def another_folder() -> str:
    """The remedy where what is made has no place in the folder that was named."""
    return f"give another folder with {called('out', ...)}"


def refuse_old(path: Path, *, overwrite: bool) -> None:
    """Refuse to write over a file unasked.

    Raises
    ------
    InputError
        Where it is there and `overwrite` is false, or is a folder.
    """
    with speaking_plainly(path):
        is_folder, is_there = path.is_dir(), path.exists()
    if is_folder:
        rule = "there is a folder of that name; what is written is a file"
        raise complain(str(path), "", rule, "give the name of a file")
    if is_there and not overwrite:
        rule = "there is such a file already, and cropmove does not write over it unasked"
        remedy = f"give another name, or say {called('overwrite', True)}"
        raise complain(str(path), "", rule, remedy)


def place_new(path: Path, content: bytes, *, overwrite: bool = False) -> None:
    """Write a file that is not there yet.

    Raises
    ------
    InputError
        Where it is there and `overwrite` is false.
    """
    refuse_old(path, overwrite=overwrite)
    make_folder(path.parent)
    write_whole(path, content)
