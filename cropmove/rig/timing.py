"""Which frame's moment each still stands for, where things are set by hand once for every still.

A digital camera moves on every frame. A thing pushed by hand stands where it stands for as long as
its still is held: on twos its marks repeat. The moments are spread so that the first and the last
mark of every leg are exact all the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import Floats
from cropmove.move.key import Leg

__all__ = ["PHASES", "Timing", "phases", "progress_on"]

PHASES = ("hold", "ease in", "cruise", "ease out", "move")
"""What a thing does in the step to a still. "move" is a curve that shapes the whole leg."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """The frames that all things of a shot share.

    Parameters
    ----------
    frames : int
        Delivered frames.
    on : int
        How many frames each still is held.
    fps : Fraction
    legs : tuple of Leg
        From the shot's keys; empty for a shot without.

    Examples
    --------
    >>> twos = Timing(frames=9, on=2, fps=Fraction(24))
    >>> twos.stills, twos.moments([1, 8]).round(3).tolist()
    (5, [1.0, 3.333, 5.667, 8.0, 8.0])
    """

    frames: int
    on: int = 1
    fps: Fraction = Fraction(24)
    legs: tuple[Leg, ...] = ()

    @property
    def stills(self) -> int:
        """How many stills there are to take."""
        return -(-self.frames // self.on)

    @property
    def still(self) -> NDArray[np.int64]:
        """The still that each frame shows, from 1."""
        return np.arange(self.frames, dtype=np.int64) // self.on + 1

    @property
    def first_frames(self) -> NDArray[np.int64]:
        """The first frame that each still is shown in."""
        return np.arange(self.stills, dtype=np.int64) * self.on + 1

    def still_of(self, frame: int) -> int:
        """The still that a frame shows, beyond the last frame too."""
        return (frame - 1) // self.on + 1

    def last_frame(self, still: int) -> int:
        """The last frame that a still is shown in."""
        return min(still * self.on, self.frames)

    def moments(self, stops: Sequence[int]) -> Floats:
        """The moment, in frames, that each still's marks are worked out for.

        On ones that is its frame. Held longer, the first still of a leg stands for the leg's first
        frame, the last for its last, and those between are evenly spread. A still that shows two
        stops, which are then one place, ends the leg to the one and begins the leg from the other.
        """
        firsts = self.first_frames.astype(np.float64)
        if self.on == 1 or len(stops) < 2:
            return firsts
        stills = np.arange(1, self.stills + 1, dtype=np.float64)
        return np.interp(stills, [self.still_of(stop) for stop in stops], stops)


def progress_on(leg: Leg, moments: Floats) -> Floats:
    """The share of a leg's travel that is done at moments in frames; level outside the leg."""
    at = np.clip(moments - leg.start.frame, 0, leg.steps)
    return leg.ease.progress(at, leg.steps, *leg.ease_lengths)


def phases(legs: Sequence[Leg], moments: Floats, moves: NDArray[np.bool_]) -> NDArray[np.int64]:
    """What is done in the step to each still but the first: indices into `PHASES`.

    Parameters
    ----------
    legs : sequence of Leg
    moments : (n,) array
    moves : (n - 1,) bool array
        Whether anything moves in the step.
    """
    found = np.full(len(moves), PHASES.index("move"))
    middle = (moments[1:] + moments[:-1]) / 2
    for leg in legs:
        inside = (middle > leg.start.frame) & (middle < leg.end.frame)
        if not leg.ease.has_lengths:
            found[inside] = PHASES.index("move" if leg.ease.curve else "cruise")
            continue
        ease_in, ease_out = leg.ease_lengths
        found[inside] = PHASES.index("cruise")
        found[inside & (middle < leg.start.frame + ease_in)] = PHASES.index("ease in")
        found[inside & (middle > leg.end.frame - ease_out)] = PHASES.index("ease out")
    found[~moves] = PHASES.index("hold")
    return found
