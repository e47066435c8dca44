"""What is left for the framing once a hand has made the move: the shot to render then."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from cropmove.errors import complain
from cropmove.files import legible
from cropmove.geometry import Floats
from cropmove.marking.shots import through, written
from cropmove.marking.table import marks, on_ones
from cropmove.rig.optics import ANY_LENS
from cropmove.rig.rig import KEYS
from cropmove.rig.twin import View, left_to_crop
from cropmove.rig.working import Table
from cropmove.shot import Shot

__all__ = ["crop", "write_crop"]


def crop(shot: Shot, rigs: str | Iterable[str] = ()) -> Shot:
    """The shot to render from stills on which rigs have done what the keys ask for.

    Along its keys such a shot would make the move a second time. Where the rigs do all of it the
    first framing stays throughout; what they leave out is left to the framing, still by still.

    Parameters
    ----------
    shot : Shot
        With rigs that follow the keys.
    rigs : str or iterable of str
        Only these were moved, by name; all where none is given.

    Returns
    -------
    Shot
        One key, or one on every frame, without rigs.

    Raises
    ------
    InputError
        Where nothing does by hand what the keys ask for.

    Examples
    --------
    >>> from cropmove.shot import Stills
    >>> from cropmove.shotfile import loads
    >>> text = '''
    ... [shot]
    ... still_size = [6000, 4000]
    ... [delivery]
    ... size = "hd"
    ... [[key]]
    ... frame = 1
    ... centre = [2000, 2000]
    ... width = 3000
    ... [[key]]
    ... frame = 49
    ... centre = [2600, 2000]
    ... width = 3000
    ... [lens]
    ... focal_length = 50
    ... distance = 800
    ... [[rig]]
    ... name = "slider"
    ... moves = "camera sideways"
    ... follows = "keys"
    ... '''
    >>> shot = loads(text, name="quay", survey=lambda source, size: Stills(size=size))
    >>> crop(shot).keys[0].framing, len(crop(shot).keys), crop(shot).length
    (Framing(x=2000.0, y=2000.0, width=3000.0, roll=0.0), 1, 49)
    """
    table = marks(shot, rigs)
    if not table.twins or table.framings is None:
        rule = "nothing does by hand what the keys ask for"
        remedy = f'render the shot as it is; or write follows = "{KEYS}" under what does'
        raise complain("rig", "", rule, remedy)
    wanted = table.framings(table.twins[0].moments)
    rows = left_to_crop(_done(shot, table, wanted[0]), wanted)
    return through(shot, rows[table.timing.still - 1])


def _done(shot: Shot, table: Table, first: Floats) -> Floats:
    """The framings of the first still that look as the rigs' stills do through the first one."""
    roll = replace(table, marks=table.twins).roll()
    return _view(shot).framings(table.twin_poses, first, roll)


def _view(shot: Shot) -> View:
    """The lens and its still; without a lens nothing can but roll, which any lens sees alike."""
    if shot.view is not None:
        return shot.view
    if shot.stills.size is None:
        rule = "a camera rolls about the middle of the still, and nothing tells where that is"
        raise complain("still_size", "", rule, "write still_size = [6000, 4000] under [shot]")
    return View(lens=ANY_LENS, still=shot.stills.size)


def write_crop(
    path: Path,
    out: str | Path,
    *,
    rigs: str | Iterable[str] = (),
    ones: bool = False,
    overwrite: bool = False,
) -> Shot:
    """Write the shot file that renders the stills of another's rigs.

    Parameters
    ----------
    path : Path
        The shot file with the rigs.
    out : path
        The shot file to write.
    rigs : str or iterable of str
        Only these were moved, by name; all where none is given.
    ones : bool
        Whether there is a still for every frame, as marks on ones ask for.
    overwrite : bool
    """
    from cropmove.shotfile import load

    shot = on_ones(load(path)) if ones else load(path)
    told = (
        f"What is left of {legible(path.name)} for the framing, where its rigs have made the move."
    )
    made = crop(shot, rigs)
    return written(made, Path(out), seen_from=path.parent, told=told, overwrite=overwrite)
