"""Tapes: a tick for every still at its true place, straight for a rule, bent for an arc or a rim.

A tape shows the exact places, not the rounded readings. It is cut along its edge, where the pointer
runs; where it is longer than the paper, pieces are laid cross on cross.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import acos, asin, cos, floor, pi, radians, sin
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import called, complain
from cropmove.geometry import Floats
from cropmove.rig.marks import Marks
from cropmove.rig.measures import MM_PER_INCH, inches_text, number_text
from cropmove.sheets.fit import fit
from cropmove.sheets.paper import Page, Paper, Point, bold_width, text_width

__all__ = ["Label", "Piece", "along_of", "labels_for", "passes_of", "pieces_of", "tape"]

MARGIN = 12.0
"""Millimetres that no printer need reach."""
HEAD, FOOT = 21.0, 20.0
"""Millimetres above and below the strips."""
OVERLAP = 5.0
"""Millimetres that a piece goes on beyond its joint, so that it can be checked on its neighbour."""
SPARE = 8.0
"""Millimetres of a strip before the first mark and after the last."""
TALL = 39.0
"""Millimetres from one straight strip to the next."""

# How deep the parts of a strip lie, in millimetres from its edge.
_TICK, _LONG_TICK, _NUMBER, _BAND, _RULE, _CROSS = 6.0, 8.0, 14.5, (18.5, 23.0), 25.5, 32.5
_DEEP = 37.0
_NAME_ROOM = 20.0
"""Millimetres that a name on a strip has at the least, or it is left out."""
_CROSS_REACH = 4.5
"""Millimetres from the middle of a cross to the foot of its name."""
_SIZES = (14.0, 12.0, 10.5, 9.0)
"""Points of a number: the first that fits."""
_FACES = {
    "pan": ("upwards", "downwards"),
    "tilt": ("to the left", "to the right"),
    "roll": ("backwards", "forwards"),
}
"""Which way the axis of a motion goes as one looks along it from `hand_of`'s side, and back."""

_GAP, _ASTRAY, _ENDS_ASTRAY = 1.1, 8.0, 14.0
"""Millimetres between numbers; from a number to its tick at the most; and for the two ends."""


class Lay(Protocol):
    """How a strip lies on the page."""

    def point(self, along: float, deep: float) -> Point:
        """Where a place on the tape is on the page."""
        ...

    def turned(self, along: float) -> float:
        """Degrees, clockwise, that what stands there is turned."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Flat:
    """A straight strip: its edge on top, `start` at (left, top)."""

    left: float
    top: float
    start: float

    def point(self, along: float, deep: float) -> Point:
        """Where a place on the tape is on the page."""
        return self.left + along - self.start, self.top + deep

    def turned(self, along: float) -> float:
        """Never."""
        return 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bent:
    """A strip bent round a point below: its edge is the arc, and it lies outside it.

    Its numbers grow clockwise, or anticlockwise where `hand` is -1: a bent strip fits one way only.
    """

    across: float
    down: float
    radius: float
    middle: float
    hand: int = 1

    def point(self, along: float, deep: float) -> Point:
        """Where a place on the tape is on the page."""
        turn, out = radians(self.turned(along)), self.radius + deep
        return self.across + out * sin(turn), self.down - out * cos(turn)

    def turned(self, along: float) -> float:
        """As the arc is there."""
        return self.hand * (along - self.middle) / self.radius * 180 / pi


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A strip of a tape on one page.

    Parameters
    ----------
    number, of : int
        Which of how many that are joined, from 1.
    stills : (first, last)
        Whose ticks it may hold: those of one way of the thing.
    page : int
        From 1.
    start, end : float
        What it covers, in millimetres along the edge, without what overlaps.
    lay : Lay
    """

    number: int
    of: int
    stills: tuple[int, int]
    page: int
    start: float
    end: float
    lay: Lay

    @property
    def covers(self) -> tuple[float, float]:
        """From where to where it is drawn: beyond a joint it goes on a little."""
        before = OVERLAP if self.number > 1 else 0.0
        after = OVERLAP if self.number < self.of else 0.0
        return self.start - before, self.end + after

    @property
    def joints(self) -> list[tuple[float, str]]:
        """Where its joints are, and what they are called: A is laid on A."""
        found = []
        if self.number > 1:
            found.append((self.start, _letter(self.number - 1)))
        if self.number < self.of:
            found.append((self.end, _letter(self.number)))
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A number beside a tape: its text, the tick it belongs to and where it stands, along it."""

    text: str
    tick: float
    at: float


def along_of(marks: Marks) -> Floats:
    """Where each still's tick is, in millimetres along the edge.

    Raises
    ------
    InputError
        For a thing whose places are no lengths.
    """
    scale = marks.rig.scale
    if scale.kind == "arc":
        return marks.exact
    if marks.rig.motion.angular:
        rule = f'"{marks.name}" turns, and no radius is given to mark it on'
        raise complain(
            called("tape"), "", rule, "add radius = 400, in mm from the pivot to the pointer"
        )
    return marks.place


def passes_of(along: Floats) -> list[tuple[int, int]]:
    """Runs of stills in which a thing goes one way, as (first, last) from 1; one at the least.

    Examples
    --------
    >>> import numpy as np
    >>> passes_of(np.array([0.0, 5, 9, 9, 4, 0]))
    [(1, 4), (4, 6)]
    """
    ways = np.sign(np.where(abs(np.diff(along)) < 1e-9, 0, np.diff(along)))
    found, first, way = [], 1, 0.0
    for still, goes in enumerate(ways.tolist(), start=1):
        if goes and way and goes != way:
            found.append((first, still))
            first = still
        way = goes or way
    return [*found, (first, len(along))]


def hand_of(marks: Marks) -> int:
    """Whether places on a thing's arc grow clockwise about the pivot, 1, or anticlockwise, -1.

    That is as seen from above, a tilt from the camera's left, and a roll from behind. A camera that
    goes to the right round its subject goes anticlockwise.
    """
    way = -1 if marks.rig.motion.way == "arc" else 1
    return -way if marks.rig.reverse else way


def pieces_of(
    along: Floats, paper: Paper, radius: float | None = None, hand: int = 1
) -> list[Piece]:
    """A tape cut into pieces that fit on paper laid on its side.

    Parameters
    ----------
    along : (n,) array
        Where each still's tick is, in millimetres along the edge.
    paper : Paper
    radius : float, optional
        To bend it to, in millimetres; straight if not given.
    hand : 1 or -1
        Whether a bent one grows clockwise.

    Raises
    ------
    InputError
        Where a radius is too small to print round.

    Examples
    --------
    >>> import numpy as np
    >>> from cropmove.sheets.paper import PAPERS
    >>> [(p.page, p.end - p.start) for p in pieces_of(np.array([0.0, 284]), PAPERS["a4"])]
    [(1, 150.0), (1, 150.0)]
    """
    across = paper.height - 2 * (MARGIN + OVERLAP)
    down = paper.width - HEAD - FOOT - MARGIN
    longest = across if radius is None else _longest_arc(radius, across, down)
    made: list[Piece] = []
    page, top = 1, 0.0
    for stills in passes_of(along):
        part = along[stills[0] - 1 : stills[1]]
        low, high = float(part.min()) - SPARE, float(part.max()) + SPARE
        count = max(1, -floor(-(high - low) / longest + 1e-9))
        each = (high - low) / count
        tall = TALL if radius is None else _DEEP + 6 + radius * (1 - cos(each / 2 / radius))
        for number in range(count):
            if top + tall > down + 1e-9:
                page, top = page + 1, 0.0
            start, y = low + number * each, HEAD + MARGIN + top
            made.append(
                Piece(
                    number=number + 1,
                    of=count,
                    stills=stills,
                    page=page,
                    start=start,
                    end=start + each,
                    lay=_lay(y, start, each, radius, hand, paper),
                )
            )
            top += tall
    return made


def _lay(
    top: float, start: float, each: float, radius: float | None, hand: int, paper: Paper
) -> Lay:
    if radius is None:
        return Flat(left=MARGIN + OVERLAP, top=top, start=start)
    centre, middle = top + _DEEP + radius, start + each / 2
    return Bent(across=paper.height / 2, down=centre, radius=radius, middle=middle, hand=hand)


def _longest_arc(radius: float, across: float, down: float) -> float:
    """How much of an arc fits on a page that wide and high, in millimetres along it."""
    if radius < 15:
        rule = "a template has a radius of 15 mm at the least"
        raise complain(
            "radius",
            radius,
            rule,
            f"print it straight and wrap it round: {called('straight', True)}",
        )
    by_width = asin(min(1.0, across / 2 / (radius + _DEEP)))
    by_height = acos(max(-1.0, 1 - (down - _DEEP - 6) / radius)) if radius else pi
    return 2 * radius * min(by_width, by_height, radians(80))


def labels_for(
    numbers: Sequence[str],
    ticks: Sequence[float],
    low: float,
    high: float,
    size: float = _SIZES[-1],
) -> list[Label]:
    """Numbers beside their ticks, spread where they crowd, left out where they would stray too far.

    The ends are kept before all, then tens, fives and even numbers.

    Parameters
    ----------
    numbers : sequence of str
    ticks : sequence of float
        Rising, in millimetres.
    low, high : float
        Between which they stand.
    size : float
        Points.

    Returns
    -------
    list of Label
        None overlaps another.

    Examples
    --------
    >>> labels = labels_for(["1", "2", "3"], [10, 11, 30], 0, 40)
    >>> [label.text for label in labels], labels[1].at - labels[0].at >= 2
    (['1', '2', '3'], True)
    """
    last = len(numbers) - 1
    ranks = [_rank(text, place in (0, last)) for place, text in enumerate(numbers)]
    widths = np.array([text_width(text, size, bold=True) for text in numbers]) + _GAP
    wanted = np.asarray(ticks, dtype=np.float64)
    most = np.where(np.array(ranks) == 0, _ENDS_ASTRAY, _ASTRAY)

    def placed(chosen: list[int]) -> Floats | None:
        if widths[chosen].sum() > high - low + _GAP:
            return None
        at = _spread(wanted[chosen], widths[chosen], low, high)
        return at if (abs(at - wanted[chosen]) <= most[chosen]).all() else None

    kept = list(range(len(numbers)))
    at = placed(kept)
    if at is None:
        kept = []
        for place in sorted(range(len(numbers)), key=lambda n: ranks[n]):
            tried = sorted([*kept, place])
            if (there := placed(tried)) is not None:
                kept, at = tried, there
    if at is None:
        return []
    return [
        Label(text=numbers[n], tick=float(wanted[n]), at=float(place))
        for n, place in zip(kept, at, strict=True)
    ]


def _sized_labels(
    numbers: Sequence[str], ticks: Sequence[float], low: float, high: float
) -> tuple[float, list[Label]]:
    """The largest figures at which all fit, or the smallest with as many as do."""
    for size in _SIZES:
        labels = labels_for(numbers, ticks, low, high, size)
        if len(labels) == len(numbers):
            break
    return size, labels


def _rank(text: str, is_end: bool) -> int:
    number = int(text.split("–")[0])
    if is_end or "–" in text:
        return 0
    return next((rank for rank, by in ((1, 10), (2, 5), (3, 2)) if number % by == 0), 4)


def _spread(wanted: Floats, widths: Floats, low: float, high: float) -> Floats:
    """The nearest places to those wanted at which things so wide stand side by side, in order.

    Neighbours that would overlap are pooled, and the pool stands in the middle of its wishes.
    """
    pools: list[tuple[float, float, list[int]]] = []  # middle, width, members
    for number in range(len(wanted)):
        members = [number]
        wide, middle = _pool(wanted, widths, members, low, high)
        while pools and pools[-1][0] + pools[-1][1] / 2 > middle - wide / 2 + 1e-9:
            members = pools.pop()[2] + members
            wide, middle = _pool(wanted, widths, members, low, high)
        pools.append((middle, wide, members))
    at = np.empty(len(wanted))
    for middle, wide, members in pools:
        edges = middle - wide / 2 + np.cumsum([0.0, *widths[members]])
        at[members] = (edges[1:] + edges[:-1]) / 2
    return at


def _pool(
    wanted: Floats, widths: Floats, members: list[int], low: float, high: float
) -> tuple[float, float]:
    """How wide a pool is, and where its middle is best."""
    edges = np.cumsum([0.0, *widths[members]])
    wide = float(edges[-1])
    offsets = (edges[1:] + edges[:-1]) / 2 - wide / 2
    middle = float((wanted[members] - offsets).mean())
    return wide, max(min(middle, high - wide / 2), low + wide / 2)


def tape(
    marks: Marks, paper: Paper, *, title: str, bent: bool | None = None
) -> tuple[list[Page], list[Piece]]:
    """The pages of a thing's tape, and where its pieces lie.

    Parameters
    ----------
    marks : Marks
    paper : Paper
    title : str
        Of the shot.
    bent : bool, optional
        Whether to bend it to its radius; None to bend what has one.

    Raises
    ------
    InputError
        For a thing that turns without a radius.
    """
    along = along_of(marks)
    radius = marks.rig.scale.radius if bent is not False else None
    if bent and radius is None:
        rule = f'"{marks.name}" goes straight: there is no arc to bend its tape to'
        raise complain("bent", True, rule, "leave bent out, or say bent=False")
    pieces = pieces_of(along, paper, radius, hand_of(marks))
    pages = [Page(paper.height, paper.width) for _ in range(pieces[-1].page)]
    for piece, after in zip(pieces, [*pieces[1:], None], strict=True):
        below = paper.width - FOOT
        if after is not None and after.page == piece.page and isinstance(after.lay, Bent):
            below = after.lay.down - after.lay.radius - _DEEP
        drawer = _Drawer(
            page=pages[piece.page - 1], marks=marks, along=along, piece=piece, below=below
        )
        drawer.draw(f"{title}: {marks.name}")
    for number, page in enumerate(pages, start=1):
        _furnish(page, marks, paper, title, f"{number} of {len(pages)}", radius)
    return pages, pieces


def _furnish(
    page: Page, marks: Marks, paper: Paper, title: str, count: str, radius: float | None
) -> None:
    """What stands above and below the strips."""
    rig, timing = marks.rig, marks.timing
    counted = f"page {count}"
    room = page.width - 2 * MARGIN - text_width(counted, 10) - 5
    name, size = fit(f"{title}: {rig.name}", 15, room, bold_width, least=9)
    page.text((MARGIN, MARGIN + 5), name, size=size, bold=True)
    page.text((page.width - MARGIN, MARGIN + 5), counted, size=10, align="right")
    held = "" if timing.on == 1 else f", each held for {timing.on} frames"
    told = f"{rig.motion.name}; readings grow {_grows(marks)}. Numbers are stills{held}."
    page.text((MARGIN, MARGIN + 11), told, size=9)
    page.text((MARGIN, MARGIN + 16), _laid(marks, radius), size=9)
    page.check_bar(paper, (MARGIN, page.height - MARGIN + 2))


def _laid(marks: Marks, radius: float | None) -> str:
    """How a tape is laid, bent to a radius or straight."""
    faces, back = _FACES.get(marks.rig.motion.way, _FACES["pan"])
    if radius is not None:
        text = f"The edge is an arc of radius {radius:g} mm: keep the pivot so far from it"
        return f"{text}, this side {faces}."
    if marks.rig.scale.kind != "arc":
        return "Cut along the edge, away from the hand; the pointer runs there."
    turns, stands = (faces, back) if hand_of(marks) > 0 else (back, faces)
    return (
        f"To be wrapped round a rim of radius {marks.rig.scale.radius:g} mm: its edge {turns} "
        f"where the rim turns, {stands} where the pointer does."
    )


def _grows(marks: Marks) -> str:
    way = marks.rig.motion.grows
    return f"the other way than {way}" if marks.rig.reverse else way


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawer:
    """Draws one piece."""

    page: Page
    marks: Marks
    along: Floats
    piece: Piece
    below: float
    """Where the next strip on the page begins, or its foot."""

    @property
    def lay(self) -> Lay:
        """How it lies."""
        return self.piece.lay

    def draw(self, name: str) -> None:
        """All of it."""
        self.page.line(_sampled(self.lay, *self.piece.covers, 0.0), width=0.25)
        self._ticks()
        self._band()
        self._rule()
        self._joints()
        self._name(name)
        if isinstance(self.lay, Bent):
            self._centre(self.lay)

    def _words(self, along: float, deep: float, text: str, size: float, **how: Any) -> None:
        self.page.text(
            self.lay.point(along, deep),
            text,
            size=size,
            align="centre",
            turned=self.lay.turned(along),
            middle=True,
            **how,
        )

    def _ticks(self) -> None:
        piece, (low, high), groups = self.piece, self.piece.covers, self._groups()
        ends = {groups[0][1], groups[-1][1]}
        for _, at in groups:
            if low <= at <= high:
                deep, width = (_LONG_TICK, 0.3) if at in ends else (_TICK, 0.14)
                self.page.line([self.lay.point(at, 0), self.lay.point(at, deep)], width=width)
        until = piece.end if piece.number < piece.of else np.inf
        inside = [(text, at) for text, at in groups if piece.start <= at < until]
        if inside:
            self._numbers([text for text, _ in inside], [at for _, at in inside], ends)

    def _numbers(self, numbers: list[str], ticks: list[float], ends: set[float]) -> None:
        piece, (low, high) = self.piece, self.piece.covers
        # Beside a joint a number stays on its own piece.
        low = piece.start + 0.6 if piece.number > 1 else low
        high = piece.end - 0.6 if piece.number < piece.of else high
        size, labels = _sized_labels(numbers, ticks, low, high)
        for label in labels:
            self._words(label.at, _NUMBER, label.text, size, bold=True)
            begin = _LONG_TICK if label.tick in ends else _TICK
            above = _NUMBER - 1 - size * 0.13
            leader = [self.lay.point(label.tick, begin), self.lay.point(label.at, above)]
            self.page.line(leader, width=0.08, grey=0.25)

    def _groups(self) -> list[tuple[str, float]]:
        """Ticks along the edge, rising, each with its still or the run of stills that share it."""
        first, last = self.piece.stills
        part = self.along[first - 1 : last]
        starts = np.flatnonzero(np.concatenate([[True], abs(np.diff(part)) > 1e-9]))
        ends = [*(starts[1:] - 1), len(part) - 1]
        groups = [
            (_run(first + int(a), first + int(b)), float(part[a]))
            for a, b in zip(starts, ends, strict=True)
        ]
        return groups if part[-1] >= part[0] else groups[::-1]

    def _band(self) -> None:
        """Where it gathers speed, cruises and loses it: a wedge, a bar, a wedge."""
        low, high = self.piece.covers
        near, far = _BAND
        foot, crest = (far, near) if isinstance(self.lay, Flat) else (near, far)
        for name, begin, end in self._phases():
            a, b = max(begin, low), min(end, high)
            if b - a < 0.05 or name == "hold":
                continue
            upper = self._height(name, begin, end)
            over = [
                self.lay.point(at, foot + (crest - foot) * upper(at))
                for at in np.linspace(b, a, max(2, int((b - a) / 2)))
            ]
            self.page.area([*_sampled(self.lay, a, b, foot), *over], 0.84)
            if b - a > text_width(name, 8) + 2:
                self._words((a + b) / 2, (near + far) / 2, name, 8)

    def _height(self, name: str, begin: float, end: float) -> Callable[[float], float]:
        first, last = self.piece.stills
        rising = (self.along[last - 1] >= self.along[first - 1]) == (name == "ease in")
        if name not in ("ease in", "ease out"):
            return lambda at: 1.0
        long = max(end - begin, 1e-9)
        return lambda at: (at - begin) / long if rising else (end - at) / long

    def _phases(self) -> list[tuple[str, float, float]]:
        """Stretches of the tape by what is done on them: name, from, to."""
        found: list[tuple[str, float, float]] = []
        for still in range(self.piece.stills[0] + 1, self.piece.stills[1] + 1):
            name = self.marks.phase[still - 1]
            a, b = sorted((float(self.along[still - 2]), float(self.along[still - 1])))
            if found and found[-1][0] == name:
                found[-1] = (name, min(found[-1][1], a), max(found[-1][2], b))
            else:
                found.append((name, a, b))
        return found

    def _rule(self) -> None:
        """A rule along the tape, to lay it by: every millimetre, every ten with its number.

        In inches: every eighth, every half with its number.
        """
        low, high = self.piece.covers
        inches = self.marks.rig.scale.inches
        unit, long = (MM_PER_INCH / 8, 4) if inches else (1.0, 10)
        for count in _counts(low, high, unit):
            at = count * unit
            deep = 2.6 if count % long == 0 else 1.8 if count % (long // 2) == 0 else 1.1
            ends = [self.lay.point(at, _RULE), self.lay.point(at, _RULE + deep)]
            self.page.line(ends, width=0.1, grey=0.25)
            text = inches_text(Fraction(int(count), 8)) if inches else number_text(at, 0)
            clear = min(at - low, high - at) > 3
            clear &= all(abs(at - joint) > 7 for joint, _ in self.piece.joints)
            if count % long == 0 and clear:
                self._words(at, _RULE + 4.3, text, 6.5, grey=0.25)
        self.page.line(_sampled(self.lay, low, high, _RULE), width=0.1, grey=0.25)

    def _joints(self) -> None:
        for at, name in self.piece.joints:
            ends = [self.lay.point(at, 0), self.lay.point(at, _CROSS - 4.5)]
            self.page.line(ends, width=0.1, grey=0.4, dash=(1.2, 1.2))
            above = isinstance(self.lay, Bent)
            self.page.cross(self.lay.point(at, _CROSS), name, above=above)

    def _name(self, name: str) -> None:
        """What a piece is, once it is cut out."""
        piece, (first, last) = self.piece, self.piece.stills
        part = f", piece {piece.number} of {piece.of}" if piece.of > 1 else ""
        told = f", stills {first} to {last}{part}"
        room = piece.end - piece.start - 14 - text_width(told, 7)
        if room > _NAME_ROOM or room > text_width(name, 7):
            told = fit(name, 7, room, text_width, least=7)[0] + told
            deep = _CROSS + (1.0 if isinstance(self.lay, Flat) else 2.5)
            self._words((piece.start + piece.end) / 2, deep, told, 7)

    def _centre(self, lay: Bent) -> None:
        """The pivot, where it lies on the page and on nothing else, and the way to it."""
        toward = [lay.point(lay.middle, -2), lay.point(lay.middle, -7)]
        self.page.line(toward, width=0.12, grey=0.3)
        told, (x, y) = f"{lay.radius:g} mm to the pivot", toward[1]
        # Half the chord at the height of the words: a tight arc has room for them only lower down.
        room = (2 * lay.radius * 4.5 - 4.5**2) ** 0.5
        if text_width(told, 7) + 3 < room:
            self.page.text((x + 1.5, y), told, size=7, grey=0.3)
        else:
            self.page.text((x, y + 2.8), told, size=7, grey=0.3, align="centre")
        if lay.down + _CROSS_REACH <= self.below:
            self.page.cross((lay.across, lay.down), "pivot")


def _sampled(lay: Lay, low: float, high: float, deep: float) -> list[Point]:
    """A line along the tape: straight, or near enough to its arc that no eye can tell."""
    count = 2 if isinstance(lay, Flat) else max(2, int((high - low) / 0.5))
    return [lay.point(float(at), deep) for at in np.linspace(low, high, count)]


def _run(first: int, last: int) -> str:
    return f"{first}" if first == last else f"{first}–{last}"


def _letter(number: int) -> str:
    return chr(ord("A") + (number - 1) % 26) + (str((number - 1) // 26 + 1) if number > 26 else "")


def _counts(low: float, high: float, unit: float) -> NDArray[np.int64]:
    return np.arange(int(np.ceil(low / unit - 1e-9)), int(np.floor(high / unit + 1e-9)) + 1)
