"""Are the stills all there, and alike?"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from cropmove.checks.ending import ended_on, ended_without, shows_worse
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, frames_text, it_or_them, runs_of
from cropmove.stills.find import missing_numbers
from cropmove.stills.natural import running_numbers, strange_names
from cropmove.units import held_text, listed

__all__ = [
    "NOT_PHOTOGRAPHED",
    "NUMBER_MISSING",
    "SPARE_STILLS",
    "STILLS_DIFFER",
    "STRANGE_NAME",
    "TOO_FEW_STILLS",
]

_PRACTICE = "common practice, no source"


def _too_few(facts: Facts) -> Iterator[Finding]:
    shot, course = facts.shot, facts.course
    have, need = len(shot.stills), int(course.still.max())
    if not have or need <= have:
        return
    lacking = course.frame[course.still > have]
    lasts = have * shot.on
    yield Finding(
        id="too-few-stills",
        level=Level.FAULT,
        frames=runs_of(lacking),
        measured=have,
        limit=need,
        unit="stills",
        what=f"{len(course)} frames {held_text(shot.on)} need {need} stills; there are {have}",
        remedy=f"photograph {need - have} more, or {ended_on(facts, lasts, smoothly=False)}",
        figures={"first_frame": int(lacking[0]), "last_frame_with_a_still": lasts},
    )


def _spare(facts: Facts) -> Iterator[Finding]:
    have, shown = len(facts.shot.stills), int(facts.course.still.max())
    if have <= shown or facts.shot.one_still:
        return
    yield Finding(
        id="spare-stills",
        level=Level.NOTE,
        measured=have,
        limit=shown,
        unit="stills",
        what=f"the shot ends on still {shown}; {have - shown} more lie there unused",
        remedy=_to_use_all(facts),
    )


def _to_use_all(facts: Facts) -> str:
    """The length that shows every still, tried: what is cut off now may be what nobody wants."""
    every = len(facts.shot.stills) * facts.shot.on
    for frames, text in ((None, "take frames out of the shot file"), (every, f"frames = {every}")):
        if not shows_worse(facts, replace(facts.shot, frames=frames)):
            return f"none needed; {text} to use them all"
    return (
        f"none needed; with frames = {every} all are used, and what is cut off now has to be mended"
    )


def _missing(facts: Facts) -> Iterator[Finding]:
    gaps = missing_numbers(facts.shot.stills.refs)
    if not gaps:
        return
    runs = runs_of(gaps)
    yield Finding(
        id="number-missing",
        level=Level.CAUTION,
        measured=len(gaps),
        limit=0,
        unit="stills",
        what=f"between the stills {frames_text(runs, 'number')} is not there",
        remedy=f"bring {frames_text(runs, 'number')} back, or number the stills anew if that was "
        "left out on purpose; "
        "those after it are shown earlier than they were meant",
        figures={"numbers": [list(run) for run in runs]},
    )


def _strange(facts: Facts) -> Iterator[Finding]:
    paths = [still.path for still in facts.shot.stills.refs if not still.in_movie]
    odd = [i + 1 for i in strange_names([path.with_suffix("").as_posix() for path in paths])]
    if not odd:
        return
    yield Finding(
        id="strange-name",
        level=Level.CAUTION,
        frames=runs_of(facts.frames_of_stills(odd)),
        measured=len(odd),
        limit=0,
        unit="stills",
        what=f"named otherwise than the rest, as a copy is, or numbered twice: "
        f"{frames_text(runs_of(odd), 'still')}; those after are shown later than without",
        remedy=_renamed(facts, odd),
        figures={"stills": odd},
    )


def _renamed(facts: Facts, odd: Sequence[int]) -> str:
    """A number for what fills a gap among the rest by its own; out of the folder with what is left.

    A still whose number is missing without it is that still, as like as not.
    """
    refs = facts.shot.stills.refs
    rest = [ref for number, ref in enumerate(refs, start=1) if number not in odd]
    numbers = running_numbers([ref.path.stem for ref in rest])
    numbered = [replace(ref, number=n) for ref, n in zip(rest, numbers, strict=True)]
    gaps, meant = set(missing_numbers(numbered)), {}
    for number in odd:
        own = {int(digits) for digits in re.findall(r"\d+", refs[number - 1].path.stem)} & gaps
        if len(own) == 1:
            meant[number] = own.pop()
            gaps.discard(meant[number])
    ways = [
        f"give {facts.stills_named([number])} the number {gap}, which is missing among the rest"
        for number, gap in meant.items()
    ]
    copies = [number for number in odd if number not in meant]
    if copies:
        out = [f"take {facts.stills_named(copies)} out of the folder"]
        out += filter(None, [ended_without(facts, len(copies))])
        ways.append(f"{listed(out)}, or give {it_or_them(copies)} a number among the rest if meant")
    return "; ".join(ways)


def _differ(facts: Facts) -> Iterator[Finding]:
    sizes = [header.size for header in facts.headers]
    if len(set(sizes)) < 2:
        return
    usual = facts.usual_size
    odd = [number for number, size in enumerate(sizes, start=1) if size != usual]
    turned = [number for number in odd if sizes[number - 1] == usual.turned()]
    others = [number for number in odd if number not in turned]
    named = [
        f"{facts.shot.stills.refs[n - 1].name} is {sizes[n - 1]}{' (turned)' * (n in turned)}"
        for n in odd[:3]
    ]
    more = f"; so are {len(odd) - 3} more of another size" if len(odd) > 3 else ""
    remedies = []
    if turned:
        remedies.append(f"turn {facts.stills_named(turned)} upright like the others")
    if others:
        which = facts.stills_named(others)
        remedies.append(f"bring {which} to {usual}, or photograph {it_or_them(others)} anew")
    yield Finding(
        id="stills-differ",
        level=Level.FAULT,
        frames=runs_of(facts.frames_of_stills(odd)),
        measured=len(odd),
        limit=0,
        unit="stills",
        what=f"{', '.join(named)}, most are {usual}{more}",
        remedy="; ".join(remedies),
        figures={"stills": odd, "usual_size": [usual.width, usual.height]},
    )


def _none_yet(facts: Facts) -> Iterator[Finding]:
    if len(facts.shot.stills) or not facts.shot.stills.source:
        return
    yield Finding(
        id="not-photographed",
        level=Level.NOTE,
        what=f"no stills yet at {facts.shot.stills.source}; the move is checked without them",
        remedy=f"photograph {int(facts.course.still.max())} stills",
        measured=0,
        limit=int(facts.course.still.max()),
        unit="stills",
    )


TOO_FEW_STILLS = Check(
    id="too-few-stills",
    title="the frames need more stills than there are",
    level=Level.FAULT,
    reason="A frame without a still cannot be delivered.",
    source=_PRACTICE,
    find=_too_few,
)
STILLS_DIFFER = Check(
    id="stills-differ",
    title="the stills are not all of one size",
    level=Level.FAULT,
    reason="A framing is in pixels of the still: on a still of another size it shows another part.",
    source=_PRACTICE,
    find=_differ,
)
NUMBER_MISSING = Check(
    id="number-missing",
    title="a number is missing among the stills",
    level=Level.CAUTION,
    reason="A still lost on the way makes the action jump and the rest run early.",
    source=_PRACTICE,
    find=_missing,
)
STRANGE_NAME = Check(
    id="strange-name",
    title="a still is named otherwise than the rest",
    level=Level.CAUTION,
    reason="A copy that was left in the folder is a still too: the action stands, then runs late.",
    source=_PRACTICE,
    find=_strange,
)
SPARE_STILLS = Check(
    id="spare-stills",
    title="stills are left over",
    level=Level.NOTE,
    reason="The shot ends before the photographed action does.",
    source=_PRACTICE,
    find=_spare,
)
NOT_PHOTOGRAPHED = Check(
    id="not-photographed",
    title="there are no stills yet",
    level=Level.NOTE,
    reason="A planned shot can be checked, but not rendered.",
    source=_PRACTICE,
    find=_none_yet,
)
