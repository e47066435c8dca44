"""Keys and the legs that they make."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.move.ease import EASES, cubic_bezier
from cropmove.move.framing import Framing
from cropmove.move.key import LONGEST, Key, legs

WIDE = Framing(x=3000, y=2000, width=6000)
TIGHT = Framing(x=3000, y=2000, width=3000)


def key(frame: int, framing: Framing = WIDE, **more: object) -> Key:
    return Key(frame=frame, framing=framing, **more)


def refusals(*keys: Key) -> list[tuple[str, str]]:
    with pytest.raises(InputError) as refused:
        legs(keys)
    return [(c.where, c.rule) for c in refused.value.complaints]


def test_a_leg_runs_from_stop_to_stop_and_holds_what_it_passes() -> None:
    keys = [key(1), key(5, TIGHT, stop=False), key(9), key(20, TIGHT)]
    first, second = legs(keys)
    assert (first.start, first.passed, first.end) == (keys[0], (keys[1],), keys[2])
    assert (second.start, second.passed, second.end) == (keys[2], (), keys[3])
    assert (first.steps, second.steps) == (8, 11)


def test_one_key_makes_no_leg() -> None:
    assert legs([key(7)]) == ()


@given(st.sets(st.integers(1, 500), min_size=2, max_size=9), st.data())
def test_legs_follow_each_other_and_hold_every_key(frames: set[int], data: st.DataObject) -> None:
    ordered = sorted(frames)
    inner = {f: data.draw(st.booleans()) for f in ordered[1:-1]}
    made = legs([key(f, stop=inner.get(f, True)) for f in ordered])
    assert [leg.start.frame for leg in made[1:]] == [leg.end.frame for leg in made[:-1]]
    assert sum(leg.steps for leg in made) == ordered[-1] - ordered[0]
    assert sorted({k.frame for leg in made for k in leg.keys}) == ordered


@pytest.mark.parametrize("bad", [0, -3, 1.0, True, "1", None])
def test_a_frame_is_a_whole_number_from_1(bad: object) -> None:
    with pytest.raises(InputError, match="whole numbers from 1"):
        Key(frame=bad, framing=WIDE)


def test_a_frame_after_the_longest_shot_is_refused() -> None:
    Key(frame=LONGEST, framing=WIDE)
    for bad in (LONGEST + 1, 10**400):
        with pytest.raises(InputError, match="1 to 1,000,000 frames long"):
            Key(frame=bad, framing=WIDE)


@pytest.mark.parametrize("bad", [-1, 2.0, False])
@pytest.mark.parametrize("end", ["ease_in", "ease_out"])
def test_an_ease_is_a_whole_number_of_frames_from_0(end: str, bad: object) -> None:
    with pytest.raises(InputError) as refused:
        Key(frame=1, framing=WIDE, **{end: bad})
    assert refused.value.complaints[0].where == end


def test_all_faults_of_a_key_are_told_at_once() -> None:
    with pytest.raises(InputError) as refused:
        Key(frame=0, framing=WIDE, ease_in=-1, ease_out=-2, stop=False)
    assert [c.where for c in refused.value.complaints] == ["frame", "ease_in", "ease_out", "ease"]


def test_an_ease_on_a_passed_key_is_refused() -> None:
    with pytest.raises(InputError, match="this key is passed"):
        Key(frame=5, framing=WIDE, stop=False, ease=EASES["even"])


@pytest.mark.parametrize("name", [name for name, ease in EASES.items() if not ease.has_lengths])
def test_lengths_for_an_ease_that_has_none_are_refused(name: str) -> None:
    with pytest.raises(InputError, match="no ease in or ease out to set"):
        Key(frame=5, framing=WIDE, ease=EASES[name], ease_in=3)


def test_two_keys_on_one_frame_are_refused_with_both_named() -> None:
    (fault,) = refusals(key(1), key(9), key(9))
    assert fault == ("key 3, frame", "a frame has one key; key 2 is on 9 too")


def test_every_key_out_of_order_is_told_at_once() -> None:
    faults = refusals(key(5), key(4), key(9), key(9), key(2))
    assert [where for where, _ in faults] == ["key 2, frame", "key 4, frame", "key 5, frame"]


def test_no_key_at_all_is_refused() -> None:
    assert refusals() == [("key", "a move has at least one key")]


def test_the_ends_of_a_move_are_stops_and_the_first_has_no_ease() -> None:
    eased = replace(key(1), ease=EASES["even"])
    assert [where for where, _ in refusals(eased, key(9, stop=False))] == [
        "key 1, ease",
        "key 2, stop",
    ]
    assert [where for where, _ in refusals(key(1, stop=False), key(9))] == ["key 1, stop"]
    assert [where for where, _ in refusals(key(1, stop=False))] == ["key 1, stop"]


def test_faults_of_several_legs_are_told_at_once() -> None:
    faults = refusals(key(1), key(5, ease_in=4, ease_out=1), key(9, ease_in=5))
    assert [where for where, _ in faults] == [
        "key 2, ease_in + ease_out",
        "key 3, ease_in + ease_out",
    ]


def test_a_curve_that_overshoots_cannot_pass_keys() -> None:
    (fault,) = refusals(
        key(1), key(5, TIGHT, stop=False), key(9, ease=cubic_bezier(0.3, -0.5, 0.7, 1))
    )
    assert fault[0] == "key 3, ease"


def test_keys_between_which_an_ease_does_nothing_are_refused() -> None:
    # The last step of minimum jerk in a million is some 1e-17 of the travel; 1 - 2 ** -53 is the
    # nearest number below 1 (IEEE 754 binary64).
    passed, last = key(999_999, TIGHT, stop=False), key(1_000_000, ease=EASES["smooth"])
    (fault,) = refusals(key(1), passed, last)
    assert fault[0] == "key 3, ease"
    assert "frames 999999 and 1000000" in fault[1]
    assert legs([key(1), replace(passed, frame=900_000), last])


def test_an_ease_with_no_lengths_has_none_in_force() -> None:
    (leg,) = legs([key(1), key(49, TIGHT, ease=EASES["none"])])
    assert leg.ease_lengths == (0, 0)


def test_a_leg_that_goes_nowhere_is_a_hold() -> None:
    hold, move = legs([key(1), key(9), key(20, TIGHT)])
    assert hold.is_hold
    assert not move.is_hold


def test_numbers_of_frames_may_come_from_an_array() -> None:
    made = Key(frame=np.int64(49), framing=TIGHT, ease_in=np.int32(8), ease_out=np.uint8(14))
    assert made == Key(frame=49, framing=TIGHT, ease_in=8, ease_out=14)
    assert {type(n) for n in (made.frame, made.ease_in, made.ease_out)} == {int}


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ({"ease": "smooth"}, "ease"),
        ({"ease": ""}, "ease"),
        ({"framing": None}, "framing"),
        ({"framing": (3000, 2000, 6000)}, "framing"),
        ({"frame": np.float64(49)}, "frame"),
        ({"ease_in": True}, "ease_in"),
    ],
)
def test_what_is_of_another_kind_is_refused(words: dict[str, object], place: str) -> None:
    with pytest.raises(InputError) as refused:
        Key(**{"frame": 49, "framing": TIGHT} | words)
    assert [complaint.where for complaint in refused.value.complaints] == [place]
