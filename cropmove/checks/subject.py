"""Is the subject where it can be seen, with room in front of it?"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.edges import stays_inside
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, runs_of
from cropmove.geometry import Floats, turn
from cropmove.move.framing import FARTHEST
from cropmove.move.subject import Subject
from cropmove.shot import Shot

__all__ = [
    "LEAD_ROOM",
    "LEAVES_ACTION_SAFE",
    "LEAVES_FRAME",
    "LEAVES_TITLE_SAFE",
    "TOO_TIGHT",
]

_SLACK = 1e-9
_SAFE = "SMPTE ST 2046-1:2009; EBU R 95"
_EDGES = ("left", "right", "top", "bottom")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Seen:
    """A subject in the frame: shares of its width and height from its centre, ±0.5 the edges."""

    subject: Subject
    low: Floats
    high: Floats

    @property
    def beyond(self) -> Floats:
        """How far it reaches from the centre towards left, right, top and bottom: (n, 4)."""
        return np.stack(
            [-self.low[:, 0], self.high[:, 0], -self.low[:, 1], self.high[:, 1]], axis=1
        )

    @property
    def needs(self) -> Floats:
        """The share of the frame that a box of its size takes, wherever it stands."""
        return np.asarray((self.high - self.low).max(axis=1))


def _seen(facts: Facts) -> Iterator[_Seen]:
    for subject in facts.shot.subjects:
        yield _seen_one(facts, subject)


def _seen_one(facts: Facts, subject: Subject) -> _Seen:
    boxes = facts.boxes_in_frame(subject)
    return _Seen(subject=subject, low=boxes.min(axis=1), high=boxes.max(axis=1))


def _areas(facts: Facts) -> tuple[tuple[str, float], ...]:
    """From the outermost in: a name and the share of the frame."""
    action, title = facts.limits.action_safe, facts.limits.title_safe
    return ("frame", 1.0), ("action", action / 100), ("title", title / 100)


def _leaving(
    facts: Facts, seen: _Seen, number: int
) -> tuple[NDArray[np.bool_], Floats, float] | None:
    """The frames in which it leaves an area but none that is further out, and by how much."""
    share = _areas(facts)[number][1]
    beyond = seen.beyond - share / 2
    out = (beyond > _SLACK).any(axis=1) & (seen.needs <= share + _SLACK)
    for _, outer in _areas(facts)[:number]:
        out &= ~(seen.beyond - outer / 2 > _SLACK).any(axis=1)
    return (out, beyond, share) if out.any() else None


def _leaves(facts: Facts, number: int) -> Iterator[Finding]:
    name = _areas(facts)[number][0]
    area = "frame" if name == "frame" else f"{name}-safe area"
    for seen in _seen(facts):
        left = _leaving(facts, seen, number)
        if left is None:
            continue
        out, beyond, share = left
        shown = np.where(out[:, None], beyond, -1)
        worst, edge = (int(v) for v in np.unravel_index(np.argmax(shown), shown.shape))
        side = facts.course.delivery.width if edge < 2 else facts.course.delivery.height
        by = float(beyond[worst, edge]) * side
        text, figures = _remedy(facts, seen, share, worst)
        yield Finding(
            id=f"subject-leaves-{name}" + ("" if name == "frame" else "-safe"),
            level=Level.CAUTION if name == "frame" else Level.NOTE,
            frames=runs_of(facts.course.frame[out]),
            measured=by,
            limit=0.0,
            unit="delivered pixels",
            what=f"{_named(seen.subject)} leaves the {area} ({share * 100:g} %) at the "
            f"{_EDGES[edge]} by {by:.3g} px of the frame at frame {worst + 1}",
            remedy=text,
            figures={"subject": seen.subject.name, "worst_frame": worst + 1, "edge": _EDGES[edge]}
            | figures,
        )


def _named(subject: Subject) -> str:
    return "the subject" if subject.name == "subject" else f"the subject {subject.name}"


def _remedy(facts: Facts, seen: _Seen, share: float, worst: int) -> tuple[str, dict[str, object]]:
    """All framings moved alike, or widened alike, so that it stays inside the area throughout.

    What would take a framing out of the still is not advised. Where that leaves nothing, the
    camera has to follow.
    """
    shift = _shift(facts, seen, share)
    wider = _wider(facts, seen.subject, lambda one: float(one.beyond.max()) / (share / 2))
    choices = []
    if shift and stays_inside(facts, _moved(facts.shot, shift)):
        choices.append(f"move every key's centre by [{shift[0]:g}, {shift[1]:g}] px of the still")
    if _may_be_widened(facts.shot, wider) and stays_inside(facts, _widened(facts.shot, wider)):
        widths = ", ".join(f"{key.framing.width * wider:.5g}" for key in facts.shot.keys[:4])
        more = ", …" if len(facts.shot.keys) > 4 else ""
        choices.append(f"make every framing {wider:g} times as wide ({widths}{more} px)")
    text = ", or ".join(choices) or _followed(facts, seen, share, worst)
    return text, {"shift": shift, "wider": wider}


def _followed(facts: Facts, seen: _Seen, share: float, at: int) -> str:
    """Where the camera would look in one frame to have the subject in the area."""
    course, still = facts.course, facts.shot.stills.size
    side = np.array([course.width[at], course.height[at]])
    if not course.roll[at]:
        least, most = (seen.high[at] - share / 2) * side, (seen.low[at] + share / 2) * side
        inner = np.clip(0.0, least, most)
        # Rounded away from where it was, to whole pixels.
        x, y = (float(v) for v in course.rows[at, :2] + np.sign(inner) * np.ceil(np.abs(inner)))
        low, high = np.array([x, y]) - side / 2, np.array([x, y]) + side / 2
        if still is None or ((low >= 0).all() and (high <= [still.width, still.height]).all()):
            return f"let the camera follow it: to centre [{x:.6g}, {y:.6g}] at frame {at + 1}"
    return (
        f"let the camera follow it, in a narrower framing about frame {at + 1}, or photograph "
        "more around it: the still ends there"
    )


def _wider(facts: Facts, subject: Subject, lacks: Callable[[_Seen], float]) -> float:
    """How many times as wide every framing must be so that nothing lacks.

    Parameters
    ----------
    lacks : callable
        How many times as wide it would have to be, of the subject as it is seen.

    Notes
    -----
    Between two keys widening all framings alike keeps their way. Through more, what the screen
    shows sets the pace, and that changes a little: so it is tried.
    """
    times = 1.0
    for _ in range(20):
        if not _may_be_widened(facts.shot, times):
            break
        now = facts if times == 1.0 else Facts(_widened(facts.shot, times))
        more = lacks(_seen_one(now, subject))
        if times > 1.0 and more <= 1.0:
            break
        times = float(np.ceil(times * max(more, 1.0) * 1000 + 1e-6) / 1000)
    return times


def _moved(shot: Shot, by: Sequence[float]) -> Shot:
    x, y = by
    return replace(
        shot,
        keys=tuple(
            replace(key, framing=replace(key.framing, x=key.framing.x + x, y=key.framing.y + y))
            for key in shot.keys
        ),
    )


def _may_be_widened(shot: Shot, times: float) -> bool:
    return max(key.framing.width for key in shot.keys) * times <= FARTHEST


def _widened(shot: Shot, times: float) -> Shot:
    return replace(
        shot,
        keys=tuple(
            replace(key, framing=replace(key.framing, width=key.framing.width * times))
            for key in shot.keys
        ),
    )


def _shift(facts: Facts, seen: _Seen, share: float) -> list[float] | None:
    """The smallest shift of all centres, in still pixels; None where none will do.

    The way between keys is linear in the centres, so a shift of all keys is one of all framings.
    A rolled frame's own axes are not the still's: there framings are only widened.
    """
    course = facts.course
    if np.abs(course.roll).max() > 0:
        return None
    sides = np.stack([course.width, course.height], axis=1)
    least = ((seen.high - share / 2) * sides).max(axis=0)
    most = ((seen.low + share / 2) * sides).min(axis=0)
    if (least > most).any():
        return None
    inner = np.clip(0.0, least, most)
    # Rounded inward, to hundredths of a pixel.
    shift = np.where(inner > 0, np.ceil(inner * 100) / 100, np.floor(inner * 100) / 100)
    return [float(v) for v in np.clip(shift, least, most)]


def _too_tight(facts: Facts) -> Iterator[Finding]:
    share = facts.limits.action_safe / 100
    for seen in _seen(facts):
        tight = seen.needs > share + _SLACK
        if not tight.any():
            continue
        worst = int(np.argmax(seen.needs))
        wider = _wider(facts, seen.subject, lambda one: float(one.needs.max()) / share)
        now = float(facts.course.width[worst])
        least = int(np.ceil(now * wider))
        yield Finding(
            id="too-tight",
            level=Level.CAUTION,
            frames=runs_of(facts.course.frame[tight]),
            measured=now,
            limit=float(least),
            unit="pixels of the still",
            what=f"a framing {now:.5g} px wide at frame {worst + 1} is too tight for "
            f"{_named(seen.subject)}: it fills {seen.needs.max() * 100:.3g} % of the frame, "
            f"{share * 100:g} % is action safe",
            remedy=f"a framing {least} px wide at least at frame {worst + 1}: {wider:g} times as "
            "wide throughout would do",
            figures={
                "subject": seen.subject.name,
                "worst_frame": worst + 1,
                "wider": wider,
                "width": least,
            },
        )


def _lead_room(facts: Facts) -> Iterator[Finding]:
    for seen in _seen(facts):
        for axis in (0, 1):
            for sign in (1, -1):
                yield from _no_lead(facts, seen, axis, sign)


def _no_lead(facts: Facts, seen: _Seen, axis: int, sign: int) -> Iterator[Finding]:
    """Room in front of a subject that goes right or left (axis 0), down or up (axis 1)."""
    course, limit = facts.course, facts.limits.lead_room / 100
    front = 0.5 - (seen.high if sign > 0 else -seen.low)[:, axis]
    goes = _travelling(facts, seen.subject, axis, sign)
    # In front of a subject that leaves there is nothing to lose.
    short = goes & (front < limit - _SLACK) & (front > 0)
    if not short.any():
        return
    room = np.where(short, front, np.inf)
    worst = int(np.argmin(room))
    way = ("right", "down")[axis] if sign > 0 else ("left", "up")[axis]
    side = course.width if axis == 0 else course.height
    # Along the still's axis a rolled frame sees less of the shift: of a quarter turn, nothing.
    seen_of_it = np.maximum(np.cos(np.deg2rad(course.roll[short])), 0.5)
    lacks = (limit - room[short]) * side[short] / seen_of_it
    along = float(np.ceil(lacks.max() * 100) / 100) * sign
    shift = [along, 0.0] if axis == 0 else [0.0, along]
    yield Finding(
        id="lead-room",
        level=Level.NOTE,
        frames=runs_of(course.frame[short]),
        measured=float(room[worst]) * 100,
        limit=facts.limits.lead_room,
        unit="% of the frame",
        what=f"{_named(seen.subject)} goes {way} with {room[worst] * 100:.3g} % of the frame in "
        f"front of it at frame {worst + 1}",
        remedy=_with_lead(facts, shift, way, worst),
        figures={
            "subject": seen.subject.name,
            "worst_frame": worst + 1,
            "way": way,
            "shift": shift,
        },
    )


def _with_lead(facts: Facts, shift: Sequence[float], way: str, worst: int) -> str:
    by = f"[{shift[0]:g}, {shift[1]:g}] px of the still"
    moved = _moved(facts.shot, shift)
    if stays_inside(facts, moved) and _leave(Facts(moved)) <= _leave(facts):
        return f"move every key's centre by {by}, or only those about frame {worst + 1}"
    still, course = facts.shot.stills.size, facts.course
    low, high = (edge(course.corners()[worst], axis=0) + shift for edge in (np.min, np.max))
    if still is None or ((low >= 0).all() and (high <= [still.width, still.height]).all()):
        return f"move the centre of the keys about frame {worst + 1} by {by}"
    beyond = {"right": "to its right", "left": "to its left", "down": "below it", "up": "above it"}
    return (
        f"make the framings about frame {worst + 1} narrower and move them {way}, or photograph "
        f"more {beyond[way]}: the still ends there"
    )


def _leave(facts: Facts) -> int:
    """How many subjects leave the frame."""
    return len([*_leaves(facts, 0)])


def _travelling(facts: Facts, subject: Subject, axis: int, sign: int) -> NDArray[np.bool_]:
    """Frames in which it goes over the set mainly that way, as the frame's axes lie."""
    course = facts.course
    around = np.arange(1.0, len(course) + 1)
    on = facts.shot.on
    gone = subject.at(around + on)[:, :2] - subject.at(around)[:, :2]
    seen = turn(gone, -course.roll) / course.width[:, None] / on * float(facts.shot.fps)
    along = seen[:, axis] * sign
    fast = along * 100 >= facts.limits.travelling
    return np.asarray(fast & (along > np.abs(seen[:, 1 - axis]) * (1 + 1e-9)))


LEAVES_FRAME = Check(
    id="subject-leaves-frame",
    title="the subject leaves the frame",
    level=Level.CAUTION,
    reason="What the camera was to keep in frame is cut off by its edge.",
    source="common practice, no source",
    find=lambda facts: _leaves(facts, 0),
)
LEAVES_ACTION_SAFE = Check(
    id="subject-leaves-action-safe",
    title="the subject leaves the action-safe area",
    level=Level.NOTE,
    reason="Screens and their frames hide the edge of a picture: action there may not be seen.",
    source=_SAFE,
    find=lambda facts: _leaves(facts, 1),
    limits=("action_safe",),
)
LEAVES_TITLE_SAFE = Check(
    id="subject-leaves-title-safe",
    title="the subject leaves the title-safe area",
    level=Level.NOTE,
    reason="What must be read, or read at a glance, should keep clear of the edges.",
    source=_SAFE,
    find=lambda facts: _leaves(facts, 2),
    limits=("title_safe",),
)
TOO_TIGHT = Check(
    id="too-tight",
    title="the framing is too tight for the subject",
    level=Level.CAUTION,
    reason="A subject larger than the action-safe area cannot be kept inside it, wherever the "
    "camera looks.",
    source=_SAFE,
    find=_too_tight,
    limits=("action_safe",),
)
LEAD_ROOM = Check(
    id="lead-room",
    title="a travelling subject has no room in front of it",
    level=Level.NOTE,
    reason="A subject that travels close behind the frame's edge seems about to run into it.",
    source="common practice, no source",
    find=_lead_room,
    limits=("lead_room", "travelling"),
)
