"""How the picture shifts from still to still because of what a hand moves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from cropmove.checks.facts import Facts
from cropmove.geometry import Floats
from cropmove.rig.marks import Marks
from cropmove.rig.optics import ANY_LENS
from cropmove.rig.working import Table

__all__ = ["as_moved_by_hand", "through_the_lens"]

_CERTAIN = 1.0
"""Pixels of the still, about: a shift is found more exactly than that."""
_MIDDLE = np.array([[0.5, 0.5]])


def through_the_lens(facts: Facts, table: Table, spots: Floats) -> Floats:
    """How places of the picture shift as camera and set are moved, at the subject's distance.

    Parameters
    ----------
    facts : Facts
    table : Table
        Where things stand.
    spots : (m, 2) array
        Right and down, in widths and heights of the still.

    Returns
    -------
    (n - 1, m, 2) array
        Pixels of the still, right and down, in the step to each still but the first; nan where
        nothing is seen.
    """
    # Without a lens this is asked only where the camera does nothing but roll.
    size, lens, poses = facts.usual_size, facts.shot.lens or ANY_LENS, table.seen_poses
    before, after = poses[:-1], poses[1:]
    places = (spots - 0.5) * np.array([1.0, size.height / size.width])
    places = np.broadcast_to(places, (len(before), *places.shape))
    points = before.struck(places, lens.distance, lens.reach)
    return np.asarray((after.seen(points, lens.reach) - places) * size.width)


def as_moved_by_hand(facts: Facts, shifts: Floats) -> Floats:
    """How the picture goes because of what a hand moves, which starts and stops.

    A tape has the marks themselves, a list their rounded readings, and half a division can be more
    than a bump: whichever of the two accounts for more of the shifts is what the hand went by.

    Parameters
    ----------
    facts : Facts
    shifts : (n, 2) array
        What was seen: pixels of the still, right and down; nan where that is not known.

    Returns
    -------
    (n, 2) array
    """
    tables = facts.table, facts.table.as_read
    tried = [_fitted(shifts, ways) for table in tables for ways in _ways(facts, table, len(shifts))]
    return min(tried, key=lambda planned: np.nansum(abs(shifts - planned)))


def _ways(facts: Facts, table: Table, count: int) -> Iterator[Floats]:
    """What may make up the shifts of so many stills: (count, 2, ways), in two manners.

    Each thing shifts the picture by so much for a millimetre or a degree, whatever the lens. Or
    camera and set together do it as the lens shows them, so that a camera that comes nearer while
    it goes sideways shifts it by more and more; the rest as before.
    """
    yield _one_by_one(table.moved, count)
    seen = table.camera_and_set
    if facts.shot.lens is not None and seen:
        together = np.zeros((count, 2, 1))
        steps = through_the_lens(facts, table, _MIDDLE)[: count - 1, 0]
        together[1 : len(steps) + 1, :, 0] = np.nan_to_num(steps)
        others = _one_by_one([m for m in table.moved if m not in seen], count)
        yield np.concatenate([together, others], axis=2)


def _one_by_one(moved: Sequence[Marks], count: int) -> Floats:
    ways = np.zeros((count, 2, 2 * len(moved)))
    for number, marks in enumerate(moved):
        steps = np.diff(marks.moved[:count]) / (np.ptp(marks.moved) or 1.0)
        for axis in (0, 1):
            ways[1 : len(steps) + 1, axis, 2 * number + axis] = steps
    return ways


def _fitted(shifts: Floats, ways: Floats) -> Floats:
    """The sum of the ways that accounts best for the shifts: how much of each there is.

    How many pixels a millimetre makes at the distance of what fills the picture is found from the
    shifts themselves, by the fit in which what stands out counts least.
    """
    told = ~np.isnan(shifts).any(axis=1)
    if not ways[told].any():
        return np.zeros_like(shifts)

    from scipy.optimize import least_squares

    seen, known = shifts[told].ravel(), ways[told].reshape(-1, ways.shape[2])

    def left(shares: Floats) -> Floats:
        return np.asarray(seen - known @ shares)

    start = np.linalg.lstsq(known, seen, rcond=None)[0]
    found = least_squares(left, start, loss="soft_l1", f_scale=_CERTAIN)
    return np.asarray(ways @ found.x)
