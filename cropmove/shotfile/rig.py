"""[lens], [[rig]] and [[layer]]: what is moved by hand, and what the lens makes of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import Any

import tomlkit
from tomlkit.items import AoT

from cropmove.errors import Complaints, complain
from cropmove.geometry import Size
from cropmove.move.ease import ease_named
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.rig.layers import Layer
from cropmove.rig.measures import MM_PER_INCH, millimetres
from cropmove.rig.motion import MOTIONS, Motion, motion_named
from cropmove.rig.optics import FULL_FRAME, Lens
from cropmove.rig.rig import Rig, Stop
from cropmove.rig.scale import PARTS, Scale
from cropmove.shotfile.reader import Reader, count, real, word, yes_or_no
from cropmove.units import duration

__all__ = [
    "LAYER_WORDS",
    "LENS_WORDS",
    "RIG_WORDS",
    "all_of_it",
    "is_rig_alone",
    "layer_words",
    "lens_words",
    "place_named",
    "read_layers",
    "read_lens",
    "read_rigs",
    "rig_words",
]

LENS_WORDS = (
    "focal_length", "angle", "sensor", "distance", "close_focus", "stop", "focus", "blur", "pupil",
)  # fmt: skip
RIG_WORDS = (
    "name", "moves", "start", "end", "at", "follows", "instead_of", "ratio", "distance",
    "stands_for", "ease", "ease_in", "ease_out", "unit", "radius", "thread", "parts", "division",
    "reverse", "rule", "track", "backlash", "approach", "smallest", "every", "hand",
)  # fmt: skip
LAYER_WORDS = ("name", "distance", "centre", "size", "moves_with")

_UNITS = ("mm", "in")

_At = tuple[tuple[float, ...], tuple[Stop, ...]]
"""Places, one for each stop of the keys; or stops of its own."""


def is_rig_alone(data: Mapping[str, Any]) -> bool:
    """Whether a file moves things by hand only: it needs no keys and no delivery then."""
    return "rig" in data and "key" not in data


def all_of_it(still: Size | None, delivery: Size) -> Key:
    """The key of a shot that has none: the camera sees all that the delivery's shape takes in."""
    seen = still or delivery
    width = min(seen.width, seen.height / delivery.shape)
    return Key(frame=1, framing=Framing(x=seen.width / 2, y=seen.height / 2, width=width))


def read_lens(data: Mapping[str, Any], found: Complaints) -> Lens | None:
    """What [lens] says; None where there is none or it is refused."""
    if "lens" not in data:
        return None
    table = Reader(data["lens"], "lens", LENS_WORDS, found)
    known = len(found.all)
    if "distance" not in table:
        rule = "a lens on a set is so far from the subject"
        table.lacks("distance", rule, "add distance = 800, in mm from the lens")
    values: dict[str, Any] = {
        "distance": table.take("distance", millimetres, 1000.0),
        "focal_length": table.take("focal_length", millimetres, None),
        "angle": table.take("angle", real, None),
        "sensor": table.take("sensor", _sides, FULL_FRAME),
        "close_focus": table.take("close_focus", yes_or_no, False),
        "stop": table.take("stop", real, None),
        "focus": table.take("focus", millimetres, None),
        "blur": table.take("blur", millimetres, None),
        "pupil": table.take("pupil", millimetres, 0.0),
    }
    if len(found.all) == known:
        with found.at("lens"):
            return Lens(**values)
    return None


def _sides(value: Any) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        rule = "this is a pair of lengths: across, down"
        raise complain("", value, rule, "write, say, [36, 24]")
    return millimetres(value[0]), millimetres(value[1])


def read_rigs(data: Mapping[str, Any], fps: Fraction, found: Complaints) -> tuple[Rig, ...]:
    """What the [[rig]] tables say, those left out that are refused.

    Parameters
    ----------
    data : mapping
        The file.
    fps : Fraction
    found : Complaints
    """
    rigs = (_rig(table, f"rig {n}", fps, found) for n, table in _tables(data, "rig", found))
    return tuple(rig for rig in rigs if rig)


def _tables(data: Mapping[str, Any], kind: str, found: Complaints) -> list[tuple[int, Any]]:
    tables = data.get(kind, [])
    if not isinstance(tables, list):
        with found.at(kind):
            rule = f"things of this kind are [[{kind}]] tables, one each"
            raise complain("", tables, rule, f"write [[{kind}]], then one word a line")
        return []
    return list(enumerate(tables, start=1))


def _rig(data: Any, place: str, fps: Fraction, found: Complaints) -> Rig | None:
    known = len(found.all)
    table = Reader(data, place, RIG_WORDS, found)
    for name, example in (("name", '"slider"'), ("moves", '"camera sideways"')):
        if name not in table:
            rule = "a thing moved by hand has a name, and says what it moves"
            table.lacks(name, rule, f"add {name} = {example}")
    name = table.take("name", word, "?")
    table.place = f'rig "{name:.40}"' if "name" in table else place
    # Of what is refused it is only known that it may turn.
    usual = MOTIONS["camera pan" if "radius" in table else "camera sideways"]
    motion = table.take("moves", lambda value: motion_named(word(value)), usual)
    unit = table.take("unit", _unit, "mm")
    scale = _scale(table, motion, unit)
    values = _way(table, motion, unit, fps) | _set_up(table, scale, motion, unit, fps)
    if scale and len(found.all) == known:
        with found.at(table.place):
            return Rig(name=name, motion=motion, scale=scale, **values)
    return None


def _unit(value: Any) -> str:
    if value not in _UNITS:
        raise complain("", value, "lengths are in mm or in", 'write unit = "in", or leave it out')
    return str(value)


def _scale(table: Reader, motion: Motion, unit: str) -> Scale | None:
    turns = motion.angular
    values: dict[str, Any] = {
        "angular": turns,
        "radius": _if_given(table, "radius", lambda value: millimetres(value, unit)),
        "thread": _if_given(table, "thread", lambda value: _place(value, turns, unit)),
        "parts": table.take("parts", count, PARTS),
        "inches": unit == "in",
    }
    straight = not turns or values["radius"] is not None
    values["division"] = table.take("division", lambda v: _place(v, not straight, unit), None)
    with table.found.at(table.place):
        if values["thread"] is None and "parts" in table:
            rule = "parts are parts of a turn of a screw"
            raise complain("parts", values["parts"], rule, "add thread = 1.25, in mm a turn")
        if values["thread"] is not None and "division" in table:
            rule = "a screw is read in parts of a turn"
            raise complain("division", values["division"], rule, "write parts = 10 instead")
        return Scale(**values)
    return None


def _if_given(table: Reader, name: str, read: Callable[[Any], float]) -> float | None:
    """A length that makes a scale what it is, where it is refused too."""
    return table.take(name, read, 1.0) if name in table else None


def _place(value: Any, angular: bool, unit: str) -> float:
    return real(value) if angular else millimetres(value, unit)


def _way(table: Reader, motion: Motion, unit: str, fps: Fraction) -> dict[str, Any]:
    """Where it goes, and when."""

    def place(value: Any) -> float:
        return _place(value, motion.angular, unit)

    nowhere: _At = ((), ())
    places, stops = table.take("at", lambda value: _at(value, place, fps), nowhere)
    return {
        "start": table.take("start", place, None),
        "end": table.take("end", place, None),
        "places": places,
        "stops": stops,
        "follows": table.take("follows", word, None),
        "instead_of": table.take("instead_of", word, None),
        "ratio": table.take("ratio", real, 1.0),
        "distance": table.take("distance", lambda value: millimetres(value, unit), None),
        "stands_for": table.take("stands_for", lambda value: millimetres(value, unit), None),
        "ease": table.take("ease", lambda value: ease_named(word(value)), None),
        "ease_in": table.take("ease_in", lambda value: duration(value, fps), None),
        "ease_out": table.take("ease_out", lambda value: duration(value, fps), None),
    }


def _at(value: Any, place: Callable[[Any], float], fps: Fraction) -> _At:
    """Places, one for each stop of the keys; or pairs of a frame and a place."""
    if not isinstance(value, list) or len(value) < 2:
        rule = "this is two places or more, or pairs of a frame and a place"
        raise complain("", value, rule, "write [0, 120, 240], or [[1, 0], [49, 240]]")
    if not any(isinstance(item, list) for item in value):
        return tuple(place(item) for item in value), ()
    stops = []
    for item in value:
        if not isinstance(item, list) or len(item) != 2:
            raise complain("", item, "each is a pair: a frame and a place", "write [49, 240]")
        frame, where = item
        stops.append(
            Stop(duration(frame, fps) + 1 if isinstance(frame, str) else count(frame), place(where))
        )
    return (), tuple(stops)


def _set_up(
    table: Reader, scale: Scale | None, motion: Motion, unit: str, fps: Fraction
) -> dict[str, Any]:
    """What it is read on and pushed by."""
    plain = scale is not None and scale.kind in ("screw", "protractor")

    def reading(value: Any) -> float:
        return _place(value, plain, unit)

    return {
        "reverse": table.take("reverse", yes_or_no, False),
        "rule": table.take("rule", reading, None),
        "track": table.take("track", lambda value: _place(value, motion.angular, unit), None),
        "backlash": table.take("backlash", reading, 0.0),
        "approach": table.take("approach", word, None),
        "smallest": table.take("smallest", reading, None),
        "every": table.take("every", _seconds, None),
        "hand": table.take("hand", reading, None),
    }


def _seconds(value: Any) -> float:
    """Seconds, from a number or from words such as "5 s"; to the millisecond."""
    if isinstance(value, str):
        return duration(value, Fraction(1000)) / 1000
    return real(value)


def read_layers(data: Mapping[str, Any], found: Complaints) -> tuple[Layer, ...]:
    """What the [[layer]] tables say, those left out that are refused."""
    layers = (_layer(table, f"layer {n}", found) for n, table in _tables(data, "layer", found))
    return tuple(layer for layer in layers if layer)


def _layer(data: Any, place: str, found: Complaints) -> Layer | None:
    known = len(found.all)
    table = Reader(data, place, LAYER_WORDS, found)
    for name, example in (("name", '"reeds"'), ("distance", "400")):
        if name not in table:
            rule = "a layer has a name, and stands so far from the lens"
            table.lacks(name, rule, f"add {name} = {example}")
    values: dict[str, Any] = {
        "name": table.take("name", word, "?"),
        "distance": table.take("distance", millimetres, 1.0),
        "centre": table.take("centre", _sides, None),
        "size": table.take("size", _sides, None),
        "moves_with": table.take("moves_with", _names, tuple[str, ...]()),
    }
    if len(found.all) == known:
        with found.at(place):
            return Layer(**values)
    return None


def _names(value: Any) -> tuple[str, ...]:
    return tuple(map(word, value if isinstance(value, list) else [value]))


def lens_words(lens: Lens | None) -> dict[str, Any]:
    """What [lens] would say."""
    if lens is None:
        return {}
    words: dict[str, Any] = {
        "focal_length": _number(lens.focal_length),
        "angle": _number(lens.angle),
        "sensor": [_number(side) for side in lens.sensor] if lens.sensor != FULL_FRAME else None,
        "distance": _number(lens.distance),
        "close_focus": lens.close_focus or None,
        "stop": _number(lens.stop),
        "focus": _number(lens.focus),
        "blur": _number(lens.blur),
        "pupil": _number(lens.pupil) or None,
    }
    return _said(words)


def rig_words(rig: Rig) -> dict[str, Any]:
    """What the table of a rig would say."""
    scale = rig.scale
    inch = MM_PER_INCH if scale.inches else 1.0
    by_place = 1.0 if rig.motion.angular else inch
    by_reading = 1.0 if scale.kind in ("screw", "protractor") else inch
    words: dict[str, Any] = {
        "name": rig.name,
        "moves": rig.motion.name,
        "start": _number(rig.start, by_place),
        "end": _number(rig.end, by_place),
        "at": _at_words(rig, by_place),
        "follows": rig.follows,
        "instead_of": rig.instead_of,
        "ratio": _number(rig.ratio) if rig.ratio != 1 else None,
        "distance": _number(rig.distance, inch),
        "stands_for": _number(rig.stands_for, inch),
        "ease": rig.ease.name if rig.ease else None,
        "ease_in": rig.ease_in,
        "ease_out": rig.ease_out,
        "unit": "in" if scale.inches else None,
        "radius": _number(scale.radius, inch),
        "thread": _number(scale.thread, by_place),
        "parts": scale.parts if scale.thread is not None and scale.parts != PARTS else None,
        "division": _number(scale.division, by_reading),
        "reverse": rig.reverse or None,
        "rule": _number(rig.rule, by_reading),
        "track": _number(rig.track, by_place),
        "backlash": _number(rig.backlash, by_reading) or None,
        "approach": rig.approach,
        "smallest": _number(rig.smallest, by_reading),
        "every": f"{_number(rig.every)} s" if rig.every is not None else None,
        "hand": _number(rig.hand, by_reading),
    }
    return _said(words)


def _at_words(rig: Rig, by: float) -> list[Any] | None:
    if rig.stops:
        return [[stop.frame, _number(stop.place, by)] for stop in rig.stops]
    return [_number(place, by) for place in rig.places] or None


def layer_words(layer: Layer) -> dict[str, Any]:
    """What the table of a layer would say."""
    words: dict[str, Any] = {
        "name": layer.name,
        "distance": _number(layer.distance),
        "centre": [_number(side) for side in layer.centre] if layer.centre else None,
        "size": [_number(side) for side in layer.size] if layer.size else None,
        "moves_with": _one_or_all(layer.moves_with),
    }
    return _said(words)


def _one_or_all(names: Sequence[str]) -> str | list[str] | None:
    return list(names) if len(names) > 1 else next(iter(names), None)


def _said(words: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in words.items() if value is not None}


def _number(value: float | None, per: float = 1.0) -> int | float | None:
    """A number as it is written; in another unit, where it reads back to the same bits."""
    if value is None:
        return None
    shown = value / per
    short = round(shown, 9)
    shown = short if short * per == value else shown
    return int(shown) if shown == int(shown) else shown


def place_named(
    document: tomlkit.TOMLDocument,
    kind: str,
    order: Sequence[str],
    words: Sequence[Mapping[str, Any]],
    old: Sequence[Mapping[str, Any]],
    retimed: bool,
) -> None:
    """Write tables that go by their names; what has not changed keeps its wording and comments.

    Parameters
    ----------
    document : TOMLDocument
        The file, which is changed.
    kind : str
        "rig" or "layer".
    order : sequence of str
        The words of a table, in the order of writing.
    words, old : sequences of mappings
        What the tables are to say, and what they say.
    retimed : bool
        Whether the shot's rate changes, so that seconds would be other frames.
    """
    tables = list(document.get(kind, []))
    if list(words) == list(old) and not (retimed and tables):
        return
    known = {was["name"]: (table, was) for table, was in zip(tables, old, strict=True)}
    placed = AoT([])
    for says in words:
        table, was = known.get(says["name"], (tomlkit.table(), {}))
        for name in order:
            timed = retimed and name in ("ease_in", "ease_out", "at")
            if says.get(name) == was.get(name) and not (timed and name in table):
                continue
            if name in says:
                table[name] = says[name]
            elif name in table:
                table.remove(name)
        placed.append(table)
    if tables:
        document.remove(kind)
    if len(placed):
        document.append(kind, placed)
