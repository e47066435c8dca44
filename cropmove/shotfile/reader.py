"""One table of a shot file, read word by word; what is wrong is collected with its place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from cropmove.errors import Complaints, complain, nearest, unknown_word
from cropmove.geometry import Size, finite
from cropmove.units import length, raster

__all__ = ["Reader", "count", "pair", "real", "size", "word", "yes_or_no"]

T = TypeVar("T")

_SURE = 0.8
"""How alike a misspelt word is to the one that it is meant for, beyond doubt: a letter off in five.
"""


class Reader:
    """One table of the file: hands out its values, and complains where they stand.

    One slip is one complaint: a misspelt word is told and then read as the nearest known one, so
    that nothing is missed in its place; and of what is no table at all nothing is missed.

    Parameters
    ----------
    table : anything
        What stands in the file; it ought to be a table.
    place : str
        "delivery", or "key 2".
    words : sequence of str
        All that the table may hold.
    found : Complaints
        Where what is wrong is collected.

    Examples
    --------
    >>> found = Complaints()
    >>> table = Reader({"on": 2, "fsp": 24}, "shot", ("on", "fps"), found)
    >>> table.take("on", count, 1), found.all[0].remedy
    (2, 'did you mean "fps"?')
    """

    def __init__(self, table: Any, place: str, words: Sequence[str], found: Complaints) -> None:
        self.place, self.found = place, found
        self.is_table, kind = isinstance(table, Mapping), place.split()[0]
        with found.at(place):
            if not self.is_table:
                rule = f"{kind} is a table of words and values"
                heading = f"[{kind}]" if place == kind else f"[[{kind}]]"
                raise complain("", table, rule, f"write {heading}, then one word a line")
        if isinstance(table, list) and len(table) == 1 and isinstance(table[0], Mapping):
            table, self.is_table = table[0], True  # [[delivery]] in place of [delivery]
        given: Mapping[str, Any] = table if self.is_table else {}
        self.table = {name: value for name, value in given.items() if name in words}
        self._doubtful: set[str] = set()
        for name in given:
            with found.at(place):
                if name not in words:
                    self._take_for_the_nearest(name, given[name], words)
                    raise unknown_word("", name, words, f"a word of {kind}")

    def _take_for_the_nearest(self, name: str, value: Any, words: Sequence[str]) -> None:
        """Read on as if a misspelt word were the one that it may be meant for."""
        near = nearest(name, words)
        if near and near not in self.table:
            self.table[near] = value
            if not nearest(name, [near], likeness=_SURE):
                self._doubtful.add(near)

    def __contains__(self, name: str) -> bool:
        return name in self.table

    def take(self, name: str, read: Callable[[Any], T], default: T) -> T:
        """The value of a word, read; the default where it is missing or refused."""
        if name in self.table:
            # A value is not blamed for a word that is perhaps another.
            found = Complaints() if name in self._doubtful else self.found
            with found.at(f"{self.place}, {name}"):
                value = self.table[name]
                return read(word(value) if value == "" else value)  # nothing at all is refused
        return default

    def lacks(self, name: str, rule: str, remedy: str) -> None:
        """Complain of a word that is not there."""
        if not self.is_table:
            return
        with self.found.at(self.place):
            raise complain(name, "", rule, remedy)


def word(value: Any) -> str:
    """A word between quotes."""
    if value == "":
        raise complain("", '""', "a word is not empty", "write it, or take the line out")
    if not isinstance(value, str):
        raise complain("", value, "this is a word between quotes", "put it between quotes")
    return value


def yes_or_no(value: Any) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        raise complain("", value, "this is true or false", "write true or false, without quotes")
    return value


def count(value: Any) -> int:
    """A whole number."""
    if not isinstance(value, int) or isinstance(value, bool):
        raise complain("", value, "this is a whole number", "write a whole number, without quotes")
    return value


def real(value: Any) -> float:
    """A number."""
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        raise complain("", value, "this is a number", "write a number, without quotes")
    return finite("", value) if isinstance(value, int) else value


def pair(value: Any, across: int | None, down: int | None) -> tuple[float, float]:
    """A place on a still of that size, in pixels, from pixels or shares."""
    if not isinstance(value, list) or len(value) != 2:
        remedy = 'write [1810.5, 902.0] in pixels, or ["50%", "50%"]'
        raise complain("", value, "a place is a pair: across, down", remedy)
    return length(value[0], across), length(value[1], down)


def size(value: Any) -> Size:
    """A size in whole pixels, from a pair or the name of a raster."""
    if isinstance(value, str):
        return raster(value)
    if not isinstance(value, list) or len(value) != 2:
        remedy = 'write [1920, 1080], or a named raster such as "hd"'
        raise complain("", value, "a size is a pair of whole pixels: width, height", remedy)
    return Size(count(value[0]), count(value[1]))
