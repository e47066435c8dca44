"""Do things at other distances sweep, leave the frame or go out of focus?"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, frames_text, runs_of
from cropmove.checks.pace import calm_step
from cropmove.checks.rig import frames_of
from cropmove.rig.layers import calm_distance
from cropmove.rig.measures import rounded_up

__all__ = ["LAYER_LEAVES", "LAYER_SWEEPS", "OUT_OF_FOCUS"]

_SMALLEST_STOP = 45.0
"""No lens stops down further. Common practice, no source."""


def _sweeps(facts: Facts) -> Iterator[Finding]:
    # The rule is one of pace: held for two frames, a still may step twice as far.
    calm, shot = calm_step(facts) * facts.shot.on, facts.shot
    acting = {m.name for m in facts.table.moved if m.rig.motion.mover == "subject"}
    for sight in facts.sights:
        if acting.intersection(sight.layer.moves_with):
            continue
        fast = np.flatnonzero(sight.step > calm * (1 + 1e-9)) + 1
        if not len(fast):
            continue
        first = shot.keys[0].framing.to_row()
        enough = calm_distance(sight, facts.table, first, shot.delivery.size, calm)
        further = f"stand it at least {enough:g} mm off, or " if np.isfinite(enough) else ""
        yield Finding(
            id="layer-sweeps",
            level=Level.CAUTION,
            frames=frames_of(facts.table, fast),
            measured=100 * sight.peak,
            limit=100 * calm,
            unit="% of the frame's width a still",
            what=f"{sight.layer.name}, {sight.layer.distance:g} mm off, goes up to "
            f"{sight.peak * shot.delivery.size.width:.0f} px from still to still: its edges strobe",
            remedy=f"{further}make the move {rounded(sight.peak / calm)} times as long",
            figures={
                "layer": sight.layer.name,
                "calm_distance": enough if np.isfinite(enough) else None,
            },
        )


def rounded(times: float) -> str:
    """So many times, a little more, for people.

    Examples
    --------
    >>> rounded(1.234)
    '1.3'
    """
    return f"{np.ceil(times * 10 - 1e-9) / 10:g}"


def _leaves(facts: Facts) -> Iterator[Finding]:
    for sight in facts.sights:
        seen = sight.in_sight
        if sight.boxes is None or seen.all():
            continue
        there = runs_of(np.flatnonzero(seen) + 1)
        told = f"in the frame for {frames_text(there, 'still')} only" if there else "never in it"
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
        stills, sharp = sight.out_of_focus, sight.sharp
        if not len(stills) or sharp is None or lens is None:
            continue
        depths = sight.depth[stills - 1]
        near, far = sharp
        worst = float(depths[int(np.argmax(np.maximum(near - depths, depths - far)))])
        stop = rounded_up(max(lens.stop_for(float(depth)) for depth in depths))
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
            remedy=f"{_stopped(stop)}pull focus with the move from {lens.focused_at:.0f} to "
            f"{worst:.0f} mm, or leave it soft if that is meant",
            figures={"layer": sight.layer.name, "near": near, "far": _finite(far), "stop": stop},
        )


def _stopped(stop: float) -> str:
    return f"stop down to {stop:g}, or " if stop <= _SMALLEST_STOP else ""


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
