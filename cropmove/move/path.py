"""Where the camera goes, whatever the pace: framings by the share of the travel that is done.

A leg between two keys keeps its width at a constant rate and its centre linear in the width.
Then one point of the plane, P = (c0 w1 - c1 w0) / (w1 - w0), stands still on the screen and all
others move along straight lines through it, at an even rate.

In the space of (x, y, width) such a leg is a straight line. So a leg through more keys is a smooth
curve through their points in that space, and pace is measured along it by what the screen shows.
Keys that lie on one straight leg therefore change nothing about the way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, Protocol

import numpy as np

from cropmove.geometry import Floats, corner_offsets, turn
from cropmove.move.framing import Framing
from cropmove.move.spline import within_rises

if TYPE_CHECKING:
    from scipy.interpolate import CubicHermiteSpline

__all__ = ["Curve", "Path", "Route", "Straight", "route_through", "screen_rates"]

_GRID = 512
"""Samples of travel between two keys of a curve."""

_ALIKE = 1e-6
"""Frame widths: neighbours nearer than a thousandth of a pixel or so are one place."""


class Path(Protocol):
    """A way through framings."""

    def at(self, progress: Floats) -> Floats:
        """(n, 4) rows of x, y, width, roll at n shares of the travel."""
        ...


def screen_rates(rows: Floats, slopes: Floats, shape: float) -> Floats:
    """How fast the fastest corner of the frame moves, in frame widths.

    Parameters
    ----------
    rows, slopes : (n, 4) arrays
        x, y, width, roll, and how they change with whatever runs along the way.
    shape : float
        The frame's height over its width.

    Returns
    -------
    (n,) array

    Notes
    -----
    A point of the set seen at offset o from the centre, in frame widths, moves by
    -(c' + w' R o + w θ' J R o) / w, with R the roll and J a quarter turn.
    """
    width, roll = rows[:, 2, None, None], rows[:, 3, None]
    corners = turn(corner_offsets(shape)[None], roll)
    across = turn(corners, 90.0)
    turning = np.deg2rad(slopes[:, 3, None, None])
    moved = (slopes[:, None, :2] + slopes[:, 2, None, None] * corners) / width + turning * across
    return np.asarray(np.hypot(moved[..., 0], moved[..., 1]).max(axis=1))


@dataclass(frozen=True, slots=True)
class Straight:
    """The way between two framings on which every point crosses the screen in a straight line.

    Examples
    --------
    >>> way = Straight(Framing(x=2000, y=1500, width=4000), Framing(x=3000, y=1000, width=2000))
    >>> way.at(np.array([0.5]))[0].round(4).tolist()
    [2585.7864, 1207.1068, 2828.4271, 0.0]
    """

    start: Framing
    end: Framing

    @property
    def rate(self) -> float:
        """The natural logarithm of the last width over the first."""
        return float(np.log(self.end.width / self.start.width))

    def at(self, progress: Floats) -> Floats:
        """(n, 4) rows at n shares; beyond 0 and 1 the move goes on at the same rate."""
        first, last = self.start.to_row(), self.end.to_row()
        grown = np.expm1(progress * self.rate)
        share = grown / np.expm1(self.rate) if self.rate else progress
        rows = first + np.stack([share, share, share, progress], axis=1) * (last - first)
        rows[:, 2] = first[2] * (grown + 1)
        return rows

    def slopes(self, progress: Floats) -> Floats:
        """(n, 4) changes of the rows with progress."""
        first, last = self.start.to_row(), self.end.to_row()
        grows = np.exp(progress * self.rate)
        by_share = grows * self.rate / np.expm1(self.rate) if self.rate else np.ones_like(progress)
        per = np.stack([by_share, by_share, by_share, np.ones_like(progress)], axis=1)
        changes = per * (last - first)
        changes[:, 2] = first[2] * self.rate * grows
        return changes

    def travel(self, shape: float) -> float:
        """How far the fastest corner travels, in frame widths."""
        # Without roll the rate is even. With it another corner may become the fastest on the way,
        # and no rule of higher order does better across such a bend.
        rolls = self.start.roll != self.end.roll
        at = np.linspace(0, 1, 2 * _GRID + 1 if rolls else 33)
        rates = screen_rates(self.at(at), self.slopes(at), shape)
        return float(np.trapezoid(rates, at))


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A smooth way through three framings or more; `through` makes one.

    A cubic through (x, y, width, roll) that passes each key in the direction half-way between
    that of the straight move to it and that of the straight move from it. The width never leaves
    the range of the two keys around it, so a framing on the way is never tighter than both, nor
    wider; the centre swings a little wide of a corner, as anything must that does not stop there.
    """

    knots: Floats
    """The share of the travel at each framing: 0 to 1."""
    ease_through: Floats
    """How much of its pace the camera keeps at each: 1 straight on, 0 where it turns back."""
    spline: CubicHermiteSpline
    """Rows by the distance along the chords."""
    chord_at: CubicHermiteSpline
    """That distance by the share of the travel."""

    @classmethod
    def through(cls, framings: Sequence[Framing], shape: float) -> Curve:
        """The curve through framings, no two neighbours alike, for frames of that shape."""
        from scipy.interpolate import CubicHermiteSpline

        rows = np.array([framing.to_row() for framing in framings])
        ways = [Straight(a, b) for a, b in pairwise(framings)]
        chords = np.array([way.travel(shape) for way in ways])
        along = np.array([0.0, *accumulate(chords)])
        ends = np.array([0.0, 1.0])
        each = np.array([way.slopes(ends) / c for way, c in zip(ways, chords, strict=True)])
        leaving, arriving = each[:, 0], each[:, 1]
        slopes = _at_keys(leaving, arriving)
        # A straight move that rolls does not keep one pace all along: what is kept is a share of
        # what the two beside a key have there.
        paces = screen_rates(rows[:-1], leaving, shape), screen_rates(rows[1:], arriving, shape)
        kept = screen_rates(rows, slopes, shape) / _at_keys(*paces)
        spline = CubicHermiteSpline(along, rows, _held_back(slopes, np.diff(rows[:, 2]) / chords))
        grid = np.concatenate(
            [along[:1], *(np.linspace(a, b, _GRID + 1)[1:] for a, b in pairwise(along))]
        )
        halfway = (grid[1:] + grid[:-1]) / 2
        rates = screen_rates(spline(grid), spline(grid, 1), shape)
        between = screen_rates(spline(halfway), spline(halfway, 1), shape)
        pieces = (rates[1:] + 4 * between + rates[:-1]) / 6 * np.diff(grid)  # Simpson's rule
        travelled = np.concatenate([[0.0], np.cumsum(pieces)]) / pieces.sum()
        rising = _rising(travelled, grid, rates / pieces.sum())
        return cls(
            knots=travelled[::_GRID],
            ease_through=np.clip(kept, 0, 1),
            spline=spline,
            chord_at=CubicHermiteSpline(travelled, grid, rising),
        )

    def at(self, progress: Floats) -> Floats:
        """(n, 4) rows at n shares of the travel, 0 to 1."""
        return np.asarray(self.spline(self.chord_at(np.clip(progress, 0, 1))))


def _at_keys(leaving: Floats, arriving: Floats) -> Floats:
    """What holds at k keys, of what holds for leaving and arriving straight: the mean on the way.

    Two slopes of one pace have a mean as long as half of the angle between them allows: whole
    where the way goes straight on, nothing where it turns back on itself.
    """
    return np.concatenate([leaving[:1], (arriving[:-1] + leaving[1:]) / 2, arriving[-1:]])


def _held_back(slopes: Floats, rises: Floats) -> Floats:
    """Slopes whose width does not swing beyond the keys: Hyman 1983 (see `gentle_slopes`).

    Where it only has to be slower, all four are slowed alike, which keeps the direction.
    """
    held = slopes.copy()
    allowed = within_rises(slopes[:, 2], rises)
    same_way = allowed != 0
    share = np.divide(allowed, slopes[:, 2], out=np.ones_like(allowed), where=same_way)
    held *= share[:, None]
    held[:, 2] = allowed
    return held


def _rising(travelled: Floats, grid: Floats, speeds: Floats) -> Floats:
    """Slopes of the grid over the travel, held back at rest, where they would be endless.

    Three times the lesser of the neighbouring rises keeps a cubic rising: Fritsch & Carlson,
    SIAM J. Numer. Anal. 17:238, 1980.
    """
    rises = np.diff(grid) / np.diff(travelled)
    most = 3 * np.minimum(np.append(rises[:1], rises), np.append(rises, rises[-1:]))
    return np.asarray(1 / np.maximum(speeds, 1 / most))


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """A way, and how far along it each key of a leg stands.

    Parameters
    ----------
    path : Path
    knots : (k,) array
        The share of the travel at each key, never falling.
    ease_through : (k,) array
        How much of its pace the camera keeps at each key: 1 straight on, 0 where the way turns
        back.
    """

    path: Path
    knots: Floats
    ease_through: Floats


def route_through(framings: Sequence[Framing], shape: float) -> Route:
    """The way through a leg's framings: straight where there are two, else a smooth curve.

    Parameters
    ----------
    framings : sequence of Framing
        Two or more; neighbours may be alike, the camera then waits there.
    shape : float
        The frame's height over its width.

    Examples
    --------
    >>> wide, tight = Framing(x=3, y=2, width=6), Framing(x=3, y=2, width=2)
    >>> route_through([wide, wide, tight], 0.5).knots.tolist()
    [0.0, 0.0, 1.0]
    """
    apart = (Straight(a, b).travel(shape) > _ALIKE for a, b in pairwise(framings))
    places = [0, *accumulate(map(int, apart))]
    distinct = [framings[places.index(place)] for place in range(places[-1] + 1)]
    if len(distinct) < 3:
        straight = Straight(distinct[0], distinct[-1])
        ends = np.array([0.0, 1.0])
        return Route(path=straight, knots=ends[places], ease_through=np.ones(len(places)))
    curve = Curve.through(distinct, shape)
    return Route(path=curve, knots=curve.knots[places], ease_through=curve.ease_through[places])
