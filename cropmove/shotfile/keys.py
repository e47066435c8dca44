"""[[key]]: framings pinned to frames. What a key leaves out, it takes from the key before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from fractions import Fraction
from typing import Any

from cropmove.errors import Complaints, complain
from cropmove.geometry import Size
from cropmove.move.ease import ease_named
from cropmove.move.framing import Framing
from cropmove.move.key import Key, legs
from cropmove.shotfile.reader import Reader, count, pair, real, word, yes_or_no
from cropmove.units import duration, length, written

__all__ = ["INHERITED", "KEY_WORDS", "key_words", "read_keys"]

KEY_WORDS = (
    "frame", "time", "centre", "width", "roll", "stop", "ease", "ease_in", "ease_out",
)  # fmt: skip
INHERITED = ("centre", "width", "roll")

_STAND_IN = Framing(x=0, y=0, width=1)
"""For what was refused, so that nothing else is blamed for leaning on it."""


def read_keys(
    data: Mapping[str, Any], still: Size | None, fps: Fraction, found: Complaints
) -> tuple[Key, ...]:
    """What the [[key]] tables say, those left out that are refused.

    Parameters
    ----------
    data : mapping
        The file.
    still : Size or None
        What shares are shares of.
    fps : Fraction
    found : Complaints
    """
    tables = data.get("key", [])
    if isinstance(tables, Mapping):
        with found.at("key"):
            rule = "each key has a table of its own, between two pairs of brackets"
            raise complain("", "[key]", rule, "write [[key]]")
        return ()
    if not isinstance(tables, list) or not tables:
        with found.at("key"):
            rule = "a move has at least one key"
            instead = " in its place" if "key" in data else ""
            raise complain("", "", rule, f"add a [[key]] with frame, centre and width{instead}")
        return ()
    keys: list[Key] = []
    before: Framing | None = None
    for number, table in enumerate(tables, start=1):
        key = _key(Reader(table, f"key {number}", KEY_WORDS, found), before, still, fps)
        if key:
            keys.append(key)
        before = key.framing if key else before or _STAND_IN
    if len(keys) == len(tables):
        with found.at():
            legs(keys)
    return tuple(keys)


def _key(table: Reader, before: Framing | None, still: Size | None, fps: Fraction) -> Key | None:
    known = len(table.found.all)
    framing = _framing(table, before, still) or _STAND_IN
    values: dict[str, Any] = {
        "frame": _frame(table, fps),
        "stop": table.take("stop", yes_or_no, True),
        "ease": table.take("ease", lambda value: ease_named(word(value)), None),
        "ease_in": table.take("ease_in", lambda value: duration(value, fps), None),
        "ease_out": table.take("ease_out", lambda value: duration(value, fps), None),
    }
    key = None
    with table.found.at(table.place):
        key = Key(framing=framing, **values)
    return key if len(table.found.all) == known else None


def _frame(table: Reader, fps: Fraction) -> int:
    if ("frame" in table) == ("time" in table):
        rule = "a key is pinned by a frame or by a time, one of the two"
        table.lacks("frame", rule, 'write frame = 49, or time = "2 s"')
    at_time = table.take("time", lambda value: duration(value, fps) + 1, 1)
    return table.take("frame", count, at_time)


def _framing(table: Reader, before: Framing | None, still: Size | None) -> Framing | None:
    across, down = (still.width, still.height) if still else (None, None)
    values = {f.name: getattr(before or _STAND_IN, f.name) for f in fields(Framing)}
    centre = table.take("centre", lambda value: pair(value, across, down), None)
    if centre:
        values["x"], values["y"] = centre
    width = table.take("width", lambda value: length(value, across), None)
    if width is not None:
        values["width"] = width
    values["roll"] = table.take("roll", real, values["roll"])
    if before is None:
        _want_framing(table)
    with table.found.at(table.place):
        return Framing(**values)
    return None


def _want_framing(table: Reader) -> None:
    for name, example in (("centre", '["50%", "50%"]'), ("width", '"100%"')):
        if name not in table:
            rule = "the first key has a centre and a width; later ones may leave them out"
            table.lacks(name, rule, f"add {name} = {example}")


def key_words(key: Key) -> dict[str, Any]:
    """What the table of a key would say."""
    framing = key.framing
    words = {
        "frame": key.frame,
        "centre": [written(framing.x), written(framing.y)],
        "width": written(framing.width),
        "roll": written(framing.roll),
        "stop": None if key.stop else False,
        "ease": key.ease.name if key.ease else None,
        "ease_in": key.ease_in,
        "ease_out": key.ease_out,
    }
    return {name: value for name, value in words.items() if value is not None}
