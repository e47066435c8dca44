"""Ways across the still and the screen."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.transform import SimilarityTransform

from cropmove.geometry import Size
from cropmove.move.course import Course, Move
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.sheets.ways import (
    directions,
    number_order,
    screen_way,
    tick_numbers,
    ticks_along,
    told_apart,
)

HD = Size(1920, 1080)
SIDES = st.floats(-3000, 9000)
POINTS = st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=2, max_size=40)


def _course(first: Framing, last: Framing, frames: int = 13) -> Course:
    move = Move((Key(frame=1, framing=first), Key(frame=frames, framing=last)), HD)
    return Course.of(move, frames=frames, fps=Fraction(24))


@given(x=SIDES, y=SIDES, width=st.floats(100, 9000), roll=st.floats(-30, 30), px=SIDES, py=SIDES)
def test_a_point_is_seen_where_a_similarity_puts_it(
    x: float, y: float, width: float, roll: float, px: float, py: float
) -> None:
    """Against scikit-image's SimilarityTransform: the frame laid on the still, turned around."""
    framing = Framing(x=x, y=y, width=width, roll=roll)
    course = _course(framing, framing, frames=2)
    scale = width / HD.width
    centre = SimilarityTransform(translation=(-HD.width / 2, -HD.height / 2))
    laid = centre + SimilarityTransform(scale=scale, rotation=np.deg2rad(roll), translation=(x, y))
    expected = laid.inverse(np.array([[px, py]]))[0]
    assert screen_way(course, np.array([px, py]))[1] == pytest.approx(expected, abs=1e-5, rel=1e-9)


def test_a_point_goes_straight_across_the_screen_while_the_camera_closes_in() -> None:
    """Constant-rate zooming about a fixed point: P = (c0 w1 - c1 w0) / (w1 - w0), computed."""
    first = Framing(x=2000, y=1500, width=4000)
    course = _course(first, Framing(x=3000, y=1000, width=2000))
    way = screen_way(course, np.array([2500.0, 1800.0]))
    across = way[-1] - way[0]
    off = way - way[0]
    bow = np.abs(across[0] * off[:, 1] - across[1] * off[:, 0]) / np.hypot(*across)
    assert bow.max() < 1e-9


def test_the_fixed_point_of_a_zoom_stays_on_the_screen() -> None:
    """P = (4000, 500), at a screen offset of (0.5, -0.25): computed from the formula above."""
    course = _course(Framing(x=2000, y=1500, width=4000), Framing(x=3000, y=1000, width=2000))
    way = screen_way(course, np.array([4000.0, 500.0]))
    assert way == pytest.approx(np.tile([960 + 960, 540 - 480], (13, 1)))


def test_a_point_that_moves_is_followed() -> None:
    framing = Framing(x=960, y=540, width=1920)
    course = _course(framing, framing, frames=3)
    moving = np.array([(0.0, 0.0), (10.0, 5.0), (20.0, 10.0)])
    assert screen_way(course, moving).tolist() == moving.tolist()


@given(POINTS)
def test_ticks_stand_across_the_way_and_are_as_long_as_asked(
    points: list[tuple[float, float]],
) -> None:
    way = np.array(points)
    ticks = ticks_along(way, 2.0)
    assert ticks.mean(axis=1) == pytest.approx(way, abs=1e-9)
    arms = ticks[:, 1] - ticks[:, 0]
    assert np.hypot(*arms.T) == pytest.approx(np.full(len(way), 2.0))
    assert (arms * directions(way)).sum(axis=1) == pytest.approx(np.zeros(len(way)), abs=1e-9)


@given(POINTS, st.floats(0.1, 30))
def test_numbers_keep_their_distance_and_both_ends_have_theirs(
    points: list[tuple[float, float]], gap: float
) -> None:
    way = np.array(points)
    chosen = tick_numbers(way, gap)
    assert {0, len(way) - 1} <= set(chosen)
    inner = [index for index in chosen if index != len(way) - 1]
    for place, index in enumerate(inner):
        for other in inner[place + 1 :]:
            assert np.hypot(*(way[index] - way[other])) >= gap


@given(st.integers(1, 400))
def test_every_frame_is_asked_for_once(count: int) -> None:
    assert sorted(number_order(count)) == list(range(count))


@given(st.integers(1, 60), st.lists(st.booleans(), min_size=1, max_size=60))
def test_where_the_way_stands_its_direction_is_the_nearest_that_is_known(
    length: int, moves: list[bool]
) -> None:
    """Against every distance there is, looked through one by one."""
    points = np.cumsum([(float(move), 0.5 * move) for move in moves], axis=0) * length
    around = np.gradient(points, axis=0) if len(points) > 1 else np.zeros_like(points)
    known = [n for n, step in enumerate(around) if np.hypot(*step) > 1e-9]
    for index, found in enumerate(directions(points)):
        if known:
            nearest = around[min(known, key=lambda place: abs(place - index))]
            assert found == pytest.approx(nearest / np.hypot(*nearest))


def test_a_long_way_takes_no_more_than_a_few_numbers_a_frame() -> None:
    """A table of every frame against every other would be 8 TB of numbers."""
    way = np.stack([np.linspace(0, 200, 1_000_000), np.zeros(1_000_000)], axis=1)
    assert directions(way)[500_000].tolist() == [1.0, 0.0]
    assert len(tick_numbers(way, 7.0)) <= 200 / 7 + 2
    assert len(told_apart(way)) == pytest.approx(200 / 0.05, abs=2)
