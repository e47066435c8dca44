"""A shot: the stills, what the camera does, what is to be delivered. A plain value."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import nan
from pathlib import Path

from cropmove.errors import Complaints, InputError, complain, unknown_word
from cropmove.formats import Encoding
from cropmove.geometry import Floats, Size, counted, finite
from cropmove.limits import Limits
from cropmove.move.course import LONGEST, Course, Move
from cropmove.move.key import Key, legs
from cropmove.move.subject import Subject
from cropmove.picture.kernels import kernel_named
from cropmove.rig.layers import Layer, Sight, sights
from cropmove.rig.optics import Lens
from cropmove.rig.rig import Rig
from cropmove.rig.timing import Timing
from cropmove.rig.twin import View
from cropmove.rig.working import Table, work_out
from cropmove.stills.find import StillRef, find_stills
from cropmove.stills.read import read_header
from cropmove.units import held_text, rate, rate_text

__all__ = ["Delivery", "Shot", "Stills", "held", "lasting"]


USUAL_LIMITS = Limits()
"""Those of a shot that sets none."""

COLOURS = ("still", "srgb")
"""Which colour space frames are delivered in: the stills' own, or sRGB."""


def held(on: object) -> int:
    """How many frames each still is held, if that can be."""
    frames = counted(on)
    if frames is None or not 1 <= frames <= LONGEST:
        rule = "each still is held for a whole number of frames, from 1"
        raise complain("", on, rule, "write on = 1 for ones, on = 2 for twos")
    return frames


def lasting(length: object) -> int:
    """A shot's length in frames, if that can be."""
    frames = counted(length)
    if frames is None or not 1 <= frames <= LONGEST:
        rule = f"a shot is 1 to {LONGEST:,} frames long"
        raise complain("", length, rule, "leave it out to take it from the stills")
    return frames


def _check_name(name: object) -> None:
    """Refuse what no file could be named after."""
    is_part = isinstance(name, str) and name and not any(sign in name for sign in _NO_NAME)
    if not is_part:
        rule = "frames are named after the shot: a name is a part of a file's name"
        raise complain("", '""' if name == "" else name, rule, 'give, say, "quay", without folders')


_NO_NAME = {"/", "\0", os.sep}
"""What parts the folders of a path, here too, and what ends it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stills:
    """The photographed pictures of a shot.

    Parameters
    ----------
    source : str
        As written in the shot file.
    refs : tuple of StillRef
        What was found, in order; empty for a shot that is not photographed yet.
    size : Size or None
        Of the first still, upright; None where nothing tells.
    """

    source: str = ""
    refs: tuple[StillRef, ...] = ()
    size: Size | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "refs", tuple(self.refs))

    @classmethod
    def found(
        cls, source: str | Path, folder: str | Path = "", *, planned: Size | None = None
    ) -> Stills:
        """The stills that are there, each with its whole path: another current folder loses none.

        Parameters
        ----------
        source : str or path
            A folder, a glob (``harbour/*.jpg``), a numbered pattern (``shot_####.jpg``), one
            picture, or a movie.
        folder : str or path
            Where `source` is seen from; the current folder where it is not given.
        planned : Size, optional
            How large they will be: they may be missing then.

        Raises
        ------
        InputError
            Where nothing is there, or the first cannot be read or is not as large as planned.
        """
        source = os.fspath(source)
        try:
            refs = find_stills(source, Path(folder))
        except InputError:
            if planned is None:
                raise
            return cls(source=source, size=planned)
        size = read_header(refs[0]).size
        if planned and planned != size:
            rule = f"the stills are {size}, and {planned} was planned"
            remedy = "take still_size out: it is for stills to come; and look at the keys, whose "
            remedy += "pixels are those of the stills"
            raise complain("", source, rule, remedy)
        here = (replace(ref, path=ref.path.absolute()) for ref in refs)
        return cls(source=source, refs=tuple(here), size=size)

    def __len__(self) -> int:
        return len(self.refs)

    def __repr__(self) -> str:
        return f"Stills({self.source!r}, {len(self)} of {self.size})"


def _number(value: float) -> float:
    """The value where it is a finite number, and else one that is within no limits."""
    try:
        return finite("", value)
    except InputError:
        return nan


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What is to be delivered.

    Parameters
    ----------
    size : Size
    format : str
        The name of one of `cropmove.formats.FORMATS`.
    depth : int or None
        Bits a channel; None for the format's usual one.
    max_scale : float
        The most that a frame may enlarge a still; 1 is native.
    kernel : str or None
        The name of one of `cropmove.picture.kernels.KERNELS`; None for the default.
    quality : int or None
        1 to 100, where the format has one.
    compression : str
        How hard lossless files are packed: "quick", "small" or "none".
    colour : str
        "still" keeps the stills' own colour space, "srgb" converts.
    shutter : float
        Degrees, 0 to 360: how long each frame is exposed while the camera moves; 0 for no blur.

    Raises
    ------
    InputError
        With every number that is out of its range, and a size that the format cannot hold.
    """

    size: Size
    format: str = "png"
    depth: int | None = None
    max_scale: float = 1.0
    kernel: str | None = None
    quality: int | None = None
    compression: str = "quick"
    colour: str = "still"
    shutter: float = 0.0

    def __post_init__(self) -> None:
        found = Complaints()
        for name in ("depth", "quality"):
            given = getattr(self, name)
            whole = counted(given)
            object.__setattr__(self, name, given if whole is None else whole)
        with found.at("max_scale"):
            if not 0 < _number(self.max_scale) <= 64:
                rule = "the largest scale is above 0 and at most 64; 1 is native"
                raise complain("", self.max_scale, rule, "write max_scale = 1.0")
            object.__setattr__(self, "max_scale", float(self.max_scale))
        with found.at():
            if not isinstance(self.size, Size):
                rule = "what is delivered has a Size, in pixels"
                raise complain("size", self.size, rule, "give Size(1920, 1080)")
            self.encoding.format.check_size(self.size)
        with found.at():
            if self.kernel is not None:
                kernel_named(self.kernel)
        with found.at("colour"):
            if self.colour not in COLOURS:
                raise unknown_word("", self.colour, COLOURS, "a colour space to deliver in")
        with found.at("shutter"):
            if not 0 <= _number(self.shutter) <= 360:
                rule = "a shutter is open for 0 to 360 degrees of a frame's turn"
                raise complain("", self.shutter, rule, "write shutter = 180, or 0 for no blur")
            object.__setattr__(self, "shutter", float(self.shutter))
        found.settle()

    @property
    def encoding(self) -> Encoding:
        """How frames are put into files."""
        return Encoding(
            format=self.format,
            depth=self.depth,
            quality=self.quality,
            compression=self.compression,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A shot as it is written in a shot file, worked out into plain numbers.

    Parameters
    ----------
    name : str
        Frames are named NAME.0001.png.
    stills : Stills
    delivery : Delivery
    keys : tuple of Key
    on : int
        How many frames each still is held, from 1.
    fps : Fraction
    frames : int or None
        The shot's length; None to take it from the stills and the keys.
    subjects : tuple of Subject
        What is to be kept in frame.
    limits : Limits
        What the move is judged by.
    lens : Lens or None
        For what is moved by hand.
    rigs : tuple of Rig
        What is moved by hand.
    layers : tuple of Layer
        Things at other distances than the subject.
    file : Path or None
        The shot file it was read from, which tells it from others of its name.

    Raises
    ------
    InputError
        With all that is out of its range, and every fault of the keys and the rigs.

    Examples
    --------
    >>> from cropmove.move.framing import Framing
    >>> wide = Key(frame=1, framing=Framing(x=3000, y=2000, width=6000))
    >>> tight = Key(frame=49, framing=Framing(x=3000, y=2000, width=3000))
    >>> shot = Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=(wide, tight))
    >>> shot.length, shot.course()[49].width
    (49, 3000.0)
    """

    name: str
    stills: Stills = Stills()
    delivery: Delivery
    keys: tuple[Key, ...]
    on: int = 1
    fps: Fraction = Fraction(24)
    frames: int | None = None
    subjects: tuple[Subject, ...] = ()
    limits: Limits = USUAL_LIMITS
    lens: Lens | None = None
    rigs: tuple[Rig, ...] = ()
    layers: tuple[Layer, ...] = ()
    file: Path | None = field(default=None, compare=False)

    def __post_init__(self) -> None:
        found = Complaints()
        for name in ("keys", "subjects", "rigs", "layers"):
            object.__setattr__(self, name, tuple(getattr(self, name)))
        with found.at("name"):
            _check_name(self.name)
        with found.at("on"):
            object.__setattr__(self, "on", held(self.on))
        with found.at("fps"):
            object.__setattr__(self, "fps", rate(self.fps))
        with found.at("frames"):
            if self.frames is not None:
                object.__setattr__(self, "frames", lasting(self.frames))
        with found.at():
            legs(self.keys)
        found.settle()
        if self.rigs or self.layers:
            self.sights()

    def __repr__(self) -> str:
        parts = [f"{self.length} frames at {rate_text(self.fps)} {held_text(self.on)}"]
        for name in ("stills", "keys", "rigs", "layers"):
            if count := len(getattr(self, name)):
                parts.append(f"{count} {name if count > 1 else name.removesuffix('s')}")
        return f"Shot({self.name!r}, {', '.join(parts)})"

    @property
    def move(self) -> Move:
        """The keys with the way and pace between them."""
        return Move(self.keys, self.delivery.size)

    @property
    def one_still(self) -> bool:
        """Whether a single still serves every frame."""
        return len(self.stills) == 1

    @property
    def length(self) -> int:
        """How many frames are delivered.

        Where it is not given: up to the last key or the last frame of the last still, whichever
        is later, or of a rig that has frames of its own. The camera holds where there is no key.
        """
        if self.frames is not None:
            return self.frames
        photographed = 0 if self.one_still else len(self.stills) * self.on
        by_hand = (stop.frame for rig in self.rigs for stop in rig.stops)
        return max(self.keys[-1].frame, photographed, *by_hand)

    def course(self) -> Course:
        """The framing of every delivered frame."""
        return Course.of(
            self.move, frames=self.length, on=self.on, fps=self.fps, one_still=self.one_still
        )

    def marks(self) -> Table:
        """Where everything that is moved by hand stands, for each still."""
        framings: Callable[[Floats], Floats] | None = self.move.at if len(self.keys) > 1 else None
        timing = Timing(frames=self.length, on=self.on, fps=self.fps, legs=legs(self.keys))
        return work_out(self.rigs, timing, view=self.view, framings=framings)

    def sights(self, *more: Layer) -> tuple[Sight, ...]:
        """What each layer, and each further one, does on the screen while things are moved."""
        layers, first = (*self.layers, *more), self.keys[0].framing.to_row()
        table = self.marks()
        return tuple(sights(layers, table, first, self.delivery.size)) if layers else ()

    @property
    def view(self) -> View | None:
        """The lens and the still it makes; None where no lens is given."""
        if self.lens is None:
            return None
        return View(
            lens=self.lens, still=self.stills.size or _native(self.delivery.size, self.lens)
        )


def _native(delivery: Size, lens: Lens) -> Size:
    """A still as wide as the delivery and as high as the sensor, where nobody knows the stills."""
    across, down = lens.sensor
    return Size(delivery.width, max(1, round(delivery.width * down / across)))
