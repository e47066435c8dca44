"""The formats that are delivered, and one delivery's settings, validated."""

from __future__ import annotations

from dataclasses import dataclass, field

from cropmove.errors import complain, unknown_word
from cropmove.geometry import Size

__all__ = ["COMPRESSIONS", "FORMATS", "Encoding", "Format"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """One kind of file that frames are delivered in.

    Parameters
    ----------
    name
        As written in the shot file.
    suffix
        Of the files, with its dot.
    depths
        Bits a channel it can hold, the usual one first. In OpenEXR 16 is half and 32 is float.
    largest
        Pixels a side, at the most.
    is_movie
        Whether one file holds all frames.
    holds_alpha
        Whether pictures with an alpha channel can be put in it.
    is_linear
        Whether its numbers are linear light rather than code values.
    summary
        What it is, in a line.
    """

    name: str
    suffix: str
    depths: tuple[int, ...]
    largest: int = Size.LARGEST
    is_movie: bool = False
    holds_alpha: bool = False
    is_linear: bool = False
    summary: str

    def check_alpha(self, channels: int) -> None:
        """Refuse pictures with alpha, 2 or 4 channels, where the format holds none.

        Raises
        ------
        InputError
            With the formats that do.
        """
        if channels in (2, 4) and not self.holds_alpha:
            holders = [known.name for known in FORMATS.values() if known.holds_alpha]
            rule = f"{self.name} holds no alpha channel, and the stills have one"
            raise complain("format", self.name, rule, f"choose {' or '.join(holders)}")

    def check_size(self, size: Size) -> None:
        """Refuse a picture that is too large for the format.

        Raises
        ------
        InputError
            Where a side has more pixels than the format's files, or who writes them, can hold.
        """
        side = max(size.width, size.height)
        if side <= self.largest:
            return
        others = [f.name for f in FORMATS.values() if f.largest >= side]
        alike = [name for name in others if FORMATS[name].is_movie == self.is_movie]
        rule = f"{self.name} holds pictures of at most {self.largest:,} pixels each way"
        choices = f", or choose {' or '.join(alike or others)}" if others else ""
        raise complain("size", str(size), rule, f"deliver fewer pixels{choices}")


FORMATS: dict[str, Format] = {
    entry.name: entry
    for entry in (
        Format(
            name="png",
            suffix=".png",
            depths=(8, 16),
            holds_alpha=True,
            summary="lossless, read everywhere",
        ),
        Format(
            name="tiff",
            suffix=".tif",
            depths=(8, 16),
            holds_alpha=True,
            summary="lossless, for grading and print",
        ),
        Format(
            name="jpeg",
            suffix=".jpg",
            depths=(8,),
            largest=65_500,
            summary="small, with losses",
        ),
        Format(
            name="exr",
            suffix=".exr",
            depths=(16, 32),
            holds_alpha=True,
            is_linear=True,
            summary="OpenEXR: linear light in half (16) or float (32), for compositing",
        ),
        Format(
            name="mp4",
            suffix=".mp4",
            depths=(8, 10),
            largest=16_384,
            is_movie=True,
            summary="H.264 movie, to be looked at",
        ),
        Format(
            name="mov",
            suffix=".mov",
            depths=(10,),
            largest=65_534,
            is_movie=True,
            summary="ProRes 422 HQ movie, to be edited",
        ),
    )
}
"""Every format, in the order in which listings show them.

A side of a JPEG is at most 65,500 pixels to libjpeg (its JPEG_MAX_DIMENSION) and of H.264 16,384 to
its encoder. ProRes keeps sides in 16 bits (SMPTE RDD 36, from memory), and they are even here.
"""

COMPRESSIONS = {
    "quick": "packed as fast as rendering asks for",
    "small": "packed tighter, several times slower",
    "none": "not packed at all",
}
"""How hard lossless files are packed; the pixels are the same."""

QUALITIES = range(1, 101)
USUAL_QUALITY = 95


@dataclass(frozen=True, slots=True, kw_only=True)
class Encoding:
    """How frames are put into files.

    Parameters
    ----------
    format
        A `Format`, or its name.
    depth
        Bits a channel; None for the format's usual one.
    quality
        1 to 100, JPEG only; None for 95.
    compression
        One of `COMPRESSIONS`.
    profile
        The ICC profile that the pixels are in; None for sRGB.

    Raises
    ------
    InputError
        Where the format is unknown, or cannot hold what is asked of it.

    Examples
    --------
    >>> Encoding(format="png").depth, Encoding(format="jpeg").quality
    (8, 95)
    """

    format: Format
    depth: int
    quality: int | None
    compression: str = "quick"
    profile: bytes | None = field(default=None, repr=False)

    def __init__(
        self,
        *,
        format: Format | str,
        depth: int | None = None,
        quality: int | None = None,
        compression: str = "quick",
        profile: bytes | None = None,
    ) -> None:
        known = _format(format)
        object.__setattr__(self, "format", known)
        object.__setattr__(self, "depth", known.depths[0] if depth is None else depth)
        usual = USUAL_QUALITY if quality is None and known.name == "jpeg" else quality
        object.__setattr__(self, "quality", usual)
        object.__setattr__(self, "compression", compression)
        object.__setattr__(self, "profile", profile)
        _check_depth(self)
        _check_quality(self)
        if compression not in COMPRESSIONS:
            raise unknown_word("compression", compression, COMPRESSIONS, "a compression")

    @property
    def dtype(self) -> str:
        """The type of pixels that `encode` takes: "uint8", "uint16" or "float32".

        Ten-bit movies take 16-bit code values, which are rounded once.
        """
        if self.format.is_linear:
            return "float32"
        return "uint8" if self.depth == 8 else "uint16"


def _format(format: Format | str) -> Format:
    if isinstance(format, Format):
        return format
    if format not in FORMATS:
        raise unknown_word("format", format, FORMATS, "a format")
    return FORMATS[format]


def _check_depth(encoding: Encoding) -> None:
    depths = encoding.format.depths
    if encoding.depth in depths:
        return
    rule = f"{encoding.format.name} holds {' or '.join(map(str, depths))} bits a channel"
    others = [known.name for known in FORMATS.values() if _could_stand_in(known, encoding)]
    remedy = f"write depth = {depths[0]}"
    remedy += f", or choose {' or '.join(others)}" if others else ""
    raise complain("depth", encoding.depth, rule, remedy)


def _could_stand_in(other: Format, encoding: Encoding) -> bool:
    chosen = encoding.format
    is_alike = (other.is_movie, other.is_linear) == (chosen.is_movie, chosen.is_linear)
    return is_alike and encoding.depth in other.depths


def _check_quality(encoding: Encoding) -> None:
    quality = encoding.quality
    if quality is None:
        return
    if encoding.format.name != "jpeg":
        rule = f"{encoding.format.name} has no quality to choose; only jpeg has"
        raise complain("quality", quality, rule, "leave it out")
    if quality not in QUALITIES:
        raise complain("quality", quality, "a quality is 1 to 100", "write quality = 95")
