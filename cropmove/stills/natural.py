"""Names as people count them: shot_2 before shot_10, and which number in a name is the counter."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from unicodedata import normalize

__all__ = ["natural_key", "running_numbers", "strange_names"]

_DIGITS = re.compile(r"(\d+)")

NaturalKey = tuple[tuple[tuple[int, int, str], ...], str]


def natural_key(name: str) -> NaturalKey:
    """A key that sorts names by their words and by the value of their numbers.

    Examples
    --------
    >>> sorted(["shot_10.jpg", "Shot_2.jpg", "shot_1.jpg"], key=natural_key)
    ['shot_1.jpg', 'Shot_2.jpg', 'shot_10.jpg']
    """
    pieces = _DIGITS.split(_alike(name))
    keys = ((0, int(p), "") if i % 2 else (1, 0, p) for i, p in enumerate(pieces) if p)
    return tuple(keys), name


def _alike(name: str) -> str:
    r"""A name as it is read aloud: systems write an umlaut as one sign or as two.

    Composed as in Unicode Standard Annex 15, form NFC.

    Examples
    --------
    >>> _alike("A\u0308ste_1") == _alike("\u00e4ste_1")
    True
    """
    return normalize("NFC", name).casefold()


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
    split = [_DIGITS.split(_alike(stem)) for stem in stems]
    nothing = (None,) * len(split)
    if len({tuple(pieces[::2]) for pieces in split}) != 1:
        return nothing
    columns = list(zip(*(map(int, pieces[1::2]) for pieces in split), strict=True))
    differing = [column for column in columns if len(set(column)) > 1]
    return differing[-1] if differing else nothing


def strange_names(names: Sequence[str]) -> tuple[int, ...]:
    """Which of some sorted names, from 0, are of other words than most, or of a number again.

    Names may have folders before them, whose words may be any. None are of other words where no
    words are those of most.

    Examples
    --------
    >>> strange_names(["shot_1", "shot_2 (1)", "shot_2", "shot_3", "shot_03"])
    (1, 4)
    >>> strange_names(["front", "back"]), strange_names(["noon/1", "noon/2", "rain/1"])
    ((), ())
    """
    words = [tuple(_DIGITS.split(_alike(name.rpartition("/")[2]))[::2]) for name in names]
    usual, count = Counter(words).most_common(1)[0] if words else ((), 0)
    strange = (
        {i for i in range(len(names)) if words[i] != usual} if 2 * count > len(names) else set()
    )
    keys = [natural_key(name)[0] for name in names]
    again = {i for i in range(1, len(names)) if keys[i] == keys[i - 1]}
    return tuple(sorted(strange | again))
