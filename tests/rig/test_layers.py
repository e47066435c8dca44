"""Parallax against worked values, OpenCV's pinhole and two photographs of a real scene."""

import cv2
import numpy as np
import pytest
from by_hand import HD, a_rig, a_table

from cropmove.errors import InputError
from cropmove.rig.layers import Layer, calm_distance, sights
from cropmove.rig.rig import Stop

WHOLE = np.array([3000, 2000, 6000, 0.0])
LENS = {"focal_length": 50, "distance": 800}


def sight_of(layer, *rigs, frames=49, first=WHOLE, **lens):
    table = a_table(*rigs, frames=frames, **(lens or LENS))
    return sights([layer], table, first, HD)[0], table


def slider(end=48.0, **words):
    return a_rig("slider", "camera sideways", start=0, end=end, ease="none", **words)


@pytest.mark.parametrize(("distance", "pixels"), [(500, 16.667), (800, 10.417), (2000, 4.167)])
def test_layers_shift_by_one_over_their_distance(distance, pixels):
    # Computed: f_px / Z pixels of a 6000-pixel still for each millimetre of a crab.
    sight, _ = sight_of(Layer(name="it", distance=distance), slider())
    assert -sight.gone[0] * 6000 / 48 == pytest.approx(pixels, abs=5e-4)
    assert sight.step[1:] * 6000 == pytest.approx(pixels, abs=5e-4)


def test_a_subject_that_outruns_the_camera_drifts_across_the_frame():
    # Computed: 5.5 against 5.0 mm a frame at 800 mm is 5.208 px a frame.
    boat = a_rig("boat", "subject sideways", follows="slider", ratio=1.1)
    layer = Layer(name="boat", distance=800, moves_with=("boat",))
    sight, _ = sight_of(layer, slider(5.0 * 48), boat)
    assert np.diff(sight.middle[:, 0]) * 6000 == pytest.approx(5.208, abs=5e-4)


def test_boxes_are_where_opencv_sees_them():
    arm = a_rig("arm", "camera pan", start=0, end=8)
    lift = a_rig("lift", "camera up", start=0, end=60)
    track = a_rig("track", "camera in", start=0, end=200)
    layer = Layer(name="reeds", distance=450, centre=(-40, 25), size=(60, 90))
    sight, table = sight_of(layer, slider(), arm, lift, track)
    corners = np.array([[-70, -20, 450], [-10, -20, 450], [-10, 70, 450], [-70, 70, 450.0]])
    camera = np.array([[50 / 36, 0, 0.5], [0, 50 / 36, 0.5625 / 2], [0, 0, 1.0]])
    for still in (1, 20, 49):
        gone = [table[name].moved[still - 1] for name in ("slider", "lift", "track", "arm")]
        turned = cv2.Rodrigues(np.array([0, -np.deg2rad(gone[3]), 0]))[0]
        at = np.array([gone[0], -gone[1], gone[2]])
        there, _ = cv2.projectPoints(corners, turned, -turned @ at, camera, None)
        assert sight.boxes[still - 1] == pytest.approx(there[:, 0], abs=1e-9)


def test_two_layers_of_a_real_scene_shift_against_each_other_as_photographed():
    # Middlebury 2014 stereo pair, as scikit-image carries it: f 994.978 px, 193.001 mm apart, the
    # two middles 31.086 px apart; measured shifts, in pixels, at two points.
    from skimage import data

    *_, shift = data.stereo_motorcycle()
    near, far = (250, 370), (100, 100)
    measured = float(shift[near] - shift[far])
    aside = a_rig("aside", "camera sideways", start=0, end=193.001, ease="none")
    gone = []
    for distance in (2397.82, 4815.66):
        table = a_table(aside, frames=2, focal_length=994.978, sensor=(741, 500), distance=3000)
        (sight,) = sights([Layer(name="it", distance=distance)], table, WHOLE, HD)
        gone.append(-sight.gone[0] * 741)
    assert gone[0] - gone[1] == pytest.approx(measured, abs=0.02)


def test_a_layer_says_when_it_is_in_sight():
    layer = Layer(name="post", distance=400, centre=(0, 0), size=(20, 200))
    sight, _ = sight_of(layer, slider(300))
    # Half the frame takes in 144 mm at 400: the post has left when its far edge has.
    left = np.flatnonzero(~sight.in_sight)[0]
    assert 300 / 48 * left == pytest.approx(144 + 10, abs=300 / 48)
    assert not sight.in_sight[left:].any()


def test_a_push_in_takes_a_subject_out_of_focus():
    track = a_rig("track", "camera in", stops=(Stop(1, 0.0), Stop(49, 200.0)), ease="none")
    sight, _ = sight_of(
        Layer(name="boat", distance=1000), track, focal_length=50, distance=1000, stop=8
    )
    # In focus from 916.42 mm: 50 mm, f/8, 0.03 mm at 1 m, computed.
    first = sight.out_of_focus[0]
    assert sight.depth[first - 1] < 916.42 <= sight.depth[first - 2] + 0.05
    assert sight.out_of_focus[-1] == 49


def test_the_calm_distance_calms_and_little_less_does():
    sight, table = sight_of(Layer(name="reeds", distance=300), slider(240))
    enough = calm_distance(sight, table, WHOLE, HD, 1 / 168)
    calm, _ = sight_of(Layer(name="reeds", distance=enough), slider(240))
    near, _ = sight_of(Layer(name="reeds", distance=enough * 0.89), slider(240))
    assert calm.peak <= 1 / 168 < near.peak


def test_no_distance_calms_a_pan_that_is_too_fast():
    arm = a_rig("arm", "camera pan", start=0, end=40)
    sight, table = sight_of(Layer(name="reeds", distance=300), arm)
    assert calm_distance(sight, table, WHOLE, HD, 1 / 168) == np.inf


def test_what_rides_on_the_slider_stays_where_it_is_in_the_frame():
    rigs = slider(200), a_rig("lift", "camera up", start=0, end=30), a_rig(
        "track", "camera in", start=0, end=90)  # fmt: skip
    glass = Layer(name="glass", distance=200, moves_with=("slider", "lift", "track"))
    sight, _ = sight_of(glass, *rigs)
    assert sight.peak == pytest.approx(0, abs=1e-12)
    assert sight.depth == pytest.approx(200)
    with pytest.raises(InputError, match="goes straight with it"):
        sight_of(Layer(name="glass", distance=200, moves_with=("arm",)),
                 a_rig("arm", "camera pan", start=0, end=4))  # fmt: skip
    with pytest.raises(InputError, match="goes straight with it"):
        sight_of(glass, *rigs, a_rig("table", "set turn", start=0, end=4))


def test_layers_need_a_lens_and_a_rig_that_is_there():
    with pytest.raises(InputError, match="depends on the lens"):
        sights([Layer(name="it", distance=300)], a_table(slider()), WHOLE, HD)
    with pytest.raises(InputError, match="a rig that is moved"):
        sight_of(Layer(name="it", distance=300, moves_with=("boat",)), slider())
    with pytest.raises(InputError, match="there is none"):
        sight_of(Layer(name="it", distance=300, moves_with=("boat",)))


@pytest.mark.parametrize("words", [{"distance": 0}, {"distance": 9, "size": (0, 1)}, {"name": " "}])
def test_a_layer_that_cannot_be_is_refused(words):
    with pytest.raises(InputError):
        Layer(**{"name": "it", "distance": 1.0, **words})


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ({"centre": (np.nan, 0)}, "centre"), ({"centre": (0,)}, "centre"),
        ({"size": (10, np.inf)}, "size"), ({"size": (10, 10, 10)}, "size"),
        ({"distance": "near"}, "distance"),
    ],
)  # fmt: skip
def test_a_measure_of_a_layer_that_is_none_is_refused_where_it_stands(words, place):
    with pytest.raises(InputError) as refused:
        Layer(**{"name": "reeds", "distance": 700} | words)
    assert refused.value.complaints[0].where == place


def test_a_layer_may_name_the_one_rig_that_moves_it_alone():
    assert Layer(name="ferry", distance=800, moves_with="boat").moves_with == ("boat",)
