"""What to set for each still, as rows of words: for paper, for data and for a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cropmove.rig.marks import Marks
from cropmove.rig.working import Table

__all__ = ["Cell", "Row", "rows_of"]


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
