"""Where source files are opened, and what is said when that fails."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from cropmove.errors import Complaint, InputError, MachineError, complain
from cropmove.geometry import Size

__all__ = [
    "damaged",
    "decoding",
    "first_bytes",
    "opening",
    "refused",
    "stored_size",
    "whole_file",
]


def refused(path: Path | str, rule: str, remedy: str) -> InputError:
    """An `InputError` about one file, ready to raise."""
    return complain(str(path), "", rule, remedy)


def damaged(path: Path | str, why: str) -> InputError:
    """An `InputError` that says a file is cut off or damaged, and how that shows."""
    rule = f"a still is read whole or not at all; this one is damaged or cut off ({why})"
    return refused(path, rule, "copy it anew from the camera or card")


def stored_size(path: Path, width: int, height: int) -> Size:
    """The size that a file says its picture has.

    Raises
    ------
    InputError
        Where no picture has that size.
    """
    try:
        return Size(width, height)
    except InputError as error:
        rule = f"a still is 1 to {Size.LARGEST} pixels each way; this one says {width} x {height}"
        remedy = "copy it anew from the camera or card, or save it smaller"
        raise refused(path, f"{rule}, or is damaged", remedy) from error


@contextmanager
def opening(path: Path) -> Iterator[None]:
    """Turn the system's refusals to open or read a file into errors that name it.

    Raises
    ------
    InputError
        Where the file is not there, is a folder, or is damaged as a library says.
    MachineError
        Where it may not be read, or the disk fails.
    """
    try:
        yield
    except IsADirectoryError as error:
        raise refused(path, "a still is a file; this is a folder", "name a picture") from error
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            rule = "a still has a name that the system takes; this one is too long"
            raise refused(path, rule, "check its name") from error
        if error.errno in (errno.ENOENT, errno.ENOTDIR):
            raise refused(path, "a still is a file that exists", "check its name") from error
        if error.errno in (None, errno.EINVAL):  # a library's word, or a place before the file
            raise damaged(path, str(error)) from error
        rule = f"a still can be read; the system says: {error.strerror or error}"
        remedy = "check the permissions, the card and the cable"
        raise MachineError(Complaint(where=str(path), rule=rule, remedy=remedy)) from error


@contextmanager
def decoding(path: Path | str, *failures: type[Exception]) -> Iterator[None]:
    """Turn a decoder's failures into the error that a file is damaged.

    Raises
    ------
    InputError
        Where one of `failures` is raised inside the block.
    """
    try:
        yield
    except InputError:
        raise
    except failures as error:
        text = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise damaged(path, text) from error


def first_bytes(path: Path, count: int) -> bytes:
    """The first bytes of a file, fewer where it is shorter."""
    with opening(path), path.open("rb") as file:
        return file.read(count)


def whole_file(path: Path) -> memoryview:
    """Every byte of a file, to be changed as one likes.

    In numpy's memory: a bytearray would be cleared first, with all other threads waiting.
    """
    with opening(path), path.open("rb") as file:
        content = np.empty(os.fstat(file.fileno()).st_size, np.uint8).data
        return content[: file.readinto(content)]
