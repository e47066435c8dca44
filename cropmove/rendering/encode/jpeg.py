"""JPEG files, their colours at full resolution."""

from __future__ import annotations

from typing import Any

from numpy.typing import NDArray

from cropmove.formats import Encoding

__all__ = ["encoded"]

_START = b"\xff\xd8"
_JFIF = b"\xff\xe0"
_PROFILE = b"\xff\xe2"
_MARK = b"ICC_PROFILE\0"
_PIECE = 65_535 - 2 - len(_MARK) - 2
"""The most profile that one segment holds (ICC.1:2022, B.4)."""


def encoded(pixels: NDArray[Any], encoding: Encoding) -> bytes:
    """The picture as one JPEG file of 8 bits, without chroma subsampling unless made small."""
    from simplejpeg import encode_jpeg

    grey = pixels.shape[2] == 1
    chroma = "420" if encoding.compression == "small" else "444"
    file: bytes = encode_jpeg(
        pixels,
        quality=encoding.quality or 95,
        colorspace="GRAY" if grey else "RGB",
        colorsubsampling="Gray" if grey else chroma,
    )
    return file if encoding.profile is None else _with_profile(file, encoding.profile)


def _with_profile(file: bytes, profile: bytes) -> bytes:
    """The file with its profile after the JFIF segment, which must come first."""
    at = len(_START)
    if file[at : at + 2] == _JFIF:
        at += 2 + int.from_bytes(file[at + 2 : at + 4])
    pieces = [profile[i : i + _PIECE] for i in range(0, len(profile), _PIECE)]
    segments = [_segment(i, len(pieces), piece) for i, piece in enumerate(pieces, start=1)]
    return file[:at] + b"".join(segments) + file[at:]


def _segment(place: int, count: int, piece: bytes) -> bytes:
    length = 2 + len(_MARK) + 2 + len(piece)
    return _PROFILE + length.to_bytes(2) + _MARK + bytes((place, count)) + piece
