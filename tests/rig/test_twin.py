"""Digital moves made by hand, and back, against OpenCV's pinhole and worked values."""

import cv2
import numpy as np
import pytest
from by_hand import STILL, a_move, a_rig, a_twin
from hypothesis import given
from hypothesis import strategies as st

from cropmove.rig.optics import Lens
from cropmove.rig.twin import View

LENS = Lens(focal_length=50, distance=800)
F = 50 * 6000 / 36
CAMERA = np.array([[F, 0, 3000], [0, F, 2000], [0, 0, 1.0]])


def on_subject(x, y):
    """The point of the subject's plane that lies at a place of the still."""
    return np.array([(x - 3000) / F * 800, (y - 2000) / F * 800, 800.0])


def by_opencv(point, at=(0, 0, 0), pan=0.0, tilt=0.0, roll=0.0):
    turned = cv2.Rodrigues(np.array([0, 0, -1.0]) * np.deg2rad(roll))[0]
    turned = turned @ cv2.Rodrigues(np.array([-1.0, 0, 0]) * np.deg2rad(tilt))[0]
    turned = turned @ cv2.Rodrigues(np.array([0, -1.0, 0]) * np.deg2rad(pan))[0]
    moved = -turned @ np.asarray(at, dtype=np.float64)
    return cv2.projectPoints(point[None], turned, moved, CAMERA, None)[0][0, 0]


def test_even_angles_are_not_even_on_the_screen():
    # Computed: 50 mm on 6000 pixels over 36 mm: 0 to 1 degree is 145.459 px, 18 to 19 is 161.733.
    place = [F * np.tan(np.deg2rad(angle)) for angle in (0, 1, 18, 19)]
    assert np.diff(place)[[0, 2]] == pytest.approx([145.459, 161.733], abs=5e-4)
    rows = np.array([[3000 + x, 2000, 1920, 0.0] for x in place])
    view = View(lens=LENS, still=STILL)
    pan = a_rig("arm", "camera pan", follows="keys").motion
    assert view.by_hand(pan, rows, {"pan"}) == pytest.approx([0, 1, 18, 19])


def test_a_pan_is_faster_at_the_edge_by_the_square_of_its_reach():
    # Computed: 1 + (w / 2f)²: 1.1296 for 50 mm, 1.5625 for 24 mm on 36 mm.
    for focal_length, factor in ((50, 1.1296), (24, 1.5625)):
        edge = np.arctan(18 / focal_length)
        step = 1e-6
        faster = (np.tan(edge) - np.tan(edge - step)) / np.tan(step)
        assert faster == pytest.approx(factor, abs=1e-4)


def test_a_pan_by_hand_brings_each_point_where_the_digital_one_does(move, beside, rig):
    pan = move((1500, 2000, 2400), (4300, 2000, 2400))
    marks = beside(pan, rig("arm", "camera pan", follows="keys", radius=400), lens=LENS)["arm"]
    for frame in (1, 13, 25, 37, 49):
        centre = on_subject(pan.at(np.array([float(frame)]))[0, 0], 2000)
        assert by_opencv(centre, pan=marks.moved[frame - 1]) == pytest.approx([1500, 2000])
    assert marks.exact == pytest.approx(np.deg2rad(marks.moved) * 400)


def test_pan_and_tilt_together_bring_each_point_where_the_digital_move_does(move, beside, rig):
    across = move((1500, 1200, 2400), (4300, 2900, 2400))
    arms = (rig("arm", "camera pan", follows="keys"), rig("nod", "camera tilt", follows="keys"))
    table = beside(across, *arms, lens=LENS)
    for frame in (1, 13, 25, 37, 49):
        x, y = across.at(np.array([float(frame)]))[0, :2]
        pan, tilt = (table[name].moved[frame - 1] for name in ("arm", "nod"))
        assert by_opencv(on_subject(x, y), pan=pan, tilt=tilt) == pytest.approx([1500, 1200])


def test_a_crab_by_hand_moves_the_subject_as_the_digital_pan_does(move, beside, rig):
    pan = move((1500, 2000, 2400), (4300, 2000, 2400))
    marks = beside(pan, rig("slider", "camera sideways", follows="keys"), lens=LENS)["slider"]
    assert marks.moved[-1] == pytest.approx(2800 / 10.41666667)
    for frame in (1, 20, 49):
        point = on_subject(pan.at(np.array([float(frame)]))[0, 0] + 300, 2100)
        at = (marks.moved[frame - 1], 0, 0)
        assert by_opencv(point, at) == pytest.approx([1800, 2100])


def test_a_push_in_by_hand_ends_at_the_distance_that_gives_the_same_size(move, beside, rig):
    push = move((3000, 2000, 6000), (3000, 2000, 3000))
    marks = beside(push, rig("track", "camera in", follows="keys"), lens=LENS)["track"]
    assert marks.moved[-1] == pytest.approx(400)
    for frame in (1, 25, 49):
        x, y, width, _ = push.at(np.array([float(frame)]))[0]
        corner = on_subject(x + width / 2, y)
        assert by_opencv(corner, (0, 0, marks.moved[frame - 1])) == pytest.approx([6000, 2000])


def test_a_push_in_to_the_side_needs_a_crab_and_both_agree_with_opencv(move, beside, rig):
    push = move((2800, 2100, 5000), (3900, 1500, 2200))
    things = (
        rig("track", "camera in", follows="keys"),
        rig("slider", "camera sideways", follows="keys"),
        rig("lift", "camera up", follows="keys"),
    )
    table = beside(push, *things, lens=LENS)
    for frame in (1, 13, 25, 37, 49):
        at = [table[name].moved[frame - 1] for name in ("slider", "lift", "track")]
        x, y, width, _ = push.at(np.array([float(frame)]))[0]
        for across, down in ((0, 0), (0.4, -0.2), (-0.5, 0.28)):
            point = on_subject(x + across * width, y + down * width)
            seen = by_opencv(point, (at[0], -at[1], at[2]))
            assert seen == pytest.approx([2800 + across * 5000, 2100 + down * 5000])
    assert table.view.gap(table.twin_poses, push.at(table["track"].moments), 0.5625).max() < 1e-9


@pytest.mark.parametrize(
    "others",
    [
        ("camera sideways", "camera up"), ("camera sideways", "camera up", "camera in"),
        ("camera pan", "camera tilt"), ("camera pan", "camera tilt", "camera in"),
        ("set sideways", "set up"), ("subject sideways", "subject up"),
    ],
)  # fmt: skip
def test_a_roll_by_hand_turns_the_kept_crop_too(others, move, beside, rig):
    width = 2100 if "camera in" in others else 3000
    across = move((1800, 1500, 3000, 0.0), (2200, 1700, width, 20.0))
    things = [rig(name, name, follows="keys") for name in ("camera roll", *others)]
    table = beside(across, *things, lens=LENS)
    for frame in (1, 13, 25, 37, 49):
        gone = {m.rig.motion.way: m.moved[frame - 1] for m in table.marks}
        sign = 1 if others[0].startswith("camera") else -1
        at = sign * gone.get("sideways", 0), -sign * gone.get("up", 0), gone.get("in", 0)
        turns = {way: gone.get(way, 0.0) for way in ("pan", "tilt", "roll")}
        x, y = across.at(np.array([float(frame)]))[0, :2]
        assert by_opencv(on_subject(x, y), at, **turns) == pytest.approx([1800, 1500])


def test_a_set_moved_instead_goes_the_other_way(move, beside, rig):
    pan = move((1500, 2000, 2400), (4300, 1500, 2400))
    camera = beside(
        pan,
        rig("slider", "camera sideways", follows="keys"),
        rig("lift", "camera up", follows="keys"),
        lens=LENS,
    )
    board = beside(
        pan, rig("board", "set sideways", follows="keys"), rig("jack", "set up", follows="keys"),
        lens=LENS,
    )  # fmt: skip
    assert board["board"].moved == pytest.approx(-camera["slider"].moved)
    assert board["jack"].moved == pytest.approx(-camera["lift"].moved)
    assert board.seen_poses.at == pytest.approx(camera.seen_poses.at)


framings = st.tuples(st.floats(1500, 4500), st.floats(1000, 3000), st.floats(1600, 5000))


@given(framings, framings, st.integers(1, 3))
def test_framings_to_marks_and_back_are_within_half_a_division(first, last, on):
    things = [
        a_rig(name, moves, follows="keys")
        for name, moves in (
            ("slider", "camera sideways"), ("lift", "camera up"), ("track", "camera in")
        )
    ]  # fmt: skip
    move = a_move(first, last)
    table = a_twin(move, *things, lens=LENS, on=on)
    rows = move.at(table["slider"].moments)
    # As exactly as it is worked out, it comes back.
    back = table.view.framings(table.twin_poses, rows[0], table.roll())
    assert back == pytest.approx(rows, abs=1e-6)
    # As it is read, every thing is off by half a division (0.25 mm) at the most, and so is the
    # framing: a way begins on a division, at 0.
    per = F / LENS.distance
    assert all(m.residue[0] == 0 for m in table.marks)
    read = np.stack([m.moved + m.residue for m in table.marks], axis=1)
    ways = np.zeros((len(read), 7))
    ways[:, :3] = read
    poses = type(table.poses).of(ways, distance=800)
    back = table.view.framings(poses, rows[0], table.roll())
    # What stands off the middle of the still also moves with the distance.
    off = abs(rows[0, :2] - 3000).max() + 6000
    assert abs(back[:, 0] - rows[:, 0]).max() <= 0.25 * per + 0.25 * off / LENS.distance
    assert abs(back[:, 2] - rows[:, 2]).max() <= 0.25 * rows[0, 2] / LENS.distance + 1e-6


@given(st.floats(900, 5100), st.floats(900, 5100), st.sampled_from([200.0, 400.0, 900.0]))
def test_a_pan_to_marks_on_an_arc_and_back_is_within_half_a_division(start, end, radius):
    move = a_move((start, 2000, 1800), (end, 2000, 1800))
    arm = a_rig("arm", "camera pan", follows="keys", radius=radius, start=20)
    marks = a_twin(move, arm, lens=LENS)["arm"]
    rows = move.at(marks.moments)
    read = np.deg2rad(marks.moved) + marks.residue / radius
    # Half a division of arc, as an angle, at the still's edge where the tangent is steepest.
    edge = max(abs(rows[:, 0] - 3000).max(), 1)
    steepest = F * (1 + (edge / F + 0.01) ** 2)
    there = F * np.tan(np.arctan((start - 3000) / F) + read) + 3000
    assert abs(there - rows[:, 0]).max() <= 0.25 / radius * steepest + 1e-6


def test_a_turned_camera_sees_the_set_aslant_and_the_gap_says_how_much(move, beside, rig):
    pan = move((3000, 2000, 2400), (4300, 2000, 2400))
    table = beside(pan, rig("arm", "camera pan", follows="keys"), lens=LENS)
    marks = table["arm"]
    gap = table.view.gap(table.twin_poses, pan.at(marks.moments), 0.5625)
    assert gap[0] == pytest.approx(0, abs=1e-12)
    # By OpenCV: where the last digital framing's corner is seen by the panned camera.
    corner = on_subject(4300 + 1200, 2000 - 1200 * 0.5625)
    seen = by_opencv(corner, pan=marks.moved[-1])
    away = np.hypot(*(seen - [3000 + 1200, 2000 - 1200 * 0.5625]))
    assert gap[-1] * 2400 == pytest.approx(away, rel=0.1)
    assert away > 50
