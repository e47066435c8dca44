"""JPEG stills: header through Pillow, pixels through libjpeg-turbo."""

from __future__ import annotations

import struct
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropmove.geometry import Size
from cropmove.stills import exif
from cropmove.stills.header import Header
from cropmove.stills.opening import decoding, opening, refused, whole_file
from cropmove.stills.shortened import shortened
from cropmove.stills.sound import mark_of, usual_register

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


def pixels(
    path: Path, facts: Header, out: NDArray[Any] | None, rows: int | None = None
) -> NDArray[Any]:
    """Its pixels, (H, W, C) of 8 bits: all, or just the uppermost `rows`, where that is safe.

    It is safe where the very same content was read whole before: damage does not show in a part.

    Parameters
    ----------
    path
        Of the file.
    facts
        Its header.
    out
        What to read into: an array of the whole still's shape, of which a part may be used.
    rows
        How many are needed.
    """
    content = whole_file(path)
    mark = mark_of(content)
    if rows is not None and rows < facts.stored.height and usual_register().has(mark):
        upper = _upper(content, facts, out, rows)
        if upper is not None:
            return upper
    return _found_sound(path, facts, content, mark, buffer=out)


def small(path: Path, facts: Header, at_least: Size) -> NDArray[Any]:
    """The picture at the smallest size its decoder knows that is not below `at_least`."""
    content = whole_file(path)
    smallest = {"min_width": at_least.width, "min_height": at_least.height}
    return _found_sound(path, facts, content, mark_of(content), **smallest)


def _found_sound(
    path: Path, facts: Header, content: bytes, mark: bytes, **options: Any
) -> NDArray[Any]:
    """The picture decoded from all of its data, which is remembered to be sound if it is."""
    with decoding(path, ValueError):  # strict: libjpeg's warnings are errors too
        decoded = _decoded(content, facts, strict=True, **options)
    usual_register().add(mark)
    return decoded


def _upper(
    content: bytes, facts: Header, out: NDArray[Any] | None, rows: int
) -> NDArray[Any] | None:
    """The uppermost rows, decoded from no more data than they need; None where that cannot be."""
    part = shortened(content, facts.stored, rows)
    if part is None:
        return None
    data, height = part
    buffer = None if out is None else out[:height]
    with suppress(ValueError):
        return _decoded(data, facts, strict=False, buffer=buffer)[:rows]
    return None


def _decoded(data: bytes | bytearray, facts: Header, **options: Any) -> NDArray[Any]:
    from simplejpeg import decode_jpeg

    space = "GRAY" if facts.channels == 1 else "RGB"
    decoded: NDArray[Any] = decode_jpeg(data, colorspace=space, **options)
    return decoded
