"""The shooting list: what to set for each still, as rows, as CSV and JSON, and on paper.

On paper a row is a press of the shutter; in the data there is one for each delivered frame.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cropmove.geometry import Floats
from cropmove.rig.cautions import DEFERS, cautions_for
from cropmove.rig.marks import Marks
from cropmove.rig.measures import MM_PER_INCH
from cropmove.rig.working import Table
from cropmove.sheets.fit import fit
from cropmove.sheets.paper import Page, Paper, bold_width, text_width
from cropmove.units import held_text, rate_text, seconds_text

__all__ = ["Cell", "Row", "list_csv", "list_json", "list_pages", "rows_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """What one thing does for one still.

    Parameters
    ----------
    reading, step : str
        As read, and from the reading before; the step is empty where the mark repeats.
    phase : str
        "start", "hold", "ease in", "cruise", "ease out" or "move".
    notes : tuple of str
        What to mind: go past and come back, shift the rule.
    """

    reading: str
    step: str
    phase: str
    notes: tuple[str, ...] = ()

    @property
    def repeats(self) -> bool:
        """Whether it stands where it stood."""
        return not self.step


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A press of the shutter.

    Parameters
    ----------
    still : int
    frames : (first, last)
        The delivered frames that show it.
    cells : tuple of Cell
        One for each thing.
    notes : tuple of str
    """

    still: int
    frames: tuple[int, int]
    cells: tuple[Cell, ...]
    notes: tuple[str, ...]

    @property
    def moves(self) -> bool:
        """Whether anything is to be moved before it."""
        return any(not cell.repeats for cell in self.cells)


def rows_of(table: Table) -> list[Row]:
    """One row a still, for all that a hand moves.

    Examples
    --------
    >>> from cropmove.rig.motion import MOTIONS
    >>> from cropmove.rig.rig import Rig
    >>> from cropmove.rig.scale import Scale
    >>> from cropmove.rig.timing import Timing
    >>> from cropmove.rig.working import work_out
    >>> boat = Rig(name="boat", motion=MOTIONS["subject sideways"], scale=Scale(), start=0, end=300)
    >>> rows = rows_of(work_out([boat], Timing(frames=61)))
    >>> rows[30].cells[0].reading, rows[30].cells[0].step, rows[30].notes
    ('161.5', '+6.5', ())
    """
    columns = [_cells(marks) for marks in table.moved]
    rows = []
    for still in range(1, table.timing.stills + 1):
        cells = tuple(column[still - 1] for column in columns)
        first = (still - 1) * table.timing.on + 1
        rows.append(
            Row(
                still=still,
                frames=(first, table.timing.last_frame(still)),
                cells=cells,
                notes=_notes(table.moved, cells, still, table.timing.stills),
            )
        )
    return rows


def _cells(marks: Marks) -> list[Cell]:
    scale, read = marks.rig.scale, marks.read
    overshoots, resets = set(marks.overshoots.tolist()), {r.still: r for r in marks.resets}
    cells = []
    for still, phase in enumerate(marks.phase, start=1):
        notes = []
        if still in overshoots:
            notes.append(f"past it to {scale.text(marks.past(still))}, and back")
        if still in resets:
            after = scale.text(resets[still].after)
            notes.append(f"then shift the rule: this mark reads {after}")
        step = int(marks.count[still - 1] - marks.count[still - 2]) if still > 1 else 0
        text = scale.text(step)
        cells.append(
            Cell(
                reading=scale.text(read[still - 1]),
                step="" if step == 0 else text if step < 0 else f"+{text}",
                phase=phase,
                notes=tuple(notes),
            )
        )
    return cells


def _notes(moved: Sequence[Marks], cells: Sequence[Cell], still: int, last: int) -> tuple[str, ...]:
    """What to mind at a still; a thing's name goes before what is its alone."""
    told = [word for at, word in ((1, "start"), (last, "end")) if still == at]
    for marks, cell in zip(moved, cells, strict=True):
        told += [_of(marks, note, len(moved) > 1) for note in cell.notes]
    return tuple(told)


def _of(marks: Marks, text: str, several: bool) -> str:
    return f"{marks.name}: {text}" if several else text


def list_csv(table: Table) -> str:
    """The list as CSV, a row a frame. Readings are as they stand on the scale; exact ones beside.

    The columns of each thing are NAME reading, NAME step, NAME exact and NAME phase, in the unit
    of its scale.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    heads = [f"{m.name} {part}" for m in table.moved for part in _PARTS]
    writer.writerow(["frame", "still", "moves", *heads, "notes"])
    rows, exact = rows_of(table), [_in_its_unit(marks) for marks in table.moved]
    shown = table.timing.still.tolist()
    for frame, (before, still) in enumerate(zip([0, *shown], shown, strict=False), start=1):
        row, again = rows[still - 1], before == still
        values: list[Any] = [frame, still, "hold" if again or not row.moves else "move"]
        for places, cell in zip(exact, row.cells, strict=True):
            step = "" if again else cell.step
            values += [cell.reading, step, repr(float(places[still - 1])), cell.phase]
        writer.writerow([*values, "" if again else "; ".join(row.notes)])
    return out.getvalue().replace("−", "-")


def _in_its_unit(marks: Marks) -> Floats:
    """Unrounded readings as its scale has them: inches too, where it is read in inches."""
    return marks.exact / MM_PER_INCH if marks.rig.scale.inches else marks.exact


_PARTS = ("reading", "step", "exact", "phase")


def list_json(table: Table, name: str) -> dict[str, Any]:
    """The list as plain JSON values, complete."""
    timing = table.timing
    return {
        "shot": name,
        "frames": timing.frames,
        "on": timing.on,
        "fps": rate_text(timing.fps),
        "lens": table.view.lens.model if table.view else None,
        "rigs": [_rig_json(marks) for marks in table.moved],
        "stills": [
            {
                "still": row.still,
                "frames": list(row.frames),
                "moves": row.moves,
                "readings": {
                    marks.name: cell.reading.replace("−", "-")
                    for marks, cell in zip(table.moved, row.cells, strict=True)
                },
                "notes": list(row.notes),
            }
            for row in rows_of(table)
        ],
        "cautions": [*cautions_for(marks.rig for marks in table.moved), DEFERS],
    }


def _rig_json(marks: Marks) -> dict[str, Any]:
    scale = marks.rig.scale
    return {
        "name": marks.name,
        "moves": marks.rig.motion.name,
        "unit": "mm" if scale.inches else scale.unit,
        "read_in": scale.unit,
        "division": scale.fineness,
        "radius": scale.radius,
        "thread": scale.thread,
        "travel": marks.travel,
        "cruise": marks.cruise,
        "unevenness": marks.unevenness,
        "exact": marks.exact.tolist(),
        "reading": marks.reading.tolist(),
        "residue": marks.residue.tolist(),
        "on_the_rule": (marks.read * scale.fineness).tolist(),
        "moved": marks.moved.tolist(),
        "phase": list(marks.phase),
        "resets": [
            {
                "still": reset.still,
                "before": reset.before * scale.fineness,
                "after": reset.after * scale.fineness,
            }
            for reset in marks.resets
        ],
        "overshoots": marks.overshoots.tolist(),
    }


# ---- on paper ----------------------------------------------------------------------------------

_MARGIN, _HEAD, _FOOT = 12.0, 38.0, 12.0
_ROW, _LINE, _CAUTION = 9.0, 3.1, 3.5
"""Millimetres: a row that is read at arm's length, a line of its notes, a line of the cautions."""
_READING, _STEP, _PHASE, _NOTE = 17.0, 9.5, 6.5, 8.0
"""Points."""
_BOX, _STILL, _FRAMES, _THING, _NARROW = 9.0, 17.0, 21.0, 38.0, 29.0
_UPRIGHT_THINGS, _MOST_THINGS = 3, 6
_NOTES = 45.0
"""Millimetres that the notes keep where things need more room than usual."""
_NAMES = (13.0, 8.0, 7.0)
"""Points of a thing's name: at the most, at the least on one line, and on several."""
_NAME_LINES = 3


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
        asked = [max(0.0, _asked(cells, _READING) - usual) for cells in columns]
        frames = _FRAMES if table.timing.on > 1 else 0.0
        spare = size[0] - 2 * _MARGIN - _BOX - _STILL - frames - usual * len(group) - _NOTES
        share = min(1.0, max(0.0, spare) / max(sum(asked), 1e-9))
        widths = [usual + share * more for more in asked]
        figures = [_figures(*column) for column in zip(columns, widths, strict=True)]
        return cls(
            table=table, rows=rows, group=group, size=size, title=title, widths=widths,
            figures=figures, edges=list(map(_edge, columns, figures)),
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
        told = self._cautions()
        end = self.size[1] - _MARGIN - _FOOT / 2
        y, bottom = _HEAD, end - len(told) * _CAUTION - 3
        for number, line in enumerate(told):
            at = (_MARGIN, bottom + 4.5 + number * _CAUTION)
            pages[0].text(at, line, size=7.5, bold=number == 0, grey=0.15)
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
            size, lines = _named(marks.name, end - x - 3)
            for number, line in enumerate(reversed(lines)):
                page.text((x + 1.5, y - 6.6 - number * 2.7), line, size=size, bold=True)
            page.text((x + 1.5, y - 2.7), marks.rig.motion.name, size=7, grey=0.15)
            page.text((x + 1.5, y + 0.5), _read_on(marks), size=7, grey=0.15)
        page.text((self.columns[-2] + 1.5, y), "notes", size=8, grey=0.25)
        page.line([(_MARGIN, _HEAD - 1.8), (right, _HEAD - 1.8)], width=0.5)
        return page

    def _wrapped(self, row: Row) -> list[str]:
        wide = self.columns[-1] - self.columns[-2] - 3
        return [line for note in row.notes for line in _lines(note, _NOTE, wide)]

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
        page.text((right, middle - 0.2), cell.step, size=_STEP, align="right", grey=0.3)
        page.text((right, middle + 2.9), cell.phase, size=_PHASE, align="right", grey=0.3)

    def _cautions(self) -> list[str]:
        wide = self.columns[-1] - self.columns[0]
        told = [*cautions_for(marks.rig for marks in self.moved), DEFERS]
        return ["Before you start"] + [line for text in told for line in _lines(text, 7.5, wide)]


def _asked(cells: Sequence[Cell], size: float) -> float:
    """Millimetres that a column takes with its readings in so many points."""
    return max(
        text_width(cell.reading, size, bold=True)
        + max(text_width(cell.step, _STEP), text_width(cell.phase, _PHASE))
        + 5
        for cell in cells
    )


def _edge(cells: Sequence[Cell], size: float) -> float | None:
    """How far from the first reading's left all readings end, so that units stand under units.

    None where there are fractions or turns: they are read from the left.
    """
    if not all(_DECIMAL.fullmatch(cell.reading) for cell in cells):
        return None
    return max(text_width(cell.reading, size, bold=True) for cell in cells)


_DECIMAL = re.compile(r"[−-]?\d+(?:\.\d+)?")


def _figures(cells: Sequence[Cell], wide: float) -> float:
    """The largest size, in points, at which all readings fit into a column."""
    size = _READING
    while _asked(cells, size) > wide and size > 8:
        size -= 0.5
    return size


def _named(name: str, wide: float) -> tuple[float, list[str]]:
    """A name over a column: its points and its lines, several where one would be too small."""
    most, least, small = _NAMES
    one, size = fit(name, most, wide, bold_width, least=least)
    if one == name:
        return size, [name]
    lines = _lines(name, small, wide, bold=True)
    kept = [*lines[: _NAME_LINES - 1], " ".join(lines[_NAME_LINES - 1 :])]
    return small, [fit(line, small, wide, bold_width, least=small)[0] for line in kept if line]


def _read_on(marks: Marks) -> str:
    scale = marks.rig.scale
    if scale.kind == "screw":
        return f"turns, {scale.thread:g} {marks.rig.motion.unit} each"
    if scale.kind == "arc":
        return f"{scale.unit} on radius {scale.radius:g} mm"
    return scale.unit


def _lines(text: str, size: float, wide: float, *, bold: bool = False) -> list[str]:
    """Words broken into lines that are so wide at the most, in millimetres."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, size, bold=bold) > wide:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines
