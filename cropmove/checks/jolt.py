"""Does the camera change its pace or its way all of a sudden?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.facts import AT_REST, Check, Facts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.checks.retime import moves_of
from cropmove.errors import InputError
from cropmove.geometry import Floats
from cropmove.limits import Limits
from cropmove.move.course import Course, Move
from cropmove.move.key import Key, Leg

__all__ = ["JOLT"]


def changes_of(moves: Floats) -> Floats:
    """How much the fastest-changing corner's step changes from each step to the next."""
    change = np.diff(moves, axis=0)
    return np.asarray(np.hypot(change[..., 0], change[..., 1]).max(axis=1))


def jolts(moves: Floats, limits: Limits) -> NDArray[np.bool_]:
    """Which changes of step are out of proportion to the two on either side.

    Parameters
    ----------
    moves : (n, 4, 2) array
        Corner moves, in frame widths.
    limits : Limits

    Returns
    -------
    (n - 1,) bool array
        Starts and stops are left out: they are judged by themselves.
    """
    count = len(moves)
    # What begins or ends the course comes from rest, or goes to it.
    around = np.pad(changes_of(np.pad(moves, ((1, 1), (0, 0), (0, 0)))), 1)
    changes = around[2 : count + 1]
    beside = np.stack([around[by : by + count - 1] for by in (0, 1, 3, 4)])
    usual = np.sort(beside, axis=0)[2]
    speed = np.hypot(moves[..., 0], moves[..., 1]).max(axis=1)
    goes = np.pad(speed > AT_REST, 1)
    under_way = goes[:-3] & goes[1:-2] & goes[2:-1] & goes[3:]
    faster = np.maximum(speed[1:], speed[:-1])
    found = (
        under_way
        & (changes > limits.jolt * usual)
        & (changes > limits.just_noticed / 100 * faster)
        & (changes > limits.visible_change / 100)
    )
    return np.asarray(found)


def _jolts(facts: Facts) -> Iterator[Finding]:
    if len(facts.course) < 5:
        return
    moves = _within_cuts(facts.corner_moves, facts.course.move.cuts)
    found = jolts(moves, facts.limits)
    if not found.any():
        return
    changes = changes_of(moves)
    # Change number k lies between the steps into frames k + 2 and k + 3.
    frames = np.flatnonzero(found) + 2
    worst = int(np.argmax(np.where(found, changes, 0)))
    speed = float(np.hypot(moves[..., 0], moves[..., 1]).max(axis=1)[worst : worst + 2].max())
    share = float(changes[worst]) / speed * 100
    pixels = float(changes[worst]) * facts.course.delivery.width
    remedy, keys = _smoother(facts, worst + 2)
    yield Finding(
        id="jolt",
        level=Level.CAUTION,
        frames=runs_of(frames),
        measured=share,
        limit=facts.limits.just_noticed,
        unit="% of the speed",
        what=f"at frame {worst + 2} the step changes by {pixels:.3g} px at once, {share:.3g} % "
        "of the speed",
        remedy=remedy,
        figures={"worst_frame": worst + 2, "keys": keys},
    )


def _within_cuts(moves: Floats, cuts: Sequence[Leg]) -> Floats:
    """Moves in which the camera stands at a cut: what it does before and after is judged alone."""
    within = moves.copy()
    within[[leg.start.frame - 1 for leg in cuts if leg.end.frame <= len(moves) + 1]] = 0.0
    return within


def _smoother(facts: Facts, frame: int) -> tuple[str, list[dict[str, object]] | None]:
    """What would take the jolt out, tried before it is told, and the keys that it leaves."""
    for text, keys in _tries(facts, frame):
        try:
            course = _course(facts, keys)
        except InputError:
            continue
        moves = _within_cuts(moves_of(keys, course.delivery), course.move.cuts)
        if len(moves) < 4 or not jolts(moves, facts.limits).any():
            return text, [_told(key) for key in keys]
    return "spread the keys more evenly about that frame, or take one out", None


def _course(facts: Facts, keys: tuple[Key, ...]) -> Course:
    return Course.of(Move(keys, facts.course.delivery), frames=keys[-1].frame, fps=facts.shot.fps)


def _told(key: Key) -> dict[str, object]:
    return {"frame": key.frame, "stop": key.stop}


def _tries(facts: Facts, frame: int) -> Iterator[tuple[str, tuple[Key, ...]]]:
    keys = facts.shot.keys
    move = facts.course.move
    for leg in move.legs:
        if leg.passed and leg.start.frame <= frame <= leg.end.frame:
            due = _due(move, leg)
            moved = tuple(replace(key, frame=due.get(key.frame, key.frame)) for key in keys)
            told = ", ".join(f"{a} to {b}" for a, b in due.items() if a != b)
            if told:
                yield f"move the passed keys to when the ease would reach them: frame {told}", moved
    for key in keys[1:-1]:
        if key.stop and abs(key.frame - frame) <= 2:
            passed = replace(key, stop=False, ease=None, ease_in=None, ease_out=None)
            text = f"pass the key on frame {key.frame} without stopping: stop = false, no ease"
            yield text, tuple(passed if k is key else k for k in keys)
    for key in sorted(keys[1:-1], key=lambda key: abs(key.frame - frame)):
        left = tuple(k for k in keys if k is not key)
        yield f"take out the key on frame {key.frame}", left
    between = ", ".join(str(key.frame) for key in keys[1:-1])
    yield f"take out the keys on frames {between}", (keys[0], keys[-1])


def _due(move: Move, leg: Leg) -> dict[int, int]:
    """The frames at which the ease alone would come by the keys of a leg that are passed."""
    route = move.routes[move.legs.index(leg)]
    at = np.linspace(0, leg.steps, 64 * leg.steps + 1)
    done = leg.ease.progress(at, leg.steps, *leg.ease_lengths)
    due = np.interp(route.knots[1:-1], done, at)
    frames = [leg.start.frame]
    for place in due:
        frames.append(max(frames[-1] + 1, leg.start.frame + round(float(place))))
    return dict(zip((key.frame for key in leg.passed), frames[1:], strict=True))


JOLT = Check(
    id="jolt",
    title="a jolt on the way",
    level=Level.CAUTION,
    reason="A change of step out of proportion to those around it, or a kink in the way at a key, "
    "is seen as a knock against the camera. A cut, two keys a frame apart, is none.",
    source="a change of speed is just noticed at about 7 %: De Bruyn & Orban, Vision Research "
    "28(12), 1988; out of proportion to its neighbours: common practice, no source",
    find=_jolts,
    limits=("jolt", "just_noticed", "visible_change"),
)
