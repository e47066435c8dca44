"""Text to `Shot` and back: nothing is opened here."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Table

from cropmove.errors import Complaints, InputError, complain, nearest, placed, unknown_word
from cropmove.move.key import Key
from cropmove.shot import Shot
from cropmove.shotfile.head import (
    DELIVERY_WORDS,
    SHOT_WORDS,
    delivery_words,
    read_delivery,
    read_shot,
    shot_words,
)
from cropmove.shotfile.keys import INHERITED, KEY_WORDS, key_words, read_keys
from cropmove.shotfile.limits import LIMIT_WORDS, limit_words, read_limits
from cropmove.shotfile.reader import size
from cropmove.shotfile.rig import (
    LAYER_WORDS,
    LENS_WORDS,
    RIG_WORDS,
    all_of_it,
    is_rig_alone,
    layer_words,
    lens_words,
    place_named,
    read_layers,
    read_lens,
    read_rigs,
    rig_words,
)
from cropmove.shotfile.subjects import SUBJECT_WORDS, place_subjects, read_subjects
from cropmove.shotfile.survey import Survey, survey_of

__all__ = ["WORDS", "dumps", "loads"]

WORDS: dict[str, tuple[str, ...]] = {
    "shot": SHOT_WORDS,
    "delivery": DELIVERY_WORDS,
    "key": KEY_WORDS,
    "subject": SUBJECT_WORDS,
    "limits": LIMIT_WORDS,
    "lens": LENS_WORDS,
    "rig": RIG_WORDS,
    "layer": LAYER_WORDS,
}
"""Every word that a shot file may hold, by its table, in the order of writing."""


def loads(text: str, *, name: str, survey: Survey | None = None) -> Shot:
    """The shot that a text describes.

    Parameters
    ----------
    text : str
        TOML, as docs/shot-file.md describes it.
    name : str
        The shot's name, which its frames bear.
    survey : callable, optional
        ``survey(source, size)`` finds the stills of a source, or those to come of a size that the
        text gives, as `Stills`. Where it is not given they are looked for in the current folder.

    Raises
    ------
    InputError
        With every fault of the text.

    Examples
    --------
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
    >>> shot = loads(text, name="quay")
    >>> shot.keys[0].framing.width
    6000.0
    """
    found = Complaints()
    data = _known_tables(text, found)
    return _read(data, name=name, survey=survey or survey_of(Path()), found=found)


def _parsed(text: str) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(text)
    except TOMLKitError as error:
        told, remedy = _told(text, str(error))
        raise complain("", "", f"a shot file is TOML (https://toml.io): {told}", remedy) from None


def _told(text: str, error: str) -> tuple[str, str]:
    """What is no TOML, with its line, and the remedy."""
    if "already exists" not in error and "Redefinition" not in error:
        return error, "mend that line"
    # What stands twice is noticed late, lines further down; Python's own reader is not late.
    try:
        tomllib.loads(text)
    except ValueError as other:
        what, line = error.partition(" at line ")[0], str(other)
        error = f"{what} {line[line.rfind('(') :]}"
    return error, "keep one of them; what may come several times is written [[...]]"


def _known_tables(text: str, found: Complaints) -> Mapping[str, Any]:
    """What a text says; a table of a misspelt name is told and then read as the nearest known one.

    Nothing is missed in its place then, and of several each keeps its own.
    """
    data, meant = _parsed(text).unwrap(), text
    for table in data:
        with found.at():
            if table not in WORDS:
                near, heading = nearest(table, WORDS), rf"^(\s*\[\[?\s*){re.escape(table)}(?=\s*\])"
                meant = re.sub(heading, rf"\1{near}", meant, flags=re.MULTILINE) if near else meant
                raise unknown_word("", table, WORDS, "a table of a shot file")
    try:
        return data if meant == text else _parsed(meant).unwrap()
    except InputError:  # that table stands there already
        return data


def _read(data: Mapping[str, Any], *, name: str, survey: Survey, found: Complaints) -> Shot:
    head = read_shot(data, survey, found)
    delivery = read_delivery(data, found)
    if is_rig_alone(data):
        keys: tuple[Key, ...] = (all_of_it(head["stills"].size, delivery.size),)
    else:
        keys = read_keys(data, head["stills"].size, head["fps"], found)
    subjects = read_subjects(data, head["stills"].size, head["fps"], found)
    limits = read_limits(data, found)
    lens = read_lens(data, found)
    rigs = read_rigs(data, head["fps"], found)
    layers = read_layers(data, found)
    found.settle()
    with placed("shot"):
        return Shot(
            name=name,
            delivery=delivery,
            keys=keys,
            subjects=subjects,
            limits=limits,
            lens=lens,
            rigs=rigs,
            layers=layers,
            **head,
        )


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
    ended = like if not like or like.endswith("\n") else like + "\n"
    document, found = _parsed(ended), Complaints()
    data = _known_tables(ended, found)
    old = _read(data, name=shot.name, survey=lambda *_: shot.stills, found=found) if like else None
    retimed = old is not None and old.fps != shot.fps
    for table, words, was in (
        ("shot", shot_words(shot), _said_of_shot(data, old, retimed) if old else {}),
        ("delivery", delivery_words(shot.delivery), delivery_words(old.delivery) if old else {}),
        ("limits", limit_words(shot.limits), limit_words(old.limits) if old else {}),
        ("lens", lens_words(shot.lens), lens_words(old.lens) if old else {}),
    ):
        if words != was:
            if table not in document:
                document.add(table, tomlkit.table())
            _set(document[table], table, words, was)
    if not (old and is_rig_alone(data) and shot.keys == old.keys):
        _set_keys(document, shot.keys, old.keys if old and "key" in data else (), retimed)
    place_subjects(document, shot.subjects, old.subjects if old else (), retimed)
    was_rigs = [rig_words(rig) for rig in old.rigs] if old else []
    place_named(document, "rig", RIG_WORDS, [rig_words(r) for r in shot.rigs], was_rigs, retimed)
    was_layers = [layer_words(layer) for layer in old.layers] if old else []
    says_layers = [layer_words(layer) for layer in shot.layers]
    place_named(document, "layer", LAYER_WORDS, says_layers, was_layers, retimed)
    text = tomlkit.dumps(document)
    return like if text == ended else text


def _said_of_shot(data: Mapping[str, Any], old: Shot, retimed: bool) -> dict[str, Any]:
    """What [shot] says already, the stills in the text's own words: nobody looked for those."""
    table = data.get("shot", {})
    was = shot_words(old) | {"stills": table.get("stills")}
    if not old.stills.refs:
        planned = size(table["still_size"]) if "still_size" in table else None
        was["still_size"] = [planned.width, planned.height] if planned else None
    if retimed and isinstance(table.get("frames"), str):
        was["frames"] = table["frames"]  # its seconds would be other frames now
    return {name: value for name, value in was.items() if value is not None}


def _set(table: Any, kind: str, words: Mapping[str, Any], was: Mapping[str, Any]) -> None:
    """Change only what differs, so that everything else keeps its wording."""
    for word in WORDS[kind]:
        if words.get(word) == was.get(word):
            continue
        if word in words:
            tail = [] if word in table else _tail_of(table)
            table[word] = words[word]
            if tail:
                table.value.body.extend(tail)
        elif word in table:
            table.remove(word)


def _tail_of(table: Any) -> list[Any]:
    """Take out what stands after a table's last word: it speaks of the table that follows."""
    tail: list[Any] = []
    if isinstance(table, Table):
        while table.value.body and table.value.body[-1][0] is None:
            tail.insert(0, table.value.body.pop())
    return tail


def _set_keys(
    document: tomlkit.TOMLDocument, keys: tuple[Key, ...], old: tuple[Key, ...], retimed: bool
) -> None:
    """Reuse the tables of keys that are still there, so that their comments stay with them."""
    same_count = len(keys) == len(old)
    if not same_count and not isinstance(document.get("key", AoT([])), AoT):
        document.remove("key")  # a list on one line: it is written anew, a table a key
        old = ()
    tables = list(document.get("key", []))
    by_frame = {key.frame: number for number, key in enumerate(old)}
    kept = []
    before: dict[str, Any] = {"roll": 0}
    for number, key in enumerate(keys):
        place = number if same_count else by_frame.get(key.frame)
        table = tomlkit.table() if place is None else tables[place]
        was = {} if place is None else key_words(old[place])
        words = key_words(key)
        if "time" in table and (retimed or was["frame"] != key.frame):
            table.remove("time")
        says = {word: value for word, value in was.items() if word in table}
        for word in ("ease_in", "ease_out"):
            if retimed and isinstance(table.get(word), str):
                says[word] = table[word]  # its seconds would be other frames now
        if "time" in table:
            says["frame"] = key.frame
        # What the table leaves out it takes from the key before, as that key now is.
        taken = {word: before[word] for word in INHERITED if word in before}
        _set(table, "key", words, taken | says)
        before = words
        kept.append(table)
    _replace_tables(document, tables, kept)


def _replace_tables(document: tomlkit.TOMLDocument, tables: list[Any], kept: list[Any]) -> None:
    """Take tables out of [[key]] and put others in, in place, so that all else stays as it is."""
    if not tables:
        document["key"] = AoT(kept)
        return
    for number in reversed(range(len(tables))):
        if not any(tables[number] is table for table in kept):
            _hand_on_comments(tables, number)
            del document["key"][number]
    for number, table in enumerate(kept):
        if not any(table is other for other in tables):
            document["key"].insert(number, table)


def _hand_on_comments(tables: list[Any], number: int) -> None:
    """What stands between a table and the next speaks of the next: keep it when the first goes."""
    tail = _tail_of(tables[number])
    if number:
        tables[number - 1].value.body.extend(tail)
    elif len(tables) > 1:
        told = "".join(item.as_string() for _, item in tail)
        tables[1].trivia.indent = told + tables[1].trivia.indent
