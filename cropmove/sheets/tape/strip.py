"""One piece of a tape, drawn: ticks with their numbers, what is done where, a rule, joints."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import Floats
from cropmove.rig.marks import Marks
from cropmove.rig.measures import MM_PER_INCH, inches_text, number_text
from cropmove.sheets.fit import fit
from cropmove.sheets.paper import Page, text_width
from cropmove.sheets.tape.lay import Bent, Flat, Lay, sampled
from cropmove.sheets.tape.numbers import sized_labels
from cropmove.sheets.tape.pieces import Piece

__all__ = ["Strip"]

# How deep the parts of a strip lie, in millimetres from its edge.
_TICK, _LONG_TICK, _NUMBER, _BAND, _RULE, _CROSS = 6.0, 8.0, 14.5, (18.5, 23.0), 25.5, 32.5
_NAME_ROOM = 20.0
"""Millimetres that a name on a strip has at the least, or it is left out."""
_CROSS_REACH = 4.5
"""Millimetres from the middle of a cross to the foot of its name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One piece on its page."""

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
        self.page.line(sampled(self.lay, *self.piece.covers, 0.0), width=0.25)
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
        size, labels = sized_labels(numbers, ticks, low, high)
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
            self.page.area([*sampled(self.lay, a, b, foot), *over], 0.84)
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
        self.page.line(sampled(self.lay, low, high, _RULE), width=0.1, grey=0.25)

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


def _run(first: int, last: int) -> str:
    return f"{first}" if first == last else f"{first}–{last}"


def _counts(low: float, high: float, unit: float) -> NDArray[np.int64]:
    return np.arange(int(np.ceil(low / unit - 1e-9)), int(np.floor(high / unit + 1e-9)) + 1)
