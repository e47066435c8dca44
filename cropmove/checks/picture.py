"""Does the picture keep its sharpness over the move?"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.edges import at_least_as_wide, stays_inside
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.geometry import Floats
from cropmove.picture.kernels import DEFAULT_KERNEL, Kernel, kernel_named

__all__ = ["PULSING", "SOFTENING", "fine_detail", "swing_of"]

PHASES = 32
"""Sub-pixel positions at which a kernel's sharpness is compared."""
STILL_BLUR = 0.6
"""Standard deviation, in still pixels, of what lens and sensor blur a good still by: common
practice, no source."""
DETAIL = 0.25
"""Cycles a delivered pixel of what is called fine detail: half of what a frame can hold."""
WIDEST = 4.0
"""Still pixels to a delivered one from which no kernel of ours pulses."""
NARROWEST_BAND = 8
"""Delivered pixels: where the sub-pixel position goes round in fewer, crisp and soft lie too close
together to be told apart. Common practice, no source."""


@lru_cache(maxsize=256)
def swing_of(kernel: Kernel, stretch: float) -> float:
    """How far a kernel's sharpness swings over sub-pixel positions, as a share of the mean.

    Sharpness is √Σ taps², as for a picture whose gradients are equally strong at all frequencies.

    Parameters
    ----------
    kernel : Kernel
    stretch : float
        Still pixels to a unit of the kernel.

    Examples
    --------
    >>> round(swing_of(kernel_named("crisp"), 1.0), 2), round(swing_of(kernel_named("crisp"), 2), 2)
    (0.12, 0.0)
    """
    phases = np.arange(PHASES) / PHASES
    reach = int(np.ceil(kernel.radius * stretch)) + 1
    places = np.arange(-reach, reach + 1)
    taps = kernel.values((places - phases[:, None]) / stretch)
    taps /= taps.sum(axis=1, keepdims=True)
    sharpness = np.sqrt((taps**2).sum(axis=1))
    return float((sharpness.max() - sharpness.min()) / sharpness.mean())


def _kernel(facts: Facts) -> Kernel:
    return kernel_named(facts.shot.delivery.kernel or DEFAULT_KERNEL)


def _swing_at(kernel: Kernel, reduction: float) -> float:
    """The swing where so many still pixels make a delivered one."""
    return swing_of(kernel.at(reduction), kernel.stretch(reduction))


def _keeps_phase(reduction: Floats) -> NDArray[np.bool_]:
    """Whether neighbouring delivered pixels lie at nearly the same sub-pixel position.

    They do near a whole number of still pixels to a delivered one; elsewhere every position comes
    up within a few pixels, and sharpness is the same all over.
    """
    off = np.abs(reduction - np.maximum(np.round(reduction), 1))
    return np.asarray((off * NARROWEST_BAND < 1) & (reduction < WIDEST))


def _pulsing(facts: Facts) -> Iterator[Finding]:
    kernel, most = _kernel(facts), facts.limits.swing / 100
    course = facts.course
    near = facts.moving & _keeps_phase(1 / course.scale)
    if not near.any():
        return
    # To a hundredth: a move has hundreds of framings, and the swing hardly tells them apart.
    reductions, which = np.unique(np.round(1 / course.scale[near], 2), return_inverse=True)
    swings = np.array([_swing_at(kernel, reduction) for reduction in reductions.tolist()])[which]
    pulses = swings > most
    if not pulses.any():
        return
    frames = course.frame[near][pulses]
    worst = int(np.argmax(swings))
    wide = _steady_width(facts, kernel)
    ways = []
    if _swing_at(kernel_named(DEFAULT_KERNEL), 1.0) <= most:
        ways.append(f'kernel = "{DEFAULT_KERNEL}" under [delivery]')
    if not ways or stays_inside(facts, at_least_as_wide(facts.shot, wide)):
        ways.append(f"keep every framing at least {wide:g} px wide")
    yield Finding(
        id="pulsing",
        level=Level.CAUTION,
        frames=runs_of(frames),
        measured=float(swings.max()) * 100,
        limit=facts.limits.swing,
        unit="% of the sharpness",
        what=f"with the {kernel.name} kernel sharpness swings by {swings.max() * 100:.2g} % as "
        f"the move goes over whole pixels, most at frame {int(course.frame[near][worst])}",
        remedy=", or ".join(ways),
        figures={"kernel": DEFAULT_KERNEL, "width": wide, "first_frame": int(frames[0])},
    )


def _steady_width(facts: Facts, kernel: Kernel) -> int:
    """The narrowest framing at and beyond which the kernel does not pulse."""
    most = facts.limits.swing / 100
    tried = np.arange(100, int(WIDEST * 100) + 1) / 100
    tried = tried[_keeps_phase(tried)]
    bad = [s for s in tried.tolist() if _swing_at(kernel, s) > most]
    return int(np.ceil(facts.course.delivery.width * ((bad[-1] if bad else 1.0) + 0.01)))


def fine_detail(kernel: Kernel, scale: float) -> float:
    """How much of the contrast of fine detail a frame keeps, delivered at that scale.

    Detail of a quarter of a cycle a delivered pixel, through the blur that a good still has of
    itself (a Gaussian, exp(-2 π² σ² f²)) and through the kernel.

    Parameters
    ----------
    kernel : Kernel
    scale : float
        Delivered pixels per still pixel.

    Examples
    --------
    >>> crisp = kernel_named("crisp")
    >>> [round(fine_detail(crisp, scale), 2) for scale in (0.25, 0.5, 1.0)]
    [0.98, 0.91, 0.65]
    """
    on_still = DETAIL * scale
    blur = np.exp(-2 * (np.pi * STILL_BLUR * on_still) ** 2)
    stretch, used = kernel.stretch(1 / scale), kernel.at(1 / scale)
    places = (np.arange(1024) + 0.5) / 1024 * used.radius
    weights = used.values(places)
    passed = (weights * np.cos(2 * np.pi * on_still * stretch * places)).sum() / weights.sum()
    return float(blur * passed)


def _softening(facts: Facts) -> Iterator[Finding]:
    course, kernel = facts.course, _kernel(facts)
    near, far = float(course.scale.max()), float(course.scale.min())
    if near <= far * 1.01:
        return
    sharpest = fine_detail(kernel, far)
    least = sharpest * (1 - facts.limits.softening / 100)
    if fine_detail(kernel, near) >= least:
        return
    low, high = far, near
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if fine_detail(kernel, middle) >= least else (low, middle)
    width = int(np.ceil(course.delivery.width / low))
    soft = course.scale > low
    lost = (1 - fine_detail(kernel, near) / sharpest) * 100
    yield Finding(
        id="softening",
        level=Level.NOTE,
        frames=runs_of(course.frame[soft]),
        measured=lost,
        limit=facts.limits.softening,
        unit="% of the sharpness",
        what=f"from scale {far:.3g} to {near:.3g} fine detail softens by about {lost:.2g} %",
        remedy=_kept_wide(facts, width)
        + f"photograph with {_times_the_pixels(facts, near / low):.10g} times the pixels each way",
        figures={"width": width, "worst_frame": int(np.argmax(course.scale)) + 1},
    )


def _times_the_pixels(facts: Facts, least: float) -> float:
    """How many times the pixels keep the picture sharp: its sharpest gets sharper with them."""
    kernel, scale = _kernel(facts), facts.course.scale
    near, far, kept = float(scale.max()), float(scale.min()), 1 - facts.limits.softening / 100
    for percent in range(0, 101, 2):
        times = float(np.ceil(least * (100 + percent) * 10) / 1000)
        if fine_detail(kernel, near / times) >= kept * fine_detail(kernel, far / times):
            break
    return times


def _kept_wide(facts: Facts, width: int) -> str:
    """The first of two ways, where the still has room for it."""
    fits = stays_inside(facts, at_least_as_wide(facts.shot, width))
    return f"keep every framing at least {width} px wide, or " if fits else ""


PULSING = Check(
    id="pulsing",
    title="sharpness pulses",
    level=Level.CAUTION,
    reason="Near native scale a sharp kernel is crisp on whole-pixel positions and soft between: "
    "a slow move breathes.",
    source="sampling: a kernel that passes nothing beyond half the sampling rate does not swing; "
    "how much swing is seen: common practice, no source",
    find=_pulsing,
    limits=("swing",),
)
SOFTENING = Check(
    id="softening",
    title="the picture softens over the move",
    level=Level.NOTE,
    reason="A still that is much reduced looks crisper than the same still near native scale, "
    "where the lens's own blur shows. Over one move the change can be seen.",
    source="the contrast a Gaussian blur leaves, exp(-2 π² σ² f²), of a still blurred by 0.6 px; "
    "how much is seen: common practice, no source",
    find=_softening,
    limits=("softening",),
)
