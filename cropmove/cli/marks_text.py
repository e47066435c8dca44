"""Marks and layers as text for a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cropmove.cli.shown import findings_text, folded

if TYPE_CHECKING:
    from cropmove.checks.finding import Finding
    from cropmove.rig.layers import Sight
    from cropmove.rig.marks import Marks
    from cropmove.rig.working import Table
    from cropmove.shot import Shot

__all__ = ["cautions_text", "layers_text", "table_text"]


def cautions_text(table: Table) -> str:
    """What is told before the first setting: a line over it, then each caution."""
    from cropmove.rig.cautions import BEFORE, told_before

    told = told_before(marks.rig for marks in table.moved)
    return "\n".join([BEFORE, *(folded(text, first=2, later=4) for text in told)])


def table_text(table: Table, findings: Sequence[Finding] = ()) -> str:
    """A row a still, then each thing in a line, then what the checks say."""
    from cropmove.sheets.shooting_list.rows import rows_of

    held = table.timing.on > 1
    heads = [["still", *(["frames"] if held else [])]]
    heads[0] += [text for m in table.moved for text in (f"{m.name}, {m.rig.scale.unit}", "step")]
    body = []
    for row in rows_of(table):
        cells = [f"{row.still}"] + [_frames(row.frames)] * held
        for cell in row.cells:
            cells += [cell.reading, cell.step or ("" if row.still == 1 else "=")]
        body.append([*cells, "; ".join(row.notes)])
    lines = _aligned([[*heads[0], ""], *body])
    told = [folded(_summary(marks)) for marks in table.moved]
    found = ["", findings_text(findings)] if findings else []
    return "\n".join([*lines, "", *told, *found])


def _frames(frames: tuple[int, int]) -> str:
    first, last = frames
    return f"{first}" if first == last else f"{first}-{last}"


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Columns to the right, the last one, of notes, to the left."""
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]) - 1)]
    return [
        "  ".join([*(f"{row[n]:>{wide}}" for n, wide in enumerate(widths)), row[-1]]).rstrip()
        for row in rows
    ]


def _summary(marks: Marks) -> str:
    scale = marks.rig.scale
    worst = float(abs(marks.residue).max())
    return (
        f"{marks.name}: {marks.rig.motion.name}, {scale.length_text(marks.travel)} in all, "
        f"{scale.length_text(marks.cruise)} a still at the most; read to "
        f"{scale.length_text(scale.fineness)}, off by {scale.length_text(worst)} at the most"
    )


def layers_text(sights: Sequence[Sight], shot: Shot, findings: Sequence[Finding] = ()) -> str:
    """What each layer does on the screen, a row a layer, in delivered pixels."""
    import numpy as np

    strobing = {f.figures["layer"] for f in findings if f.id == "layer-sweeps"}

    width = shot.delivery.size.width
    rows = [
        ["layer", "mm off", "px a still", "px in all", "right", "down", "in frame", "sharp", ""]
    ]
    for sight in sights:
        right, down = (f"{part * width:.0f}" if np.isfinite(part) else "-" for part in sight.gone)
        soft = len(sight.out_of_focus)
        rows.append(
            [
                sight.layer.name,
                f"{sight.layer.distance:g}",
                f"{sight.peak * width:.1f}",
                f"{sight.travel * width:.0f}",
                right,
                down,
                f"{int(sight.in_sight.sum())}/{len(sight.step)}"
                if sight.boxes is not None
                else "-",
                "-" if sight.sharp is None else f"{len(sight.step) - soft}/{len(sight.step)}",
                "strobes" if sight.layer.name in strobing else "",
            ]
        )
    model = shot.lens.model if shot.lens else ""
    told = [f"lens: {model}; in frame and sharp: stills of all", ""]
    return "\n".join([*_aligned(rows), "", *told, findings_text(_of_layers(findings))])


def _of_layers(findings: Sequence[Finding]) -> list[Finding]:
    return [finding for finding in findings if "layer" in finding.figures]
