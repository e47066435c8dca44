"""Where a thing must stand for each still, as it is read; and what rounding does to the move."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from math import floor

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import Floats, hold_unwritable, unwritable
from cropmove.move.key import Leg
from cropmove.rig.measures import rounded_up
from cropmove.rig.rig import Rig
from cropmove.rig.timing import PHASES, Timing, phases

__all__ = ["HANDS", "JUST_NOTICED", "SETTLING", "Marks", "Reset"]

JUST_NOTICED = 0.07
"""The change of speed that is just noticed: De Bruyn & Orban, Vision Research 28(12), 1988,
10.1016/0042-6989(88)90064-8."""

HANDS = {"rule": 200.0, "arc": 200.0, "protractor": 45.0, "screw": 2.0}
"""The fastest that a hand moves something under control, in readings a second: mm, mm, degrees,
turns. Common practice, no source."""

SETTLING = 2.0
"""Seconds to read a mark and let go. Common practice, no source."""

_NOTHING = 1e-9
"""Millimetres or degrees: what arithmetic may leave of a step that is none."""

_MARGIN = 10.0
"""Millimetres or degrees of its rule that a thing is moved to when the rule is reset."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reset:
    """Where a rule that is shorter than the travel is laid anew.

    Parameters
    ----------
    still : int
        With the thing on this still's mark, before the next is set.
    before, after : int
        What the pointer reads there on the old and on the moved rule, in counts of the division.
    """

    still: int
    before: int
    after: int


@dataclass(frozen=True, kw_only=True, eq=False)
class Marks:
    """A reading for each still, for one thing.

    Attributes
    ----------
    rig : Rig
    timing : Timing
    legs : tuple of Leg
        The legs it moves in.
    moments : (n,) array
        The moment, in frames, that each still's place is worked out for.
    place : (n,) array
        Where it stands, in millimetres or degrees on its rule, unrounded.
    moved : (n,) array
        How far it has gone from the first still, in millimetres or degrees; positive is to the
        right, up, towards the other, clockwise, whichever way the rule lies.
    """

    rig: Rig
    timing: Timing
    legs: tuple[Leg, ...]
    moments: Floats
    place: Floats
    moved: Floats

    def __post_init__(self) -> None:
        hold_unwritable(self, "moments", "place", "moved")

    def __len__(self) -> int:
        return len(self.place)

    def __repr__(self) -> str:
        scale = self.rig.scale
        ends = f"{scale.text(self.count[0])} to {scale.text(self.count[-1])} {scale.unit}"
        return f"Marks({self.name!r}, {self.rig.motion.name}, {len(self)} stills, {ends})"

    @property
    def name(self) -> str:
        """The thing's name."""
        return self.rig.name

    @cached_property
    def exact(self) -> Floats:
        """Unrounded readings: millimetres, degrees or turns."""
        return unwritable(self.rig.scale.exact(self.place))

    @cached_property
    def count(self) -> NDArray[np.int64]:
        """Readings as whole counts of the division, each rounded from its absolute place."""
        return unwritable(self.rig.scale.counts(self.place))

    @property
    def reading(self) -> Floats:
        """Rounded readings: millimetres, degrees or turns."""
        return np.asarray(self.count * self.rig.scale.fineness, dtype=np.float64)

    @property
    def as_read(self) -> Marks:
        """The same, where every still is set by its rounded reading."""
        place = self.reading * self.rig.scale.per_reading
        moved = (place - place[0]) * (-1 if self.rig.reverse else 1)
        return replace(self, place=place, moved=moved)

    @property
    def residue(self) -> Floats:
        """What rounding adds to each reading; never more than half a division."""
        return self.reading - self.exact

    @property
    def step(self) -> Floats:
        """From the reading before, as it is set; 0 for the first."""
        return np.diff(self.reading, prepend=self.reading[0])

    @property
    def exact_step(self) -> Floats:
        """From the reading before, unrounded; 0 for the first."""
        return np.diff(self.exact, prepend=self.exact[0])

    @cached_property
    def moves(self) -> NDArray[np.bool_]:
        """Whether it moves at all in the step to each still but the first."""
        return np.asarray(abs(np.diff(self.place)) > _NOTHING)

    @cached_property
    def phase(self) -> tuple[str, ...]:
        """What it does in the step to each still: "start" for the first, then of `PHASES`."""
        found = phases(self.legs, self.moments, self.moves)
        return ("start", *(PHASES[number] for number in found))

    @property
    def travel(self) -> float:
        """From the lowest reading to the highest, unrounded."""
        return float(np.ptp(self.exact))

    @property
    def cruise(self) -> float:
        """Its longest step, unrounded, without a sign."""
        return float(abs(self.exact_step).max())

    @property
    def jolts(self) -> Floats:
        """How much more two neighbouring steps differ than they should, over the cruise.

        One for each still between two steps that are both at least a division long.
        """
        shown, meant = np.diff(self.step[1:]), np.diff(self.exact_step[1:])
        length = abs(self.exact_step[1:])
        both = np.minimum(length[1:], length[:-1]) >= self.rig.scale.fineness * (1 - 1e-9)
        if not len(shown) or self.cruise == 0:
            return np.zeros(len(shown))
        return np.asarray(np.where(both, abs(shown - meant), 0.0) / self.cruise)

    @property
    def unevenness(self) -> float:
        """The worst of the jolts, as a share of the cruise."""
        return float(self.jolts.max(initial=0.0))

    @property
    def smallest(self) -> float:
        """The smallest step that can be set."""
        return self.rig.smallest or self.rig.scale.fineness

    @property
    def too_small(self) -> NDArray[np.int64]:
        """The stills whose step is none by then, or smaller than can be set, while it moves."""
        tiny = self.moves & (abs(self.exact_step[1:]) < self.smallest * (1 - 1e-9))
        return np.flatnonzero(tiny) + 2

    @property
    def resets(self) -> tuple[Reset, ...]:
        """Where its rule has to be laid anew; none where the rule is long enough.

        Raises nothing where one step alone is longer than the rule: `step_beyond_rule` tells.
        """
        return tuple(self._placing[1])

    @property
    def read(self) -> NDArray[np.int64]:
        """What is read for each still on the rule as it then lies, in counts of the division."""
        return self._placing[0]

    @property
    def longest_reach(self) -> float:
        """The most of its rule that a step takes up as it is read, with what it goes past."""
        reach = abs(self._farthest[1:] - self.count[:-1]).max(initial=0)
        return float(reach * self.rig.scale.fineness)

    @property
    def span(self) -> tuple[float, float]:
        """The lowest and the highest reading, with what it goes past."""
        low, high = (
            find(np.append(self.count, self._farthest)) * self.rig.scale.fineness
            for find in (np.min, np.max)
        )
        return float(low), float(high)

    @property
    def step_beyond_rule(self) -> bool:
        """Whether a single step is longer than the rule: no resetting helps."""
        return self.rig.rule is not None and self.longest_reach > self.rig.rule * (1 + 1e-9)

    @cached_property
    def _farthest(self) -> NDArray[np.int64]:
        """The counts that the pointer goes to for each still: past the mark where it overshoots."""
        farthest = self.count.copy()
        farthest[self.overshoots - 1] -= self.approach * self._past
        return farthest

    @cached_property
    def _placing(self) -> tuple[NDArray[np.int64], list[Reset]]:
        read, resets = self.count.copy(), list[Reset]()
        if self.rig.rule is None or self.rig.scale.kind == "screw" or self.step_beyond_rule:
            return read, resets
        longest = floor(self.rig.rule / self.rig.scale.fineness + 1e-9)
        margin = min(round(_MARGIN / self.rig.scale.fineness), longest // 8)
        shift = 0
        if not 0 <= read[0] <= longest:
            rising = self.exact[int(np.argmax(abs(self.exact - self.exact[0])))] >= self.exact[0]
            shift = (margin if rising else longest - margin) - int(read[0])
        for still, farthest in enumerate(self._farthest.tolist()):
            if still and not 0 <= farthest + shift <= longest:
                before = int(self.count[still - 1])
                # A step that nearly fills the rule needs all of it: no margin then.
                free = min(margin, longest - abs(farthest - before))
                after = free if farthest > before else longest - free
                resets.append(Reset(still=still, before=before + shift, after=after))
                shift = after - before
            read[still] += shift
        return read, resets

    @property
    def approach(self) -> int:
        """The way marks are approached: 1 for rising readings, -1 for falling ones."""
        if self.rig.approach:
            return 1 if self.rig.approach == "below" else -1
        return 1 if self.step.sum() >= 0 else -1

    @property
    def overshoots(self) -> NDArray[np.int64]:
        """The stills whose mark is to be passed and come back to, so that slack is taken up."""
        if not self.rig.backlash:
            return np.empty(0, dtype=np.int64)
        return np.flatnonzero(np.diff(self.count) * self.approach < 0) + 2

    def past(self, still: int) -> int:
        """How far past its mark, as a count on the rule, a still's overshoot goes."""
        return int(self.read[still - 1]) - self.approach * self._past

    @property
    def _past(self) -> int:
        """How far past its mark an overshoot goes, in counts of the division."""
        return max(1, round(rounded_up(2 * self.rig.backlash) / self.rig.scale.fineness))

    @property
    def hand(self) -> float:
        """The fastest that a hand moves it, in readings a second."""
        return self.rig.hand or HANDS[self.rig.scale.kind]

    def longest_eases(self, leg: Leg) -> tuple[int, int] | None:
        """The longest eases in and out of a leg, at most its own, whose every step can be set.

        None where even a move without eases has smaller steps, or its ease has no lengths.
        """
        if not leg.ease.has_lengths:
            return None
        ends = np.interp([leg.start.frame, leg.end.frame], self.moments, self.exact)
        far = abs(float(ends[1] - ends[0]))
        inside = (self.moments >= leg.start.frame) & (self.moments <= leg.end.frame)
        at = np.unique(self.moments[inside]) - leg.start.frame

        def tiny(ease_in: int, ease_out: int) -> NDArray[np.bool_]:
            steps = np.diff(far * leg.ease.progress(at, leg.steps, ease_in, ease_out))
            return np.asarray(steps < self.smallest * (1 - 1e-9))

        def starts(ease_out: int, ease_in: int) -> bool:
            return not tiny(ease_in, ease_out)[:half].any()

        def stops(ease_in: int, ease_out: int) -> bool:
            return not tiny(ease_in, ease_out)[half:].any()

        if tiny(0, 0).any():
            return None
        half, lengths = (len(at) - 1) // 2, leg.ease_lengths
        while tiny(*lengths).any():
            was, (into, out) = lengths, lengths
            into = _longest(into, partial(starts, out))
            lengths = into, _longest(out, partial(stops, into))
            if lengths == was:
                return None
        return lengths


def _longest(most: int, fits: Callable[[int], bool]) -> int:
    """The longest ease up to `most` that fits, where all that are shorter do; 0 where none does."""
    low, high = 0, most + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low
