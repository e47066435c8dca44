"""The overview: the still with the framings that the move shows of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import Floats, Size, corner_offsets
from cropmove.move.course import Course
from cropmove.sheets import style
from cropmove.sheets.labels import Labels
from cropmove.sheets.sheet import POINT, Pen, Sheet, Type
from cropmove.sheets.style import INK, MARGIN, RUST, TEAL, Box
from cropmove.sheets.ways import tick_numbers, ticks_along, told_apart, too_near_to_draw
from cropmove.shot import Shot

__all__ = ["even_stride", "overview"]

FIRST = Pen(colour=INK, width=0.45, halo=0.3)
LAST = Pen(colour=RUST, width=0.95, halo=0.3)
KEY = Pen(colour=TEAL, width=0.45, dash=(2.2, 1.1), halo=0.3)
BETWEEN = Pen(colour=INK, width=0.3, dash=(0.3, 0.9), halo=0.1)
CLOSEST = Pen(colour=RUST, width=0.35, dash=(3.0, 0.8, 0.5, 0.8), halo=0.25)
WAY = Pen(colour=INK, width=0.3, halo=0.75)
TICK = Pen(colour=INK, width=0.2)
ACTION = Pen(colour=INK, width=0.22, halo=0.2)
SUBJECT = Pen(colour=TEAL, width=0.35, halo=0.3)
SUBJECT_WAY = Pen(colour=TEAL, width=0.3, dash=(0.9, 0.9), halo=0.25)
TITLED = Pen(colour=INK, width=0.22, dash=(0.8, 0.5), halo=0.2)

_LEGEND = 46.0
"""Millimetres for the column of explanations."""
_TICK = 1.1


@dataclass(frozen=True, slots=True)
class View:
    """Pixels of the still to millimetres on the sheet."""

    place: Floats
    origin: Floats
    scale: float

    def at(self, points: Floats) -> Floats:
        """Where points of the still, (..., 2), are drawn."""
        return (np.asarray(points, dtype=np.float64) - self.origin) * self.scale + self.place


def overview(
    shot: Shot, course: Course, picture: NDArray[np.uint8], paper: tuple[float, float]
) -> Sheet:
    """The sheet, from a picture of the whole still (h, w, 3), whatever its size.

    Framings that leave the still are drawn where they are, beyond its edge.
    """
    still = shot.stills.size or Size(picture.shape[1], picture.shape[0])
    sheet = style.begin(shot, "overview", paper)
    room = (MARGIN, style.HEAD, paper[0] - MARGIN - _LEGEND - 7, paper[1] - MARGIN)
    view, box = _view(course, still, room)
    (left, top), (right, bottom) = view.at(np.array([(0.0, 0.0), (still.width, still.height)]))
    sheet.picture(_paled(picture), (left, top, right, bottom))
    labels = Labels(sheet, within=box)
    stride = even_stride(len(course))
    between = _between(sheet, view, course, stride)
    closest = _closest(sheet, view, shot, course, labels)
    safe = _safe(sheet, view, shot, course)
    stops = _stops(sheet, view, shot, course, labels)
    way = _way(sheet, view, course, labels)
    subjects = _subjects(sheet, view, shot, course, labels)
    entries = [*stops, between, way, *subjects, *safe, closest]
    labels.draw()
    _explain(sheet, course, [entry for entry in entries if entry])
    return sheet


def even_stride(length: int, most: int = 8) -> int:
    """Every how manieth frame is drawn, so that there are not too many: 1, 2, 3, 4, 6, 8, 12 ...

    Examples
    --------
    >>> even_stride(48), even_stride(480), even_stride(5)
    (6, 60, 1)
    """
    strides = [step * times for times in (1, 10, 100, 1000, 10_000, 100_000) for step in _STEPS]
    return next(stride for stride in sorted(strides) if length / stride <= most)


_STEPS = (1, 2, 3, 4, 6, 8, 12)


def _paled(picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """A picture with less contrast and colour, so that what is drawn on it stands out."""
    values = picture.astype(np.float32)
    grey = values @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    muted = values * 0.55 + grey[..., None] * 0.45
    return np.asarray(np.clip(muted * 0.66 + 84, 0, 255), np.uint8)


def _view(course: Course, still: Size, room: Box) -> tuple[View, Box]:
    """The still as large as the room allows, with all that lies beyond it."""
    corners = course.corners().reshape(-1, 2)
    near = np.minimum(corners.min(axis=0), 0.0)
    far = np.maximum(corners.max(axis=0), [still.width, still.height])
    # A framing miles away would make the still too small to see: a still's size beyond is enough.
    size = np.array([still.width, still.height], dtype=np.float64)
    near, far = np.maximum(near, -size), np.minimum(far, 2 * size)
    across, down = (far - near).tolist()
    box = style.fitted(across, down, room)
    scale = (box[2] - box[0]) / float(far[0] - near[0])
    return View(np.array(box[:2]), near, scale), box


Entry = tuple[Pen, str]
"""A line of the explanations: how it is drawn, and what it is."""


def _between(sheet: Sheet, view: View, course: Course, stride: int) -> Entry | None:
    frames = range(1 + stride, len(course), stride)
    for frame in frames:
        sheet.line(view.at(course[frame].corners(course.delivery)), BETWEEN, closed=True)
    if not len(frames) or not course.step.any():
        return None
    return BETWEEN, f"every {_nth(stride)} frame" if stride > 1 else "every frame"


def _nth(number: int) -> str:
    """An ordinal for people.

    Examples
    --------
    >>> _nth(2), _nth(3), _nth(12), _nth(23)
    ('2nd', '3rd', '12th', '23rd')
    """
    teens = number % 100 in (11, 12, 13)
    ending = "th" if teens else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def _closest(sheet: Sheet, view: View, shot: Shot, course: Course, labels: Labels) -> Entry | None:
    width = course.delivery.width / shot.delivery.max_scale
    tightest = course[int(np.argmin(course.width)) + 1]
    corners = view.at(replace(tightest, width=width).corners(course.delivery))
    sheet.line(corners, CLOSEST, closed=True)
    bottom = corners[np.lexsort((corners[:, 0], -corners[:, 1]))[0]]
    text = f"closest allowed, {width:.5g} px"
    labels.put(tuple(bottom), text, style.SMALL.but(colour=RUST), sides=("right above",))
    return CLOSEST, f"closest framing allowed, {width:.5g} px wide: scale " + (
        f"{shot.delivery.max_scale:g}"
    )


def _safe(sheet: Sheet, view: View, shot: Shot, course: Course) -> list[Entry]:
    """The safe areas of the last framing."""
    limits, entries = shot.limits, []
    for name, share, pen in (
        ("action", limits.action_safe, ACTION),
        ("title", limits.title_safe, TITLED),
    ):
        area = corner_offsets(course.delivery.shape) * share / 100
        sheet.line(view.at(course[len(course)].to_still(area)), pen, closed=True)
        entries.append((pen, f"{name} safe, {share:g} % of the last framing"))
    return entries


def _subjects(sheet: Sheet, view: View, shot: Shot, course: Course, labels: Labels) -> list[Entry]:
    """Each subject's way, with its box at both ends."""
    for subject in shot.subjects:
        rows = subject.shown(len(course), shot.on)
        boxes = view.at(subject.boxes(len(course), shot.on))
        way = view.at(rows[:, :2])
        walks = np.ptp(way, axis=0).max() > 0.5
        if walks:
            sheet.line(way, SUBJECT_WAY)
        changes = walks or np.ptp(boxes, axis=0).max() > 0.5
        label = style.SMALL.but(colour=TEAL, bold=True)
        for frame in (1, len(course)) if changes else (1,):
            box = boxes[frame - 1]
            if np.ptp(box, axis=0).min() > 0.1:
                sheet.line(_rounded(box), SUBJECT, closed=True)
            sheet.dot(tuple(way[frame - 1]), 1.6, "#ffffff", ring=TEAL)
            words = f"{subject.name}, frame {frame}" if changes else subject.name
            foot = tuple(box[3] + np.array([0.0, 0.6]))
            labels.put(foot, words, label, sides=("right below", "right above", "left below"))
    return [(SUBJECT, "subject, at the first and the last frame")] if shot.subjects else []


def _rounded(box: Floats, most: float = 2.5) -> Floats:
    """A box with round corners, so that it is no framing even where colour is not seen."""
    before, after = (np.roll(box, by, axis=0) - box for by in (1, -1))
    shorter = min(np.hypot(*before.T).min(), np.hypot(*after.T).min())
    share = min(most, shorter / 3) / np.stack([np.hypot(*before.T), np.hypot(*after.T)])
    # A quadratic Bézier curve about each corner.
    t = np.linspace(0, 1, 7)[:, None, None]
    curve = box + (1 - t) ** 2 * before * share[0, :, None] + t**2 * after * share[1, :, None]
    return np.asarray(curve.transpose(1, 0, 2).reshape(-1, 2))


def _stops(sheet: Sheet, view: View, shot: Shot, course: Course, labels: Labels) -> list[Entry]:
    last, moves = len(course), bool(course.step.any())
    told = "first framing, frame 1" if moves else "framing of all frames"
    entries: list[Entry] = [(FIRST, told)]
    keys = [key for key in shot.keys if moves and 1 < key.frame < last]
    for key in keys:
        _framed(sheet, view, course, key.frame, KEY)
    if moves:
        _framed(sheet, view, course, last, LAST)
    _framed(sheet, view, course, 1, FIRST)
    strong = style.STRONG
    if moves:
        _tab(view, course, last, f"{last}  last", strong.but(colour=RUST), labels, must=True)
    _tab(view, course, 1, "1  first" if moves else "all frames", strong, labels, must=True)
    for key in keys:
        text = f"{key.frame}  key" if key.stop else f"{key.frame}  key, passed"
        _tab(view, course, key.frame, text, strong.but(colour=TEAL), labels)
    if keys:
        entries.append((KEY, "key framing"))
    if moves:
        entries.append((LAST, f"last framing, frame {last}"))
    return entries


def _framed(sheet: Sheet, view: View, course: Course, frame: int, pen: Pen) -> None:
    sheet.line(view.at(course[frame].corners(course.delivery)), pen, closed=True)


def _tab(
    view: View,
    course: Course,
    frame: int,
    text: str,
    type: Type,
    labels: Labels,
    *,
    must: bool = False,
) -> None:
    """What a framing is called, in a corner of it; nothing in a crowd, unless it `must`."""
    corners = view.at(course[frame].corners(course.delivery))
    sides = ("right below", "left below", "right above", "left above")
    for corner, side in zip(corners, sides, strict=True):
        inward = 0.9 if side.startswith("right") else -0.9
        down = 0.9 if side.endswith("below") else -0.9
        if labels.put((corner[0] + inward, corner[1] + down), text, type, sides=(side,)):
            return
    if must:
        labels.put(tuple(corners[0]), text, type, sides=("right below",), must=True)


def _way(sheet: Sheet, view: View, course: Course, labels: Labels) -> Entry | None:
    centres = view.at(course.rows[:, :2])
    if np.ptp(centres, axis=0).max() < 0.5:
        sheet.lines(_cross(centres[0]), WAY)
        told = too_near_to_draw(course.rows[:, :2])
        return (WAY, f"centre of the framings: {told}") if course.step.any() else None
    sheet.line(centres, WAY)
    sheet.lines(ticks_along(centres, _TICK)[told_apart(centres)], TICK)
    small = style.SMALL.but(colour=INK)
    for index in tick_numbers(centres, gap=7.0):
        labels.put(
            tuple(centres[index] + [0.0, 1.4]), str(index + 1), small,
            sides=("mid below", "right level", "left level"),
        )  # fmt: skip
    return WAY, "way of the centre, a tick a frame"


def _cross(at: Floats) -> list[list[Floats]]:
    across, down = np.array([1.5, 0.0]), np.array([0.0, 1.5])
    return [[at - across, at + across], [at - down, at + down]]


def _explain(sheet: Sheet, course: Course, entries: list[Entry]) -> None:
    """The column on the right: what each line is, and the numbers of both ends."""
    left = sheet.width - MARGIN - _LEGEND
    y = style.HEAD + 2.2
    for pen, text in entries:
        sample = np.array([(left, y - 0.9), (left + 9, y - 0.9)])
        if pen is SUBJECT:
            (x, y0), (x1, _) = sample
            box = np.array([(x, y0 - 1.2), (x1, y0 - 1.2), (x1, y0 + 1.6), (x, y0 + 1.6)])
            sheet.line(_rounded(box, 1.0), pen, closed=True)
        else:
            sheet.line(sample, pen)
        if pen is WAY:
            sheet.lines(ticks_along(np.linspace(sample[0], sample[1], 9), _TICK), TICK)
        for line in style.wrapped(text, style.QUIET, _LEGEND - 12):
            sheet.text((left + 12, y), line, style.QUIET)
            y += 3.5
        y += 1.7
    y += 5
    moves = bool(course.step.any())
    ends = [("first framing", 1), ("last framing", len(course))] if moves else [("framing", 1)]
    for name, frame in ends:
        y = _numbers(sheet, course, name, frame, left, y) + 4.5


def _numbers(sheet: Sheet, course: Course, name: str, frame: int, left: float, y: float) -> float:
    framing = course[frame]
    sheet.text((left, y), name, style.STRONG)
    rows = [
        ("centre", f"{framing.x:.1f}, {framing.y:.1f}"),
        ("width", f"{framing.width:.1f} px"),
        ("scale", f"{framing.scale(course.delivery):.3f}"),
    ]
    if course.roll.any():
        rows.append(("roll", f"{framing.roll:.2f}°"))
    for label, value in rows:
        y += 4.1
        sheet.text((left, y), label, style.QUIET)
        sheet.text((left + 14, y), value, style.BODY)
    return y + POINT * 7.5
