"""What a still's file says about itself, read without touching a pixel."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from cropmove.geometry import Orientation, Size

__all__ = ["ColourTags", "Exposure", "Header"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """How a still was exposed, as far as its EXIF tells (CIPA DC-008, 4.6.5).

    Parameters
    ----------
    time
        Exposure time in seconds, tag 33434.
    f_number
        Tag 33437.
    iso
        Sensitivity, tag 34855.
    """

    time: Fraction | None = None
    f_number: float | None = None
    iso: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourTags:
    """What a file says of its colour beside, or in place of, an ICC profile.

    Parameters
    ----------
    primaries, transfer
        Code points of ITU-T H.273 (tables 2 and 3), as PNG's cICP chunk and movies carry them.
    gamma
        The file's own exponent from light to code (PNG's gAMA chunk), such as 0.45455.
    chromaticities
        x and y of red, green, blue and white (PNG's cHRM chunk, OpenEXR's attribute).
    outranks_profile
        Whether the tags go before a profile, as cICP does (PNG third edition, 4.3).
    """

    primaries: int | None = None
    transfer: int | None = None
    gamma: float | None = None
    chromaticities: tuple[float, ...] | None = None
    outranks_profile: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What a still's file says about itself.

    Parameters
    ----------
    kind
        One of the names in `cropmove.stills.kinds.KINDS`.
    stored
        The size as it lies in the file.
    orientation
        How the stored picture is turned to stand upright.
    channels
        1 grey, 2 grey and alpha, 3 RGB, 4 RGB and alpha, as `read_pixels` gives them.
    depth
        8 or 16 (whole numbers), 32 (floats, linear light).
    profile
        The embedded ICC profile.
    tags
        What else the file says of its colour.
    captured
        Exposure settings.
    converted_from
        The ICC profile out of which `read_pixels` turns the still to sRGB, where no single curve
        describes it; `profile` is then None.
    """

    kind: str
    stored: Size
    orientation: Orientation = field(default_factory=Orientation)
    channels: int
    depth: int
    profile: bytes | None = field(default=None, repr=False)
    tags: ColourTags = field(default_factory=ColourTags)
    captured: Exposure = field(default_factory=Exposure)
    converted_from: bytes | None = field(default=None, repr=False)

    @property
    def size(self) -> Size:
        """The size of the upright still.

        Examples
        --------
        >>> Header(kind="jpeg", stored=Size(6000, 4000), orientation=Orientation(6),
        ...        channels=3, depth=8).size
        Size(width=4000, height=6000)
        """
        return self.orientation.upright_size(self.stored)
