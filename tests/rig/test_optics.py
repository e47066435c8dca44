"""Angles of view, pixels a millimetre, depth of field: against printed values and photographs."""

from math import hypot, inf, nan

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.rig.optics import Lens, angle_of_view, hyperfocal, in_focus, stop_for

REACH = 50 * 6000 / 36


@pytest.mark.parametrize(
    ("side", "focal_length", "printed"),
    [
        # Lens tables for 36 x 24 mm: 50 mm takes in 39.6 by 27.0 degrees, 46.8 across corners.
        (36, 50, 39.6), (24, 50, 27.0), (hypot(36, 24), 50, 46.8),
        # A worked example of a photographer's handbook: 22.5 mm behind 30 mm.
        (22.5, 30, 41.1),
    ],
)  # fmt: skip
def test_angles_of_view_are_those_of_lens_tables(side, focal_length, printed):
    assert angle_of_view(side, focal_length) == pytest.approx(printed, abs=0.051)


def test_a_crop_is_a_longer_lens():
    # 1920 of 6000 pixels behind 50 mm is what 156.25 mm takes in: similar triangles.
    assert angle_of_view(36 * 1920 / 6000, 50) == pytest.approx(angle_of_view(36, 156.25))
    assert angle_of_view(36, 156.25) == pytest.approx(13.1430, abs=1e-4)


def test_an_angle_as_measured_says_what_a_focal_length_says():
    by_angle = Lens(angle=angle_of_view(36, 50), distance=800)
    assert by_angle.image_distance == pytest.approx(50)


@pytest.mark.parametrize(("distance", "pixels"), [(500, 16.667), (800, 10.417), (2000, 4.167)])
def test_a_sideways_move_goes_by_one_over_the_distance(distance, pixels):
    # f_px / Z, computed: 50 mm, 6000 pixels over 36 mm.
    lens = Lens(focal_length=50, distance=800)
    assert lens.pixels_a_millimetre(6000, distance) == pytest.approx(pixels, abs=5e-4)


def test_a_lens_racked_out_sees_more_of_a_move():
    # Image distance f (1 + m), computed: 11.111 pixels a millimetre at 800 mm, 6.7 % more.
    lens = Lens(focal_length=50, distance=800, close_focus=True)
    assert lens.pixels_a_millimetre(6000) == pytest.approx(11.111, abs=5e-4)
    assert "racked out to 53.33 mm" in lens.model
    assert "50 mm" in Lens(focal_length=50, distance=800).model


@pytest.mark.parametrize(
    ("focal_length", "stop", "focus", "near", "far"),
    [(50, 8, 1000, 916.42, 1100.35), (35, 16, 400, 349.95, 466.76)],
)
def test_depth_of_field_is_that_of_the_formula(focal_length, stop, focus, near, far):
    # Computed from H = f² / Nc + f and its two distances, c = 0.03 mm.
    assert in_focus(focal_length, stop, 0.03, focus) == pytest.approx((near, far), abs=5e-3)


def test_the_hyperfocal_distance_is_that_of_depth_of_field_tables():
    # 10 467 mm for 50 mm at f/8 and 0.03 mm, in depth-of-field tables.
    assert hyperfocal(50, 8, 0.03) == pytest.approx(10467, abs=0.5)
    assert in_focus(50, 8, 0.03, 10467)[1] == inf
    assert in_focus(50, 8, 0.03, 10467)[0] == pytest.approx(10467 / 2, rel=2e-3)


def test_full_frame_counts_three_hundredths_as_sharp():
    lens = Lens(focal_length=50, distance=1000, stop=8)
    assert lens.sharp == pytest.approx((916.42, 1100.35), abs=0.05)
    assert Lens(focal_length=50, distance=1000).sharp is None


@given(st.floats(200, 3000), st.floats(0.5, 0.999) | st.floats(1.001, 2))
def test_the_stop_for_a_distance_brings_it_just_into_focus(focus, part):
    stop = stop_for(50, 0.03, focus, focus * part)
    assert in_focus(50, stop, 0.03, focus)[int(part > 1)] == pytest.approx(focus * part, rel=1e-6)


@pytest.fixture(scope="module")
def motorcycle():
    """A real scene from two places 193.001 mm apart, and how far each point shifts between them.

    Middlebury Stereo Datasets 2014 (Scharstein et al.), at a quarter of its size, as scikit-image
    carries it: image distance 994.978 pixels, the two middles 31.086 pixels apart. The shifts were
    measured with structured light, not from the photographs.
    """
    from skimage import data

    left, right, shift = data.stereo_motorcycle()
    return (*(cv2.cvtColor(view, cv2.COLOR_RGB2GRAY) for view in (left, right)), shift)


BASE, IMAGE_DISTANCE, MIDDLES = 193.001, 994.978, 31.086


def shift_by_the_lens(distance):
    lens = Lens(focal_length=IMAGE_DISTANCE, sensor=(741, 500), distance=distance)
    return BASE * lens.pixels_a_millimetre(741) - MIDDLES


@pytest.mark.parametrize(("row", "column", "distance"), [(250, 370, 2397.82), (100, 100, 4815.66)])
def test_a_real_scene_shifts_between_two_places_as_the_lens_says(motorcycle, row, column, distance):
    # Distances computed: B f / (d + the middles' 31.086 pixels).
    assert shift_by_the_lens(distance) == pytest.approx(motorcycle[2][row, column], abs=0.01)


@pytest.mark.parametrize(
    ("row", "column", "distance"), [(250, 300, 2373.52), (40, 630, 3930.74), (70, 150, 4690.81)]
)
def test_a_patch_is_found_again_in_the_other_photograph_where_the_lens_says(
    motorcycle, row, column, distance
):
    left, right, _ = motorcycle
    patch = left[row - 10 : row + 11, column - 10 : column + 11]
    strip = right[row - 10 : row + 11, : column + 11]
    found = cv2.matchTemplate(strip, patch, cv2.TM_CCOEFF_NORMED)[0]
    assert found.max() > 0.95
    # Found to the nearest whole pixel.
    assert column - 10 - int(np.argmax(found)) == pytest.approx(
        shift_by_the_lens(distance), abs=0.6
    )


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ({"distance": 800}, "focal_length, angle"),
        ({"distance": 800, "focal_length": 50, "angle": 40}, "focal_length, angle"),
        ({"distance": 0, "focal_length": 50}, "distance"),
        ({"distance": 40, "focal_length": 50}, "distance"),
        ({"distance": 800, "focal_length": 50, "focus": 40}, "focus"),
        ({"distance": 800, "angle": 180}, "angle"),
        ({"distance": 800, "focal_length": 50, "stop": -1}, "stop"),
        ({"distance": 800, "focal_length": 50, "sensor": (36, 0)}, "sensor"),
        ({"distance": 800, "focal_length": 50, "sensor": (36,)}, "sensor"),
        ({"distance": 800, "focal_length": 50, "sensor": (nan, 24)}, "sensor"),
        ({"distance": 800, "focal_length": 50, "pupil": nan}, "pupil"),
        ({"distance": 800, "focal_length": 50, "pupil": "30"}, "pupil"),
    ],
)
def test_a_lens_that_cannot_be_is_refused(words, place):
    with pytest.raises(InputError) as refused:
        Lens(**words)
    assert refused.value.complaints[0].where == place
