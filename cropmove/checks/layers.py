"""Do things at other distances sweep, leave the frame or go out of focus?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import floor

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, frames_text, runs_of
from cropmove.checks.readings import too_short_then
from cropmove.checks.retime import stretched, times_longer
from cropmove.checks.rig import frames_of
from cropmove.checks.too_fast import calm_step
from cropmove.rig.layers import Sight, calm_distance
from cropmove.rig.optics import Lens
from cropmove.shot import Shot

__all__ = ["LAYER_LEAVES", "LAYER_SWEEPS", "OUT_OF_FOCUS"]

_STOPS = (
    1, 1.1, 1.2, 1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11,
    13, 14, 16, 18, 20, 22, 25, 29, 32, 36, 40, 45,
)  # fmt: skip
"""The stops as lenses and cameras are marked, in thirds. No lens stops down further than the last.
Common practice, no source."""


def _sweeps(facts: Facts) -> Iterator[Finding]:
    # The rule is one of pace: held for two frames, a still may step twice as far.
    calm, shot = calm_step(facts) * facts.shot.on, facts.shot
    acting = {m.name for m in facts.table.moved if m.rig.motion.mover == "subject"}
    for number, sight in enumerate(facts.sights):
        if acting.intersection(sight.layer.moves_with):
            continue
        fast = np.flatnonzero(sight.step > calm * (1 + 1e-9)) + 1
        if not len(fast):
            continue
        first = shot.keys[0].framing.to_row()
        enough = calm_distance(sight, facts.table, first, shot.delivery.size, calm)
        times = _calm_times(facts, number, calm)
        ways = [f"stand it at least {enough:g} mm off"] if np.isfinite(enough) else []
        ways += [f"make the move {times:g} times as long"] if times else []
        yield Finding(
            id="layer-sweeps",
            level=Level.CAUTION,
            frames=frames_of(facts.table, fast),
            measured=100 * sight.peak,
            limit=100 * calm,
            unit="% of the frame's width a still",
            what=f"{sight.layer.name}, {sight.layer.distance:g} mm off, goes up to "
            f"{sight.peak * shot.delivery.size.width:.0f} px from still to still: its edges strobe",
            remedy=(", or ".join(ways) or "go less far") + _short_steps(facts, times),
            figures={
                "layer": sight.layer.name,
                "calm_distance": enough if np.isfinite(enough) else None,
                "times": times,
            },
        )


def _calm_times(facts: Facts, number: int, calm: float) -> float | None:
    """How many times as long the move keeps a layer's steps calm; None where that is too long."""

    def is_calm(shot: Shot) -> bool:
        return shot.sights()[number].peak <= calm * (1 + 1e-9)

    return times_longer(facts.shot, facts.sights[number].peak / calm, is_calm)


def _short_steps(facts: Facts, times: float | None) -> str:
    """How the slower move can be had although its steps are too short to be read."""
    if times is None:
        return ""
    longer = Facts(stretched(facts.shot, times, floor))
    return too_short_then(facts, longer, [marks.name for marks in facts.table.moved])


def _leaves(facts: Facts) -> Iterator[Finding]:
    for sight in facts.sights:
        seen = sight.in_sight
        if sight.boxes is None or seen.all():
            continue
        there = runs_of(np.flatnonzero(seen) + 1)
        told = f"in frame for {frames_text(there, 'still')} only" if there else "never in frame"
        yield Finding(
            id="layer-leaves",
            level=Level.NOTE,
            frames=frames_of(facts.table, np.flatnonzero(~seen) + 1),
            measured=int(seen.sum()),
            limit=len(seen),
            unit="stills",
            what=f"{sight.layer.name} is {told}",
            remedy="none needed, if that is meant",
            figures={"layer": sight.layer.name},
        )


def _out_of_focus(facts: Facts) -> Iterator[Finding]:
    lens = facts.shot.lens
    for sight in facts.focus_sights:
        passed = np.flatnonzero(sight.depth <= 0) + 1
        if len(passed):
            yield _goes_past(facts, sight, passed)
            continue
        stills, sharp = sight.out_of_focus, sight.sharp
        if not len(stills) or sharp is None or lens is None:
            continue
        depths = sight.depth[stills - 1]
        near, far = sharp
        worst = float(depths[int(np.argmax(np.maximum(near - depths, depths - far)))])
        exact = max(lens.stop_for(float(depth)) for depth in depths)
        stop = next((n for n in _STOPS if n >= exact), None)
        yield Finding(
            id="out-of-focus",
            # What is soft from first to last is meant to be, as like as not.
            level=Level.NOTE if len(stills) == len(sight.step) else Level.CAUTION,
            frames=frames_of(facts.table, stills),
            measured=worst,
            limit=near if worst < near else far,
            unit="mm from the lens",
            what=f"{sight.layer.name} is not sharp on {frames_text(runs_of(stills), 'still')}: "
            f"{worst:.0f} mm off, where {near:.0f} to {_far(far)} mm are",
            remedy=", or ".join(
                [
                    *([f"stop down to {stop:g}"] if stop else []),
                    *_focused_between(facts, lens),
                    *_pulled(lens, sight, worst),
                    "leave it soft if that is meant",
                ]
            ),
            figures={
                "layer": sight.layer.name,
                "near": near,
                "far": _finite(far),
                "stop": float(stop) if stop else None,
            },
        )


def _goes_past(facts: Facts, sight: Sight, stills: NDArray[np.int64]) -> Finding:
    """What is behind the lens by then can neither be sharp nor seen."""
    name, worst = sight.layer.name, float(sight.depth[stills - 1].min())
    return Finding(
        id="out-of-focus",
        level=Level.CAUTION,
        frames=frames_of(facts.table, stills),
        measured=worst,
        limit=0.0,
        unit="mm from the lens",
        what=f"the camera goes past {name}, or turns away from it: up to {-worst:.0f} mm behind "
        f"the lens, on {frames_text(runs_of(stills), 'still')}",
        remedy=f"go less far: {name} is {sight.depth[0]:.0f} mm off at first; or leave it, if it "
        "stands beside the way",
        figures={"layer": name, "near": None, "far": None, "stop": None},
    )


def _focused_between(facts: Facts, lens: Lens) -> Iterator[str]:
    """Where to focus, once and for all, so that everything is sharp at the stop as it is.

    Source: what is focused at 2 n f / (n + f) is as sharp at n as at f, any optics textbook.
    """
    depths = np.concatenate([sight.depth for sight in facts.focus_sights])
    near, far = float(depths.min()), float(depths.max())
    if near <= 0:
        return
    focus = round(2 * near * far / (near + far))
    sharp = replace(lens, focus=focus).sharp if focus > lens.focal else None
    if sharp and sharp[0] <= near and far <= sharp[1]:
        yield f"focus at {focus} mm throughout"


def _pulled(lens: Lens, sight: Sight, worst: float) -> Iterator[str]:
    """To pull focus with the move, for what comes nearer or goes off; not for what stands soft."""
    if len(sight.out_of_focus) < len(sight.step):
        yield f"pull focus with the move from {lens.focused_at:.0f} to {worst:.0f} mm"


def _far(distance: float) -> str:
    return f"{distance:.0f}" if np.isfinite(distance) else "any number of"


def _finite(distance: float) -> float | None:
    return distance if np.isfinite(distance) else None


LAYER_SWEEPS = Check(
    id="layer-sweeps",
    title="something near or far sweeps across too fast",
    level=Level.CAUTION,
    reason="A foreground crosses the frame sooner than the subject: its edges are seen twice.",
    source="cinematographers' tradition: the seven-second rule",
    find=_sweeps,
    limits=("crossing", "shutter"),
)
LAYER_LEAVES = Check(
    id="layer-leaves",
    title="something enters or leaves the frame",
    level=Level.NOTE,
    reason="What is built need not be built where it is never seen.",
    source="common practice, no source",
    find=_leaves,
)
OUT_OF_FOCUS = Check(
    id="out-of-focus",
    title="something is out of focus",
    level=Level.CAUTION,
    reason="A move towards a thing or away from it takes it out of the depth of field.",
    source="depth of field of a thin lens, any optics textbook",
    find=_out_of_focus,
)
