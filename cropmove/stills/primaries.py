"""Primaries and white points: from linear RGB to XYZ under D50, where profiles meet."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from cropmove.geometry import Floats

__all__ = ["D65", "PRIMARIES", "SRGB_CHROMATICITIES", "from_matrix", "to_xyz"]

D50 = (0.9642, 1.0, 0.8249)
"""XYZ of the profile connection space's white (ICC.1:2022, 7.2.16)."""
D65 = (0.3127, 0.3290)
_DCI_WHITE = (0.314, 0.351)
_C = (0.310, 0.316)

BRADFORD = np.array(
    [(0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296)]
)
"""The cone responses that adapt one white to another (ICC.1:2022, annex E)."""

SRGB_CHROMATICITIES = (0.640, 0.330, 0.300, 0.600, 0.150, 0.060, *D65)
"""x and y of red, green, blue and white: ITU-R BT.709-6, 1.3; IEC 61966-2-1."""

PRIMARIES: dict[int, tuple[float, ...]] = {
    1: SRGB_CHROMATICITIES,
    4: (0.67, 0.33, 0.21, 0.71, 0.14, 0.08, *_C),
    5: (0.64, 0.33, 0.29, 0.60, 0.15, 0.06, *D65),
    6: (0.630, 0.340, 0.310, 0.595, 0.155, 0.070, *D65),
    7: (0.630, 0.340, 0.310, 0.595, 0.155, 0.070, *D65),
    9: (0.708, 0.292, 0.170, 0.797, 0.131, 0.046, *D65),
    11: (0.680, 0.320, 0.265, 0.690, 0.150, 0.060, *_DCI_WHITE),
    12: (0.680, 0.320, 0.265, 0.690, 0.150, 0.060, *D65),
}
"""x and y of red, green, blue and white by code point: ITU-T H.273, table 2."""


_FLATTEST = 1e6
"""Condition of the matrix above which primaries lie on one line; those in use: below 4."""


@lru_cache(maxsize=16)
def to_xyz(chromaticities: tuple[float, ...]) -> Floats:
    """The matrix from linear RGB to XYZ, adapted to D50.

    Parameters
    ----------
    chromaticities
        x and y of red, green, blue and white.

    Returns
    -------
    (3, 3) array
        SMPTE RP 177's derivation, then Bradford's adaptation. Not to be changed: it serves again.

    Raises
    ------
    ValueError
        Where they span no colours: two are the same, or all on one line.

    Examples
    --------
    >>> to_xyz(SRGB_CHROMATICITIES).sum(axis=1).round(4).tolist()
    [0.9642, 1.0, 0.8249]
    """
    xy = np.array(chromaticities, dtype=np.float64).reshape(4, 2)
    with np.errstate(all="ignore"):
        xyz = np.column_stack([xy[:, 0], xy[:, 1], 1 - xy.sum(axis=1)]) / xy[:, 1:]
        colours, white = xyz[:3].T, xyz[3]
        native = colours * np.linalg.solve(colours, white)
        matrix: Floats = _adaptation(white, np.array(D50)) @ native
    if not np.isfinite(matrix).all() or np.linalg.cond(matrix) > _FLATTEST:
        raise ValueError("they span no colours")
    matrix.flags.writeable = False
    return matrix


def _adaptation(given: Floats, wanted: Floats) -> Floats:
    scale = np.diag((BRADFORD @ wanted) / (BRADFORD @ given))
    adapted: Floats = np.linalg.solve(BRADFORD, scale @ BRADFORD)
    return adapted


def from_matrix(matrix: Floats) -> tuple[float, ...]:
    """The chromaticities under D65 of a matrix to XYZ under D50: the way back of `to_xyz`."""
    x, y = D65
    white = np.array([x / y, 1, (1 - x - y) / y])
    columns = np.column_stack([_adaptation(np.array(D50), white) @ matrix, white])
    xy = columns[:2] / columns.sum(axis=0)
    return tuple(xy.T.reshape(-1).tolist())
