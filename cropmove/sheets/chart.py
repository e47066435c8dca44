"""The chart: how fast and how close the move is, frame by frame, and what the checks say of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from cropmove.checks.finding import Finding, Level
from cropmove.geometry import Floats, first_highest
from cropmove.move.course import Course
from cropmove.move.key import Leg
from cropmove.sheets import style
from cropmove.sheets.sheet import Pen, Sheet, text_width
from cropmove.sheets.style import FAINT, INK, MARGIN, PALE, RUST, SOFT, TEAL, Box
from cropmove.shot import Shot

__all__ = ["Limit", "Phase", "chart", "nice_steps", "phases"]

_LEFT, _RIGHT = 17.0, 38.0
"""Millimetres beside the panels, for numbers and for words; more on the left for long numbers."""
_NAMES = 11.0
"""Millimetres of these for the words on the left."""

STEP = Pen(colour=INK, width=0.45)
SCALE = Pen(colour=TEAL, width=0.55)
LIMIT = Pen(colour=RUST, width=0.35, dash=(2.0, 1.0))
UPRIGHT = Pen(colour=FAINT, width=0.18, dash=(0.6, 0.6))
PASSED = Pen(colour=TEAL, width=0.25, dash=(2.2, 1.1))
GRID = Pen(colour=FAINT, width=0.14)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A line that the step should stay under, and its name."""

    value: float
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """What the camera does between two frames: hold, ease in, cruise, ease out, or a whole ease."""

    name: str
    first: int
    last: int
    kind: str


def phases(shot: Shot, course: Course) -> tuple[Phase, ...]:
    """What the camera does from the first frame to the last, in order.

    Examples
    --------
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> from cropmove.shot import Delivery
    >>> wide, tight = Framing(x=3000, y=2000, width=6000), Framing(x=3000, y=2000, width=3000)
    >>> keys = (Key(frame=5, framing=wide), Key(frame=49, framing=tight, ease_in=8, ease_out=14))
    >>> shot = Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=keys)
    >>> [(phase.name, phase.first, phase.last) for phase in phases(shot, shot.course())]
    [('hold', 1, 5), ('ease in 8', 5, 13), ('cruise', 13, 35), ('ease out 14', 35, 49)]
    """
    found: list[Phase] = []
    legs, length = shot.move.legs, len(course)
    begin, end = (legs[0].start.frame, legs[-1].end.frame) if legs else (length, length)
    if begin > 1:
        found.append(Phase(name="hold", first=1, last=begin, kind="hold"))
    for leg in legs:
        found += _phases_of(leg)
    if end < length:
        found.append(Phase(name="hold", first=end, last=length, kind="hold"))
    # A shot may end before its move does.
    cut = (replace(phase, last=min(phase.last, length)) for phase in found)
    return tuple(phase for phase in cut if phase.first < phase.last)


def _phases_of(leg: Leg) -> list[Phase]:
    begin, end = leg.start.frame, leg.end.frame
    if leg.is_hold:
        return [Phase(name="hold", first=begin, last=end, kind="hold")]
    if leg.ease.curve is not None:
        return [Phase(name=leg.ease.name, first=begin, last=end, kind="ease")]
    ease_in, ease_out = leg.ease_lengths
    parts = [
        Phase(name=f"ease in {ease_in}", first=begin, last=begin + ease_in, kind="ease"),
        Phase(name="cruise", first=begin + ease_in, last=end - ease_out, kind="cruise"),
        Phase(name=f"ease out {ease_out}", first=end - ease_out, last=end, kind="ease"),
    ]
    return [part for part in parts if part.first < part.last]


def nice_steps(most: float, about: int = 4) -> Floats:
    """Round numbers from 0 that cover a range with about so many intervals.

    Examples
    --------
    >>> nice_steps(7.3).tolist(), nice_steps(0.99).tolist()
    ([0.0, 2.0, 4.0, 6.0, 8.0], [0.0, 0.25, 0.5, 0.75, 1.0])
    """
    raw = max(most, 1e-9) / about
    ten = 10.0 ** np.floor(np.log10(raw))
    step = next(ten * m for m in (1, 2, 2.5, 5, 10) if ten * m >= raw * (1 - 1e-9))
    return np.asarray(np.arange(0, np.ceil(most / step - 1e-9) + 1) * step)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Panel:
    box: Box
    frames: tuple[float, float]
    top: float

    def x(self, frame: ArrayLike) -> Floats:
        left, _, right, _ = self.box
        first, last = self.frames
        return left + (np.asarray(frame, dtype=np.float64) - first) / (last - first) * (
            right - left
        )

    def y(self, value: ArrayLike) -> Floats:
        _, top, _, bottom = self.box
        return bottom - np.asarray(value, dtype=np.float64) / self.top * (bottom - top)


def chart(
    shot: Shot,
    course: Course,
    findings: Sequence[Finding],
    limits: Iterable[Limit],
    paper: tuple[float, float],
) -> Sheet:
    """The sheet.

    Parameters
    ----------
    shot, course : Shot, Course
    findings : sequence of Finding
    limits : iterable of Limit
        For the step, in delivered pixels.
    paper : (width, height)
        Millimetres.
    """
    sheet = style.begin(shot, "chart", paper)
    held = tuple(limits)
    step, scale, pins_top = _panels(shot, course, held, len(_pinned(findings)), paper)
    _phase_band(sheet, step, scale, phases(shot, course), style.HEAD + 1)
    _passed_keys(sheet, (step, scale), shot, len(course), style.HEAD + 1)
    _step_panel(sheet, step, course, held)
    _scale_panel(sheet, scale, shot, course)
    _frame_axis(sheet, scale, course)
    _pin_rows(sheet, scale, _pinned(findings), pins_top)
    _last_line(sheet, findings, paper)
    return sheet


def _panels(
    shot: Shot, course: Course, limits: Sequence[Limit], pins: int, paper: tuple[float, float]
) -> tuple[_Panel, _Panel, float]:
    """Where the step and the scale are drawn, and where the findings begin."""
    right = paper[0] - MARGIN - _RIGHT
    frames = (0.5, len(course) + 0.5)
    top, foot = style.HEAD + 9, paper[1] - MARGIN - 6
    pins_top = foot - _ROW * pins - 1
    axis = pins_top - (10 if pins else 8)
    middle = top + (axis - top) * 0.58
    most = max([float(course.step.max()), *(limit.value for limit in _near(limits, course))])
    tallest = max(float(course.scale.max()), shot.delivery.max_scale)
    left = MARGIN + max(_LEFT, _NAMES + 2.5 + max(map(_levels_width, (most, tallest))))
    step = _scaled((left, top, right, middle - 4), frames, most)
    return step, _scaled((left, middle + 4, right, axis), frames, tallest), pins_top


def _last_line(sheet: Sheet, findings: Sequence[Finding], paper: tuple[float, float]) -> None:
    """What is not pinned to frames, or has no room left there."""
    whole = [finding for finding in findings if not finding.frames]
    pinned = _pinned(findings)
    more = [finding for finding in findings if finding.frames and finding not in pinned]
    parts = [
        f"{about}: " + ", ".join(f"{finding.level}: {finding.id}" for finding in told)
        for about, told in (("about the whole shot", whole), ("about some frames too", more))
        if told
    ]
    text = " · ".join(parts) if findings else "the checks find nothing to mend"
    room = paper[0] - 2 * MARGIN
    text, type = style.fit_words(text, style.QUIET, room, least=style.SMALL.size)
    sheet.text((MARGIN, paper[1] - MARGIN), text, type)


def _near(limits: Iterable[Limit], course: Course) -> list[Limit]:
    """The limits that belong in the picture: one far above every step would flatten the curve."""
    most = float(course.step.max())
    return [limit for limit in limits if limit.value <= 2.5 * most or limit.value <= 1]


def _scaled(box: Box, frames: tuple[float, float], most: float) -> _Panel:
    return _Panel(box=box, frames=frames, top=_top(most))


def _levels(top: float) -> list[float]:
    """Where a panel's lines lie."""
    return [value for value in nice_steps(top).tolist() if value <= top]


def _levels_width(most: float) -> float:
    """Millimetres that the numbers of a panel take."""
    return max(text_width(f"{value:g}", style.SMALL) for value in _levels(_top(most)))


def _top(most: float) -> float:
    return most * 1.1 if most else 1.0


def _phase_band(
    sheet: Sheet, step: _Panel, scale: _Panel, found: Sequence[Phase], top: float
) -> None:
    """What the camera does, along the top; hatched where it gathers or loses speed."""
    bottom = top + 4.6
    for phase in found:
        left, right = float(step.x(phase.first)), float(step.x(phase.last))
        box = (left, top, right, bottom)
        if phase.kind == "ease":
            sheet.box(box, FAINT, hatch=1.1)
        elif phase.kind == "cruise":
            sheet.box(box, PALE)
        outline = [(left, top), (right, top), (right, bottom), (left, bottom)]
        sheet.line(outline, Pen(colour=SOFT, width=0.18), closed=True)
        name, width = phase.name, right - left
        if text_width(name, style.SMALL) + 2 > width:
            name = name.split()[-1] if name.startswith("ease") else ""
        if text_width(name, style.SMALL) + 1.5 < width:
            label = style.SMALL.but(colour=INK, halo=0.5 if phase.kind == "ease" else 0.0)
            sheet.text(((left + right) / 2, bottom - 1.45), name, label, align="centre")
        for panel in (step, scale):
            for x in (left, right):
                sheet.line([(x, panel.box[1]), (x, panel.box[3])], UPRIGHT)


def _passed_keys(
    sheet: Sheet, panels: Sequence[_Panel], shot: Shot, frames: int, top: float
) -> None:
    """Keys on the way, where the camera does not stop; a shot may end before them.

    Where they stand close, a number has to do, or the line alone.
    """
    label, free = style.SMALL.but(colour=TEAL), MARGIN
    for key in shot.keys:
        if key.stop or key.frame > frames:
            continue
        x = float(panels[0].x(key.frame))
        for panel in panels:
            sheet.line([(x, panel.box[1]), (x, panel.box[3])], PASSED)
        for words in (f"key passed, {key.frame}", f"{key.frame}"):
            half = text_width(words, label) / 2
            if x - half >= free:
                sheet.text((x, top - 0.9), words, label, align="centre")
                free = x + half + 1.2
                break


def _step_panel(sheet: Sheet, panel: _Panel, course: Course, limits: Sequence[Limit]) -> None:
    _grid(sheet, panel, "step", "delivered px a frame")
    x, y = panel.x(course.frame - 0.5), panel.y(course.step)
    ground = panel.box[3]
    if len(course) > 1:
        stairs = np.repeat(np.stack([x, y], axis=1), 2, axis=0)
        stairs[0::2, 0], stairs[1::2, 0] = panel.x(course.frame - 1), panel.x(course.frame)
        stairs = stairs[2:]  # no step leads to the first frame
        around = [(stairs[0, 0], ground), *stairs.tolist(), (stairs[-1, 0], ground)]
        sheet.area(np.array(around), PALE)
        sheet.line(stairs, STEP)
    near = _near(limits, course)
    for limit in near:
        level = float(panel.y(limit.value))
        sheet.line([(panel.box[0], level), (panel.box[2], level)], LIMIT)
    words = [
        (float(panel.y(limit.value)), RUST, [limit.name, f"{limit.value:.2f} px"]) for limit in near
    ]
    words += [
        (panel.box[1], RUST, [limit.name, f"{limit.value:.2f} px, far above"])
        for limit in limits
        if limit not in near
    ]
    _beside(sheet, panel, [_peak(panel, course), *words])


Beside = tuple[float, str, list[str]]
"""Words in the margin on the right: the height they speak of, their ink, their lines."""


def _peak(panel: _Panel, course: Course) -> Beside:
    if not course.step.any():
        return panel.box[3], INK, ["no step", "the camera stays"]
    peak = first_highest(course.step)
    most = float(course.step[peak])
    share = f"{_told(100 * most / course.delivery.width)} % of the width"
    return float(panel.y(most)), INK, [f"peak {_told(most)} px", f"into frame {peak + 1}", share]


def _told(value: float) -> str:
    """Two digits after the point; of what is smaller, the first that counts and one more.

    Examples
    --------
    >>> _told(17.5612), _told(0.0149), _told(0.00078)
    ('17.56', '0.015', '0.00078')
    """
    digits = 2 if value >= 0.1 else min(9, 1 - int(np.floor(np.log10(value))))
    return f"{value:.{digits}f}"


def _scale_panel(sheet: Sheet, panel: _Panel, shot: Shot, course: Course) -> None:
    _grid(sheet, panel, "scale", "delivered px for a still px")
    limit = shot.delivery.max_scale
    level = float(panel.y(limit))
    sheet.line([(panel.box[0], level), (panel.box[2], level)], LIMIT)
    points = np.stack([panel.x(course.frame), panel.y(course.scale)], axis=1)
    if len(points) == 1:
        points = np.array([(panel.box[0], points[0, 1]), (panel.box[2], points[0, 1])])
    sheet.line(points, SCALE)
    first, last = float(course.scale[0]), float(course.scale[-1])
    native = " (native)" if limit == 1 else ""
    _beside(
        sheet,
        panel,
        [
            (float(panel.y(last)), TEAL, [f"{last:.3f}"]),
            (level, RUST, [f"most allowed {limit:g}{native}"]),
        ],
    )
    if abs(first - last) > 1e-9:
        y = float(panel.y(first))
        struck = y - 4.4 < level < y
        at = (float(panel.x(1)), y + 3.4 if struck else y - 1.4)
        sheet.text(at, f"{first:.3f}", style.STRONG.but(colour=TEAL, halo=0.5))


def _beside(sheet: Sheet, panel: _Panel, notes: Sequence[Beside]) -> None:
    """Notes in the margin, each as near to its height as those above and below it let it stand."""
    ordered = sorted(notes)
    heights = np.array([3.3 * len(lines) + 1.2 for _, _, lines in ordered])
    wanted = np.array([y + 1 for y, _, _ in ordered])
    for at, (_, colour, lines) in zip(
        _apart(wanted, heights, panel.box[1] - 10), ordered, strict=True
    ):
        for number, line in enumerate(lines):
            type = style.STRONG.but(colour=colour) if not number else style.SMALL
            sheet.text((panel.box[2] + 2, at + 3.3 * number), line, type)


def _apart(wanted: Floats, heights: Floats, lowest: float) -> list[float]:
    """Places nearest to those wanted, by least squares, at which nothing lies on another.

    Less what stands above them the places only have to rise: that is isotonic regression.

    Examples
    --------
    >>> _apart(np.array([10.0, 12, 40]), np.array([6.0, 6, 6]), 0.0)
    [8.0, 14.0, 40.0]
    """
    from scipy.optimize import isotonic_regression

    above = np.concatenate([[0.0], np.cumsum(heights)[:-1]])
    places = np.maximum(isotonic_regression(wanted - above).x, lowest) + above
    return [float(place) for place in places]


def _grid(sheet: Sheet, panel: _Panel, name: str, unit: str) -> None:
    left, top, right, _ = panel.box
    sheet.text((MARGIN, top + 2.0), name, style.STRONG)
    for number, line in enumerate(style.wrapped(unit, style.SMALL, _NAMES)):
        sheet.text((MARGIN, top + 5.4 + 2.9 * number), line, style.SMALL)
    for value in _levels(panel.top):
        y = float(panel.y(value))
        sheet.line([(left, y), (right, y)], GRID if value else Pen(colour=SOFT, width=0.25))
        sheet.text((left - 1.5, y + 0.8), f"{value:g}", style.SMALL, align="right")


def _frame_axis(sheet: Sheet, panel: _Panel, course: Course) -> None:
    """Frames along the bottom, a tick each while they can be told apart, and seconds under them."""
    left, _, right, bottom = panel.box
    spacing = (right - left) / len(course)
    major = next(s for s in _MAJORS if s * spacing >= 9)
    minor = next(s for s in _MAJORS if s * spacing >= 0.7)
    for every, length in ((minor, 0.9), (major, 1.7)):
        x = panel.x(np.array(_marked(len(course), every), dtype=np.float64))
        ticks = [[(tick, bottom), (tick, bottom + length)] for tick in x]
        sheet.lines(ticks, Pen(colour=SOFT, width=0.2))
    for frame in _marked(len(course), major):
        at = float(panel.x(frame))
        sheet.text((at, bottom + 4.2), str(frame), style.SMALL.but(colour=INK), align="centre")
        seconds = f"{course.seconds[frame - 1]:.2f}"
        sheet.text((at, bottom + 7.1), seconds, style.SMALL, align="centre")
    sheet.text((MARGIN, bottom + 4.2), "frame", style.STRONG)
    sheet.text((MARGIN, bottom + 7.1), "seconds", style.SMALL)


_MAJORS = tuple(
    step * 10**power for power in range(6) for step in (1, 2, 5)
)  # fmt: skip


def _marked(length: int, every: int) -> list[int]:
    """The first frame, the last, and every n-th whose number does not come too near to theirs.

    Examples
    --------
    >>> _marked(48, 10), _marked(53, 10), _marked(1, 10)
    ([1, 10, 20, 30, 40, 48], [1, 10, 20, 30, 40, 53], [1])
    """
    inner = (f for f in range(every, length, every) if (f - 1) * 2 >= every)
    return sorted({1, *(f for f in inner if (length - f) * 5 >= every * 4), length})


_PIN = {Level.FAULT: (RUST, 2.6), Level.CAUTION: (INK, 1.6), Level.NOTE: (SOFT, 0.8)}
"""How a finding's frames are marked: the graver, the thicker."""
_ROW = 5.2


_MOST_PINS = 8


def _pinned(findings: Sequence[Finding]) -> list[Finding]:
    """Findings about some of the frames, the gravest first, as many as there is room for."""
    return [finding for finding in findings if finding.frames][:_MOST_PINS]


_SEEN = 0.8
"""Millimetres: a pin is that wide at the least, however short its frames are in a long shot."""


def _seen(begin: float, end: float, panel: _Panel) -> tuple[float, float]:
    """A pin's ends, far enough from each other to be seen, and within the panel."""
    wide = max(end - begin, _SEEN)
    left = min(max((begin + end - wide) / 2, panel.box[0]), panel.box[2] - wide)
    return left, left + wide


def _pin_rows(sheet: Sheet, panel: _Panel, pins: Sequence[Finding], top: float) -> None:
    """A row a finding: its frames under the axis, its name on the left, its number on the right."""
    for number, finding in enumerate(pins):
        y = top + _ROW * number + 2.6
        colour, thick = _PIN[finding.level]
        left, _, right, _ = panel.box
        sheet.line([(left, y), (right, y)], GRID)
        for first, last in finding.frames:
            begin, end = _seen(float(panel.x(first - 0.5)), float(panel.x(last + 0.5)), panel)
            sheet.line([(begin, y), (end, y)], Pen(colour=colour, width=thick))
        sheet.text((MARGIN, y + 0.9), str(finding.level), style.SMALL.but(colour=colour))
        sheet.text((right + 2, y + 0.9), finding.id, style.STRONG.but(colour=colour, size=7.0))
