"""What makes steps even, or large enough to be set by hand: all of it tried before it is told."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from cropmove.checks.ease import comes_worse
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Level
from cropmove.checks.layers import LAYER_SWEEPS, OUT_OF_FOCUS
from cropmove.checks.rig import file_unit, impossible, place_text
from cropmove.errors import unless_refused
from cropmove.move.key import Leg
from cropmove.rig.marks import Marks
from cropmove.rig.measures import MM_PER_INCH, rounded_up
from cropmove.rig.rig import KEYS, Rig
from cropmove.rig.scale import Scale
from cropmove.shot import Shot
from cropmove.units import count_text

__all__ = ["Trial", "otherwise", "shorter_eases"]

_FACTORS = tuple(round(1 + n / 20, 2) for n in range(1, 61))
"""How much longer a travel or an arm is tried: more than four times is no remedy."""
_DIVISIONS, _INCHES = (0.5, 0.25, 0.2, 0.1), (1 / 32, 1 / 64, 0.01)
"""Millimetres (degrees) and inches that rules are divided into. Common practice, no source."""
_PARTS = (10, 12, 20, 25, 50, 100)
"""Parts of a turn that dials are divided into. Common practice, no source."""
_ARMS = (200, 300, 400, 500, 600, 800, 1000)
"""Millimetres of a pointer's arm; the last is the longest. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A thing whose steps want mending, and what a remedy is tried by.

    Parameters
    ----------
    facts : Facts
    marks : Marks
        The thing's, as they are.
    passes : callable
        Whether its marks do.
    """

    facts: Facts
    marks: Marks
    passes: Callable[[Marks], bool]

    def holds_with(self, changes: Mapping[str, Any]) -> bool:
        """Whether the thing does when its words in the shot file are changed to these."""
        return self.holds_in(_changed(self.facts.shot, self.marks.name, changes))

    def holds_in(self, changed: Shot | None) -> bool:
        """Whether the thing does in a changed shot, and nothing has become impossible or worse.

        By hand; and what is near or far may sweep across or go out of focus.
        """
        if changed is None:
            return False
        tried = Facts(changed)
        mended = self.passes(tried.table[self.marks.name])
        possible = mended and impossible(tried) <= impossible(self.facts)
        return possible and all(
            _cautions(check, tried) <= _cautions(check, self.facts)
            for check in (LAYER_SWEEPS, OUT_OF_FOCUS)
        )


def _cautions(check: Check, facts: Facts) -> int:
    return sum(finding.level > Level.NOTE for finding in check.find(facts))


def _changed(shot: Shot, name: str, changes: Mapping[str, Any]) -> Shot | None:
    """A shot one of whose rigs is otherwise; None where that cannot be."""
    rigs = (replace(rig, **changes) if rig.name == name else rig for rig in shot.rigs)
    return unless_refused(lambda: replace(shot, rigs=tuple(rigs)))


def otherwise(trial: Trial, last: str) -> str:
    """A longer travel, a finer rule, a longer arm, each by itself; and what always does."""
    arms = [*_arms(trial)]
    return ", or ".join(
        [*_travels(trial), *_readings(trial), *arms, _with_a_tape(trial, arms, last)]
    )


def _with_a_tape(trial: Trial, arms: list[str], last: str) -> str:
    """What is done with a tape; what turns has none but along an arc."""
    rig = trial.marks.rig
    if not rig.motion.angular or rig.scale.kind == "arc":
        return last
    if arms:
        return f"with that arm {last}"
    instead = " in place of thread" if rig.scale.kind == "screw" else ", say"
    return f"give it a pointer on an arm, radius = 400{instead}, and {last}"


def _travels(trial: Trial) -> Iterator[str]:
    """The shortest longer travel that does, in numbers that can be written in the shot file."""
    marks, rig = trial.marks, trial.marks.rig
    if rig.leads == KEYS:  # it goes as far as the digital move does
        return
    now, ratio = float(np.ptp(marks.place)), abs(rig.ratio)
    for factor in _FACTORS:
        if rig.leads:
            exact = rounded_up(ratio * factor, 3) / ratio
        else:
            exact = rounded_up(now * factor / file_unit(rig), 3) * file_unit(rig) / now
        if not _has_room(trial, exact) or not trial.passes(_further(marks, exact)):
            continue
        if trial.holds_with(_as_written(rig, exact)):
            told = f"a travel of {place_text(rig, now * exact, 3)}"
            if rig.scale.kind in ("arc", "screw"):
                where = "along the arc" if rig.scale.kind == "arc" else "of the handle"
                told += f" ({rig.scale.length_text(marks.travel * exact)} {where})"
            yield told + (f", by ratio = {rig.ratio * exact:.4g}" if rig.leads else "")
            return


def _has_room(trial: Trial, factor: float) -> bool:
    """Whether what goes nearer does not go past: the camera past its subject, or that past it."""
    marks, lens = trial.marks, trial.facts.shot.lens
    if marks.rig.motion.way != "in" or lens is None:
        return True
    away = marks.rig.distance or lens.distance
    return float(marks.moved.max()) * factor < away


def _further(marks: Marks, factor: float) -> Marks:
    start = marks.place[0]
    return replace(marks, place=start + (marks.place - start) * factor)


def _as_written(rig: Rig, factor: float) -> dict[str, Any]:
    """The words of a rig that goes so many times as far."""
    if rig.leads:
        return {"ratio": rig.ratio * factor}
    if rig.stops:
        begin = rig.stops[0].place
        stops = (replace(s, place=begin + (s.place - begin) * factor) for s in rig.stops)
        return {"stops": tuple(stops)}
    if rig.places:
        return {"places": tuple(rig.places[0] + (p - rig.places[0]) * factor for p in rig.places)}
    start = rig.start or 0.0
    return {"end": start + ((rig.end or 0.0) - start) * factor}


def _readings(trial: Trial) -> Iterator[str]:
    """The coarsest finer dial or rule that does."""
    scale = trial.marks.rig.scale
    if scale.kind == "screw":
        finer = (replace(scale, parts=n) for n in _PARTS if n > scale.parts)
    else:
        unit = MM_PER_INCH if scale.inches else 1.0
        tried = (d * unit for d in (_INCHES if scale.inches else _DIVISIONS))
        finer = (replace(scale, division=d) for d in tried if d < scale.fineness * 0.999)
    for each in finer:
        if _holds_on(trial, each):
            yield _read_finer(each)
            return


def _read_finer(scale: Scale) -> str:
    if scale.kind == "screw":
        return f"{scale.parts} parts a turn"
    what = "protractor" if scale.kind == "protractor" else "rule"
    return f"a {what} read to {scale.text(1)} {scale.unit}"


def _arms(trial: Trial) -> Iterator[str]:
    """The shortest longer arm that does, or a pointer's on what is read on a protractor."""
    scale = trial.marks.rig.scale
    if scale.kind not in ("arc", "protractor"):
        return
    lengths: tuple[float, ...] = _ARMS
    if scale.radius:
        tens = dict.fromkeys(-(-scale.radius * factor // 10) * 10 for factor in _FACTORS)
        lengths = tuple(n for n in tens if n <= _ARMS[-1])
    for radius in lengths:
        if _holds_on(trial, replace(scale, radius=radius)):
            if scale.radius:
                yield f"a longer arm, {radius:g} mm"
            else:
                yield f"a pointer on a long arm, read along its arc: radius = {radius:g}"
            return


def _holds_on(trial: Trial, scale: Scale) -> bool:
    marks = replace(trial.marks, rig=replace(trial.marks.rig, scale=scale))
    return trial.passes(marks) and trial.holds_with({"scale": scale})


def shorter_eases(trial: Trial) -> str:
    """The longest eases that can be set, leg by leg where they are those of the keys.

    Nothing where no ease at all would be left, or the camera would start or stop with a jerk.
    """
    marks, facts = trial.marks, trial.facts
    small = marks.moments[marks.too_small - 1]
    legs = [
        leg for leg in marks.legs
        if ((small > leg.start.frame) & (small <= leg.end.frame)).any()
    ]  # fmt: skip
    fits = [fit for leg in legs if (fit := _shortened(marks, leg))]
    if not legs or len(fits) < len(legs):
        return ""
    lead = _lead(facts, marks.rig)
    if lead.leads is None and (lead.stops or not facts.table.timing.legs):
        eases = _least(fits)
        changed = _changed(facts.shot, lead.name, eases)
        text = _eases_text(eases)
    else:
        ends = {leg.end.frame: eases for leg, eases in zip(legs, fits, strict=True)}
        changed = _with_eases(facts, ends)
        told = [
            _eases_text(eases) + f" for the leg that ends on frame {end}" * (len(marks.legs) > 1)
            for end, eases in ends.items()
        ]
        text = ", and ".join(told)
    return f"{text}, or " if trial.holds_in(changed) else ""


def _shortened(marks: Marks, leg: Leg) -> dict[str, int] | None:
    """The eases of a leg that must be shorter, and how long they may be; None where none help."""
    fits = marks.longest_eases(leg)
    if fits is None:
        return None
    sides = zip(("ease_in", "ease_out"), fits, leg.ease_lengths, strict=True)
    eases = {side: most for side, most, given in sides if most < given}
    return eases if eases and all(eases.values()) else None


def _least(fits: list[dict[str, int]]) -> dict[str, int]:
    """One length for each ease that fits all of several legs."""
    sides = [side for side in ("ease_in", "ease_out") if any(side in eases for eases in fits)]
    return {side: min(eases[side] for eases in fits if side in eases) for side in sides}


def _eases_text(eases: Mapping[str, int]) -> str:
    told = (
        f"an {side.replace('_', ' ')} of at most {count_text(most, 'frame')}"
        for side, most in eases.items()
    )
    return " and ".join(told)


def _lead(facts: Facts, rig: Rig) -> Rig:
    """The rig whose eases a rig has: its own, or those of what it follows in the end."""
    while rig.leads and rig.leads != KEYS:
        rig = facts.table[rig.leads].rig
    return rig


def _with_eases(facts: Facts, ends: Mapping[int, Mapping[str, int]]) -> Shot | None:
    """The shot with other eases for the legs that end there; None where its camera would jerk."""
    keys = (replace(k, **ends.get(k.frame, {})) for k in facts.shot.keys)  # type: ignore[arg-type]
    changed = unless_refused(lambda: replace(facts.shot, keys=tuple(keys)))
    return None if changed is None or comes_worse(facts, changed) else changed
