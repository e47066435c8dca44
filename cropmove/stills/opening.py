"""Where source files are opened, and what is said when that fails."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from cropmove.errors import Complaint, InputError, MachineError, complain

__all__ = ["damaged", "decoding", "first_bytes", "opening", "refused", "whole_file"]


def refused(path: Path | str, rule: str, remedy: str) -> InputError:
    """An `InputError` about one file, ready to raise."""
    return complain(str(path), "", rule, remedy)


def damaged(path: Path | str, why: str) -> InputError:
    """An `InputError` that says a file is cut off or damaged, and how that shows."""
    rule = f"a still is read whole or not at all; this one is damaged or cut off ({why})"
    return refused(path, rule, "copy it anew from the camera or card")


@contextmanager
def opening(path: Path) -> Iterator[None]:
    """Turn the system's refusals to open or read a file into errors that name it.

    Raises
    ------
    InputError
        Where the file is not there or is a folder.
    MachineError
        Where it may not be read, or the disk fails.
    """
    try:
        yield
    except FileNotFoundError as error:
        raise refused(path, "a still is a file that exists", "check its name") from error
    except IsADirectoryError as error:
        raise refused(path, "a still is a file; this is a folder", "name a picture") from error
    except OSError as error:
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
