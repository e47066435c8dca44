"""The legs that begin or end with a jerk."""

from __future__ import annotations

from collections.abc import Iterator

from cropmove.checks.facts import Facts, LegFacts

__all__ = ["hard_starts", "hard_stops"]


def hard_starts(facts: Facts) -> Iterator[LegFacts]:
    """The legs whose first step is too large, coming from rest or from a cut."""
    for leg in facts.legs:
        begin = leg.leg.start.frame
        comes_moving = begin > 1 and _moves(facts, begin)
        comes_moving &= all(cut.end.frame != begin for cut in facts.course.move.cuts)
        if not comes_moving and _is_hard(facts, leg, float(leg.steps[0])):
            yield leg


def hard_stops(facts: Facts) -> Iterator[LegFacts]:
    """The legs whose last step is too large, going to rest or to a cut."""
    for leg in facts.legs:
        end = leg.leg.end.frame
        goes_on = end < len(facts.course) and _moves(facts, end + 1)
        goes_on &= all(cut.start.frame != end for cut in facts.course.move.cuts)
        if leg.is_whole and not goes_on and _is_hard(facts, leg, float(leg.steps[-1])):
            yield leg


def _moves(facts: Facts, frame: int) -> bool:
    return bool(facts.moving[frame - 1])


def _is_hard(facts: Facts, leg: LegFacts, step: float) -> bool:
    limits = facts.limits
    if step <= limits.visible_change / 100:
        return False
    return step > limits.hard_step / 100 * leg.peak * (1 + 1e-9)
