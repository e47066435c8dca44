"""Is every key reached before the shot ends?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cropmove.checks.ending import shot_sooner, shows_worse
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level

__all__ = ["KEY_UNREACHED"]


def _unreached(facts: Facts) -> Iterator[Finding]:
    keys, length = facts.shot.keys, facts.shot.length
    beyond = [number for number, key in enumerate(keys, start=1) if key.frame > length]
    if not beyond:
        return
    first, last = keys[beyond[0] - 1], keys[-1]
    more = f", nor {len(beyond) - 1} more" if len(beyond) > 1 else ""
    yield Finding(
        id="key-unreached",
        level=Level.NOTE,
        frames=((length, length),),
        measured=last.frame,
        limit=length,
        unit="frames",
        what=f"the shot ends on frame {length}: key {beyond[0]}, on {first.frame}, is never "
        f"reached{more}",
        remedy=f"none if it is meant; to reach all keys, frames = {last.frame}"
        f"{_to_be_mended(facts)}{_sooner(facts)}",
        figures={"keys": beyond, "last_key": last.frame},
    )


def _to_be_mended(facts: Facts) -> str:
    whole = replace(facts.shot, frames=facts.shot.keys[-1].frame)
    return ", and mend what is cut off now" if shows_worse(facts, whole) else ""


def _sooner(facts: Facts) -> str:
    """The other way, where all keys fit into the shot as it is."""
    length = facts.shot.length
    if shot_sooner(facts, length) is None:
        return ""
    return f", or end the move on frame {length}, all keys in proportion"


KEY_UNREACHED = Check(
    id="key-unreached",
    title="the shot ends before its last key",
    level=Level.NOTE,
    reason="A shot that ends on the way cuts the move off, its ease out too: meant, or a number "
    "forgotten.",
    source="common practice, no source",
    find=_unreached,
)
