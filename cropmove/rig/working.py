"""Marks for all things of a shot: given outright, from the digital move, or from one another."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from math import ceil

import numpy as np

from cropmove.errors import Complaints, InputError, complain, placed, unknown_word
from cropmove.geometry import Floats
from cropmove.move.key import Leg
from cropmove.rig.marks import Marks
from cropmove.rig.measures import FARTHEST
from cropmove.rig.optics import ANY_LENS
from cropmove.rig.pose import CAMERA_WAYS, Poses
from cropmove.rig.rig import KEYS, Rig
from cropmove.rig.timing import Timing, progress_on
from cropmove.rig.twin import View

__all__ = ["Table", "work_out"]

_CLEAR = 10.0
"""Millimetres or degrees: the first reading of a thing that goes back is a multiple of this."""

_SAME_PART = {"sideways": "across", "pan": "across", "up": "up", "tilt": "up"}
"""Ways that do the same part of a digital move."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Table:
    """All that is moved by hand in a shot, worked out; `table[name]` is one thing's marks.

    Attributes
    ----------
    marks : tuple of Marks
        In the order of the rigs, those that something else stands in for included.
    timing : Timing
    view : View or None
        The lens and its still; None where no lens is given.
    framings : callable or None
        ``framings(moments)``: the digital move's rows; None where there is none.
    """

    marks: tuple[Marks, ...]
    timing: Timing
    view: View | None = None
    framings: Callable[[Floats], Floats] | None = None

    def __getitem__(self, name: str) -> Marks:
        """The marks of the thing of that name."""
        for marks in self.marks:
            if marks.name == name:
                return marks
        raise unknown_word("rig", name, [marks.name for marks in self.marks], "a rig")

    def __contains__(self, name: object) -> bool:
        return any(marks.name == name for marks in self.marks)

    def __iter__(self) -> Iterator[str]:
        """The names of the things."""
        return (marks.name for marks in self.marks)

    def __len__(self) -> int:
        return len(self.marks)

    def __repr__(self) -> str:
        return f"Table({', '.join(self)}: {self.timing.stills} stills)"

    @property
    def moved(self) -> tuple[Marks, ...]:
        """The marks of what a hand moves: without what something else stands in for."""
        replaced = {marks.rig.instead_of for marks in self.marks}
        return tuple(marks for marks in self.marks if marks.name not in replaced)

    @property
    def camera_and_set(self) -> tuple[Marks, ...]:
        """The marks of what moves the whole picture."""
        return tuple(m for m in self.moved if m.rig.motion.mover in ("camera", "set"))

    @cached_property
    def poses(self) -> Poses:
        """The camera at each still, as all camera rigs together move it."""
        return self._poses([m for m in self.moved if m.rig.motion.mover == "camera"])

    @property
    def as_read(self) -> Table:
        """The same, where everything is set by its rounded readings."""
        return replace(self, marks=tuple(marks.as_read for marks in self.marks))

    @property
    def twins(self) -> tuple[Marks, ...]:
        """The marks of what does the digital move by hand, at the subject's distance."""
        near = [marks for marks in self.moved if marks.rig.motion.mover != "background"]
        return tuple(marks for marks in near if self._does_keys(marks.rig))

    def _does_keys(self, rig: Rig) -> bool:
        """Whether it follows the keys, or stands in for what does."""
        if rig.instead_of is not None and rig.instead_of in self:
            rig = self[rig.instead_of].rig
        return rig.follows == KEYS

    @cached_property
    def twin_poses(self) -> Poses:
        """The camera as only those rigs move it that do the digital move by hand.

        A set or a subject moved in the camera's place counts as the camera moved the other way.
        """
        return self._poses(self.twins)

    @property
    def seen_poses(self) -> Poses:
        """The camera as it looks from the set: what the set does instead of it counts too."""
        return self._poses(self.camera_and_set)

    @property
    def subject_poses(self) -> Poses:
        """The camera as it looks from the subject, when only the subject is moved."""
        return self._poses([m for m in self.moved if m.rig.motion.mover == "subject"])

    def _poses(self, chosen: Sequence[Marks]) -> Poses:
        ways = np.zeros((self.timing.stills, len(CAMERA_WAYS)))
        for marks in chosen:
            motion = marks.rig.motion
            way = {"turn": "arc"}.get(motion.way, motion.way)
            as_camera = motion.mover == "camera" or way in ("in", "arc")
            ways[:, CAMERA_WAYS.index(way)] += marks.moved * (1 if as_camera else -1)
        lens = self.view.lens if self.view else ANY_LENS
        return Poses.of(ways, distance=lens.distance, pupil=lens.pupil)

    def roll(self) -> Floats:
        """Degrees that the camera has rolled at each still."""
        rolls = [m.moved for m in self.moved if m.rig.motion.name == "camera roll"]
        return np.sum(rolls, axis=0) if rolls else np.zeros(self.timing.stills)


def work_out(
    rigs: Sequence[Rig],
    timing: Timing,
    *,
    view: View | None = None,
    framings: Callable[[Floats], Floats] | None = None,
) -> Table:
    """Marks for every still, for all rigs.

    Parameters
    ----------
    rigs : sequence of Rig
    timing : Timing
    view : View, optional
        The lens and its still; needed where something is worked out from the digital move.
    framings : callable, optional
        ``framings(moments)``: (n, 4) rows of the digital move at moments in frames.

    Raises
    ------
    InputError
        Where names clash or are not known, rigs follow one another in a ring, a lens or keys are
        missing, or places do not match the stops. All at once.

    Examples
    --------
    >>> from cropmove.rig.motion import MOTIONS
    >>> from cropmove.rig.scale import Scale
    >>> boat = Rig(name="boat", motion=MOTIONS["subject sideways"], scale=Scale(), start=0, end=300)
    >>> table = work_out([boat], Timing(frames=61))
    >>> table["boat"].reading[[0, 1, 60]].tolist()
    [0.0, 0.5, 300.0]
    """
    found = Complaints()
    names = [rig.name for rig in rigs]
    for rig in rigs:
        with found.at(f'rig "{rig.name}"'):
            if names.count(rig.name) > 1:
                raise complain("name", rig.name, "each thing has a name of its own", "change one")
            if rig.leads and rig.leads not in (*names, KEYS):
                word = "follows" if rig.follows else "instead_of"
                others = dict.fromkeys(name for name in names if name != rig.name)
                raise unknown_word(word, rig.leads, [KEYS, *others], "what is followed")
    found.settle()
    made: dict[str, Marks] = {}
    bench = _Bench(rigs=rigs, timing=timing, view=view, framings=framings, made=made)
    for rig in sorted(rigs, key=lambda rig: rig.leads in names):
        with found.at():
            bench.marks(rig, ())
    found.settle()
    marks = tuple(made[name] for name in names)
    return Table(marks=marks, timing=timing, view=view, framings=framings)


@dataclass(frozen=True, kw_only=True)
class _Bench:
    """Works rigs out one after another, those that are followed first."""

    rigs: Sequence[Rig]
    timing: Timing
    view: View | None
    framings: Callable[[Floats], Floats] | None
    made: dict[str, Marks]
    tried: set[str] = field(default_factory=set)

    def marks(self, rig: Rig, behind: tuple[str, ...]) -> Marks:
        """The marks of a rig, and before them those of what it follows."""
        if rig.name in self.made:
            return self.made[rig.name]
        if rig.name in self.tried and rig.name not in behind:
            raise InputError  # what is wrong with it is told already
        self.tried.add(rig.name)
        with placed(f'rig "{rig.name}"'):
            if rig.name in behind:
                rule = "things follow one another in a ring"
                raise complain("follows", rig.leads, rule, "give one of them a start and an end")
            if rig.leads == KEYS:
                made = self._from_keys(rig)
            elif rig.leads is None:
                made = self._outright(rig)
            else:
                lead = next(other for other in self.rigs if other.name == rig.leads)
                made = self._from_rig(rig, self.marks(lead, (*behind, rig.name)))
        self.made[rig.name] = made
        return made

    def _outright(self, rig: Rig) -> Marks:
        legs, places = self._stops(rig)
        with placed("start, end" if rig.end is not None else "at"):
            moments = self._moments(legs, places)
        place = np.full(self.timing.stills, places[0])
        for leg, before, after in zip(legs, places, places[1:], strict=False):
            place += (after - before) * progress_on(leg, moments)
            # Its ends stand as they were given, to the last bit.
            place[moments >= leg.end.frame] = after
        moved = (place - place[0]) * (-1 if rig.reverse else 1)
        return self._made(rig, legs, moments, place, moved)

    def _stops(self, rig: Rig) -> tuple[tuple[Leg, ...], tuple[float, ...]]:
        """The legs of a rig given outright, and its place at each stop."""
        if rig.stops:
            return rig.own_legs(), tuple(stop.place for stop in rig.stops)
        legs = self.timing.legs or rig.legs_over(self.timing.frames)
        if self.timing.legs and rig.sets_ease:
            rule = "a thing with a start and an end shares the eases of the shot's keys"
            remedy = "leave them out, or give it frames of its own: at = [[1, 0], [49, 250]]"
            raise complain("ease", "", rule, remedy)
        if not legs:
            rule = "a thing that goes somewhere takes its time: the shot is 1 frame long"
            raise complain("start, end", "", rule, "write frames = 49 under [shot], or add keys")
        if not rig.places:
            ends = (float(rig.start or 0), float(rig.end or 0))
            if len(legs) > 1:
                rule = f"the keys make {len(legs) + 1} stops; a start and an end are two"
                stops = ", ".join(str(leg.end.frame) for leg in legs)
                remedy = f"give a place for each, at = [...], for frames {legs[0].start.frame}, "
                raise complain("start, end", "", rule, remedy + stops)
            return legs, ends
        if len(rig.places) != len(legs) + 1:
            rule = f"at has a place for each of the shot's {len(legs) + 1} stops"
            remedy = "add or take out some, or give frames too: at = [[1, 0], [49, 250]]"
            raise complain("at", str(list(rig.places)), rule, remedy)
        return legs, rig.places

    def _from_keys(self, rig: Rig) -> Marks:
        view, framings = self.view, self.framings
        if framings is None or not self.timing.legs:
            rule = "there is no digital move to follow: the shot has fewer than two keys"
            raise complain("follows", KEYS, rule, "add [[key]]s, or give start and end")
        if rig.instead_of:
            rule = "instead_of names a camera rig; what does the digital move's work follows it"
            raise complain("instead_of", KEYS, rule, 'write follows = "keys"')
        if view is None and rig.motion.way != "roll":
            rule = "millimetres and degrees from a digital move need to know the lens"
            remedy = "add [lens] with focal_length = 50, sensor = [36, 24], distance = 800"
            raise complain("follows", KEYS, rule, remedy)
        self._once(rig)
        legs = self.timing.legs
        with placed("follows"):
            stops = [legs[0].start.framing, *(leg.end.framing for leg in legs)]
            moments = self._moments(legs, stops)
        rows = framings(moments)
        if view is None:
            moved = rows[:, 3] - rows[0, 3]
        else:
            moved = view.by_hand(rig.motion, rows, self._ways(rig), rig.distance)
        return self._following(rig, legs, moments, rig.ratio * moved)

    def _ways(self, rig: Rig) -> set[str]:
        """Ways that the camera's rigs, or the set's, do by hand for the digital move.

        A camera's roll turns what it sees of everything.
        """
        mover = rig.motion.mover
        kin = {"camera", "set"} if mover in ("camera", "set") else {mover}
        return {
            other.motion.way
            for other in self.rigs
            if other.follows == KEYS
            and (other.motion.mover in kin or other.motion.name == "camera roll")
        }

    def _once(self, rig: Rig) -> None:
        """Refuse two rigs that both do the same part of the digital move."""
        part = _SAME_PART.get(rig.motion.way, rig.motion.way)
        for other in self.rigs:
            both = {rig.motion.mover, other.motion.mover}
            if (
                other is not rig
                and other.follows == KEYS
                and _SAME_PART.get(other.motion.way, other.motion.way) == part
                and (len(both) == 1 or both == {"camera", "set"})
            ):
                rule = f'"{other.name}" does that part of the digital move already'
                raise complain("follows", KEYS, rule, "let one of the two follow the other, or go")

    def _from_rig(self, rig: Rig, lead: Marks) -> Marks:
        moved = rig.ratio * (lead.moved if rig.follows else self._instead(rig, lead))
        if rig.follows and rig.motion.angular != lead.rig.motion.angular:
            rule = f'"{lead.name}" is measured in {lead.rig.motion.unit}, this in {rig.motion.unit}'
            raise complain("follows", lead.name, rule, "follow a thing of the same unit")
        return self._following(rig, lead.legs, lead.moments, moved)

    def _instead(self, rig: Rig, lead: Marks) -> Floats:
        """How far a thing goes in the place of a camera rig."""
        mine, camera = rig.motion, lead.rig.motion
        if mine.mover == "camera" or camera.mover != "camera":
            rule = "a subject, a background or a set is moved in place of a camera"
            raise complain("instead_of", lead.name, rule, "name a camera rig")
        if (mine.way, camera.way) in (("in", "in"), ("turn", "arc")):
            return lead.moved
        away = rig.distance or (self.view.lens.distance if self.view else None)
        if (mine.way, camera.way) in (("sideways", "pan"), ("up", "tilt")):
            if away is None:
                rule = "millimetres in place of an angle need a distance"
                raise complain("distance", "", rule, "add distance = 1500, in mm from the lens")
            return np.asarray(-away * np.tan(np.deg2rad(lead.moved)))
        if mine.way == camera.way:
            if rig.stands_for is not None and away is None:
                rule = "a backing that stands for something further off has a distance itself"
                raise complain("distance", "", rule, "add distance = 1500, in mm from the lens")
            scaled = away / rig.stands_for if away and rig.stands_for else 1.0
            return -scaled * lead.moved
        rule = f"{mine.name} does not change the picture as {camera.name} does"
        raise complain("instead_of", lead.name, rule, "choose a motion that goes the same way")

    def _following(self, rig: Rig, legs: tuple[Leg, ...], moments: Floats, moved: Floats) -> Marks:
        on_rule = -moved if rig.reverse else moved
        start = rig.start
        if start is None:
            lowest = float(on_rule.min())
            start = _CLEAR * ceil(-lowest / _CLEAR) if lowest < -1e-9 else 0.0
        place = start + on_rule
        if (farthest := float(abs(place).max())) > FARTHEST:
            word = "follows" if rig.follows else "instead_of"
            rule = f"a place is at most {FARTHEST:,.0f} mm or degrees either way; this comes to "
            remedy = f'let "{rig.leads}" go less far, or look at ratio and at the distances'
            raise complain(word, rig.leads, f"{rule}{farthest:.3g}", remedy)
        return self._made(rig, legs, moments, place, moved)

    def _made(
        self, rig: Rig, legs: tuple[Leg, ...], moments: Floats, place: Floats, moved: Floats
    ) -> Marks:
        return Marks(
            rig=rig, timing=self.timing, legs=legs, moments=moments, place=place, moved=moved
        )

    def _moments(self, legs: tuple[Leg, ...], places: Sequence[object]) -> Floats:
        """The moment that each still stands for; a place, or framing, for each stop is checked."""
        stops = [legs[0].start.frame, *(leg.end.frame for leg in legs)] if legs else [1]
        for (before, after), (here, there) in zip(pairwise(stops), pairwise(places), strict=True):
            still = self.timing.still_of(after)
            if here != there and self.timing.still_of(before) == still:
                rule = f"frames {before} and {after} both show still {still}, which has one place"
                apart = f"set them {self.timing.on} frames apart or more"
                raise complain("", "", rule, f"{apart}, or hold stills for fewer frames")
        return self.timing.moments(stops)
