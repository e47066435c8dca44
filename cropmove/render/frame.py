"""One frame: a still and a framing in, a picture out. Nothing is opened or written here."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import UPRIGHT, Orientation, Size
from cropmove.move.framing import Framing
from cropmove.picture.kernels import kernel_named
from cropmove.picture.light import SRGB, Transfer
from cropmove.picture.resample import resample
from cropmove.render.look import Look

__all__ = ["frame_of"]


def frame_of(
    pixels: NDArray[Any],
    framing: Framing,
    look: Look,
    *,
    orientation: Orientation = UPRIGHT,
    transfer: Transfer = SRGB,
) -> NDArray[Any]:
    """The picture that a framing shows of a still.

    The still may be stored turned or mirrored: the framing is turned into it, and the small
    frame, not the large still, is turned upright.

    Parameters
    ----------
    pixels : (h, w, c) array
        As stored.
    framing : Framing
        Of the upright still.
    look : Look
    orientation : Orientation
    transfer : Transfer
        The curve of the still's codes.

    Returns
    -------
    (height, width, c) array
        Upright and contiguous.

    Examples
    --------
    >>> from cropmove.render.look import Look
    >>> grey = np.full((40, 60, 3), 128, np.uint8)
    >>> look = Look(delivery=Size(16, 9), kernel="crisp")
    >>> frame = frame_of(grey, Framing(x=30, y=20, width=32), look)
    >>> frame.shape, int(frame.min()), int(frame.max())
    ((9, 16, 3), 128, 128)
    """
    stored = Size(pixels.shape[1], pixels.shape[0])
    box = orientation.stored_box(framing.box(look.delivery), orientation.upright_size(stored))
    size = orientation.upright_size(look.delivery)
    picture = resample(
        pixels,
        box,
        (size.width, size.height),
        kernel=kernel_named(look.kernel),
        transfer=transfer,
        depth=look.depth,
    )
    return np.ascontiguousarray(orientation.upright(picture))
