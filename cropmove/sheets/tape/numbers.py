"""The numbers beside a tape: each by its own tick, none over another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cropmove.geometry import Floats
from cropmove.sheets.paper import text_width

__all__ = ["Label", "labels_for", "sized_labels"]

_SIZES = (14.0, 12.0, 10.5, 9.0)
"""Points of a number: the first that fits."""
_GAP, _ASTRAY, _ENDS_ASTRAY = 1.1, 8.0, 14.0
"""Millimetres between numbers; from a number to its tick at the most; and for the two ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A number beside a tape: its text, the tick it belongs to and where it stands, along it."""

    text: str
    tick: float
    at: float


def sized_labels(
    numbers: Sequence[str], ticks: Sequence[float], low: float, high: float
) -> tuple[float, list[Label]]:
    """The largest figures at which all fit, or the smallest with as many as do."""
    for size in _SIZES:
        labels = labels_for(numbers, ticks, low, high, size)
        if len(labels) == len(numbers):
            break
    return size, labels


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
