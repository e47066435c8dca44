"""A move by hand as one of the framing, to be looked at before it is shot."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from cropmove.errors import complain
from cropmove.files import legible
from cropmove.marking.shots import through, written
from cropmove.marking.table import marks, on_ones
from cropmove.shot import Shot, Stills

__all__ = ["twin", "write_twin"]


def twin(shot: Shot, rigs: str | Iterable[str] = ()) -> Shot:
    """A digital move that looks, at the subject's distance, as what is moved by hand will.

    It can be previewed on one test still before a rig is built. Things at other distances do not
    shift against the subject in it, and a camera that turns does not see aslant: those are the
    rig's alone.

    Parameters
    ----------
    shot : Shot
        With a lens. What its camera and set do counts; where they stand still, its subject.
    rigs : str or iterable of str
        Only these move, by name; all where none is given.

    Returns
    -------
    Shot
        A key on every frame, without rigs.

    Raises
    ------
    InputError
        Where nothing is moved by hand, or no lens is given.
    """
    table = marks(shot, rigs)
    view = table.view
    if view is None:
        rule = "what a rig does on the screen depends on the lens"
        raise complain("lens", "", rule, "add [lens] with focal_length, sensor and distance")
    looks_moved = any(marks.moves.any() for marks in table.camera_and_set)
    poses = table.seen_poses if looks_moved else table.subject_poses
    rows = view.framings(poses, shot.keys[0].framing.to_row(), table.roll())
    if not (np.isfinite(rows).all() and (rows[:, 2] > 0).all()):
        rule = "the camera goes past the subject, or turns away from it"
        raise complain("rig", "", rule, "no framing of a test still can show that")
    stills = shot.stills if shot.stills.size else Stills(size=view.still)
    return through(replace(shot, stills=stills), rows[table.timing.still - 1])


def write_twin(
    path: Path,
    out: str | Path,
    *,
    rigs: str | Iterable[str] = (),
    ones: bool = False,
    still: str | Path | None = None,
    overwrite: bool = False,
) -> Shot:
    """Write a shot file that previews, on a test still, what another's rigs will do.

    Parameters
    ----------
    path : Path
        The shot file with the rigs.
    out : path
        The shot file to write.
    rigs : str or iterable of str
        Only these move, by name; all where none is given.
    ones : bool
        Whether they move on every frame, also where stills are held.
    still : path, optional
        The test still; the shot's own stills where it is not given.
    overwrite : bool
    """
    from cropmove.shotfile import load

    shot, seen_from = load(path), path.parent
    shot = on_ones(shot) if ones else shot
    if still is not None:
        shot, seen_from = replace(shot, stills=Stills.found(still)), Path()
    told = f"What {legible(path.name)} does by hand, as a digital move at the subject's distance."
    made = twin(shot, rigs)
    return written(made, Path(out), seen_from=seen_from, told=told, overwrite=overwrite)
