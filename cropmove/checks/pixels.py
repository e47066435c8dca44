"""What only the pixels tell: a still used twice, flicker, a bump. Asked where somebody looked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.ending import ended_without
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, and_more, it_or_them, runs_of
from cropmove.checks.moved import as_moved_by_hand
from cropmove.geometry import Floats
from cropmove.stills.find import missing_numbers
from cropmove.units import listed

__all__ = ["BUMP", "FLICKER", "STILL_AGAIN", "light_of_what_stands"]

_PRACTICE = "common practice, no source"
_DARK = 0.01
"""Light, 1 for white, below which a tile is noise; share of the usual: less is a black still."""


def _again(facts: Facts) -> Iterator[Finding]:
    if facts.looks is None:
        return
    places: dict[str, list[int]] = {}
    for number, mark in enumerate(facts.looks.marks, start=1):
        places.setdefault(mark, []).append(number)
    twice = [runs_of(numbers) for numbers in places.values() if len(runs_of(numbers)) > 1]
    if not twice:
        return
    refs = facts.shot.stills.refs
    again = sorted(n for runs in twice for a, b in runs[1:] for n in range(a, b + 1))
    first, second = twice[0][0][0], twice[0][1][0]
    it = it_or_them(again)
    out = [f"take {it} out", *_numbered_anew(facts, again), ended_without(facts, len(again))]
    yield Finding(
        id="still-again",
        level=Level.CAUTION,
        frames=runs_of(facts.frames_of_stills(again)),
        measured=len(again),
        limit=0,
        unit="stills",
        what=f"still {second} ({refs[second - 1].name}) is the same picture as still {first} "
        f"({refs[first - 1].name})" + (f"; {len(again) - 1} more come again" if again[1:] else ""),
        remedy=f"photograph {facts.stills_named(again)} anew, or {listed([*filter(None, out)])}; "
        f"leave {it} if the action is meant to come again",
        figures={"stills": again, "same": [[list(run) for run in runs] for runs in twice]},
    )


def _numbered_anew(facts: Facts, out: Sequence[int]) -> Iterator[str]:
    """What becomes of the others' numbers, where those taken out would be missed among them."""
    refs = facts.shot.stills.refs
    left = [ref for number, ref in enumerate(refs, start=1) if number not in out]
    if set(missing_numbers(left)) - set(missing_numbers(refs)) and not left[0].in_movie:
        yield "number the others anew"


def light_of_what_stands(light: Floats) -> Floats:
    """The light of each still against the usual one, where nothing moves.

    Parameters
    ----------
    light : (n, rows, columns) array
        Mean linear light of tiles.

    Returns
    -------
    (n,) array
        1 for the usual light. What moves is found by itself: tiles whose light, evened out over
        the stills, changes more than in the steadier half of the picture do not count.

    Examples
    --------
    >>> light = np.full((5, 4, 4), 0.5)
    >>> light[2] *= 1.1
    >>> light_of_what_stands(light).round(3).tolist()
    [1.0, 1.0, 1.1, 1.0, 1.0]
    """
    tiles = light.reshape(len(light), -1)
    usual = np.median(tiles, axis=0)
    told = usual > _DARK
    if not told.any():
        return np.ones(len(light))
    share = tiles[:, told] / usual[told]
    level = np.median(share, axis=1)
    lit = level >= _DARK  # a black still does not tell what moves
    evened = share[lit] / level[lit, None]
    restless = np.abs(evened - 1).max(axis=0, initial=0)
    stands = restless <= np.median(restless)
    return np.asarray(np.median(share[:, stands], axis=1))


def _flicker(facts: Facts) -> Iterator[Finding]:
    if facts.looks is None or len(facts.looks.light) < 2:
        return
    # In a still of another size, or on its side, other things stand in each place.
    alike = [n for n, h in enumerate(facts.headers, start=1) if h.size == facts.usual_size]
    numbers, most = np.array(alike), facts.limits.flicker / 100
    light = light_of_what_stands(facts.looks.light[numbers - 1])
    dark = light < _DARK
    if dark.any():
        yield _black(facts, numbers[dark].tolist(), float(light.min()))
    numbers, light = numbers[~dark], light[~dark]
    change = np.abs(light[1:] / light[:-1] - 1)
    if not (change > most).any():
        return
    after = numbers[1:][change > most]
    before, worst = (int(n) for n in numbers[int(np.argmax(change)) :][:2])
    factors = {int(numbers[n]): factor for n, factor in _evening(light, most).items()}
    shown = sorted(factors, key=lambda n: -abs(np.log(factors[n])))[:3]
    told = ", ".join(f"{facts.stills_named([n])} by {factors[n]:.4g}" for n in sorted(shown))
    more = and_more(len(factors), 3, "stills")
    yield Finding(
        id="flicker",
        level=Level.CAUTION,
        frames=runs_of(facts.frames_of_stills(after.tolist())),
        measured=float(change.max()) * 100,
        limit=facts.limits.flicker,
        unit="% of the light",
        what=f"where nothing moves the light changes by {change.max() * 100:.2g} % from still "
        f"{before} to {facts.stills_named([worst])}"
        + (f", and at {len(after) - 1} more" if len(after) > 1 else ""),
        remedy=f"multiply the light of {told}{more}",
        figures={"worst_still": worst, "multiply": {str(n): f for n, f in factors.items()}},
    )


def _black(facts: Facts, stills: list[int], least: float) -> Finding:
    """Stills without light: no factor brings it back, and they are left out of what flickers."""
    has, it = "has" if len(stills) == 1 else "have", it_or_them(stills)
    return Finding(
        id="flicker",
        level=Level.CAUTION,
        frames=runs_of(facts.frames_of_stills(stills)),
        measured=(1 - least) * 100,
        limit=facts.limits.flicker,
        unit="% of the light",
        what=f"{facts.stills_named(stills)} {has} next to no light",
        remedy=f"photograph {it} anew; leave {it} if the light is meant to go out",
        figures={"worst_still": stills[0], "multiply": {}},
    )


def _evening(light: Floats, most: float) -> dict[int, float]:
    """What to multiply the light of which stills by, from 0, so that no change is above `most`.

    Stills are evened out to the light around them, so that a sunset stays one; where that is not
    enough, those that stand out to what lies between the rest, and at the last all to the usual
    light.
    """
    around = np.array([np.median(light[max(0, n - 2) : n + 3]) for n in range(len(light))])
    off_by = np.abs(light / around - 1)
    places = np.arange(len(light))
    tried = [(around, off_by > most / 4)]
    for share in (1, 2, 4):
        rest = off_by <= most / share
        if rest.any():
            between = np.exp(np.interp(places, places[rest], np.log(light[rest])))
            tried.append((between, ~rest))
    usual = np.full(len(light), np.median(light))
    for target, off in (*tried, (usual, np.abs(light / usual - 1) > most / 4)):
        evened = np.where(off, target, light)
        if (np.abs(evened[1:] / evened[:-1] - 1) <= most).all():
            break
    return {int(n): round(float(target[n] / light[n]), 5) for n in np.flatnonzero(off)}


def _bump(facts: Facts) -> Iterator[Finding]:
    if facts.looks is None or len(facts.looks.shifts) < 3:
        return
    shifts = facts.looks.shifts - as_moved_by_hand(facts, facts.looks.shifts)
    jump = shifts - _usual_shifts(shifts)
    scales = np.array([facts.scale_at(number) for number in range(1, len(shifts) + 1)])
    width = facts.course.delivery.width
    size = np.nan_to_num(np.hypot(jump[:, 0], jump[:, 1]) * scales / width * 100)
    bumps = (np.flatnonzero(size > facts.limits.bump) + 1).tolist()
    while bumps:
        still = bumps.pop(0)
        by = jump[still - 1]
        last = _back_at(jump, still, bumps) or len(shifts)
        if last < len(shifts):
            bumps.remove(last + 1)
        yield _bumped(facts, still, last, by, float(size[still - 1]))


def _usual_shifts(shifts: Floats) -> Floats:
    """How the picture goes about each still, from it and three on either side: a steady move.

    Of an even number the median would be half of a bump, and of one or two the bump itself: there
    a camera is taken to stand.
    """
    usual = np.zeros_like(shifts)
    for n in range(len(shifts)):
        about = shifts[max(0, n - 3) : n + 4]
        known = about[~np.isnan(about).any(axis=1)]
        stands = max(3 - len(known), (1 + len(known)) % 2)
        usual[n] = np.median(np.pad(known, ((0, stands), (0, 0))), axis=0)
    return usual


def _back_at(jump: Floats, still: int, bumps: list[int]) -> int | None:
    """The last still that stands off, where a later bump takes the picture back again."""
    by = jump[still - 1]
    for other in bumps:
        if np.hypot(*(jump[other - 1] + by)) < 0.25 * np.hypot(*by):
            return other - 1
    return None


def _bumped(facts: Facts, still: int, last: int, by: NDArray[np.float64], size: float) -> Finding:
    right, down = (round(float(v), 2) + 0.0 for v in by)
    off = list(range(still, last + 1))
    is_back = last < len(facts.looks.shifts)  # type: ignore[union-attr]
    anew = "photograph from there on anew"
    if is_back:
        anew = f"photograph {it_or_them(off)} anew"
    back = f"[{-right + 0.0:g}, {-down + 0.0:g}]"
    return Finding(
        id="bump",
        level=Level.CAUTION,
        frames=runs_of(facts.frames_of_stills(off)),
        measured=size,
        limit=facts.limits.bump,
        unit="% of the frame's width",
        what=f"the whole picture jumps by [{right:g}, {down:g}] px of the still (right, down) at "
        f"{facts.stills_named([still])}" + (f" and back after still {last}" if is_back else ""),
        remedy=f"shift {facts.stills_named(off)} by {back} px, or {anew}",
        figures={"still": still, "last": last, "shift": [-right + 0.0, -down + 0.0]},
    )


STILL_AGAIN = Check(
    id="still-again",
    title="the same picture comes again",
    level=Level.CAUTION,
    reason="A file copied by mistake makes the action leap back. A still held by its neighbour is "
    "nothing unusual and is not told.",
    source=_PRACTICE,
    find=_again,
    reads_pixels=True,
)
FLICKER = Check(
    id="flicker",
    title="the light flickers",
    level=Level.CAUTION,
    reason="A lamp, daylight or the lens's iris that differs from still to still is seen as "
    "flicker wherever nothing moves.",
    source=_PRACTICE,
    find=_flicker,
    limits=("flicker",),
    reads_pixels=True,
)
BUMP = Check(
    id="bump",
    title="the whole picture jumps",
    level=Level.CAUTION,
    reason="The camera or the table was knocked: from that still on, everything stands elsewhere. "
    "What the shot moves by hand is taken off first.",
    source="phase correlation: Kuglin & Hines 1975; Guizar-Sicairos et al., Optics Letters "
    f"33:156, 2008; how much is seen: {_PRACTICE}",
    find=_bump,
    limits=("bump",),
    reads_pixels=True,
)
