"""Things at other distances than the subject."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropmove.errors import complain
from cropmove.files import place_new
from cropmove.marking.endings import PICTURE, wrong_ending
from cropmove.shot import Shot, Stills

if TYPE_CHECKING:
    from cropmove.rig.layers import Sight

__all__ = ["boxes", "layers", "layers_csv"]


def layers(shot: Shot) -> tuple[Sight, ...]:
    """What things at other distances do on the screen: steps, ways, when they are in sight.

    Raises
    ------
    InputError
        Where the shot has no layers.
    """
    if not shot.layers:
        rule = "the shot has no layers"
        raise complain("layer", "", rule, "add [[layer]] with a name and a distance in mm")
    return shot.sights()


def layers_csv(shot: Shot) -> str:
    """What each layer does, as CSV, a row a still: delivered pixels, and millimetres off.

    The columns of each layer are NAME right and NAME down (from where it was at first), NAME step,
    NAME mm off, and NAME in frame (1 or 0).
    """
    sights, width = layers(shot), shot.delivery.size.width
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    parts = ("right", "down", "step", "mm off", "in frame")
    writer.writerow(["still", *(f"{s.layer.name} {part}" for s in sights for part in parts)])
    for n in range(len(sights[0].step)):
        values: list[Any] = [n + 1]
        for sight in sights:
            right, down = ((sight.middle[n] - sight.middle[0]) * width).tolist()
            values += [right, down, float(sight.step[n] * width), float(sight.depth[n])]
            values.append(int(sight.in_sight[n]))
        writer.writerow(values)
    return out.getvalue()


def boxes(
    shot: Shot, out: str | Path, *, still: str | Path | None = None, overwrite: bool = False
) -> Path:
    """Draw the layers as boxes over a test still.

    Parameters
    ----------
    shot : Shot
    out : path
        NAME.png, NAME.svg or NAME.pdf.
    still : path, optional
        The test still; the shot's first where it is not given, and a plain ground without any.
    overwrite : bool
    """
    from cropmove.previews.source import Source
    from cropmove.sheets.boxes import boxes_sheet

    out, course = Path(out), shot.course()
    test = Stills.found(still).refs[0] if still else None
    source = Source(shot=shot, course=course, test=test)
    small = source.small(test or source.still_of(1), min(1.0, 1920 / course[1].width))
    width = 1600
    size = replace(
        shot.delivery.size, width=width, height=max(1, round(width * shot.delivery.size.shape))
    )
    sheet = boxes_sheet(shot, layers(shot), small.frame(course[1], size), (297.0, 210.0))
    writers = {".png": sheet.png, ".svg": sheet.svg, ".pdf": sheet.pdf}
    if out.suffix.lower() not in writers:
        raise wrong_ending("out", out, PICTURE)
    place_new(out, writers[out.suffix.lower()](), overwrite=overwrite)
    return out
