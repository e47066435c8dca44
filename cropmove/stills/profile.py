"""Which light a still's numbers stand for: its transfer curve, its primaries, its profile.

A still is read by its profile where it carries one, by its tags where it has those, and is
sRGB otherwise (floats: linear light). A movie's BT.709 code values are taken for sRGB's: they
are shown on the same screens, and pass through unchanged in both directions.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any

import numpy as np

from cropmove.geometry import Floats
from cropmove.picture.light import BT709, LINEAR, SRGB, Transfer, decode, gamma
from cropmove.stills import icc
from cropmove.stills.header import ColourTags, Header
from cropmove.stills.primaries import PRIMARIES, SRGB_CHROMATICITIES, to_xyz

__all__ = [
    "TRANSFERS",
    "UNSPECIFIED",
    "profile_name",
    "profile_of",
    "rgb_to_xyz",
    "same_profile",
    "srgb_profile",
    "to_srgb",
    "transfer_of",
]

TRANSFERS: dict[int, Transfer] = {
    4: gamma(2.2),
    5: gamma(2.8),
    8: LINEAR,
    13: SRGB,
    **dict.fromkeys((1, 6, 11, 14, 15), BT709),
}
"""Transfer curves by code point: ITU-T H.273, table 3."""
UNSPECIFIED = 2
_SRGB_GAMMA = 0.45455
"""The gAMA that goes with sRGB (PNG, third edition, 11.3.2.5)."""
_SAME_MATRIX = 5e-4
"""Matrices this near differ by the rounding of their white points alone."""


def transfer_of(header: Header) -> Transfer:
    """The still's transfer curve, from code value to linear light."""
    profile = _profile(header)
    if profile is not None and profile.transfer is not None:
        return profile.transfer
    return _tagged(header.tags, header)


def _profile(header: Header) -> icc.Profile | None:
    if header.profile is None or header.tags.outranks_profile:
        return None
    return icc.parsed(header.profile)


def _tagged(tags: ColourTags, header: Header) -> Transfer:
    if tags.gamma is not None:
        return SRGB if abs(tags.gamma - _SRGB_GAMMA) < 1e-4 else gamma(1 / tags.gamma)
    if tags.transfer in (None, UNSPECIFIED) or header.kind == "movie":
        return SRGB
    return TRANSFERS[tags.transfer]


def rgb_to_xyz(header: Header) -> Floats | None:
    """The matrix from the still's linear RGB to XYZ under D50; None for grey."""
    if header.channels < 3:
        return None
    profile = _profile(header)
    if profile is not None and profile.matrix is not None:
        return np.array(profile.matrix)
    return to_xyz(_chromaticities(header.tags))


def _chromaticities(tags: ColourTags) -> tuple[float, ...]:
    if tags.chromaticities is not None:
        return tags.chromaticities
    return PRIMARIES.get(tags.primaries or 1, SRGB_CHROMATICITIES)


def to_srgb(header: Header) -> Floats | None:
    """The matrix from the still's linear RGB to sRGB's; None where there is nothing to turn.

    It is applied to linear light, before the sRGB curve; what falls outside 0 to 1 is then
    outside sRGB and is cut off.
    """
    matrix = rgb_to_xyz(header)
    if matrix is None or _is_srgb(matrix):
        return None
    return np.linalg.solve(to_xyz(SRGB_CHROMATICITIES), matrix).astype(np.float64)


def _is_srgb(matrix: Floats) -> bool:
    return bool(np.abs(matrix - to_xyz(SRGB_CHROMATICITIES)).max() < _SAME_MATRIX)


def profile_of(header: Header) -> bytes | None:
    """The profile that frames made of this still's numbers carry; None for sRGB.

    The still's own where that decides; one made from its tags where they do.
    """
    own = _profile(header)
    if own is not None:
        return None if same_profile(header.profile, None) else header.profile
    matrix, transfer = rgb_to_xyz(header), transfer_of(header)
    if transfer == SRGB and (matrix is None or _is_srgb(matrix)):
        return None
    return _made(None if matrix is None else _chromaticities(header.tags), transfer)


@lru_cache(maxsize=16)
def _made(chromaticities: tuple[float, ...] | None, transfer: Transfer) -> bytes:
    """A new profile of these primaries (None: grey) and curve."""
    from imagecodecs import cms_profile

    curve: dict[str, Any] = {"gamma": transfer.power}
    if not _is_pure(transfer):
        samples = decode(np.linspace(0, 1, 4096), transfer)
        curve = {"transferfunction": samples.astype(np.float32)}
    if chromaticities is None:
        return _undated(cms_profile("gray", **curve))
    *colours, white_x, white_y = chromaticities
    pairs = zip(colours[::2], colours[1::2], strict=True)
    whole = [number for x, y in pairs for number in (x, y, 1)]
    made = cms_profile("rgb", whitepoint=[white_x, white_y, 1], primaries=whole, **curve)
    return _undated(made)


def _is_pure(transfer: Transfer) -> bool:
    return not transfer.samples and (transfer.a, transfer.b, transfer.knee) == (1, 0, 0)


def _undated(profile: bytes) -> bytes:
    """The profile with a fixed date and no checksum, so that the same frame is the same file."""
    date = np.array([2026, 1, 1, 0, 0, 0], ">u2").tobytes()
    return profile[:24] + date + profile[36:84] + bytes(16) + profile[100:]


@cache
def srgb_profile() -> bytes:
    """A small sRGB profile, the same bytes every time."""
    from imagecodecs import cms_profile

    return _undated(cms_profile("srgb"))


def same_profile(a: bytes | None, b: bytes | None) -> bool:
    """Whether two profiles stand for the same light, whatever else their bytes say.

    None is sRGB, of whichever number of channels.

    Examples
    --------
    >>> same_profile(None, srgb_profile())
    True
    """
    if a == b:
        return True
    one, other = (None if p is None else icc.parsed(p) for p in (a, b))
    return _same_curve(one, other) and _same_primaries(one, other)


def _same_curve(one: icc.Profile | None, other: icc.Profile | None) -> bool:
    curves = [SRGB if profile is None else profile.transfer for profile in (one, other)]
    return curves[0] is not None and curves[0] == curves[1]


def _same_primaries(one: icc.Profile | None, other: icc.Profile | None) -> bool:
    srgb = to_xyz(SRGB_CHROMATICITIES)
    known = [p for p in (one, other) if p is not None]
    if len({p.space for p in known}) > 1:
        return False
    matrices = [np.array(p.matrix) if p.matrix else srgb for p in known]
    first, second = [*matrices, srgb][:2]
    return bool(np.abs(first - second).max() < _SAME_MATRIX)


def profile_name(profile: bytes | None) -> str:
    """The profile's own name, for people.

    Examples
    --------
    >>> profile_name(None)
    'sRGB'
    """
    return "sRGB" if profile is None else icc.parsed(profile).name
