"""A shot: the stills, what the camera does, what is to be delivered. A plain value."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from cropmove.errors import complain
from cropmove.geometry import Size
from cropmove.move.course import LONGEST, Course, Move
from cropmove.move.key import Key
from cropmove.stills.find import StillRef

__all__ = ["Delivery", "Shot", "Stills"]


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

    def __len__(self) -> int:
        return len(self.refs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What is to be delivered.

    Parameters
    ----------
    size : Size
    format : str
        The name of one of `cropmove.render.encode.FORMATS`.
    depth : int or None
        Bits a channel; None for the format's usual one.
    max_scale : float
        The most that a frame may enlarge a still; 1 is native.
    kernel : str or None
        The name of one of `cropmove.picture.kernels.KERNELS`; None for the default.
    quality : int or None
        1 to 100, where the format has one.

    Raises
    ------
    InputError
        Where a number is out of its range.
    """

    size: Size
    format: str = "png"
    depth: int | None = None
    max_scale: float = 1.0
    kernel: str | None = None
    quality: int | None = None

    def __post_init__(self) -> None:
        if not 0 < self.max_scale <= 64:
            rule = "the largest scale is above 0 and at most 64; 1 is native"
            raise complain("max_scale", self.max_scale, rule, "write max_scale = 1.0")
        if self.quality is not None and not 1 <= self.quality <= 100:
            rule = "a quality is 1 to 100"
            raise complain("quality", self.quality, rule, "95 is good for pictures to work on")


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

    def __post_init__(self) -> None:
        if not isinstance(self.on, int) or not 1 <= self.on <= LONGEST:
            rule = "each still is held for a whole number of frames, from 1"
            raise complain("on", self.on, rule, "write on = 1 for ones, on = 2 for twos")
        if self.frames is not None and not 1 <= self.frames <= LONGEST:
            rule = f"a shot is 1 to {LONGEST:,} frames long"
            raise complain("frames", self.frames, rule, "leave it out to take it from the stills")

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
        is later. The camera holds where there is no key.
        """
        if self.frames is not None:
            return self.frames
        photographed = 0 if self.one_still else len(self.stills) * self.on
        return max(self.keys[-1].frame, photographed)

    def course(self) -> Course:
        """The framing of every delivered frame."""
        return Course.of(
            self.move, frames=self.length, on=self.on, fps=self.fps, one_still=self.one_still
        )
