"""Does the camera start, stop and go on its way without a jerk?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from cropmove.checks.facts import AT_REST, Check, Facts, LegFacts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.checks.jerk import hard_starts, hard_stops
from cropmove.checks.jolt import JOLT
from cropmove.checks.pace import STROBING, ZIP_PAN
from cropmove.checks.retime import (
    LONGEST,
    alone,
    first_passing,
    in_proportion,
    lasting,
    moves_of,
    steps_of,
    straightened,
    with_ease,
)
from cropmove.checks.slower import longer_text, passed_on, without_keys
from cropmove.errors import unless_refused
from cropmove.geometry import Floats, Size
from cropmove.move.ease import DEFAULT_EASE, Ease, default_lengths
from cropmove.move.key import Leg
from cropmove.shot import Shot
from cropmove.units import count_text, seconds_text

__all__ = ["HARD_START", "HARD_STOP", "NO_HOLD", "SHORT_EASE_OUT", "SLOW_END", "comes_worse"]

_PRACTICE = "common practice, no source"
_LONGER = 100
"""How many times its steps a leg is tried with that no ease alone softens."""


def _hard_start(facts: Facts) -> Iterator[Finding]:
    for leg in hard_starts(facts):
        yield _jerk(facts, leg, "hard-start", leg.leg.start.frame + 1, float(leg.steps[0]))


def _hard_stop(facts: Facts) -> Iterator[Finding]:
    for leg in hard_stops(facts):
        yield _jerk(facts, leg, "hard-stop", leg.leg.end.frame, float(leg.steps[-1]))


def _jerk(facts: Facts, leg: LegFacts, id: str, frame: int, step: float) -> Finding:
    share, pixels = step / leg.peak * 100, step * facts.course.delivery.width
    remedy, figures = _soften(facts, leg, id == "hard-start")
    return Finding(
        id=id,
        level=Level.CAUTION,
        frames=runs_of([frame]),
        measured=share,
        limit=facts.limits.hard_step,
        unit="% of the leg's fastest step",
        what=f"the camera {'starts' if id == 'hard-start' else 'stops'} with a step of "
        f"{pixels:.3g} px, {share:.3g} % of its fastest",
        remedy=remedy,
        figures={"leg": leg.number + 1, "step": pixels} | figures,
    )


def _soften(facts: Facts, leg: LegFacts, starts: bool) -> tuple[str, dict[str, object]]:
    """What makes a leg start (or stop) softly, as text and as figures."""
    straight = replace(leg, leg=straightened(leg.leg)) if leg.leg.is_written_out else leg
    if straight.leg.is_hold:
        little = "grow from small ones" if starts else "shrink to small ones"
        return f"let its steps {little}, frame by frame", {}
    ease, ease_in, ease_out, steps = _softer(facts, straight, starts)
    named = "" if straight.leg.ease.has_lengths else f'ease = "{ease.name}", '
    longer = steps != straight.leg.steps
    lengths = f"ease_in = {ease_in}" if starts else f"ease_out = {ease_out}"
    if named or longer:
        lengths = f"ease_in = {ease_in}, ease_out = {ease_out}"
    told = f"{named}{lengths} for the leg that ends on frame {leg.leg.end.frame}"
    text = f"{without_keys(leg)} and write {told}" if leg.leg.is_written_out else told
    if longer:
        text += f", and give it {longer_text(facts, straight, steps)}"
    passed = {str(was): now for was, now in passed_on(straight, steps).items()}
    figures = {"ease": ease.name, "ease_in": ease_in, "ease_out": ease_out, "steps": steps}
    return text, figures | {"last_frame": leg.leg.start.frame + steps, "passed": passed}


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
        if not leg.is_whole:  # only what is shown is judged
            made = made[: len(leg.steps)]
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
    def moves() -> Floats:
        keys = lasting(alone(leg), steps)
        return moves_of(with_ease(keys, ease=ease, ease_in=ease_in, ease_out=ease_out), delivery)

    return unless_refused(moves)


def _short_out(facts: Facts) -> Iterator[Finding]:
    for leg in facts.legs:
        ease_in, ease_out = leg.leg.ease_lengths
        if leg.leg.is_written_out or not 0 < ease_out < ease_in:
            continue
        both = _even_ease(facts, leg)
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


def _even_ease(facts: Facts, leg: LegFacts) -> int:
    """The longest ease in and out of one length with which nothing worse comes.

    An ease in that stays, with a longer ease out, leaves less time for the same way.
    """
    ease_in, ease_out = leg.leg.ease_lengths
    longest = min(ease_in, leg.leg.steps // 2)

    def mended(both: int) -> Shot | None:
        eases = {"ease": leg.leg.ease, "ease_in": both, "ease_out": both}
        keys = (replace(k, **eases) if k is leg.leg.end else k for k in facts.shot.keys)  # type: ignore[arg-type]
        return unless_refused(lambda: replace(facts.shot, keys=tuple(keys)))

    tried = ((both, mended(both)) for both in range(longest, min(ease_out, longest) - 1, -1))
    fits = (both for both, shot in tried if shot is not None and not comes_worse(facts, shot))
    return next(fits, longest)


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
            remedy=_sooner_text(leg, figures),
            figures={"leg": leg.number + 1} | figures,
        )


def _sooner(facts: Facts, leg: LegFacts, seen: float, most: int) -> dict[str, object]:
    """The longest ease out, or the most steps, with which the end can be seen."""
    delivery, now = facts.course.delivery, leg.leg.ease_lengths
    ease = leg.leg.ease
    if leg.leg.is_written_out:
        return {"last_key": leg.leg.end.frame - _unseen_end(leg.steps, seen)}

    def seen_with(ease_out: int) -> bool:
        moves = _eased(leg.leg, delivery, ease, now[0], ease_out, leg.leg.steps)
        return moves is not None and _unseen_end(steps_of(moves), seen) <= most

    def seen_in(steps: int) -> bool:
        moves = unless_refused(lambda: moves_of(lasting(alone(leg.leg), steps), delivery))
        return moves is not None and _unseen_end(steps_of(moves), seen) <= most

    if ease.has_lengths:
        shorter = first_passing(0, now[1], lambda less: seen_with(now[1] - less))
        if shorter is not None:
            return {"ease_in": now[0], "ease_out": now[1] - shorter}
    fewest = max(2, len(leg.leg.keys) - 1)
    fewer = first_passing(0, leg.leg.steps - fewest, lambda less: seen_in(leg.leg.steps - less))
    return {"steps": leg.leg.steps - fewer if fewer is not None else None}


def _sooner_text(leg: LegFacts, figures: Mapping[str, object]) -> str:
    start, end = leg.leg.start.frame, leg.leg.end.frame
    if "ease_out" in figures:
        return f"ease_out = {figures['ease_out']} for the leg that ends on frame {end}"
    if "last_key" in figures:
        last = figures["last_key"]
        return f"give the key on frame {last} the framing of frame {end}, and take out all between"
    if figures["steps"] is None:
        return f"let it go further, or leave it out and hold until frame {end}"
    steps = int(str(figures["steps"]))
    keys = "".join(f", {was} to {now}" for was, now in passed_on(leg, steps).items())
    return (
        f"move the key on frame {end} to {start + steps}{keys} and hold from there to frame {end}, "
        "or let it go further"
    )


def _no_hold(facts: Facts) -> Iterator[Finding]:
    moved = np.flatnonzero(facts.steps > AT_REST)
    if not len(moved):
        return
    frames, wanted = len(facts.course), int(facts.limits.hold)
    before, after = int(moved[0]), frames - int(moved[-1])
    if before >= wanted or after >= wanted:
        return
    # A shot that ends on the way does not come to rest by lasting longer.
    more = wanted - before, 0 if facts.shot.keys[-1].frame > frames else wanted - after
    is_whole = facts.shot.keys[-1].frame <= frames
    within = is_whole and _fits(facts, wanted, frames - wanted + 1)
    inside = f"begin the move on frame {wanted} and end it on frame {frames - wanted + 1}, or "
    yield Finding(
        id="no-hold",
        level=Level.NOTE,
        frames=runs_of([1, frames]),
        measured=max(before, after),
        limit=wanted,
        unit="frames",
        what=f"the camera stands for {count_text(before, 'frame')} at the start and {after} "
        "at the end: nothing to cut on at either",
        remedy=f"{inside if within else ''}let all keys come {count_text(more[0], 'frame')} later "
        f"and write frames = {frames + sum(more)} under [shot]",
        figures={
            "first_key": wanted if within else None,
            "last_key": frames - wanted + 1 if within else None,
            "later": more[0],
            "frames": frames + sum(more),
        },
    )


def _fits(facts: Facts, first: int, last: int) -> bool:
    """Whether the whole move fits between two frames, and nothing graver comes of it."""
    if last - first < 2 * (len(facts.shot.keys) - 1):
        return False
    keys = in_proportion(facts.shot.keys, first, last)
    return keys is not None and not comes_worse(facts, replace(facts.shot, keys=keys))


def comes_worse(facts: Facts, changed: Shot) -> bool:
    """Whether a changed shot jerks, jolts, strobes or races where the shot did not."""
    checks = (HARD_START, HARD_STOP, JOLT, STROBING, ZIP_PAN)
    after = Facts(changed, looks=facts.looks)
    found = ((check, len([*check.find(after)])) for check in checks)
    return any(count and count > len([*check.find(facts)]) for check, count in found)


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
