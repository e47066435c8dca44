"""Smooth curves that do not swing beyond the points they go through."""

from __future__ import annotations

import numpy as np

from cropmove.geometry import Floats

__all__ = ["gentle_slopes", "within_rises"]


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

    return within_rises(CubicSpline(x, y, bc_type="natural")(x, 1), np.diff(y) / np.diff(x))


def within_rises(slopes: Floats, rises: Floats) -> Floats:
    """Slopes held back so that a cubic with them does not swing beyond its points.

    At most three times the lesser of the rises on both sides; level where they go opposite ways.

    Parameters
    ----------
    slopes : (n,) array
    rises : (n - 1,) array
        Of the straight lines between the points.

    Examples
    --------
    >>> within_rises(np.array([1.0, 9.0, 1.0]), np.array([1.0, 2.0])).tolist()
    [1.0, 3.0, 1.0]
    """
    before, after = np.append(rises[:1], rises), np.append(rises, rises[-1:])
    way = np.sign(before)
    most = 3 * np.minimum(abs(before), abs(after)) * (way == np.sign(after))
    return np.asarray(way * np.clip(way * slopes, 0, most))
