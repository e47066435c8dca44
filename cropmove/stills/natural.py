"""Names as people count them: shot_2 before shot_10, and which number in a name is the counter."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["natural_key", "running_numbers"]

_DIGITS = re.compile(r"(\d+)")

NaturalKey = tuple[tuple[tuple[int, int, str], ...], str]


def natural_key(name: str) -> NaturalKey:
    """A key that sorts names by their words and by the value of their numbers.

    Examples
    --------
    >>> sorted(["shot_10.jpg", "Shot_2.jpg", "shot_1.jpg"], key=natural_key)
    ['shot_1.jpg', 'Shot_2.jpg', 'shot_10.jpg']
    """
    pieces = _DIGITS.split(name.casefold())
    keys = ((0, int(p), "") if i % 2 else (1, 0, p) for i, p in enumerate(pieces) if p)
    return tuple(keys), name


def running_numbers(stems: Sequence[str]) -> tuple[int | None, ...]:
    """The running number of each name: the last group of digits that differs along the series.

    All None where the names differ in more than their digits, or not at all.

    Examples
    --------
    >>> running_numbers(["2024-03 take 1 v2", "2024-03 take 2 v2"])
    (1, 2)
    >>> running_numbers(["front", "back"])
    (None, None)
    """
    split = [_DIGITS.split(stem) for stem in stems]
    nothing = (None,) * len(split)
    if len({tuple(pieces[::2]) for pieces in split}) != 1:
        return nothing
    columns = list(zip(*(map(int, pieces[1::2]) for pieces in split), strict=True))
    differing = [column for column in columns if len(set(column)) > 1]
    return differing[-1] if differing else nothing
