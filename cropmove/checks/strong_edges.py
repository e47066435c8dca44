"""Strong, straight edges in what a frame shows: seen twice when the camera crosses them fast."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import HALF_PIXEL, Floats, Size, turn
from cropmove.move.framing import in_frame, on_still

__all__ = [
    "Edge",
    "Search",
    "View",
    "Way",
    "block_means",
    "edges_of_still",
    "edges_of_view",
    "lightness",
]

Way = Literal["upright", "level"]
Picture = NDArray[np.float32]

FINEST = 640
"""Pixels across a view at the most: finer than this no edge need be known."""
LEAN = 0.5
"""How far an edge may lean, across over along: to 27 degrees, it still counts as upright or level.

What crosses it is then at least nine tenths of what goes sideways.
"""
EVENED = 0.02
"""Of a view's height: over so much of an edge its contrast is averaged, so that grain is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """One strong edge in a frame.

    Parameters
    ----------
    way : "upright" or "level"
        In the frame, however that is rolled.
    ends : (2, 2) array
        x, y of its two ends from the frame's centre, in frame widths.
    contrast : float
        The difference of lightness across it, CIE 1976 L*: 0 none, 100 black beside white.
    length : float
        In frame heights, along the frame's side.
    """

    way: Way
    ends: Floats
    contrast: float
    length: float

    def on_still(self, row: Floats) -> Floats:
        """Its ends on the still, (2, 2) in pixels; `row` is the frame's x, y, width, roll."""
        return on_still(row, self.ends)

    def step(self, before: Floats, row: Floats) -> float:
        """How far it has gone across itself since the frame before, in frame widths."""
        was = in_frame(before, self.on_still(row))
        return float(np.abs(self.ends - was)[:, 0 if self.way == "upright" else 1].max())


@dataclass(frozen=True, slots=True)
class View:
    """A frame to be looked at, its framing (x, y, width, roll), and which edges to look for."""

    frame: int
    row: tuple[float, float, float, float]
    ways: tuple[Way, ...] = ("upright", "level")


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """What is looked for, and where.

    Parameters
    ----------
    views : mapping of int to tuple of View
        The frames to look at, by the still that they show, from 1.
    shape : float
        A frame's height over its width.
    within : float
        Frame widths within which an edge must rise: a softer one is no edge but a shade.
    contrast, length : float
        What an edge must have at the least, as in `Edge`.
    """

    views: Mapping[int, tuple[View, ...]]
    shape: float
    within: float
    contrast: float
    length: float


def lightness(light: Any) -> NDArray[np.float64]:
    """How light a surface looks, 0 to 100, for its luminance, 1 for white.

    CIE 1976 L* (CIE 15; ISO/CIE 11664-4).

    Examples
    --------
    >>> lightness([0, 0.184, 1]).round(1).tolist()
    [0.0, 50.0, 100.0]
    """
    share = np.maximum(light, 0)
    return np.asarray(
        np.where(share > (6 / 29) ** 3, 116 * np.cbrt(share) - 16, share * (29 / 3) ** 3)
    )


def edges_of_still(luminance: Picture, size: Size, still: int, search: Search) -> dict[int, Any]:
    """The strong edges in each frame that shows a still: frame to a tuple of `Edge`.

    Parameters
    ----------
    luminance : (H, W) array
        The still, upright, at any size; linear, 1 for white.
    size : Size
        The still's own, upright.
    still : int
        Its number, from 1.
    search : Search
    """
    seen: dict[int, Any] = {}
    reduced: dict[int, Picture] = {}
    for view in search.views.get(still, ()):
        across = view.row[2] * luminance.shape[1] / size.width
        by = max(1, int(across // FINEST))
        if by not in reduced:
            reduced[by] = np.asarray(lightness(block_means(luminance, by)), dtype=np.float32)
        picture = _seen_through(reduced[by], size, view, search.shape)
        seen[view.frame] = tuple(edges_of_view(picture, search, view.ways))
    return seen


def block_means(picture: Picture, by: int) -> Picture:
    """Means of blocks of so many pixels each way; what fills no block is left out."""
    down, across = picture.shape[0] // by, picture.shape[1] // by
    blocks = picture[: down * by, : across * by].reshape(down, by, across, by)
    return np.asarray(blocks.mean(axis=(1, 3)), dtype=np.float32)


def _seen_through(picture: Picture, size: Size, view: View, shape: float) -> Picture:
    """What a frame shows, at the picture's own density."""
    from scipy.ndimage import affine_transform

    x, y, width, roll = view.row
    per_pixel = np.array([picture.shape[0] / size.height, picture.shape[1] / size.width])
    across = max(1, round(width * per_pixel[1]))
    down = max(1, round(across * shape))
    right = turn(np.array([width / across, 0.0]), roll)
    below = turn(np.array([0.0, width / across]), roll)
    # Rows first, as scipy has them: what one pixel down and one to the right is in the picture.
    matrix = np.stack([below[::-1], right[::-1]], axis=1) * per_pixel[:, None]
    middle = np.array([down, across]) / 2 - HALF_PIXEL
    offset = np.array([y, x]) * per_pixel - HALF_PIXEL - matrix @ middle
    return np.asarray(
        affine_transform(picture, matrix, offset, (down, across), order=1, mode="nearest")
    )


def edges_of_view(
    picture: Picture, search: Search, ways: tuple[Way, ...] = ("upright", "level")
) -> Iterator[Edge]:
    """The strong edges of one frame.

    Parameters
    ----------
    picture : (H, W) array
        Lightness, 0 to 100, of the whole frame.
    search : Search
    ways : tuple of "upright" and "level"
        Which to look for.

    Examples
    --------
    >>> post = np.full((90, 160), 80, dtype=np.float32)
    >>> post[30:, 40:] = 20
    >>> search = Search(views={}, shape=0.5625, within=0.0125, contrast=25, length=0.4)
    >>> [(edge.way, round(edge.length, 2)) for edge in edges_of_view(post, search)]
    [('upright', 0.67), ('level', 1.33)]
    """
    down, across = picture.shape
    # Even, so that the middle of it is a pixel.
    within = max(2, 2 * round(search.within * across / 2))
    along = max(3, round(EVENED * down))
    if min(down, across) <= 2 * (within + along):
        return
    least = search.length * down
    for way in ways:
        turned = picture if way == "upright" else picture.T
        for ends, contrast in _upright(turned, within, along, search.contrast, least):
            places = ends if way == "upright" else ends[:, ::-1]
            size = np.array([across, down])
            yield Edge(
                way=way,
                ends=(places + HALF_PIXEL - size / 2) / across,
                contrast=contrast,
                length=float(ends[1, 1] - ends[0, 1] + 1) / down,
            )


def _upright(
    picture: Picture, within: int, along: int, contrast: float, length: float
) -> Iterator[tuple[Floats, float]]:
    """Upright edges as their ends, top first, x and y in pixels, and their contrast."""
    from scipy.ndimage import correlate1d, find_objects, label, uniform_filter1d

    across = np.array([-1.0] + [0.0] * (within - 1) + [1.0])
    rise = correlate1d(uniform_filter1d(picture, along, axis=0), across, axis=1, mode="nearest")
    steep = correlate1d(uniform_filter1d(picture, along, axis=1), across, axis=0, mode="nearest")
    is_upright = np.abs(steep) <= LEAN * np.abs(rise)
    for strong in (rise >= contrast, rise <= -contrast):
        parts, _ = label(strong & is_upright, structure=np.ones((3, 3)))
        for number, (rows, columns) in enumerate(find_objects(parts), start=1):
            tall, wide = rows.stop - rows.start, columns.stop - columns.start
            if tall < length or wide > 2 * within + LEAN * tall:
                continue
            strength = np.where(parts[rows, columns] == number, np.abs(rise[rows, columns]), 0)
            yield _ends(strength, columns.start, rows.start), float(np.median(strength.max(axis=1)))


def _ends(strength: Picture, left: int, top: int) -> Floats:
    """The ends of the straight line that lies best in an edge; its very ends are frayed."""
    rows = np.arange(len(strength))
    middles = strength @ np.arange(strength.shape[1]) / strength.sum(axis=1)
    lean, foot = np.polyfit(rows, middles, 1)
    return np.array([(left + foot + lean * row, top + row) for row in (0, rows[-1])])
