"""Steps by hand: can they be read, are they even, and do they go on every frame?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, frames_text, runs_of
from cropmove.checks.readings import is_uneven, jolt_seen, too_short_then
from cropmove.checks.rig import frames_of
from cropmove.checks.settable import Trial, otherwise, shorter_eases
from cropmove.errors import called
from cropmove.rig.marks import Marks
from cropmove.units import listed

__all__ = ["BY_HAND_ON_TWOS", "SMALL_STEPS", "UNEVEN_STEPS"]


def _uneven(facts: Facts) -> Iterator[Finding]:
    noticed = facts.limits.just_noticed / 100
    for marks in facts.table.moved:
        if not is_uneven(facts, marks):
            continue
        uneven, scale = marks.unevenness, marks.rig.scale
        trial = Trial(facts=facts, marks=marks, passes=lambda tried: not is_uneven(facts, tried))
        stills = np.flatnonzero(marks.jolts > noticed) + 2
        seen = jolt_seen(facts, marks)
        pixels = f", {seen * facts.shot.delivery.size.width:.1f} px on the screen" if seen else ""
        yield Finding(
            id="uneven-steps",
            level=Level.CAUTION,
            frames=frames_of(facts.table, stills),
            measured=100 * uneven,
            limit=facts.limits.just_noticed,
            unit="% of the cruise",
            what=f"readings rounded to {scale.length_text(scale.fineness)} make neighbouring "
            f"steps of {marks.name} differ by up to {100 * uneven:.0f} % of its cruise of "
            f"{scale.length_text(marks.cruise)}{pixels}",
            remedy=otherwise(
                trial,
                f"push it to the exact ticks of the tape ({called('tape')}), not to readings",
            ),
            figures={"rig": marks.name, "cruise": marks.cruise, "frame_widths": seen},
        )


def _small(facts: Facts) -> Iterator[Finding]:
    for marks in facts.table.moved:
        stills = marks.too_small
        if not len(stills):
            continue
        least, scale = float(abs(marks.exact_step[stills - 1]).min()), marks.rig.scale
        last = f"set the ticks of the tape by eye ({called('tape')}), not readings"
        trial = Trial(facts=facts, marks=marks, passes=lambda tried: not len(tried.too_small))
        yield Finding(
            id="small-steps",
            level=Level.CAUTION,
            frames=frames_of(facts.table, stills),
            measured=least,
            limit=marks.smallest,
            unit=scale.unit,
            what=f"{_counted(len(stills), marks.name)} smaller than "
            f"{scale.length_text(marks.smallest)}, down to {scale.length_text(least)}: "
            f"{frames_text(runs_of(stills), 'still')}",
            remedy=shorter_eases(trial) + otherwise(trial, last),
            figures={"rig": marks.name, "stills": stills.tolist()},
        )


def _counted(count: int, name: str) -> str:
    return f"1 step of {name} is" if count == 1 else f"{count} steps of {name} are"


def _on_twos(facts: Facts) -> Iterator[Finding]:
    on = facts.shot.on
    moved = [marks for marks in facts.table.camera_and_set if marks.moves.any()]
    if on == 1 or not moved:
        return
    stills = np.flatnonzero(np.any([m.moves for m in moved], axis=0)) + 2
    names = listed([marks.name for marks in moved])
    yield Finding(
        id="by-hand-on-twos",
        level=Level.NOTE,
        frames=frames_of(facts.table, stills),
        measured=on,
        limit=1,
        unit="frames a still",
        what=f"each mark of {names} stays for {on} frames: the whole picture jumps once in {on}",
        remedy=f"photograph every pose {'twice' if on == 2 else f'{on} times'}, each time on the "
        f"next mark ({called('on_ones')}): {facts.shot.length} stills in all, and only the puppets "
        f"are held{_hard_on_ones(facts, moved)}",
        figures={"rigs": [marks.name for marks in moved], "stills": facts.shot.length},
    )


def _hard_on_ones(facts: Facts, moved: Sequence[Marks]) -> str:
    """What becomes of the steps, where a mark for every frame makes them too short to be read."""
    shot = facts.shot
    ones = Facts(replace(shot, on=1, frames=shot.length))
    return too_short_then(facts, ones, [marks.name for marks in moved])


UNEVEN_STEPS = Check(
    id="uneven-steps",
    title="rounding makes neighbouring steps uneven",
    level=Level.CAUTION,
    reason="Readings are whole divisions: a short step comes out longer or shorter by one.",
    source="De Bruyn & Orban, Vision Research 28(12), 1988: a change of speed by 7 % is noticed",
    find=_uneven,
    limits=("just_noticed", "visible_change"),
)
SMALL_STEPS = Check(
    id="small-steps",
    title="steps are smaller than can be set",
    level=Level.CAUTION,
    reason="Below a division the same mark comes twice: the thing stops and starts again.",
    source="common practice, no source",
    find=_small,
)
BY_HAND_ON_TWOS = Check(
    id="by-hand-on-twos",
    title="a camera moved by hand is held like the puppets",
    level=Level.NOTE,
    reason="A digital camera moves on every frame; a mark stays for as long as its still is shown.",
    source="Whitaker & Halas, Timing for Animation: camera moves go on ones",
    find=_on_twos,
)
