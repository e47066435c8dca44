"""Answers before any file is written, against the handbooks' worked moves."""

from fractions import Fraction
from functools import partial

import pytest
from by_hand import a_rig, a_table
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.move.ease import DEFAULT_EASE, EASES, ease_named
from cropmove.rig.stopwatch import longest_ease, longest_move, pace, steps_in


def test_twelve_feet_in_two_seconds_are_three_inches_a_frame():
    # Animation-stand practice: a constant move of 12 ft in 2 s at 24 is 48 frames of 3 in.
    steps = steps_in(Fraction(2), Fraction(24))
    assert steps == 48
    assert pace(144, steps, EASES["none"]).step == pytest.approx(3)


def test_the_cruise_is_the_travel_over_what_the_eases_leave():
    # v = D / (N - a/2 - b/2), Salt 1977: 300 in 60 with 10 and 10 is 6.
    assert pace(300, 60, EASES["odd"], 10, 10).cruise == 6.0
    assert pace(500, 48, EASES["odd"], 8, 16).cruise == pytest.approx(13.888889)


@given(
    rule=st.floats(50, 900), cruise=st.floats(0.5, 20), lengths=st.tuples(*[st.integers(0, 30)] * 2)
)
def test_the_longest_move_fits_and_a_longer_one_would_not(rule, cruise, lengths):
    try:
        made = longest_move(rule, cruise, EASES["even"], *lengths)
    except InputError:
        shortest = pace(1.0, max(1, sum(lengths)), EASES["even"], *lengths)
        assert cruise / shortest.step.max() > rule
        return
    assert made.travel <= rule * (1 + 1e-9)
    assert made.cruise == pytest.approx(cruise, abs=1e-6)
    longer = pace(1.0, made.steps + 1, EASES["even"], *lengths)
    assert cruise / longer.step.max() > rule


def test_a_curve_that_is_steep_in_its_middle_is_followed_to_the_end_of_the_rule():
    # Half-way dy / du is 3 / 4 (y2 - y1 + 1) = 1.5 and dx / du 3 / 4 (x2 - x1 + 1) = 0.15: it is
    # 10 times as fast as even steps.
    steep = ease_named("cubic-bezier(0.9, 0, 0.1, 1)")
    made = longest_move(300, 6, steep)
    assert made.steps == pytest.approx(10 * 300 / 6, rel=0.02)
    assert made.travel == pytest.approx(300, rel=0.02)


def test_a_move_of_more_steps_than_a_shot_has_is_refused():
    with pytest.raises(InputError, match="at most 1,000,000 steps"):
        longest_move(100_000, 0.001)


@given(st.floats(50, 900), st.integers(4, 200), st.floats(0.1, 2))
def test_the_longest_ease_can_be_set_and_a_longer_one_could_not(travel, steps, smallest):
    try:
        made = longest_ease(travel, steps, smallest)
    except InputError:
        assert travel / steps < smallest * (1 + 1e-6)
        return
    assert made.step.min() >= smallest * (1 - 1e-8)
    if 2 * (made.ease_in + 1) <= steps:
        longer = pace(travel, steps, made.ease, made.ease_in + 1, made.ease_in + 1)
        assert longer.step.min() < smallest


@pytest.mark.parametrize(
    "ask",
    [
        lambda: pace(0, 48), lambda: pace(10, 0), lambda: pace(10, 8, ease_in=6, ease_out=6),
        lambda: pace(10, 8, EASES["none"], 2), lambda: longest_move(5, 6),
        lambda: longest_move(10, 5, EASES["even"], 20, 20),
        lambda: longest_ease(10, 48, 0.5), lambda: longest_ease(10, 8, 0.5, EASES["none"]),
        lambda: longest_ease(10, 8, 0),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_a_remedy(ask):
    with pytest.raises(InputError) as refused:
        ask()
    assert refused.value.complaints[0].remedy


@pytest.mark.parametrize("steps", [0, 1_000_001, 10**9])
def test_a_pace_of_more_steps_than_a_shot_has_is_refused(steps):
    with pytest.raises(InputError, match="1 to 1,000,000 steps"):
        pace(300, steps)


def test_the_longest_ease_of_a_very_long_move_is_found_soon():
    # By hand: nothing is too small, so that the eases take half of the move each.
    made = longest_ease(1e9, 1_000_000, 1e-9)
    assert (made.ease_in, made.ease_out) == (500_000, 500_000)


def test_on_twos_the_hand_goes_twice_as_far_for_each_still():
    # The same move of 12 ft in 2 s: 24 times from still to still, so 6 in each.
    made = pace(144, 48, EASES["none"], on=2)
    assert made.stills == 25
    assert made.step == pytest.approx(6)


@pytest.mark.parametrize(("steps", "on"), [(60, 2), (61, 2), (47, 3), (96, 4)])
def test_the_stopwatch_and_the_marks_of_such_a_move_agree(steps, on):
    # Told from both sides: the list that is shot from has the same places.
    boat = a_rig("boat", "subject sideways", start=0, end=300, ease_in=10, ease_out=17)
    table = a_table(boat, frames=steps + 1, on=on)
    places = pace(300, steps, DEFAULT_EASE, 10, 17, on=on).places
    assert places == pytest.approx(table["boat"].exact, abs=1e-9)


@given(
    st.floats(20, 4000), st.floats(0.2, 19), st.integers(2, 4), st.integers(0, 8), st.integers(0, 8)
)
def test_the_longest_move_on_twos_fits_and_a_still_more_would_not(rule, cruise, on, first, last):
    try:
        made = longest_move(rule, cruise, DEFAULT_EASE, first, last, on=on)
    except InputError:  # the eases alone are longer than the rule
        least = -(-max(on, first + last) // on) * on
        assert cruise / pace(1, least, DEFAULT_EASE, first, last, on=on).step.max() > rule
        return
    assert made.travel <= rule * (1 + 1e-6)
    assert made.cruise == pytest.approx(cruise, rel=1e-6)
    assert made.steps % on == 0
    more = pace(1, made.steps + on, DEFAULT_EASE, first, last, on=on)
    assert cruise / more.step.max() > rule


def test_a_move_shorter_than_a_still_is_held_is_refused():
    with pytest.raises(InputError, match="2 steps or more"):
        pace(300, 1, on=2)


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ({"ease_in": -1}, "ease_in"), ({"ease_out": 1.5}, "ease_out"), ({"on": 0}, "on"),
        ({"on": -1}, "on"), ({"on": True}, "on"),
    ],
)  # fmt: skip
def test_frames_that_cannot_be_counted_are_refused_by_name(words, place):
    asked = [partial(pace, 120, 48), partial(longest_move, 300, 6)]
    if place == "on":
        asked.append(partial(longest_ease, 300, 60, 0.5))
    for ask in asked:
        with pytest.raises(InputError, match="whole number of frames") as refused:
            ask(**words)
        assert refused.value.complaints[0].where == place


def test_steps_are_whole():
    for ask in (partial(pace, 120), partial(longest_ease, 300, smallest=0.5)):
        with pytest.raises(InputError, match="whole number of frames"):
            ask(steps=47.5)
