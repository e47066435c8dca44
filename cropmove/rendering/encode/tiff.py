"""TIFF files of 8 and 16 bits: baseline TIFF 6.0, packed by deflate."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from numpy.typing import NDArray

from cropmove.formats import Encoding
from cropmove.rendering.encode.packing import Buffer, packed
from cropmove.rendering.encode.pieces import Pieces
from cropmove.scratch import Scratch

__all__ = ["encoded"]

_ROWS_A_STRIP = 256
"""So that a reader of a part need not unpack the whole; more of them take longer to write."""


def encoded(pixels: NDArray[Any], encoding: Encoding, scratch: Scratch) -> tuple[Buffer, ...]:
    """The picture as one TIFF file; alpha is marked as straight."""
    import tifffile

    channels = pixels.shape[2]
    settings: dict[str, Any] = {
        "photometric": "minisblack" if channels < 3 else "rgb",
        "extrasamples": ["unassalpha"] if channels in (2, 4) else None,
        "planarconfig": "contig",
        "iccprofile": encoding.profile,
        "metadata": None,
        "software": False,
    }
    file: Any = Pieces()
    shown = pixels if channels > 1 else pixels[..., 0]
    if encoding.compression == "none":
        tifffile.imwrite(file, shown, **settings)
    else:
        strips = _strips(pixels, encoding.compression, scratch)
        tifffile.imwrite(
            file,
            strips,
            shape=shown.shape,
            dtype=pixels.dtype,
            compression="adobe_deflate",
            predictor=True,
            rowsperstrip=_ROWS_A_STRIP,
            **settings,
        )
    return tuple(file.buffers)


def _strips(pixels: NDArray[Any], compression: str, scratch: Scratch) -> Iterator[bytes]:
    from cropmove.rendering.encode.rows import differences

    height, _, channels = pixels.shape
    rows = pixels.reshape(height, -1)
    for top in range(0, height, _ROWS_A_STRIP):
        some = rows[top : top + _ROWS_A_STRIP]
        strip = scratch.array("lines", some.shape, some.dtype)
        differences(some, channels, strip)
        yield bytes(packed(strip, compression, scratch))
