"""All that `cropmove marks` gives, from Python."""

import numpy as np
import pytest
from by_hand import a_rig

from cropmove import marking
from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.rig.layers import Layer
from cropmove.rig.optics import Lens
from cropmove.shot import Delivery, Shot, Stills

LENS = Lens(focal_length=50, distance=800)
HD = Size(1920, 1080)


def a_shot(*rigs, frames=49, keys=None, **more):
    keys = keys or (Key(frame=1, framing=Framing(x=3000, y=2000, width=6000)),)
    more.setdefault("stills", Stills(size=Size(6000, 4000)))
    more.setdefault("lens", LENS)
    return Shot(
        name="quay", delivery=Delivery(size=HD), keys=keys, frames=frames, rigs=rigs, **more
    )


def test_a_twin_pushes_in_as_a_camera_that_comes_nearer_does():
    shot = a_shot(a_rig("track", "camera in", start=0, end=400))
    course = marking.twin(shot).course()
    moved = shot.marks()["track"].moved
    # A subject is larger by the distance that is left.
    assert course.width == pytest.approx(6000 * (800 - moved) / 800)
    assert course.x == pytest.approx(3000)


def test_a_twin_of_a_digital_move_is_that_move():
    keys = (
        Key(frame=1, framing=Framing(x=2500, y=1800, width=4000)),
        Key(frame=49, framing=Framing(x=3300, y=2300, width=2600)),
    )
    things = (
        a_rig("track", "camera in", follows="keys"),
        a_rig("slider", "camera sideways", follows="keys"),
        a_rig("lift", "camera up", follows="keys"),
    )
    shot = a_shot(*things, keys=keys)
    assert marking.twin(shot).course().rows == pytest.approx(shot.course().rows, abs=1e-6)


def test_a_twin_of_a_subject_alone_follows_the_subject():
    shot = a_shot(a_rig("boat", "subject sideways", start=0, end=96))
    course = marking.twin(shot).course()
    # The camera as it looks from the boat: the other way, 10.417 pixels a millimetre.
    assert course[49].x - course[1].x == pytest.approx(-96 * 10.41666667)


def test_a_twin_stands_still_where_nothing_moves_the_picture():
    shot = a_shot(a_rig("sky", "background sideways", start=0, end=96))
    assert len(marking.twin(shot).keys) == 1


def test_a_camera_that_passes_its_subject_has_no_twin():
    with pytest.raises(InputError, match="past the subject"):
        marking.twin(a_shot(a_rig("track", "camera in", start=0, end=900)))


def test_without_a_lens_there_is_no_twin():
    with pytest.raises(InputError, match="depends on the lens"):
        marking.twin(a_shot(a_rig("track", "camera in", start=0, end=100), lens=None))


def test_on_ones_there_is_a_mark_for_every_frame():
    twos = a_shot(a_rig("it", "camera up", start=0, end=48), on=2)
    assert len(marking.marks(twos)["it"]) == 25
    assert len(marking.marks(marking.on_ones(twos))["it"]) == 49


def test_marks_of_some_things_only():
    shot = a_shot(*(a_rig(name, "subject up", start=0, end=9) for name in ("a", "b", "c")))
    assert [m.name for m in marking.marks(shot, ("c", "a")).moved] == ["c", "a"]


def test_layers_as_csv_read_back_to_what_they_are():
    slide = a_rig("slider", "camera sideways", start=0, end=48, ease="none")
    shot = a_shot(slide, layers=(Layer(name="sky", distance=2000),))
    rows = [line.split(",") for line in marking.layers_csv(shot).splitlines()[1:]]
    steps = np.array([float(row[3]) for row in rows[1:]])
    # 4.167 pixels of a 6000-pixel still for each mm at 2 m, in 1920 delivered pixels.
    assert steps == pytest.approx(4.16666667 * 1920 / 6000)


@pytest.mark.parametrize("what", ["layers", "layers_csv"])
def test_a_shot_without_layers_says_how_to_add_one(what):
    with pytest.raises(InputError) as refused:
        getattr(marking, what)(a_shot(a_rig("it", "camera up", start=0, end=9)))
    assert "[[layer]]" in refused.value.complaints[0].remedy


def test_a_layer_without_a_lens_is_refused_with_the_shot():
    with pytest.raises(InputError, match="depends on the lens"):
        a_shot(
            a_rig("it", "camera up", start=0, end=9),
            layers=(Layer(name="sky", distance=2000),), lens=None,
        )  # fmt: skip


@pytest.mark.parametrize("end", [30, 60, 100])
def test_a_turn_of_the_set_alone_is_no_push_in(end):
    shot = a_shot(a_rig("table", "set turn", start=0, end=end))
    assert len(marking.twin(shot).keys) == 1


@pytest.mark.parametrize("rigs", ["boat", ["boat"], ("boat",), {"boat"}, iter(["boat"])])
def test_one_thing_may_be_named_alone_and_several_in_any_row(rigs):
    shot = a_shot(
        a_rig("boat", "subject up", start=0, end=9), a_rig("o", "subject in", start=0, end=9)
    )
    assert [m.name for m in marking.marks(shot, rigs).moved] == ["boat"]


@pytest.mark.parametrize("rigs", [lambda: "boat", lambda: iter(["boat"])])
@pytest.mark.parametrize("name", ["list.csv", "list.pdf"])
def test_a_list_of_one_thing_is_of_that_thing_alone(tmp_path, rigs, name):
    boat, lift = (a_rig(name, "subject up", start=0, end=9) for name in ("boat", "lift"))
    both = a_shot(boat, lift)
    (made,) = marking.shooting_list(both, tmp_path / name, rigs=rigs())
    (alone,) = marking.shooting_list(a_shot(boat), tmp_path / f"alone{made.suffix}")
    assert made.read_bytes() == alone.read_bytes()


def test_a_tape_and_a_twin_of_one_thing_named_alone(tmp_path):
    arm = a_rig("arm", "camera pan", radius=400, start=0, end=9)
    shot = a_shot(arm, a_rig("track", "camera in", start=0, end=90))
    assert marking.tape(shot, tmp_path / "tape.pdf", rigs="arm") == (tmp_path / "tape.pdf",)
    assert marking.twin(shot, "arm") == marking.twin(shot, ["arm"])


# --- what is left to crop

MIDDLE, FOCAL = np.array([3000.0, 2000.0]), 6000 * 50 / 36


def seen_later(points, ways):
    """Where points of the first still lie on a later one: (n, 2) pixels.

    A camera that has gone sideways and up sees a plane at the distance Z shifted by f / Z times
    as much, one that has come nearer sees it larger by Z / (Z - z), and one that rolls sees it
    turned the other way: the pinhole of Hartley & Zisserman, Multiple View Geometry, 6.1.
    """
    off = points - MIDDLE - FOCAL / 800 * np.array([ways.get("slider", 0), -ways.get("lift", 0)])
    off = off * 800 / (800 - ways.get("track", 0))
    roll = np.deg2rad(ways.get("head", 0))
    across = np.cos(roll) * off[:, 0] + np.sin(roll) * off[:, 1]
    down = np.cos(roll) * off[:, 1] - np.sin(roll) * off[:, 0]
    return np.column_stack([across, down]) + MIDDLE


THINGS = {
    "slider": a_rig("slider", "camera sideways", follows="keys"),
    "lift": a_rig("lift", "camera up", follows="keys"),
    "track": a_rig("track", "camera in", follows="keys"),
    "head": a_rig("head", "camera roll", follows="keys"),
}
A_MOVE = (
    Key(frame=1, framing=Framing(x=2500, y=1800, width=4000, roll=2)),
    Key(frame=25, framing=Framing(x=2900, y=2100, width=3300, roll=5), stop=False),
    Key(frame=49, framing=Framing(x=3300, y=2000, width=2600, roll=-4)),
)


@pytest.mark.parametrize("on", [1, 2])
@pytest.mark.parametrize(
    "used",
    [
        ("slider",), ("slider", "lift"), ("track",), ("head",), ("track", "slider"),
        ("slider", "lift", "track"), ("slider", "lift", "track", "head"),
    ],
)  # fmt: skip
def test_rigs_and_crop_together_show_what_the_keys_ask_for(used, on):
    shot = a_shot(*(THINGS[name] for name in used), keys=A_MOVE, on=on)
    table, crop = shot.marks(), marking.crop(shot)
    assert (crop.length, crop.rigs, crop.on) == (49, (), on)
    moments = table[used[0]].moments
    for still in range(1, len(moments) + 1, 5):
        frame = (still - 1) * on + 1
        corners = np.array(Framing.from_row(table.framings(moments)[still - 1]).corners(HD))
        ways = {name: table[name].moved[still - 1] for name in used}
        kept = np.array(crop.course()[frame].corners(HD))
        assert seen_later(corners, ways) == pytest.approx(kept, abs=1e-6)


@pytest.mark.parametrize("used", [THINGS.values()])
def test_where_rigs_do_all_of_it_the_first_framing_stays(used):
    crop = marking.crop(a_shot(*used, keys=A_MOVE))
    assert [key.framing.to_row() for key in crop.keys] == [pytest.approx([2500, 1800, 4000, 2])]


def test_what_only_some_of_the_things_did_is_left_to_the_crop():
    shot = a_shot(*(THINGS[name] for name in ("slider", "lift")), keys=A_MOVE)
    assert marking.crop(shot, "slider") == marking.crop(a_shot(THINGS["slider"], keys=A_MOVE))


def test_a_slider_with_a_way_of_its_own_is_no_part_of_the_crop():
    shot = a_shot(THINGS["track"], a_rig("slider", "camera sideways", start=0, end=9), keys=A_MOVE)
    assert marking.crop(shot).keys == marking.crop(a_shot(THINGS["track"], keys=A_MOVE)).keys


def test_a_roll_alone_is_cropped_about_the_middle_of_the_still_without_a_lens():
    with_lens = marking.crop(a_shot(THINGS["head"], keys=A_MOVE))
    without = marking.crop(a_shot(THINGS["head"], keys=A_MOVE, lens=None))
    assert without.course().rows == pytest.approx(with_lens.course().rows, abs=1e-9)
    with pytest.raises(InputError, match="middle of the still"):
        marking.crop(a_shot(THINGS["head"], keys=A_MOVE, lens=None, stills=Stills()))


def test_without_anything_that_follows_the_keys_there_is_nothing_to_crop():
    with pytest.raises(InputError, match="render the shot as it is"):
        marking.crop(a_shot(a_rig("boat", "subject up", start=0, end=9), keys=A_MOVE))
