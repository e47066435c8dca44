"""Parallax: what things at different distances do on the screen while others are moved by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import complain, is_name, names_in, unknown_word
from cropmove.geometry import Floats, Size, corner_offsets
from cropmove.move.framing import in_frame, on_still
from cropmove.rig.measures import FARTHEST, LEAST, hold_measured, measured, rounded_up
from cropmove.rig.pose import Poses
from cropmove.rig.working import Table

__all__ = ["Layer", "Sight", "sights"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """Something at one distance: a foreground, the subject, a backing.

    Parameters
    ----------
    name : str
    distance : float
        Millimetres from the lens, at the first still.
    centre : (x, y) or None
        Millimetres right of and **below** the line the lens looks along; None for the middle of
        the first framing.
    size : (width, height) or None
        Millimetres; None where only its pace matters.
    moves_with : tuple of str
        The rigs that move it, by name, one alone too; none for a thing that stands on the set.

    Raises
    ------
    InputError
        Where a number is out of its range.
    """

    name: str
    distance: float
    centre: tuple[float, float] | None = None
    size: tuple[float, float] | None = None
    moves_with: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not is_name(self.name):
            rule = "a layer has a name, on one line"
            raise complain("name", self.name, rule, 'write name = "reeds"')
        hold_measured(self, "distance")
        object.__setattr__(self, "moves_with", names_in(self.moves_with))
        for name in ("centre", "size"):
            object.__setattr__(self, name, _pair(name, getattr(self, name)))
        if self.distance < LEAST:
            rule = "a layer stands in front of the lens"
            raise complain("distance", self.distance, rule, "give millimetres from the lens")
        if self.size is not None and min(self.size) < LEAST:
            raise complain("size", str(self.size), "sides are above 0", "give width and height")


def _pair(name: str, given: Sequence[float] | None) -> tuple[float, float] | None:
    if given is None:
        return None
    if len(given) != 2:
        rule = "this is two numbers, across and down"
        raise complain(name, str(given), rule, "give both in millimetres, or leave out")
    return measured(name, given[0]), measured(name, given[1])


@dataclass(frozen=True, kw_only=True, eq=False)
class Sight:
    """What a layer does on the screen.

    Attributes
    ----------
    layer : Layer
    boxes : (n, 4, 2) array or None
        Its corners in each still's frame, in frame widths from the frame's top-left corner,
        clockwise from the top left; None for a layer without a size.
    middle : (n, 2) array
        Where the point that was in its centre at first is by then.
    step : (n,) array
        Frame widths from the still before, where the layer moves most within the frame.
    depth : (n,) array
        Millimetres from the lens, along the way it looks.
    shape : float
        The frame's height over its width.
    sharp : (nearest, farthest) or None
        Millimetres.
    """

    layer: Layer
    boxes: Floats | None = field(repr=False)
    middle: Floats = field(repr=False)
    step: Floats = field(repr=False)
    depth: Floats = field(repr=False)
    shape: float
    sharp: tuple[float, float] | None

    @property
    def peak(self) -> float:
        """Its longest step, in frame widths."""
        return float(np.nanmax(self.step))

    @property
    def travel(self) -> float:
        """The sum of its steps, in frame widths."""
        return float(np.nansum(self.step))

    @property
    def gone(self) -> tuple[float, float]:
        """How far its centre is from where it was at the end: right and down, in frame widths."""
        right, down = (self.middle[-1] - self.middle[0]).tolist()
        return float(right), float(down)

    @cached_property
    def in_sight(self) -> NDArray[np.bool_]:
        """Whether any of it is within the frame, for each still; by the box round its corners."""
        corners = self.middle[:, None] if self.boxes is None else self.boxes
        with np.errstate(invalid="ignore"):
            low, high = corners.min(axis=1), corners.max(axis=1)
            inside = (high > 0) & (low < np.array([1.0, self.shape]))
        return np.asarray(inside.all(axis=1))

    @property
    def out_of_focus(self) -> NDArray[np.int64]:
        """The stills, from 1, in which it is not sharp; none where no stop is given."""
        if self.sharp is None:
            return np.empty(0, dtype=np.int64)
        near, far = self.sharp
        return np.flatnonzero((self.depth < near) | (self.depth > far)) + 1


def sights(layers: Sequence[Layer], table: Table, first: Floats, delivery: Size) -> list[Sight]:
    """What each layer does on the screen.

    Parameters
    ----------
    layers : sequence of Layer
    table : Table
        With a lens.
    first : (4,) array
        The framing that is kept as a crop: x, y, width and roll, in pixels of the still.
    delivery : Size

    Raises
    ------
    InputError
        Where there is no lens, a name comes twice, or a layer moves with a rig that is not there.

    Examples
    --------
    >>> from cropmove.rig.motion import MOTIONS
    >>> from cropmove.rig.optics import Lens
    >>> from cropmove.rig.rig import Rig
    >>> from cropmove.rig.scale import Scale
    >>> from cropmove.rig.timing import Timing
    >>> from cropmove.rig.twin import View
    >>> from cropmove.rig.working import work_out
    >>> slide = Rig(
    ...     name="slider", motion=MOTIONS["camera sideways"], scale=Scale(), start=0, end=48
    ... )
    >>> view = View(lens=Lens(focal_length=50, distance=800), still=Size(6000, 4000))
    >>> table = work_out([slide], Timing(frames=49), view=view)
    >>> backing = Layer(name="sky", distance=2000)
    >>> sight, = sights([backing], table, np.array([3000, 2000, 6000, 0.0]), Size(1920, 1080))
    >>> round(-sight.gone[0] * 6000 / 48, 3)              # pixels of the still per mm
    4.167
    """
    view = table.view
    if view is None:
        rule = "what layers do on the screen depends on the lens"
        raise complain("layer", "", rule, "add [lens] with focal_length, sensor and distance")
    crop = _Crop(first=first, delivery=delivery, width=view.still.width, middle=view.middle)
    found = []
    names = [layer.name for layer in layers]
    for layer in layers:
        if names.count(layer.name) > 1:
            place = f'layer "{layer.name}", name'
            raise complain(place, layer.name, "each layer has a name of its own", "change one")
        scene = _Scene(layer=layer, table=table, crop=crop, reach=view.lens.reach)
        found.append(scene.sight(view.lens.sharp))
    return found


def calm_distance(sight: Sight, table: Table, first: Floats, delivery: Size, most: float) -> float:
    """How far off a layer would have to stand to keep its steps below `most` frame widths.

    Returns
    -------
    float
        Millimetres, rounded up; ``inf`` where no distance does, because the camera turns.
    """
    view = table.view
    if view is None:
        return np.inf
    crop = _Crop(first=first, delivery=delivery, width=view.still.width, middle=view.middle)

    def peak(distance: float) -> float:
        layer = Layer(name="?", distance=distance, moves_with=sight.layer.moves_with)
        return _Scene(layer=layer, table=table, crop=crop, reach=view.lens.reach).peak()

    low, high = sight.layer.distance, FARTHEST
    if peak(high) > most:
        return np.inf
    for _ in range(30):
        middle = float(np.sqrt(low * high))
        low, high = (middle, high) if peak(middle) > most else (low, middle)
    return rounded_up(high)


_AXES = {"sideways": (0, 1), "up": (1, -1), "in": (2, -1)}
"""Along which of the set's axes a thing goes, and which way; a camera goes in away from itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Crop:
    """The part of every still that is delivered."""

    first: Floats
    delivery: Size
    width: int
    middle: Floats

    def spots(self, offsets: Floats) -> Floats:
        """Offsets from the frame's centre, in frame widths, as still widths from its middle."""
        return np.asarray((on_still(self.first, offsets) - self.middle) / self.width)

    def frame(self, spots: Floats) -> Floats:
        """Still widths from its middle as frame widths from the frame's top-left corner."""
        half = np.array([0.5, self.delivery.shape / 2])
        return np.asarray(in_frame(self.first, spots * self.width + self.middle) + half)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scene:
    """A layer, seen by the camera as it moves, while it is moved itself."""

    layer: Layer
    table: Table
    crop: _Crop
    reach: float

    def sight(self, sharp: tuple[float, float] | None) -> Sight:
        """What it does on the screen."""
        poses = self.table.seen_poses
        gone = self._gone()
        centre = self._centre(poses)
        points = centre + gone[:, None]
        boxes = None
        if self.layer.size is not None:
            offsets = corner_offsets(self.layer.size[1] / self.layer.size[0]) * self.layer.size[0]
            flat = np.concatenate([offsets, np.zeros((4, 1))], axis=1)
            boxes = self.crop.frame(poses.seen(points + flat, self.reach))
        return Sight(
            layer=self.layer,
            boxes=boxes,
            middle=self.crop.frame(poses.seen(points, self.reach))[:, 0],
            step=np.concatenate([[0.0], self._steps(poses, gone)]),
            depth=poses.depths(points)[:, 0],
            shape=self.crop.delivery.shape,
            sharp=sharp,
        )

    def peak(self) -> float:
        """Its longest step, in frame widths."""
        return float(np.nanmax(self._steps(self.table.seen_poses, self._gone()), initial=0.0))

    def _centre(self, poses: Poses) -> Floats:
        if self.layer.centre is not None:
            return np.array([*self.layer.centre, self.layer.distance])
        spot = self.crop.spots(np.zeros((1, 1, 2)))
        return np.asarray(poses[:1].struck(spot, self.layer.distance, self.reach)[0, 0])

    def _gone(self) -> Floats:
        """How far what moves it has moved it: (n, 3) millimetres."""
        gone = np.zeros((self.table.timing.stills, 3))
        known = [marks.name for marks in self.table.moved]
        place = f'layer "{self.layer.name}", moves_with'
        for name in self.layer.moves_with:
            if name not in known:
                raise unknown_word(place, name, known, "a rig that is moved")
            marks = self.table[name]
            motion = marks.rig.motion
            rides = motion.mover == "camera"  # a glass before the lens
            if rides and (motion.angular or self._goes_round):
                rule = "what rides with a camera goes straight with it; in a turn it would swing"
                raise complain(place, name, rule, "leave that layer out: it stays where it is")
            # What the set does is in the poses already, and a turn moves no centre.
            if motion.way in _AXES and motion.mover != "set":
                axis, sign = _AXES[motion.way]
                gone[:, axis] += (-sign if rides and motion.way == "in" else sign) * marks.moved
        return gone

    @property
    def _goes_round(self) -> bool:
        ways = {marks.rig.motion.way for marks in self.table.camera_and_set}
        return not ways.isdisjoint(("arc", "turn"))

    def _steps(self, poses: Poses, gone: Floats) -> Floats:
        """Frame widths from still to still, at the corner or centre that moves most."""
        offsets = np.concatenate([corner_offsets(self.crop.delivery.shape), np.zeros((1, 2))])
        before, after = poses[:-1], poses[1:]
        spots = np.broadcast_to(self.crop.spots(offsets), (len(before), 5, 2))
        away = self.layer.distance + gone[:-1, 2]
        points = before.struck(spots, away, self.reach) + np.diff(gone, axis=0)[:, None]
        moved = self.crop.frame(after.seen(points, self.reach)) - self.crop.frame(spots)
        far = np.hypot(moved[..., 0], moved[..., 1])
        return np.asarray(np.where(np.isnan(far), 0.0, far).max(axis=1))
