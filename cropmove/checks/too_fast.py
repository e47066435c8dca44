"""How fast is too fast: the steps that a move is held to, and the legs that go beyond them."""

from __future__ import annotations

from cropmove.checks.facts import Facts, LegFacts

__all__ = ["calm_step", "is_zip", "strobing_legs", "strobing_step", "zip_step"]

RULE_RATE = 24
"""Frames a second for which the seven-second rule is told."""
RULE_SHUTTER = 180
"""Degrees, likewise."""


def calm_step(facts: Facts) -> float:
    """The largest step that the seven-second rule allows, in frame widths.

    A step is what strobes, so it is the same at every rate: the time scales instead. The blur of
    a shutter of a degrees covers a / 360 of a step; what it leaves open is held to what the rule
    leaves open at 180 degrees.
    """
    return _by_shutter(facts) / (facts.limits.crossing * RULE_RATE)


def _by_shutter(facts: Facts) -> float:
    angle = min(max(facts.shot.delivery.shutter, facts.limits.shutter), 350.0)
    return (1 - RULE_SHUTTER / 360) / (1 - angle / 360)


def strobing_step(facts: Facts) -> float:
    """The step, as a share of the frame's width, from which a strong edge is seen twice."""
    return _by_shutter(facts) * facts.limits.strobing / 100


def zip_step(facts: Facts) -> float:
    """The step, likewise, from which a pan reads as a zip pan."""
    return facts.limits.zip_pan / 100


def is_zip(facts: Facts, leg: LegFacts) -> bool:
    """Whether a leg reads as a zip pan, which is told as that alone."""
    return leg.peak >= zip_step(facts)


def strobing_legs(facts: Facts) -> int:
    """How many legs strobe, as far as their steps tell."""
    most = strobing_step(facts)
    return sum(not is_zip(facts, leg) and leg.sideways.max() > most for leg in facts.legs)
