"""Text to `Shot` and back: nothing is opened here."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.exceptions import ParseError
from tomlkit.items import AoT

from cropmove.errors import Complaints, complain, placed, unknown_word
from cropmove.move.key import Key
from cropmove.shot import Shot
from cropmove.shotfile.head import (
    DELIVERY_WORDS,
    SHOT_WORDS,
    Survey,
    delivery_words,
    read_delivery,
    read_shot,
    shot_words,
)
from cropmove.shotfile.keys import INHERITED, KEY_WORDS, key_words, read_keys

__all__ = ["WORDS", "dumps", "loads"]

WORDS: dict[str, tuple[str, ...]] = {
    "shot": SHOT_WORDS,
    "delivery": DELIVERY_WORDS,
    "key": KEY_WORDS,
}
"""Every word that a shot file may hold, by its table, in the order of writing."""


def loads(text: str, *, name: str, survey: Survey) -> Shot:
    """The shot that a text describes.

    Parameters
    ----------
    text : str
        TOML, as docs/shot-file.md describes it.
    name : str
        The shot's name, which its frames bear.
    survey : callable
        Finds the stills; see `cropmove.shotfile.survey_of`.

    Raises
    ------
    InputError
        With every fault of the text.

    Examples
    --------
    >>> from cropmove.shot import Stills
    >>> text = '''
    ... [shot]
    ... still_size = [6000, 4000]
    ... [delivery]
    ... size = "hd"
    ... [[key]]
    ... frame = 1
    ... centre = ["50%", "50%"]
    ... width = "100%"
    ... '''
    >>> shot = loads(text, name="quay", survey=lambda source, size: Stills(size=size))
    >>> shot.keys[0].framing.width
    6000.0
    """
    return _read(_parsed(text).unwrap(), name=name, survey=survey)


def _parsed(text: str) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(text)
    except ParseError as error:
        rule = f"a shot file is TOML (https://toml.io): {error}"
        raise complain("", "", rule, "mend that line") from None


def _read(data: Mapping[str, Any], *, name: str, survey: Survey) -> Shot:
    found = Complaints()
    for table in data:
        with found.at():
            if table not in WORDS:
                raise unknown_word("", table, WORDS, "a table of a shot file")
    head = read_shot(data, survey, found)
    delivery = read_delivery(data, found)
    keys = read_keys(data, head["stills"].size, head["fps"], found)
    found.settle()
    with placed("shot"):
        return Shot(name=name, delivery=delivery, keys=keys, **head)


def dumps(shot: Shot, *, like: str = "") -> str:
    """The text of a shot; what `like` says already, in its own words, order and with its comments.

    Parameters
    ----------
    shot : Shot
    like : str
        The text the shot came from. A value that has not changed keeps its wording ("50%").

    Examples
    --------
    >>> from dataclasses import replace
    >>> from cropmove.shot import Stills
    >>> text = '[delivery]\\nsize = "hd"  # for the festival\\n' \\
    ...        '[[key]]\\nframe = 1\\ncentre = [3, 2]\\nwidth = 4000\\n'
    >>> shot = loads(text, name="quay", survey=lambda source, size: Stills(size=size))
    >>> print(dumps(replace(shot, on=2), like=text))
    [delivery]
    size = "hd"  # for the festival
    [[key]]
    frame = 1
    centre = [3, 2]
    width = 4000
    [shot]
    on = 2
    """
    document = _parsed(like)
    old = _read(document.unwrap(), name=shot.name, survey=lambda *_: shot.stills) if like else None
    for table, words, was in (
        ("shot", shot_words(shot), shot_words(old) if old else {}),
        ("delivery", delivery_words(shot.delivery), delivery_words(old.delivery) if old else {}),
    ):
        if words != was:
            if table not in document:
                document.add(table, tomlkit.table())
            _set(document[table], table, words, was)
    _set_keys(document, shot.keys, old.keys if old else ())
    return tomlkit.dumps(document)


def _set(table: Any, kind: str, words: Mapping[str, Any], was: Mapping[str, Any]) -> None:
    """Change only what differs, so that everything else keeps its wording."""
    for word in WORDS[kind]:
        if words.get(word) == was.get(word):
            continue
        if word in words:
            table[word] = words[word]
        elif word in table:
            table.remove(word)


def _set_keys(document: tomlkit.TOMLDocument, keys: tuple[Key, ...], old: tuple[Key, ...]) -> None:
    """Reuse the tables of keys that are still there, so that their comments stay with them."""
    tables = list(document.get("key", []))
    same_count = len(keys) == len(old)
    by_frame = {key.frame: number for number, key in enumerate(old)}
    kept = AoT([])
    before: dict[str, Any] = {"roll": 0}
    for number, key in enumerate(keys):
        place = number if same_count else by_frame.get(key.frame)
        table = tomlkit.table() if place is None else tables[place]
        was = {} if place is None else key_words(old[place])
        words = key_words(key)
        if "time" in table and was["frame"] != key.frame:
            table.remove("time")
        says = {word: value for word, value in was.items() if word in table}
        if "time" in table:
            says["frame"] = key.frame
        # What the table leaves out it takes from the key before, as that key now is.
        taken = {word: before[word] for word in INHERITED if word in before}
        _set(table, "key", words, taken | says)
        before = words
        kept.append(table)
    if not same_count:
        document["key"] = kept
