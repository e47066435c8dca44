"""One table of a shot file, read word by word; what is wrong is collected with its place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from cropmove.errors import Complaints, complain, unknown_word
from cropmove.geometry import Size, finite
from cropmove.units import length, raster

__all__ = ["Reader", "count", "pair", "real", "size", "word", "yes_or_no"]

T = TypeVar("T")


class Reader:
    """One table of the file: hands out its values, and complains where they stand.

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
        self.table: Mapping[str, Any] = table if isinstance(table, Mapping) else {}
        kind = place.split()[0]
        with found.at(place):
            if not isinstance(table, Mapping):
                rule = f"{kind} is a table of words and values"
                heading = f"[{kind}]" if place == kind else f"[[{kind}]]"
                raise complain("", table, rule, f"write {heading}, then one word a line")
        for known in self.table:
            with found.at(place):
                if known not in words:
                    raise unknown_word("", known, words, f"a word of {kind}")

    def __contains__(self, name: str) -> bool:
        return name in self.table

    def take(self, name: str, read: Callable[[Any], T], default: T) -> T:
        """The value of a word, read; the default where it is missing or refused."""
        if name in self.table:
            with self.found.at(f"{self.place}, {name}"):
                value = self.table[name]
                return read(word(value) if value == "" else value)  # nothing at all is refused
        return default

    def lacks(self, name: str, rule: str, remedy: str) -> None:
        """Complain of a word that is not there."""
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
