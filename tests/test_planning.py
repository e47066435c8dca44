"""Shots from a few words: never enlarged, never outside the still, and said truly."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cropmove.checks.edges import OUTSIDE
from cropmove.checks.facts import Facts
from cropmove.checks.scale import ENLARGED
from cropmove.errors import Complaint, InputError
from cropmove.geometry import Size
from cropmove.move.ease import EASES
from cropmove.planning import MOVES, Wish, plan
from cropmove.shot import Shot, Stills
from cropmove.stills.find import StillRef

BIG = Size(6000, 4000)


def stills(size: Size = BIG, count: int = 24) -> Stills:
    refs = tuple(StillRef(path=Path(f"{n}.jpg")) for n in range(count))
    return Stills(source="harbour", refs=refs, size=size)


def made(still: Size = BIG, count: int = 24, **wish: object) -> Shot:
    return plan("quay", stills(still, count), Wish(**wish))[0]


def refusal(count: int = 24, **wish: object) -> Complaint:
    with pytest.raises(InputError) as refused:
        made(count=count, **wish)
    (complaint,) = refused.value.complaints
    assert complaint.rule
    assert complaint.remedy
    return complaint


def is_clean(shot: Shot) -> bool:
    facts = Facts(shot)
    return not [*OUTSIDE.find(facts), *ENLARGED.find(facts)]


one_move = st.one_of(
    st.builds(Wish, push_in=st.floats(1.01, 8)),
    st.builds(Wish, pull_out=st.floats(1.01, 8)),
    st.builds(Wish, pan=st.sampled_from(["left", "right"])),
    st.builds(Wish, tilt=st.sampled_from(["up", "down"])),
    st.builds(Wish, pan=st.sampled_from(["left", "right"]), tilt=st.sampled_from(["up", "down"])),
    st.just(Wish(hold=True)),
)
sizes = st.builds(Size, st.integers(300, 9000), st.integers(300, 9000))
shares = st.integers(-20, 120).map(lambda n: f"{n}%")


@given(
    one_move, sizes, st.sampled_from(["hd", "uhd", "2k scope", "640x480", "333x777", "256x256"]),
    st.none() | st.tuples(shares, shares), st.none() | st.floats(20, 120).map(lambda n: f"{n}%"),
    st.sampled_from([None, *EASES, "cubic-bezier(0.3,-0.4,0.6,1.3)"]), st.sampled_from([1, 24]),
)  # fmt: skip
def test_no_wish_makes_a_move_that_enlarges_or_leaves_the_still(
    wish: Wish,
    size: Size,
    delivery: str,
    at: object,
    width: str | None,
    ease: str | None,
    count: int,
) -> None:
    given_width = width if wish.pan or wish.tilt or wish.hold else None
    asked = {f: getattr(wish, f) for f in (*MOVES, "end")}
    try:
        shot = made(size, count, **asked, at=at, width=given_width, ease=ease, size=delivery)
    except InputError as error:
        assert all(c.rule and c.remedy for c in error.complaints)  # noqa: PT017
        return
    assert is_clean(shot)


@given(one_move, sizes)
def test_what_it_says_of_the_closest_framing_is_true(wish: Wish, size: Size) -> None:
    try:
        shot, sentence = plan("quay", stills(size), wish)
    except InputError:
        return
    match = re.search(
        r"as close as ([\d.]+) px wide \(([\d.]+) times nearer than the widest", sentence
    )
    assert match, sentence
    width, times = float(match[1]), float(match[2])
    assert width == shot.delivery.size.width
    there = [str(size.width / 2), str(size.height / 2), match[1]]
    assert is_clean(made(size, start=there, end=there))
    if times > 1:
        assert is_clean(made(size, push_in=times))
        with pytest.raises(InputError):
            made(size, push_in=times + 0.002)


@given(
    st.sampled_from([None, "even", "smooth", "none", "ease-in-out"]), st.integers(2, 300),
    st.sampled_from(["left", "right"]), st.sampled_from([None, "up", "down"]),
    st.sampled_from(["24", "25", "12", "30000/1001"]),
)  # fmt: skip
def test_a_pan_keeps_to_the_seven_second_rule(
    ease: str | None, frames: int, pan: str, tilt: str | None, fps: str
) -> None:
    # A detail takes 7 s or more to cross the frame at 24 frames a second: cinematographers'
    # tradition. The step, 1/168 of the width, holds at every rate.
    shot = made(count=1, pan=pan, tilt=tilt, ease=ease, frames=frames, fps=fps)
    fastest = shot.course().step.max()
    assert fastest <= 1920 / 168 * (1 + 1e-9)
    across = shot.course().travel[-1]
    assert across > 0


def test_a_long_enough_pan_is_ended_by_the_still_and_not_by_the_rule() -> None:
    shot = made(count=1, pan="right", frames=2000)
    assert [round(key.framing.x) for key in shot.keys] == [1500, 4500]


def test_a_shot_lasts_as_long_as_its_stills_where_nobody_says() -> None:
    assert made(push_in=2, on=2).length == 48
    assert made(push_in=2).length == 24
    assert made(count=1, push_in=2).length == 72  # 3 s
    assert made(count=1, push_in=2, seconds=2.5, fps="12").length == 30
    assert made(push_in=2, on=2, frames=20).length == 20


@pytest.mark.parametrize("text", ["24", "24000/1001", "23.976", "12.5"])
def test_a_rate_is_as_in_the_shot_file(text: str) -> None:
    known = {"24": 24, "24000/1001": Fraction(24000, 1001), "23.976": Fraction(24000, 1001)}
    assert made(push_in=2, fps=text).fps == known.get(text, Fraction(25, 2))


def test_the_eases_asked_for_are_those_of_the_last_key() -> None:
    key = made(push_in=2, ease="smooth", ease_in="4", ease_out="0.25 s").keys[-1]
    assert (key.ease, key.ease_in, key.ease_out) == (EASES["smooth"], 4, 6)


def test_an_exact_move_is_taken_as_it_is() -> None:
    shot = made(start=("50%", "50%", "100%"), end=("3100", "1900", "2000"))
    assert [key.framing.to_row().tolist() for key in shot.keys] == [
        [3000, 2000, 6000, 0], [3100, 1900, 2000, 0],
    ]  # fmt: skip


def test_a_pan_with_a_tilt_goes_across() -> None:
    first, last = (key.framing for key in made(count=1, pan="left", tilt="down").keys)
    assert last.x < first.x
    assert last.y > first.y
    assert np.isclose(first.x - last.x, last.y - first.y)


def test_a_hold_is_one_key_and_lasts() -> None:
    shot = made(count=1, hold=True, seconds=2)
    assert len(shot.keys) == 1
    assert shot.length == 48
    assert made(hold=True, on=2).length == 48


def test_a_delivery_larger_than_the_still_is_refused_with_one_that_fits() -> None:
    with pytest.raises(InputError) as refused:
        made(Size(1000, 800), push_in=2)
    match = re.search(r"deliver (\d+) px wide", str(refused.value))
    assert match
    assert is_clean(made(Size(1000, 800), hold=True, size=f"{match[1]}x{int(match[1]) * 9 // 16}"))


@pytest.mark.parametrize(
    ("wish", "where", "value"),
    [
        ({}, "move", ""),
        ({"push_in": 2, "pan": "left"}, "move", "push_in pan"),
        ({"pan": "sideways"}, "pan", "sideways"),
        ({"pan": "up"}, "pan", "up"),
        ({"pan": ""}, "pan", ""),
        ({"tilt": "left"}, "tilt", "left"),
        ({"start": ("1", "2", "3")}, "start, end", ""),
        ({"end": ("1", "2", "3")}, "start, end", ""),
        ({"push_in": 0.0}, "push_in", "0.0"),
        ({"push_in": 0.0, "pan": "left"}, "move", "push_in pan"),
        ({"push_in": 2, "seconds": 1e200}, "seconds", "1e+200"),
        ({"push_in": 1}, "push_in", "1"),
        ({"push_in": 3.2}, "push_in", "3.2"),
        ({"push_in": float("nan")}, "push_in", "nan"),
        ({"push_in": 2, "at": ("x", "3")}, "at", "x"),
        ({"push_in": 2, "at": ("nan", "3")}, "at", "nan"),
        ({"push_in": 2, "width": "3000"}, "width", "3000"),
        ({"pan": "left", "width": "wide"}, "width", "wide"),
        ({"hold": True, "width": "1000"}, "width, width", "1000.0"),
        ({"pan": "left", "width": "100%"}, "pan", "left"),
        ({"push_in": 2, "seconds": 2, "frames": 48}, "seconds, frames", ""),
        ({"push_in": 2, "seconds": -1}, "seconds", "-1"),
        ({"push_in": 2, "seconds": float("nan")}, "seconds", "nan"),
        ({"push_in": 2, "seconds": 0.04}, "seconds", "0.04"),
        ({"push_in": 2, "seconds": 2}, "seconds", "2"),
        ({"hold": True, "seconds": 0.01}, "seconds", "0.01"),
        ({"push_in": 2, "frames": 1}, "frames", "1"),
        ({"push_in": 2, "frames": 25}, "frames", "25"),
        ({"hold": True, "frames": 0}, "frames", "0"),
        ({"push_in": 2, "on": 0}, "on", "0"),
        ({"push_in": 2, "on": -3}, "on", "-3"),
        ({"push_in": 2, "fps": "0"}, "fps", "0.0"),
        ({"push_in": 2, "fps": "fast"}, "fps", "fast"),
        ({"push_in": 2, "fps": "nan"}, "fps", "nan"),
        ({"push_in": 2, "size": "hdd"}, "size", "hdd"),
        ({"push_in": 2, "size": "1x100000"}, "size", "1 x 100000"),
        ({"push_in": 2, "size": "0x1080"}, "size", "0 x 1080"),
        ({"push_in": 2, "size": "9" * 5000 + "x1"}, "size", "9" * 297 + "..."),
        ({"push_in": 2, "ease_in": "9" * 5000}, "ease_in", "9" * 297 + "..."),
        ({"push_in": 2, "ease": "smoth"}, "ease", "smoth"),
        ({"push_in": 2, "ease_in": "long"}, "ease_in", "long"),
        ({"push_in": 2, "ease_out": "-3"}, "ease_out", "-3"),
        ({"push_in": 2, "ease_in": "20", "ease_out": "20"}, "key 2, ease_in + ease_out", "20 + 20"),
        ({"start": ("0", "0", "3000"), "end": ("50%", "50%", "50%")}, "start, centre", "0, 0"),
        ({"start": ("50%", "50%", "100%"), "end": ("50%", "50%", "1000")}, "end, width", "1000.0"),
        ({"start": ("50%",) * 3, "end": ("50%",) * 3, "at": ("1", "2")}, "at", "1,2"),
    ],
)  # fmt: skip
def test_a_wish_that_cannot_be_is_refused_where_it_was_said(
    wish: dict[str, object], where: str, value: str
) -> None:
    complaint = refusal(**wish)
    assert (complaint.where, complaint.value) == (where, value)


def test_a_shot_longer_than_any_is_refused_before_it_is_worked_out() -> None:
    for wish in ({"pan": "right", "frames": 10**11}, {"push_in": 2, "seconds": 1e12}):
        assert "1,000,000" in refusal(count=1, **wish).rule


def test_an_ease_that_would_run_out_of_the_still_is_refused_and_one_with_room_is_not() -> None:
    past = "cubic-bezier(0.3, -0.5, 0.7, 1.5)"
    assert refusal(push_in=3.125, ease=past).where == "ease"
    ends = {"start": ("50%", "50%", "4000"), "end": ("50%", "50%", "3000")}
    assert is_clean(made(ease=past, **ends))


def test_more_frames_than_the_stills_last_are_refused_with_what_they_last() -> None:
    complaint = refusal(push_in=2, on=2, frames=60)
    assert "at most 48 frames (2 s)" in complaint.remedy


@given(one_move)
def test_the_sentence_says_what_was_made(wish: Wish) -> None:
    try:
        shot, sentence = plan("quay", stills(), wish)
    except InputError:
        assume(False)
    assert f"{shot.length} frames" in sentence
    assert f"{shot.keys[-1].framing.width:.6g} px wide" in sentence
    word = sentence.split(":")[0]
    pans, tilts = ("pan left", "pan right"), ("tilt up", "tilt down")
    both = {f"{tilt}, {pan}" for tilt in tilts for pan in pans}
    assert word in {"push in", "pull out", "hold", *pans, *tilts, *both}


@pytest.mark.parametrize("still", [BIG, Size(5472, 3648), Size(5183, 2999)])
@pytest.mark.parametrize(
    "wish", [{"pan": "right"}, {"tilt": "up"}, {"push_in": 1.7}, {"pull_out": 1.3}, {"hold": True}]
)
def test_a_shot_file_is_to_be_read_so_its_numbers_have_few_digits(
    still: Size, wish: dict[str, object]
) -> None:
    shot = made(still, **wish)
    numbers = [n for key in shot.keys for n in (key.framing.x, key.framing.y, key.framing.width)]
    assert numbers == [round(number, 2) for number in numbers]
    assert is_clean(shot)


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ({"push_in": 2, "at": (2500, 1500.5)}, {"push_in": 2, "at": ("2500", "1500.5")}),
        ({"hold": True, "width": np.int64(3000)}, {"hold": True, "width": "3000"}),
        (
            {"start": (3000, 2000, 6000), "end": (np.float64(3000), "50%", 4000)},
            {"start": ("3000", "2000", "6000"), "end": ("3000", "50%", "4000")},
        ),
        (
            {"push_in": 2, "ease_in": 4, "ease_out": np.int64(6)},
            {"push_in": 2, "ease_in": "4", "ease_out": "6"},
        ),
        ({"push_in": 2, "ease": EASES["smooth"]}, {"push_in": 2, "ease": "smooth"}),
        ({"push_in": 2, "size": Size(1920, 1080)}, {"push_in": 2, "size": "1920x1080"}),
        ({"push_in": 2, "fps": Fraction(24000, 1001)}, {"push_in": 2, "fps": "24000/1001"}),
        ({"push_in": 2, "fps": 25}, {"push_in": 2, "fps": "25"}),
        ({"push_in": 2, "frames": np.int64(20)}, {"push_in": 2, "frames": 20}),
    ],
)  # fmt: skip
def test_python_may_give_numbers_where_the_command_line_gives_words(
    numbers: dict[str, object], words: dict[str, object]
) -> None:
    stills = Stills(size=Size(6000, 4000))
    assert plan("quay", stills, Wish(**numbers)) == plan("quay", stills, Wish(**words))


@pytest.mark.parametrize(
    ("wish", "where", "rule"),
    [
        ({"push_in": 2, "at": "50%,40%"}, "at", "a point is x and y"),
        ({"push_in": 2, "at": (1, 2, 3)}, "at", "a point is x and y"),
        ({"push_in": 2, "at": ()}, "at", "a point is x and y"),
        ({"start": (1, 2), "end": (1, 2, 3)}, "start", "an exact framing is x, y and width"),
        ({"push_in": "2"}, "push_in", "a number here is finite"),
        ({"push_in": 2, "seconds": "2"}, "seconds", "this is a number"),
        ({"push_in": 2, "frames": 24.0}, "frames", "a length in frames is a whole number"),
        ({"push_in": 2, "size": (1920, 1080)}, "size", "this is a Size or a text"),
    ],
)
def test_what_is_no_number_and_no_word_is_refused(
    wish: dict[str, object], where: str, rule: str
) -> None:
    complaint = refusal(**wish)
    assert (complaint.where, complaint.rule) == (where, rule)
