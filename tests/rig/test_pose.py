"""The camera's pinhole against OpenCV's `projectPoints`, which nobody here wrote."""

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.rig.pose import CAMERA_WAYS, Poses

REACH = 50 / 36
CAMERA = np.diag([REACH, REACH, 1.0])
POINTS = np.array(
    [[0, 0, 800], [120, -60, 500], [-200, 90, 2000], [35, 70, 650.0], [-10, -15, 900]]
)


def by_opencv(at, pan=0.0, tilt=0.0, roll=0.0):
    """Where OpenCV puts the points: the turns undone one after another, each by Rodrigues.

    All of them go to it as a matrix: as a vector, small turns come out 6e-8 off.
    """
    turned = np.eye(3)
    for axis, degrees in (((0, -1, 0), pan), ((-1, 0, 0), tilt), ((0, 0, -1), roll)):
        turned = cv2.Rodrigues(np.array(axis) * np.deg2rad(degrees))[0] @ turned
    moved = -turned @ np.asarray(at, dtype=np.float64)
    seen, _ = cv2.projectPoints(POINTS, turned, moved, CAMERA, None)
    return seen[:, 0]


def seen(distance=800.0, pupil=0.0, **ways):
    row = np.array([[ways.get(way, 0.0) for way in CAMERA_WAYS]])
    return Poses.of(row, distance=distance, pupil=pupil).seen(POINTS[None], REACH)[0]


@pytest.mark.parametrize(
    ("ways", "at", "turns"),
    [
        ({"sideways": 24.0}, (24, 0, 0), {}),
        ({"up": 15.0}, (0, -15, 0), {}),
        ({"in": 300.0}, (0, 0, 300), {}),
        ({"pan": 7.5}, (0, 0, 0), {"pan": 7.5}),
        ({"tilt": -4.0}, (0, 0, 0), {"tilt": -4.0}),
        ({"roll": 3.0}, (0, 0, 0), {"roll": 3.0}),
    ],
)
def test_each_way_is_seen_as_opencv_sees_it(ways, at, turns):
    assert seen(**ways) == pytest.approx(by_opencv(at, **turns), abs=1e-12)


@given(*[st.floats(-40, 40)] * 3, *[st.floats(-20, 20)] * 3)
def test_all_ways_together_are_seen_as_opencv_sees_them(sideways, up, inward, pan, tilt, roll):
    ways = {"sideways": sideways, "up": up, "in": inward, "pan": pan, "tilt": tilt, "roll": roll}
    expected = by_opencv((sideways, -up, inward), pan, tilt, roll)
    assert seen(**ways) == pytest.approx(expected, abs=1e-9)


def test_an_arc_keeps_its_subject_in_the_middle_and_its_size():
    turned = np.deg2rad(12)
    at = (800 * np.sin(turned), 0, 800 * (1 - np.cos(turned)))
    assert seen(arc=12.0) == pytest.approx(by_opencv(at, pan=-12.0), abs=1e-9)
    assert seen(arc=12.0)[0] == pytest.approx([0, 0], abs=1e-12)


def test_a_pupil_in_front_of_the_pivot_swings():
    turned = np.deg2rad(10)
    at = (40 * np.sin(turned), 0, 40 * (np.cos(turned) - 1))
    assert seen(pan=10.0, pupil=40.0) == pytest.approx(by_opencv(at, pan=10.0), abs=1e-12)


def test_a_pupil_in_front_of_the_pivot_swings_on_an_arc_as_it_does_on_a_stand():
    # The pivot stands 40 mm behind the pupil, 840 from the subject, and goes round it by 30
    # degrees; then the camera turns back by 20, to look 10 to the left of straight ahead.
    arc, ahead = np.deg2rad(30), np.deg2rad(-10)
    pivot = np.array([840 * np.sin(arc), 0, 800 - 840 * np.cos(arc)])
    at = pivot + 40 * np.array([np.sin(ahead), 0, np.cos(ahead)])
    assert seen(arc=30.0, pan=20.0, pupil=40.0) == pytest.approx(by_opencv(at, pan=-10.0), abs=1e-9)


def test_what_is_behind_the_lens_is_not_seen():
    assert np.isnan(seen(**{"in": 850.0})[0]).all()


@pytest.mark.parametrize("arc", [-35.0, 30.0, 90.0, 150.0])
def test_an_arc_carries_the_track_and_the_slider_that_stand_on_it(arc):
    # By hand: what is on the pivot stays in the middle, and is as near as the track has brought it;
    # a slider then moves it by f/d to the left, as it does without an arc.
    ways = np.array([[0, 0, 200.0, 0, 0, 0, arc], [100.0, 0, 200.0, 0, 0, 0, arc]])
    poses = Poses.of(ways, distance=800)
    pivot = np.full((2, 1, 3), (0.0, 0.0, 800.0))
    assert poses.depths(pivot)[:, 0] == pytest.approx([600, 600])
    assert poses.seen(pivot, REACH)[:, 0] == pytest.approx(
        np.array([[0, 0], [-100 / 600 * REACH, 0]]), abs=1e-12
    )


def test_a_pupil_before_the_pan_axis_goes_along_the_arc_and_swings_with_the_pan():
    # By hand: arc 30° right round the subject, then pan 20° about an axis 60 mm behind the pupil.
    # The axis stands 860 mm from the subject; the pupil is 60 mm from it, along the way it looks.
    (at,) = Poses.of(np.array([[0, 0, 0, 20.0, 0, 0, 30.0]]), distance=800, pupil=60).at
    turned, looks = np.deg2rad(30), np.deg2rad(20 - 30)
    axis = np.array([860 * np.sin(turned), 0, 800 - 860 * np.cos(turned)])
    assert at == pytest.approx(axis + 60 * np.array([np.sin(looks), 0, np.cos(looks)]))
