"""Framings pinned to frames, and the legs they make from one stop to the next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

import numpy as np

from cropmove.errors import Complaints, complain
from cropmove.geometry import Floats, counted
from cropmove.move.ease import DEFAULT_EASE, Ease, default_lengths
from cropmove.move.framing import Framing

__all__ = ["LONGEST", "Key", "Leg", "cuts_of", "legs", "written_out"]

LONGEST = 1_000_000
"""Frames in a shot, at most: eleven hours at 24 a second."""

_IN_A_ROW = 3
"""Steps with a key on every frame that are a move: two can be a cut to one frame and back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A framing pinned to a frame.

    Parameters
    ----------
    frame : int
        From 1 to 1,000,000.
    framing : Framing
    stop : bool
        Whether the camera comes to rest here; a key that is no stop is passed.
    ease : Ease or None
        How the leg that ends here gathers and loses speed; None for the default.
    ease_in, ease_out : int or None
        Frames, from 0; None for the default length. They belong to the leg that ends here.

    Raises
    ------
    InputError
        All faults at once: the frame or an ease length out of range, no framing, no ease, an ease
        on a passed key.

    Examples
    --------
    >>> Key(frame=49, framing=Framing(x=3000, y=2000, width=1920)).stop
    True
    """

    frame: int
    framing: Framing
    stop: bool = True
    ease: Ease | None = None
    ease_in: int | None = None
    ease_out: int | None = None

    def __post_init__(self) -> None:
        found = Complaints()
        with found.at():
            self._check_frame()
        with found.at():
            self._check_framing()
        for name in ("ease_in", "ease_out"):
            with found.at(name):
                object.__setattr__(self, name, _ease_length(getattr(self, name)))
        with found.at():
            self._check_ease()
        found.settle()

    def _check_frame(self) -> None:
        frame = counted(self.frame)
        if frame is None or frame < 1:
            rule = "frames are whole numbers from 1"
            raise complain("frame", self.frame, rule, "the first frame of a shot is 1")
        if frame > LONGEST:
            rule = f"a shot is 1 to {LONGEST:,} frames long"
            raise complain("frame", frame, rule, "pin the key to an earlier frame")
        object.__setattr__(self, "frame", frame)

    def _check_framing(self) -> None:
        if not isinstance(self.framing, Framing):
            rule = "what is pinned to a frame is a Framing"
            raise complain("framing", self.framing, rule, "give Framing(x=, y=, width=)")

    def _check_ease(self) -> None:
        if self.ease is not None and not isinstance(self.ease, Ease):
            rule = "an ease is one of EASES, or a cubic_bezier"
            raise complain("ease", self.ease, rule, 'give, say, EASES["smooth"]')
        if not self.stop and self.sets_ease:
            rule = "an ease belongs to the stop that ends its leg; this key is passed"
            raise complain("ease", "", rule, "move the ease to the next stop, or drop stop = false")
        if self.ease and not self.ease.has_lengths and self.sets_lengths:
            rule = f"{self.ease.name} shapes the whole leg: it has no ease in or ease out to set"
            raise complain("ease_in, ease_out", "", rule, "leave them out, or take another ease")

    @property
    def sets_lengths(self) -> bool:
        """Whether an ease in or an ease out is given."""
        return self.ease_in is not None or self.ease_out is not None

    @property
    def sets_ease(self) -> bool:
        """Whether anything of the ease is given."""
        return self.ease is not None or self.sets_lengths


def _ease_length(given: int | None) -> int | None:
    if given is None:
        return None
    frames = counted(given)
    if frames is None or frames < 0:
        rule = "an ease is a whole number of frames from 0"
        raise complain("", given, rule, "write 0 for a hard start or stop")
    return frames


@dataclass(frozen=True, slots=True)
class Leg:
    """The move from one stop to the next; keys inside it are passed without stopping.

    Raises
    ------
    InputError
        Where the eases together are longer than the leg: it says what fits; or where its ease
        cannot keep to the keys it passes.
    """

    keys: tuple[Key, ...]

    def __post_init__(self) -> None:
        ease_in, ease_out = self.end.ease_in or 0, self.end.ease_out or 0
        if ease_in + ease_out > self.steps:
            value = f"{ease_in} + {ease_out}"
            rule = f"the eases of a leg fit into its {self.steps} steps"
            most_in = round(self.steps * ease_in / (ease_in + ease_out))
            remedy = f"{most_in} + {self.steps - most_in} would fit, or a leg of {value} steps"
            raise complain("ease_in + ease_out", value, rule, remedy)
        if self.ease.overshoots and self.passed:
            rule = "a curve that runs past its end cannot keep to the keys passed on the way"
            raise complain("ease", self.ease.name, rule, "keep its second and fourth in 0 to 1")
        if self.passed:
            self._check_due()

    def _check_due(self) -> None:
        """Refuse keys so near one another that the ease does nothing between them."""
        level = np.flatnonzero(np.diff(self.due) <= 0)
        if len(level):
            before, after = self.keys[level[0] : level[0] + 2]
            between = f"between frames {before.frame} and {after.frame}"
            rule = f"{between} it goes by less than a number can hold"
            raise complain("ease", self.ease.name, rule, "set those keys further apart")

    @property
    def due(self) -> Floats:
        """How far along the leg, from 0 to 1, its ease has each of its keys."""
        frames = np.array([key.frame for key in self.keys], dtype=np.float64)
        return self.ease.progress(frames - frames[0], self.steps, *self.ease_lengths)

    @property
    def start(self) -> Key:
        """The stop it leaves."""
        return self.keys[0]

    @property
    def end(self) -> Key:
        """The stop it reaches, which holds the leg's ease."""
        return self.keys[-1]

    @property
    def passed(self) -> tuple[Key, ...]:
        """The keys between."""
        return self.keys[1:-1]

    @property
    def steps(self) -> int:
        """How many steps it takes."""
        return self.end.frame - self.start.frame

    @property
    def ease(self) -> Ease:
        """The ease in force."""
        return self.end.ease or DEFAULT_EASE

    @property
    def ease_lengths(self) -> tuple[int, int]:
        """Ease in and ease out in force, in frames; (0, 0) where the ease has no lengths."""
        if not self.ease.has_lengths:
            return 0, 0
        return default_lengths(self.steps, self.end.ease_in, self.end.ease_out)

    @property
    def is_written_out(self) -> bool:
        """Whether it passes a key on every frame, so that the keys alone make its pace."""
        return self.steps > 1 and len(self.keys) == self.steps + 1

    @property
    def is_hold(self) -> bool:
        """Whether the camera stays where it is."""
        return all(key.framing == self.start.framing for key in self.keys)


def legs(keys: Sequence[Key]) -> tuple[Leg, ...]:
    """The legs that keys make, in order; none for a single key.

    Raises
    ------
    InputError
        All faults at once: no keys, two keys on one frame, keys out of order, a first or last key
        that is no stop, an ease on the first key, eases that do not fit. Places are "key 2".

    Examples
    --------
    >>> wide = Framing(x=3000, y=2000, width=6000)
    >>> [leg.steps for leg in legs([Key(frame=1, framing=wide), Key(frame=49, framing=wide)])]
    [48]
    """
    found = Complaints()
    with found.at():
        _check_order(keys)
    found.settle()
    with found.at("key 1"):
        _check_first(keys[0])
    if len(keys) > 1:
        with found.at(f"key {len(keys)}"):
            _check_last(keys[-1])
    stops = [0, *(n for n, key in enumerate(keys) if key.stop and 0 < n < len(keys) - 1)]
    if len(keys) > 1:
        stops.append(len(keys) - 1)
    made = []
    for begin, end in pairwise(stops):
        with found.at(f"key {end + 1}"):
            made.append(Leg(tuple(keys[begin : end + 1])))
    found.settle()
    return tuple(made)


def cuts_of(legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """Legs of one step on which the camera is suddenly elsewhere.

    Three or more that follow one another without a rest are a move, see `written_out`.

    Examples
    --------
    >>> here, there = Framing(x=2000, y=2000, width=3000), Framing(x=4000, y=2000, width=3000)
    >>> shown = {1: here, 48: here, 49: there, 96: there}
    >>> keys = [Key(frame=frame, framing=framing) for frame, framing in shown.items()]
    >>> [leg.end.frame for leg in cuts_of(legs(keys))]
    [49]
    """
    return tuple(leg for row in _single_steps(legs) if len(row) < _IN_A_ROW for leg in row)


def written_out(legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """Moves with a stop on every frame, each as the one leg that it is to the eye.

    Examples
    --------
    >>> way = [Framing(x=2000 + 20 * n, y=2000, width=3000) for n in range(24)]
    >>> keys = [Key(frame=frame, framing=framing) for frame, framing in enumerate(way, start=1)]
    >>> [leg.steps for leg in written_out(legs(keys))]
    [23]
    """
    return tuple(_joined(row) for row in _single_steps(legs) if len(row) >= _IN_A_ROW)


def _single_steps(legs: Sequence[Leg]) -> Iterator[tuple[Leg, ...]]:
    """Legs of one step that move, those together that follow one another."""
    for single, row in groupby(legs, key=lambda leg: leg.steps == 1 and not leg.is_hold):
        if single:
            yield tuple(row)


def _joined(row: Sequence[Leg]) -> Leg:
    passed = (_without_ease(leg.end, stop=False) for leg in row[:-1])
    return Leg((row[0].start, *passed, _without_ease(row[-1].end, stop=True)))


def _without_ease(key: Key, *, stop: bool) -> Key:
    return replace(key, stop=stop, ease=None, ease_in=None, ease_out=None)


def _check_order(keys: Sequence[Key]) -> None:
    if not keys:
        raise complain("key", "", "a move has at least one key", "add a [[key]] with a framing")
    found = Complaints()
    for number, (before, key) in enumerate(pairwise(keys), start=2):
        with found.at(f"key {number}"):
            if key.frame == before.frame:
                rule = f"a frame has one key; key {number - 1} is on {before.frame} too"
                raise complain("frame", key.frame, rule, "move one of them, or take it out")
            if key.frame < before.frame:
                rule = f"keys stand in the order of their frames; the one before is {before.frame}"
                raise complain("frame", key.frame, rule, "put the keys in order")
    found.settle()


def _check_first(key: Key) -> None:
    if key.sets_ease:
        rule = "an ease belongs to the leg that ends at its key; no leg ends at the first"
        raise complain("ease", "", rule, "move it to the key that ends the leg")
    if not key.stop:
        raise complain("stop", "false", "the first key is where the camera starts", "take it out")


def _check_last(key: Key) -> None:
    if not key.stop:
        raise complain("stop", "false", "the last key is where the camera stops", "take it out")
