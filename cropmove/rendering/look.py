"""How the framings of a shot become pictures: decided once, the same for every frame."""

from __future__ import annotations

from dataclasses import dataclass

from cropmove.geometry import Size
from cropmove.move.course import Course
from cropmove.picture.kernels import DEFAULT_KERNEL, copies
from cropmove.shot import Delivery

__all__ = ["COPYING_KERNEL", "Look", "look_of"]

COPYING_KERNEL = "crisp"
"""Where nothing moves and every pixel falls on a pixel, this kernel copies them bit for bit."""

_DEPTHS = {"uint8": 8, "uint16": 16, "float32": 32}


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How framings become pictures.

    Parameters
    ----------
    delivery : Size
    kernel : str
        One of `cropmove.picture.kernels.KERNELS`.
    depth : int
        Bits a channel of the frames: 8 or 16, or 32 for linear light in floating point.
    colour : str
        "still" keeps the stills' own colour space, "srgb" converts.
    rolled, rolling : bool
        Whether any framing is rolled, and whether the roll changes: such a shot takes the rolled
        way for all its frames, or the change from one way to the other would show.
    """

    delivery: Size
    kernel: str
    depth: int = 8
    colour: str = "still"
    rolled: bool = False
    rolling: bool = False


def look_of(delivery: Delivery, course: Course) -> Look:
    """The look of a shot: one for all its frames, or the change would show.

    A kernel that is steady while the camera moves softens a little where it does not need to: a
    camera that never moves, at native scale on whole pixels, copies them.
    """
    kernel = delivery.kernel or (COPYING_KERNEL if _copies(course) else DEFAULT_KERNEL)
    return Look(
        delivery=delivery.size,
        kernel=kernel,
        depth=_DEPTHS[delivery.encoding.dtype],
        colour=delivery.colour,
        rolled=bool(course.roll.any()),
        rolling=bool((course.roll != course.roll[0]).any()),
    )


def _copies(course: Course) -> bool:
    framing, size = course[1], course.delivery
    holds = bool((course.rows == course.rows[0]).all())
    return holds and not framing.roll and copies(framing.box(size), (size.width, size.height))
