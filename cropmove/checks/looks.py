"""What is seen in the stills' pixels: the one costly pass, that serves every check that needs it.

Each still is decoded once, small where its format offers that, and let go again: memory does not
grow with their number but by a few kilobytes each.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import blake2b
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.registration import (
    MIDDLES,
    TELLING,
    InParts,
    parts_moved,
    picture_moved,
)
from cropmove.checks.strong_edges import Edge, Search, block_means, edges_of_still
from cropmove.geometry import Floats, Size
from cropmove.stills.find import StillRef
from cropmove.stills.header import Header

__all__ = ["Looks", "look_at"]

LOOKED_AT = 750
"""Pixels along the longer side, at least, where the still has them: shifts are found in these."""
TILES = (32, 48)
"""Rows and columns of the tiles whose light is compared."""
SURE = 0.06
"""A shift less sure than this is a guess and is not told: other pictures altogether."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Looks:
    """What was seen, still by still.

    Attributes
    ----------
    marks : tuple of str
        The same for stills whose pixels are the same.
    light : (n, rows, columns) array
        Mean linear light of tiles, 1 for white.
    shifts : (n, 2) array
        How far the whole picture has gone, right and down, since the still before, in pixels of
        the still; NaN where that cannot be told, as for the first.
    parts : (n, parts, 2) array
        The same of each part of the picture by itself; where they lie is in
        `cropmove.checks.registration.MIDDLES`.
    edges : mapping of int to tuple of Edge
        The strong edges in each frame that was searched for them.
    """

    marks: tuple[str, ...]
    light: Floats
    shifts: Floats
    parts: Floats
    edges: Mapping[int, tuple[Edge, ...]] = field(default_factory=dict)


def look_at(
    stills: Sequence[StillRef],
    headers: Sequence[Header],
    progress: Progress | None = None,
    search: Search | None = None,
) -> Looks:
    """Look at every still once.

    Parameters
    ----------
    stills, headers : sequences of the same length
    progress : callable, optional
        Called with stills done and stills in all.
    search : Search, optional
        The frames in which to look for strong edges.

    Raises
    ------
    InputError
        Where a still is damaged.
    """
    marks, light, shifts, parts = [], [], [], []
    edges: dict[int, tuple[Edge, ...]] = {}
    before: tuple[Size, InParts] | None = None
    for number, (still, header) in enumerate(zip(stills, headers, strict=True), start=1):
        small = _small(still, header)
        marks.append(blake2b(small.tobytes(), digest_size=16).hexdigest())
        colours = _decoded(small)
        grey = np.asarray(colours.mean(axis=-1), dtype=np.float32)
        light.append(_tiles(grey))
        now = (header.size, InParts.of(_with_even_contrast(_reduced(grey))))
        shift, of_parts = _shifts(before, now)
        shifts.append(shift)
        parts.append(of_parts)
        before = now
        if search and number in search.views:
            edges |= edges_of_still(_reduced(_luminance(colours)), header.size, number, search)
        if progress:
            progress(number, len(stills))
    shape = (len(stills), *TILES)
    return Looks(
        marks=tuple(marks),
        light=np.array(light, dtype=np.float64).reshape(shape),
        shifts=np.array(shifts, dtype=np.float64).reshape(len(stills), 2),
        parts=np.array(parts, dtype=np.float64).reshape(len(stills), len(MIDDLES), 2),
        edges=edges,
    )


def _small(still: StillRef, header: Header) -> NDArray[Any]:
    """The still upright, at least `LOOKED_AT` pixels along its longer side."""
    from cropmove.stills.read import read_small

    longer = max(header.stored.width, header.stored.height)
    share = min(1.0, LOOKED_AT / longer)
    sides = (header.stored.width, header.stored.height)
    at_least = Size(*(max(1, int(side * share)) for side in sides))
    return np.ascontiguousarray(header.orientation.upright(read_small(still, header, at_least)))


def _decoded(pixels: NDArray[Any]) -> NDArray[np.float32]:
    """Light of each colour, (H, W, 1 or 3), 1 for white: by the sRGB curve.

    Which curve does not matter much: light is compared with the same place's in other stills, and
    edges are strong or not.
    """
    from cropmove.picture.light import SRGB, decoding_table

    colours = pixels[..., : 3 if pixels.shape[-1] > 2 else 1]
    if colours.dtype.kind == "f":  # what is no number, or has no end, counts as dark
        light = np.asarray(colours, dtype=np.float32)
        return np.where(np.isfinite(light), light, np.float32(0))
    return np.asarray(decoding_table(SRGB, 8 * colours.dtype.itemsize)[colours])


def _luminance(colours: NDArray[np.float32]) -> NDArray[np.float32]:
    """Luminance, 1 for white: the colours weighed as ITU-R BT.709-6 does."""
    weights = (0.2126, 0.7152, 0.0722) if colours.shape[-1] == 3 else (1.0,)
    return np.asarray(colours @ np.array(weights, dtype=np.float32))


def _reduced(grey: NDArray[np.float32]) -> NDArray[np.float32]:
    """Means of square blocks, so that the longer side is still at least `LOOKED_AT`."""
    by = max(1, max(grey.shape) // LOOKED_AT)
    return block_means(grey, by)


def _with_even_contrast(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Roughly as the eye weighs it, so that a lamp in the picture does not outweigh the rest."""
    return np.sqrt(np.maximum(light, 0))


def _tiles(grey: NDArray[np.float32]) -> Floats:
    light: Floats = grey.astype(np.float64)
    for axis, count in enumerate(TILES):
        edges = np.linspace(0, light.shape[axis], count + 1).astype(int)[:-1]
        if light.shape[axis] < count:
            light = np.repeat(light, -(-count // light.shape[axis]), axis=axis)
            edges = np.linspace(0, light.shape[axis], count + 1).astype(int)[:-1]
        sums = np.add.reduceat(light, edges, axis=axis)
        sizes = np.diff([*edges, light.shape[axis]])
        light = sums / (sizes[:, None] if axis == 0 else sizes)
    return light


def _shifts(
    before: tuple[Size, InParts] | None, now: tuple[Size, InParts]
) -> tuple[Floats, Floats]:
    """How far the picture has gone, and each of its parts, in pixels of the still."""
    size, picture = now
    shift, parts = np.full(2, np.nan), np.full((len(MIDDLES), 2), np.nan)
    shape = picture.whole.shape
    if before is None or before[0] != size or before[1].whole.shape != shape:
        return shift, parts
    # Whole blocks were averaged, so a small pixel stands for about this many of the still's.
    pixel = np.array([size.width / shape[1], size.height / shape[0]])
    told = parts_moved(before[1], picture)
    across, down, sure = picture_moved(before[1], picture, told)
    if sure >= SURE:
        shift = np.array([across, down]) * pixel
    if len(told):
        parts = np.where(told[:, 2:] >= TELLING, told[:, :2] * pixel, np.nan)
    return shift, parts
