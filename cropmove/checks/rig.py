"""Can the marks be made by hand, and what must a rig do otherwise than the digital move?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import ceil

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, Run, runs_of
from cropmove.checks.retime import times_longer
from cropmove.errors import called
from cropmove.geometry import Floats
from cropmove.rig.marks import SETTLING, Marks
from cropmove.rig.measures import MM_PER_INCH, number_text, rounded_down, rounded_up
from cropmove.rig.rig import Rig
from cropmove.rig.working import Table
from cropmove.shot import Shot

__all__ = [
    "BACKLASH",
    "BEYOND_TRACK",
    "RIG_DIFFERS",
    "RULE_RESET",
    "SET_SHADOWS",
    "TOO_FAST",
    "file_unit",
    "frames_of",
    "impossible",
    "place_text",
    "screen_widths",
]

_PRACTICE = "common practice, no source"


_SLACK = 1e-6
"""Millimetres or degrees: what arithmetic may add to a travel that just fits."""


_HANDS_OF_ONE = 2


_MOST_SPARE = 0.25
"""Frame widths at each side that a framing may have to spare: with more it is another picture.
Common practice, no source."""


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
        if track is None or not _is_beyond_track(marks):
            continue
        told, room = place_text(marks.rig, travel), place_text(marks.rig, track, 6)
        beyond = _reach(marks.place) > track + _SLACK
        yield Finding(
            id="beyond-track",
            level=Level.FAULT,
            frames=frames_of(facts.table, np.flatnonzero(beyond) + 1),
            measured=travel,
            limit=track,
            unit=marks.rig.motion.unit,
            what=f"{marks.name} travels {told}; its track is {room} long",
            remedy=f"shorten the move to {100 * rounded_down(track / travel, 3):.3g} %, "
            f"or lay a track of {told} or more",
            figures={"rig": marks.name},
        )


def _is_beyond_track(marks: Marks) -> bool:
    track = marks.rig.track
    return track is not None and bool(np.ptp(marks.place) > track + _SLACK)


def place_text(rig: Rig, place: float, digits: int = 4) -> str:
    """A length or an angle as the shot file has it, a little more rather than less, with its unit.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from cropmove.rig.motion import MOTIONS
    >>> from cropmove.rig.scale import Scale
    >>> up = MOTIONS["camera up"]
    >>> lift = Rig(name="lift", motion=up, scale=Scale(inches=True), start=0, end=100)
    >>> place_text(lift, 463.12), place_text(replace(lift, scale=Scale()), 463.12)
    ('18.24 in', '463.2 mm')
    """
    return f"{rounded_up(place / file_unit(rig), digits):.10g} {_unit_name(rig)}"


def file_unit(rig: Rig) -> float:
    """Millimetres or degrees to the unit that a rig's places have in the shot file."""
    return MM_PER_INCH if rig.scale.inches and not rig.motion.angular else 1.0


def _unit_name(rig: Rig) -> str:
    return rig.motion.unit if file_unit(rig) == 1.0 else "in"


def _reach(place: Floats) -> Floats:
    """How far each place is from the farthest of those before it, whichever way."""
    low, high = np.minimum.accumulate(place), np.maximum.accumulate(place)
    return np.asarray(np.maximum(place - low, high - place))


def _too_fast(facts: Facts) -> Iterator[Finding]:
    table, every = facts.table, _every(facts.table)
    if every is None or not _hands_are_late(table):
        return
    times = _times(table, every)
    needed = _by_hands(times)
    worst = int(np.argmax(needed))
    slowest = table.moved[int(np.argmax(times[:, worst]))]
    moving = int((times[:, worst] > 0).sum())
    longest = rounded_up(float(needed[worst]))
    # Given more time, marks are read: that takes longer still.
    enough = rounded_up(float(_by_hands(_times(table, longest)).max()))
    longer = times_longer(
        facts.shot, float(needed[worst]) / every, lambda shot: not _hands_are_late(shot.marks())
    )
    ways = [f"leave at least {enough:g} s between stills"]
    ways += ["let somebody help"] if not _hands_are_late(table, 2 * _HANDS_OF_ONE) else []
    ways += [f"make the move {longer:g} times as long"] if longer else []
    yield Finding(
        id="too-fast-by-hand",
        level=Level.FAULT,
        frames=frames_of(table, np.flatnonzero(_is_late(needed, every)) + 1),
        measured=float(needed[worst]),
        limit=every,
        unit="seconds from still to still",
        what=f"two hands need {longest:g} s to set {_things(moving)} for still "
        f"{worst + 1}; there are {every:g} s, and {slowest.name} takes longest",
        remedy=", or ".join(ways),
        figures={"still": worst + 1, "rig": slowest.name, "every": enough, "times": longer},
    )


def _every(table: Table) -> float | None:
    """Seconds from still to still where the camera does not wait; None where it waits."""
    return min((m.rig.every for m in table.moved if m.rig.every), default=None)


def _hands_are_late(table: Table, hands: int = _HANDS_OF_ONE) -> bool:
    every = _every(table)
    return every is not None and bool(_is_late(_by_hands(_times(table, every), hands), every).any())


def _is_late(needed: Floats, every: float) -> NDArray[np.bool_]:
    return np.asarray(needed > every * (1 + 1e-9))


def _times(table: Table, every: float) -> Floats:
    """Seconds that each thing takes for each still, with so many from one still to the next."""
    # Where there is no time to read a mark, the thing is pushed while the camera runs.
    settling = SETTLING if every > SETTLING else 0.0
    return np.array([abs(m.exact_step) / m.hand + settling * (m.step != 0) for m in table.moved])


def _by_hands(times: Floats, hands: int = _HANDS_OF_ONE) -> Floats:
    """Seconds for each still, where so many hands share the things, one hand a thing."""
    return np.asarray(np.maximum(times.max(axis=0), times.sum(axis=0) / hands))


def _things(count: int) -> str:
    return "1 thing" if count == 1 else f"{count} things"


def impossible(facts: Facts) -> int:
    """How much of what is to be done by hand cannot be."""
    moved = facts.table.moved
    stuck = sum(_is_beyond_track(marks) + marks.step_beyond_rule for marks in moved)
    return stuck + _hands_are_late(facts.table)


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
                remedy=", or ".join(
                    [
                        f"take a rule of {_on_rule(marks, marks.longest_reach)} or more",
                        *_slower_for_rule(facts, marks),
                    ]
                ),
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
                remedy=f"none needed: the list says where; or {_long_rule(marks)}",
                figures={"rig": marks.name, "stills": [reset.still for reset in marks.resets]},
            )


def _on_rule(marks: Marks, length: float) -> str:
    """A length of a rule, in whole divisions, as it can be written in the shot file."""
    scale = marks.rig.scale
    return f"{scale.text(ceil(length / scale.fineness - 1e-9))} {scale.unit}"


def _slower_for_rule(facts: Facts, marks: Marks) -> Iterator[str]:
    def fits(shot: Shot) -> bool:
        return not shot.marks()[marks.name].step_beyond_rule

    times = times_longer(facts.shot, marks.longest_reach / (marks.rig.rule or 1.0), fits)
    if times:
        yield f"make the move {times:g} times as long"


def _long_rule(marks: Marks) -> str:
    """The rule that needs no laying anew, and where the thing has to begin on it."""
    (low, high), scale = marks.span, marks.rig.scale
    needed, ways = high, []
    if low < 0:
        # From another start the ends can be rounded apart by a division more.
        needed = high - low + scale.fineness
        raised = place_text(marks.rig, marks.place[0] - low * scale.per_reading)
        ways.append(f"begin at {raised}")
    if needed > (marks.rig.rule or 0.0):
        ways.insert(0, f"take a rule of {_on_rule(marks, needed)} or more")
    return " and ".join(ways)


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
    spare = ", and frame with that much to spare" if gap[worst] <= _MOST_SPARE else ""
    yield Finding(
        id="rig-differs",
        level=Level.NOTE,
        frames=frames_of(table, [worst + 1]),
        measured=None if np.isinf(gap[worst]) else float(100 * gap[worst]),
        limit=0.0,
        unit="% of the frame's width",
        what=f"made by hand the picture differs from the digital move's by up to {shown} in a "
        f"corner, at still {worst + 1}: {_why(facts, ways, rows)}",
        remedy=f"preview the rig's own picture ({called('twin')}){spare}",
        figures={"still": worst + 1, "ways": sorted(ways)},
    )


def _why(facts: Facts, ways: set[str], rows: Floats) -> str:
    told, lens = [], facts.shot.lens
    if ways & {"pan", "tilt"}:
        told.append("a camera that turns sees the set aslant")
        if lens is not None and lens.pupil:
            told.append("its entrance pupil is off the pivot")
    does = {"in": "pushes in", "roll": "rolls", "sideways": "goes sideways", "up": "goes up"}
    told += [f"nothing {does[way]} by hand" for way in _left_out(ways, rows)]
    return "; ".join(told) or "perspective"


def _left_out(ways: set[str], rows: Floats) -> list[str]:
    """The ways of the digital move that nothing goes by hand."""
    done = {"sideways": {"sideways", "pan"}, "up": {"up", "tilt"}}
    columns = {"in": 2, "roll": 3, "sideways": 0, "up": 1}
    return [
        way for way, column in columns.items()
        if np.ptp(rows[:, column]) > 0 and not ways & done.get(way, {way})
    ]  # fmt: skip


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
