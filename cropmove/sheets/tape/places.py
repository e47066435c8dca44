"""What is laid where along a tape: each still's tick, the ways the thing goes, the way it turns."""

from __future__ import annotations

import numpy as np

from cropmove.errors import called, complain
from cropmove.geometry import Floats
from cropmove.rig.marks import Marks

__all__ = ["along_of", "hand_of", "passes_of"]


def along_of(marks: Marks) -> Floats:
    """Where each still's tick is, in millimetres along the edge.

    Raises
    ------
    InputError
        For a thing whose places are no lengths.
    """
    scale = marks.rig.scale
    if scale.kind == "arc":
        return marks.exact
    if marks.rig.motion.angular:
        rule = f'"{marks.name}" turns, and no radius is given to mark it on'
        raise complain(
            called("tape"), "", rule, "add radius = 400, in mm from the pivot to the pointer"
        )
    return marks.place


def passes_of(along: Floats) -> list[tuple[int, int]]:
    """Runs of stills in which a thing goes one way, as (first, last) from 1; one at the least.

    Examples
    --------
    >>> import numpy as np
    >>> passes_of(np.array([0.0, 5, 9, 9, 4, 0]))
    [(1, 4), (4, 6)]
    """
    ways = np.sign(np.where(abs(np.diff(along)) < 1e-9, 0, np.diff(along)))
    found, first, way = [], 1, 0.0
    for still, goes in enumerate(ways.tolist(), start=1):
        if goes and way and goes != way:
            found.append((first, still))
            first = still
        way = goes or way
    return [*found, (first, len(along))]


def hand_of(marks: Marks) -> int:
    """Whether places on a thing's arc grow clockwise about the pivot, 1, or anticlockwise, -1.

    That is as seen from above, a tilt from the camera's left, and a roll from behind. A camera that
    goes to the right round its subject goes anticlockwise.
    """
    way = -1 if marks.rig.motion.way == "arc" else 1
    return -way if marks.rig.reverse else way
