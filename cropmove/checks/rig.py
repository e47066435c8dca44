"""Can the marks be made by hand, and what must a rig do otherwise than the digital move?"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import numpy as np

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, Run, frames_text, runs_of
from cropmove.errors import called
from cropmove.geometry import Floats
from cropmove.rig.marks import SETTLING, Marks
from cropmove.rig.measures import MM_PER_INCH, number_text, rounded_down, rounded_up
from cropmove.rig.working import Table

__all__ = [
    "BACKLASH",
    "BEYOND_TRACK",
    "BY_HAND_ON_TWOS",
    "RIG_DIFFERS",
    "RULE_RESET",
    "SET_SHADOWS",
    "SMALL_STEPS",
    "TOO_FAST",
    "UNEVEN_STEPS",
    "frames_of",
    "screen_widths",
]

_PRACTICE = "common practice, no source"
_SLACK = 1e-6
"""Millimetres or degrees: what arithmetic may add to a travel that just fits."""
_FACTORS = tuple(round(1 + n / 20, 2) for n in range(1, 61))
"""How much longer a travel or an arm is tried: more than four times is no remedy."""
_DIVISIONS, _INCHES = (0.5, 0.25, 0.2, 0.1), (1 / 32, 1 / 64, 0.01)
"""Millimetres (degrees) and inches that rules are divided into. Common practice, no source."""
_PARTS = (10, 12, 20, 25, 50, 100)
"""Parts of a turn that dials are divided into. Common practice, no source."""


def frames_of(table: Table, stills: Iterable[int]) -> tuple[Run, ...]:
    """The frames that show any of these stills, as runs."""
    return runs_of(np.flatnonzero(np.isin(table.timing.still, list(stills))) + 1)


def screen_widths(facts: Facts, marks: Marks) -> float | None:
    """How far the picture moves, in frame widths, where a thing moves by 1 mm or degree.

    At the subject's distance and the first framing; None without a lens.
    """
    view = facts.shot.view
    if view is None:
        return None
    lens, motion = view.lens, marks.rig.motion
    enlarged = view.still.width / facts.shot.keys[0].framing.width
    shape = facts.shot.delivery.size.shape
    away = marks.rig.distance or lens.distance
    if motion.way in ("sideways", "up"):
        return lens.reach * enlarged / away
    if motion.way == "in":
        return float(np.hypot(1, shape)) / 2 / away
    if motion.way in ("pan", "tilt"):
        return float(np.deg2rad(lens.reach * enlarged))
    return float(np.deg2rad(np.hypot(1, shape) / 2))


def _beyond_track(facts: Facts) -> Iterator[Finding]:
    for marks in facts.table.moved:
        track, travel = marks.rig.track, float(np.ptp(marks.place))
        if track is None or travel <= track + _SLACK:
            continue
        unit = marks.rig.motion.unit
        beyond = _reach(marks.place) > track + _SLACK
        yield Finding(
            id="beyond-track",
            level=Level.FAULT,
            frames=frames_of(facts.table, np.flatnonzero(beyond) + 1),
            measured=travel,
            limit=track,
            unit=unit,
            what=f"{marks.name} travels {travel:.5g} {unit}; its track is {track:.5g} {unit} long",
            remedy=f"shorten the move to {100 * rounded_down(track / travel, 3):.3g} %, "
            "or lay a longer track",
            figures={"rig": marks.name},
        )


def _reach(place: Floats) -> Floats:
    """How far each place is from the farthest of those before it, whichever way."""
    low, high = np.minimum.accumulate(place), np.maximum.accumulate(place)
    return np.asarray(np.maximum(place - low, high - place))


def _too_fast(facts: Facts) -> Iterator[Finding]:
    table = facts.table
    every = min((m.rig.every for m in table.moved if m.rig.every), default=None)
    if every is None:
        return
    times = _times(table, every)
    needed = _by_two_hands(times)
    beyond = np.flatnonzero(needed > every * (1 + 1e-9)) + 1
    if not len(beyond):
        return
    worst = int(np.argmax(needed))
    slowest = table.moved[int(np.argmax(times[:, worst]))]
    moving = int((times[:, worst] > 0).sum())
    longest = rounded_up(float(needed[worst]))
    # Given more time, marks are read: that takes longer still.
    enough = rounded_up(float(_by_two_hands(_times(table, longest)).max()))
    yield Finding(
        id="too-fast-by-hand",
        level=Level.FAULT,
        frames=frames_of(table, beyond),
        measured=float(needed[worst]),
        limit=every,
        unit="seconds from still to still",
        what=f"two hands need {longest:g} s to set {_things(moving)} for still "
        f"{worst + 1}; there are {every:g} s, and {slowest.name} takes longest",
        remedy=f"leave at least {enough:g} s between stills, let "
        "somebody help, or make the move slower",
        figures={"still": worst + 1, "rig": slowest.name, "every": enough},
    )


def _times(table: Table, every: float) -> Floats:
    """Seconds that each thing takes for each still, with so many from one still to the next."""
    # Where there is no time to read a mark, the thing is pushed while the camera runs.
    settling = SETTLING if every > SETTLING else 0.0
    return np.array([abs(m.exact_step) / m.hand + settling * (m.step != 0) for m in table.moved])


def _by_two_hands(times: Floats) -> Floats:
    """Seconds for each still, where two hands share the things."""
    return np.asarray(np.maximum(times.max(axis=0), times.sum(axis=0) / 2))


def _things(count: int) -> str:
    return "1 thing" if count == 1 else f"{count} things"


def _uneven(facts: Facts) -> Iterator[Finding]:
    noticed = facts.limits.just_noticed / 100
    for marks in facts.table.moved:
        if not _is_uneven(facts, marks):
            continue
        uneven, scale = marks.unevenness, marks.rig.scale
        stills = np.flatnonzero(marks.jolts > noticed) + 2
        seen = _jolt_seen(facts, marks)
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
            remedy=_otherwise(
                marks,
                lambda tried: not _is_uneven(facts, tried),
                f"push it to the exact ticks of the tape ({called('tape')}), not to readings",
            ),
            figures={"rig": marks.name, "cruise": marks.cruise, "frame_widths": seen},
        )


def _is_uneven(facts: Facts, marks: Marks) -> bool:
    """Whether a change of step is noticed that nobody meant."""
    seen = _jolt_seen(facts, marks)
    noticed = marks.unevenness > facts.limits.just_noticed / 100
    return noticed and (seen is None or seen >= facts.limits.visible_change / 100)


def _jolt_seen(facts: Facts, marks: Marks) -> float | None:
    """The worst jolt in frame widths, where the lens tells."""
    per = screen_widths(facts, marks)
    return (
        None if per is None else marks.unevenness * marks.cruise * marks.rig.scale.per_reading * per
    )


def _otherwise(marks: Marks, passes: Callable[[Marks], bool], last: str) -> str:
    """What would make a check pass, each by itself: a longer travel, a finer rule, a longer arm."""
    scale, choices = marks.rig.scale, []
    further = next((f for f in _FACTORS if passes(_further(marks, f))), None)
    if further:
        choices.append(f"a travel of {scale.length_text(marks.travel * further)}")
    if scale.kind == "screw":
        finer = next((n for n in _PARTS if n > scale.parts and passes(_read_to(marks, n))), None)
        choices += [f"{finer} parts a turn"] if finer else []
    else:
        unit = MM_PER_INCH if scale.inches else 1.0
        divisions = (d * unit for d in (_INCHES if scale.inches else _DIVISIONS))
        fine = (d for d in divisions if d < scale.fineness * 0.999 and passes(_read_to(marks, d)))
        choices += [f"a rule read to {scale.length_text(d)}" for d in list(fine)[:1]]
    if scale.kind == "arc" and scale.radius:
        longer = next((f for f in _FACTORS if passes(_on_arm(marks, f))), None)
        choices += [f"a longer arm, {scale.radius * longer:.5g} mm"] if longer else []
    if scale.kind == "protractor":
        choices.append("a pointer on a long arm, read along its arc: radius = 400, say")
    return ", or ".join([*choices, last])


def _further(marks: Marks, factor: float) -> Marks:
    start = marks.place[0]
    return replace(marks, place=start + (marks.place - start) * factor)


def _read_to(marks: Marks, division: float) -> Marks:
    scale = marks.rig.scale
    if scale.kind == "screw":
        finer = replace(scale, parts=int(division))
    else:
        finer = replace(scale, division=division)
    return replace(marks, rig=replace(marks.rig, scale=finer))


def _on_arm(marks: Marks, factor: float) -> Marks:
    scale = replace(marks.rig.scale, radius=(marks.rig.scale.radius or 0.0) * factor)
    return replace(marks, rig=replace(marks.rig, scale=scale))


def _small(facts: Facts) -> Iterator[Finding]:
    for marks in facts.table.moved:
        stills = marks.too_small
        if not len(stills):
            continue
        least, scale = float(abs(marks.exact_step[stills - 1]).min()), marks.rig.scale
        last = f"set the ticks of the tape by eye ({called('tape')}), not readings"
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
            remedy=_shorter_ease(marks)
            + _otherwise(marks, lambda tried: not len(tried.too_small), last),
            figures={"rig": marks.name, "stills": stills.tolist()},
        )


def _counted(count: int, name: str) -> str:
    return f"1 step of {name} is" if count == 1 else f"{count} steps of {name} are"


def _shorter_ease(marks: Marks) -> str:
    """The longest eases that can be set, for the first leg in which they are too long."""
    small = marks.moments[marks.too_small - 1]
    for leg in marks.legs:
        inside = ((small > leg.start.frame) & (small <= leg.end.frame)).any()
        fits = marks.longest_eases(leg) if inside else None
        if fits:
            told = [
                f"an ease {side} of at most {_frames(most)}" if most else f"no ease {side}"
                for side, most, given in zip(("in", "out"), fits, leg.ease_lengths, strict=True)
                if most < given
            ]
            return f"{' and '.join(told)}, or "
    return ""


def _frames(count: int) -> str:
    return "1 frame" if count == 1 else f"{count} frames"


def _resets(facts: Facts) -> Iterator[Finding]:
    for marks in facts.table.moved:
        scale = marks.rig.scale
        if marks.step_beyond_rule:
            yield Finding(
                id="rule-too-short",
                level=Level.FAULT,
                measured=marks.longest_reach,
                limit=marks.rig.rule,
                unit=scale.unit,
                what=f"a step of {marks.name} needs {scale.length_text(marks.longest_reach)} of "
                "its rule, more than all of it",
                remedy="take a longer rule, or make the move slower",
                figures={"rig": marks.name},
            )
        elif marks.resets:
            told = "; ".join(
                f"on still {r.still} it reads {scale.text(r.before)}: shift the rule to read "
                f"{scale.text(r.after)}"
                for r in marks.resets
            )
            yield Finding(
                id="rule-too-short",
                level=Level.NOTE,
                frames=frames_of(facts.table, [reset.still for reset in marks.resets]),
                measured=marks.travel,
                limit=marks.rig.rule,
                unit=scale.unit,
                what=f"{marks.name} goes beyond its rule: {told}",
                remedy="none needed: the list says where; or take a longer rule",
                figures={"rig": marks.name, "stills": [reset.still for reset in marks.resets]},
            )


def _backlash(facts: Facts) -> Iterator[Finding]:
    for marks in facts.table.moved:
        stills = marks.overshoots
        if len(stills):
            side = "below" if marks.approach > 0 else "above"
            yield Finding(
                id="backlash",
                level=Level.NOTE,
                frames=frames_of(facts.table, stills),
                measured=marks.rig.backlash,
                limit=0.0,
                unit=marks.rig.scale.unit,
                what=f"{marks.name} goes back there, and its marks are approached from {side}",
                remedy="go past the mark and come back to it; the list says how far",
                figures={"rig": marks.name},
            )


def _differs(facts: Facts) -> Iterator[Finding]:
    table, shot = facts.table, facts.shot
    # A background is no part of it: it keeps the digital move at a distance of its own.
    by_hand = table.twins
    if not by_hand or table.view is None or table.framings is None:
        return
    rows = table.framings(by_hand[0].moments)
    gap = table.view.gap(table.twin_poses, rows, shot.delivery.size.shape)
    worst = int(np.argmax(gap))
    if gap[worst] < facts.limits.visible_change / 100:
        return
    pixels = gap[worst] * shot.delivery.size.width
    shown = "all of it" if np.isinf(pixels) else f"{pixels:.0f} px"
    ways = {m.rig.motion.way for m in by_hand}
    yield Finding(
        id="rig-differs",
        level=Level.NOTE,
        frames=frames_of(table, [worst + 1]),
        measured=None if np.isinf(gap[worst]) else float(100 * gap[worst]),
        limit=0.0,
        unit="% of the frame's width",
        what=f"made by hand the picture differs from the digital move's by up to {shown} in a "
        f"corner, at still {worst + 1}: {_why(facts, ways, rows)}",
        remedy=f"preview the rig's own picture ({called('twin')}), and frame with that much to "
        "spare",
        figures={"still": worst + 1, "ways": sorted(ways)},
    )


def _why(facts: Facts, ways: set[str], rows: Floats) -> str:
    left, lens = [], facts.shot.lens
    if ways & {"pan", "tilt"}:
        left.append("a camera that turns sees the set aslant")
        if lens is not None and lens.pupil:
            left.append("its entrance pupil is off the pivot")
    if np.ptp(rows[:, 2]) > 0 and "in" not in ways:
        left.append("nothing pushes in by hand")
    if np.ptp(rows[:, 3]) > 0 and "roll" not in ways:
        left.append("nothing rolls by hand")
    across, up = np.ptp(rows[:, 0]) > 0, np.ptp(rows[:, 1]) > 0
    if across and not ways & {"sideways", "pan"}:
        left.append("nothing goes sideways by hand")
    if up and not ways & {"up", "tilt"}:
        left.append("nothing goes up by hand")
    return "; ".join(left) or "perspective"


def _shadows(facts: Facts) -> Iterator[Finding]:
    for marks in facts.table.moved:
        if marks.rig.motion.mover != "set" or not marks.moves.any():
            continue
        far, unit = float(np.ptp(marks.place)), marks.rig.motion.unit
        told = f"{number_text(far, 1)} {unit}"
        yield Finding(
            id="set-shadows",
            level=Level.CAUTION,
            frames=frames_of(facts.table, np.flatnonzero(marks.moves) + 2),
            measured=far,
            limit=0.0,
            unit=unit,
            what=f"shadows and highlights move when {marks.name} "
            f"{'turns' if marks.rig.motion.angular else 'shifts'} the set by {told} under "
            "still lamps",
            remedy="fix the lamps to the board, light it softly from all round, or move the "
            f"camera instead, by {told} the other way",
            figures={"rig": marks.name},
        )


def _on_twos(facts: Facts) -> Iterator[Finding]:
    on = facts.shot.on
    movers = ("camera", "set")
    moved = [m for m in facts.table.moved if m.rig.motion.mover in movers and m.moves.any()]
    if on == 1 or not moved:
        return
    stills = np.flatnonzero(np.any([m.moves for m in moved], axis=0)) + 2
    *others, last = (marks.name for marks in moved)
    names = f"{', '.join(others)} and {last}" if others else last
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
        "are held",
        figures={"rigs": [marks.name for marks in moved], "stills": facts.shot.length},
    )


BEYOND_TRACK = Check(
    id="beyond-track",
    title="a thing travels beyond its track",
    level=Level.FAULT,
    reason="It would run off its end, or into its stop, before the shot is over.",
    source="common sense",
    find=_beyond_track,
)
TOO_FAST = Check(
    id="too-fast-by-hand",
    title="two hands cannot follow",
    level=Level.FAULT,
    reason="Where the camera does not wait, everything has to stand on its marks in time.",
    source=_PRACTICE,
    find=_too_fast,
)
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
    source=_PRACTICE,
    find=_small,
)
RULE_RESET = Check(
    id="rule-too-short",
    title="the rule is shorter than the travel",
    level=Level.FAULT,
    reason="The rule has to be laid anew on the way, or the mark lies beyond its end.",
    source=_PRACTICE,
    find=_resets,
)
BACKLASH = Check(
    id="backlash",
    title="slack has to be taken up",
    level=Level.NOTE,
    reason="A thing with slack stands elsewhere when its mark is reached from the other side.",
    source=_PRACTICE,
    find=_backlash,
)
RIG_DIFFERS = Check(
    id="rig-differs",
    title="the rig's picture differs from the digital move's",
    level=Level.NOTE,
    reason="A framing moves over a flat picture; a camera that moves sees round things.",
    source="pinhole geometry: perspective, parallax, an entrance pupil off the pivot",
    find=_differs,
    limits=("visible_change",),
)
SET_SHADOWS = Check(
    id="set-shadows",
    title="shadows move with the set",
    level=Level.CAUTION,
    reason="The lamps stay where they are while the set moves under them.",
    source=_PRACTICE,
    find=_shadows,
)
BY_HAND_ON_TWOS = Check(
    id="by-hand-on-twos",
    title="a camera moved by hand is held like the puppets",
    level=Level.NOTE,
    reason="A digital camera moves on every frame; a mark stays for as long as its still is shown.",
    source="Whitaker & Halas, Timing for Animation: camera moves go on ones",
    find=_on_twos,
)
