"""Is the camera too fast to be followed? Judged at the corners, which move furthest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

import numpy as np

from cropmove.checks.facts import Check, Facts, LegFacts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.checks.retime import Measure, shortened, shortest_steps, steps_of
from cropmove.geometry import Floats
from cropmove.units import seconds_text

__all__ = ["PACE", "RULE_RATE", "STROBING", "ZIP_PAN", "calm_step"]

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


def _strobing_step(facts: Facts) -> float:
    return _by_shutter(facts) * facts.limits.strobing / 100


def _zip_step(facts: Facts) -> float:
    return facts.limits.zip_pan / 100


def _fastest(moves: Floats) -> float:
    return float(steps_of(moves).max())


def _fastest_sideways(moves: Floats) -> float:
    return float(np.abs(moves[..., 0]).max())


def _is_zip(facts: Facts, leg: LegFacts) -> bool:
    return leg.peak >= _zip_step(facts)


def _strobes(facts: Facts, leg: LegFacts) -> bool:
    return float(leg.sideways.max()) > _strobing_step(facts)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Slower:
    """What would slow a leg down enough."""

    steps: int | None
    end: tuple[float, ...] | None
    text: str

    def figures(self, leg: LegFacts) -> dict[str, object]:
        return {
            "leg": leg.number + 1,
            "steps": self.steps,
            "last_frame": leg.leg.start.frame + self.steps if self.steps else None,
            "end": list(self.end) if self.end else None,
        }


def _slower(facts: Facts, leg: LegFacts, measure: Measure, most: float) -> _Slower:
    delivery = facts.course.delivery
    most *= 1 - 1e-9
    steps = shortest_steps(leg.leg, delivery, measure, most)
    end = shortened(leg.leg, delivery, measure, most)
    start = leg.leg.start.frame
    ways = []
    if steps:
        lasts = seconds_text(steps, facts.shot.fps)
        ways.append(
            f"give it {steps} steps ({lasts}) in place of {leg.leg.steps}: "
            f"end it on frame {start + steps}{_more_stills(facts, steps - leg.leg.steps)}"
        )
    if end:
        roll = f", roll {end.roll:g}" if end.roll else ""
        ways.append(
            f"go less far in the same time, to centre [{end.x:g}, {end.y:g}], "
            f"width {end.width:g}{roll}"
        )
    return _Slower(
        steps=steps,
        end=(end.x, end.y, end.width, end.roll) if end else None,
        text=", or ".join(ways) or "take a gentler ease, or go less far",
    )


def _more_stills(facts: Facts, late: int) -> str:
    """What a shot that ends so many frames later asks of whoever photographs it."""
    shot = facts.shot
    have = len(shot.stills)
    lacking = ceil((shot.length + late) / shot.on) - have
    if have < 2 or lacking < 1:
        return ""
    return f" ({lacking} more still{'s' * (lacking > 1)})"


def _pace(facts: Facts) -> Iterator[Finding]:
    calm = calm_step(facts)
    for leg in facts.legs:
        if leg.peak <= calm * (1 + 1e-9) or _is_zip(facts, leg) or _strobes(facts, leg):
            continue
        slower = _slower(facts, leg, _fastest, calm)
        crossing = 1 / leg.peak / float(facts.shot.fps)
        asked = 1 / calm / float(facts.shot.fps)
        yield Finding(
            id="pace",
            level=Level.NOTE,
            frames=runs_of(leg.frames[leg.steps > calm]),
            measured=leg.peak * 100,
            limit=calm * 100,
            unit="% of the frame's width a frame",
            what=f"at frame {leg.fastest_frame} a detail would cross the frame in "
            f"{crossing:.3g} s; {asked:.3g} s is calm",
            remedy=slower.text,
            figures={"worst_frame": leg.fastest_frame, "crossing_seconds": crossing}
            | slower.figures(leg),
        )


def _strobing(facts: Facts) -> Iterator[Finding]:
    most = _strobing_step(facts)
    for leg in facts.legs:
        if _is_zip(facts, leg) or not _strobes(facts, leg):
            continue
        slower = _slower(facts, leg, _fastest_sideways, most)
        worst = int(leg.frames[np.argmax(leg.sideways)])
        peak = float(leg.sideways.max())
        yield Finding(
            id="strobing",
            level=Level.CAUTION,
            frames=runs_of(leg.frames[leg.sideways > most]),
            measured=peak * 100,
            limit=most * 100,
            unit="% of the frame's width a frame",
            what=f"a corner goes sideways by {peak * 100:.3g} % of the width at frame {worst}: "
            f"from {most * 100:.3g} % on a strong upright edge is seen twice",
            remedy=slower.text,
            figures={"worst_frame": worst} | slower.figures(leg),
        )


def _zip(facts: Facts) -> Iterator[Finding]:
    most = _zip_step(facts)
    for leg in facts.legs:
        if not _is_zip(facts, leg):
            continue
        slower = _slower(facts, leg, _fastest, min(calm_step(facts), most))
        yield Finding(
            id="zip-pan",
            level=Level.NOTE,
            frames=runs_of(leg.frames[leg.steps >= most]),
            measured=leg.peak * 100,
            limit=most * 100,
            unit="% of the frame's width a frame",
            what=f"at {leg.peak * 100:.3g} % of the width a frame this reads as a zip pan: "
            "nothing in it can be followed",
            remedy=f"none if it is meant; to be followed calmly, {slower.text}",
            figures={"worst_frame": leg.fastest_frame} | slower.figures(leg),
        )


PACE = Check(
    id="pace",
    title="the move is faster than is calm to watch",
    level=Level.NOTE,
    reason="Faster than this, details begin to jump from frame to frame. A step strobes, whatever "
    "the rate: at 24 frames a second and a shutter of 180 degrees a detail should take seven "
    "seconds to cross the frame, at another rate as many frames. More blur allows more. "
    "The corner that moves most is judged.",
    source="cinematographers' tradition: the seven-second rule",
    find=_pace,
    limits=("crossing", "shutter"),
)
STROBING = Check(
    id="strobing",
    title="strong upright edges strobe",
    level=Level.CAUTION,
    reason="An upright edge that jumps sideways by this much is seen in two places at a time.",
    source="drawn-animation handbooks: 0.1 in a frame; taken on a field 12 in wide",
    find=_strobing,
    limits=("strobing", "shutter"),
)
ZIP_PAN = Check(
    id="zip-pan",
    title="the move reads as a zip pan",
    level=Level.NOTE,
    reason="A move this fast is seen as a streak from one place to the other. That can be meant.",
    source="drawn-animation handbooks: 0.25 in a frame; taken on a field 12 in wide",
    find=_zip,
    limits=("zip_pan",),
)
