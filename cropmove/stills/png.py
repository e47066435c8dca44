"""PNG stills, of 8 and 16 bits; palettes and fewer bits are expanded to 8."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropmove.geometry import Orientation
from cropmove.stills import exif
from cropmove.stills.chunks import notes
from cropmove.stills.header import ColourTags, Exposure, Header
from cropmove.stills.opening import damaged, decoding, refused, stored_size, whole_file

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["header", "pixels"]

_GREY, _RGB, _PALETTE, _GREY_ALPHA, _RGB_ALPHA = 0, 2, 3, 4, 6
_CHANNELS = {_GREY: 1, _RGB: 3, _PALETTE: 3, _GREY_ALPHA: 2, _RGB_ALPHA: 4}
_LARGEST_PROFILE = 64_000_000
"""Bytes: some times the largest look-up profiles; a few damaged bytes can unpack to thousands."""
_SRGB_CODE_POINTS = (1, 13)
"""BT.709 primaries and the sRGB curve in ITU-T H.273."""


def header(path: Path) -> Header:
    """What a PNG file says about itself."""
    found = notes(path)
    width, height, bits, colour = struct.unpack(">IIBB", found[b"IHDR"][:10])
    if colour not in _CHANNELS or bits not in (1, 2, 4, 8, 16):
        raise damaged(path, f"colour type {colour} of {bits} bits")
    _refuse_narrow_range(path, found)
    turned, captured = Orientation(), Exposure()
    if b"eXIf" in found:
        turned, captured = exif.parsed(found[b"eXIf"])
    return Header(
        kind="png",
        stored=stored_size(path, width, height),
        orientation=turned,
        # tRNS names a transparent colour; expanded, it is an alpha channel.
        channels=_CHANNELS[colour] + (b"tRNS" in found),
        depth=16 if bits == 16 else 8,
        profile=_profile(path, found),
        tags=_tags(found),
        captured=captured,
    )


def _profile(path: Path, found: dict[bytes, bytes]) -> bytes | None:
    if b"iCCP" not in found:
        return None
    _, _, packed = found[b"iCCP"].partition(b"\0")
    unpacking = zlib.decompressobj()
    with decoding(path, zlib.error):
        profile = unpacking.decompress(packed[1:], _LARGEST_PROFILE)
    if not unpacking.eof:
        why = f"its colour profile is cut off, or above {_LARGEST_PROFILE // 1_000_000} MB"
        raise damaged(path, why)
    return profile


def _refuse_narrow_range(path: Path, found: dict[bytes, bytes]) -> None:
    """The last byte of cICP is 1 where codes take the full range (11.3.2.6)."""
    if len(found.get(b"cICP", b"")) == 4 and not found[b"cICP"][3]:
        rule = "a PNG still's codes run from 0 to their largest; this one's take the narrow range"
        raise refused(path, rule, "save it anew in the full range, as RGB")


def _tags(found: dict[bytes, bytes]) -> ColourTags:
    """The one chunk that decides: cICP, then iCCP, sRGB, and last cHRM and gAMA (4.3)."""
    if len(found.get(b"cICP", b"")) == 4:
        primaries, transfer = found[b"cICP"][:2]
        return ColourTags(primaries=primaries, transfer=transfer, outranks_profile=True)
    if b"iCCP" in found:
        return ColourTags()
    if b"sRGB" in found:
        primaries, transfer = _SRGB_CODE_POINTS
        return ColourTags(primaries=primaries, transfer=transfer)
    return ColourTags(gamma=_gamma(found), chromaticities=_chromaticities(found))


def _gamma(found: dict[bytes, bytes]) -> float | None:
    chunk = found.get(b"gAMA", b"")
    scaled = int.from_bytes(chunk) if len(chunk) == 4 else 0
    return scaled / 100_000 if scaled else None


def _chromaticities(found: dict[bytes, bytes]) -> tuple[float, ...] | None:
    if len(found.get(b"cHRM", b"")) != 32:
        return None
    numbers = [number / 100_000 for number in struct.unpack(">8I", found[b"cHRM"])]
    return (*numbers[2:], *numbers[:2])  # the chunk puts white first


def pixels(path: Path, facts: Header, out: NDArray[Any] | None) -> NDArray[Any]:
    """Every pixel, (H, W, C) of 8 or 16 bits; into `out`, which has that shape, where given."""
    from imagecodecs import PngError, png_decode

    target = out[..., 0] if out is not None and facts.channels == 1 else out
    data = whole_file(path)
    with decoding(path, PngError, ValueError):
        decoded: NDArray[Any] = png_decode(data, out=target)  # type: ignore[arg-type]
    return decoded
