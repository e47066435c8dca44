"""Were the stills photographed and saved alike? As far as their files tell, without a pixel."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator, Mapping, Sequence
from math import log2

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, and_more, frames_text, runs_of
from cropmove.stills.header import ColourTags, Exposure, Header

__all__ = ["EXPOSURE_DIFFERS", "PROFILE_DIFFERS"]

_PRACTICE = "common practice, no source"
_SHOWN = 3
"""Stills whose numbers are told in the text; all of them are under the figures."""
_FLOATS = 32
"""The depth of stills in linear light."""


def _odd_ones(values: Sequence[Hashable]) -> tuple[Hashable, list[int]]:
    """The usual value and the stills, from 1, that have another."""
    usual = Counter(values).most_common(1)[0][0]
    return usual, [number for number, value in enumerate(values, start=1) if value != usual]


def _profile(facts: Facts) -> Iterator[Finding]:
    if len(facts.headers) < 2:
        return
    usual, odd = _odd_ones([_colour(header) for header in facts.headers])
    if not odd:
        return
    yield Finding(
        id="profile-differs",
        level=Level.CAUTION,
        frames=runs_of(facts.frames_of_stills(odd)),
        measured=len(odd),
        limit=0,
        unit="stills",
        what=f"{facts.stills_named(odd)} {'has' if len(odd) == 1 else 'have'} another colour "
        "profile than most",
        remedy=f"save {frames_text(runs_of(odd), 'still')} anew "
        + _with_the_colour_of(facts, _first_like(facts, usual)),
        figures={"stills": odd, "like": _first_like(facts, usual) + 1},
    )


def _with_the_colour_of(facts: Facts, place: int) -> str:
    """What the file of a still, by its place from 0, has that the others ought to have."""
    header, name = facts.headers[place], facts.shot.stills.refs[place].name
    if header.profile or header.converted_from:
        return f"with the profile of {name}"
    if header.tags != ColourTags():
        return f"without a profile, with the colour tags of {name}"
    space = "in linear light" if header.depth == _FLOATS else "turned to sRGB"
    return f"{space} and without a profile, as {name} is"


def _colour(header: Header) -> Hashable:
    return header.profile or b"", header.converted_from or b"", header.tags


def _first_like(facts: Facts, usual: Hashable) -> int:
    return [_colour(header) for header in facts.headers].index(usual)


def _exposure(facts: Facts) -> Iterator[Finding]:
    told = {n: h.captured for n, h in enumerate(facts.headers, start=1) if h.captured != Exposure()}
    if len(told) < 2:
        return
    usual = Counter(told.values()).most_common(1)[0][0]
    odd = [number for number, exposure in told.items() if exposure != usual]
    if not odd:
        return
    stops = {number: _stops(told[number], usual) for number in odd}
    known = [abs(value) for value in stops.values() if value is not None]
    worst = max(odd, key=lambda number: abs(stops[number] or 0))
    multiply = {n: round(2**-s, 5) for n, s in stops.items() if s is not None}
    yield Finding(
        id="exposure-differs",
        level=Level.CAUTION,
        frames=runs_of(facts.frames_of_stills(odd)),
        measured=max(known) if known else None,
        limit=0.0,
        unit="stops",
        what=f"{frames_text(runs_of(odd), 'still')}: {_settings(told[worst])} on "
        f"{facts.shot.stills.refs[worst - 1].name}, most are {_settings(usual)}"
        + _by(stops[worst]),
        remedy=f"photograph {facts.stills_named(odd)} anew at {_settings(usual)}, with "
        "the camera on manual" + (_evened(facts, multiply) if len(multiply) == len(odd) else ""),
        figures={
            "stills": odd,
            "stops": {str(n): s for n, s in stops.items()},
            "multiply": {str(n): factor for n, factor in multiply.items()},
        },
    )


def _stops(exposure: Exposure, usual: Exposure) -> float | None:
    """How much more light than usual, in stops: exposure time × sensitivity ÷ f-number²."""
    amounts = []
    for each in (exposure, usual):
        if not (each.time and each.f_number and each.iso):
            return None
        amounts.append(float(each.time) * each.iso / each.f_number**2)
    return log2(amounts[0] / amounts[1])


def _settings(exposure: Exposure) -> str:
    parts = []
    if exposure.time:
        parts.append(f"{exposure.time} s" if exposure.time < 1 else f"{float(exposure.time):g} s")
    if exposure.f_number:
        parts.append(f"f/{exposure.f_number:g}")
    if exposure.iso:
        parts.append(f"ISO {exposure.iso}")
    return " ".join(parts)


def _by(stops: float | None) -> str:
    return f" ({stops:+.2f} stops)" if stops else ""


def _evened(facts: Facts, multiply: Mapping[int, float]) -> str:
    """By what to multiply the light of which stills, where it differs from the others'."""
    differing = {number: factor for number, factor in multiply.items() if factor != 1}
    if not differing:
        return ""
    if len(set(differing.values())) == 1 and len(differing) == len(multiply):
        whose = "its" if len(differing) == 1 else "their"
        told = f"{whose} light by {min(differing.values()):.3f}"
    else:
        each = [f"{facts.stills_named([n])} by {f:.3f}" for n, f in differing.items()]
        told = f"the light of {', '.join(each[:_SHOWN])}{and_more(len(each), _SHOWN, 'stills')}"
    return f"; or multiply {told}: this is told all the same then, from what the files say"


PROFILE_DIFFERS = Check(
    id="profile-differs",
    title="the stills' colour profiles differ",
    level=Level.CAUTION,
    reason="Stills that went through other hands come back in other colours.",
    source=_PRACTICE,
    find=_profile,
)
EXPOSURE_DIFFERS = Check(
    id="exposure-differs",
    title="the stills were exposed differently",
    level=Level.CAUTION,
    reason="A camera left on automatic changes exposure by itself: the picture flickers.",
    source=f"{_PRACTICE}; the settings as EXIF tells them (CIPA DC-008, 4.6.5)",
    find=_exposure,
)
