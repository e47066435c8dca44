"""Layers as boxes over a test still: where each is at first and at last, and the way between."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.finding import frames_text, runs_of
from cropmove.rig.layers import Sight
from cropmove.sheets import style
from cropmove.sheets.labels import Labels
from cropmove.sheets.sheet import POINT, Pen, Sheet, Type
from cropmove.sheets.style import INK, MARGIN, RUST
from cropmove.shot import Shot

__all__ = ["boxes_sheet", "sight_text"]

_FIRST = Pen(colour=INK, width=0.45, halo=0.35)
_LAST = Pen(colour=RUST, width=0.8, halo=0.35)
_WAY = Pen(colour=INK, width=0.3, dash=(1.6, 0.9), halo=0.35)
_EDGE = Pen(colour=INK, width=0.25)
_TAG = Type(size=8, colour=INK, bold=True)
_TOLD = Type(size=8, colour=INK)


def boxes_sheet(
    shot: Shot, sights: Sequence[Sight], picture: NDArray[np.uint8], paper: tuple[float, float]
) -> Sheet:
    """The sheet.

    Parameters
    ----------
    shot : Shot
    sights : sequence of Sight
    picture : (h, w, 3) array
        What the first framing shows.
    paper : (width, height)
        Millimetres.
    """
    sheet = style.begin(shot, "layers", paper)
    told = [sight_text(sight, shot.delivery.size.width) for sight in sights]
    foot = paper[1] - MARGIN - 5.2 * len(told) - 8
    wide = min(paper[0] - 2 * MARGIN, (foot - style.HEAD) / shot.delivery.size.shape)
    left, top = (paper[0] - wide) / 2, style.HEAD
    frame = (left, top, left + wide, top + wide * shot.delivery.size.shape)
    sheet.picture(_paled(picture), frame)
    labels = Labels(sheet, within=frame)
    with sheet.within(frame):
        for sight in sights:
            _layer(sheet, labels, sight, np.array([left, top]), wide)
    corners = [(frame[0], frame[1]), (frame[2], frame[1]), (frame[2], frame[3]),
               (frame[0], frame[3])]  # fmt: skip
    sheet.line(corners, _EDGE, closed=True)
    labels.draw()
    _explain(sheet, told, frame[3] + 7)
    return sheet


def _layer(
    sheet: Sheet, labels: Labels, sight: Sight, origin: NDArray[np.float64], wide: float
) -> None:
    """A layer's first and last box, its way, and its name where it begins."""
    seen = np.flatnonzero(np.isfinite(sight.middle).all(axis=1))
    way = origin + sight.middle[seen] * wide
    if len(way) > 1:
        sheet.line(way, _WAY)
    at = way[0]
    if sight.boxes is not None:
        for number, pen in ((seen[0], _FIRST), (seen[-1], _LAST)):
            sheet.line(origin + sight.boxes[number] * wide, pen, closed=True)
        at = origin + sight.boxes[seen[0], 0] * wide
    inside = np.clip(at, labels.within[:2], labels.within[2:])
    labels.put((float(inside[0]), float(inside[1])), sight.layer.name, _TAG, must=True)


def _explain(sheet: Sheet, told: Sequence[str], y: float) -> None:
    for x, pen, text in (
        (MARGIN, _FIRST, "at the first still"),
        (MARGIN + 44, _LAST, "at the last"),
        (MARGIN + 76, _WAY, "the way of its middle"),
    ):
        sheet.line([(x, y - 1), (x + 9, y - 1)], pen)
        sheet.text((x + 11, y), text, style.QUIET)
    for number, line in enumerate(told, start=1):
        sheet.text((MARGIN, y + 1 + number * _TOLD.size * POINT * 1.75), line, _TOLD)


def sight_text(sight: Sight, width: int) -> str:
    """What a layer does, in a line: in delivered pixels of a frame so wide."""
    right, down = sight.gone
    parts = [f"up to {sight.peak * width:.1f} px a still"]
    if np.isfinite([right, down]).all():
        parts.append(f"{_way(right * width, down * width)} in all")
    if sight.boxes is not None and not sight.in_sight.all():
        runs = runs_of(np.flatnonzero(sight.in_sight) + 1)
        parts.append(f"in frame on {frames_text(runs, 'still')}" if runs else "never in frame")
    if len(sight.out_of_focus):
        parts.append(f"soft on {frames_text(runs_of(sight.out_of_focus), 'still')}")
    return f"{sight.layer.name}, {sight.layer.distance:g} mm off: {', '.join(parts)}"


def _way(right: float, down: float) -> str:
    across = f"{abs(right):.0f} px {'right' if right > 0 else 'left'}"
    along = f"{abs(down):.0f} px {'down' if down > 0 else 'up'}"
    moves = [text for text, far in ((across, right), (along, down)) if abs(far) >= 0.5]
    return " and ".join(moves) or "0 px"


def _paled(picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Half-way to white, so that lines read on it."""
    return (picture // 2 + 127).astype(np.uint8)
