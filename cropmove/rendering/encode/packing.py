"""Deflate for PNG and TIFF: kept libraries where repeats are searched for, our own loop else."""

from __future__ import annotations

import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["packed"]

_QUICK, _SMALL = 1, 10
"""Levels of ISA-L and of libdeflate. On a photograph's grain libdeflate's levels below 10 gain
nothing on the quick way; 10 saves a little, and those above it almost nothing more."""
_WORTH_A_SEARCH = 2.0
"""Bits a byte, packed, below which a picture repeats itself enough to look for it."""


def packed(content: NDArray[Any], compression: str) -> bytes:
    """The bytes of an array as one zlib stream (RFC 1950).

    Examples
    --------
    >>> zlib.decompress(packed(np.zeros(5, np.uint8), "quick"))
    b'\\x00\\x00\\x00\\x00\\x00'
    """
    if compression == "none":
        return zlib.compress(content.data, level=0)
    if compression == "small":
        from imagecodecs import deflate_encode

        return bytes(deflate_encode(content.tobytes(), level=_SMALL, raw=False))
    from cropmove.rendering.encode.literals import packed_literals

    stream = packed_literals(content.reshape(-1).view(np.uint8), _WORTH_A_SEARCH)
    return stream if stream is not None else _searched(content)


def _searched(content: NDArray[Any]) -> bytes:
    from isal import isal_zlib

    return isal_zlib.compress(content.data, _QUICK)
