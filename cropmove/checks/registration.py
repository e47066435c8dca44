"""How far one picture has moved against another: phase correlation, to a fraction of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import Floats

__all__ = ["MIDDLES", "InParts", "Spectrum", "moved_between", "parts_moved", "picture_moved"]

HIGHEST = 0.25
"""Cycles a pixel: above, a photograph holds more noise than picture."""
FINE = 20
"""Places tried in each pixel about the highest peak; a parabola finds the rest."""
AROUND = 1.5
"""Pixels about that peak that are tried."""
ROWS, COLUMNS = 3, 4
"""Parts of a picture that are compared each by itself; each is half as high as the whole and two
fifths as wide, so that they overlap."""
MIDDLES = np.array(
    [(x, y) for y in np.linspace(0.25, 0.75, ROWS) for x in np.linspace(0.2, 0.8, COLUMNS)]
)
"""Where the parts' middles lie, right and down, in widths and heights of the picture."""
SMALLEST = 64
"""Pixels of a part's side, at least: smaller ones tell too little."""
TELLING = 0.09
"""How sure a part has to be of its shift to be asked."""
ALIKE = 1.0
"""Pixels within which the shifts of two parts are one."""
FEWEST = 4
"""Parts that have to tell anything: fewer are one thing on a plain ground."""


@dataclass(frozen=True, slots=True, eq=False)
class Spectrum:
    """A picture's frequencies, ready to be compared.

    Build it with `of`: the picture is faded to its mean at the edges (a Hann window), so that
    what enters and leaves there does not count.
    """

    values: NDArray[np.complex64]
    shape: tuple[int, int]

    @classmethod
    def of(cls, picture: NDArray[np.float32]) -> Spectrum:
        """The spectrum of a grey picture, (H, W), rows first."""
        from scipy.fft import rfft2

        down, across = picture.shape
        fade = np.outer(np.hanning(down), np.hanning(across)).astype(np.float32)
        return cls(rfft2((picture - picture.mean()) * fade), (down, across))


def moved_between(before: Spectrum, after: Spectrum) -> tuple[float, float, float]:
    """How far the picture has gone from one to the other, and how sure that is.

    Parameters
    ----------
    before, after : Spectrum
        Of pictures of the same shape.

    Returns
    -------
    across, down, sure : float
        Pixels, right and down; 1 is quite sure, 0 a guess. A shift that registers `after` back
        upon `before` has the opposite sign.

    Notes
    -----
    Kuglin & Hines 1975 for the coarse peak; Guizar-Sicairos, Thurman & Fienup, Optics Letters
    33:156, 2008, for sampling the correlation finely about it by a matrix product.

    Examples
    --------
    >>> picture = np.random.default_rng(1).random((64, 96), dtype=np.float32)
    >>> picture = (picture + np.roll(picture, 1, 0) + np.roll(picture, 1, 1)) / 3
    >>> moved = moved_between(Spectrum.of(picture), Spectrum.of(np.roll(picture, 5, axis=1)))
    >>> [round(value, 1) + 0.0 for value in moved[:2]]
    [5.0, 0.0]
    """
    from scipy.fft import irfft2

    down, across = before.shape
    rows, columns = np.fft.fftfreq(down), np.fft.rfftfreq(across)
    band = np.hypot(rows[:, None], columns) <= HIGHEST
    cross = after.values * before.values.conj()
    size = np.abs(cross)
    # Where neither picture holds anything there is no phase to compare.
    told = band & (size > size.max() * 1e-9)
    phase = np.where(told, cross / np.where(told, size, 1), 0).astype(np.complex64)
    whole = irfft2(phase, s=before.shape)
    y, x = np.unravel_index(np.argmax(whole), whole.shape)
    near_y, near_x = _signed(int(y), down), _signed(int(x), across)
    tried = np.arange(-AROUND * FINE, AROUND * FINE + 1) / FINE
    low, left = np.abs(rows) <= HIGHEST, columns <= HIGHEST
    weights = np.where(columns[left] == 0, 1.0, 2.0)
    inner = phase[low][:, left] * weights.astype(np.float32)
    to_rows = np.exp(2j * np.pi * np.outer(near_y + tried, rows[low])).astype(np.complex64)
    to_columns = np.exp(2j * np.pi * np.outer(columns[left], near_x + tried))
    # Not "@": threads of a matrix library cost more here than they save.
    part = np.einsum("ij,jk->ik", inner, to_columns.astype(np.complex64))
    fine = np.einsum("ij,jk->ik", to_rows, part).real
    row, column = np.unravel_index(np.argmax(fine), fine.shape)
    most = max(float((told[:, left] * weights).sum()), 1.0)
    return (
        near_x + _top(fine[row], int(column), tried),
        near_y + _top(fine[:, column], int(row), tried),
        float(fine[row, column]) / most,
    )


@dataclass(frozen=True, slots=True, eq=False)
class InParts:
    """A picture's frequencies as a whole and part by part, ready to be compared."""

    whole: Spectrum
    parts: tuple[Spectrum, ...]

    @classmethod
    def of(cls, picture: NDArray[np.float32]) -> InParts:
        """The spectra of a grey picture, (H, W); of a small one only as a whole."""
        down, across = picture.shape
        high, wide = down // 2, across * 2 // 5
        if min(high, wide) < SMALLEST:
            return cls(Spectrum.of(picture), ())
        tops = np.linspace(0, down - high, ROWS).astype(int)
        lefts = np.linspace(0, across - wide, COLUMNS).astype(int)
        parts = (picture[y : y + high, x : x + wide] for y in tops for x in lefts)
        return cls(Spectrum.of(picture), tuple(Spectrum.of(part) for part in parts))


def parts_moved(before: InParts, after: InParts) -> Floats:
    """How far each part has gone: (parts, 3), as `moved_between` tells it; none of a small one."""
    pairs = zip(before.parts, after.parts, strict=True)
    return np.array([moved_between(a, b) for a, b in pairs]).reshape(-1, 3)


def picture_moved(before: InParts, after: InParts, told: Floats) -> tuple[float, float, float]:
    """How far the whole picture has gone, whatever moves in it; as `moved_between` tells it.

    All frequencies count alike in the correlation of phases, and so one thing of sharp contrast
    outweighs a soft picture behind it. Part by part it has one vote among many: where most of the
    parts that tell anything agree on another shift, theirs it is.

    Parameters
    ----------
    before, after : InParts
    told : (parts, 3) array
        What `parts_moved` finds in them.
    """
    whole = moved_between(before.whole, after.whole)
    votes = told[told[:, 2] >= TELLING]
    if len(votes) < FEWEST:
        return whole
    apart = votes[:, None, :2] - votes[None, :, :2]
    agree = np.hypot(apart[..., 0], apart[..., 1]) < ALIKE
    most = agree[np.argmax(agree.sum(axis=1))]
    if 2 * most.sum() <= len(votes):
        return whole
    across, down = np.average(votes[most, :2], axis=0, weights=votes[most, 2])
    if np.hypot(across - whole[0], down - whole[1]) < ALIKE:
        return whole  # it is the more exact
    return float(across), float(down), float(votes[most, 2].mean())


def _signed(place: int, count: int) -> int:
    return place - count if place > count // 2 else place


def _top(values: Floats, at: int, tried: Floats) -> float:
    """Where the parabola through the highest value and its two neighbours has its top."""
    if not 0 < at < len(values) - 1:
        return float(tried[at])
    a, b, c = (float(v) for v in values[at - 1 : at + 2])
    bend = a - 2 * b + c
    return float(tried[at]) + (0.5 * (a - c) / bend / FINE if bend else 0.0)
