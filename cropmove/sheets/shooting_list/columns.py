"""How wide the columns of a printed list are, and how large what stands in them."""

from __future__ import annotations

import re
from collections.abc import Sequence

from cropmove.sheets.fit import fit
from cropmove.sheets.paper import bold_width, text_width
from cropmove.sheets.shooting_list.rows import Cell

__all__ = [
    "PHASE",
    "READING",
    "STEP",
    "asked_width",
    "broken",
    "edge_of",
    "name_lines",
    "size_for",
]

READING, STEP, PHASE = 17.0, 9.5, 6.5
"""Points of a reading at the most, and of what stands beside it."""
_NAMES = (13.0, 8.0, 7.0)
"""Points of a thing's name: at the most, at the least on one line, and on several."""
_NAME_LINES = 3


def asked_width(cells: Sequence[Cell], size: float) -> float:
    """Millimetres that a column takes with its readings in so many points."""
    edge = edge_of(cells, size)
    return max(
        (text_width(cell.reading, size, bold=True) if edge is None else edge)
        + max(text_width(cell.step, STEP), text_width(cell.phase, PHASE))
        + 5
        for cell in cells
    )


def edge_of(cells: Sequence[Cell], size: float) -> float | None:
    """How far from the first reading's left all readings end, so that units stand under units.

    None where there are fractions or turns: they are read from the left.
    """
    if not all(_DECIMAL.fullmatch(cell.reading) for cell in cells):
        return None
    return max(text_width(cell.reading, size, bold=True) for cell in cells)


_DECIMAL = re.compile(r"[−-]?\d+(?:\.\d+)?")


def size_for(cells: Sequence[Cell], wide: float) -> float:
    """The largest size, in points, at which all readings fit into a column."""
    size = READING
    while asked_width(cells, size) > wide and size > 8:
        size -= 0.5
    return size


def name_lines(name: str, wide: float) -> tuple[float, list[str]]:
    """A name over a column: its points and its lines, several where one would be too small."""
    most, least, small = _NAMES
    one, size = fit(name, most, wide, bold_width, least=least)
    if one == name:
        return size, [name]
    lines = broken(name, small, wide, bold=True)
    kept = [*lines[: _NAME_LINES - 1], " ".join(lines[_NAME_LINES - 1 :])]
    return small, [fit(line, small, wide, bold_width, least=small)[0] for line in kept if line]


def broken(text: str, size: float, wide: float, *, bold: bool = False) -> list[str]:
    """Words broken into lines that are so wide at the most, in millimetres."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, size, bold=bold) > wide:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines
