"""The simple moves inside a still, from a few words: push in, pull out, pan, tilt, hold.

Each gives a first and a last framing that stay inside the still and do not enlarge it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from cropmove.errors import complain, unknown_word
from cropmove.geometry import Size
from cropmove.move.ease import Ease
from cropmove.move.framing import Framing

__all__ = ["CALM_STEP", "Room", "calm_share", "hold", "pan", "pull_out", "push_in"]

CALM_STEP = 1 / 168
"""Of the frame's width: the most that a pan steps, at any rate, if it is not to strobe. A detail
takes seven seconds or more to cross the frame at 24 frames a second and a half-turn shutter:
cinematographers' tradition, the seven-second rule."""

_SLACK = 1e-6
"""Pixels: what arithmetic may add to a framing that ends on the edge."""

Ends = tuple[Framing, Framing]

_WAYS = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """How far a camera can go in a still: out to its edges, in to native scale.

    Parameters
    ----------
    still, delivery : Size
    max_scale : float
        Delivered pixels per still pixel, at the most.

    Raises
    ------
    InputError
        Where even the widest framing would be enlarged.

    Examples
    --------
    >>> room = Room(still=Size(6000, 4000), delivery=Size(1920, 1080))
    >>> room.widest.width, room.closest, room.most
    (6000.0, 1920.0, 3.125)
    """

    still: Size
    delivery: Size
    max_scale: float = 1.0

    def __post_init__(self) -> None:
        if self.most < 1:
            rule = f"a still of {self.still} has fewer pixels than a delivery of {self.delivery}"
            across = int(self.widest.width * self.max_scale)
            remedy = f"deliver {across} px wide or less" if across else "deliver another shape"
            raise complain("size", str(self.delivery), rule, remedy)

    @property
    def widest(self) -> Framing:
        """The widest framing that fits into the still, in its middle."""
        # Multiplied first: a still of the delivery's own size must fit to the last bit.
        by_height = self.still.height * self.delivery.width / self.delivery.height
        width = min(self.still.width, by_height)
        return Framing(x=self.still.width / 2, y=self.still.height / 2, width=width)

    @property
    def closest(self) -> float:
        """The narrowest width that is not enlarged."""
        return self.delivery.width / self.max_scale

    @property
    def most(self) -> float:
        """How many times nearer the closest framing is than the widest."""
        return self.widest.width / self.closest

    def within(self, framing: Framing) -> Framing:
        """The framing itself, where it is inside the still and not enlarged.

        Raises
        ------
        InputError
            Where it is not; the nearest that would do is told.
        """
        _of_width(self, framing.width)
        inside = self.inside(framing)
        if max(abs(inside.x - framing.x), abs(inside.y - framing.y)) > _SLACK:
            rule = f"a framing stays inside the still of {self.still}"
            remedy = f"its centre could be {inside.x:.6g}, {inside.y:.6g}"
            raise complain("centre", f"{framing.x:.6g}, {framing.y:.6g}", rule, remedy)
        return framing

    def inside(self, framing: Framing) -> Framing:
        """The framing, moved as little as it takes to stay inside the still."""
        across, down = framing.width / 2, framing.height(self.delivery) / 2
        return replace(
            framing,
            x=min(max(framing.x, across), self.still.width - across),
            y=min(max(framing.y, down), self.still.height - down),
        )


def push_in(room: Room, times: float, at: tuple[float, float] | None = None) -> Ends:
    """From the widest framing to one so many times nearer, about a point of the still.

    Raises
    ------
    InputError
        Where `times` is not above 1, or would enlarge the still.

    Examples
    --------
    >>> room = Room(still=Size(6000, 4000), delivery=Size(1920, 1080))
    >>> push_in(room, 2)[1].width
    3000.0
    """
    if not np.isfinite(times) or times <= 1:
        rule = "a push in ends nearer than it starts: above 1 time"
        raise complain("", times, rule, "give, say, 2 to end twice as near")
    if times > room.most * (1 + 1e-9):
        rule = f"nearer than {room.most:.4g} times the still would be enlarged"
        most = np.floor(room.most * 1000) / 1000
        remedy = f"give at most {most:g}" if most > 1 else "deliver fewer pixels"
        raise complain("", times, rule, remedy)
    widest = room.widest
    x, y = at or (widest.x, widest.y)
    return widest, room.inside(Framing(x=x, y=y, width=widest.width / times))


def pull_out(room: Room, times: float, at: tuple[float, float] | None = None) -> Ends:
    """A push in, backwards."""
    start, end = push_in(room, times, at)
    return end, start


def hold(room: Room, width: float | None = None, at: tuple[float, float] | None = None) -> Ends:
    """The same framing throughout: the widest, or one of a given width about a point."""
    framing = room.widest if width is None else _of_width(room, width)
    if at:
        framing = room.inside(replace(framing, x=at[0], y=at[1]))
    return framing, framing


def pan(
    room: Room,
    way: str,
    share: float,
    width: float | None = None,
    at: tuple[float, float] | None = None,
) -> Ends:
    """Across the still, left, right, up or down, about its middle or as near a point as it can.

    Parameters
    ----------
    room : Room
    way : str
        The way the camera goes: "left" or "right" for a pan, "up" or "down" for a tilt, or one of
        each ("up right").
    share : float
        How far, in frame widths at the most; less where the still ends before.
    width : float or None
        Of the framing, in pixels of the still; None for half the widest, or native.
    at : (x, y) or None
        The middle of the way, in pixels of the still.

    Raises
    ------
    InputError
        Where there is no room to move that way.

    Examples
    --------
    >>> room = Room(still=Size(6000, 4000), delivery=Size(1920, 1080))
    >>> [framing.x for framing in pan(room, "right", 0.5)]
    [2250.0, 3750.0]
    """
    for word in way.split() or [way]:
        if word not in _WAYS:
            raise unknown_word("", word, _WAYS, "a way to go")
    framing = _of_width(room, max(room.closest, room.widest.width / 2) if width is None else width)
    goes = np.sum([_WAYS[word] for word in way.split()], axis=0) / np.sqrt(len(way.split()))
    taken = np.array([framing.width, framing.height(room.delivery)])
    free = np.array([room.still.width, room.still.height]) - taken
    if free[goes != 0].min() < 1:
        rule = f"a framing {framing.width:g} px wide fills the still that way: nowhere to go"
        raise complain("", way, rule, "photograph more around the set, or deliver fewer pixels")
    far = min(share * framing.width, *(free[goes != 0] / abs(goes[goes != 0])))
    half = goes * far / 2
    middle = np.array([framing.x, framing.y])
    if at:
        spare = free / 2 - abs(half)
        middle += np.clip(np.array(at) - middle, -spare, spare)
    (x0, y0), (x1, y1) = (middle - half).tolist(), (middle + half).tolist()
    return replace(framing, x=x0, y=y0), replace(framing, x=x1, y=y1)


def _of_width(room: Room, width: float) -> Framing:
    if not room.closest * (1 - 1e-9) <= width <= room.widest.width * (1 + 1e-9):
        rule = (
            f"a framing inside this still, not enlarged, is {room.closest:.6g} "
            f"to {room.widest.width:.6g} px wide"
        )
        raise complain("width", width, rule, "give a width in that range")
    return replace(room.widest, width=min(max(width, room.closest), room.widest.width))


def calm_share(ease: Ease, steps: int, lengths: tuple[int, int]) -> float:
    """How far a pan may go, in frame widths, so that its fastest step does not strobe.

    Examples
    --------
    >>> from cropmove.move.ease import EASES
    >>> round(calm_share(EASES["none"], 168, (0, 0)), 9)
    1.0
    """
    progress = ease.progress(np.arange(steps + 1, dtype=np.float64), steps, *lengths)
    return float(CALM_STEP / np.abs(np.diff(progress)).max())
