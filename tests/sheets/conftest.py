"""What the tests of sheets share: shots on paper, and a sheet that remembers what was put on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest

from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.sheets import style
from cropmove.sheets.sheet import Pen, Sheet
from cropmove.shot import Delivery, Shot, Stills

STILL = Size(6000, 4000)
HD = Size(1920, 1080)


@pytest.fixture
def shot_of() -> Callable[..., Shot]:
    """Makes a shot of some keys on a still of 6000 x 4000."""

    def make(*keys: Key, **changes: Any) -> Shot:
        given: dict[str, Any] = {
            "name": "quay",
            "stills": Stills(size=STILL),
            "delivery": Delivery(size=HD),
            "keys": keys,
        }
        return Shot(**(given | changes))

    return make


@pytest.fixture
def push_in(shot_of: Callable[..., Shot]) -> Shot:
    """From the whole still to near native scale, in 48 steps."""
    wide, tight = Framing(x=3000, y=2000, width=5800), Framing(x=2200, y=1700, width=2200)
    return shot_of(Key(frame=1, framing=wide), Key(frame=49, framing=tight, ease_in=8, ease_out=14))


@dataclass
class Drawn:
    """What was put on sheets, in millimetres."""

    texts: list[tuple[str, tuple[float, float]]] = field(default_factory=list)
    lines: list[tuple[np.ndarray, Pen]] = field(default_factory=list)
    ticks: list[np.ndarray] = field(default_factory=list)
    sheets: list[Sheet] = field(default_factory=list)

    def words(self) -> set[str]:
        return {text for text, _ in self.texts}

    def at(self, text: str) -> tuple[float, float]:
        return next(place for words, place in self.texts if words == text)

    def by_pen(self, pen: Pen) -> list[np.ndarray]:
        return [points for points, used in self.lines if used == pen]


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Drawn:
    """Everything that is drawn from now on."""
    seen = Drawn()
    text, line, lines, init = Sheet.text, Sheet.line, Sheet.lines, Sheet.__init__

    def spy_text(self: Sheet, at: Any, words: str, *args: Any, **how: Any) -> None:
        seen.texts.append((words, (float(at[0]), float(at[1]))))
        text(self, at, words, *args, **how)

    def spy_line(self: Sheet, points: Any, pen: Pen, **how: Any) -> None:
        seen.lines.append((np.asarray(points, dtype=float), pen))
        line(self, points, pen, **how)

    def spy_lines(self: Sheet, segments: Any, pen: Pen) -> None:
        seen.ticks.append(np.asarray(segments, dtype=float))
        lines(self, segments, pen)

    def spy_init(self: Sheet, *args: Any, **how: Any) -> None:
        seen.sheets.append(self)
        init(self, *args, **how)

    monkeypatch.setattr(Sheet, "text", spy_text)
    monkeypatch.setattr(Sheet, "line", spy_line)
    monkeypatch.setattr(Sheet, "lines", spy_lines)
    monkeypatch.setattr(Sheet, "__init__", spy_init)
    return seen


@pytest.fixture
def a4() -> tuple[float, float]:
    """A sheet of A4 (ISO 216), lying."""
    return 297.0, 210.0


@pytest.fixture
def inside(a4: tuple[float, float]) -> Callable[[Drawn], list[str]]:
    """The words that would lie outside the margins of A4."""

    def look(seen: Drawn) -> list[str]:
        margin = style.MARGIN - 0.5
        return [
            words
            for words, (x, y) in seen.texts
            if not (margin <= x <= a4[0] - margin and margin <= y <= a4[1] - margin + 0.5)
        ]

    return look
