"""A tape cut into pieces, and where on which page each lies."""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, asin, cos, floor, pi, radians

from cropmove.errors import called, complain
from cropmove.geometry import Floats
from cropmove.sheets.paper import Paper
from cropmove.sheets.tape.lay import DEEP, Bent, Flat, Lay
from cropmove.sheets.tape.places import passes_of

__all__ = ["FOOT", "MARGIN", "Piece", "pieces_of"]

MARGIN = 12.0
"""Millimetres that no printer need reach."""
HEAD, FOOT = 21.0, 20.0
"""Millimetres above and below the strips."""
OVERLAP = 5.0
"""Millimetres that a piece goes on beyond its joint, so that it can be checked on its neighbour."""
SPARE = 8.0
"""Millimetres of a strip before the first mark and after the last."""
TALL = 39.0
"""Millimetres from one straight strip to the next."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A strip of a tape on one page.

    Parameters
    ----------
    number, of : int
        Which of how many that are joined, from 1.
    stills : (first, last)
        Whose ticks it may hold: those of one way of the thing.
    page : int
        From 1.
    start, end : float
        What it covers, in millimetres along the edge, without what overlaps.
    lay : Lay
    """

    number: int
    of: int
    stills: tuple[int, int]
    page: int
    start: float
    end: float
    lay: Lay

    @property
    def covers(self) -> tuple[float, float]:
        """From where to where it is drawn: beyond a joint it goes on a little."""
        before = OVERLAP if self.number > 1 else 0.0
        after = OVERLAP if self.number < self.of else 0.0
        return self.start - before, self.end + after

    @property
    def joints(self) -> list[tuple[float, str]]:
        """Where its joints are, and what they are called: A is laid on A."""
        found = []
        if self.number > 1:
            found.append((self.start, _letter(self.number - 1)))
        if self.number < self.of:
            found.append((self.end, _letter(self.number)))
        return found


def pieces_of(
    along: Floats, paper: Paper, radius: float | None = None, hand: int = 1
) -> list[Piece]:
    """A tape cut into pieces that fit on paper laid on its side.

    Parameters
    ----------
    along : (n,) array
        Where each still's tick is, in millimetres along the edge.
    paper : Paper
    radius : float, optional
        To bend it to, in millimetres; straight if not given.
    hand : 1 or -1
        Whether a bent one grows clockwise.

    Raises
    ------
    InputError
        Where a radius is too small to print round.

    Examples
    --------
    >>> import numpy as np
    >>> from cropmove.sheets.paper import PAPERS
    >>> [(p.page, p.end - p.start) for p in pieces_of(np.array([0.0, 284]), PAPERS["a4"])]
    [(1, 150.0), (1, 150.0)]
    """
    across = paper.height - 2 * (MARGIN + OVERLAP)
    down = paper.width - HEAD - FOOT - MARGIN
    longest = across if radius is None else _longest_arc(radius, across, down)
    made: list[Piece] = []
    page, top = 1, 0.0
    for stills in passes_of(along):
        part = along[stills[0] - 1 : stills[1]]
        low, high = float(part.min()) - SPARE, float(part.max()) + SPARE
        count = max(1, -floor(-(high - low) / longest + 1e-9))
        each = (high - low) / count
        tall = TALL if radius is None else DEEP + 6 + radius * (1 - cos(each / 2 / radius))
        for number in range(count):
            if top + tall > down + 1e-9:
                page, top = page + 1, 0.0
            start, y = low + number * each, HEAD + MARGIN + top
            made.append(
                Piece(
                    number=number + 1,
                    of=count,
                    stills=stills,
                    page=page,
                    start=start,
                    end=start + each,
                    lay=_lay(y, start, each, radius, hand, paper),
                )
            )
            top += tall
    return made


def _lay(
    top: float, start: float, each: float, radius: float | None, hand: int, paper: Paper
) -> Lay:
    if radius is None:
        return Flat(left=MARGIN + OVERLAP, top=top, start=start)
    centre, middle = top + DEEP + radius, start + each / 2
    return Bent(across=paper.height / 2, down=centre, radius=radius, middle=middle, hand=hand)


def _longest_arc(radius: float, across: float, down: float) -> float:
    """How much of an arc fits on a page that wide and high, in millimetres along it."""
    if radius < 15:
        rule = "a template has a radius of 15 mm at the least"
        raise complain(
            "radius",
            radius,
            rule,
            f"print it straight and wrap it round: {called('straight', True)}",
        )
    by_width = asin(min(1.0, across / 2 / (radius + DEEP)))
    by_height = acos(max(-1.0, 1 - (down - DEEP - 6) / radius)) if radius else pi
    return 2 * radius * min(by_width, by_height, radians(80))


def _letter(number: int) -> str:
    return chr(ord("A") + (number - 1) % 26) + (str((number - 1) // 26 + 1) if number > 26 else "")
