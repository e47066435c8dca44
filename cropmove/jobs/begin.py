"""A shot file from a few words."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from textwrap import fill

from cropmove.errors import InputError, called, complain
from cropmove.files import refuse_old
from cropmove.geometry import Size
from cropmove.planning import Wish, plan, planned_size
from cropmove.shot import Shot, Stills
from cropmove.shotfile import dumps, place_text, source_from

__all__ = ["file_for", "new"]

_HEADING = """\
# Frames count from 1. Lengths are pixels of the still, or shares of it such as "50%".
# Times are frames, or seconds such as "0.5 s".
"""


def new(
    path: str | Path, stills: str | Path, wish: Wish, *, overwrite: bool = False
) -> tuple[Shot, str]:
    """Write a shot file from a few words.

    Parameters
    ----------
    path : path
        The shot file.
    stills : str or path
        Where the stills are, seen from here: a folder, a glob, a numbered pattern, or one file.
        Where the wish says how large they will be, they may be missing still; it may be empty then.
    wish : Wish
    overwrite : bool
        Whether a shot file that is there may be written over.

    Returns
    -------
    Shot, str
        The shot, and a line that says what it is and how far it could go.

    Raises
    ------
    InputError
        Where the stills or the wish will not do, or the file is there.
    """
    path, stills, planned = Path(path), os.fspath(stills), planned_size(wish)
    if not stills and not planned:
        remedy = f"name a folder of them; {_stills_to_come()}"
        raise complain("stills", '""', "a shot is made of stills", remedy)
    refuse_old(path, overwrite=overwrite)
    found = _surveyed(stills, planned)
    source = source_from(stills, path) if stills else ""
    shot, sentence = plan(path.stem, replace(found, source=source), wish)
    told = fill(sentence, 78, initial_indent="# ", subsequent_indent="# ")
    text = f"{told}\n{_HEADING}\n{dumps(shot)}"
    place_text(path, text, stills=stills, overwrite=overwrite)
    return shot, sentence


def _stills_to_come() -> str:
    size = called("still_size", "6000x4000")
    return f"or, before they are photographed, say their size: {size}"


def _surveyed(stills: str, planned: Size | None) -> Stills:
    """The stills that are there, or else those to come."""
    try:
        return Stills.found(stills, planned=planned) if stills else Stills(size=planned)
    except InputError as error:
        first, *others = error.complaints
        if not first.where:
            raise error.within("stills") from None
        if planned or os.path.isfile(stills):
            raise
        remedy = f"{first.remedy}; {_stills_to_come()}"
        raise InputError(replace(first, remedy=remedy), *others) from None


def file_for(stills: str) -> Path:
    """The name of the shot file that is made of some stills, where nobody gives one.

    Examples
    --------
    >>> file_for("harbour/*.jpg").name, file_for("harbour/").name, file_for("set.jpg").name
    ('harbour.toml', 'harbour.toml', 'set.toml')
    >>> file_for("quay/*/*.jpg").name, file_for("..").name
    ('quay.toml', 'shot.toml')
    """
    path = Path(stills)
    while any(sign in path.name for sign in "*?#%["):
        path = path.parent
    return Path(f"{path.stem.strip('.') or 'shot'}.toml")
