"""A shot in findings and in figures."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

from cropmove.checks.finding import Finding
from cropmove.checks.registry import findings_of
from cropmove.shot import Shot

__all__ = ["COLUMNS", "check", "table"]

COLUMNS = (
    "frame", "still", "centre_x", "centre_y", "width", "height", "roll", "scale", "step",
)  # fmt: skip
"""The columns of a table, in order."""


def check(
    shot: Shot,
    *,
    stills: bool = False,
    folder: str | Path | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Finding, ...]:
    """What would go wrong with a shot, gravest first.

    Parameters
    ----------
    shot : Shot
    stills : bool
        Whether to look at the stills' pixels too, which takes a fraction of a second for each.
    folder : path, optional
        Where its frames will go, to ask how much room is there.
    progress : callable, optional
        Called with the stills looked at and the stills in all.

    Raises
    ------
    InputError
        Where a still cannot be read at all.
    """
    return findings_of(shot, stills=stills, folder=folder, progress=progress)


def table(shot: Shot) -> str:
    """The course as CSV, a row a frame; every number reads back to the same bits.

    Parameters
    ----------
    shot : Shot

    Returns
    -------
    str
        A row of names, `COLUMNS`, and the rows: lengths in pixels of the still, the roll in
        degrees, the scale in delivered pixels per still pixel, the step in delivered pixels.

    Examples
    --------
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> from cropmove.shot import Delivery
    >>> still = Key(frame=1, framing=Framing(x=3000, y=2000, width=3840))
    >>> print(table(Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=(still,))))
    frame,still,centre_x,centre_y,width,height,roll,scale,step
    1,1,3000.0,2000.0,3840.0,2160.0,0.0,0.5,0.0
    """
    course = shot.course()
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    columns = (
        course.frame, course.still, course.x, course.y, course.width, course.height,
        course.roll, course.scale, course.step,
    )  # fmt: skip
    writer.writerows(zip(*(column.tolist() for column in columns), strict=True))
    return out.getvalue()
