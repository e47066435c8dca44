"""Is the camera too fast to be followed? Judged at the corners, which move furthest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from cropmove.checks.facts import Check, Facts, LegFacts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.checks.retime import steps_of
from cropmove.checks.slower import slower
from cropmove.checks.strong_edges import Edge, Search, View, Way
from cropmove.checks.too_fast import calm_step, is_zip, strobing_step, zip_step
from cropmove.geometry import Floats, first_highest

__all__ = [
    "PACE",
    "STROBING",
    "ZIP_PAN",
    "strong_edges_to_seek",
]


def _fastest(moves: Floats) -> float:
    return float(steps_of(moves).max())


def _fastest_sideways(moves: Floats) -> float:
    return float(np.abs(moves[..., 0]).max())


def _fastest_up_down(moves: Floats) -> float:
    return float(np.abs(moves[..., 1]).max())


def strong_edges_to_seek(facts: Facts) -> Search:
    """The frames whose stills have to be looked at for edges that strobe, and for which edges."""
    course, most = facts.course, strobing_step(facts)
    views: dict[int, tuple[View, ...]] = {}
    for leg in facts.legs:
        if is_zip(facts, leg):
            continue
        for frame, sideways, up_down in zip(leg.frames, leg.sideways, leg.up_down, strict=True):
            fast: dict[Way, bool] = {"upright": sideways > most, "level": up_down > most}
            ways = tuple(way for way, is_fast in fast.items() if is_fast)
            if ways:
                still = int(course.still[frame - 1])
                x, y, width, roll = (float(value) for value in course.rows[frame - 1])
                view = View(int(frame), (x, y, width, roll), ways)
                views[still] = (*views.get(still, ()), view)
    return Search(
        views=views,
        shape=course.delivery.shape,
        within=most,
        contrast=facts.limits.strong_contrast,
        length=facts.limits.strong_length / 100,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Strobe:
    """Where a leg strobes: the frames, the worst of them and its step; and the edge, if seen."""

    way: str
    frames: tuple[int, ...]
    worst: int
    step: float
    edge: Edge | None = None
    edges: int = 0


def _strobes(facts: Facts, leg: LegFacts) -> tuple[_Strobe, ...]:
    most = strobing_step(facts)
    if facts.looks is not None:
        found = (_strobe_seen(facts, leg, way, most) for way in ("upright", "level"))
        return tuple(strobe for strobe in found if strobe)
    if leg.sideways.max() <= most:
        return ()
    worst = first_highest(leg.sideways)
    frames = tuple(int(frame) for frame in leg.frames[leg.sideways > most])
    step = float(leg.sideways[worst])
    return (_Strobe(way="upright", frames=frames, worst=int(leg.frames[worst]), step=step),)


def _strobe_seen(facts: Facts, leg: LegFacts, way: str, most: float) -> _Strobe | None:
    rows, seen = facts.course.rows, facts.looks.edges if facts.looks else {}
    too_fast = [
        (edge.contrast * edge.length * step, frame, step, edge)
        for frame in leg.frames.tolist()
        for edge in seen.get(frame, ())
        if edge.way == way and (step := edge.step(rows[frame - 2], rows[frame - 1])) > most
    ]
    if not too_fast:
        return None
    _, worst, step, edge = max(too_fast, key=lambda each: each[:2])
    frames = [frame for _, frame, _, _ in too_fast]
    return _Strobe(
        way=way,
        frames=tuple(sorted(set(frames))),
        worst=worst,
        step=step,
        edge=edge,
        edges=frames.count(worst),
    )


def _pace(facts: Facts) -> Iterator[Finding]:
    calm = calm_step(facts)
    for leg in facts.legs:
        if leg.peak <= calm * (1 + 1e-9) or is_zip(facts, leg) or _strobes(facts, leg):
            continue
        way_out = slower(facts, leg, _fastest, calm)
        crossing = 1 / leg.peak / float(facts.shot.fps)
        asked = 1 / calm / float(facts.shot.fps)
        yield Finding(
            id="pace",
            level=Level.NOTE,
            frames=runs_of(leg.frames[leg.steps > calm]),
            measured=leg.peak * 100,
            limit=calm * 100,
            unit="% of the frame's width a frame",
            what=f"at frame {leg.fastest_frame} a detail would cross the frame in "
            f"{crossing:.3g} s; {asked:.3g} s is calm",
            remedy=way_out.text,
            figures={"worst_frame": leg.fastest_frame, "crossing_seconds": crossing}
            | way_out.figures(leg),
        )


def _strobing(facts: Facts) -> Iterator[Finding]:
    most = strobing_step(facts)
    for leg in facts.legs:
        if is_zip(facts, leg):
            continue
        for strobe in _strobes(facts, leg):
            across = _fastest_sideways if strobe.way == "upright" else _fastest_up_down
            where = _where(facts, strobe)
            way_out = slower(facts, leg, across, most)
            yield Finding(
                id="strobing",
                level=Level.CAUTION,
                frames=runs_of(strobe.frames),
                measured=strobe.step * 100,
                limit=most * 100,
                unit="% of the frame's width a frame",
                what=_what_strobes(strobe, where, most),
                remedy=way_out.text,
                figures={"worst_frame": strobe.worst} | way_out.figures(leg) | where,
            )


def _what_strobes(strobe: _Strobe, where: dict[str, Any], most: float) -> str:
    step, limit = f"{strobe.step * 100:.3g} %", f"{most * 100:.3g} %"
    if strobe.edge is None:
        return (
            f"a corner goes sideways by {step} of the width at frame {strobe.worst}: "
            f"from {limit} on a strong upright edge is seen twice"
        )
    edge = strobe.edge
    x, y = (f"{low}-{high}" if high > low else f"{low}" for low, high in where["spans"])
    others = f" and {strobe.edges - 1} more" if strobe.edges > 1 else ""
    goes = "goes sideways" if edge.way == "upright" else "goes up or down"
    return (
        f"at frame {strobe.worst} a strong {edge.way} edge (still {where['still']}, "
        f"columns {x}, rows {y}: {edge.length * 100:.0f} % of the frame's height long, "
        f"{edge.contrast:.0f} of lightness){others} {goes} by {step} of the width: from {limit} "
        "on it is seen twice"
    )


def _where(facts: Facts, strobe: _Strobe) -> dict[str, Any]:
    """The edge in whole pixels of the still, as plain values; nothing where none was looked for."""
    if strobe.edge is None:
        return {}
    course = facts.course
    ends = strobe.edge.on_still(course.rows[strobe.worst - 1])
    spans = [[round(float(low)), round(float(high))] for low, high in np.sort(ends, axis=0).T]
    return {
        "way": strobe.way,
        "still": int(course.still[strobe.worst - 1]),
        "ends": ends.round(1).tolist(),
        "spans": spans,
        "contrast": strobe.edge.contrast,
        "length": strobe.edge.length * 100,
        "edges": strobe.edges,
    }


def _zip(facts: Facts) -> Iterator[Finding]:
    most = zip_step(facts)
    for leg in facts.legs:
        if not is_zip(facts, leg):
            continue
        way_out = slower(facts, leg, _fastest, min(calm_step(facts), most))
        yield Finding(
            id="zip-pan",
            level=Level.NOTE,
            frames=runs_of(leg.frames[leg.steps >= most]),
            measured=leg.peak * 100,
            limit=most * 100,
            unit="% of the frame's width a frame",
            what=f"at {leg.peak * 100:.3g} % of the width a frame this reads as a zip pan: "
            "nothing in it can be followed",
            remedy=f"none if it is meant; to be followed calmly, {way_out.text}",
            figures={"worst_frame": leg.fastest_frame} | way_out.figures(leg),
        )


PACE = Check(
    id="pace",
    title="the move is faster than is calm to watch",
    level=Level.NOTE,
    reason="Faster than this, details begin to jump from frame to frame. A step strobes, whatever "
    "the rate: at 24 frames a second and a shutter of 180 degrees a detail should take seven "
    "seconds to cross the frame, at another rate as many frames. More blur allows more. "
    "The corner that moves most is judged. A leg that strobes or reads as a zip pan is told as "
    "that alone. Two keys a frame apart are a cut, which no check of the pace judges; keys on four "
    "frames or more in a row are a move.",
    source="cinematographers' tradition: the seven-second rule",
    find=_pace,
    limits=("crossing", "shutter"),
)
STROBING = Check(
    id="strobing",
    title="strong edges strobe",
    level=Level.CAUTION,
    reason="An upright edge that jumps sideways by this much is seen in two places at a time. "
    "Without the stills' pixels such an edge is supposed. With them the fast frames are "
    "searched for it: an edge across the way of the camera, upright where it goes sideways, level "
    "where it goes up or down, strong, sharp and long; where there is none, nothing is told.",
    source="drawn-animation handbooks: 0.1 in a frame, taken on a field 12 in wide; that sharp "
    "detail across the way asks for more frames the faster it goes: Watson & Ahumada, NASA "
    "Technical Memorandum 84352, 1983; how strong and how long: common practice, no source",
    find=_strobing,
    limits=("strobing", "shutter", "strong_contrast", "strong_length"),
)
ZIP_PAN = Check(
    id="zip-pan",
    title="the move reads as a zip pan",
    level=Level.NOTE,
    reason="A move this fast is seen as a streak from one place to the other. That can be meant.",
    source="drawn-animation handbooks: 0.25 in a frame; taken on a field 12 in wide",
    find=_zip,
    limits=("zip_pan",),
)
