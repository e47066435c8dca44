"""Stills whose colour no single curve describes: they are turned to sRGB as they are read.

Look-up profiles (scanners, some raw developers) and profiles whose channels have curves of their
own (calibrated screens) go through a colour-management library. Everything else keeps its numbers.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropmove.errors import InputError
from cropmove.picture.light import LINEAR, SRGB, decode
from cropmove.stills import icc
from cropmove.stills.header import ColourTags, Header
from cropmove.stills.opening import refused
from cropmove.stills.primaries import PRIMARIES
from cropmove.stills.profile import (
    TRANSFERS,
    UNSPECIFIED,
    profile_of,
    srgb_profile,
    transfer_of,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["as_light", "converted", "settled"]

_RELATIVE_COLORIMETRIC = 1
"""Colours stay as measured, white becomes white (ICC.1:2022, table 19); no tones are remapped."""
_ROWS = 64
_SPACES = {1: "GRAY", 2: "GRAY", 3: "RGB", 4: "RGB"}


def settled(header: Header, path: Path) -> Header:
    """The header with a profile that can be worked with, or none.

    Raises
    ------
    InputError
        Where the profile is broken, or the tags ask for a curve or primaries that are not read
        or cannot be.
    """
    _refuse_unread_tags(header.tags, path)
    _refuse_impossible_primaries(header, path)
    if header.profile is None or header.tags.outranks_profile:
        return replace(header, profile=None)
    try:
        profile = icc.parsed(header.profile)
    except icc.BrokenProfile as error:
        raise _broken(path, str(error)) from error
    if profile.space != _SPACES[header.channels]:
        return replace(header, profile=None)  # of another kind of picture: it says nothing
    if profile.transfer is None:
        return replace(header, profile=None, converted_from=header.profile)
    return header


def _broken(path: Path, why: str) -> InputError:
    rule = f"a still's colour profile can be read; this one is damaged ({why})"
    return refused(path, rule, "save the still anew with a profile, such as sRGB")


def _refuse_unread_tags(tags: ColourTags, path: Path) -> None:
    remedy = "convert the still to sRGB, Display P3 or BT.709"
    if tags.transfer not in (None, UNSPECIFIED, *TRANSFERS):
        rule = "a transfer curve is a standard-range one of ITU-T H.273, table 3"
        raise refused(path, f"{rule}; this still has number {tags.transfer}", remedy)
    if tags.primaries not in (None, UNSPECIFIED, *PRIMARIES):
        rule = "primaries are known ones of ITU-T H.273, table 2"
        raise refused(path, f"{rule}; this still has number {tags.primaries}", remedy)


def _refuse_impossible_primaries(header: Header, path: Path) -> None:
    if header.tags.chromaticities is None:
        return
    try:
        profile_of(header)
    except (ValueError, RuntimeError) as error:  # the library's own error is a RuntimeError
        rule = "a still's primaries and white are four different colours"
        remedy = "save the still anew with a profile, such as sRGB"
        raise refused(path, f"{rule}; this one's are damaged ({error})", remedy) from error


def converted(pixels: NDArray[Any], header: Header, path: Path) -> NDArray[Any]:
    """The pixels in sRGB, where the header says they are not; alpha is left as it is.

    Raises
    ------
    InputError
        Where the library cannot use the profile.
    """
    if header.converted_from is None:
        return pixels
    import imagecodecs

    grey = header.channels < 3
    colours = pixels[..., :1] if grey else pixels[..., :3]
    try:
        turned = imagecodecs.cms_transform(
            colours.copy(),
            header.converted_from,
            srgb_profile(),
            colorspace="gray" if grey else "rgb",
            outcolorspace="rgb",
            intent=_RELATIVE_COLORIMETRIC,
            flags=_flags(header.depth),
        )
    except (imagecodecs.CmsError, ValueError) as error:
        raise _broken(path, str(error)) from error
    whole = pixels.copy()
    whole[..., : colours.shape[2]] = turned[..., 1:2] if grey else turned
    return whole


def as_light(pixels: NDArray[Any], header: Header) -> NDArray[Any]:
    """The pixels as they are, but floats as linear light where their profile has a curve.

    Some raw developers put codes, from 0 to 1, into a TIFF of floats, as its profile then says.
    """
    curve = transfer_of(header) if header.converted_from is None else SRGB
    if header.depth != 32 or curve == LINEAR:
        return pixels
    import numpy as np

    colours = pixels[..., :1] if header.channels < 3 else pixels[..., :3]
    with np.errstate(over="ignore"):  # what is too bright for a float is infinite
        for top in range(0, len(colours), _ROWS):  # twice the memory for these at a time only
            colours[top : top + _ROWS] = decode(colours[top : top + _ROWS], curve)
    return pixels


def _flags(depth: int) -> int:
    """At more than 8 bits the library's short cut through a coarse table is too rough."""
    from imagecodecs import CMS

    return 0 if depth == 8 else int(CMS.FLAGS.NOOPTIMIZE)
