"""The shooting list for other programs: as CSV, a row a frame, and as JSON, complete."""

from __future__ import annotations

import csv
import io
from typing import Any

from cropmove.geometry import Floats
from cropmove.rig.cautions import told_before
from cropmove.rig.marks import Marks
from cropmove.rig.measures import MM_PER_INCH
from cropmove.rig.working import Table
from cropmove.sheets.shooting_list.rows import rows_of
from cropmove.units import rate_text

__all__ = ["list_csv", "list_json"]

_PARTS = ("reading", "step", "exact", "phase")


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
        "cautions": list(told_before(marks.rig for marks in table.moved)),
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
