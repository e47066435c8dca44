"""Is the picture enlarged?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from cropmove.checks.edges import at_least_as_wide, stays_inside
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.geometry import Size

__all__ = ["ENLARGED", "largest_delivery"]

_SLACK = 1e-9
"""Relative: what floating-point arithmetic may add to a scale of exactly 1."""


def largest_delivery(width: float, delivery: Size, max_scale: float) -> Size:
    """The largest delivery of the same shape that a framing of that width allows, in even pixels.

    Examples
    --------
    >>> largest_delivery(1600, Size(1920, 1080), 1.0)
    Size(width=1600, height=900)
    """
    most = min(width * max_scale * (1 + _SLACK), Size.LARGEST, Size.LARGEST / delivery.shape)
    across = max(2, int(most) // 2 * 2)
    return Size(across, min(max(1, int(across * delivery.shape) // 2 * 2), Size.LARGEST))


def _find(facts: Facts) -> Iterator[Finding]:
    course, delivery = facts.course, facts.shot.delivery
    limit = delivery.max_scale
    # The narrowest that each frame's open shutter sees.
    widths = facts.opened[..., 2].min(axis=1)
    scales = delivery.size.width / widths
    refused = bool((scales > limit * (1 + _SLACK)).any())
    most = (limit if refused else 1.0) * (1 + _SLACK)
    beyond = scales > most
    if not beyond.any():
        return
    frames = course.frame[beyond]
    worst, scale = int(np.argmax(scales)), float(scales.max())
    when = "" if course.scale[worst] > most else ", not in its middle but while its shutter is open"
    closest = delivery.size.width / limit
    largest = largest_delivery(float(widths.min()), delivery.size, limit)
    wide = at_least_as_wide(facts.shot, _rounded_up(closest))
    ways = [f"deliver at most {largest}", f"accept it: max_scale = {_rounded_up(scale):.10g}"]
    if stays_inside(facts, wide):
        ways.insert(0, f"keep every framing at least {_rounded_up(closest):.10g} px wide")
    remedy = ", or ".join(ways)
    yield Finding(
        id="enlarged",
        level=Level.FAULT if refused else Level.NOTE,
        frames=runs_of(frames),
        measured=scale,
        limit=limit,
        unit="delivered pixels per still pixel",
        what=f"the still is enlarged {_rounded_up(scale):.10g} times at frame {worst + 1}, "
        f"where it is softest{when}",
        remedy=remedy if refused else "none needed: max_scale accepts it",
        figures={
            "first_frame": int(frames[0]),
            "worst_frame": worst + 1,
            "closest_width": closest,
            "largest_delivery": [largest.width, largest.height],
        },
    )


def _rounded_up(value: float) -> float:
    """To three digits after the point, never below what was measured."""
    return float(np.ceil(value * 1000 * (1 - _SLACK)) / 1000)


ENLARGED = Check(
    id="enlarged",
    title="the picture is enlarged",
    level=Level.FAULT,
    reason="A framing narrower than the delivery has fewer pixels than are shown: it goes soft.",
    source="sampling: no detail is finer than the pixels it was photographed with",
    find=_find,
)
