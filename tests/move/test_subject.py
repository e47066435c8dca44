"""Subjects: points pinned to frames, straight between."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.subject import Point, Subject

coordinate = st.floats(-10_000, 10_000)


@st.composite
def subjects(draw):
    frames = sorted(draw(st.sets(st.integers(1, 200), min_size=1, max_size=6)))
    points = [
        Point(frame=f, x=draw(coordinate), y=draw(coordinate), width=draw(st.floats(0, 500)))
        for f in frames
    ]
    return Subject(points=tuple(points))


@given(subjects())
def test_it_is_where_its_points_say(subject):
    frames = np.array([float(point.frame) for point in subject.points])
    rows = np.array([point.to_row() for point in subject.points])
    assert np.array_equal(subject.at(frames), rows)


@given(subjects())
def test_it_stands_before_the_first_point_and_after_the_last(subject):
    before, after = subject.at(np.array([-5.0, 1000.0]))
    assert np.array_equal(before, subject.points[0].to_row())
    assert np.array_equal(after, subject.points[-1].to_row())


@given(subjects(), st.integers(1, 4))
def test_it_stands_while_a_still_is_held(subject, on):
    rows = subject.shown(24, on)
    for frame in range(24):
        assert np.array_equal(rows[frame], rows[frame // on * on])


def test_between_two_points_it_goes_evenly():
    subject = Subject(points=(Point(frame=1, x=0, y=0), Point(frame=5, x=8, y=4, width=4)))
    assert subject.at(np.array([2.0, 3.5]))[:, :3].tolist() == [[2, 1, 1], [5, 2.5, 2.5]]


def test_its_box_has_corners_clockwise_from_top_left():
    subject = Subject(points=(Point(frame=1, x=10, y=20, width=4, height=2),))
    assert subject.boxes(1)[0].tolist() == [[8, 19], [12, 19], [12, 21], [8, 21]]


def test_shares_of_the_still_become_pixels():
    point = Point.from_shares(0.5, 0.25, Size(6000, 4000), frame=3)
    assert (point.x, point.y, point.frame) == (3000, 1000, 3)


@pytest.mark.parametrize(
    ("values", "word"),
    [
        ({"frame": 0}, "frame"),
        ({"frame": 1.5}, "frame"),
        ({"x": float("nan")}, "x"),
        ({"width": -1}, "size"),
    ],
)
def test_a_point_that_cannot_be_is_refused(values, word):
    with pytest.raises(InputError, match=word):
        Point(**({"frame": 1, "x": 0, "y": 0} | values))


def test_points_out_of_order_and_no_points_are_refused():
    with pytest.raises(InputError, match="point 2, frame"):
        Subject(points=(Point(frame=5, x=0, y=0), Point(frame=5, x=1, y=0)))
    with pytest.raises(InputError, match="at least one point"):
        Subject(points=())
