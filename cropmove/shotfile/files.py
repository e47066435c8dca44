"""Shot files opened and written: the only place that does."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

from cropmove.errors import InputError, MachineError, complain, nearest, placed
from cropmove.files import place_new, speaking_plainly
from cropmove.shot import Shot, Stills
from cropmove.shotfile.survey import survey_of
from cropmove.shotfile.text import dumps, loads
from cropmove.stills.find import find_stills

__all__ = ["load", "place_text", "read_text", "save", "source_from"]


def load(path: str | Path) -> Shot:
    """The shot of a shot file, its stills found.

    Another folder may be current afterwards: the stills are where they were.

    Parameters
    ----------
    path : path

    Raises
    ------
    InputError
        With every fault of the file.
    MachineError
        Where the file cannot be opened.
    """
    path = Path(path)
    text = read_text(path)
    with placed(str(path)):
        shot = loads(text, name=path.stem, survey=survey_of(path.parent))
    return replace(shot, file=path.absolute())


def read_text(path: Path) -> str:
    """The text of a shot file."""
    with speaking_plainly(path):
        is_file = path.is_file()
    if path.is_dir():
        inside = sorted(path.glob("*.toml"))
        more = f", or one of {len(inside) - 1} more" if len(inside) > 1 else ""
        remedy = f"name a shot file in it: {inside[0]}{more}" if inside else "name a shot file"
        raise complain(str(path), "", "that is a folder", remedy)
    if not is_file:
        rule = "there is no such file"
        # By their stems: the ending that all have makes any two look alike.
        near = nearest(path.stem, sorted(other.stem for other in path.parent.glob("*.toml")))
        remedy = 'make one: "cropmove new"'
        if near:
            remedy = f"did you mean {path.with_name(f'{near}.toml')}?"
        raise complain(str(path), "", rule, remedy)
    with speaking_plainly(path):
        content = path.read_bytes()
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        rule = "a shot file is text in UTF-8"
        raise complain(str(path), "", rule, "save it as UTF-8 text") from None


def save(shot: Shot, path: str | Path, *, overwrite: bool = False) -> None:
    """Write a shot to a file, keeping what the file says already in its own words.

    Its stills are named as they are seen from there.

    Parameters
    ----------
    shot : Shot
    path : path
    overwrite : bool
        Whether a file that is there may be written over.

    Raises
    ------
    InputError
        Where the file is there and `overwrite` is false.
    """
    path = Path(path)
    with speaking_plainly(path):
        like = read_text(path) if overwrite and path.is_file() else ""
    shot = replace(shot, stills=_seen_from(shot.stills, path))
    with placed(str(path)):
        text = dumps(shot, like=like)
    place_text(path, text, stills=shot.stills.source, overwrite=overwrite)


def _seen_from(stills: Stills, file: Path) -> Stills:
    """Stills with the way to them from a shot file, where they are found by the way they have."""
    if not stills.refs or _finds(stills, file.parent):
        return stills
    near = len(Path(stills.source).parts) + 1
    for folder in list(stills.refs[0].path.absolute().parents)[:near]:
        if _finds(stills, folder):
            return replace(stills, source=source_from(folder / stills.source, file))
    return stills


def _finds(stills: Stills, folder: Path) -> bool:
    """Whether the way to stills leads to them from a folder."""
    try:
        found = find_stills(stills.source, folder)
    except (InputError, MachineError):
        return False
    return [still.path.resolve() for still in found] == [r.path.resolve() for r in stills.refs]


def place_text(path: Path, text: str, *, stills: str, overwrite: bool) -> None:
    """Write the text of a shot file that is not there yet.

    Raises
    ------
    InputError
        Where it is there and `overwrite` is false, or its stills have a name that is no text.
    """
    try:
        content = text.encode()
    except UnicodeEncodeError:
        rule = "a shot file is text in UTF-8, which holds no such name"
        raise complain("stills", stills, rule, "name the folder anew") from None
    place_new(path, content, overwrite=overwrite)


def source_from(stills: str | Path, file: Path) -> str:
    """Where stills are, as a shot file says it.

    It is seen from where the file's folder really is: that is where ".." leads from. No way leads
    from one drive to another: the whole path is said then.
    """
    try:
        way = os.path.relpath(stills, os.path.realpath(file.parent))
    except ValueError:
        way = os.path.abspath(stills)
    return Path(way).as_posix()
