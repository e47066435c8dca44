"""The curves a picture is resampled with, by plain names, each with a printed reference.

A kernel says how much each still pixel counts, by its distance from the centre of the delivered
pixel. Distances are in units of the coarser of the two grids: when the still is reduced the
kernel is widened by the reduction, so that nothing too fine for the delivery is left to shimmer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cropmove.errors import unknown_word

__all__ = ["DEFAULT_KERNEL", "KERNELS", "SAMPLES_PER_UNIT", "Kernel", "copies", "kernel_named"]

SAMPLES_PER_UNIT = 4096
"""How finely a kernel is tabulated for the compiled loops; straight lines between the samples
are then within 1e-7 of the curve, and whole-pixel distances fall on samples exactly."""


REDUCED = 2.0
"""Still pixels to a delivered one from which no kernel of ours but the plainest pulses."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kernel:
    """One resampling kernel: an even curve that is zero from `radius` on.

    Parameters
    ----------
    name
        What shot files and commands call it.
    radius
        Where the curve ends, in units of the coarser sample spacing.
    summary
        What it is good for, in a few words.
    reference
        Where the curve is published or how it was found.
    curve
        The curve itself, for distances from 0 to `radius`; it need not sum to 1, since weights
        are always normalised.
    floor
        The narrowest stretch in still pixels. Above 1 the kernel passes nothing finer than the
        still can hold at any sub-pixel position, so that a slow move at native scale does not
        pulse between crisp and soft.

    Examples
    --------
    >>> kernel = kernel_named("crisp")
    >>> kernel.values([0, 0.5, 1, 3]).round(6)
    array([1.      , 0.607927, 0.      , 0.      ])
    """

    name: str
    radius: float
    summary: str
    reference: str
    curve: Callable[[NDArray[np.float64]], NDArray[np.float64]]
    floor: float = 1.0
    reduced: Kernel | None = None
    """What it has turned into where a still is reduced by `REDUCED` and more: there nothing
    pulses that steadiness would have to be bought for with sharpness."""

    def at(self, reduction: float) -> Kernel:
        """The kernel for so many still pixels per delivered pixel.

        Where it turns into another the two are mixed in even proportion, so that a push in never
        jumps from one to the other.

        Examples
        --------
        >>> steady = kernel_named("steady")
        >>> [steady.at(reduction).radius for reduction in (1.0, 2.0)]
        [3.6363636363636362, 3.0]
        """
        share = self.share_reduced(reduction)
        if self.reduced is None or not share:
            return self
        return _mixed(self, self.reduced, share) if share < 1 else self.reduced

    def share_reduced(self, reduction: float) -> float:
        """How far the kernel has turned into `reduced`, 0 to 1 in steps of a ten-thousandth."""
        if self.reduced is None:
            return 0.0
        share = (reduction - self.floor) / (REDUCED - self.floor)
        return round(min(max(share, 0.0), 1.0), 4)

    def values(self, distances: ArrayLike) -> NDArray[np.float64]:
        """The curve at signed distances in units of the coarser sample spacing."""
        far = np.abs(np.asarray(distances, dtype=np.float64))
        return np.where(far < self.radius, self.curve(np.minimum(far, self.radius)), 0.0)

    def stretch(self, reduction: float) -> float:
        """How many still pixels one kernel unit covers, for still pixels per delivered pixel."""
        return max(reduction, self.floor)


@lru_cache(maxsize=32)
def sampled(kernel: Kernel) -> NDArray[np.float64]:
    """The kernel at 0, 1/4096, 2/4096 … of a unit up to its radius, and one zero beyond."""
    count = int(np.ceil(kernel.radius * SAMPLES_PER_UNIT)) + 2
    if isinstance(kernel.curve, _Mixture):
        samples = kernel.curve.sampled(count)
    else:
        samples = kernel.values(np.arange(count) / SAMPLES_PER_UNIT)
    samples.flags.writeable = False
    return samples


@dataclass(frozen=True, slots=True)
class _Mixture:
    """A curve that is one kernel, and to a `share` another, each brought to an area of 1."""

    one: Kernel
    other: Kernel
    share: float

    def __call__(self, x: NDArray[np.float64]) -> NDArray[np.float64]:
        return self._of(self.one.values(x), self.other.values(x))

    def sampled(self, count: int) -> NDArray[np.float64]:
        """As `sampled` gives it, from the tables of the two: no frame is to wait for it."""
        one, other = np.zeros(count), np.zeros(count)
        for table, kernel in ((one, self.one), (other, self.other)):
            table[: sampled(kernel).size] = sampled(kernel)
        return self._of(one, other)

    def _of(self, one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
        return (1 - self.share) / _area(self.one) * one + self.share / _area(self.other) * other


@lru_cache(maxsize=32)
def _area(kernel: Kernel) -> float:
    """By the trapezoid rule, whose middle sample counts once and the others for both sides."""
    samples = sampled(kernel)
    return float((2 * samples.sum() - samples[0]) / SAMPLES_PER_UNIT)


@lru_cache(maxsize=64)
def _mixed(one: Kernel, other: Kernel, share: float) -> Kernel:
    return replace(
        one,
        radius=max(one.radius, other.radius),
        curve=_Mixture(one, other, share),
        reduced=None,
    )


def _lanczos(lobes: int) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    def curve(x: NDArray[np.float64]) -> NDArray[np.float64]:
        value = np.sinc(x) * np.sinc(x / lobes)
        return np.where(x == np.round(x), x == 0, value)

    return curve


def _cubic(b: float, c: float) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    """The two-parameter cubics of Mitchell and Netravali (1988), equation 8."""

    def curve(x: NDArray[np.float64]) -> NDArray[np.float64]:
        near = (12 - 9 * b - 6 * c) * x**3 + (-18 + 12 * b + 6 * c) * x**2 + (6 - 2 * b)
        far = (-b - 6 * c) * x**3 + (6 * b + 30 * c) * x**2 + (-12 * b - 48 * c) * x
        return np.where(x < 1, near, far + 8 * b + 24 * c) / 6

    return curve


def _cosines(
    heights: tuple[float, ...], radius: float, unit: float
) -> Callable[[NDArray[np.float64]], NDArray[np.float64]]:
    """Σ heights_j cos(π j x / radius), for x in still pixels at native scale.

    The curve is asked for in units of `unit` such pixels.
    """

    def curve(x: NDArray[np.float64]) -> NDArray[np.float64]:
        angles = np.pi * unit / radius * x[..., None] * np.arange(len(heights))
        return np.asarray(np.cos(angles) @ np.array(heights), dtype=np.float64)

    return curve


_STEADY = (
    0.125000, 0.216755, 0.247118, 0.250252, 0.075000,
    -0.015029, 0.003887, 0.000725, -0.000125, -0.001823,
)  # fmt: skip
"""What `tests/benchmarks/design_kernel.py` prints. At native scale and over all sub-pixel
positions: sharpness 0.912 along each axis, swinging by less than 0.5 %; 9.95 % overshoot."""


def _tent(x: NDArray[np.float64]) -> NDArray[np.float64]:
    return 1 - x


_LANCZOS = "C. E. Duchon, Lanczos filtering in one and two dimensions, J. Appl. Meteor. 18, 1979"
_CUBIC = "D. P. Mitchell & A. N. Netravali, Reconstruction filters in computer graphics, 1988"

_CRISP = Kernel(
    name="crisp",
    radius=3.0,
    summary="sharpest on whole-pixel positions; for a framing that does not move",
    reference=f"{_LANCZOS}; three lobes",
    curve=_lanczos(3),
)

_ALL = (
    Kernel(
        name="steady",
        radius=4.0 / 1.1,
        summary="keeps its sharpness at every sub-pixel position; for a camera that moves",
        reference=(
            "designed for cropmove: the sharpest sum of cosines that pulses by less than 1 % and "
            "overshoots by less than 10 %; derived in tests/benchmarks/design_kernel.py; at 2:1 "
            "and more it has turned into crisp"
        ),
        curve=_cosines(_STEADY, 4.0, 1.1),
        floor=1.1,
        reduced=_CRISP,
    ),
    _CRISP,
    Kernel(
        name="supple",
        radius=2.0,
        summary="interpolating cubic; less ringing than crisp, and softer",
        reference=f"{_CUBIC}; B = 0, C = 1/2 (Catmull-Rom)",
        curve=_cubic(0, 0.5),
    ),
    Kernel(
        name="gentle",
        radius=2.0,
        summary="soft, with hardly any ringing; for harsh edges and grainy stills",
        reference=f"{_CUBIC}; B = C = 1/3",
        curve=_cubic(1 / 3, 1 / 3),
    ),
    Kernel(
        name="plain",
        radius=1.0,
        summary="straight lines between pixels; quick, soft, no ringing at all",
        reference="linear interpolation, common practice",
        curve=_tent,
    ),
)

KERNELS: dict[str, Kernel] = {kernel.name: kernel for kernel in _ALL}
"""All kernels by name, the default first."""

DEFAULT_KERNEL = "steady"
"""The kernel of a shot that names none."""


def kernel_named(name: str) -> Kernel:
    """The kernel of that name.

    Raises
    ------
    InputError
        For a name that is none of `KERNELS`; it says which is nearest.

    Examples
    --------
    >>> kernel_named("gentle").radius
    2.0
    """
    if name not in KERNELS:
        raise unknown_word("kernel", name, KERNELS, "a kernel")
    return KERNELS[name]


def copies(box: tuple[float, float, float, float], size: tuple[int, int]) -> bool:
    """Whether the box is at native scale on whole pixels, so that a frame can be a plain copy.

    Every interpolating kernel (crisp, supple, plain) then copies bit for bit. A shot that never
    moves and whose box copies should take one of them; a shot that moves should keep one kernel
    throughout, or the change of sharpness will show.

    Examples
    --------
    >>> copies((40.0, 8.0, 1960.0, 1088.0), (1920, 1080))
    True
    >>> copies((40.5, 8.0, 1960.5, 1088.0), (1920, 1080))
    False
    """
    left, top, right, bottom = box
    native = (right - left, bottom - top) == size
    return native and float(left).is_integer() and float(top).is_integer()
