"""The simple moves: never enlarged, never outside the still."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.course import Move, corner_steps
from cropmove.move.ease import EASES, default_lengths
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.move.simple import CALM_STEP, Room, calm_share, hold, pan, pull_out, push_in

BIG, HD, UHD = Size(6000, 4000), Size(1920, 1080), Size(3840, 2160)
ROOM = Room(still=BIG, delivery=HD)

stills = st.builds(Size, st.integers(200, 9000), st.integers(200, 9000))
deliveries = st.builds(Size, st.integers(16, 4096), st.integers(16, 2160))


@st.composite
def rooms(draw: st.DrawFn) -> Room:
    still, delivery = draw(stills), draw(deliveries)
    assume(min(still.width / delivery.width, still.height / delivery.height) >= 1)
    return Room(still=still, delivery=delivery)


def is_inside(room: Room, framing: Framing) -> bool:
    left, top, right, bottom = framing.box(room.delivery)
    slack = 1e-6
    return (
        min(left, top) >= -slack
        and right <= room.still.width + slack
        and bottom <= room.still.height + slack
        and framing.scale(room.delivery) <= 1 + 1e-9
    )


def test_the_room_in_a_24_megapixel_still_is_the_handbooks() -> None:
    # 6000 x 4000 at 16:9 allows 6000 x 3375, 3.125 times in to HD, 1.5625 times to UHD; computed.
    assert ROOM.widest.box(HD) == (0, 312.5, 6000, 3687.5)
    assert ROOM.most == 3.125
    assert Room(still=BIG, delivery=UHD).most == 1.5625
    assert ROOM.closest == 1920


def test_a_still_smaller_than_the_delivery_is_refused_with_what_would_do() -> None:
    with pytest.raises(InputError) as refused:
        Room(still=Size(1600, 1200), delivery=HD)
    (complaint,) = refused.value.complaints
    assert complaint.remedy == "deliver 1600 px wide or less"
    assert Room(still=Size(1600, 1200), delivery=Size(1600, 900)).most == 1


def test_a_delivery_of_an_impossible_shape_is_refused_without_a_silly_number() -> None:
    with pytest.raises(InputError, match="deliver another shape"):
        Room(still=BIG, delivery=Size(1, 65536))


@given(rooms(), st.floats(1.0001, 50), st.tuples(st.floats(-9e3, 2e4), st.floats(-9e3, 2e4)))
def test_a_push_in_never_enlarges_and_never_leaves_the_still(
    room: Room, times: float, at: tuple[float, float]
) -> None:
    if times > room.most:
        with pytest.raises(InputError, match="would be enlarged"):
            push_in(room, times * 1.001, at)
        return
    start, end = push_in(room, times, at)
    assert is_inside(room, start)
    assert is_inside(room, end)
    assert start.width / end.width == pytest.approx(times)
    assert pull_out(room, times, at) == (end, start)


@given(rooms(), st.floats(1.0001, 50))
def test_what_a_refused_push_in_offers_is_accepted(room: Room, times: float) -> None:
    assume(room.most > 1.001)
    with pytest.raises(InputError) as refused:
        push_in(room, room.most * times)
    offered = float(refused.value.complaints[0].remedy.removeprefix("give at most "))
    assume(offered > 1)
    assert is_inside(room, push_in(room, offered)[1])


@pytest.mark.parametrize("across", [1920, 1921])
def test_a_still_with_nothing_to_spare_offers_no_push_in_that_is_none(across: int) -> None:
    # 1921 / 1920 is 1.0005, of which three digits after the point are 1: no push in at all.
    room = Room(still=Size(across, 1081), delivery=Size(1920, 1080))
    with pytest.raises(InputError) as refused:
        push_in(room, 1.5)
    assert refused.value.complaints[0].remedy == "deliver fewer pixels"


def test_a_push_in_goes_to_its_point_where_that_is_inside() -> None:
    end = push_in(ROOM, 2, (3200, 1800))[1]
    assert (end.x, end.y, end.width) == (3200, 1800, 3000)
    at_the_edge = push_in(ROOM, 2, (0, 0))[1]
    assert (at_the_edge.x, at_the_edge.y) == (1500, 843.75)


@pytest.mark.parametrize("times", [1, 0, -2, float("nan"), float("inf")])
def test_a_push_in_that_does_not_go_in_is_refused(times: float) -> None:
    with pytest.raises(InputError, match="above 1 time"):
        push_in(ROOM, times)


@given(
    rooms(),
    st.sampled_from(["left", "right", "up", "down", "up left", "down right"]),
    st.floats(0.001, 5),
    st.floats(0, 1),
    st.none() | st.tuples(st.floats(-9e3, 2e4), st.floats(-9e3, 2e4)),
)
def test_a_pan_never_enlarges_and_never_leaves_the_still(
    room: Room, way: str, share: float, tightness: float, at: tuple[float, float] | None
) -> None:
    width = room.closest + tightness * (room.widest.width - room.closest)
    try:
        start, end = pan(room, way, share, width, at)
    except InputError as error:
        assert "nowhere to go" in str(error)  # noqa: PT017
        return
    assert is_inside(room, start)
    assert is_inside(room, end)
    assert start.width == end.width
    moved = np.array([end.x - start.x, end.y - start.y])
    assert np.hypot(*moved) <= share * width * (1 + 1e-9)
    ways = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}
    wanted = np.sum([ways[word] for word in way.split()], axis=0)
    assert (np.sign(np.where(np.abs(moved) < 1e-9, 0, moved)) == wanted).all()


def test_pan_left_is_pan_right_backwards() -> None:
    start, end = pan(ROOM, "left", 0.4)
    assert pan(ROOM, "right", 0.4) == (end, start)


def test_a_way_that_is_none_is_refused() -> None:
    for way in ("sideways", "", "up sideways"):
        with pytest.raises(InputError, match="a way to go is one of: left, right, up, down"):
            pan(ROOM, way, 0.4)


@given(rooms(), st.floats(-0.1, 1.1), st.tuples(st.floats(-9e3, 2e4), st.floats(-9e3, 2e4)))
def test_a_hold_never_enlarges_and_never_leaves_the_still(
    room: Room, tightness: float, at: tuple[float, float]
) -> None:
    width = room.closest + tightness * (room.widest.width - room.closest)
    try:
        start, end = hold(room, width, at)
    except InputError as error:
        assert not room.closest <= width <= room.widest.width
        assert "inside this still, not enlarged" in str(error)  # noqa: PT017
        return
    assert start == end
    assert is_inside(room, start)


@given(rooms(), st.floats(-1, 2), st.floats(-1, 2), st.floats(0.5, 1.5))
def test_an_exact_framing_is_taken_as_it_is_or_refused_with_one_that_would_do(
    room: Room, across: float, down: float, tightness: float
) -> None:
    width = room.closest + tightness * (room.widest.width - room.closest)
    wanted = Framing(x=across * room.still.width, y=down * room.still.height, width=width)
    try:
        assert room.within(wanted) is wanted
        assert is_inside(room, wanted)
    except InputError as error:
        assert not is_inside(room, wanted) or width < room.closest or width > room.widest.width
        assert error.complaints[0].where in ("width", "centre")  # noqa: PT017


# --- calm ---------------------------------------------------------------------------------------

# Cinematographers' tradition, the seven-second rule: a detail takes 7 s or more to cross the frame
# at 24 frames a second and 180 degrees; 1/168 of the width a frame = 0.595 %.


def test_the_seven_second_rule_in_pixels() -> None:
    share = calm_share(EASES["none"], 1, (0, 0))
    assert share == pytest.approx(1 / 168)
    assert share * 1920 == pytest.approx(11.4286, abs=5e-5)
    assert share * 3840 == pytest.approx(22.857, abs=5e-4)


# Shortest time for one picture width so that the peak step stays within 1/168; computed.
CROSSINGS = {
    ("none", 0): 7,
    ("odd", 1 / 4): 28 / 3,
    ("cosine", 1 / 2): 10.996,
    ("smooth", 1 / 2): 13.125,
    ("odd", 1 / 2): 14,  # two triangles
}


@pytest.mark.parametrize(("name", "ramp"), CROSSINGS)
def test_the_shortest_calm_crossing_is_the_tables(name: str, ramp: float) -> None:
    # Many short steps, so that a step stands for the speed: 1/40 of a frame at 24 a second.
    finer = 40
    steps = round(CROSSINGS[name, ramp] * 24 * finer / 4) * 4
    lengths = (round(steps * ramp),) * 2
    share = calm_share(EASES[name], steps, lengths)
    assert share / finer == pytest.approx(1.0, rel=1e-3)


@pytest.mark.parametrize("name", EASES)
@given(steps=st.integers(2, 400))
def test_a_pan_of_the_calm_share_keeps_to_the_rule_in_its_fastest_step(
    name: str, steps: int
) -> None:
    ease = EASES[name]
    lengths = default_lengths(steps) if ease.has_lengths else (0, 0)
    start, end = pan(ROOM, "right", calm_share(ease, steps, lengths), 1920)
    move = Move((Key(frame=1, framing=start), Key(frame=1 + steps, framing=end, ease=ease)), HD)
    fastest = corner_steps(move.at(np.arange(1.0, steps + 2)), HD).max()
    assert fastest <= 1920 * CALM_STEP * (1 + 1e-9)
