"""What would slow a leg down, tried before it is told, and how a longer leg is told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import ceil

from cropmove.checks.facts import Facts, LegFacts
from cropmove.checks.retime import (
    LONGEST,
    Measure,
    alone,
    lasting,
    moves_of,
    shortened,
    shortest_steps,
    straightened,
)
from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.units import count_text, seconds_text

__all__ = ["Slower", "longer_text", "passed_on", "slower", "without_keys"]

_SHOWN = 4
"""Passed keys whose frames are told in the text; all of them are under the figures."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slower:
    """What would slow a leg down enough."""

    steps: int | None
    end: tuple[float, ...] | None
    passed: Mapping[int, int]
    text: str

    def figures(self, leg: LegFacts) -> dict[str, object]:
        """The numbers of the remedy, by name."""
        return {
            "leg": leg.number + 1,
            "steps": self.steps,
            "last_frame": leg.leg.start.frame + self.steps if self.steps else None,
            "passed": {str(was): now for was, now in self.passed.items()},
            "end": list(self.end) if self.end else None,
        }


def slower(facts: Facts, leg: LegFacts, measure: Measure, most: float) -> Slower:
    """What keeps a measure of a leg's pace within `most`."""
    most *= 1 - 1e-9
    if leg.leg.is_written_out:
        return _slower_written_out(facts, leg, measure, most)
    delivery = facts.course.delivery
    steps = shortest_steps(leg.leg, delivery, measure, most)
    end = shortened(leg.leg, delivery, measure, most)
    ways = [f"give it {longer_text(facts, leg, steps)}"] if steps else []
    if end:
        roll = f", roll {end.roll:g}" if end.roll else ""
        ways.append(
            f"go less far in the same time, to centre [{end.x:g}, {end.y:g}], "
            f"width {end.width:g}{roll}"
        )
    return Slower(
        steps=steps,
        end=(end.x, end.y, end.width, end.roll) if end else None,
        passed=passed_on(leg, steps) if steps else {},
        text=", or ".join(ways) or "take a gentler ease, or go less far",
    )


def _slower_written_out(facts: Facts, leg: LegFacts, measure: Measure, most: float) -> Slower:
    """The same for a key on every frame: all further apart, or all but the ends left out."""
    delivery, ways = facts.course.delivery, []
    apart = _calm_spacing(facts, leg, measure, most)
    steps = apart * leg.leg.steps if apart else None
    if steps:
        ways.append(
            f"set its keys {apart} frames apart, with stop = false in those between: "
            f"{_steps_text(facts, leg, steps)}, the last on frame {leg.leg.start.frame + steps}"
            f"{_all_after(facts, leg, steps)}"
        )
    straight = replace(leg, leg=straightened(leg.leg))
    fewer = _fewest_steps(straight, delivery, measure, most)
    if fewer:
        longer = fewer > leg.leg.steps
        given = f" and give it {longer_text(facts, straight, fewer)}" if longer else ""
        ways.append(f"{without_keys(leg)}{given}")
    return Slower(
        steps=steps,
        end=None,
        passed=passed_on(leg, steps) if steps else {},
        text=", or ".join(ways) or "go less far from each frame to the next",
    )


def _calm_spacing(facts: Facts, leg: LegFacts, measure: Measure, most: float) -> int | None:
    """How many frames apart its keys keep the measure; None where that is too long."""
    keys, delivery = alone(leg.leg), facts.course.delivery

    def passes(apart: int) -> bool:
        try:
            return measure(moves_of(lasting(keys, apart * leg.leg.steps), delivery)) <= most
        except InputError:
            return False

    needed = ceil(measure(moves_of(keys, delivery)) / most)
    tried = range(max(2, needed), min(2 * needed + 2, LONGEST // leg.leg.steps) + 1)
    return next(filter(passes, tried), None)


def _fewest_steps(leg: LegFacts, delivery: Size, measure: Measure, most: float) -> int | None:
    """The steps of a straight leg that keep the measure: its own, or more; None for a hold."""
    if leg.leg.is_hold:
        return None
    if measure(moves_of(alone(leg.leg), delivery)) <= most:
        return leg.leg.steps
    return shortest_steps(leg.leg, delivery, measure, most)


def without_keys(leg: LegFacts) -> str:
    """The keys that a straightened leg leaves out."""
    first, last = leg.leg.start.frame + 1, leg.leg.end.frame - 1
    return f"take out the keys on frames {first}-{last} (its way becomes straight)"


def passed_on(leg: LegFacts, steps: int) -> dict[int, int]:
    """The frames of the keys that a leg passes, and those in so many steps, all in proportion."""
    late = leg.leg.start.frame - 1
    spread = lasting(alone(leg.leg), steps)[1:-1]
    return {was.frame: now.frame + late for was, now in zip(leg.leg.passed, spread, strict=True)}


def longer_text(facts: Facts, leg: LegFacts, steps: int) -> str:
    """More steps for a leg: where it ends then, its keys on the way, and what comes after."""
    moved = [f"{was} to {now}" for was, now in passed_on(leg, steps).items()]
    shown = moved if len(moved) <= _SHOWN else [*moved[:_SHOWN], "… (all in proportion)"]
    keys = f" and move its passed keys from frame {', '.join(shown)}" if moved else ""
    end = leg.leg.start.frame + steps
    return (
        f"{_steps_text(facts, leg, steps)}: end it on frame {end}{keys}"
        f"{_all_after(facts, leg, steps)}"
    )


def _all_after(facts: Facts, leg: LegFacts, steps: int) -> str:
    """What becomes of the keys after a leg that is lengthened, and of the shot."""
    late, shot = steps - leg.leg.steps, facts.shot
    comes = any(key.frame > leg.leg.end.frame for key in shot.keys)
    later = ", and every key after it as many frames later" if comes else ""
    ends = shot.keys[-1].frame + late
    if shot.frames is not None:
        ends = shot.length if ends <= shot.length else shot.length + late
        later += f", and frames = {ends}" if ends > shot.length else ""
    return later + _more_stills(facts, ends)


def _more_stills(facts: Facts, frames: int) -> str:
    """What a shot that ends on a later frame asks of whoever photographs it."""
    have = len(facts.shot.stills)
    lacking = ceil(frames / facts.shot.on) - have
    if have < 2 or lacking < 1:
        return ""
    return f" ({count_text(lacking, 'more still')})"


def _steps_text(facts: Facts, leg: LegFacts, steps: int) -> str:
    return f"{steps} steps ({seconds_text(steps, facts.shot.fps)}) in place of {leg.leg.steps}"
