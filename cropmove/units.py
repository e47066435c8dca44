"""Names for numbers: rates, times, shares of a still, rasters. They enter and leave here.

Rates are exact fractions, times are whole frames, sizes are pixels; "24000/1001", "0.5 s",
"50%" and "hd" are only names for them.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from cropmove.errors import complain, nearest
from cropmove.geometry import Size, counted, finite

__all__ = [
    "RASTERS",
    "Raster",
    "count_or_text",
    "count_text",
    "duration",
    "held_text",
    "length",
    "listed",
    "number_or_text",
    "raster",
    "rate",
    "rate_text",
    "seconds_text",
    "unbroken",
    "whole",
    "written",
]

_NUMBER = r"[+-]?(?:\d{1,99}\.?\d{0,99}|\.\d{1,99})(?:[eE][+-]?\d{1,2})?"
_SHARE = re.compile(rf"\s*({_NUMBER})\s*%\s*")
_SECONDS = re.compile(rf"\s*({_NUMBER})\s*(?:s|sec|seconds?)\s*")
_RATIO = re.compile(r"\s*(\d{1,99})\s*/\s*(\d{1,99})\s*")
_WHOLE = re.compile(r"\s*\d{1,99}\s*")
SLOWEST, FASTEST = Fraction(1, 1000), 1000
_FINEST = 1_000_000
"""Parts of a frame a second: movies hold rates as fractions of numbers below 2^31."""
_LONG = 120
"""Seconds from which minutes are told too."""


def whole(value: float | Fraction) -> int:
    """The nearest whole number, half-way ties to the even one: the only rounding of counts.

    Source: NIST Handbook 44, section 10.3 (rounding off).

    Examples
    --------
    >>> whole(2.5), whole(3.5), whole(Fraction(11, 4))
    (2, 4, 3)
    """
    return round(value)


def rate(value: object) -> Fraction:
    """A frame rate as an exact fraction, from 24, "24000/1001" or the usual 23.976.

    A decimal that is a whole rate × 1000/1001, rounded to two digits or more, is that fraction
    (ITU-R BT.709-6 and SMPTE ST 274 list 60, 30 and 24 over 1.001).

    Raises
    ------
    InputError
        Where it is no number, not 0.001 to 1000, or a finer fraction than movies hold.

    Examples
    --------
    >>> rate(24), rate("24000/1001"), rate(23.976), rate(12.5)
    (Fraction(24, 1), Fraction(24000, 1001), Fraction(24000, 1001), Fraction(25, 2))
    """
    rule = f"a rate is a number of frames a second, {float(SLOWEST):g} to {FASTEST}"
    remedy = 'write fps = 24, or fps = "24000/1001"'
    ratio = _RATIO.fullmatch(value) if isinstance(value, str) else None
    counts = counted(value)
    value = value if counts is None else counts
    if ratio and int(ratio[2]):
        exact = Fraction(int(ratio[1]), int(ratio[2]))
    elif isinstance(value, (int, float, Fraction)) and not isinstance(value, bool):
        exact = value if isinstance(value, Fraction) else _exact(finite("", value))
    else:
        raise complain("", value, rule, remedy)
    if not SLOWEST <= exact <= FASTEST:
        raise complain("", value, rule, remedy)
    if exact.denominator > _FINEST:
        rule = f"a rate is a fraction over at most {_FINEST:,}"
        raise complain("", str(value), rule, remedy)
    return exact


def _exact(decimal: float) -> Fraction:
    pulled_down = Fraction(whole(decimal * 1.001) * 1000, 1001)
    is_rounded = any(decimal == round(float(pulled_down), digits) for digits in range(2, 17))
    if is_rounded and decimal != whole(decimal):
        return pulled_down
    return Fraction(str(decimal)).limit_denominator(_FINEST)


def rate_text(value: Fraction) -> str:
    """A rate as it is written in a shot file.

    Examples
    --------
    >>> rate_text(Fraction(24)), rate_text(Fraction(24000, 1001))
    ('24', '24000/1001')
    """
    return str(value)


def duration(value: object, fps: Fraction) -> int:
    """A length of time in whole frames, from frames (12) or seconds ("0.5 s").

    Raises
    ------
    InputError
        Where it is neither a whole number of frames from 0 up nor seconds from 0 up.

    Examples
    --------
    >>> duration(12, Fraction(24)), duration("0.5 s", Fraction(24))
    (12, 12)
    """
    rule = "a time is a whole number of frames, or seconds; never below 0"
    remedy = 'write frames, such as 12, or seconds, such as "0.5 s"'
    match = _SECONDS.fullmatch(value) if isinstance(value, str) else None
    if match:
        exact = Fraction(match[1]) * fps
        frames = whole(exact) if exact >= 0 else -1
    elif isinstance(value, int) and not isinstance(value, bool):
        frames = value
    else:
        raise complain("", value, rule, remedy)
    if frames < 0:
        raise complain("", value, rule, remedy)
    return frames


def seconds_text(frames: int, fps: Fraction) -> str:
    """Frames as seconds, for people: never finer than a thousandth; long ones with minutes.

    Examples
    --------
    >>> seconds_text(49, Fraction(24)), seconds_text(1, Fraction(24))
    ('2.042 s', '0.042 s')
    >>> seconds_text(4800, Fraction(24)), seconds_text(1_000_000, Fraction(24))
    ('3 min 20 s', '11 h 34 min 27 s')
    """
    lasts = frames / fps
    if lasts < _LONG:
        return f"{round(float(f'{float(lasts):.4g}'), 3):.4g} s"
    minutes, seconds = divmod(whole(lasts), 60)
    hours, minutes = divmod(minutes, 60)
    parts = ((hours, "h"), (minutes, "min"), (seconds, "s"))
    return " ".join(f"{count} {unit}" for count, unit in parts if count)


def count_text(count: int, noun: str) -> str:
    """So many of something.

    Examples
    --------
    >>> count_text(1, "frame"), count_text(48, "frame")
    ('1 frame', '48 frames')
    """
    return f"{count} {noun}{'s' * (count != 1)}"


def listed(words: Sequence[str]) -> str:
    """Words one after another as they are told.

    Examples
    --------
    >>> listed(["slider"]), listed(["slider", "boat"]), listed(["slider", "boat", "sky"])
    ('slider', 'slider and boat', 'slider, boat and sky')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def held_text(on: int) -> str:
    """How long each still is held, as the trade says it.

    Examples
    --------
    >>> held_text(1), held_text(3), held_text(6)
    ('on ones', 'on threes', 'on 6s')
    """
    words = {1: "ones", 2: "twos", 3: "threes", 4: "fours"}
    return f"on {words.get(on, f'{on}s')}"


def length(value: object, whole_side: int | None) -> float:
    """A length on the still in pixels, from pixels (1400.5) or a share of its side ("50%").

    Parameters
    ----------
    value : number or str
    whole_side : int or None
        The side that is 100 %, in pixels; None where the still is not known.

    Raises
    ------
    InputError
        Where it is neither, or a share of a still that is not known.

    Examples
    --------
    >>> length(1400.5, 6000), length("25%", 6000)
    (1400.5, 1500.0)
    """
    share = _SHARE.fullmatch(value) if isinstance(value, str) else None
    if share and whole_side is None:
        rule = "a share needs a still to be a share of"
        raise complain("", value, rule, "write pixels, or [shot] still_size = [width, height]")
    if share and whole_side is not None:
        return float(Fraction(share[1]) * whole_side / 100)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return finite("", value)
    rule = "a length is pixels of the still, or a share of it"
    raise complain("", value, rule, 'write a number, such as 1400.5, or a share, such as "50%"')


@dataclass(frozen=True, slots=True, kw_only=True)
class Raster:
    """A delivery size that has a name, and where that name is written down."""

    name: str
    size: Size
    source: str


_HD = "ITU-R BT.709-6; SMPTE ST 274"
_UHD = "ITU-R BT.2020-2; SMPTE ST 2036-1"
_CINEMA = "SMPTE ST 428-1; DCI Digital Cinema System Specification"

RASTERS: dict[str, Raster] = {
    entry.name: entry
    for entry in (
        Raster(name="hd", size=Size(1920, 1080), source=_HD),
        Raster(name="uhd", size=Size(3840, 2160), source=_UHD),
        Raster(name="8k uhd", size=Size(7680, 4320), source=_UHD),
        Raster(name="2k full", size=Size(2048, 1080), source=_CINEMA),
        Raster(name="2k flat", size=Size(1998, 1080), source=_CINEMA),
        Raster(name="2k scope", size=Size(2048, 858), source=_CINEMA),
        Raster(name="4k full", size=Size(4096, 2160), source=_CINEMA),
        Raster(name="4k flat", size=Size(3996, 2160), source=_CINEMA),
        Raster(name="4k scope", size=Size(4096, 1716), source=_CINEMA),
    )
}
"""Every named raster. Scope is 2.387, not 2.39 exactly: the containers say so."""


def raster(name: str) -> Size:
    """The size of a named raster; the two words of a name may stand in either order.

    Raises
    ------
    InputError
        Where no raster has that name; the nearest is named.

    Examples
    --------
    >>> raster("hd"), raster("Flat 2K")
    (Size(width=1920, height=1080), Size(width=1998, height=1080))
    """
    words = name.lower().split()
    for known in (" ".join(words), " ".join(reversed(words))):
        if known in RASTERS:
            return RASTERS[known].size
    raise complain("", name, f"a named raster is one of: {', '.join(RASTERS)}", _meant(name))


def _meant(name: str) -> str:
    """What whoever wrote a name that is none may have meant."""
    close = nearest(name, RASTERS)
    called = re.sub(r"[\s-]", "", name.lower())
    meant = _ALSO_CALLED.get(called, (close,) if close else ())
    if not meant:
        return 'write its width and height: [1280, 720] in a shot file, else "1280x720"'
    *others, last = (f'"{known}"' for known in meant)
    return f"did you mean {', '.join(others)} or {last}?" if others else f"did you mean {last}?"


_CINEMA_2K, _CINEMA_4K = (
    tuple(f"{lines} {shape}" for shape in ("full", "flat", "scope")) for lines in ("2k", "4k")
)
_ALSO_CALLED: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("fullhd", "fhd", "hdtv", "hd1080", "1080", "1080p"), ("hd",)),
    **dict.fromkeys(("ultrahd", "uhdtv", "4kuhd", "uhd4k", "2160", "2160p"), ("uhd",)),
    **dict.fromkeys(("8k", "4320", "4320p", "uhd8k"), ("8k uhd",)),
    "2k": _CINEMA_2K,
    "4k": ("uhd", *_CINEMA_4K),
}
"""What people call rasters that have another name here: common practice, no source."""


def number_or_text(text: str) -> float | str:
    """A word of the command line as a shot file would hold it: a number, or else the word.

    Examples
    --------
    >>> number_or_text("24"), number_or_text("50%")
    (24.0, '50%')
    """
    try:
        return float(text)
    except ValueError:
        return text


def count_or_text(text: str) -> int | str:
    """The same for what is counted: a whole number, or else the word.

    Examples
    --------
    >>> count_or_text("12"), count_or_text("0.5 s")
    (12, '0.5 s')
    """
    return int(text) if _WHOLE.fullmatch(text) else text


def unbroken(text: str, space: str = "\u00a0") -> str:
    """Words in which a number stays on one line with its unit, and a size with its other side.

    Parameters
    ----------
    text : str
    space : str
        What is put in place of a space at which no line may end.

    Examples
    --------
    >>> unbroken("by 1.11 % of the 6000 x 4000 px at 24 and so on", "_")
    'by 1.11_% of the 6000_x_4000_px at 24 and so on'
    """
    return _WITH_UNIT.sub(space, text)


_WITH_UNIT = re.compile(r"(?<=\d) (?=(?:%|°|px|mm|s)(?!\w)|[x×] \d)|(?<=\d [x×]) (?=\d)")


def written(value: float) -> int | float:
    """A number as it is written in a shot file: without a point where it is whole.

    Examples
    --------
    >>> written(1400.0), written(1400.5)
    (1400, 1400.5)
    """
    return int(value) if value == int(value) else value
