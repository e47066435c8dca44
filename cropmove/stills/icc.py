"""What an ICC profile says: its curves and primaries, read exactly (ICC.1:2022)."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from cropmove.picture.light import ADOBE_RGB, LINEAR, SRGB, Transfer, decode, gamma

__all__ = ["BrokenProfile", "Profile", "parsed"]

Matrix = tuple[tuple[float, ...], ...]

_HEADER, _ENTRY = 128, 12
_RGB_CURVES = (b"rTRC", b"gTRC", b"bTRC")
_RGB_COLOURS = (b"rXYZ", b"gXYZ", b"bXYZ")
_GREY_CURVE = b"kTRC"
_LOOK_UP = (b"A2B0", b"A2B1", b"A2B2")
_NAMED_CURVES = (SRGB, ADOBE_RGB, LINEAR)
_NEAR = 2 / 65_535
"""Curves that agree this well are one: profiles hold a published curve in rounded samples."""
_SAMPLES = 4096


class BrokenProfile(ValueError):
    """The bytes are no ICC profile, or break off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """An ICC profile, as far as the light in a picture depends on it.

    Parameters
    ----------
    name
        Its description.
    space
        "RGB", "GRAY", or whatever else it describes.
    curves
        From code value to linear light, one for each channel; none where it works by look-up
        tables.
    matrix
        From linear RGB to XYZ under D50; None for grey and look-up profiles.
    """

    name: str
    space: str
    curves: tuple[Transfer, ...] = ()
    matrix: Matrix | None = None

    @property
    def transfer(self) -> Transfer | None:
        """The one curve of all channels; None where there is none such."""
        return self.curves[0] if self.curves and len(set(self.curves)) == 1 else None


@lru_cache(maxsize=32)
def parsed(profile: bytes) -> Profile:
    """The profile read.

    Raises
    ------
    BrokenProfile
        Where it cannot be.
    """
    try:
        return _read(profile)
    except (struct.error, IndexError, UnicodeDecodeError, ArithmeticError) as error:
        raise BrokenProfile(str(error) or "it breaks off") from error


def _read(profile: bytes) -> Profile:
    if profile[36:40] != b"acsp":
        raise BrokenProfile("it has no profile's signature")
    tags = _tags(profile)
    space = profile[16:20].decode("ascii").strip()
    name = _text(tags.get(b"desc", b""))
    if any(tag in tags for tag in _LOOK_UP):
        return Profile(name=name, space=space)  # tables go before curves (8.10)
    if _GREY_CURVE in tags:
        return Profile(name=name, space=space, curves=(_curve(tags[_GREY_CURVE]),))
    if not all(tag in tags for tag in _RGB_CURVES + _RGB_COLOURS):
        return Profile(name=name, space=space)
    columns = [_numbers(tags[tag], 8, 3) for tag in _RGB_COLOURS]
    return Profile(
        name=name,
        space=space,
        curves=tuple(_curve(tags[tag]) for tag in _RGB_CURVES),
        matrix=tuple(zip(*columns, strict=True)),
    )


def _tags(profile: bytes) -> dict[bytes, bytes]:
    (count,) = struct.unpack_from(">I", profile, _HEADER)
    found = {}
    for i in range(min(count, 100)):
        tag, at, size = struct.unpack_from(">4sII", profile, _HEADER + 4 + _ENTRY * i)
        if at + size > len(profile):
            raise BrokenProfile("it breaks off")
        found[tag] = profile[at : at + size]
    return found


def _text(tag: bytes) -> str:
    """A description: ASCII in version 2, and in version 4 UTF-16 in one or more languages."""
    if tag[:4] == b"desc":
        (length,) = struct.unpack_from(">I", tag, 8)
        return tag[12 : 12 + length].split(b"\0")[0].decode("latin-1").strip()
    if tag[:4] == b"mluc":
        length, at = struct.unpack_from(">II", tag, 20)
        return tag[at : at + length].decode("utf-16-be").strip("\0 ")
    return "unnamed"


def _numbers(tag: bytes, at: int, count: int) -> tuple[float, ...]:
    """s15Fixed16Numbers (4.6)."""
    return tuple(number / 65_536 for number in struct.unpack_from(f">{count}i", tag, at))


def _curve(tag: bytes) -> Transfer:
    match tag[:4]:
        case b"curv":
            return _named(_sampled_curve(tag))
        case b"para":
            return _named(_parametric_curve(tag))
        case kind:
            raise BrokenProfile(f"a curve of the unknown kind {kind!r}")


def _named(curve: Transfer) -> Transfer:
    """The published curve that this one is a rounded form of, and else the curve itself."""
    x = np.linspace(0, 1, _SAMPLES)
    values = decode(x, curve)
    near = (known for known in _NAMED_CURVES if np.abs(decode(x, known) - values).max() <= _NEAR)
    return next(near, curve)


def _sampled_curve(tag: bytes) -> Transfer:
    """A curveType (10.6): nothing is linear, one number is a power, more are samples."""
    (count,) = struct.unpack_from(">I", tag, 8)
    values = struct.unpack_from(f">{count}H", tag, 12)
    if count == 0:
        return LINEAR
    if count == 1:
        return gamma(_power(values[0] / 256))
    return _from_samples(np.array(values) / 65_535, "sampled curve")


def _power(number: float) -> float:
    if number <= 0:
        raise BrokenProfile(f"a curve to the power {number:g}")
    return number


def _from_samples(samples: NDArray[np.float64], name: str) -> Transfer:
    if (np.diff(samples) < 0).any() or samples[-1] <= samples[0]:
        raise BrokenProfile("a curve that falls")
    return Transfer(name=name, reference="ICC.1:2022, 10.6", samples=tuple(samples.tolist()))


_COUNTS = {0: 1, 1: 3, 2: 4, 3: 5, 4: 7}
"""How many numbers each form of parametric curve has (table 68)."""


def _parametric_curve(tag: bytes) -> Transfer:
    """A parametricCurveType (10.18)."""
    (form,) = struct.unpack_from(">H", tag, 8)
    if form not in _COUNTS:
        raise BrokenProfile(f"a parametric curve of the unknown form {form}")
    g, *rest = _numbers(tag, 12, _COUNTS[form])
    a, b, c, d, e, f = _full(form, rest)
    _power(g)
    if e == 0 and f == 0:
        name = f"gamma {g:g}" if form == 0 else "parametric curve"
        reference = "ICC.1:2022, 10.18"
        return Transfer(name=name, reference=reference, power=g, a=a, b=b, c=c, knee=d)
    x = np.linspace(0, 1, _SAMPLES)
    y = np.where(x >= d, np.maximum(a * x + b, 0) ** g + e, c * x + f)
    return _from_samples(np.clip(y, 0, 1), "parametric curve with an offset")


def _full(form: int, rest: list[float]) -> tuple[float, ...]:
    """The numbers a to f of form 4, which holds all others: (ax + b)^g + e, and cx + f below d."""
    if form == 0:
        return 1.0, 0.0, 0.0, 0.0, 0.0, 0.0
    a, b, *more = rest
    if form == 1:
        return a, b, 0.0, -b / a, 0.0, 0.0
    if form == 2:
        return a, b, 0.0, -b / a, more[0], more[0]
    c, d, *offsets = more
    e, f = offsets or (0.0, 0.0)
    return a, b, c, d, e, f
