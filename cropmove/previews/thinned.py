"""How many stills a preview shows, so that it is there before it has played.

Reading large stills is what takes the time. What is read anew for each second that plays is
bounded: where a shot would take more, every second still is shown, or every third. The camera
moves on every frame all the same.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import numpy as np

from cropmove.previews.frames import Reel, Row, reduction
from cropmove.previews.kept import Kept
from cropmove.stills.find import StillRef

__all__ = ["MEGAPIXELS", "every_nth", "thinned"]

MEGAPIXELS = 150
"""What is read anew for each second that plays, at most: six stills of 25 megapixels.
The shot alone decides, and what is kept of it already; never the clock."""


def every_nth(reel: Reel, kept: Kept | None = None) -> int:
    """1 where there is time for every still, 2 where for every second one, and so on.

    Parameters
    ----------
    reel : Reel
    kept : Kept, optional
        Stills that are here already take no time.

    Examples
    --------
    >>> from pathlib import Path
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> from cropmove.previews.frames import row_of
    >>> from cropmove.previews.source import Source
    >>> from cropmove.shot import Delivery, Shot, Stills
    >>> refs = tuple(StillRef(path=Path(f"{n}.jpg")) for n in range(48))
    >>> shot = Shot(name="quay", stills=Stills(refs=refs, size=Size(6000, 4000)),
    ...             delivery=Delivery(size=Size(1920, 1080)),
    ...             keys=(Key(frame=1, framing=Framing(x=3000, y=2000, width=6000)),), frames=48)
    >>> row = row_of(Source(shot=shot, course=shot.course()), width=960)
    >>> every_nth(Reel(rows=(row,), fps=shot.fps))
    4
    """
    pixels = sum(_anew(reel, kept).values())
    seconds = max(1.0, float(reel.length / reel.fps))  # for less than one nobody waits
    return max(1, ceil(pixels / seconds / (MEGAPIXELS * 1e6)))


def _anew(reel: Reel, kept: Kept | None) -> dict[StillRef, int]:
    """The stills that have to be read, each once, and their pixels."""
    found: dict[StillRef, int] = {}
    for row in reel.rows:
        size = row.source.shot.stills.size
        if size is None:
            continue
        frames = range(1, len(row.source.course) + 1)
        for still in {row.source.still_of(frame) for frame in frames}:
            if still and not (kept and kept.has(still, reduction(row))):
                found[still] = size.width * size.height
    return found


def thinned(reel: Reel, nth: int) -> Reel:
    """The reel with every n-th still only: each stands in for those that follow it."""
    return replace(reel, rows=tuple(_thinned(row, nth) for row in reel.rows)) if nth > 1 else reel


def _thinned(row: Row, nth: int) -> Row:
    course, there = row.source.course, len(row.source.shot.stills)
    # A frame that is not photographed yet stays one.
    still = np.where(course.still <= there, (course.still - 1) // nth * nth + 1, course.still)
    source = replace(row.source, course=replace(course, still=still))
    return replace(row, source=source, nth=nth)
