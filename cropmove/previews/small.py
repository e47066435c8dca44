"""Stills read small, and small frames of them: for looking at, never for delivery.

A reduced decode is soft where a full one is sharp, but a point stands in the same place: what a
decoder gives at n eighths is n eighths of the still from its top-left corner, to the last pixel.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import UPRIGHT, Floats, Orientation, Size
from cropmove.move.framing import Framing
from cropmove.picture.kernels import DEFAULT_KERNEL
from cropmove.picture.light import SRGB, Transfer
from cropmove.previews.kept import Kept
from cropmove.rendering.frame import frame_of
from cropmove.rendering.look import Look
from cropmove.stills.find import StillRef
from cropmove.stills.header import Header
from cropmove.stills.profile import to_srgb, transfer_of
from cropmove.stills.read import read_header, read_pixels, read_small

__all__ = ["Small", "small_still", "still_shape"]

Bytes = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Small:
    """A still in memory, at its own size or smaller, that gives sRGB frames of 8 bits.

    Parameters
    ----------
    pixels : (h, w, c) array
        As stored.
    size : Size
        Of the whole upright still, before it was made smaller.
    scale : float
        Pixels here for one of the whole still.
    orientation : Orientation
    transfer : Transfer
        From code values to linear light.
    matrix : (3, 3) array or None
        From its linear RGB to that of sRGB; None where they are the same.

    Examples
    --------
    >>> grey = np.full((400, 600, 3), 128, np.uint8)
    >>> small = Small(pixels=grey, size=Size(6000, 4000), scale=0.1)
    >>> small.frame(Framing(x=3000, y=2000, width=3000), Size(96, 54)).shape
    (54, 96, 3)
    """

    pixels: NDArray[Any]
    size: Size
    scale: float = 1.0
    orientation: Orientation = UPRIGHT
    transfer: Transfer = SRGB
    matrix: Floats | None = None

    def frame(self, framing: Framing, size: Size, kernel: str | None = None) -> Bytes:
        """What a framing shows: (height, width, 3)."""
        shown = frame_of(
            self.pixels,
            self._reduced(framing),
            Look(delivery=size, kernel=kernel or DEFAULT_KERNEL),
            orientation=self.orientation,
            transfer=SRGB if self.pixels.dtype == np.float32 else self.transfer,
            coded=SRGB,
            to_srgb=self.matrix,
        )
        return _three(shown)

    def whole(self, width: int) -> Bytes:
        """The whole still, so many pixels wide."""
        size = Size(width, max(1, round(width * self.size.shape)))
        return self.frame(
            Framing(x=self.size.width / 2, y=self.size.height / 2, width=self.size.width), size
        )

    def reduced(self, scale: float) -> Bytes:
        """The whole still upright at so many eighths, sides rounded up, from its first corner."""
        width, height = ceil(self.size.width * scale), ceil(self.size.height * scale)
        framing = Framing(x=width / scale / 2, y=height / scale / 2, width=width / scale)
        return self.frame(framing, Size(width, height))

    def _reduced(self, framing: Framing) -> Framing:
        """The framing among the pixels at hand."""
        stored = Size(self.pixels.shape[1], self.pixels.shape[0])
        have = self.orientation.upright_size(stored)
        # A size that is no multiple of eight leaves part of a pixel over, on the far side as the
        # still is stored: on the near side where it is shown mirrored.
        right = self.orientation.code in (2, 3, 6, 7)
        bottom = self.orientation.code in (3, 4, 7, 8)
        over_x = (have.width - self.size.width * self.scale) if right else 0.0
        over_y = (have.height - self.size.height * self.scale) if bottom else 0.0
        return Framing(
            x=framing.x * self.scale + over_x,
            y=framing.y * self.scale + over_y,
            width=framing.width * self.scale,
            roll=framing.roll,
        )


def _three(picture: NDArray[Any]) -> Bytes:
    """Grey three times over; alpha left out."""
    if picture.shape[2] < 3:
        return np.repeat(picture[..., :1], 3, axis=2)
    return np.ascontiguousarray(picture[..., :3])


def still_shape(still: StillRef) -> Size:
    """The size of a still as it is seen."""
    return read_header(still).size


def small_still(still: StillRef, at_least: float = 1.0, kept: Kept | None = None) -> Small:
    """A still for small frames.

    Parameters
    ----------
    still : StillRef
    at_least : float
        Pixels wanted for one of the still; more are given where the file's format knows no less.
    kept : Kept, optional
        Where it is looked for first, and kept if it was not there.

    Raises
    ------
    InputError
        Where the file cannot be read.
    """
    place = kept.place(still, at_least) if kept else None
    header = read_header(still)
    if kept is None or not kept.takes(still, header.stored, at_least):
        return _as_stored(_pixels(still, header, at_least), header)
    as_stored = header.kind == "jpeg"  # others are read whole, and made small here
    pixels = kept.get(still, at_least)
    if pixels is None:
        read = _pixels(still, header, at_least)
        pixels = read if as_stored else _as_stored(read, header).reduced(at_least)
        kept.put(place, pixels)
    if as_stored:
        return _as_stored(pixels, header)
    return Small(pixels=pixels, size=header.size, scale=_eighths(header.size, pixels))


def _pixels(still: StillRef, header: Header, at_least: float) -> NDArray[Any]:
    if at_least >= 1:
        return read_pixels(still, header)
    stored = header.stored
    wanted = Size(ceil(stored.width * at_least), ceil(stored.height * at_least))
    return read_small(still, header, wanted)


def _as_stored(pixels: NDArray[Any], header: Header) -> Small:
    return Small(
        pixels=pixels,
        size=header.size,
        scale=_eighths(header.stored, pixels),
        orientation=header.orientation,
        transfer=transfer_of(header),
        matrix=to_srgb(header),
    )


def _eighths(whole: Size, pixels: NDArray[Any]) -> float:
    """How far a picture of that size is reduced, exactly: decoders round the last pixel up."""
    width, height = int(pixels.shape[1]), int(pixels.shape[0])
    for eighths in range(1, 9):
        if (ceil(whole.width * eighths / 8), ceil(whole.height * eighths / 8)) == (width, height):
            return eighths / 8
    return width / whole.width
