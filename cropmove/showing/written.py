"""What is shown, written beside a shot's file, and nobody else's work written over."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING

from cropmove.errors import called, complain
from cropmove.files import another_folder, make_folder
from cropmove.shot import Shot

if TYPE_CHECKING:
    from cropmove.rendering.made import Made, State

__all__ = ["Shown", "refuse_before", "write"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What was made to be looked at.

    Parameters
    ----------
    page : Path
        The one to open first.
    files : tuple of Path
        All of them, the page too.
    """

    page: Path
    files: tuple[Path, ...]


def write(folder: Path, shot: Shot, files: Iterable[tuple[str, bytes]], overwrite: bool) -> Shown:
    """Write files into a folder; the last of them is the page."""
    from cropmove.rendering.made import Made

    make_folder(folder)
    made = Made.of(shot, folder)
    written = [_place(made, file, content, overwrite) for file, content in files]
    return Shown(page=written[-1], files=tuple(written))


def _place(made: Made, file: str, content: bytes, overwrite: bool) -> Path:
    """Write a file unless it is there already, or somebody else's."""
    from cropmove.rendering.made import State

    path = made.path.with_name(file)
    inputs = blake2b(content, digest_size=16).hexdigest()
    state = made.states([(file, inputs)])[file]
    _refuse(made, file, state, overwrite)
    if state is not State.CURRENT:
        made.write(file, inputs, content)
    return path


def refuse_before(folder: Path, shot: Shot, file: str, overwrite: bool) -> None:
    """Say before the work, not after it, that a file is in the way."""
    from cropmove.rendering.made import Made

    made = Made.of(shot, folder)
    _refuse(made, file, made.states([(file, "")])[file], overwrite)


def _refuse(made: Made, file: str, state: State, overwrite: bool) -> None:
    from cropmove.rendering.made import kept_off

    for rule in () if overwrite else kept_off(made, {file: state}):
        remedy = f"{another_folder()}, or say {called('overwrite', True)}"
        raise complain(str(made.path.with_name(file)), "", rule, remedy)
