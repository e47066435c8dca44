"""Shot files that come of marks: framings as keys, in a file that finds the same stills."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from cropmove.geometry import Floats
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.shot import Shot
from cropmove.shotfile import dumps, place_text, source_from

__all__ = ["through", "written"]

_STANDS = 1e-6
"""Pixels of the still, and degrees: what arithmetic may leave of a framing that does not move."""


def through(shot: Shot, rows: Floats) -> Shot:
    """The shot with these framings as keys, and nothing that is moved by hand.

    Parameters
    ----------
    shot : Shot
    rows : (frames, 4) array
        x, y, width and roll of each frame; a single key holds what never changes.
    """
    last = len(rows)
    keys = tuple(
        Key(frame=frame, framing=Framing.from_row(row), stop=frame in (1, last))
        for frame, row in enumerate(rows, start=1)
    )
    keys = keys[:1] if (abs(rows - rows[0]) < _STANDS).all() else keys
    return replace(shot, keys=keys, frames=last, lens=None, rigs=(), layers=(), subjects=())


def written(shot: Shot, out: Path, *, seen_from: Path, told: str, overwrite: bool) -> Shot:
    """The shot as it stands in a file of its own, which is written.

    Parameters
    ----------
    shot : Shot
    out : Path
        The file; the shot takes its name.
    seen_from : Path
        The folder that the shot's stills are seen from so far.
    told : str
        A line that says what the file is.
    overwrite : bool
    """
    stills = shot.stills
    if stills.source:
        stills = replace(stills, source=source_from(seen_from / stills.source, out))
    shot = replace(shot, name=out.stem, stills=stills)
    place_text(out, f"# {told}\n{dumps(shot)}", stills=stills.source, overwrite=overwrite)
    return shot
