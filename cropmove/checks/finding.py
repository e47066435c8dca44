"""What a check finds. Text, JSON and pictures are views of the same findings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Sized
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Finding", "Level", "Run", "and_more", "frames_text", "it_or_them", "runs_of"]

Run = tuple[int, int]


class Level(IntEnum):
    """How grave a finding is. A fault stops a render unless it is allowed by name."""

    NOTE = 1
    CAUTION = 2
    FAULT = 3

    def __str__(self) -> str:
        return self.name.lower()


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that a check found.

    Parameters
    ----------
    id : str
        The check's, permanent.
    level : Level
    frames : tuple of (first, last)
        The frames it holds for, as runs; empty where it is about the whole shot.
    measured, limit : float or None
        What was measured and what would do, in `unit`.
    unit : str
    what : str
        What is wrong, in one sentence.
    remedy : str
        What to change, with numbers.
    figures : mapping
        Whatever else was measured, by name, as plain JSON values.
    """

    id: str
    level: Level
    frames: tuple[Run, ...] = ()
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    what: str
    remedy: str
    figures: Mapping[str, Any] = field(default_factory=dict, hash=False)

    def to_json(self) -> dict[str, Any]:
        """Plain values, complete."""
        return {
            "id": self.id,
            "level": str(self.level),
            "frames": [list(run) for run in self.frames],
            "measured": self.measured,
            "limit": self.limit,
            "unit": self.unit,
            "what": self.what,
            "remedy": self.remedy,
            "figures": dict(self.figures),
        }


def runs_of(numbers: Iterable[int] | NDArray[np.int64]) -> tuple[Run, ...]:
    """Rising whole numbers as runs of neighbours.

    Examples
    --------
    >>> runs_of([1, 2, 3, 7, 9, 10])
    ((1, 3), (7, 7), (9, 10))
    """
    all_of = np.fromiter(numbers, dtype=np.int64)
    if not len(all_of):
        return ()
    groups = np.split(all_of, np.flatnonzero(np.diff(all_of) != 1) + 1)
    return tuple((int(group[0]), int(group[-1])) for group in groups)


def it_or_them(numbers: Sized) -> str:
    """The word for things that have been named."""
    return "it" if len(numbers) == 1 else "them"


def and_more(count: int, shown: int, noun: str) -> str:
    """What stands after the first few of many things, whose numbers the figures all have.

    Examples
    --------
    >>> and_more(9, 3, "stills"), and_more(3, 3, "stills")
    (', … (9 stills, all under its figures)', '')
    """
    return f", … ({count} {noun}, all under its figures)" if count > shown else ""


def frames_text(runs: Sequence[Run], noun: str = "frame") -> str:
    """Runs for people.

    Examples
    --------
    >>> frames_text([(1, 3), (7, 7)]), frames_text([(4, 4)])
    ('frames 1-3, 7', 'frame 4')
    """
    shown = [f"{a}" if a == b else f"{a}-{b}" for a, b in runs]
    if len(shown) > 6:
        shown = [*shown[:5], f"… {shown[-1]}"]
    one = len(runs) == 1 and runs[0][0] == runs[0][1]
    return f"{noun} {shown[0]}" if one else f"{noun}s {', '.join(shown)}"
