"""The move worked out: one framing for every delivered frame. All else only reads it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, fields
from fractions import Fraction
from functools import partial

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cropmove.errors import complain
from cropmove.geometry import Floats, Size, corner_offsets, counted, hold_unwritable
from cropmove.move.ease import keeping_time
from cropmove.move.framing import Framing, in_frame, on_still
from cropmove.move.key import LONGEST, Key, Leg, cuts_of, legs
from cropmove.move.path import Route, route_through

__all__ = ["LONGEST", "Course", "Move", "corner_moves", "corner_steps"]


_SLACK = 1e-9
"""Pixels: what arithmetic may add to a step."""

_PARTS = 16
"""An opening of the shutter is looked at in so many parts, to see how fast the camera is in it."""
_UNSEEN = 0.1
"""Delivered pixels: a shorter way while the shutter is open changes less than a code of 8 bits."""
_FASTEST = 16
"""Times as fast as on the average of an opening: what passes faster is left a sixteenth as bright,
and is not worth the many moments that would set it a pixel apart."""


@dataclass(frozen=True, slots=True)
class Move:
    """Keys, and the way and pace between them, for a delivery of one shape.

    Parameters
    ----------
    keys : tuple of Key
        In the order of their frames; one key is a locked-off framing.
    delivery : Size

    Raises
    ------
    InputError
        All faults of the keys at once; see `cropmove.move.key.legs`.

    Examples
    --------
    >>> wide, tight = Framing(x=3000, y=2000, width=6000), Framing(x=3000, y=2000, width=3000)
    >>> move = Move((Key(frame=1, framing=wide), Key(frame=49, framing=tight)), Size(1920, 1080))
    >>> move.at(np.array([1.0, 49.0, 60.0]))[:, 2].tolist()
    [6000.0, 3000.0, 3000.0]
    """

    keys: tuple[Key, ...]
    delivery: Size
    legs: tuple[Leg, ...] = field(init=False, compare=False)
    routes: tuple[Route, ...] = field(init=False, compare=False, repr=False)
    cuts: tuple[Leg, ...] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "keys", tuple(self.keys))
        made = legs(self.keys)
        object.__setattr__(self, "legs", made)
        shape = self.delivery.shape
        routes = (route_through([key.framing for key in leg.keys], shape) for leg in made)
        object.__setattr__(self, "routes", tuple(routes))
        object.__setattr__(self, "cuts", cuts_of(made))

    def __repr__(self) -> str:
        first, last = self.keys[0].frame, self.keys[-1].frame
        return f"Move({len(self.keys)} keys, frames {first} to {last}, {self.delivery})"

    def at(self, frames: ArrayLike) -> Floats:
        """(n, 4) rows of x, y, width and roll at n moments, counted in frames; parts count too.

        Before the first key and after the last the camera holds. At the frame of a key the row is
        the key's, to the last bit.
        """
        frames = np.asarray(frames, dtype=np.float64)
        rows = np.empty((len(frames), 4))
        rows[:] = self.keys[0].framing.to_row()
        for leg, route in zip(self.legs, self.routes, strict=True):
            inside = (frames > leg.start.frame) & (frames < leg.end.frame)
            if inside.any():
                rows[inside] = _rows_on(leg, route, frames[inside])
            rows[frames >= leg.end.frame] = leg.end.framing.to_row()
        for key in self.keys:
            rows[frames == key.frame] = key.framing.to_row()
        return rows


def _rows_on(leg: Leg, route: Route, frames: Floats) -> Floats:
    if leg.is_hold:
        return np.tile(leg.start.framing.to_row(), (len(frames), 1))
    if leg.steps == 1:  # no ease is seen between two frames: a shutter sees an even step
        return route.path.at(frames - leg.start.frame)
    progress = leg.ease.progress(frames - leg.start.frame, leg.steps, *leg.ease_lengths)
    if leg.passed:
        progress = keeping_time(progress, leg.due, route.knots, route.ease_through)
    return route.path.at(progress)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """A framing for each delivered frame, as columns; `course[frame]` is one of them.

    Its columns cannot be written to. Going over it gives the framings, from the first frame's on.

    Attributes
    ----------
    move : Move
        What it was worked out from; `move.at` answers for moments between frames.
    fps : Fraction
    frame, still : (n,) int arrays
        Delivered frames from 1, and the still that each shows, from 1.
    rows : (n, 4) array
        x, y, width, roll.
    step : (n,) array
        From the frame before to this one, in delivered pixels: how far the frame corner that
        moves most has gone. 0 for the first.

    Examples
    --------
    >>> wide, tight = Framing(x=3000, y=2000, width=6000), Framing(x=3000, y=2000, width=3000)
    >>> move = Move((Key(frame=1, framing=wide), Key(frame=49, framing=tight)), Size(1920, 1080))
    >>> course = Course.of(move, frames=49, on=2, fps=Fraction(24))
    >>> len(course), course[49].width, course.still[:5].tolist()
    (49, 3000.0, [1, 1, 2, 2, 3])
    """

    move: Move
    fps: Fraction
    frame: NDArray[np.int64]
    still: NDArray[np.int64]
    rows: Floats
    step: Floats

    @classmethod
    def of(
        cls, move: Move, *, frames: int, on: int = 1, fps: Fraction, one_still: bool = False
    ) -> Course:
        """The course of a move over `frames` frames, each still held for `on` of them.

        Parameters
        ----------
        move : Move
        frames : int
            1 to 1,000,000.
        on : int
            From 1.
        fps : Fraction
        one_still : bool
            Whether a single still serves all frames.
        """
        if not 1 <= frames <= LONGEST:
            rule = f"a shot is 1 to {LONGEST:,} frames long"
            raise complain("frames", frames, rule, "check the frame of the last key")
        if on < 1:
            rule = "each still is held for a whole number of frames, from 1"
            raise complain("on", on, rule, "1 is on ones, 2 on twos")
        frame = np.arange(1, frames + 1, dtype=np.int64)
        rows = move.at(frame.astype(np.float64))
        return cls(
            move=move,
            fps=fps,
            frame=frame,
            still=np.ones_like(frame) if one_still else (frame - 1) // on + 1,
            rows=rows,
            step=np.concatenate([[0.0], corner_steps(rows, move.delivery)]),
        )

    def __post_init__(self) -> None:
        hold_unwritable(self, "frame", "still", "rows", "step")

    def __reduce__(self) -> tuple[Callable[[], Course], tuple[()]]:
        # Made anew, so that a copy's columns cannot be written to either.
        given = {one.name: getattr(self, one.name) for one in fields(self)}
        return partial(type(self), **given), ()

    def __repr__(self) -> str:
        return f"Course({len(self)} frames at {self.fps}, {self.delivery})"

    def __len__(self) -> int:
        return len(self.frame)

    def __getitem__(self, frame: int) -> Framing:
        """The framing of a frame, counted from 1."""
        if counted(frame) is None:
            raise TypeError("a course gives one frame, counted from 1; slice its columns instead")
        if not 1 <= frame <= len(self):
            raise IndexError(f"frame {frame} of a course of {len(self)}")
        return Framing.from_row(self.rows[frame - 1])

    def __iter__(self) -> Iterator[Framing]:
        """The framings of all frames, from frame 1 to the last."""
        # Left to `__getitem__`, Python would ask for frame 0 and take it for the end.
        return map(Framing.from_row, self.rows)

    def __reversed__(self) -> Iterator[Framing]:
        return map(Framing.from_row, self.rows[::-1])

    def exposed(self, frame: int, shutter: float) -> tuple[Framing, ...]:
        """The framings that a frame shows one after another while the shutter is open.

        Parameters
        ----------
        frame : int
            From 1.
        shutter : float
            Degrees of a turn a frame: at 180 the shutter is open for half of the frame's time.

        Returns
        -------
        tuple of Framing
            Centred on the frame, and so many that what moves most goes at most one delivered pixel
            from each to the next: nothing is seen twice. At least two, or blur would set in at
            once where a way comes to a pixel; a single one where nothing is seen to move. Nothing
            is seen of the other side of a cut, see `cropmove.move.key.cuts_of`.

        Notes
        -----
        The n moments are evenly apart, by 1 / √(n² - 1) of the opening: so they spread as much as
        the whole of it does.
        """
        if not shutter:
            return (self[frame],)

        def at(places: Floats) -> Floats:
            return self.move.at(_moments(self.move, np.array([frame]), shutter, places)[0])

        parts = _both_ways(at(np.linspace(-1, 1, _PARTS + 1)), self.delivery)
        if parts.sum() <= _UNSEEN:
            return (self[frame],)
        # As many as are needed where all of the opening sees as much as its fastest part.
        count = max(2, int(np.ceil(np.hypot(_PARTS * parts.max(), 1) - _SLACK)))
        most = int(np.ceil(_FASTEST * parts.sum()))
        seen = at(_spread(count))
        while (gap := _both_ways(seen, self.delivery).max()) > 1 + _SLACK and count < most:
            count = min(int(np.ceil(count * gap)), most)
            seen = at(_spread(count))
        return tuple(Framing.from_row(row) for row in seen)

    def opened(self, shutter: float) -> Floats:
        """What each frame's shutter sees from when it opens until it closes: (n, m, 4) rows.

        Parameters
        ----------
        shutter : float
            As for `exposed`.

        Returns
        -------
        array
            x, y, width and roll at m moments of each frame, its own in the middle; at that one
            alone where the shutter is 0.
        """
        if not shutter:
            return self.rows[:, None]
        moments = _moments(self.move, self.frame, shutter, np.linspace(-1, 1, 5))
        return self.move.at(moments.ravel()).reshape(*moments.shape, 4)

    @property
    def delivery(self) -> Size:
        """The delivered size."""
        return self.move.delivery

    @property
    def x(self) -> Floats:
        """Centres across, in pixels of the still."""
        return self.rows[:, 0]

    @property
    def y(self) -> Floats:
        """Centres down, in pixels of the still."""
        return self.rows[:, 1]

    @property
    def width(self) -> Floats:
        """Widths, in pixels of the still."""
        return self.rows[:, 2]

    @property
    def height(self) -> Floats:
        """Heights, in pixels of the still."""
        return self.width * self.delivery.shape

    @property
    def roll(self) -> Floats:
        """Degrees; positive turns the camera clockwise seen from behind it."""
        return self.rows[:, 3]

    @property
    def scale(self) -> Floats:
        """Delivered pixels per still pixel."""
        return np.asarray(self.delivery.width / self.width)

    @property
    def travel(self) -> Floats:
        """The sum of the steps so far, in delivered pixels."""
        return np.asarray(np.cumsum(self.step))

    @property
    def seconds(self) -> Floats:
        """When each frame begins, in seconds from the first."""
        return np.asarray((self.frame - 1) * float(1 / self.fps))

    def corners(self) -> Floats:
        """The frames' corners on the still: (n, 4, 2), clockwise from the frame's top left."""
        return on_still(self.rows[:, None], corner_offsets(self.delivery.shape))


def corner_moves(rows: Floats, shape: float) -> Floats:
    """What stands in the corners of each frame, followed into the next: (n - 1, 4, 2).

    Parameters
    ----------
    rows : (n, 4) array
        x, y, width, roll.
    shape : float
        The frame's height over its width.

    Returns
    -------
    array
        Frame widths.

    Examples
    --------
    >>> corner_moves(np.array([[960, 540, 1920, 0], [979.2, 540, 1920, 0]]), 0.5625)[0, 0].round(6)
    array([-0.01,  0.  ])
    """
    offsets = corner_offsets(shape)
    seen = in_frame(rows[1:, None], on_still(rows[:-1, None], offsets))
    return np.asarray(seen - offsets)


def corner_steps(rows: Floats, delivery: Size) -> Floats:
    """How far the frame corner that moves most goes from each row to the next.

    What stands in a corner of one frame is followed into the next.

    Parameters
    ----------
    rows : (n, 4) array
        x, y, width, roll.
    delivery : Size

    Returns
    -------
    (n - 1,) array
        Delivered pixels.

    Examples
    --------
    >>> corner_steps(np.array([[960, 540, 1920, 0], [970, 540, 1920, 0.0]]), Size(1920, 1080))
    array([10.])
    """
    moved = corner_moves(rows, delivery.shape) * delivery.width
    return np.asarray(np.hypot(moved[..., 0], moved[..., 1]).max(axis=1))


def _moments(move: Move, frames: NDArray[np.int64], shutter: float, places: Floats) -> Floats:
    """Moments while the shutter is open for each of the frames: (frames, places).

    Places run from -1, where it opens, to 1, where it closes; beside a cut that side of it stands
    still.
    """
    half = shutter / 360 / 2
    is_begun = np.isin(frames, [leg.end.frame for leg in move.cuts])
    is_ended = np.isin(frames, [leg.start.frame for leg in move.cuts])
    begin = frames - np.where(is_begun, 0.0, half)
    end = frames + np.where(is_ended, 0.0, half)
    moments = frames[:, None] + half * places
    return np.asarray(np.clip(moments, begin[:, None], end[:, None]))


def _spread(count: int) -> Floats:
    """So many places, from 2, evenly apart, that spread as what runs from -1 to 1 does.

    Their standard deviation is 1/√3. The middles of as many equal parts spread less and leave too
    much contrast: of two moments of a blur of two pixels, 8 % of a photograph's.
    """
    return np.asarray((2 * np.arange(count) + 1 - count) / np.sqrt(count**2 - 1))


def _both_ways(rows: Floats, delivery: Size) -> Floats:
    """`corner_steps` from each row to the next or back, whichever is further.

    Where the camera pulls out, what comes into a corner has gone further than what leaves it.
    """
    return np.maximum(corner_steps(rows, delivery), corner_steps(rows[::-1], delivery)[::-1])
