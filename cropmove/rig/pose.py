"""Where the camera stands and looks, and what the lens makes of points on the set.

The set's axes start at the lens's entrance pupil at the first still, the camera level: x runs
right, y down, z away from the camera, in millimetres. What is seen is told in widths of the still
from its middle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cropmove.geometry import Floats

__all__ = ["CAMERA_WAYS", "Poses", "looking"]

CAMERA_WAYS = ("sideways", "up", "in", "pan", "tilt", "roll", "arc")
"""The columns of `Poses.of`: millimetres, then degrees."""


def looking(pan: Floats, tilt: Floats, roll: Floats) -> Floats:
    """The camera's axes on the set: (n, 3, 3), columns right, down and ahead.

    Parameters
    ----------
    pan, tilt, roll : (n,) arrays
        Degrees, to the right, upwards, and clockwise seen from behind. The pan's axis stands
        upright and carries the tilt's, as on any head.

    Examples
    --------
    >>> import numpy as np
    >>> none, quarter = np.zeros(1), np.array([90.0])
    >>> looking(quarter, none, none)[0][:, 2].round(9).tolist()    # ahead is to the right now
    [1.0, 0.0, 0.0]
    """
    (cp, sp), (ct, st), (cr, sr) = (
        (np.cos(np.deg2rad(angle)), np.sin(np.deg2rad(angle))) for angle in (pan, tilt, roll)
    )
    o, i = np.zeros_like(cp), np.ones_like(cp)
    panned = _matrices([[cp, o, sp], [o, i, o], [-sp, o, cp]])
    tilted = _matrices([[i, o, o], [o, ct, -st], [o, st, ct]])
    rolled = _matrices([[cr, -sr, o], [sr, cr, o], [o, o, i]])
    return panned @ tilted @ rolled


def _matrices(rows: list[list[Floats]]) -> Floats:
    return np.moveaxis(np.array(rows), -1, 0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Poses:
    """The camera at each still.

    Attributes
    ----------
    at : (n, 3) array
        The entrance pupil.
    axes : (n, 3, 3) array
        Columns right, down and ahead.
    nearer : (n,) array
        By how much it has come nearer to what an arc goes round, in millimetres, as far as it
        looks that way without pan and tilt.
    """

    at: Floats
    axes: Floats
    nearer: Floats

    def __len__(self) -> int:
        return len(self.at)

    def __getitem__(self, stills: slice) -> Poses:
        return Poses(at=self.at[stills], axes=self.axes[stills], nearer=self.nearer[stills])

    @classmethod
    def of(cls, ways: Floats, *, distance: float, pupil: float = 0.0) -> Poses:
        """Poses from how far the camera has gone each way.

        An arc carries all the rest: tracks turn with it, as a set on a turntable turns under them.

        Parameters
        ----------
        ways : (n, 7) array
            As `CAMERA_WAYS`.
        distance : float
            To the middle of an arc round the subject, in millimetres.
        pupil : float
            Millimetres by which the entrance pupil stands in front of the axis of pan and tilt.

        Examples
        --------
        >>> import numpy as np
        >>> Poses.of(np.array([[10.0, 0, 0, 0, 0, 0, 0]]), distance=800).at.tolist()
        [[10.0, 0.0, 0.0]]
        """
        sideways, up, inward, pan, tilt, roll, arc = ways.T
        ahead, level = np.array([0.0, 0.0, 1.0]), np.zeros_like(arc)
        looks, turned = looking(pan, tilt, roll), looking(-arc, level, level)
        # The axis of pan and tilt stays, and the pupil in front of it swings round it.
        swung = looks[:, :, 2] - ahead
        gone = np.stack([sideways, -up, inward], axis=1) + pupil * swung
        round_subject = distance * (ahead - turned[:, :, 2])
        at = round_subject + np.einsum("nij,nj->ni", turned, gone)
        return cls(at=at, axes=turned @ looks, nearer=gone[:, 2])

    def seen(self, points: Floats, reach: float) -> Floats:
        """Where points of the set fall on the still, in its widths from its middle.

        Parameters
        ----------
        points : (n, m, 3) array
            Points for each still.
        reach : float
            The image distance in widths of the still.

        Returns
        -------
        (n, m, 2) array
            nan for what is not in front of the lens.
        """
        from_camera = np.einsum("nmk,nkj->nmj", points - self.at[:, None], self.axes)
        depth = from_camera[..., 2:]
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(depth > 0, reach * from_camera[..., :2] / depth, np.nan)

    def depths(self, points: Floats) -> Floats:
        """How far in front of the lens points of the set are: (n, m) millimetres."""
        return np.asarray(np.einsum("nmk,nk->nm", points - self.at[:, None], self.axes[:, :, 2]))

    def struck(self, spots: Floats, distance: Floats | float, reach: float) -> Floats:
        """Which points of an upright sheet across the set are seen at spots of the still.

        Parameters
        ----------
        spots : (n, m, 2) array
            Widths of the still from its middle.
        distance : float or (n,) array
            Of the sheet, from where the lens was at the first still.
        reach : float

        Returns
        -------
        (n, m, 3) array
            nan where the sheet is not hit.
        """
        ahead = np.concatenate([spots, np.full((*spots.shape[:-1], 1), reach)], axis=-1)
        rays = np.einsum("nmj,nkj->nmk", ahead, self.axes)
        away = np.broadcast_to(np.asarray(distance), len(self))[:, None] - self.at[:, None, 2]
        with np.errstate(divide="ignore", invalid="ignore"):
            far = away / rays[..., 2]
        return np.asarray(self.at[:, None] + np.where(far > 0, far, np.nan)[..., None] * rays)
