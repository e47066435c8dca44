"""The shooting list on paper: rows over as many pages as they need, cautions on the first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cropmove.rig.cautions import BEFORE, told_before
from cropmove.rig.marks import Marks
from cropmove.rig.working import Table
from cropmove.sheets.fit import fit
from cropmove.sheets.paper import Page, Paper, bold_width, text_width
from cropmove.sheets.shooting_list.columns import (
    PHASE,
    READING,
    STEP,
    asked_width,
    broken,
    edge_of,
    name_lines,
    size_for,
)
from cropmove.sheets.shooting_list.rows import Cell, Row, rows_of
from cropmove.units import held_text, rate_text, seconds_text

__all__ = ["list_pages"]

_MARGIN, _HEAD, _FOOT = 12.0, 38.0, 12.0
_ROW, _LINE = 9.0, 3.1
"""Millimetres: a row that is read at arm's length, a line of its notes."""
_NOTE, _CAUTION = 8.0, 13.0
"""Points.

Cautions are read at arm's length, 700 mm, beside a lamp: there letters are at least 16 minutes of
arc high, 3.26 mm (NUREG-0700 Rev. 2, 1.3.1-4); the font's capitals are 0.729 of its size.
"""
_CAUTION_LINE, _CAUTION_GAP = 5.4, 1.2
"""Millimetres: a line of the cautions, and what parts one from the next."""
_BOX, _STILL, _FRAMES, _THING, _NARROW = 9.0, 17.0, 21.0, 38.0, 29.0
_UPRIGHT_THINGS, _MOST_THINGS = 3, 6
_NOTES = 45.0
"""Millimetres that the notes keep where things need more room than usual."""


def list_pages(table: Table, paper: Paper, *, title: str) -> list[Page]:
    """The list on paper: upright for up to three things, on its side for more, six at a time."""
    things = list(range(len(table.moved)))
    groups = [things[at : at + _MOST_THINGS] for at in range(0, len(things), _MOST_THINGS)] or [[]]
    rows = rows_of(table)
    pages: list[Page] = []
    for group in groups:
        writer = _Writer.of(table, rows, group, paper, title)
        pages += writer.pages()
    for number, page in enumerate(pages, start=1):
        at = (page.width - _MARGIN, page.height - _MARGIN + 4)
        count = f", page {number} of {len(pages)}"
        room = page.width - 2 * _MARGIN - text_width(count, 8)
        name, _ = fit(title, 8, room, text_width, least=8)
        page.text(at, name + count, size=8, align="right")
    return pages


@dataclass(frozen=True, slots=True, kw_only=True)
class _Writer:
    """Writes the rows of a few things over as many pages as they need."""

    table: Table
    rows: Sequence[Row]
    group: Sequence[int]
    size: tuple[float, float]
    title: str
    widths: Sequence[float]
    figures: Sequence[float]
    edges: Sequence[float | None]

    @classmethod
    def of(
        cls, table: Table, rows: Sequence[Row], group: Sequence[int], paper: Paper, title: str
    ) -> _Writer:
        """A writer whose columns are as wide as their figures ask for, while the notes have room.

        `widths` are millimetres, `figures` the points of the readings: one size down a column;
        `edges` the millimetres to where they end, where that is one place down a column.
        """
        upright = len(group) <= _UPRIGHT_THINGS
        size = (paper.width, paper.height) if upright else (paper.height, paper.width)
        columns = [[row.cells[number] for row in rows] for number in group]
        usual = _THING if len(group) <= 4 else _NARROW
        asked = [max(0.0, asked_width(cells, READING) - usual) for cells in columns]
        frames = _FRAMES if table.timing.on > 1 else 0.0
        spare = size[0] - 2 * _MARGIN - _BOX - _STILL - frames - usual * len(group) - _NOTES
        share = min(1.0, max(0.0, spare) / max(sum(asked), 1e-9))
        widths = [usual + share * more for more in asked]
        figures = [size_for(*column) for column in zip(columns, widths, strict=True)]
        return cls(
            table=table, rows=rows, group=group, size=size, title=title, widths=widths,
            figures=figures, edges=list(map(edge_of, columns, figures)),
        )  # fmt: skip

    @property
    def moved(self) -> list[Marks]:
        """The marks of the things."""
        return [self.table.moved[number] for number in self.group]

    @property
    def columns(self) -> list[float]:
        """Where columns begin: box, still, frames, each thing, notes, and the end."""
        frames = _FRAMES if self.table.timing.on > 1 else 0.0
        at = [_MARGIN, _MARGIN + _BOX, _MARGIN + _BOX + _STILL]
        at.append(at[-1] + frames)
        for wide in self.widths:
            at.append(at[-1] + wide)
        return [*at, self.size[0] - _MARGIN]

    def pages(self) -> list[Page]:
        """All pages, the cautions at the foot of the first."""
        pages = [self._page()]
        end = self.size[1] - _MARGIN - _FOOT / 2
        y, bottom = _HEAD, self._cautions(pages[0], end)
        for row in self.rows:
            notes = self._wrapped(row)
            tall = max(_ROW, len(notes) * _LINE + 2.2)
            if y + tall > bottom:
                pages.append(self._page())
                y, bottom = _HEAD, end
            self._row(pages[-1], row, notes, y, tall)
            y += tall
        return pages

    def _page(self) -> Page:
        page = Page(*self.size)
        timing, right = self.table.timing, self.columns[-1]
        told = f"{timing.stills} stills, {timing.frames} frames "
        told += f"({seconds_text(timing.frames, timing.fps)} at {rate_text(timing.fps)}), "
        told += held_text(timing.on)
        page.text((right, _MARGIN + 5), told, size=9, align="right")
        room = right - _MARGIN - text_width(told, 9) - 5
        title, size = fit(self.title, 16, room, bold_width, least=9)
        page.text((_MARGIN, _MARGIN + 5), title, size=size, bold=True)
        y = _HEAD - 4.5
        names = ["", "still", "frames" if timing.on > 1 else ""]
        for x, name in zip(self.columns, names, strict=False):
            page.text((x + 1.5, y), name, size=8, grey=0.25)
        for marks, x, end in zip(self.moved, self.columns[3:], self.columns[4:], strict=False):
            size, lines = name_lines(marks.name, end - x - 3)
            for number, line in enumerate(reversed(lines)):
                page.text((x + 1.5, y - 6.6 - number * 2.7), line, size=size, bold=True)
            for told, up in ((marks.rig.motion.name, 2.7), (_read_on(marks), -0.5)):
                told, size = fit(told, 7, end - x - 3, text_width, least=5.5)
                page.text((x + 1.5, y - up), told, size=size, grey=0.15)
        page.text((self.columns[-2] + 1.5, y), "notes", size=8, grey=0.25)
        page.line([(_MARGIN, _HEAD - 1.8), (right, _HEAD - 1.8)], width=0.5)
        return page

    def _wrapped(self, row: Row) -> list[str]:
        wide = self.columns[-1] - self.columns[-2] - 3
        return [line for note in row.notes for line in broken(note, _NOTE, wide)]

    def _row(self, page: Page, row: Row, notes: Sequence[str], y: float, tall: float) -> None:
        columns, middle = self.columns, y + tall / 2
        if not row.moves and row.still > 1:
            page.box(columns[0], y, columns[-1], y + tall, 0.93)
        square = [(columns[0] + 1.5, middle - 2.4), (columns[0] + 6.3, middle - 2.4),
                  (columns[0] + 6.3, middle + 2.4), (columns[0] + 1.5, middle + 2.4)]  # fmt: skip
        page.line(square, width=0.3, closed=True)
        page.text(
            (columns[2] - 2.5, middle), f"{row.still}", size=14, align="right", middle=True
        )  # fmt: skip
        if self.table.timing.on > 1:
            first, last = row.frames
            text = f"{first}–{last}" if last > first else f"{first}"
            page.text((columns[2] + 1.5, middle), text, size=9, middle=True, grey=0.25)
        for number, size, edge, x, end in zip(
            self.group, self.figures, self.edges, columns[3:], columns[4:], strict=False
        ):
            self._cell(page, row.cells[number], size, edge, x, end, middle)
        top = middle - (len(notes) - 1) * _LINE / 2
        for number, line in enumerate(notes):
            at = (columns[-2] + 1.5, top + number * _LINE)
            page.text(at, line, size=_NOTE, middle=True)
        heavy = row.still % 5 == 0
        page.line(
            [(columns[0], y + tall), (columns[-1], y + tall)],
            width=0.35 if heavy else 0.12,
            grey=0.2 if heavy else 0.55,
        )

    def _cell(
        self,
        page: Page,
        cell: Cell,
        size: float,
        edge: float | None,
        x: float,
        end: float,
        middle: float,
    ) -> None:
        grey = 0.55 if cell.repeats and cell.phase != "start" else 0.0
        x, align = (x + 1.5, "left") if edge is None else (x + 1.5 + edge, "right")
        page.text(
            (x, middle), cell.reading, size=size, bold=True, align=align, middle=True, grey=grey
        )
        right = end - 2.5
        page.text((right, middle - 0.2), cell.step, size=STEP, align="right", grey=0.3)
        page.text((right, middle + 2.9), cell.phase, size=PHASE, align="right", grey=0.3)

    def _cautions(self, page: Page, end: float) -> float:
        """Write the cautions so that they end there; where the room above them ends."""
        wide = self.columns[-1] - self.columns[0]
        told = told_before(marks.rig for marks in self.moved)
        blocks = [[BEFORE], *(broken(text, _CAUTION, wide) for text in told)]
        tall = sum(len(block) * _CAUTION_LINE + _CAUTION_GAP for block in blocks)
        y = end - tall
        for number, block in enumerate(blocks):
            for line in block:
                y += _CAUTION_LINE
                page.text((_MARGIN, y), line, size=_CAUTION, bold=number == 0)
            y += _CAUTION_GAP
        return end - tall - 1


def _read_on(marks: Marks) -> str:
    scale = marks.rig.scale
    if scale.kind == "screw":
        return f"turns, {scale.thread:g} {marks.rig.motion.unit} each"
    if scale.kind == "arc":
        return f"{scale.unit} on radius {scale.radius:g} mm"
    return scale.unit
