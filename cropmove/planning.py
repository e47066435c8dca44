"""A shot from a few words: what `cropmove new` understands, and the shot it makes of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor, hypot, inf

from cropmove.errors import InputError, all_called, called, complain, placed, unknown_word
from cropmove.geometry import Size, counted, finite
from cropmove.move.ease import Ease, ease_named
from cropmove.move.framing import Framing
from cropmove.move.key import LONGEST, Key, Leg, legs
from cropmove.move.simple import Ends, Room, calm_share, hold, pan, pull_out, push_in
from cropmove.shot import Delivery, Shot, Stills, held
from cropmove.units import (
    count_or_text,
    count_text,
    duration,
    held_text,
    length,
    number_or_text,
    raster,
    rate,
    rate_text,
    seconds_text,
    whole,
)

__all__ = ["MOVES", "Wish", "plan", "planned_size"]

MOVES = ("push_in", "pull_out", "pan", "tilt", "hold", "start")
"""What a wish can ask for; one of them, but for a pan with a tilt."""

ALONE = 3
"""Seconds of a shot made from a single still, where nobody says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A shot in a few words.

    Parameters
    ----------
    push_in, pull_out : float, optional
        How many times nearer it ends, or starts.
    pan, tilt : str, optional
        "left" or "right", "up" or "down"; both together go across.
    hold : bool
        A locked-off framing.
    start, end : sequence of number or str, optional
        Exact framings: x, y and width, in pixels (1810.5) or shares of the still ("50%").
    at : sequence of number or str, optional
        The point it goes to, or comes from: x and y, likewise.
    width : number or str, optional
        Of the framing of a pan, tilt or hold, likewise.
    seconds, frames : float, int, optional
        The length of the shot; as long as the stills last where neither is given.
    ease : Ease or str, optional
        One of `EASES`, a `cubic_bezier`, or the name of one.
    ease_in, ease_out : int or str, optional
        Frames (8) or seconds ("0.5 s").
    size : Size or str
        The delivery: in pixels, a named raster ("hd"), or "1920x1080".
    on : int
        How many frames each still is held.
    fps : number or str
        Frames a second: 24, 23.976 or "24000/1001".
    still_size : Size or str, optional
        How large the stills will be, where there are none yet: in pixels, or "6000x4000".

    Examples
    --------
    >>> stills = Stills(size=Size(6000, 4000))
    >>> shot, told = plan("quay", stills, Wish(push_in=2, at=(3000, "60%"), frames=48))
    >>> shot.keys[-1].framing
    Framing(x=3000.0, y=2400.0, width=3000.0, roll=0.0)
    """

    push_in: float | None = None
    pull_out: float | None = None
    pan: str | None = None
    tilt: str | None = None
    hold: bool = False
    start: Sequence[float | str] | None = None
    end: Sequence[float | str] | None = None
    at: Sequence[float | str] | None = None
    width: float | str | None = None
    seconds: float | None = None
    frames: int | None = None
    ease: Ease | str | None = None
    ease_in: int | str | None = None
    ease_out: int | str | None = None
    size: Size | str = "hd"
    on: int = 1
    fps: Fraction | float | str = 24
    still_size: Size | str | None = None


def planned_size(wish: Wish) -> Size | None:
    """How large the stills will be, where the wish says so.

    Examples
    --------
    >>> planned_size(Wish(still_size="6000x4000")), planned_size(Wish())
    (Size(width=6000, height=4000), None)
    """
    if wish.still_size is None:
        return None
    with placed(called("still_size")):
        size = _pixels(wish.still_size)
        if size is None:
            rule = "stills have a width and a height in pixels, as the camera makes them"
            remedy = f"write, say, {called('still_size', '6000x4000')}"
            raise complain("", wish.still_size, rule, remedy)
        return size


def plan(name: str, stills: Stills, wish: Wish) -> tuple[Shot, str]:
    """The shot that a wish asks for, and a line that says what it is and how far it could go.

    Parameters
    ----------
    name : str
        The shot's name, which its frames bear.
    stills : Stills
        Those that are there, `Stills.found`; or ``Stills(size=...)`` for some to come.
    wish : Wish

    Raises
    ------
    InputError
        Where the wish is not one move, or it would leave the still or enlarge it.
    """
    if stills.size is None:
        raise complain("stills", "", "a move is made inside a still", "name stills that are there")
    asked = _asked(wish)
    with placed(called("size")):
        delivery = Delivery(size=_size(wish.size))
    with placed(called("fps")):
        fps = rate(_plain(wish.fps))
    frames = _frames(stills, wish, fps)
    room = Room(still=stills.size, delivery=delivery.size)
    goal = _goal(wish, frames, fps)
    first, last = _ends(room, wish, goal, fps, called(asked[0]))
    keys = _keys(first, last, goal)
    photographed = 0 if len(stills) == 1 else len(stills) * wish.on
    shot = Shot(
        name=name,
        stills=stills,
        delivery=delivery,
        keys=keys,
        on=wish.on,
        fps=fps,
        frames=None if frames == max(photographed, keys[-1].frame) else frames,
    )
    _keep_inside(shot, room)
    return shot, _sentence(shot, room, wish)


def _asked(wish: Wish) -> list[str]:
    """The moves that are asked for, checked to be one move."""
    if (wish.start is None) != (wish.end is None):
        rule = "an exact move has both its ends"
        raise complain(all_called(["start", "end"]), "", rule, "give both, each as X,Y,WIDTH")
    for move, ways in (("pan", ("left", "right")), ("tilt", ("up", "down"))):
        way = getattr(wish, move)
        if way is not None and way not in ways:
            raise unknown_word(called(move), way, ways, f"the way of a {move}")
    given = {move: getattr(wish, move) for move in MOVES}
    # A push-in of 0 times is no move, but it was asked for.
    asked = [move for move, value in given.items() if value is not None and value is not False]
    options = all_called(MOVES)
    if not asked:
        raise complain(
            "move", "", f"a shot is one move: {options}", f"say, for one, {called('push_in', 2)}"
        )
    if len(asked) > 1 and asked != ["pan", "tilt"]:
        value = " ".join(called(move) for move in asked)
        rule = "a shot is one move; only a pan and a tilt go together"
        raise complain(
            "move", value, rule, f"choose one, or give {called('start')} and {called('end')}"
        )
    if wish.width is not None and asked[0] not in ("pan", "tilt", "hold"):
        rule = f"{called(asked[0])} has its own widths"
        raise complain(
            called("width"), wish.width, rule, "leave it out; pan, tilt and hold take one"
        )
    if wish.at is not None and asked == ["start"]:
        rule = "an exact move says where it goes"
        raise complain(called("at"), ",".join(map(str, wish.at)), rule, "leave it out")
    return asked


def _frames(stills: Stills, wish: Wish, fps: Fraction) -> int:
    with placed(called("on")):
        held(wish.on)
    lasting = len(stills) * wish.on if len(stills) > 1 else None
    if wish.seconds is not None and wish.frames is not None:
        rule = "a length is given once"
        raise complain(all_called(["seconds", "frames"]), "", rule, "leave one of them out")
    frames = lasting or ALONE * fps
    if wish.seconds is not None:
        frames = _lasting(wish.seconds, fps)
    if wish.frames is not None:
        frames = _counted(wish.frames)
    frames = whole(frames)
    asked, value = ("frames", frames) if wish.seconds is None else ("seconds", wish.seconds)
    where = called(asked)
    if frames < 2 and not wish.hold:
        raise complain(where, value, "a move has at least 2 frames", "make it longer")
    if not 1 <= frames <= LONGEST:
        rule = f"a shot is 1 to {LONGEST:,} frames long"
        raise complain(where, value, rule, "give, say, 48")
    if lasting and frames > lasting:
        rule = f"{len(stills)} stills held for {wish.on} last {lasting} frames"
        most = f"{lasting} frames ({seconds_text(lasting, fps)})"
        remedy = f"ask for at most {most}, or for a larger {called('on')}"
        raise complain(where, value, rule, remedy)
    return frames


def _counted(frames: int) -> int:
    counts = counted(frames)
    if counts is None:
        rule = "a length in frames is a whole number"
        raise complain(called("frames"), frames, rule, "give, say, 48")
    return counts


def _lasting(seconds: float, fps: Fraction) -> Fraction:
    if isinstance(seconds, str):
        raise complain(called("seconds"), seconds, "this is a number", "give, say, 2.5")
    if not 0 < seconds * fps <= LONGEST:
        rule = f"a shot is 1 to {LONGEST:,} frames long"
        remedy = f"give more than 0 and at most {int(LONGEST / fps)}"
        raise complain(called("seconds"), seconds, rule, remedy)
    return Fraction(str(seconds)) * fps


def _goal(wish: Wish, frames: int, fps: Fraction) -> Key:
    """The last key but for its framing: its frame and its eases."""
    with placed(called("ease")):
        ease = ease_named(wish.ease) if isinstance(wish.ease, str) else wish.ease
    with placed(called("ease_in")):
        ease_in = _moment(wish.ease_in, fps)
    with placed(called("ease_out")):
        ease_out = _moment(wish.ease_out, fps)
    anywhere = Framing(x=0, y=0, width=1)
    return Key(frame=frames, framing=anywhere, ease=ease, ease_in=ease_in, ease_out=ease_out)


def _moment(given: int | str | None, fps: Fraction) -> int | None:
    if given is None:
        return None
    frames = count_or_text(given) if isinstance(given, str) else counted(given)
    return duration(given if frames is None else frames, fps)


def _ends(room: Room, wish: Wish, goal: Key, fps: Fraction, option: str) -> Ends:
    with placed(called("at")):
        at = _place(wish.at, room) if wish.at is not None else None
    with placed(called("width")):
        width = length(_plain(wish.width), room.still.width) if wish.width is not None else None
        if width is not None:
            width = hold(room, width)[0].width
    if wish.start is not None and wish.end is not None:
        return _exact(called("start"), wish.start, room), _exact(called("end"), wish.end, room)
    with placed(option):
        if wish.push_in is not None:
            finite("", wish.push_in)
            first, last = push_in(room, wish.push_in, at)
        elif wish.pull_out is not None:
            finite("", wish.pull_out)
            first, last = pull_out(room, wish.pull_out, at)
        elif wish.hold:
            first, last = hold(room, width, at)
        else:
            leg = Leg((Key(frame=1, framing=goal.framing), goal))
            share = calm_share(leg.ease, leg.steps, leg.ease_lengths)
            first, last = pan(room, _way(wish), share, width, at)
    return _legible(first, last, room), _legible(last, first, room)


def _legible(framing: Framing, other: Framing, room: Room) -> Framing:
    """A framing in hundredths of a pixel, for a shot file that is to be read and changed by hand.

    It is no narrower, so that nothing is enlarged, and no further from the `other` end.

    Examples
    --------
    >>> room = Room(still=Size(6000, 4000), delivery=Size(1920, 1080))
    >>> framing = Framing(x=2584.8214285714303, y=2000, width=3529.4117647)
    >>> plain = _legible(framing, Framing(x=3415, y=2000, width=3529.4117647), room)
    >>> plain.x, plain.y, plain.width
    (2584.83, 2000.0, 3529.42)
    """
    x, y = _toward(framing.x, other.x), _toward(framing.y, other.y)
    widest = max(_toward(room.widest.width, 0), room.closest)
    width = min(_toward(framing.width, inf), widest)
    return room.inside(Framing(x=x, y=y, width=width))


def _toward(value: float, other: float) -> float:
    """The nearest hundredth on the way to another number."""
    hundredths = round(value * 100, 6)
    return (ceil(hundredths) if other > value else floor(hundredths)) / 100


def _way(wish: Wish) -> str:
    return " ".join(way for way in (wish.tilt, wish.pan) if way)


def _called_way(wish: Wish) -> str:
    """The way as it was asked for.

    Examples
    --------
    >>> _called_way(Wish(pan="right")), _called_way(Wish(tilt="up", pan="left"))
    ('pan right', 'tilt up, pan left')
    """
    ways = (("tilt", wish.tilt), ("pan", wish.pan))
    return ", ".join(f"{move} {way}" for move, way in ways if way) or "across"


def _place(words: Sequence[float | str], room: Room) -> tuple[float, float]:
    x, y = _several(words, 2, "a point is x and y", '("50%", "40%")')
    return length(_plain(x), room.still.width), length(_plain(y), room.still.height)


def _several(
    words: Sequence[float | str], count: int, rule: str, example: str
) -> Sequence[float | str]:
    if isinstance(words, str) or len(words) != count:
        raise complain("", words, rule, f"give, say, {example}")
    return words


def _exact(option: str, words: Sequence[float | str], room: Room) -> Framing:
    with placed(option):
        _several(words, 3, "an exact framing is x, y and width", '("50%", "50%", "80%")')
        x, y = _place(words[:2], room)
        width = length(_plain(words[2]), room.still.width)
        return room.within(Framing(x=x, y=y, width=width))


def _keys(first: Framing, last: Framing, goal: Key) -> tuple[Key, ...]:
    start = Key(frame=1, framing=first)
    if first == last:
        return (start,)
    keys = (start, replace(goal, framing=last))
    legs(keys)
    return keys


def _keep_inside(shot: Shot, room: Room) -> None:
    """Refuse an ease that runs past the ends of the move and there leaves the still."""
    ease = shot.keys[-1].ease
    if ease is None or not ease.overshoots:
        return
    try:
        for framing in map(Framing.from_row, shot.course().rows):
            room.within(framing)
    except InputError:
        rule = "this ease runs past the ends of the move, where the still is left or enlarged"
        remedy = f"take another ease, or a smaller move with {called('start')} and {called('end')}"
        raise complain(called("ease"), ease.name, rule, remedy) from None


def _size(given: Size | str) -> Size:
    return _pixels(given) or raster(str(given))


def _pixels(given: Size | str) -> Size | None:
    """A size, or one that is written as WIDTHxHEIGHT; None where it is not."""
    if isinstance(given, Size):
        return given
    if not isinstance(given, str):
        raise complain("", given, "this is a Size or a text", 'give Size(1920, 1080), or "hd"')
    across, by, down = given.lower().replace("×", "x").partition("x")
    width, height = count_or_text(across), count_or_text(down)
    if by and isinstance(width, int) and isinstance(height, int):
        return Size(width, height)
    return None


def _plain(given: Fraction | float | str) -> Fraction | float | str:
    if isinstance(given, str):
        return number_or_text(given.strip())
    counts = counted(given)
    return given if counts is None else counts


def _sentence(shot: Shot, room: Room, wish: Wish) -> str:
    """What was made, and how far it could still go."""
    first, last = shot.keys[0].framing, shot.keys[-1].framing
    frames = shot.length
    timed = f"{seconds_text(frames, shot.fps)} at {rate_text(shot.fps)}"
    lasts = f"{count_text(frames, 'frame')} ({timed})"
    most = floor(room.most * 1000) / 1000
    closest = f"{room.closest:.6g} px wide ({most:g} times nearer than the widest)"
    if len(shot.keys) == 1:
        what = f"hold: {first.width:.6g} px wide for {lasts}"
    elif first.width != last.width:
        what = f"{'push in' if last.width < first.width else 'pull out'}: "
        what += f"{first.width:.6g} to {last.width:.6g} px wide in {lasts}"
    else:
        moved = hypot(last.x - first.x, last.y - first.y)
        what = f"{_called_way(wish)}: {moved:.6g} px of the still, "
        what += f"{first.width:.6g} px wide, in {lasts}"
    to_come = "" if len(shot.stills) else f"; {_to_photograph(shot)}"
    return f"{what}; without enlarging, a framing could be as close as {closest}{to_come}"


def _to_photograph(shot: Shot) -> str:
    stills = count_text(ceil(shot.length / shot.on), "still")
    return f"{stills} of {shot.stills.size} to be photographed ({held_text(shot.on)})"
