"""What would slow a leg down, tried before it is told, and how a longer leg is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from math import ceil

from cropmove.checks.edges import stays_inside
from cropmove.checks.facts import Facts, LegFacts
from cropmove.checks.jerk import hard_starts, hard_stops
from cropmove.checks.jolt import JOLT
from cropmove.checks.retime import (
    LONGEST,
    Measure,
    alone,
    lasting,
    moves_of,
    shortened,
    shortest_steps,
    straightened,
    with_ease,
)
from cropmove.checks.too_fast import strobing_legs
from cropmove.errors import unless_refused
from cropmove.geometry import Size
from cropmove.move.ease import DEFAULT_EASE
from cropmove.move.framing import Framing
from cropmove.move.key import Key, Leg
from cropmove.shot import Shot
from cropmove.units import count_text, seconds_text

__all__ = ["Slower", "longer_text", "passed_on", "slower", "without_keys"]

_USUAL = {"ease": DEFAULT_EASE, "ease_in": None, "ease_out": None}
"""An ease of the usual lengths."""
_SLACKS = (1, 1.1, 1.25, 1.5, 2)
"""How many times the fewest steps are tried: passed keys that fall on whole frames may jolt."""
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
    """What keeps a measure of a leg's pace within `most`.

    Parameters
    ----------
    facts : Facts
    leg : LegFacts
    measure : callable
        What is judged of the leg's corner moves.
    most : float
    """
    most *= 1 - 1e-9
    if leg.leg.is_written_out:
        return _slower_written_out(facts, leg, measure, most)
    trial = _Trial(facts=facts, leg=leg, measure=measure, most=most)
    end, (steps, ease) = trial.nearer_end(), trial.more_steps()
    if steps and ease is None and end:  # with it alone something worse would come
        steps = None
    with_ease = ", and mend what comes of that" if ease is None else ease
    ways = [f"give it {longer_text(facts, leg, steps)}{with_ease}"] if steps else []
    if end:
        roll = f", roll {end.roll:g}" if end.roll else ""
        also = "".join(f", and on frame {key.frame}" for key in trial.held_after)
        ways.append(
            f"go less far in the same time, to centre [{end.x:g}, {end.y:g}], "
            f"width {end.width:g}{roll}{also}"
        )
    return Slower(
        steps=steps,
        end=(end.x, end.y, end.width, end.roll) if end else None,
        passed=passed_on(leg, steps) if steps else {},
        text=", or ".join(ways) or "take a gentler ease, or go less far",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trial:
    """A leg that is too fast, and what changes of it are tried by."""

    facts: Facts
    leg: LegFacts
    measure: Measure
    most: float

    def more_steps(self) -> tuple[int | None, str | None]:
        """The steps it needs, and the ease that goes with them; no ease where none will do."""
        now = self.leg.leg
        steps = self._fewest(now)
        if not steps:
            return None, ""
        for slack in _SLACKS:
            longer = ceil(steps * slack)
            if not self._comes_worse(self._lengthened(longer)):
                return longer, ""
        eased = self._fewest(Leg(with_ease(now.keys, **_USUAL)))
        legs, number = self.facts.course.move.legs, self.leg.number
        beside = [leg.end for leg in legs[max(0, number - 1) : number + 2]]
        for keys, which in (([now.end], ""), (beside, " for it and the legs beside it")):
            if eased and not self._comes_worse(self._lengthened(eased, keys)):
                lengths = "without ease_in and ease_out"
                return eased, f', with ease = "{DEFAULT_EASE.name}"{which}, {lengths}'
        return steps, None

    def nearer_end(self) -> Framing | None:
        """Where it ends in the same time, if nothing worse comes of that."""
        end = shortened(self.leg.leg, self.facts.course.delivery, self.measure, self.most)
        if end is None:
            return None
        moved = (self.leg.leg.end, *self.held_after)
        keys = (replace(k, framing=end) if k in moved else k for k in self.facts.shot.keys)
        changed = unless_refused(lambda: replace(self.facts.shot, keys=tuple(keys)))
        return None if self._comes_worse(changed) else end

    @property
    def held_after(self) -> tuple[Key, ...]:
        """The keys after it that hold where it ends."""
        end = self.leg.leg.end
        after = (key for key in self.facts.shot.keys if key.frame > end.frame)
        return tuple(takewhile(lambda key: key.framing == end.framing, after))

    def _fewest(self, leg: Leg) -> int | None:
        return shortest_steps(leg, self.facts.course.delivery, self.measure, self.most)

    def _lengthened(self, steps: int, eased: Sequence[Key] = ()) -> Shot | None:
        """The shot as `longer_text` tells it, with the usual ease to those keys; None for none."""
        shot, end = self.facts.shot, self.leg.leg.end
        passed, late = passed_on(self.leg, steps), steps - self.leg.leg.steps

        def moved(key: Key) -> Key:
            frame = key.frame + late if key.frame >= end.frame else passed.get(key.frame, key.frame)
            return replace(key, frame=frame, **(_USUAL if key in eased else {}))  # type: ignore[arg-type]

        frames = shot.frames and max(shot.frames, shot.keys[-1].frame + late)
        return unless_refused(
            lambda: replace(shot, keys=tuple(moved(key) for key in shot.keys), frames=frames)
        )

    def _comes_worse(self, changed: Shot | None) -> bool:
        """Whether a changed shot jerks, jolts, strobes, races or leaves the still newly."""
        if changed is None:
            return True
        before, after = self.facts, Facts(changed)
        for count in (strobing_legs, _jerks, _jolts):
            if count(after) > count(before):
                return True
        pairs = enumerate(zip(before.course.move.legs, after.course.move.legs, strict=True))
        others = (pair for number, pair in pairs if number != self.leg.number)
        return not stays_inside(before, changed) or any(self._races(*pair) for pair in others)

    def _races(self, was: Leg, now: Leg) -> bool:
        if now.steps < 2 or (was.steps == now.steps and _way(was) == _way(now)):
            return False
        before, after = (
            self.measure(moves_of(alone(leg), self.facts.course.delivery)) for leg in (was, now)
        )
        return after > max(before, self.most) * (1 + 1e-6)


def _way(leg: Leg) -> list[Framing]:
    return [key.framing for key in leg.keys]


def _jerks(facts: Facts) -> int:
    return len([*hard_starts(facts), *hard_stops(facts)])


def _jolts(facts: Facts) -> int:
    return len([*JOLT.find(facts)])


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
        spread = unless_refused(lambda: moves_of(lasting(keys, apart * leg.leg.steps), delivery))
        return spread is not None and measure(spread) <= most

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
