"""Does the camera start, stop and go on its way without a jerk?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from cropmove.checks.facts import AT_REST, Check, Facts, LegFacts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.checks.retime import (
    LONGEST,
    alone,
    first_passing,
    lasting,
    moves_of,
    steps_of,
    with_ease,
)
from cropmove.errors import InputError
from cropmove.geometry import Floats, Size
from cropmove.move.ease import DEFAULT_EASE, Ease, default_lengths
from cropmove.move.key import Leg
from cropmove.units import seconds_text

__all__ = ["HARD_START", "HARD_STOP", "NO_HOLD", "SHORT_EASE_OUT", "SLOW_END"]

_PRACTICE = "common practice, no source"
_LONGER = 100
"""How many times its steps a leg is tried with that no ease alone softens."""


def _hard_start(facts: Facts) -> Iterator[Finding]:
    for leg in facts.legs:
        begin = leg.leg.start.frame
        comes_moving = begin > 1 and _moves(facts, begin)
        comes_moving &= all(cut.end.frame != begin for cut in facts.cuts)
        if comes_moving or not _is_hard(facts, leg, float(leg.steps[0])):
            continue
        yield _jerk(facts, leg, "hard-start", begin + 1, float(leg.steps[0]))


def _hard_stop(facts: Facts) -> Iterator[Finding]:
    for leg in facts.legs:
        end = leg.leg.end.frame
        goes_on = end < len(facts.course) and _moves(facts, end + 1)
        goes_on &= all(cut.start.frame != end for cut in facts.cuts)
        if not leg.is_whole or goes_on or not _is_hard(facts, leg, float(leg.steps[-1])):
            continue
        yield _jerk(facts, leg, "hard-stop", leg.leg.end.frame, float(leg.steps[-1]))


def _moves(facts: Facts, frame: int) -> bool:
    return bool(facts.moving[frame - 1])


def _is_hard(facts: Facts, leg: LegFacts, step: float) -> bool:
    limits = facts.limits
    if step <= limits.visible_change / 100:
        return False
    return step > limits.hard_step / 100 * leg.peak * (1 + 1e-9)


def _jerk(facts: Facts, leg: LegFacts, id: str, frame: int, step: float) -> Finding:
    starts, end = id == "hard-start", leg.leg.end.frame
    ease, ease_in, ease_out, steps = _softer(facts, leg, starts)
    share, pixels = step / leg.peak * 100, step * facts.course.delivery.width
    named = "" if leg.leg.ease.has_lengths else f'ease = "{ease.name}", '
    longer = steps != leg.leg.steps
    lengths = f"ease_in = {ease_in}" if starts else f"ease_out = {ease_out}"
    if named or longer:
        lengths = f"ease_in = {ease_in}, ease_out = {ease_out}"
    slower = f", in {steps} steps and every key in proportion" if longer else ""
    return Finding(
        id=id,
        level=Level.CAUTION,
        frames=runs_of([frame]),
        measured=share,
        limit=facts.limits.hard_step,
        unit="% of the leg's fastest step",
        what=f"the camera {'starts' if starts else 'stops'} with a step of {pixels:.3g} px, "
        f"{share:.3g} % of its fastest",
        remedy=f"{named}{lengths} for the leg that ends on frame {end}{slower}",
        figures={
            "leg": leg.number + 1,
            "ease": ease.name,
            "ease_in": ease_in,
            "ease_out": ease_out,
            "steps": steps,
            "step": pixels,
        },
    )


def _softer(facts: Facts, leg: LegFacts, starts: bool) -> tuple[Ease, int, int, int]:
    """An ease, its lengths and the leg's steps that start (or stop) softly: the usual if they do.

    Keys that are passed too near the end may leave no ease that does; then the leg takes longer.
    """
    ease = leg.leg.ease if leg.leg.ease.has_lengths else DEFAULT_EASE
    steps = leg.leg.steps
    usual_in, usual_out = default_lengths(steps)
    now_in, now_out = leg.leg.ease_lengths if leg.leg.ease.has_lengths else (usual_in, usual_out)

    def soft(ease_in: int, ease_out: int, steps: int = steps) -> bool:
        moves = _eased(leg.leg, facts.course.delivery, ease, ease_in, ease_out, steps)
        if moves is None:
            return False
        made = steps_of(moves)
        step = float(made[0] if starts else made[-1])
        return step <= facts.limits.hard_step / 100 * float(made.max())

    room = steps - (now_out if starts else now_in)
    usual = min(usual_in if starts else usual_out, room)
    for low, high in ((usual - 1, usual), (0, room)):
        length = first_passing(low, high, lambda n: soft(n, now_out) if starts else soft(now_in, n))
        if length is not None:
            return (ease, length, now_out, steps) if starts else (ease, now_in, length, steps)
    most = max(steps, min(steps * _LONGER, LONGEST))
    slow = first_passing(steps, most, lambda n: soft(*default_lengths(n), n)) or most
    return ease, *default_lengths(slow), slow


def _eased(
    leg: Leg, delivery: Size, ease: Ease, ease_in: int, ease_out: int, steps: int
) -> Floats | None:
    try:
        keys = lasting(alone(leg), steps)
        keys = with_ease(keys, ease=ease, ease_in=ease_in, ease_out=ease_out)
        return moves_of(keys, delivery)
    except InputError:
        return None


def _short_out(facts: Facts) -> Iterator[Finding]:
    for leg in facts.legs:
        ease_in, ease_out = leg.leg.ease_lengths
        if not 0 < ease_out < ease_in:
            continue
        both = min(ease_in, leg.leg.steps // 2)
        end = leg.leg.end.frame
        yield Finding(
            id="short-ease-out",
            level=Level.NOTE,
            frames=runs_of(range(end - ease_out + 1, end + 1)),
            measured=ease_out,
            limit=ease_in,
            unit="frames",
            what=f"the ease out is {ease_out} frames, the ease in {ease_in}: it stops faster than "
            "it starts",
            remedy=f"ease_in = {both}, ease_out = {both} or more for the leg that ends "
            f"on frame {end}",
            figures={"leg": leg.number + 1, "ease_in": both, "ease_out": both},
        )


def _unseen_end(steps: Floats, seen: float) -> int:
    """How many steps at the end are too small to be seen."""
    visible = np.flatnonzero(steps >= seen)
    return len(steps) - int(visible[-1]) - 1 if len(visible) else len(steps)


def _slow_end(facts: Facts) -> Iterator[Finding]:
    seen, most = facts.limits.visible_step / 100, int(facts.limits.slow_end)
    for leg in facts.legs:
        unseen = _unseen_end(leg.steps, seen)
        if unseen <= most or not leg.is_whole:
            continue
        end = leg.leg.end.frame
        figures = _sooner(facts, leg, seen, most)
        yield Finding(
            id="slow-end",
            level=Level.NOTE,
            frames=runs_of(range(end - unseen + 1, end + 1)),
            measured=unseen,
            limit=most,
            unit="frames",
            what=f"for its last {unseen} frames ({seconds_text(unseen, facts.shot.fps)}) the "
            f"camera moves by less than can be seen: it seems to stop at frame {end - unseen}",
            remedy=_sooner_text(figures, end),
            figures={"leg": leg.number + 1} | figures,
        )


def _sooner(facts: Facts, leg: LegFacts, seen: float, most: int) -> dict[str, object]:
    """The longest ease out, or the most steps, with which the end can be seen."""
    delivery, now = facts.course.delivery, leg.leg.ease_lengths
    ease = leg.leg.ease

    def seen_with(ease_out: int) -> bool:
        moves = _eased(leg.leg, delivery, ease, now[0], ease_out, leg.leg.steps)
        return moves is not None and _unseen_end(steps_of(moves), seen) <= most

    def seen_in(steps: int) -> bool:
        try:
            moves = moves_of(lasting(alone(leg.leg), steps), delivery)
        except InputError:
            return False
        return _unseen_end(steps_of(moves), seen) <= most

    if ease.has_lengths:
        shorter = first_passing(0, now[1], lambda less: seen_with(now[1] - less))
        if shorter is not None:
            return {"ease_in": now[0], "ease_out": now[1] - shorter}
    fewer = first_passing(0, leg.leg.steps - 2, lambda less: seen_in(leg.leg.steps - less))
    return {"steps": leg.leg.steps - fewer if fewer is not None else 2}


def _sooner_text(figures: dict[str, object], end: int) -> str:
    if "ease_out" in figures:
        return f"ease_out = {figures['ease_out']} for the leg that ends on frame {end}"
    return f"do the leg in {figures['steps']} steps and hold after it, or let it go further"


def _no_hold(facts: Facts) -> Iterator[Finding]:
    moved = np.flatnonzero(facts.steps > AT_REST)
    if not len(moved):
        return
    frames, wanted = len(facts.course), int(facts.limits.hold)
    before, after = int(moved[0]), frames - int(moved[-1])
    if before >= wanted or after >= wanted:
        return
    more = wanted - before, wanted - after
    within = _within(facts, wanted, frames - wanted + 1)
    inside = f"begin the move on frame {wanted} and end it on frame {frames - wanted + 1}, or "
    yield Finding(
        id="no-hold",
        level=Level.NOTE,
        frames=runs_of([1, frames]),
        measured=max(before, after),
        limit=wanted,
        unit="frames",
        what=f"the camera stands for {before} frame{'s' * (before > 1)} at the start and {after} "
        "at the end: nothing to cut on at either",
        remedy=f"{inside if within else ''}let all keys come {more[0]} frames later and the shot "
        f"be {frames + sum(more)} frames long",
        figures={
            "first_key": wanted if within else None,
            "last_key": frames - wanted + 1 if within else None,
            "later": more[0],
            "frames": frames + sum(more),
        },
    )


def _within(facts: Facts, first: int, last: int) -> bool:
    """Whether the whole move fits between two frames with the eases it has."""
    keys = facts.shot.keys
    try:
        late = tuple(replace(key, frame=key.frame - keys[0].frame + 1) for key in keys)
        moves_of(lasting(late, last - first), facts.course.delivery)
    except InputError:
        return False
    return last - first >= 2 * (len(keys) - 1)


HARD_START = Check(
    id="hard-start",
    title="the camera starts with a jerk",
    level=Level.CAUTION,
    reason="A heavy thing gathers speed; a camera at full speed on its first step seems to be hit.",
    source=_PRACTICE,
    find=_hard_start,
    limits=("hard_step", "visible_change"),
)
HARD_STOP = Check(
    id="hard-stop",
    title="the camera stops with a jerk",
    level=Level.CAUTION,
    reason="A camera that stands at once from full speed seems to hit a wall.",
    source=_PRACTICE,
    find=_hard_stop,
    limits=("hard_step", "visible_change"),
)
SHORT_EASE_OUT = Check(
    id="short-ease-out",
    title="the ease out is shorter than the ease in",
    level=Level.NOTE,
    reason="The eye follows a camera to where it stops: settling wants more time than starting.",
    source=_PRACTICE,
    find=_short_out,
)
SLOW_END = Check(
    id="slow-end",
    title="the end of the move is too slow to be seen",
    level=Level.NOTE,
    reason="A move that creeps on by less than can be seen looks as if it had stopped early, and "
    "its last frames are a hold that nobody planned.",
    source=_PRACTICE,
    find=_slow_end,
    limits=("visible_step", "slow_end"),
)
NO_HOLD = Check(
    id="no-hold",
    title="no hold at either end for the cut",
    level=Level.NOTE,
    reason="A cut sits best on a camera that stands; a few frames at one end leave the choice.",
    source=_PRACTICE,
    find=_no_hold,
    limits=("hold",),
)
