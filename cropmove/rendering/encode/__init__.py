"""Frames into the bytes of a file: one call, whatever the format."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.formats import COMPRESSIONS, FORMATS, Encoding, Format
from cropmove.rendering.encode.packing import Buffer
from cropmove.scratch import Scratch

__all__ = ["COMPRESSIONS", "FORMATS", "Encoding", "Format", "encode", "in_pieces"]


def encode(pixels: NDArray[Any], encoding: Encoding) -> bytes:
    """One whole file, as bytes.

    Parameters
    ----------
    pixels : (H, W, C) array of ``encoding.dtype``
        C is 1 grey, 2 grey and alpha, 3 RGB, 4 RGB and alpha; alpha is straight.
    encoding
        A format that holds single pictures, and its settings.

    Raises
    ------
    InputError
        Where the format cannot hold such a picture.
    MachineError
        Where a library that the format needs is not installed.

    Examples
    --------
    >>> import numpy as np
    >>> encode(np.zeros((4, 6, 3), np.uint8), Encoding(format="png"))[1:4]
    b'PNG'
    """
    return b"".join(in_pieces(pixels, encoding, Scratch()))


def in_pieces(pixels: NDArray[Any], encoding: Encoding, scratch: Scratch) -> tuple[Buffer, ...]:
    """What `encode` gives, as pieces to be written one after another.

    They may lie in `scratch`, and are good until the next file is made there.
    """
    _check(pixels, encoding)
    held = np.ascontiguousarray(pixels)
    match encoding.format.name:
        case "png":
            from cropmove.rendering.encode import png

            return png.encoded(held, encoding, scratch)
        case "tiff":
            from cropmove.rendering.encode import tiff

            return tiff.encoded(held, encoding, scratch)
        case "jpeg":
            from cropmove.rendering.encode import jpeg

            return (jpeg.encoded(held, encoding),)
        case _:
            from cropmove.rendering.encode import exr

            return (exr.encoded(held, encoding),)


def _check(pixels: NDArray[Any], encoding: Encoding) -> None:
    name = encoding.format.name
    if encoding.format.is_movie:
        raise ValueError(f"{name} holds many frames: use MovieWriter")
    if pixels.ndim != 3 or not 1 <= pixels.shape[2] <= 4 or str(pixels.dtype) != encoding.dtype:
        raise ValueError(
            f"{name} of {encoding.depth} bits takes (H, W, 1 to 4) arrays of {encoding.dtype}, "
            f"not {pixels.shape} of {pixels.dtype}"
        )
    encoding.format.check_alpha(pixels.shape[2])
