"""[shot] and [delivery]."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from fractions import Fraction
from typing import Any

from cropmove.errors import Complaints
from cropmove.geometry import Size
from cropmove.shot import Delivery, Shot, Stills, held, lasting
from cropmove.shotfile.reader import Reader, count, real, size, word
from cropmove.shotfile.rig import is_rig_alone
from cropmove.shotfile.survey import Survey
from cropmove.units import duration, rate, rate_text

__all__ = [
    "DELIVERY_WORDS",
    "SHOT_WORDS",
    "delivery_words",
    "read_delivery",
    "read_shot",
    "shot_words",
]

SHOT_WORDS = ("stills", "still_size", "on", "fps", "frames")
DELIVERY_WORDS = (
    "size", "format", "depth", "max_scale", "kernel", "quality", "compression", "colour", "shutter",
)  # fmt: skip


def read_shot(data: Mapping[str, Any], survey: Survey, found: Complaints) -> dict[str, Any]:
    """What [shot] says, as arguments of `Shot`."""
    table = Reader(data.get("shot", {}), "shot", SHOT_WORDS, found)
    fps = table.take("fps", rate, Fraction(24))
    return {
        "stills": _surveyed(table, survey),
        "fps": fps,
        "on": table.take("on", lambda value: held(count(value)), 1),
        "frames": table.take("frames", lambda value: lasting(duration(value, fps)), None),
    }


def _surveyed(table: Reader, survey: Survey) -> Stills:
    planned = table.take("still_size", size, None)
    source = table.take("stills", word, "")
    is_read = table.is_table and (source or "stills" not in table)
    if is_read and (planned or "still_size" not in table):
        with table.found.at(f"{table.place}, stills" if source else table.place):
            return survey(source, planned)
    # The file is refused; a size all the same, so that no share in it is blamed for that.
    return Stills(source=source, size=planned or Size(1920, 1080))


def read_delivery(data: Mapping[str, Any], found: Complaints) -> Delivery:
    """What [delivery] says; HD where it is refused, for reading on, or for a rig alone."""
    stand_in = Delivery(size=Size(1920, 1080))
    if "delivery" not in data and is_rig_alone(data):
        return stand_in
    if "delivery" not in data:
        Reader({}, "delivery", DELIVERY_WORDS, found).lacks(
            "", "a shot file says what is to be delivered", 'add [delivery] with size = "hd"'
        )
        return stand_in
    table = Reader(data["delivery"], "delivery", DELIVERY_WORDS, found)
    if "size" not in table:
        table.lacks("size", "a delivery has a size", 'add size = "hd", or size = [1920, 1080]')
    values: dict[str, Any] = {
        "size": table.take("size", size, stand_in.size),
        "format": table.take("format", word, stand_in.format),
        "depth": table.take("depth", count, None),
        "max_scale": table.take("max_scale", real, stand_in.max_scale),
        "kernel": table.take("kernel", word, None),
        "quality": table.take("quality", count, None),
        "compression": table.take("compression", word, stand_in.compression),
        "colour": table.take("colour", word, stand_in.colour),
        "shutter": table.take("shutter", real, stand_in.shutter),
    }
    with found.at("delivery"):
        return Delivery(**values)
    return stand_in


def shot_words(shot: Shot) -> dict[str, Any]:
    """What [shot] would say."""
    size_ = shot.stills.size
    words = {
        "stills": shot.stills.source or None,
        "still_size": [size_.width, size_.height] if size_ and not shot.stills.refs else None,
        "on": shot.on if shot.on != 1 else None,
        "fps": _fps_word(shot.fps) if shot.fps != 24 else None,
        "frames": shot.frames,
    }
    return {name: value for name, value in words.items() if value is not None}


def _fps_word(fps: Fraction) -> int | str:
    return int(fps) if fps.denominator == 1 else rate_text(fps)


def delivery_words(delivery: Delivery) -> dict[str, Any]:
    """What [delivery] would say."""
    words: dict[str, Any] = {"size": [delivery.size.width, delivery.size.height]}
    for field in fields(Delivery)[1:]:
        value = getattr(delivery, field.name)
        if value != field.default:
            words[field.name] = value
    return words
