"""OpenEXR files: linear light in half or float."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.formats import Encoding
from cropmove.stills.exr import openexr

__all__ = ["encoded"]

_NAMES = {1: "Y", 2: "YA", 3: "RGB", 4: "RGBA"}
_LARGEST_HALF = 65_504.0
"""IEEE 754 binary16; what is brighter would be infinite."""
_COMPRESSIONS = {"quick": "ZIPS", "small": "ZIP", "none": "NO"}


def encoded(pixels: NDArray[Any], encoding: Encoding) -> memoryview:
    """The picture as one OpenEXR file, its colours multiplied by alpha as the format asks."""
    library = openexr()
    header = {
        "compression": getattr(library, f"{_COMPRESSIONS[encoding.compression]}_COMPRESSION"),
        "type": library.scanlineimage,
        **_chromaticities(encoding.profile),
    }
    held = _multiplied(pixels)
    if encoding.depth == 16:
        held = np.clip(held, -_LARGEST_HALF, _LARGEST_HALF).astype(np.float16)
    planes = {
        name: np.ascontiguousarray(held[..., i]) for i, name in enumerate(_NAMES[pixels.shape[2]])
    }
    file = BytesIO()
    library.File(header, planes, num_threads=0).write(file)
    return file.getbuffer()


def _multiplied(pixels: NDArray[Any]) -> NDArray[Any]:
    if pixels.shape[2] not in (2, 4):
        return pixels
    multiplied = pixels.copy()
    multiplied[..., :-1] *= pixels[..., -1:]
    return multiplied


def _chromaticities(profile: bytes | None) -> dict[str, Any]:
    """The primaries, where they are not BT.709's, which a file without them has."""
    if profile is None:
        return {}
    from cropmove.stills import icc
    from cropmove.stills.primaries import from_matrix

    matrix = icc.parsed(profile).matrix
    return {} if matrix is None else {"chromaticities": from_matrix(np.array(matrix))}
