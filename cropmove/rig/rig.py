"""A thing moved by hand, as its owner gives it: what it is, where it goes, what it is read on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from cropmove.errors import complain, is_name
from cropmove.geometry import counted, finite
from cropmove.move.ease import Ease
from cropmove.move.framing import Framing
from cropmove.move.key import Key, Leg
from cropmove.rig.measures import FARTHEST, LEAST, hold_measured, refuse_none
from cropmove.rig.motion import Motion
from cropmove.rig.scale import Scale

__all__ = ["KEYS", "Rig", "Stop"]

KEYS = "keys"
"""What a rig follows that is worked out from the digital move."""

_NUMBERS = (
    "start", "end", "ratio", "distance", "stands_for", "rule", "track", "backlash", "smallest",
    "every", "hand",
)  # fmt: skip
"""What is measured, where it is given."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A frame, from 1, and the place where a thing stands there, in millimetres or degrees."""

    frame: int
    place: float

    def __post_init__(self) -> None:
        frame = counted(self.frame)
        object.__setattr__(self, "frame", self.frame if frame is None else frame)
        object.__setattr__(self, "place", finite("", self.place))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """One thing moved by hand. Its way is given outright, or follows something.

    Parameters
    ----------
    name : str
        What its owner calls it: "slider", "boat".
    motion : Motion
        What is moved, and its way: one of `MOTIONS`.
    scale : Scale
        What it is read on; by degrees (``angular=True``) where the motion is.
    start : float or None
        Where it stands at the start, in millimetres or degrees on its rule; for a rig that follows
        something, None lets no reading fall below 0.
    end : float or None
        Where it stands at the end; with `start`, over the shot's frames and eases.
    places : tuple of float
        Instead: where it stands at each stop of the shot's keys.
    stops : tuple of Stop
        Instead: frames of its own, and where it stands there.
    follows : str or None
        Instead: "keys", to do by hand what the digital move does, or another rig's name, to keep
        its pace.
    instead_of : str or None
        Instead: a camera rig's name, to move this while the camera stays.
    ratio : float
        How much further it goes than what it follows or stands in for.
    distance : float or None
        From the lens, in millimetres; None for the subject's distance.
    stands_for : float or None
        The distance that a backing is to look as far away as; None for its own.
    ease, ease_in, ease_out
        For its own stops or a shot without keys; as for a key.
    reverse : bool
        Whether its rule lies the other way round, so that readings fall where they would grow.
    rule, track : float or None
        How long its rule is, and how far it can travel, in millimetres or degrees as it is read.
    backlash : float
        Slack to take up, in the unit of its readings; marks are then approached from one side.
    approach : "below", "above" or None
        That side, in readings; None for the way it mostly goes.
    smallest : float or None
        The smallest step that its owner's hand can make, as it is read; None for the division.
    every : float or None
        Seconds from one still to the next where the camera does not wait; None where it waits.
    hand : float or None
        The fastest that a hand moves it, in its readings a second; None for the usual.

    Raises
    ------
    InputError
        Where its way is not given exactly once, a number is out of range, or its scale does not
        go with its motion.

    Examples
    --------
    >>> from cropmove.rig.motion import MOTIONS
    >>> arm = Scale(angular=True, radius=400)
    >>> Rig(name="arm", motion=MOTIONS["camera pan"], scale=arm, start=0, end=15).scale.unit
    'mm'
    """

    name: str
    motion: Motion
    scale: Scale
    start: float | None = None
    end: float | None = None
    places: tuple[float, ...] = ()
    stops: tuple[Stop, ...] = ()
    follows: str | None = None
    instead_of: str | None = None
    ratio: float = 1.0
    distance: float | None = None
    stands_for: float | None = None
    ease: Ease | None = None
    ease_in: int | None = None
    ease_out: int | None = None
    reverse: bool = False
    rule: float | None = None
    track: float | None = None
    backlash: float = 0.0
    approach: str | None = None
    smallest: float | None = None
    every: float | None = None
    hand: float | None = None

    def __post_init__(self) -> None:
        if not is_name(self.name) or self.name == KEYS or len(self.name) > 40:
            rule = "a name is 1 to 40 letters on one line, and not "
            rule += f'"{KEYS}", which is the digital move'
            raise complain("name", self.name, rule, 'call it what you call it: "slider"')
        self._check_kind()
        hold_measured(self, *_NUMBERS)
        object.__setattr__(self, "places", tuple(finite("at", place) for place in self.places))
        object.__setattr__(self, "stops", tuple(self.stops))
        self._check_way()
        above_0 = ("distance", "stands_for", "rule", "track", "smallest", "every", "hand")
        refuse_none(self, *above_0, remedy="give it as measured, or leave out")
        for where, place in self._given_places():
            if abs(place) > FARTHEST:
                rule = f"a place is at most {FARTHEST:,.0f} mm or degrees either way"
                raise complain(where, place, rule, "give it as measured")
        if self.backlash < 0 or abs(self.ratio) < LEAST:
            name = "backlash" if self.backlash < 0 else "ratio"
            rule = "slack is never below 0" if self.backlash < 0 else "a ratio is not 0"
            raise complain(name, getattr(self, name), rule, "leave it out, or give it as measured")
        if self.approach not in (None, "below", "above"):
            rule = 'marks are approached from "below" or from "above"'
            raise complain("approach", self.approach, rule, 'write approach = "below"')
        if self.rule is not None and self.rule < 4 * self.scale.fineness:
            rule = "a rule is longer than a few of its divisions"
            raise complain("rule", self.rule, rule, "give its whole length")
        if self.sets_ease and not (self.stops or self.end is not None):
            rule = "an ease goes with start and end, or with frames of its own"
            raise complain("ease", "", rule, "leave it out: it takes the eases of what it follows")
        self._check_stops()
        self.own_legs()

    def _check_kind(self) -> None:
        if not isinstance(self.motion, Motion):
            rule = "what is moved, and its way, is one of MOTIONS"
            raise complain("motion", self.motion, rule, 'give, say, MOTIONS["camera sideways"]')
        if not isinstance(self.scale, Scale):
            rule = "what it is read on is a Scale"
            raise complain("scale", self.scale, rule, "give Scale(), a usual rule")
        if self.scale.angular != self.motion.angular:
            rule = f"{self.motion.name} goes by {self.motion.unit}, and so does what it is read on"
            raise complain("scale", "", rule, f"give Scale(angular={self.motion.angular})")

    def _given_places(self) -> Iterator[tuple[str, float]]:
        """Every place that its owner gives, with the word that gives it."""
        for word, places in (
            ("start", (self.start,)),
            ("end", (self.end,)),
            ("at", (*self.places, *(stop.place for stop in self.stops))),
        ):
            yield from ((word, place) for place in places if place is not None)

    def _check_way(self) -> None:
        ways = {
            "end": self.end is not None,
            "at": bool(self.places or self.stops),
            "follows": self.follows is not None,
            "instead_of": self.instead_of is not None,
        }
        given = [name for name, is_given in ways.items() if is_given]
        if len(given) != 1:
            rule = "where it goes is said once: start and end, or at, or follows, or instead_of"
            value = ", ".join(given)
            raise complain(value, "", rule, 'write start = 0 and end = 250, or follows = "keys"')
        if self.end is not None and self.start is None:
            raise complain("start", "", "a thing that ends somewhere starts somewhere", "add start")
        if self.start is not None and (self.places or self.stops):
            rule = "at says where it starts already"
            raise complain("start", self.start, rule, "leave start out")
        if self.leads is None and (self.ratio != 1 or self.stands_for is not None):
            name = "ratio" if self.ratio != 1 else "stands_for"
            rule = "that goes with what it follows or stands in for; where it goes is given here"
            raise complain(name, getattr(self, name), rule, f"leave {name} out")
        if self.name in (self.follows, self.instead_of):
            raise complain("follows", self.name, "nothing follows itself", "name another rig")

    def _check_stops(self) -> None:
        for before, stop in pairwise(self.stops):
            if stop.frame <= before.frame:
                value = f"[{stop.frame}, {stop.place:g}]"
                rule = f"frames of its own go up; the one before is {before.frame}"
                raise complain("at", value, rule, "put the pairs in order, a frame once")

    @property
    def sets_ease(self) -> bool:
        """Whether anything of an ease is given."""
        return any(value is not None for value in (self.ease, self.ease_in, self.ease_out))

    @property
    def leads(self) -> str | None:
        """The rig or "keys" that it is worked out from; None for one given outright."""
        return self.follows or self.instead_of

    def own_legs(self) -> tuple[Leg, ...]:
        """The legs between frames of its own; none where it shares the shot's."""
        return self._legs([stop.frame for stop in self.stops]) if self.stops else ()

    def legs_over(self, frames: int) -> tuple[Leg, ...]:
        """The one leg of a shot without keys, from its first frame to its last."""
        return self._legs([1, frames]) if frames > 1 else ()

    def _legs(self, frames: list[int]) -> tuple[Leg, ...]:
        # A leg keeps time for framings; here it keeps time for a rule, and they stand for nothing.
        anywhere = Framing(x=0, y=0, width=1)
        keys = [Key(frame=frames[0], framing=anywhere)]
        places = {stop.frame: stop.place for stop in self.stops}
        for before, frame in pairwise(frames):
            # An ease is for where the thing moves; while it rests there is nothing to shape.
            if places and places[before] == places[frame]:
                keys.append(Key(frame=frame, framing=anywhere))
            else:
                keys.append(self._key(frame, anywhere))
        return tuple(Leg(ends) for ends in pairwise(keys))

    def _key(self, frame: int, framing: Framing) -> Key:
        return Key(
            frame=frame,
            framing=framing,
            ease=self.ease,
            ease_in=self.ease_in,
            ease_out=self.ease_out,
        )
