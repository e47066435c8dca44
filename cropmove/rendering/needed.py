"""How far down a still is needed for the frames that are made from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, inf

from cropmove.geometry import UPRIGHT
from cropmove.move.framing import Framing
from cropmove.picture.kernels import Kernel, kernel_named
from cropmove.picture.turning import DENSER, REACH
from cropmove.rendering.look import Look
from cropmove.stills.header import Header

__all__ = ["Needed", "needed_for"]

Box = tuple[float, float, float, float]

_FURTHER = 3 * REACH / DENSER
"""So many frame pixels further than its corners a rolled frame's rows are laid out."""

_TO_BE_SURE = 4
"""Rows more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """The part of a still that some frames are made from.

    Parameters
    ----------
    box : tuple of float
        Left, top, right and bottom in pixels of the upright still, around all framings.
    margin : float
        How far beyond it pixels count; infinite where the whole still does.
    turned_first : bool
        Whether a still that is not stored upright is turned before anything else, all of it.
    """

    box: Box
    margin: float
    turned_first: bool

    def rows(self, header: Header) -> int:
        """How many stored rows are needed, from the uppermost on.

        Examples
        --------
        >>> from cropmove.geometry import Orientation, Size
        >>> top_left = Needed(box=(0, 0, 960, 540), margin=20, turned_first=False)
        >>> for code in (1, 3, 6, 8):
        ...     camera = Header(kind="jpeg", stored=Size(6000, 4000), channels=3, depth=8,
        ...                     orientation=Orientation(code))
        ...     print(top_left.rows(camera))
        560
        4000
        4000
        980
        """
        stored = header.stored
        if self.turned_first and header.orientation != UPRIGHT:
            return stored.height
        bottom = header.orientation.stored_box(self.box, header.size)[3]
        # A frame above the still shows its first row, and margins then reach down from there.
        return ceil(min(max(bottom, 0.0) + self.margin, stored.height))


def needed_for(framings: Iterable[Framing], look: Look) -> Needed:
    """What frames of these framings need.

    Parameters
    ----------
    framings : iterable of Framing
        Of one still; at least one.
    look : Look
    """
    shown = tuple(framings)
    boxes = [_around(framing, look) for framing in shown]
    left, top, right, bottom = zip(*boxes, strict=True)
    return Needed(
        box=(min(left), min(top), max(right), max(bottom)),
        margin=max(_margin(framing, look) for framing in shown),
        turned_first=look.rolled,
    )


def _around(framing: Framing, look: Look) -> Box:
    if not look.rolled:
        return framing.box(look.delivery)
    x, y = framing.corners(look.delivery).T.tolist()
    return min(x), min(y), max(x), max(y)


def _margin(framing: Framing, look: Look) -> float:
    """How far beyond a framing pixels count: a kernel's width, of which half is to be sure."""
    if look.rolled and not look.rolling and _is_square(framing.roll):
        return inf  # the whole still is turned
    step = 1 / framing.scale(look.delivery)
    kernel = kernel_named(look.kernel)
    further = _FURTHER * step if look.rolled else 0.0
    return 2 * _radius(kernel) * kernel.stretch(step) + further + _TO_BE_SURE


def _radius(kernel: Kernel) -> float:
    """Whatever it turns into."""
    return max(kernel.radius, kernel.reduced.radius if kernel.reduced else 0.0)


def _is_square(roll: float) -> bool:
    return roll / 90 == round(roll / 90)
