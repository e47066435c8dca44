"""A camera of its own, to say what a plane that stands before it looks like as it goes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation


def a_plane(
    shape: tuple[int, ...],
    sideways: float = 0.0,
    up: float = 0.0,
    nearer: float = 0.0,
    pan: float = 0.0,
    tilt: float = 0.0,
    roll: float = 0.0,
    far: float = 800.0,
) -> NDArray[np.float64]:
    """What a camera makes of a plane it first stood square to, as a matrix for its pixels.

    It has 50 mm before a sensor 36 mm wide; pixels are counted from the middle of the first.

    K (R - t n' / d) K^-1: Hartley & Zisserman, Multiple View Geometry, 2nd ed., 13.1, for a camera
    that stands at c and looks along the columns of Q: R = Q', t = -Q' c, and n' = (0, 0, -1).
    """
    down, across = shape[:2]
    focal = 50 / 36 * across
    camera = np.array([[focal, 0, across / 2 - 0.5], [0, focal, down / 2 - 0.5], [0, 0, 1]])
    looks = Rotation.from_euler("YXZ", [pan, tilt, roll], degrees=True).as_matrix()
    at = np.array([sideways, -up, nearer])
    seen = looks.T @ (np.eye(3) - np.outer(at, [0, 0, 1]) / far)
    return camera @ seen @ np.linalg.inv(camera)
