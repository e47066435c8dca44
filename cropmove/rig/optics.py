"""What a lens makes of distances: angles of view, millimetres to pixels, depth of field.

A lens is a pinhole at its entrance pupil: a thing `offset` to the side at a distance falls
`offset / distance` times the image distance off the middle. The image distance is the focal length,
or with `close_focus` the longer one of a simple lens that is racked out to focus near.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, degrees, hypot, inf, radians, tan

from cropmove.errors import complain
from cropmove.rig.measures import LEAST, hold_measured, measured, refuse_none

__all__ = [
    "ANY_LENS",
    "DIAGONALS_IN_FOCUS",
    "Lens",
    "angle_of_view",
    "hyperfocal",
    "in_focus",
    "stop_for",
]

DIAGONALS_IN_FOCUS = 1442
"""The sensor's diagonal over the blur that still counts as sharp: 0.03 mm on 36 x 24 mm, the
figure of most depth-of-field tables. Common practice, no source."""

FULL_FRAME = (36.0, 24.0)


def angle_of_view(side: float, image_distance: float) -> float:
    """Degrees that a side of the sensor takes in, for a lens focused far off.

    Source: 2 atan(d / 2f), any optics textbook.

    Examples
    --------
    >>> [round(angle_of_view(side, 50), 1) for side in (36, 24)]
    [39.6, 27.0]
    """
    return degrees(2 * atan(side / (2 * image_distance)))


def hyperfocal(focal_length: float, stop: float, blur: float) -> float:
    """The nearest focus that keeps the far distance sharp, in millimetres.

    Source: H = f² / (N c) + f, any optics textbook.

    Examples
    --------
    >>> round(hyperfocal(50, 8, 0.03))
    10467
    """
    return focal_length * focal_length / (stop * blur) + focal_length


def in_focus(focal_length: float, stop: float, blur: float, focus: float) -> tuple[float, float]:
    """The nearest and farthest distance that are sharp, in millimetres; infinity is ``inf``.

    Sources: s (H - f) / (H + s - 2f) and s (H - f) / (H - s), any optics textbook. Distances are
    from the lens.

    Examples
    --------
    >>> [round(distance, 2) for distance in in_focus(50, 8, 0.03, 1000)]
    [916.42, 1100.35]
    """
    far_focus = hyperfocal(focal_length, stop, blur)
    near = focus * (far_focus - focal_length) / (far_focus + focus - 2 * focal_length)
    if focus >= far_focus:
        return near, inf
    return near, focus * (far_focus - focal_length) / (far_focus - focus)


def stop_for(focal_length: float, blur: float, focus: float, distance: float) -> float:
    """The widest stop at which a distance is sharp: `in_focus` the other way round.

    Examples
    --------
    >>> round(stop_for(50, 0.03, 1000, 916.42), 2), round(stop_for(50, 0.03, 1000, 1100.35), 2)
    (8.0, 8.0)
    """
    if distance < focus:
        far_focus = focal_length * (focus - 2 * distance) + distance * focus
        far_focus /= focus - distance
    elif distance > focus:
        far_focus = focus * (distance - focal_length) / (distance - focus)
    else:
        return 0.0
    return focal_length * focal_length / (blur * max(far_focus - focal_length, 1e-9))


@dataclass(frozen=True, slots=True, kw_only=True)
class Lens:
    """The lens and the sensor behind it, and how far off the subject stands.

    Parameters
    ----------
    distance : float
        Millimetres from the entrance pupil to the subject, at the first frame.
    focal_length : float or None
        Millimetres.
    angle : float or None
        Degrees that the still takes in across, measured on the set; instead of a focal length.
    sensor : (width, height)
        Millimetres; the still's width is the sensor's.
    close_focus : bool
        Whether the lens racks out to focus near, so that its image distance grows to
        f (1 + m) = f s / (s - f). Lenses that focus inside themselves do less.
    stop : float or None
        The f-number, for depth of field.
    focus : float or None
        Where it is focused, in millimetres; None for the subject's distance at the first frame.
        Beyond the focal length, as with any thin lens: 1/f = 1/s + 1/s'.
    blur : float or None
        Millimetres on the sensor that still count as sharp; None for the diagonal over 1442.
    pupil : float
        Millimetres by which the entrance pupil stands in front of the axis that pans and tilts
        turn about; 0 for one that stands on it.

    Raises
    ------
    InputError
        Where a number is out of its range, or both or none of focal length and angle are given.

    Examples
    --------
    >>> lens = Lens(focal_length=50, distance=800)
    >>> round(lens.image_distance / 36 * 6000 / 800, 3)     # pixels of a 6000-pixel still per mm
    10.417
    """

    distance: float
    focal_length: float | None = None
    angle: float | None = None
    sensor: tuple[float, float] = FULL_FRAME
    close_focus: bool = False
    stop: float | None = None
    focus: float | None = None
    blur: float | None = None
    pupil: float = 0.0

    def __post_init__(self) -> None:
        if (self.focal_length is None) == (self.angle is None):
            rule = "a lens has a focal length or a measured angle of view, one of the two"
            raise complain("focal_length, angle", "", rule, "write focal_length = 50, in mm")
        hold_measured(self, "distance", "focal_length", "angle", "stop", "focus", "blur", "pupil")
        object.__setattr__(self, "sensor", tuple(measured("sensor", side) for side in self.sensor))
        above_0 = ("distance", "focal_length", "stop", "focus", "blur")
        refuse_none(self, *above_0, remedy="write {name} as measured")
        if self.angle is not None and not LEAST <= self.angle < 180:
            rule = "an angle of view is above 0 and below 180 degrees"
            raise complain("angle", self.angle, rule, "measure what the still takes in across")
        if len(self.sensor) != 2 or min(self.sensor) < LEAST:
            rule = "a sensor's two sides are above 0 mm"
            raise complain("sensor", str(self.sensor), rule, "write, say, sensor = [36, 24]")
        for name, what in (("distance", "a subject"), ("focus", "what is in focus")):
            far = getattr(self, name)
            if self.focal_length is not None and far is not None and far <= self.focal_length:
                rule = f"{what} is further off than the focal length of {self.focal_length:g} mm"
                raise complain(name, far, rule, "give millimetres from the lens")

    @property
    def image_distance(self) -> float:
        """Millimetres from the pinhole to the sensor."""
        if self.angle is not None:
            return self.sensor[0] / 2 / tan(radians(self.angle) / 2)
        f = self.focal_length or 0.0
        return f * self.distance / (self.distance - f) if self.close_focus else f

    @property
    def reach(self) -> float:
        """The image distance in widths of the still: what a shift is measured with.

        Examples
        --------
        >>> round(Lens(focal_length=36, distance=800).reach, 3)
        1.0
        """
        return self.image_distance / self.sensor[0]

    @property
    def focused_at(self) -> float:
        """Where it is focused, in millimetres."""
        return self.focus or self.distance

    @property
    def sharp(self) -> tuple[float, float] | None:
        """The nearest and farthest sharp distance; None where no stop is given."""
        if self.stop is None:
            return None
        return in_focus(self.focal, self.stop, self._blur, self.focused_at)

    def stop_for(self, distance: float) -> float:
        """The widest stop at which a distance is sharp."""
        return stop_for(self.focal, self._blur, self.focused_at, distance)

    @property
    def focal(self) -> float:
        """The focal length, or the image distance where the angle of view was measured."""
        return self.focal_length or self.image_distance

    @property
    def _blur(self) -> float:
        return self.blur or hypot(*self.sensor) / DIAGONALS_IN_FOCUS

    @property
    def model(self) -> str:
        """Which model of the lens the numbers come from, in a few words."""
        if self.angle is not None:
            return f"pinhole of {self.angle:g}° across, as measured"
        if self.close_focus:
            return f"{self.focal_length:g} mm racked out to {self.image_distance:.4g} mm"
        return f"pinhole of {self.focal_length:g} mm, focused by the lens itself"

    def pixels_a_millimetre(self, still_width: int, distance: float | None = None) -> float:
        """How far a millimetre across, at a distance, goes on a still of that width.

        Examples
        --------
        >>> lens = Lens(focal_length=50, distance=800)
        >>> [round(lens.pixels_a_millimetre(6000, z), 3) for z in (500, 800, 2000)]
        [16.667, 10.417, 4.167]
        """
        return self.reach * still_width / (distance or self.distance)


ANY_LENS = Lens(focal_length=36, distance=1000)
"""For what all lenses see alike, as a roll, where none is given."""
