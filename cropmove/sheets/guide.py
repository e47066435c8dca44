"""The guide: the way of a point of the set across the screen, a tick and a number for each frame.

Printed to a stated size it is held against a monitor, or laid on a table; as a transparent
picture it lies over the monitor's own. Whoever moves something by hand to match the camera puts
the point on the next tick.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import Floats
from cropmove.move.course import Course
from cropmove.rig.measures import MM_PER_INCH
from cropmove.sheets import style
from cropmove.sheets.labels import Labels
from cropmove.sheets.sheet import Pen, Sheet, Type, text_width
from cropmove.sheets.style import FAINT, INK, MARGIN, RUST, SOFT, TEAL, Box
from cropmove.sheets.ways import (
    directions,
    number_order,
    screen_way,
    told_apart,
    too_near_to_draw,
)
from cropmove.shot import Shot

__all__ = ["GUIDE_WIDTH", "guide_on", "guide_over", "guide_sheet", "guide_table", "ways_of"]

GUIDE_WIDTH = 240.0
"""Millimetres across the frame at the most, where nobody says."""
_NARROWEST = 20.0
"""And at the least, however tall the frame is."""

OVER_WIDTH = 254.0
"""Millimetres that the letters of an overlay are sized for."""
_LEAST_DOTS = 96.0
"""Dots an inch at which they can be read: a small overlay is sized for less."""

_LINES = (
    Pen(colour=INK, width=0.2, halo=0.35),
    Pen(colour=RUST, width=0.25, dash=(1.6, 0.7), halo=0.35),
    Pen(colour=TEAL, width=0.3, dash=(0.35, 0.55), halo=0.35),
)
"""A way each, in turn: told apart by dash where colour is not seen."""
_EDGE = Pen(colour=INK, width=0.3)
_LEADER = Pen(colour=SOFT, width=0.12)

Ways = Mapping[str, Floats]
"""Delivered pixels frame by frame, (n, 2), by the point's name."""


def ways_of(shot: Shot, course: Course, points: Mapping[str, tuple[float, float]]) -> Ways:
    """The screen ways of points of the set, and of the subjects.

    Parameters
    ----------
    shot, course : Shot, Course
    points : mapping of name to (x, y)
        Pixels of the still; where there are none, and no subject, the middle of the last framing.
    """
    ways = {name: screen_way(course, np.array(point)) for name, point in points.items()}
    for subject in shot.subjects:
        rows = subject.shown(len(course), shot.on)
        ways.setdefault(subject.name, screen_way(course, rows[:, :2]))
    if not ways:
        last = course[len(course)]
        ways["middle of the last framing"] = screen_way(course, np.array([last.x, last.y]))
    return ways


def guide_on(paper: tuple[float, float], shape: float) -> tuple[float, tuple[float, float]]:
    """How wide a frame is printed where nobody says, and on the paper which way round.

    It is as wide as fits, in steps of 5 mm and up to 240; a tall one on paper that stands upright.

    Parameters
    ----------
    paper : (width, height)
        Millimetres, lying on its side.
    shape : float
        The frame's height, in its width.

    Examples
    --------
    >>> guide_on((297, 210), 1080 / 1920), guide_on((297, 210), 1920 / 1080)
    ((240.0, (297, 210)), (130.0, (210, 297)))
    """
    lying, upright = (
        (min(GUIDE_WIDTH, 5.0 * (_room(size, shape) // 5)), size) for size in (paper, paper[::-1])
    )
    width, size = upright if upright[0] > lying[0] else lying
    return max(width, _NARROWEST), size


def _room(paper: tuple[float, float], shape: float) -> float:
    across, down = paper[0] - 2 * MARGIN, paper[1] - style.HEAD - _FOOT - MARGIN
    return min(across, down / shape)


_FOOT = 13.0
"""Millimetres below the frame, to the ruler."""


def guide_sheet(
    shot: Shot, course: Course, ways: Ways, width: float, paper: tuple[float, float]
) -> Sheet:
    """The guide on paper, the frame `width` millimetres wide.

    The paper grows where the frame does not fit on it.
    """
    height = width * course.delivery.shape
    size = (
        max(paper[0], width + 2 * MARGIN),
        max(paper[1], style.HEAD + height + _FOOT + MARGIN),
    )
    sheet = style.begin(shot, "guide", size)
    left = (size[0] - width) / 2
    box = (left, style.HEAD, left + width, style.HEAD + height)
    _frame(sheet, box)
    _ways(sheet, course, ways, box, beyond=5.0)
    told = f"the frame is {width:g} × {height:.4g} mm; print at 100 %, without fitting to the page"
    y, room = box[3] + _FOOT, size[0] - 2 * MARGIN - 104 - text_width(told, style.QUIET)
    if room >= 0:
        x = min(box[0], MARGIN + room)
        sheet.text((x + 104, y + 0.9), told, style.QUIET)
    else:
        x = min(box[0], size[0] - MARGIN - 100)
        sheet.text((x, y + 5), told, style.QUIET)
    _rule(sheet, (x, y))
    return sheet


def guide_over(shot: Shot, course: Course, ways: Ways) -> tuple[Sheet, float]:
    """The guide as a transparent picture of the delivery's size: a sheet, and its dots an inch."""
    pixels = course.delivery.width
    width = min(OVER_WIDTH, pixels / _LEAST_DOTS * MM_PER_INCH)
    height = width * course.delivery.shape
    sheet = Sheet(width, height, title=f"{shot.name}: guide")
    _ways(sheet, course, ways, (0.0, 0.0, width, height))
    return sheet, pixels * MM_PER_INCH / width


def guide_table(course: Course, ways: Ways, width: float) -> str:
    """The guide as CSV, a row a point and frame: delivered pixels, and millimetres on paper.

    Both count from the frame's top-left corner.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("point", "frame", "x", "y", "x_mm", "y_mm"))
    mm = width / course.delivery.width
    for name, way in ways.items():
        for frame, (x, y) in enumerate(way.tolist(), start=1):
            writer.writerow((name, frame, f"{x:.3f}", f"{y:.3f}", f"{x * mm:.3f}", f"{y * mm:.3f}"))
    return out.getvalue()


def _frame(sheet: Sheet, box: Box) -> None:
    """The frame's edge, its middle, and tenths along its sides."""
    left, top, right, bottom = box
    sheet.line([(left, top), (right, top), (right, bottom), (left, bottom)], _EDGE, closed=True)
    middle = np.array([(left + right) / 2, (top + bottom) / 2])
    across, down = np.array([3.0, 0.0]), np.array([0.0, 3.0])
    arms = [[middle - across, middle + across], [middle - down, middle + down]]
    sheet.lines(np.array(arms), Pen(colour=FAINT, width=0.25))
    xs, ys = np.linspace(left, right, 11)[1:-1], np.linspace(top, bottom, 11)[1:-1]
    tenths = [[(x, top), (x, top + 1.4)] for x in xs] + [
        [(x, bottom), (x, bottom - 1.4)] for x in xs
    ]
    tenths += [[(left, y), (left + 1.4, y)] for y in ys] + [
        [(right, y), (right - 1.4, y)] for y in ys
    ]
    sheet.lines(np.array(tenths), Pen(colour=SOFT, width=0.18))


def _ways(sheet: Sheet, course: Course, ways: Ways, box: Box, beyond: float = 0.0) -> None:
    """The ways in a frame; words may stand so far beyond its edge."""
    left, top, right, bottom = box
    room = (left - beyond, top - beyond, right + beyond, bottom + beyond)
    labels = Labels(sheet, within=room)
    # Words stand inside the frame or outside, never on its edge.
    for x in (left, right):
        labels.keep_off((x - 0.2, room[1], x + 0.2, room[3]))
    for y in (top, bottom):
        labels.keep_off((room[0], y - 0.2, room[2], y + 0.2))
    scale = (box[2] - box[0]) / course.delivery.width
    drawn = {name: way * scale + np.array(box[:2]) for name, way in ways.items()}
    for way in drawn.values():
        for x, y in way[told_apart(way)].tolist():
            labels.keep_off((x - 0.5, y - 0.5, x + 0.5, y + 0.5))
    pens = {name: _LINES[number % len(_LINES)] for number, name in enumerate(drawn)}
    for name, way in drawn.items():
        with sheet.within(box):
            if len(way) > 1:
                sheet.line(way, pens[name])
        _name(labels, box, name, way, too_near_to_draw(ways[name]), pens[name].colour)
    for name, way in drawn.items():
        _ticks(sheet, labels, box, way, pens[name].colour)
    labels.draw()


def _inside(way: Floats, box: Box) -> Floats:
    left, top, right, bottom = box
    x, y = way.T
    return np.asarray((x >= left) & (x <= right) & (y >= top) & (y <= bottom))


def _name(labels: Labels, box: Box, name: str, way: Floats, near: str, ink: str) -> None:
    """The point's name where its way begins, and what is to be known of it.

    `near` is what is said of a way that is too short to be drawn.
    """
    seen = np.flatnonzero(_inside(way, box))
    type = Type(size=8.0, colour=ink, bold=True)
    if not len(seen):
        _in_the_corner(labels, box, f"{name}: never in frame", type)
        return
    words = name
    if np.ptp(way[seen], axis=0).max() < 0.3 and len(seen) == len(way):
        words = f"{name}: {near}"
    elif len(seen) < len(way):
        words = f"{name}: seen in {_runs((seen + 1).astype(np.int64))}"
    along = directions(way)[seen[0]]
    across = np.array([-along[1], along[0]])
    for reach in (2.5, 5.0, 8.0, 12.0, 16.0):
        for away in (-along, across, -across):
            at = way[seen[0]] + away * reach
            if labels.put((float(at[0]), float(at[1])), words, type, sides=_sides(away)):
                return
    _in_the_corner(labels, box, words, type)


def _in_the_corner(labels: Labels, box: Box, words: str, type: Type) -> None:
    """Words at the frame's top left, under those that stand there already."""
    left, top, _, bottom = box
    for y in np.arange(top + 2, bottom - 6, 2.0).tolist():
        if labels.put((left + 2, y), words, type, sides=("right below",)):
            return
    labels.put((left + 2, top + 2), words, type, sides=("right below",), must=True)


def _sides(away: Floats) -> tuple[str, ...]:
    """The sides of a point on which words point away from the way."""
    across = "right" if away[0] > 0.3 else "left" if away[0] < -0.3 else "mid"
    down = "level" if abs(away[1]) < 0.5 else "below" if away[1] > 0 else "above"
    return f"{across} {down}", f"{across} above", f"{across} below", f"mid {down}"


def _runs(frames: NDArray[np.int64]) -> str:
    from cropmove.checks.finding import frames_text, runs_of

    return frames_text(runs_of(frames))


_NUMBER = Type(size=6.0, colour=INK, halo=0.35)
_NEAREST = 0.8
"""Millimetres between two ticks that are both numbered."""
_BY_THE_EDGE = 2.5
"""Millimetres to the frame's edge, below which a number's width is in the way."""
_REACH = (2.6, 4.9, 7.2, 9.5)
"""How far from the way a number may stand, in millimetres."""


def _ticks(sheet: Sheet, labels: Labels, box: Box, way: Floats, ink: str) -> None:
    inside = _inside(way, box)
    along = directions(way)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    ends = np.stack([way - across * 0.8, way + across * 0.8], axis=1)
    drawn = told_apart(way)
    sheet.lines(ends[drawn][inside[drawn]], Pen(colour=ink, width=0.2, halo=0.12))
    order = np.array(number_order(len(way)))
    order = order[told_apart(way[order])]
    free = inside[order]
    for place, index in enumerate(order.tolist()):
        sides = _beside(way[index], box)
        if free[place] and _numbered(
            sheet, labels, index + 1, way[index], across[index], ink, sides
        ):
            # Where ticks all but touch, a number for each could not be told apart.
            free &= np.hypot(*(way[order] - way[index]).T) >= _NEAREST


def _beside(at: Floats, box: Box) -> tuple[str, ...]:
    """The sides on which a number may stand: by the frame's edge it gives way inward."""
    near = min(at[0] - box[0], at[1] - box[1], box[2] - at[0], box[3] - at[1]) < _BY_THE_EDGE
    return ("mid level", "right level", "left level") if near else ("mid level",)


def _numbered(
    sheet: Sheet,
    labels: Labels,
    frame: int,
    at: Floats,
    across: Floats,
    ink: str,
    sides: tuple[str, ...],
) -> bool:
    """A frame's number beside its tick, further off and with a leader where it is crowded."""
    type = _NUMBER.but(colour=ink, bold=frame % 10 == 0 or frame == 1)
    for reach in _REACH:
        for side in (1.0, -1.0):
            place = at + across * side * reach
            if labels.put(tuple(place), str(frame), type, sides=sides, bare=True):
                if reach > _REACH[0]:
                    line = [at + across * side * 1.0, at + across * side * (reach - 1.5)]
                    sheet.line(np.array(line), _LEADER)
                return True
    return False


def _rule(sheet: Sheet, at: tuple[float, float]) -> None:
    """A hundred millimetres to lay a ruler on."""
    x, y = at
    sheet.line([(x, y), (x + 100, y)], _EDGE)
    ticks = [
        [(x + mm, y), (x + mm, y - (2.4 if mm % 50 == 0 else 1.2))] for mm in range(0, 101, 10)
    ]
    sheet.lines(np.array(ticks, dtype=np.float64), _EDGE)
    for mm in (0, 50, 100):
        sheet.text((x + mm, y - 3.2), f"{mm} mm" if mm else "0", style.SMALL, align="centre")
