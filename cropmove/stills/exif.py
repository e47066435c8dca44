"""Orientation and exposure from EXIF (CIPA DC-008), forgiving about what cameras write there."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from fractions import Fraction
from threading import Lock
from typing import Any

from cropmove.geometry import Orientation
from cropmove.stills.header import ColourTags, Exposure

__all__ = ["colour", "exposure", "orientation", "parsed", "unwarned"]

ORIENTATION = 274
EXIF_DIRECTORY = 34665
_TIME, _F_NUMBER, _ISO = 33434, 33437, 34855
_INTEROPERABILITY, _INDEX = 40965, 1
_OPTION_FILE = "R03"
"""The index of a camera's file in Adobe RGB (CIPA DC-008, 4.6.7: DCF option file). It may carry no
profile."""
_ADOBE_RGB = ColourTags(
    gamma=256 / 563, chromaticities=(0.64, 0.33, 0.21, 0.71, 0.15, 0.06, 0.3127, 0.3290)
)
"""Adobe RGB (1998) color image encoding, 4.3.1."""


_one_at_a_time = Lock()


@contextmanager
def unwarned() -> Iterator[None]:
    """Without Pillow's warnings: a broken maker's note is no fault of the picture."""
    with _one_at_a_time, warnings.catch_warnings():  # Python's filters are the whole process's
        warnings.simplefilter("ignore")
        yield


def parsed(block: bytes) -> tuple[Orientation, Exposure]:
    """Orientation and exposure in a block of EXIF; the plain ones where it is empty or broken."""
    from PIL import Image

    exif = Image.Exif()
    try:
        with unwarned():
            exif.load(block)
            return orientation(exif.get(ORIENTATION)), exposure(exif.get_ifd(EXIF_DIRECTORY))
    except Exception:
        return Orientation(), Exposure()  # Pillow fails in many ways on broken EXIF


def colour(block: bytes) -> ColourTags:
    """What a block of EXIF says of the colours; nothing where it says sRGB, or is broken."""
    from PIL import Image

    exif = Image.Exif()
    try:
        with unwarned():
            exif.load(block)
            index = exif.get_ifd(_INTEROPERABILITY).get(_INDEX)
    except Exception:
        return ColourTags()  # as above
    return _ADOBE_RGB if str(index).startswith(_OPTION_FILE) else ColourTags()


def orientation(value: object) -> Orientation:
    """The orientation a tag asks for; upright where the value means nothing (0 is common).

    Examples
    --------
    >>> orientation(6), orientation(0), orientation(None)
    (Orientation(code=6), Orientation(code=1), Orientation(code=1))
    """
    return Orientation(value) if isinstance(value, int) and 1 <= value <= 8 else Orientation()


def exposure(tags: Mapping[int, Any]) -> Exposure:
    """The exposure settings in an EXIF directory, by tag number.

    Examples
    --------
    >>> exposure({33434: (1, 4), 33437: 11.0, 34855: 100})
    Exposure(time=Fraction(1, 4), f_number=11.0, iso=100)
    """
    f_number = _fraction(tags.get(_F_NUMBER))
    iso = _fraction(_first(tags.get(_ISO)))
    return Exposure(
        time=_fraction(tags.get(_TIME)) or None,
        f_number=float(f_number) if f_number else None,
        iso=int(iso) if iso else None,
    )


def _first(value: Any) -> Any:
    return value[0] if isinstance(value, (tuple, list)) and value else value


def _fraction(value: Any) -> Fraction | None:
    try:
        if isinstance(value, tuple):
            return Fraction(*value)
        numerator = getattr(value, "numerator", None)
        if isinstance(numerator, int):
            return Fraction(numerator, int(value.denominator))
        return Fraction(value) if value is not None else None
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
