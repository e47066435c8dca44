"""Whether steps can be read: even, and large enough; and what another shot makes of them."""

from __future__ import annotations

from collections.abc import Iterable

from cropmove.checks.facts import Facts
from cropmove.checks.rig import screen_widths
from cropmove.errors import called
from cropmove.rig.marks import Marks
from cropmove.units import listed

__all__ = ["is_uneven", "jolt_seen", "too_short_then"]


def is_uneven(facts: Facts, marks: Marks) -> bool:
    """Whether a change of step is noticed that nobody meant."""
    seen = jolt_seen(facts, marks)
    noticed = marks.unevenness > facts.limits.just_noticed / 100
    return noticed and (seen is None or seen >= facts.limits.visible_change / 100)


def jolt_seen(facts: Facts, marks: Marks) -> float | None:
    """The worst jolt in frame widths, where the lens tells."""
    per = screen_widths(facts, marks)
    return (
        None if per is None else marks.unevenness * marks.cruise * marks.rig.scale.per_reading * per
    )


def too_short_then(before: Facts, after: Facts, names: Iterable[str]) -> str:
    """What becomes of the steps in another shot, where they become too short to be read."""

    def hard(of: Facts, name: str) -> tuple[bool, bool]:
        marks = of.table[name]
        return len(marks.too_small) > 0, is_uneven(of, marks)

    def becomes_hard(name: str) -> bool:
        pairs = zip(hard(after, name), hard(before, name), strict=True)
        return any(then and not now for then, now in pairs)

    short = [name for name in names if becomes_hard(name)]
    if not short:
        return ""
    return (
        f"; steps of {listed(short)} are then too short for readings: set the ticks of the "
        f"tape ({called('tape')}) by eye"
    )
