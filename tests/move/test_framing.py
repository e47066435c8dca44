"""Framings: values, and the laws between the still, the frame and the corners."""

from __future__ import annotations

import pickle
from dataclasses import FrozenInstanceError

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.transform import SimilarityTransform

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.framing import FARTHEST, NARROWEST, Framing

HD = Size(1920, 1080)

framings = st.builds(
    Framing,
    x=st.floats(-1e4, 1e4),
    y=st.floats(-1e4, 1e4),
    width=st.floats(1, 2e4),
    roll=st.floats(-360, 360),
)
points = st.lists(st.tuples(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4)), min_size=1, max_size=5)


def test_its_height_scale_and_box_follow_from_the_delivery() -> None:
    # A 6000 x 4000 still at 16:9 allows 6000 x 3375 at widest (computed).
    framing = Framing(x=3000, y=2000, width=6000)
    assert framing.height(HD) == 3375
    assert framing.scale(HD) == 0.32
    assert framing.box(HD) == (0, 312.5, 6000, 3687.5)


def test_a_framing_as_wide_as_the_delivery_is_native() -> None:
    assert Framing(x=3000, y=2000, width=1920).scale(HD) == 1.0


@given(framings, points)
def test_from_the_still_to_the_frame_and_back_is_where_it_was(
    framing: Framing, places: list[tuple[float, float]]
) -> None:
    there = framing.to_frame(np.array(places), HD)
    offsets = (there - np.array([960, 540])) / 1920
    assert framing.to_still(offsets) == pytest.approx(np.array(places), abs=1e-6)


@given(framings, points)
def test_a_framing_is_the_similarity_that_skimage_makes_of_it(
    framing: Framing, places: list[tuple[float, float]]
) -> None:
    # An independent library: scikit-image, SimilarityTransform; y runs down in both.
    to_still = SimilarityTransform(
        scale=framing.width / 1920,
        rotation=np.deg2rad(framing.roll),
        translation=(framing.x, framing.y),
    )
    centred = framing.to_frame(np.array(places), HD) - np.array([960, 540])
    assert to_still(centred) == pytest.approx(np.array(places), abs=1e-6)


@given(framings)
def test_its_corners_are_those_of_opencvs_rotated_rectangle(framing: Framing) -> None:
    # An independent library: OpenCV, boxPoints (single precision), angles clockwise with y down.
    box = ((framing.x, framing.y), (framing.width, framing.height(HD)), framing.roll)
    theirs = cv2.boxPoints(box)
    ours = framing.corners(HD)
    gaps = np.hypot(*(theirs[:, None] - ours[None]).transpose(2, 0, 1))
    assert gaps.min(axis=1).max() < 0.02
    assert gaps.min(axis=0).max() < 0.02


def test_positive_roll_turns_the_camera_clockwise_so_the_picture_turns_the_other_way() -> None:
    # "Positive turns the camera clockwise seen from behind it": its top left corner goes right,
    # and what stood right of the centre then stands above it.
    still, rolled = Framing(x=0, y=0, width=1920), Framing(x=0, y=0, width=1920, roll=10)
    assert rolled.corners(HD)[0, 0] > still.corners(HD)[0, 0]
    assert rolled.to_frame(np.array([500.0, 0.0]), HD)[1] < 540


def test_its_corners_run_clockwise_from_the_top_left() -> None:
    corners = Framing(x=960, y=540, width=1920).corners(HD)
    assert corners.tolist() == [[0, 0], [1920, 0], [1920, 1080], [0, 1080]]


@given(framings)
def test_a_row_and_back_is_the_same_framing_to_the_last_bit(framing: Framing) -> None:
    assert Framing.from_row(framing.to_row()) == framing


@pytest.mark.parametrize("name", ["x", "y", "width", "roll"])
@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -float("inf"), 10**400])
def test_a_number_that_is_not_finite_is_refused_by_name(name: str, bad: float) -> None:
    values = {"x": 1, "y": 1, "width": 1, "roll": 0} | {name: bad}
    with pytest.raises(InputError) as refused:
        Framing(**values)
    assert refused.value.complaints[0].where == name
    assert "finite" in refused.value.complaints[0].rule


@pytest.mark.parametrize("bad", [0, -1, -0.0, 1e-320, NARROWEST / 2])
def test_a_width_of_nothing_is_refused(bad: float) -> None:
    with pytest.raises(InputError, match="width is above 0"):
        Framing(x=0, y=0, width=bad)


def test_a_number_beyond_all_pictures_is_refused() -> None:
    Framing(x=FARTHEST, y=-FARTHEST, width=FARTHEST)
    with pytest.raises(InputError, match="at most 1,000,000,000"):
        Framing(x=2 * FARTHEST, y=0, width=1)


def test_it_is_a_frozen_value_of_floats() -> None:
    framing = Framing(x=1, y=2, width=3)
    assert framing == Framing(x=1.0, y=2.0, width=3.0, roll=0.0)
    assert type(framing.x) is float
    assert pickle.loads(pickle.dumps(framing)) == framing
    with pytest.raises(FrozenInstanceError):
        framing.x = 5
