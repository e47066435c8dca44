"""Smooth curves that do not swing beyond the points they go through."""

from __future__ import annotations

import numpy as np

from cropmove.geometry import Floats

__all__ = ["gentle_slopes"]


def gentle_slopes(x: Floats, y: Floats) -> Floats:
    """Slopes of a natural cubic spline, held back so that it does not swing beyond its points.

    Sources: Hyman, SIAM J. Sci. Stat. Comput. 4:645, 1983; Dougherty, Edelman & Hyman,
    Math. Comp. 52:471, 1989. Where nothing needs holding back this is the spline itself.

    Parameters
    ----------
    x : (n,) array
        Rising; two or more.
    y : (n,) array

    Returns
    -------
    (n,) array

    Examples
    --------
    >>> gentle_slopes(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 0.0])).tolist()
    [1.5, 0.0, -1.5]
    """
    from scipy.interpolate import CubicSpline

    slopes = CubicSpline(x, y, bc_type="natural")(x, 1)
    rises = np.diff(y) / np.diff(x)
    before, after = np.concatenate([rises[:1], rises]), np.concatenate([rises, rises[-1:]])
    same_way = np.sign(before) == np.sign(after)
    most = 3 * np.minimum(abs(before), abs(after)) * same_way
    way = np.sign(before)
    return np.asarray(way * np.clip(way * slopes, 0, most))
