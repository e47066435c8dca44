"""Which still a frame is shown from: its own, a test still, or a stand-in where there is none."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from cropmove.errors import called, complain
from cropmove.geometry import Size
from cropmove.move.course import Course
from cropmove.previews.kept import Kept
from cropmove.previews.small import Small, small_still, still_shape
from cropmove.shot import Shot
from cropmove.stills.find import StillRef

__all__ = ["Source", "ground_size", "stand_in"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Source:
    """The stills of a shot as far as there are any.

    Parameters
    ----------
    shot, course : Shot, Course
    test : StillRef or None
        A still that stands for those that are not photographed yet.

    Raises
    ------
    InputError
        Where the test still is not of the size that the shot was planned on.
    """

    shot: Shot
    course: Course
    test: StillRef | None = None

    def __post_init__(self) -> None:
        planned = self.shot.stills.size
        if self.test is None or planned is None:
            return
        size = still_shape(self.test)
        if size != planned:
            rule = f"the shot is planned on stills of {planned}; this one is {size}"
            raise complain(called("still"), self.test.name, rule, "give a still of that size")

    def still_of(self, frame: int) -> StillRef | None:
        """The still for a frame: its own, else the test still, else the last there is."""
        number, refs = int(self.course.still[frame - 1]), self.shot.stills.refs
        if number <= len(refs):
            return refs[number - 1]
        return self.test or (refs[-1] if refs else None)

    def is_photographed(self, frame: int) -> bool:
        """Whether a frame has a still of its own."""
        return int(self.course.still[frame - 1]) <= len(self.shot.stills)

    def small(self, still: StillRef | None, at_least: float, kept: Kept | None = None) -> Small:
        """A still for small frames, or the stand-in."""
        if still is None:
            return stand_in(ground_size(self.course, self.shot))
        return small_still(still, at_least, kept)


def ground_size(course: Course, shot: Shot) -> Size:
    """The still's size; where nothing tells, as far as the framings reach."""
    if shot.stills.size:
        return shot.stills.size
    reach = course.corners().reshape(-1, 2).max(axis=0)
    width, height = (min(max(1, ceil(side)), Size.LARGEST) for side in reach.tolist())
    return Size(width, height)


_GROUND, _FINE, _STRONG = 214, 190, 150
_LONGEST = 1500


def stand_in(size: Size) -> Small:
    """A plain ground with a line for each tenth of its sides, stronger at the middle.

    Examples
    --------
    >>> stand_in(Size(6000, 4000)).pixels.shape
    (1000, 1500, 3)
    """
    scale = min(1.0, _LONGEST / max(size.width, size.height))
    width, height = ceil(size.width * scale), ceil(size.height * scale)
    ground = np.full((height, width), _GROUND, np.uint8)
    for tenth in range(11):
        grey, half = (_STRONG, 2) if tenth in (0, 5, 10) else (_FINE, 1)
        x, y = round(width * tenth / 10), round(height * tenth / 10)
        ground[:, max(0, x - half) : x + half] = grey
        ground[max(0, y - half) : y + half, :] = np.minimum(
            ground[max(0, y - half) : y + half, :], grey
        )
    pixels = np.repeat(ground[..., None], 3, axis=2)
    return Small(pixels=pixels, size=size, scale=scale)
