"""The digital move as a move by hand, and a move by hand as a digital one.

Both change the picture alike at the subject's distance; where a rig must differ, `gap` measures it.
A framing of the first still is carried along as a fixed crop: what is photographed with the rig is
cropped by the first framing throughout.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from cropmove.errors import complain
from cropmove.geometry import Floats, Size, corner_offsets, turn
from cropmove.move.framing import in_frame, on_still
from cropmove.rig.motion import Motion
from cropmove.rig.optics import Lens
from cropmove.rig.pose import Poses

__all__ = ["View", "left_to_crop"]


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A lens and the still it makes.

    Parameters
    ----------
    lens : Lens
    still : Size
        The still's width is the sensor's.
    """

    lens: Lens
    still: Size

    @property
    def reach(self) -> float:
        """The image distance in pixels of the still."""
        return self.lens.reach * self.still.width

    @property
    def middle(self) -> Floats:
        """The middle of the still, where the lens looks."""
        return np.array([self.still.width, self.still.height]) / 2

    def by_hand(
        self, motion: Motion, rows: Floats, ways: Collection[str], distance: float | None = None
    ) -> Floats:
        """How far a thing goes to change the picture as framings do.

        Parameters
        ----------
        motion : Motion
        rows : (n, 4) array
            Framings: x, y, width and roll; the first is the crop that is kept.
        ways : collection of str
            The ways of everything that is moved by hand in the digital move's stead: a push in by
            hand changes what a crab must do.
        distance : float or None
            Of what is moved or looked at, in millimetres; None for the subject's.

        Returns
        -------
        (n,) array
            Millimetres or degrees from the first, positive as the motion's readings grow.

        Raises
        ------
        InputError
            For a motion that no framing of a flat picture can ask for.

        Examples
        --------
        >>> import numpy as np
        >>> from cropmove.rig.motion import MOTIONS
        >>> view = View(lens=Lens(focal_length=50, distance=800), still=Size(6000, 4000))
        >>> rows = np.array([[3000, 2000, 1920, 0], [3145.459, 2000, 1920, 0.0]])
        >>> view.by_hand(MOTIONS["camera pan"], rows, {"pan"}).round(4).tolist()
        [0.0, 1.0]
        >>> view.by_hand(MOTIONS["camera sideways"], rows, {"sideways"}).round(3).tolist()
        [0.0, 13.964]
        """
        away = self.lens.distance if distance is None else distance
        wider, rolled = rows[:, 2] / rows[0, 2], rows[:, 3] - rows[0, 3]
        if motion.way == "roll":
            return np.asarray(rolled)
        if motion.way == "in":
            return np.asarray(away * (1 - wider))
        near = wider if "in" in ways else np.ones(len(rows))
        off = rows[:, :2] - self.middle
        # Off the middle of the still is the crop, where the camera's own roll has taken it.
        crop = turn(np.broadcast_to(off[0], off.shape), rolled if "roll" in ways else 0.0)
        if motion.way in ("sideways", "up"):
            axis = 0 if motion.way == "sideways" else 1
            gone = away * (off[:, axis] - near * crop[:, axis]) / self.reach
            sign = (-1.0 if motion.way == "up" else 1.0) * (1 if motion.mover == "camera" else -1)
            return np.asarray(sign * gone)
        if motion.mover == "camera" and motion.way in ("pan", "tilt"):
            both = {"pan", "tilt"} <= set(ways)
            return self._turned(off / near[:, None], crop, motion.way, both=both)
        rule = f"no move of a framing over a flat picture asks for {motion.name}"
        raise complain("follows", "keys", rule, "give start and end, or follow another rig")

    def _turned(self, off: Floats, crop: Floats, way: str, *, both: bool) -> Floats:
        """Degrees of pan or tilt that bring points so far off the middle to the crop's.

        By the tangent: even angles are not even on the screen.
        """
        (x, y), (x0, y0) = off.T, crop.T
        if not both:
            axis = 0 if way == "pan" else 1
            angles = np.arctan(off[:, axis] / self.reach) - np.arctan(crop[:, axis] / self.reach)
            return np.asarray(np.rad2deg(angles) * (1 if way == "pan" else -1))
        # A tilted camera pans about an upright axis. First the tilt that gives each point its
        # height over the level plane, then the pan that gives it its bearing.
        far, far0 = (np.sqrt(a * a + b * b + self.reach**2) for a, b in ((x, y), (x0, y0)))
        upright = np.hypot(y0, self.reach)
        start = np.arctan2(y0, self.reach)
        tilt = start - np.arcsin(np.clip(y / far * far0 / upright, -1, 1))
        if way == "tilt":
            return np.asarray(np.rad2deg(tilt))
        ahead = upright * np.cos(start - tilt)
        return np.asarray(np.rad2deg(np.arctan2(x, self.reach) - np.arctan2(x0, ahead)))

    def framings(self, poses: Poses, first: Floats, roll: Floats) -> Floats:
        """The framings of the first still that look, at the subject's distance, as a rig will.

        Parameters
        ----------
        poses : Poses
        first : (4,) array
            The first framing, kept as a crop.
        roll : (n,) array
            Degrees that the camera has rolled.

        Returns
        -------
        (n, 4) array
            x, y, width and roll. A turned camera keeps the width: what a tilted view does to the
            size of things is no framing's to show.

        Examples
        --------
        >>> import numpy as np
        >>> view = View(lens=Lens(focal_length=50, distance=800), still=Size(6000, 4000))
        >>> nearer = Poses.of(np.array([[0, 0, 400.0, 0, 0, 0, 0]]), distance=800)
        >>> view.framings(nearer, np.array([3000, 2000, 6000, 0.0]), np.zeros(1)).tolist()
        [[3000.0, 2000.0, 3000.0, 0.0]]
        """
        spot = (first[:2] - self.middle) / self.still.width
        spots = np.broadcast_to(spot, (len(poses), 1, 2))
        there = self._on_still(poses, spots)[:, 0]
        width = first[2] * (1 - poses.nearer / self.lens.distance)
        return np.column_stack([there, width, first[3] + roll])

    def gap(self, poses: Poses, rows: Floats, shape: float) -> Floats:
        """How far a rig's picture is from the digital move's, in frame widths.

        At the corner of the frame that differs most, on an upright sheet at the subject's
        distance: perspective, an entrance pupil off the pivot, whatever the rig leaves out.

        Parameters
        ----------
        poses : Poses
        rows : (n, 4) array
            The digital framings.
        shape : float
            The frame's height over its width.

        Returns
        -------
        (n,) array
        """
        corners = corner_offsets(shape)
        kept, digital = on_still(rows[0], corners), on_still(rows[:, None], corners)
        spots = np.broadcast_to((kept - self.middle) / self.still.width, (len(poses), 4, 2))
        away = self._on_still(poses, spots) - digital
        far = np.hypot(away[..., 0], away[..., 1]) / rows[:, 2, None]
        return np.asarray(np.where(np.isnan(far), np.inf, far).max(axis=1))

    def _on_still(self, poses: Poses, spots: Floats) -> Floats:
        """Where on the first still lies what is seen at spots later, at the subject's distance."""
        points = poses.struck(spots, self.lens.distance, self.lens.reach)
        return np.asarray(points[..., :2] * self.reach / self.lens.distance + self.middle)


def left_to_crop(done: Floats, wanted: Floats) -> Floats:
    """What is left for a crop to do, where a hand has done some of a digital move.

    Parameters
    ----------
    done : (n, 4) array
        The framings of the first still that look as what was photographed does through the first
        framing: x, y, width and roll.
    wanted : (n, 4) array
        The framings of the first still that are to be seen.

    Returns
    -------
    (n, 4) array
        The framings of the stills as they were photographed, each of its own.

    Examples
    --------
    >>> import numpy as np
    >>> wanted = np.array([[3000, 2000, 6000, 0], [3400, 2000, 3000, 0.0]])
    >>> left_to_crop(wanted, wanted).tolist()    # all is done: the first framing stays
    [[3000.0, 2000.0, 6000.0, 0.0], [3000.0, 2000.0, 6000.0, 0.0]]
    >>> panned = np.array([[3000, 2000, 6000, 0], [3400, 2000, 6000, 0.0]])
    >>> left_to_crop(panned, wanted)[1].tolist()    # the push in is left
    [3000.0, 2000.0, 3000.0, 0.0]
    """
    first = wanted[:1]
    centre = on_still(first, in_frame(done, wanted[:, :2]))
    wider, turned = wanted[:, 2] / done[:, 2], wanted[:, 3] - done[:, 3]
    return np.column_stack([centre, first[:, 2] * wider, first[:, 3] + turned])
