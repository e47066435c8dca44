"""The plane: sizes, pixel centres, corners, turns, orientation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageOps

from cropmove.errors import InputError
from cropmove.geometry import (
    HALF_PIXEL,
    UPRIGHT,
    Orientation,
    Size,
    corner_offsets,
    counted,
    finite,
    pixel_centres,
    turn,
)

# How the stored picture [[0, 1, 2], [3, 4, 5]] shows: EXIF tag 274 (CIPA DC-008; TIFF 6.0).
SHOWN = {
    1: [[0, 1, 2], [3, 4, 5]],
    2: [[2, 1, 0], [5, 4, 3]],
    3: [[5, 4, 3], [2, 1, 0]],
    4: [[3, 4, 5], [0, 1, 2]],
    5: [[0, 3], [1, 4], [2, 5]],
    6: [[3, 0], [4, 1], [5, 2]],
    7: [[5, 2], [4, 1], [3, 0]],
    8: [[2, 5], [1, 4], [0, 3]],
}


@pytest.mark.parametrize("code", SHOWN)
def test_a_stored_picture_shows_as_the_standard_says(code: int) -> None:
    stored = np.array([[0, 1, 2], [3, 4, 5]])
    upright = Orientation(code).upright(stored)
    assert upright.tolist() == SHOWN[code]
    assert np.shares_memory(upright, stored)
    assert Orientation(code).upright_size(Size(3, 2)) == Size(*upright.shape[::-1])


@pytest.mark.parametrize("code", SHOWN)
def test_a_picture_in_colour_shows_as_pillow_shows_it(code: int) -> None:
    # An independent library: Pillow, ImageOps.exif_transpose.
    stored = np.random.default_rng(code).integers(0, 255, (5, 7, 3), dtype=np.uint8)
    picture = Image.fromarray(stored)
    picture.getexif()[274] = code
    assert (np.asarray(ImageOps.exif_transpose(picture)) == Orientation(code).upright(stored)).all()


@given(st.sampled_from(list(SHOWN)), st.data())
def test_a_box_of_the_upright_picture_is_found_in_the_stored_one(
    code: int, data: st.DataObject
) -> None:
    stored = np.arange(35).reshape(5, 7)
    orientation = Orientation(code)
    upright = orientation.upright(stored)
    size = Size(*upright.shape[::-1])
    left, right = sorted(data.draw(st.sets(st.integers(0, size.width), min_size=2, max_size=2)))
    top, bottom = sorted(data.draw(st.sets(st.integers(0, size.height), min_size=2, max_size=2)))
    box = orientation.stored_box((left, top, right, bottom), size)
    x0, y0, x1, y1 = (int(edge) for edge in box)
    assert (orientation.upright(stored[y0:y1, x0:x1]) == upright[top:bottom, left:right]).all()


@pytest.mark.parametrize("code", [0, 9, -1, None])
def test_there_are_no_other_orientations(code: object) -> None:
    with pytest.raises(InputError, match="1 to 8"):
        Orientation(code)


def test_upright_is_as_stored() -> None:
    assert Orientation(1) == UPRIGHT


# --- sizes --------------------------------------------------------------------------------------


@pytest.mark.parametrize("bad", [(0, 5), (5, 0), (-1, 5), (1.5, 2), (1, 100_000), (65_537, 1)])
def test_a_size_is_whole_pixels_within_reason(bad: tuple[int, int]) -> None:
    with pytest.raises(InputError, match="1 to 65536 whole pixels each way"):
        Size(*bad)


def test_a_size_knows_its_shape() -> None:
    assert Size(1920, 1080).shape == 0.5625
    assert Size(1998, 1080).aspect * 100 == 185
    assert Size(3, 2).turned() == Size(2, 3)
    assert str(Size(6000, 4000)) == "6000 x 4000"


def test_a_size_is_no_pair_of_numbers() -> None:
    assert Size(3, 2) != (3, 2)


# --- the plane ----------------------------------------------------------------------------------


def test_a_pixels_centre_is_half_a_pixel_from_its_corner() -> None:
    assert HALF_PIXEL == 0.5
    assert pixel_centres(4).tolist() == [0.5, 1.5, 2.5, 3.5]


def test_corners_run_clockwise_from_the_top_left() -> None:
    corners = corner_offsets(0.5625) * 1920
    assert corners.tolist() == [[-960, -540], [960, -540], [960, 540], [-960, 540]]
    nexts = np.roll(corners, -1, axis=0)
    shoelace = (corners[:, 0] * nexts[:, 1] - nexts[:, 0] * corners[:, 1]).sum() / 2
    assert shoelace == 1920 * 1080  # positive: clockwise as seen, for y runs down


coordinates = st.floats(-1e4, 1e4)


@given(coordinates, coordinates, st.floats(-720, 720))
def test_a_turn_is_multiplication_by_a_unit_complex_number(x: float, y: float, by: float) -> None:
    turned = complex(*turn(np.array([x, y]), by))
    assert turned == pytest.approx(complex(x, y) * np.exp(1j * np.deg2rad(by)), abs=1e-8)


@given(coordinates, coordinates, st.floats(-720, 720))
def test_turning_back_is_where_it_was(x: float, y: float, by: float) -> None:
    assert turn(turn(np.array([x, y]), by), -by) == pytest.approx([x, y], abs=1e-8)


def test_every_row_turns_by_its_own_angle() -> None:
    turned = turn(np.array([[[1.0, 0.0]], [[1.0, 0.0]]]), np.array([[0.0], [90.0]]))
    assert turned == pytest.approx(np.array([[[1, 0]], [[0, 1]]]))


@pytest.mark.parametrize(
    "bad",
    [float("nan"), float("inf"), 10**400, -(10**400), None, "12", "wide", [], 1j, np.zeros(2)],
)
def test_a_number_that_is_not_finite_is_refused_where_it_stands(bad: object) -> None:
    with pytest.raises(InputError) as refused:
        finite("key 2, width", bad)
    assert refused.value.complaints[0].where == "key 2, width"


@pytest.mark.parametrize("kind", [int, np.int8, np.int64, np.uint16])
def test_what_is_counted_may_come_from_an_array(kind: type) -> None:
    # Python, operator.index: the whole number that an object is, without a loss.
    assert counted(kind(3)) == 3
    assert type(counted(kind(3))) is int
    size = Size(kind(64), kind(36))
    assert size == Size(64, 36)
    assert repr(size) == "Size(width=64, height=36)"


@pytest.mark.parametrize("bad", [True, np.True_, 3.0, np.float64(3), "3", None, [3]])
def test_what_is_no_count_is_none(bad: object) -> None:
    assert counted(bad) is None
    with pytest.raises(InputError, match="whole pixels"):
        Size(bad, 36)
