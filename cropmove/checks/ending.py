"""How a shot comes to end sooner, for want of stills: tried before it is told."""

from __future__ import annotations

from dataclasses import replace

from cropmove.checks.ease import comes_worse
from cropmove.checks.edges import OUTSIDE
from cropmove.checks.facts import Facts
from cropmove.checks.retime import in_proportion
from cropmove.checks.scale import ENLARGED
from cropmove.errors import unless_refused
from cropmove.shot import Shot

__all__ = ["ended_on", "ended_without", "shot_sooner", "shows_worse"]


def ended_on(facts: Facts, last: int, *, smoothly: bool = True) -> str:
    """How it ends on a frame: with the whole move, or cut off where that cannot be.

    Parameters
    ----------
    facts : Facts
    last : int
    smoothly : bool
        Whether nothing worse may come of it than there is.
    """
    if shot_sooner(facts, last, smoothly=smoothly) is not None:
        others = ", all keys in proportion" if len(facts.shot.keys) > 2 else ""
        return f"end the move and the shot on frame {last}{others}"
    cut = ", which cuts the move off" if facts.shot.keys[-1].frame > last else ""
    return f"write frames = {last} under [shot]{cut}"


def shot_sooner(facts: Facts, last: int, *, smoothly: bool = True) -> Shot | None:
    """The shot with its whole move in so many frames, likewise; None where that cannot be."""
    shot = facts.shot
    keys = in_proportion(shot.keys, shot.keys[0].frame, last)
    goes_on = shot.frames is None and any(s.frame > last for rig in shot.rigs for s in rig.stops)
    if keys is None or goes_on or shot.keys[-1].frame <= last:
        return None
    frames = None if shot.frames is None else last
    changed = unless_refused(lambda: replace(shot, keys=keys, frames=frames))
    is_fit = changed is not None and not (smoothly and shows_worse(facts, changed))
    return changed if is_fit else None


def shows_worse(facts: Facts, changed: Shot) -> bool:
    """Whether a shot that shows more, or all sooner, has more to mend: what is cut off may."""
    return _stopping(Facts(changed)) > _stopping(facts) or comes_worse(facts, changed)


def _stopping(facts: Facts) -> int:
    """How much there is that may stop a render."""
    have = len(facts.shot.stills)
    lacks = bool(have) and int(facts.course.still.max()) > have
    return lacks + sum(len([*check.find(facts)]) for check in (OUTSIDE, ENLARGED))


def ended_without(facts: Facts, count: int) -> str:
    """How it ends when so many stills are taken out; nothing where the others are enough."""
    shot, left = facts.shot, len(facts.shot.stills) - count
    without = replace(shot, stills=replace(shot.stills, refs=shot.stills.refs[:left]))
    enough = left * shot.on >= without.length
    return "" if left < 2 or enough else ended_on(facts, left * shot.on)
