"""Transfer curves: between code values, as files hold them, and linear light, which adds up.

A code value is handled here as a share of full scale, from 0 to 1; linear light likewise, 1
being what full scale stands for.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["ADOBE_RGB", "BT709", "LINEAR", "SRGB", "Transfer", "decode", "encode", "gamma"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Transfer:
    """One transfer curve, as a rising power curve with a straight toe, or as samples.

    With code value x, linear light is ``(a·x + b) ** power`` from `knee` on and ``c·x`` below:
    ICC.1:2022, 10.18, parametric curve of function type 3.

    Parameters
    ----------
    name
        What findings and listings call it.
    reference
        Where the numbers are published.
    power, a, b, c, knee
        The numbers of the formula.
    samples
        Linear light at evenly spaced code values from 0 to 1, rising, straight lines between;
        where given it takes the place of the formula (ICC.1:2022, 10.6).

    Examples
    --------
    >>> print(f"{float(decode(128 / 255, SRGB)):.7f}")
    0.2158605
    """

    name: str
    reference: str
    power: float = 1.0
    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    knee: float = 0.0
    samples: tuple[float, ...] = ()


LINEAR = Transfer(name="linear", reference="code values in proportion to light")
SRGB = Transfer(
    name="sRGB",
    reference="IEC 61966-2-1:1999",
    power=2.4,
    a=1 / 1.055,
    b=0.055 / 1.055,
    c=1 / 12.92,
    knee=0.04045,
)
ADOBE_RGB = Transfer(
    name="Adobe RGB", reference="Adobe RGB (1998) color image encoding, 4.3.1.2", power=2 + 51 / 256
)
BT709 = Transfer(
    name="BT.709",
    reference="ITU-R BT.709-6, 1.2",
    power=1 / 0.45,
    a=1 / 1.099,
    b=0.099 / 1.099,
    c=1 / 4.5,
    knee=0.081,
)


def gamma(power: float) -> Transfer:
    """The pure power curve ``x ** power``.

    Examples
    --------
    >>> float(decode(0.5, gamma(2)))
    0.25
    """
    return Transfer(name=f"gamma {power:g}", reference="pure power", power=power)


def decode(codes: ArrayLike, transfer: Transfer) -> NDArray[np.float64]:
    """Linear light for code values; integer arrays are taken as shares of their full scale.

    Examples
    --------
    >>> decode(np.array([0, 255], dtype=np.uint8), SRGB)
    array([0., 1.])
    """
    x = _shares(codes)
    if transfer.samples:
        return np.interp(x, np.linspace(0, 1, len(transfer.samples)), transfer.samples)
    curved = np.maximum(transfer.a * x + transfer.b, 0) ** transfer.power
    return np.where(x < transfer.knee, transfer.c * x, curved)


def encode(linear: ArrayLike, transfer: Transfer) -> NDArray[np.float64]:
    """Code values, as shares of full scale, for linear light.

    Examples
    --------
    >>> print(f"{float(encode(0.18, SRGB)):.9f}")
    0.461356130
    """
    y = np.asarray(linear, dtype=np.float64)
    if transfer.samples:
        return np.interp(y, transfer.samples, np.linspace(0, 1, len(transfer.samples)))
    toe = transfer.c * transfer.knee
    curved = (np.maximum(y, 0) ** (1 / transfer.power) - transfer.b) / transfer.a
    return np.where(y < toe, y / (transfer.c or 1), curved)


def _shares(codes: ArrayLike) -> NDArray[np.float64]:
    given = np.asarray(codes)
    full = np.iinfo(given.dtype).max if given.dtype.kind == "u" else 1
    return given.astype(np.float64) / full


# For the compiled loops: curves as tables. --------------------------------------------------

LOWEST_OCTAVE = -42
"""Light below 2 ** -42 is black: the first code of 16 bits stands for more in any usual curve."""

STEPS_PER_OCTAVE = 256
"""Straight pieces to each halving of light in the encoding table: within 0.05 of a 16-bit code."""


@lru_cache(maxsize=16)
def decoding_table(transfer: Transfer, depth: int) -> NDArray[np.float32]:
    """Linear light of every code value of 8 or 16 bits."""
    full = (1 << depth) - 1
    return decode(np.arange(full + 1) / full, transfer).astype(np.float32)


@lru_cache(maxsize=16)
def encoding_table(transfer: Transfer) -> NDArray[np.float32]:
    """Code shares at the start of each straight piece, and the rise along it.

    The pieces are spaced as the bits of a float32 are: evenly within an octave, so that a value's
    own top bits are its place in the table, and the rest of them how far along the piece it is.
    """
    octaves = -LOWEST_OCTAVE
    within = 1 + np.arange(STEPS_PER_OCTAVE) / STEPS_PER_OCTAVE
    light = np.ldexp(within, np.arange(LOWEST_OCTAVE, 0)[:, None]).reshape(-1)
    codes = encode(np.append(light, 1.0), transfer)
    table = np.zeros((octaves * STEPS_PER_OCTAVE + 1, 2), dtype=np.float32)
    table[:, 0] = codes
    table[:-1, 1] = np.diff(codes)
    return table


TOLERANCE = 0.03
"""How far, in codes, a polynomial may be from its curve and still stand in for it."""

FINE_TOLERANCE = 0.4
"""The same where finer codes are made of 8-bit ones, in codes of 16 bits: copies are exact."""


@lru_cache(maxsize=16)
def fit_decoding(transfer: Transfer) -> NDArray[np.float32]:
    """Polynomial of degree 6 for 8-bit codes 0 … 255 to light, or nothing where none is close.

    Knee, slope below it, then the coefficients from the constant up. An error counts in two ways:
    against the light between neighbouring codes where it arises, so that flat fields stay flat;
    and against that between the darkest codes, where the sharp side of a kernel may carry it.
    """
    rise = np.maximum(np.gradient(_light_of_bytes(transfer)), 1e-12)
    return _fitted(transfer, 6, (rise[0] / rise) ** 0.25 / rise[0], TOLERANCE)


@lru_cache(maxsize=16)
def fit_fine_decoding(transfer: Transfer) -> NDArray[np.float32]:
    """The same of degree 7, for what becomes finer than 8 bits: a copy is 257 times its code."""
    rise = np.maximum(np.gradient(_light_of_bytes(transfer)), 1e-12)
    return _fitted(transfer, 7, 257 / rise, FINE_TOLERANCE)


def _light_of_bytes(transfer: Transfer) -> NDArray[np.float64]:
    return decode(np.arange(256) / 255, transfer)


def _fitted(
    transfer: Transfer, degree: int, weight: NDArray[np.float64], tolerance: float
) -> NDArray[np.float32]:
    shares = np.arange(256) / 255
    above = shares >= transfer.knee
    powers = shares[above, None] ** np.arange(degree + 1)
    best, error = _minimax(powers, _light_of_bytes(transfer)[above], weight[above])
    if error > tolerance:
        return np.zeros(0, dtype=np.float32)
    head = [transfer.knee * 255, transfer.c / 255]
    return np.append(head, best / 255.0 ** np.arange(degree + 1)).astype(np.float32)


@lru_cache(maxsize=16)
def fit_encoding(transfer: Transfer, depth: int) -> NDArray[np.float32]:
    """Polynomial in a root of light to codes of 8 or 16 bits, or nothing where none is close.

    For 8 bits it is of degree 7, in the square root; for 16 of degree 8, in the fourth root. Laid
    out as `fit_decoding` does, with the knee in light.
    """
    full, degree, root = (255, 7, 2) if depth == 8 else (65535, 8, 4)
    knee = transfer.c * transfer.knee
    darkest = knee ** (1 / root)
    roots = darkest + (1 - darkest) * (1 - np.cos(np.linspace(0, np.pi, 300))) / 2
    codes = full * encode(roots**root, transfer)
    best, error = _minimax(roots[:, None] ** np.arange(degree + 1), codes, np.ones_like(roots))
    if error > TOLERANCE:
        return np.zeros(0, dtype=np.float32)
    return np.append([knee, full / (transfer.c or 1)], best).astype(np.float32)


def _minimax(
    columns: NDArray[np.float64], wanted: NDArray[np.float64], weight: NDArray[np.float64]
) -> tuple[NDArray[np.float64], float]:
    """Coefficients whose worst weighted error is least, and that error, by Lawson's iteration.

    Source: J. R. Rice & K. H. Usow, The Lawson algorithm and extensions, Math. Comp. 22, 1968.
    """
    best: NDArray[np.float64] = np.zeros(columns.shape[1])
    least = np.inf
    emphasis = np.ones_like(wanted)
    for _ in range(60):
        scale = weight * np.sqrt(emphasis)
        found = np.linalg.lstsq(columns * scale[:, None], wanted * scale, rcond=None)[0]
        errors = np.abs(columns @ found - wanted) * weight
        if errors.max() < least:
            best, least = found.astype(np.float64), float(errors.max())
        emphasis = np.maximum(emphasis * errors / errors.mean(), 1e-12)
        emphasis /= emphasis.mean()
    return best, least
