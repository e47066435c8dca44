"""TIFF stills: 8 and 16 bits and float, in strips or tiles, either byte order."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropmove.stills import exif
from cropmove.stills.header import ColourTags, Header
from cropmove.stills.opening import damaged, decoding, opening, refused, stored_size

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from tifffile import TiffPage

__all__ = ["header", "pixels"]

# TiffFileError is a ValueError, and the codecs' own errors are RuntimeErrors. A size that is
# damaged asks for more memory than there is.
_FAILURES = (
    ValueError, KeyError, IndexError, struct.error, TypeError, RuntimeError, ArithmeticError,
    MemoryError,
)  # fmt: skip
_DEPTHS = {"uint8": 8, "uint16": 16, "float16": 32, "float32": 32}
_COLOURS = {"MINISBLACK": 1, "MINISWHITE": 1, "RGB": 3, "YCBCR": 3}
_JPEG_PACKINGS = (6, 7, 33007, 34892)
"""Compressions whose decoder turns Y'CbCr to RGB: JPEG's (TIFF 6.0, section 22), old and new."""
_REDUCED = 1
"""NewSubfileType's bit for a reduced copy of another page (TIFF 6.0, section 8)."""
_ASSOCIATED, _STRAIGHT = 1, 2
"""ExtraSamples' values for the two kinds of alpha (TIFF 6.0, section 18)."""
_EXIF, _PROFILE = 34665, 34675
_LINEAR_BT709 = ColourTags(primaries=1, transfer=8)


def header(path: Path) -> Header:
    """What a TIFF file says about itself."""
    with _page(path) as page:
        _refuse_what_is_not_read(path, page)
        is_float = page.dtype is not None and page.dtype.kind == "f"
        return Header(
            kind="tiff",
            stored=stored_size(path, page.imagewidth, page.imagelength),
            orientation=exif.orientation(_told(page, exif.ORIENTATION)),
            channels=_COLOURS[_colour(page)] + (_alpha(page) is not None),
            depth=_DEPTHS[str(page.dtype)],
            profile=_told(page, _PROFILE),
            tags=_LINEAR_BT709 if is_float else ColourTags(),
            captured=exif.exposure(_directory(page)),
        )


def _told(page: TiffPage, tag: int) -> Any:
    """A tag of the page, or of the one that it lies below, which describes the picture too."""
    here = page.tags.valueof(tag)
    if here is None and page.is_subifd:
        return page.parent.pages[page.treeindex[0]].aspage().tags.valueof(tag)
    return here


def _directory(page: TiffPage) -> dict[int, Any]:
    """The EXIF directory by tag number; the library names its tags."""
    from tifffile import TIFF

    named = _told(page, _EXIF)
    if not isinstance(named, dict):
        return {}
    # One number may go by several names there.
    return {code: named[name] for code, name in TIFF.EXIF_TAGS.items() if name in named}


@contextmanager
def _page(path: Path) -> Iterator[TiffPage]:
    """The first page that is a picture of its own."""
    import tifffile
    from imagecodecs import DelayedImportError

    with opening(path), decoding(path, *_FAILURES), tifffile.TiffFile(path) as file:
        try:
            pages = list(_each(file.pages))
            # Pages below a page (TIFF Technical Note 1) count where all others are small copies.
            below = (page for above in pages for page in _each(above.pages or ()))
            whole = (page for page in chain(pages, below) if not page.subfiletype & _REDUCED)
            yield next(whole, pages[0])
        except DelayedImportError as error:
            raise refused(path, f"a TIFF's packing is known; {error}", "save it anew") from error


def _each(pages: Iterable[Any]) -> Iterator[TiffPage]:
    """Pages in turn, once each: in a damaged file the last may lead back to one before it."""
    seen = set()
    for page in pages:
        if page.offset in seen:
            return
        seen.add(page.offset)
        yield page.aspage()


def _refuse_what_is_not_read(path: Path, page: TiffPage) -> None:
    colour = _colour(page)
    if colour not in _COLOURS:
        rule = f"a TIFF still is RGB or grey; this one is {colour.lower()}"
        raise refused(path, rule, "save it anew in RGB")
    is_turned = page.compression in _JPEG_PACKINGS and page.planarconfig == 1
    if colour == "YCBCR" and not is_turned:
        rule = "a TIFF still in Y'CbCr is packed as JPEG; this one is not"
        raise refused(path, rule, "save it anew in RGB")
    if str(page.dtype) not in _DEPTHS or page.bitspersample not in (8, 16, 32):
        rule = "a TIFF still has 8 or 16 bits a channel, or floats of 16 or 32"
        raise refused(path, f"{rule}; this one has {page.bitspersample}", "save it in 16 bits")
    if page.planarconfig not in (1, 2):  # TIFF 6.0, section 8; the library takes all else for 2
        raise damaged(path, f"its PlanarConfiguration is {int(page.planarconfig)}")
    if page.imagedepth != 1:
        raise refused(path, "a TIFF still is flat; this one is a volume", "save it as pictures")


def _colour(page: TiffPage) -> str:
    return str(getattr(page.photometric, "name", page.photometric))


def _alpha(page: TiffPage) -> int | None:
    """ExtraSamples of the first channel after the colours where it is alpha, else None.

    A channel marked as nothing in particular is no alpha and is left out.
    """
    kinds = [int(kind) for kind in page.extrasamples]
    return kinds[0] if kinds and kinds[0] in (_ASSOCIATED, _STRAIGHT) else None


def pixels(path: Path, facts: Header, out: NDArray[Any] | None) -> NDArray[Any]:
    """Every pixel, (H, W, C); into `out`, which has that shape, where given and possible."""
    with _page(path) as page:
        _refuse_gaps(path, page)
        plain = page.samplesperpixel == facts.channels and page.planarconfig == 1
        direct = plain and out is not None and out.dtype == page.dtype
        stored: NDArray[Any] = page.asarray(out=out if direct else None, maxworkers=1)
        return _as_we_hold_them(stored, page, facts)


def _refuse_gaps(path: Path, page: TiffPage) -> None:
    """Refuse a picture of which strips or tiles are missing: the library fills those with black.

    Source: TIFF 6.0, sections 7 (StripsPerImage) and 15 (TilesPerImage).
    """
    if page.is_tiled:
        one = -(-page.imagewidth // page.tilewidth) * -(-page.imagelength // page.tilelength)
    else:
        one = -(-page.imagelength // min(page.rowsperstrip, page.imagelength))
    needed = one * (page.samplesperpixel if page.planarconfig == 2 else 1)
    parts = zip(page.dataoffsets, page.databytecounts, strict=False)
    there = sum(1 for offset, count in parts if offset and count)
    if there < needed:
        raise damaged(path, f"{there} of its {needed} strips or tiles are there")


def _as_we_hold_them(stored: NDArray[Any], page: TiffPage, facts: Header) -> NDArray[Any]:
    import numpy as np

    shape = (facts.stored.height, facts.stored.width, page.samplesperpixel)
    if page.planarconfig == 2:
        stored = np.moveaxis(stored.reshape(shape[2], *shape[:2]), 0, -1)
    held = stored.reshape(shape)[..., : facts.channels]
    if facts.depth == 32:
        held = held.astype(np.float32, copy=False)
    if _colour(page) == "MINISWHITE":
        held = _inverted(held, facts)
    if _alpha(page) == _ASSOCIATED:
        held = straight(held)
    return np.ascontiguousarray(held)


def _inverted(held: NDArray[Any], facts: Header) -> NDArray[Any]:
    white = 1 if facts.depth == 32 else (1 << facts.depth) - 1
    inverted = held.copy()
    inverted[..., 0] = white - held[..., 0]
    return inverted


def straight(premultiplied: NDArray[Any]) -> NDArray[Any]:
    """Colours freed of the alpha they were multiplied by; black where alpha is 0.

    Examples
    --------
    >>> import numpy as np
    >>> straight(np.array([[[60, 30, 0, 128]]], dtype=np.uint8)).tolist()
    [[[120, 60, 0, 128]]]
    """
    import numpy as np

    whole = premultiplied.dtype.kind == "u"
    full = np.iinfo(premultiplied.dtype).max if whole else 1.0
    alpha = premultiplied[..., -1:].astype(np.float32) / np.float32(full)
    colours = premultiplied[..., :-1] / np.where(alpha > 0, alpha, np.float32(1))
    colours = np.where(alpha > 0, colours, 0)
    freed = premultiplied.copy()
    freed[..., :-1] = np.minimum(np.rint(colours), full) if whole else colours
    return freed
