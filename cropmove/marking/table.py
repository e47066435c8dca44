"""The marks of a shot as numbers, and what is to be said of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from cropmove.checks.finding import Finding
from cropmove.checks.registry import BY_HAND, findings_of
from cropmove.errors import complain, names_in
from cropmove.rig.working import Table
from cropmove.shot import Shot

__all__ = ["findings", "marks", "on_ones"]


def marks(shot: Shot, rigs: str | Iterable[str] = ()) -> Table:
    """Where everything that is moved by hand stands, for each still.

    Parameters
    ----------
    shot : Shot
    rigs : str or iterable of str
        Only these, by name, one alone or several; all where none is given.

    Raises
    ------
    InputError
        Where the shot moves nothing by hand, or a name is not known.

    Examples
    --------
    >>> from cropmove.shot import Stills
    >>> from cropmove.shotfile import loads
    >>> text = '''
    ... [shot]
    ... frames = 61
    ... [[rig]]
    ... name = "boat"
    ... moves = "subject sideways"
    ... start = 0
    ... end = 300
    ... ease = "odd"
    ... ease_in = 10
    ... ease_out = 10
    ... '''
    >>> shot = loads(text, name="quay", survey=lambda source, size: Stills(size=size))
    >>> marks(shot)["boat"].step[1:12].round(6).tolist()
    [0.5, 0.5, 1.5, 2.5, 2.5, 3.5, 3.5, 4.5, 5.5, 5.5, 6.0]
    """
    if not shot.rigs:
        rule = "the shot moves nothing by hand"
        raise complain(
            "rig", "", rule, 'add [[rig]] with name, moves, and an end or follows = "keys"'
        )
    table, names = shot.marks(), names_in(rigs)
    if not names:
        return table
    chosen = [table[name] for name in names]
    return replace(table, marks=tuple(chosen))


def on_ones(shot: Shot) -> Shot:
    """The shot with a mark for every frame: puppets may be held, what moves the camera is not.

    Each pose is then photographed as often as it is held, with other marks each time.
    """
    return replace(shot, on=1, frames=shot.length)


def findings(shot: Shot) -> tuple[Finding, ...]:
    """What the checks find in what is moved by hand, gravest first."""
    return findings_of(shot, checks=BY_HAND)
