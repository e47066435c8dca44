"""JPEG stills: header through Pillow, pixels through libjpeg-turbo."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropmove.geometry import Size
from cropmove.stills import exif
from cropmove.stills.header import Header
from cropmove.stills.opening import decoding, opening, refused, whole_file

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["header", "pixels", "small"]

_FAILURES = (SyntaxError, ValueError, IndexError, struct.error, EOFError)
_CHANNELS = {"L": 1, "RGB": 3}


def header(path: Path) -> Header:
    """What a JPEG file says about itself."""
    from PIL.JpegImagePlugin import JpegImageFile

    # Made directly: Image.open would refuse stills above a limit meant for strangers' uploads.
    with opening(path), path.open("rb") as file:
        with exif.unwarned(), decoding(path, *_FAILURES):
            picture = JpegImageFile(file)
        if picture.mode not in _CHANNELS:
            rule = "a JPEG still is RGB or grey; this one is CMYK, made for printing"
            raise refused(path, rule, "save it anew in RGB")
        orientation, captured = exif.parsed(picture.info.get("exif", b""))
        return Header(
            kind="jpeg",
            stored=Size(*picture.size),
            orientation=orientation,
            channels=_CHANNELS[picture.mode],
            depth=8,
            profile=picture.info.get("icc_profile") or None,
            captured=captured,
        )


def pixels(path: Path, facts: Header, out: NDArray[Any] | None) -> NDArray[Any]:
    """Every pixel, (H, W, C) of 8 bits; into `out`, which has that shape, where given."""
    return _decoded(path, facts, buffer=out)


def small(path: Path, facts: Header, at_least: Size) -> NDArray[Any]:
    """The picture at the smallest size its decoder knows that is not below `at_least`."""
    smallest = {"min_width": at_least.width, "min_height": at_least.height}
    return _decoded(path, facts, **smallest)


def _decoded(path: Path, facts: Header, **options: Any) -> NDArray[Any]:
    from simplejpeg import decode_jpeg

    space = "GRAY" if facts.channels == 1 else "RGB"
    data = whole_file(path)
    with decoding(path, ValueError):  # strict: libjpeg's warnings are errors too
        decoded: NDArray[Any] = decode_jpeg(data, colorspace=space, strict=True, **options)
    return decoded
