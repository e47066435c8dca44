"""JPEG stills: header through Pillow, pixels through libjpeg-turbo."""

from __future__ import annotations

import struct
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from cropmove.geometry import Size
from cropmove.stills import exif
from cropmove.stills.header import Header
from cropmove.stills.opening import decoding, opening, refused, stored_size, whole_file
from cropmove.stills.segments import Frame, first_frame
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
        frame = _frame(path, file)
        file.seek(0)
        with exif.unwarned(), decoding(path, *_FAILURES):
            picture = JpegImageFile(file)
        if picture.mode not in _CHANNELS:
            rule = "a JPEG still is RGB or grey; this one is CMYK, made for printing"
            raise refused(path, rule, "save it anew in RGB")
        if frame and not frame.shares_colour_as_usual:
            rule = "a JPEG still is 4:4:4, 4:2:2, 4:2:0, 4:4:0, 4:1:1 or 4:4:1"
            rule += "; this one's colours are thinned out otherwise"
            raise refused(path, rule, "save it anew in 4:4:4 or 4:2:0")
        block = picture.info.get("exif", b"")
        orientation, captured = exif.parsed(block)
        return Header(
            kind="jpeg",
            stored=stored_size(path, *picture.size),
            orientation=orientation,
            channels=_CHANNELS[picture.mode],
            depth=8,
            profile=picture.info.get("icc_profile") or None,
            tags=exif.colour(block),
            captured=captured,
        )


def _frame(path: Path, file: BinaryIO) -> Frame | None:
    """The frame header, where the file has one and is of a kind that is read."""

    def read(at: int, count: int) -> bytes:
        file.seek(at)
        return file.read(count)

    frame = first_frame(read)
    if frame and not frame.is_read:
        rule = "a JPEG still is sequential or progressive; this one is lossless or hierarchical"
        raise refused(path, rule, "save it anew as a plain JPEG, a PNG or a TIFF")
    if frame and frame.bits != 8:
        rule = f"a JPEG still has 8 bits a channel; this one has {frame.bits}"
        raise refused(path, rule, "save it anew in 8 bits, or as a PNG or TIFF of 16")
    return frame


def pixels(
    path: Path, facts: Header, out: NDArray[Any] | None, rows: int | None = None
) -> NDArray[Any]:
    """Its pixels, (H, W, C) of 8 bits: all, or just the uppermost `rows`, where that is safe.

    It is safe where the very same content was read whole before: damage does not show in a part.
    What is known to be sound is also left to a quicker decoder, which would not tell.

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
    if usual_register().has(mark):
        known = _known(content, facts, out, rows)
        if known is not None:
            return known
    return _found_sound(path, facts, content, mark, buffer=out)


def small(path: Path, facts: Header, at_least: Size) -> NDArray[Any]:
    """The picture at the smallest size its decoder knows that is not below `at_least`."""
    content = whole_file(path)
    smallest = {"min_width": at_least.width, "min_height": at_least.height}
    return _found_sound(path, facts, content, mark_of(content), **smallest)


def _found_sound(
    path: Path, facts: Header, content: memoryview, mark: bytes, **options: Any
) -> NDArray[Any]:
    """The picture decoded from all of its data, which is remembered to be sound if it is."""
    from simplejpeg import decode_jpeg

    space = "GRAY" if facts.channels == 1 else "RGB"
    with decoding(path, ValueError):  # strict: libjpeg's warnings are errors too
        decoded: NDArray[Any] = decode_jpeg(content, colorspace=space, strict=True, **options)
    usual_register().add(mark)
    return decoded


def _known(
    content: memoryview, facts: Header, out: NDArray[Any] | None, rows: int | None
) -> NDArray[Any] | None:
    """The picture of a sound content, or its uppermost rows; None where that cannot be.

    The decoder takes a fifteenth less time than the strict one, and no notice of damage.
    """
    from imagecodecs import Jpeg8Error, jpeg8_decode

    whole = facts.stored.height
    with shortened(content, facts.stored, whole if rows is None else rows) as height:
        buffer = None if out is None else out[:height]
        if buffer is not None and facts.channels == 1:
            buffer = buffer[..., 0]
        with suppress(Jpeg8Error, ValueError):
            decoded: NDArray[Any] = jpeg8_decode(content, out=buffer)  # type: ignore[arg-type]
            return decoded if height == whole else decoded[:rows]
    return None
