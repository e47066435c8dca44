"""Which frames of a shot are to be made, from what, and under which names."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path

from cropmove.errors import InputError, called, complain
from cropmove.files import speaking_plainly
from cropmove.geometry import counted
from cropmove.move.course import Course
from cropmove.move.framing import Framing
from cropmove.rendering.look import look_of
from cropmove.shot import Shot
from cropmove.stills.find import StillRef
from cropmove.units import count_or_text

__all__ = ["PIXELS", "Order", "frame_numbers", "frames_in", "not_in_shot", "orders_of"]

PIXELS = 6
"""Raised whenever the same input gives other pixels, so that older frames count as out of date."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """One frame to be made.

    Parameters
    ----------
    frame : int
        Its number.
    file : str
        The name it gets.
    inputs : str
        The fingerprint of all that it is made from.
    still : StillRef
    framings : tuple of Framing
        What it shows, one after another where the shutter is open while the camera moves.
    """

    frame: int
    file: str
    inputs: str
    still: StillRef
    framings: tuple[Framing, ...]


def orders_of(shot: Shot, course: Course, frames: Iterable[int], suffix: str) -> tuple[Order, ...]:
    """An order for each frame that has a still.

    Parameters
    ----------
    shot : Shot
    course : Course
    frames : iterable of int
        Of the shot; see `frames_in`.
    suffix : str
        Of the frames' names, with its dot.
    """
    have = len(shot.stills)
    marks = [_mark(still) for still in shot.stills.refs]
    look = repr(look_of(shot.delivery, course))
    orders = []
    for frame in frames:
        still = int(course.still[frame - 1])
        if still > have:
            continue
        framings = course.exposed(frame, shot.delivery.shutter)
        rows = [framing.to_row().tolist() for framing in framings]
        inputs = [PIXELS, rows, marks[still - 1], repr(shot.delivery), look]
        orders.append(
            Order(
                frame=frame,
                file=f"{shot.name}.{frame:04d}{suffix}",
                inputs=blake2b(json.dumps(inputs).encode(), digest_size=16).hexdigest(),
                still=shot.stills.refs[still - 1],
                framings=framings,
            )
        )
    return tuple(orders)


def frames_in(asked_for: Iterable[int], length: int) -> tuple[int, ...]:
    """Frames that are asked for, in order, each once.

    Raises
    ------
    InputError
        Where they are no whole numbers, or not in a shot of that length.

    Examples
    --------
    >>> frames_in([12, 1, 10, 1], 48)
    (1, 10, 12)
    """
    if isinstance(asked_for, str) or not isinstance(asked_for, Iterable):
        rule = "frames are several whole numbers"
        raise complain(called("frames"), asked_for, rule, "give range(1, 5), or [1, 10]")
    wanted = set()
    for frame in asked_for:
        number = counted(frame)
        if number is None or not 1 <= number <= length:
            raise not_in_shot(frame, length)
        wanted.add(number)
    return tuple(sorted(wanted))


def not_in_shot(asked: object, length: int) -> InputError:
    """The refusal of what was asked for in place of frames of a shot of that length."""
    rule = f"the shot has frames 1 to {length}"
    return complain(called("frames"), asked, rule, f"ask for frames within 1-{length}")


def _mark(still: StillRef) -> list[str | int]:
    with speaking_plainly(Path(still.path)):
        stat = still.path.stat()
    return [still.path.name, still.index, stat.st_size, stat.st_mtime_ns]


def frame_numbers(text: str, length: int) -> tuple[int, ...]:
    """Frame numbers from a text such as "10-20" or "1,10-20".

    Raises
    ------
    InputError
        Where it is no such text, or a frame is not in the shot.

    Examples
    --------
    >>> frame_numbers("1, 10-12", 48)
    (1, 10, 11, 12)
    """
    wanted: set[int] = set()
    for part in text.split(","):
        first, dash, last = (piece.strip() for piece in part.partition("-"))
        begin, end = count_or_text(first), count_or_text(last if dash else first)
        if not isinstance(begin, int) or not isinstance(end, int):
            rule = "frames are numbers and ranges between commas"
            raise complain(called("frames"), text, rule, "write, say, 10-20, or 1,10-20")
        if begin > end:
            rule = "a range runs from its first frame to its last"
            raise complain(called("frames"), part.strip(), rule, f"write {end}-{begin}")
        if not 1 <= begin <= end <= length:
            raise not_in_shot(part.strip(), length)
        wanted |= set(range(begin, end + 1))
    return tuple(sorted(wanted))
