"""Things that follow one another, stand in for the camera, or do the digital move by hand."""

import numpy as np
import pytest

from cropmove.errors import InputError
from cropmove.rig.motion import MOTIONS
from cropmove.rig.rig import Rig, Stop
from cropmove.rig.scale import Scale

LENS = {"focal_length": 50, "distance": 800}


def test_a_subject_keeps_the_cameras_pace_or_goes_a_little_faster(rig, table):
    slider = rig("slider", "camera sideways", start=0, end=240)
    boat = rig("boat", "subject sideways", follows="slider", ratio=1.1, start=30)
    both = table(slider, boat)
    assert both["boat"].exact == pytest.approx(30 + 1.1 * both["slider"].exact)
    assert both["boat"].phase == both["slider"].phase


def test_what_is_followed_may_stand_later_in_the_file(rig, table):
    first = rig("boat", "subject sideways", follows="slider")
    assert (
        table(first, rig("slider", "camera sideways", start=0, end=240))["boat"].reading[-1] == 240
    )


def test_a_backing_in_place_of_the_camera_goes_the_other_way_scaled_by_distance(rig, table):
    # Similar triangles: a backing at Z that stands for Z' moves by ΔX Z / Z'.
    slider = rig("slider", "camera sideways", start=0, end=120)
    sky = rig(
        "sky", "background sideways", instead_of="slider", distance=1500, stands_for=30_000,
        start=100,
    )  # fmt: skip
    both = table(slider, sky, **LENS)
    assert both["sky"].exact[-1] == pytest.approx(100 - 120 * 1500 / 30_000)
    assert [marks.name for marks in both.moved] == ["sky"]


def test_a_backing_in_place_of_a_pan_goes_by_the_tangent(rig, table):
    arm = rig("arm", "camera pan", start=0, end=10)
    sky = rig("sky", "background sideways", instead_of="arm", distance=1500, start=400)
    assert table(arm, sky, **LENS)["sky"].exact[-1] == pytest.approx(
        400 - 1500 * np.tan(np.deg2rad(10))
    )


def test_a_set_turned_in_place_of_an_arc_looks_the_same(rig, table):
    arc = rig("arm", "camera arc", start=0, end=20)
    around = table(arc, **LENS)
    turned = table(arc, rig("board", "set turn", instead_of="arm", radius=200), **LENS)
    assert turned["board"].exact[-1] == pytest.approx(20 * 3.490659, abs=1e-4)
    assert turned.seen_poses.at == pytest.approx(around.seen_poses.at)
    # And the camera itself stands still.
    assert not turned.poses.at.any()


def test_a_rule_the_other_way_round_falls_where_it_would_grow(rig, table):
    ahead = rig("a", "camera sideways", start=0, end=240)
    back = rig("b", "camera sideways", follows="a", reverse=True, start=300)
    both = table(ahead, back)
    assert both["b"].exact == pytest.approx(300 - both["a"].exact)
    assert both["b"].moved == pytest.approx(both["a"].moved)


def test_a_thing_that_follows_starts_so_that_no_reading_falls_below_nought(move, beside, rig):
    from cropmove.rig.optics import Lens

    left = move((4300, 2000, 2400), (1500, 2000, 2400))
    marks = beside(
        left, rig("slider", "camera sideways", follows="keys"), lens=Lens(**LENS)
    )["slider"]  # fmt: skip
    assert marks.exact.min() >= 0
    assert marks.exact[0] % 10 == pytest.approx(0)


def test_places_may_be_given_for_each_stop_of_the_keys(move, beside, rig):
    from cropmove.rig.optics import Lens

    twice = move((3000, 2000, 6000), (3000, 2000, 4000), (3000, 2000, 3000), steps=24)
    boat = rig("boat", "subject sideways", places=(0.0, 100.0, 40.0))
    marks = beside(twice, boat, lens=Lens(**LENS))["boat"]
    assert marks.reading[[0, 24, 48]].tolist() == [0, 100, 40]


@pytest.mark.parametrize(
    ("make", "place", "rule"),
    [
        (
            lambda rig: [rig("a", "camera up", follows="b"), rig("c", "set up", start=0, end=1)],
            'rig "a", follows', "is one of: keys, c",
        ),
        (
            lambda rig: [rig("a", "camera up", follows="b"), rig("b", "camera up", follows="a")],
            'rig "a"', "in a ring",
        ),
        (lambda rig: [rig("a", "camera up", follows="keys")], "rig", "no digital move"),
        (
            lambda rig: [rig("a", "camera up", start=0, end=1)] * 2, 'rig "a", name', "of its own",
        ),
        (
            lambda rig: [
                rig("a", "camera pan", start=0, end=1), rig("b", "subject up", follows="a"),
            ],
            'rig "b", follows', "measured in degrees",
        ),
        (
            lambda rig: [
                rig("a", "camera up", start=0, end=1), rig("b", "subject sideways", instead_of="a"),
            ],
            'rig "b", instead_of', "does not change the picture",
        ),
        (
            lambda rig: [
                rig("a", "subject up", start=0, end=1), rig("b", "set up", instead_of="a"),
            ],
            'rig "b", instead_of', "in place of a camera",
        ),
    ],
)  # fmt: skip
def test_rigs_that_do_not_go_together_are_refused_with_their_names(rig, table, make, place, rule):
    with pytest.raises(InputError) as refused:
        table(*make(rig))
    complaint = refused.value.complaints[0]
    assert complaint.where.startswith(place)
    assert rule in complaint.rule
    assert complaint.remedy


def test_two_rigs_do_not_do_the_same_part_of_the_digital_move(move, beside, rig):
    from cropmove.rig.optics import Lens

    pan = move((1500, 2000, 2400), (4300, 2000, 2400))
    both = (
        rig("arm", "camera pan", follows="keys"),
        rig("slider", "camera sideways", follows="keys"),
    )
    with pytest.raises(InputError, match="does that part of the digital move already"):
        beside(pan, *both, lens=Lens(**LENS))


def test_a_shot_of_one_frame_is_refused_with_what_it_lacks(rig, table):
    with pytest.raises(InputError, match="frames"):
        table(rig("boat", "subject sideways", start=0, end=240), frames=1)


def test_a_start_and_an_end_are_too_few_for_three_stops(move, beside, rig):
    from cropmove.rig.optics import Lens

    twice = move((3000, 2000, 6000), (3000, 2000, 4000), (3000, 2000, 3000), steps=24)
    with pytest.raises(InputError, match="3 stops"):
        beside(twice, rig("boat", "subject up", start=0, end=9), lens=Lens(**LENS))
    places = rig("boat", "subject up", places=(0.0, 9.0))
    with pytest.raises(InputError, match="3 stops"):
        beside(twice, places, lens=Lens(**LENS))


def test_frames_of_its_own_may_come_after_the_start(rig, table):
    late = rig("boat", "subject sideways", stops=(Stop(13, 10.0), Stop(37, 130.0)))
    reading = table(late)["boat"].reading
    assert reading[:13].tolist() == [10.0] * 13
    assert reading[36:].tolist() == [130.0] * 13


def test_two_stops_that_fall_to_one_still_are_refused_where_their_places_differ(rig, table):
    # On fours frames 5 to 8 show still 2.
    def at(place):
        stops = (Stop(1, 0.0), Stop(5, 10.0), Stop(7, place), Stop(9, 10.0), Stop(20, 0.0))
        return rig("boat", "subject sideways", stops=stops)

    with pytest.raises(InputError, match="frames 5 and 7 both show still 2") as refused:
        table(at(0.0), frames=20, on=4)
    assert refused.value.complaints[0].where == 'rig "boat", at'
    assert table(at(10.0), frames=20, on=4)["boat"].reading[:3].tolist() == [0, 10, 10]


def test_a_shot_of_one_still_has_no_room_for_a_start_and_an_end(rig, table):
    with pytest.raises(InputError, match="frames 1 and 2 both show still 1"):
        table(rig("boat", "subject sideways", start=0, end=5), frames=2, on=2)


def test_keys_that_fall_to_one_still_cannot_be_followed(rig, beside, move):
    from cropmove.rig.optics import Lens

    keys = move((2500, 2000, 2400), (2600, 2000, 2400), (2700, 2000, 2400), steps=2)
    crab = rig("crab", "camera sideways", follows="keys")
    with pytest.raises(InputError, match="frames 1 and 3 both show still 1") as refused:
        beside(keys, crab, lens=Lens(**LENS), on=3)
    assert refused.value.complaints[0].where == 'rig "crab", follows'


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ({"start": np.nan, "end": 1}, "start"), ({"start": 0, "end": np.inf}, "end"),
        ({"start": 0, "end": "30"}, "end"), ({"places": (0, np.nan)}, "at"),
        ({"start": 0, "end": 1, "backlash": np.nan}, "backlash"),
        ({"start": 0, "end": 1, "backlash": np.inf}, "backlash"),
    ],
)  # fmt: skip
def test_a_place_that_is_no_number_is_refused(rig, words, place):
    with pytest.raises(InputError) as refused:
        rig("boat", "subject sideways", **words)
    assert refused.value.complaints[0].where == place


def test_a_stop_without_a_number_is_refused():
    with pytest.raises(InputError, match="finite"):
        Stop(1, np.nan)
    assert repr(Stop(np.int64(1), np.float32(2))) == "Stop(frame=1, place=2.0)"


def test_a_table_is_gone_over_and_asked_by_name(rig, table):
    both = table(
        rig("slider", "camera sideways", start=0, end=240),
        rig("boat", "subject up", end=9, start=0),
    )
    assert list(both) == ["slider", "boat"]
    assert "boat" in both
    assert "boot" not in both


@pytest.mark.parametrize(
    ("words", "where", "remedy"),
    [
        ({"motion": "camera pan", "scale": Scale()}, "motion", "MOTIONS"),
        ({"motion": MOTIONS["camera pan"], "scale": 0.5}, "scale", "Scale()"),
        # 10 degrees would be read as 10 mm, and no list would say so.
        ({"motion": MOTIONS["camera pan"], "scale": Scale()}, "scale", "Scale(angular=True)"),
        (
            {"motion": MOTIONS["camera up"], "scale": Scale(angular=True)},
            "scale",
            "Scale(angular=False)",
        ),
    ],
)
def test_a_thing_is_read_on_what_goes_with_its_motion(words, where, remedy):
    with pytest.raises(InputError) as refused:
        Rig(name="it", start=0, end=10, **words)
    (complaint,) = refused.value.complaints
    assert complaint.where == where
    assert remedy in complaint.remedy
