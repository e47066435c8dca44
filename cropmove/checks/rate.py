"""Does the camera move often enough?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.errors import called
from cropmove.move.key import Key
from cropmove.units import rate_text

__all__ = ["LOW_RATE", "ON_TWOS"]


def _low(facts: Facts) -> Iterator[Finding]:
    fps, limit = facts.shot.fps, facts.limits.slowest_rate
    if float(fps) >= limit - 1e-3 or not facts.moving.any():
        return
    times = ceil((limit - 1e-3) / float(fps))
    on, faster = facts.shot.on * times, fps * times
    word = int(faster) if faster.denominator == 1 else rate_text(faster)
    written = word if isinstance(word, int) else f'"{word}"'
    yield Finding(
        id="low-rate",
        level=Level.CAUTION,
        frames=runs_of(facts.course.frame[facts.moving]),
        measured=float(fps),
        limit=limit,
        unit="frames a second",
        what=f"the camera moves {rate_text(fps)} times a second: it will be seen to jump",
        remedy=f"fps = {written}, on = {on} and {times} times the frames: the same "
        "stills and the same seconds, and the camera moves on every frame",
        figures={"times": times, "fps": word, "on": on},
    )


def _twos(facts: Facts) -> Iterator[Finding]:
    into = facts.course.frame[facts.moving]
    gaps = np.diff(into)
    for first, last in _even_runs(gaps):
        times, gap = last - first + 1, int(gaps[first])
        if gap < 2 or times < facts.limits.twos_in_turn:
            continue
        turns = np.arange(into[first], into[last + 1])
        held = set(turns[~facts.moving[turns - 1]].tolist())
        keys = [key for key in facts.shot.keys if key.frame in held]
        yield Finding(
            id="on-twos",
            level=Level.CAUTION,
            frames=runs_of(turns),
            measured=gap,
            limit=1,
            unit="frames a movement",
            what=f"the camera moves once in {gap} frames, {times} times over: against the set "
            "it will be seen to jump",
            remedy=_continuous(facts, keys),
            figures={"times": times, "holding_keys": [key.frame for key in keys]},
        )


def _even_runs(gaps: NDArray[np.int64]) -> Iterator[tuple[int, int]]:
    """First and last place of each run of equal gaps."""
    ends = np.flatnonzero(np.diff(gaps) != 0)
    firsts, lasts = [0, *(ends + 1).tolist()], [*ends.tolist(), len(gaps) - 1]
    yield from zip(firsts, lasts, strict=True) if len(gaps) else ()


def _continuous(facts: Facts, keys: Sequence[Key]) -> str:
    if not keys:
        return "let the camera move on every frame"
    if facts.shot.on > 1 and not any(key.stop for key in keys):
        # Nobody passes a key and holds there but for showing a rig, which a still shows standing.
        return (
            f"nothing, if this goes with marks that are set once a still ({called('twin')}, "
            f"{called('crop')}); with a mark for every frame ({called('on_ones')}) the camera "
            "moves on every frame: write the twin anew then"
        )
    frames = ", ".join(str(key.frame) for key in keys[:6]) + (" …" if len(keys) > 6 else "")
    return (
        f"take out the {len(keys)} keys that only hold (frames {frames}) and write stop = false "
        "in those between the first and the last"
    )


LOW_RATE = Check(
    id="low-rate",
    title="a moving camera at a low rate",
    level=Level.CAUTION,
    reason="A puppet may move on twos, even on threes; a camera that moves over the whole picture "
    "may not. Held stills cost nothing: raise the rate and hold each still longer.",
    source="Whitaker & Halas, Timing for Animation: camera moves go on ones",
    find=_low,
    limits=("slowest_rate",),
)
ON_TWOS = Check(
    id="on-twos",
    title="the camera moves on twos",
    level=Level.CAUTION,
    reason="A camera that moves and stands in turn jitters against everything that stands.",
    source="Whitaker & Halas, Timing for Animation: animating on twos over a pan gives jitter",
    find=_twos,
    limits=("twos_in_turn",),
)
