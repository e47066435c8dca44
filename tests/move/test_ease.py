"""The eases, beside handbook tables, published curves and independent solvers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from cropmove.errors import InputError
from cropmove.move.ease import (
    DEFAULT_EASE,
    EASES,
    Ease,
    cubic_bezier,
    default_lengths,
    ease_named,
    keeping_time,
)
from cropmove.move.framing import Framing
from cropmove.move.key import Key, legs

RAMPS = [name for name, ease in EASES.items() if ease.has_lengths]
WHOLE = [name for name, ease in EASES.items() if not ease.has_lengths]


def positions(name: str, distance: float, steps: int, a: int, b: int) -> np.ndarray:
    return distance * ease_named(name).progress(np.arange(steps + 1), steps, a, b)


# --- the trapezoid of the animation stand -----------------------------------------------------
# Source of the construction: Brian Salt, Basic Animation Stand Techniques, 1977 ("fairing", from
# rest to constant speed and back). Cruise v = D / (N - a/2 - b/2); the numbers are computed from
# the stated ramp formulas.

RAMP_TABLE = {
    # odd numbers: step k = v (2k - 1) / 2a
    "odd": (0.3, 0.9, 1.5, 2.1, 2.7, 3.3, 3.9, 4.5, 5.1, 5.7),
    # evenly growing: step k = v k / (a + 1)
    "even": tuple(6 * k / 11 for k in range(1, 11)),
    # raised cosine: position v [k/2 - (a / 2 pi) sin(pi k / a)]
    "raised-cosine": (
        0.0491, 0.3380, 0.8874, 1.6436, 2.5326, 3.4674, 4.3564, 5.1126, 5.6620, 5.9509,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", RAMP_TABLE)
def test_a_ramp_of_ten_steps_to_a_cruise_of_six_is_the_handbooks(name: str) -> None:
    steps = np.diff(positions(name, 300, 60, 10, 10))
    assert steps[:10] == pytest.approx(RAMP_TABLE[name], abs=6e-5)
    assert steps[:10].sum() == pytest.approx(30, rel=1e-12)
    assert steps[10:50] == pytest.approx(6.0, rel=1e-12)
    assert steps[50:] == pytest.approx(RAMP_TABLE[name][::-1], abs=6e-5)


def test_the_first_and_last_evenly_growing_step_are_those_of_the_table() -> None:
    steps = np.diff(positions("even", 300, 60, 10, 10))
    assert steps[[0, 1, 9]] == pytest.approx([0.5455, 1.0909, 5.4545], abs=5e-5)


def test_an_odd_number_ramp_longer_out_than_in_is_the_handbooks() -> None:
    at = positions("odd", 500, 48, 8, 16)
    wanted = {1: 0.8681, 4: 13.8889, 8: 55.5556, 24: 277.7778, 32: 388.8889, 47: 499.566}
    assert [at[k] for k in wanted] == pytest.approx(list(wanted.values()), abs=5e-4)
    assert np.diff(at)[8:32] == pytest.approx(13.888889, abs=5e-7)


def test_evenly_growing_steps_can_be_whole_numbers() -> None:
    # Salt's kind of table: 1..6, 4 x 7, 6..1 is 70 in 16 steps; 1..5, 14 x 6, 5..1 is 114 in 24.
    up_to_six = [1, 2, 3, 4, 5, 6, 7, 7, 7, 7, 6, 5, 4, 3, 2, 1]
    assert np.diff(positions("even", 70, 16, 6, 6)) == pytest.approx(up_to_six, rel=1e-12)
    up_to_five = [1, 2, 3, 4, 5, *[6] * 14, 5, 4, 3, 2, 1]
    assert np.diff(positions("even", 114, 24, 5, 5)) == pytest.approx(up_to_five, rel=1e-12)


def test_a_constant_move_takes_three_in_a_frame_for_twelve_feet_in_two_seconds() -> None:
    # Salt 1977: 12 ft in 2 s at 24 frames a second: 144 in / 48 = 3 in a frame.
    steps = np.diff(positions("none", 12 * 12, 48, 0, 0))
    assert len(steps) == 48
    assert steps == pytest.approx(3.0, rel=1e-12)


@pytest.mark.parametrize("name", RAMP_TABLE)
def test_the_ramps_of_a_trapezoid_share_one_cruise(name: str) -> None:
    steps = np.diff(positions(name, 500, 48, 8, 16))
    assert steps[8:32] == pytest.approx(500 / (48 - 8 / 2 - 16 / 2), rel=1e-12)
    assert steps[:8].sum() == pytest.approx(500 / 36 * 4, rel=1e-12)


@given(a=st.integers(0, 40), b=st.integers(0, 40), cruise=st.integers(1, 60))
def test_even_steps_grow_by_the_same_amount_from_rest_to_cruise_and_back(
    a: int, b: int, cruise: int
) -> None:
    steps = np.diff(positions("even", 1, a + b + cruise, a, b))
    with_rest = np.concatenate([[0.0], steps, [0.0]])
    growth = np.diff(with_rest)
    v = steps.max()
    assert growth[: a + 1] == pytest.approx(v / (a + 1), rel=1e-9)
    assert growth[len(growth) - b - 1 :] == pytest.approx(-v / (b + 1), rel=1e-9)
    assert np.abs(growth[a + 1 : len(growth) - b - 1]).max(initial=0) < 1e-12


# --- whole curves s(t) ------------------------------------------------------------------------


def test_smooth_that_fills_its_leg_is_the_minimum_jerk_curve() -> None:
    # Flash & Hogan, J. Neurosci. 5:1688, 1985 (identical to Perlin's fade of 2002).
    t = np.linspace(0, 1, 1001)
    progress = EASES["smooth"].progress(t * 48, 48, 24, 24)
    assert np.abs(progress - (10 * t**3 - 15 * t**4 + 6 * t**5)).max() < 1e-14


# t, s(t): computed from the formulas; minimum jerk as above, half a cosine (1 - cos pi t) / 2.
CURVES = {
    "smooth": {0.1: 0.00856, 0.25: 0.103515625, 0.75: 0.896484375},
    "cosine": {0.1: 0.024471742, 0.25: 0.146446609, 0.75: 0.853553391},
}
PEAK_SPEED = {"smooth": 1.875, "cosine": np.pi / 2}
# Minimum jerk: 10 / sqrt 3, at t = (3 - sqrt 3) / 6 (Flash & Hogan 1985); cosine: pi^2 / 2 at rest.
PEAK_ACCELERATION = {"smooth": 10 / np.sqrt(3), "cosine": np.pi**2 / 2}


@pytest.mark.parametrize("name", CURVES)
def test_a_curve_has_its_published_values(name: str) -> None:
    table = CURVES[name]
    at = EASES[name].progress(np.array(list(table)) * 200, 200, 100, 100)
    assert at == pytest.approx(list(table.values()), abs=5e-10)


@pytest.mark.parametrize("name", CURVES)
def test_a_curve_has_its_published_peak_speed_and_acceleration(name: str) -> None:
    n = 2000
    at = EASES[name].progress(np.arange(n + 1), n, n // 2, n // 2)
    assert np.diff(at).max() * n == pytest.approx(PEAK_SPEED[name], rel=1e-5)
    assert np.diff(at, 2).max() * n**2 == pytest.approx(PEAK_ACCELERATION[name], rel=1e-5)


def test_minimum_jerk_accelerates_most_where_it_is_said_to() -> None:
    n = 6000
    at = EASES["smooth"].progress(np.arange(n + 1), n, n // 2, n // 2)
    assert (np.diff(at, 2).argmax() + 1) / n == pytest.approx((3 - np.sqrt(3)) / 6, abs=1e-3)


# --- cubic-bezier -----------------------------------------------------------------------------
# Parameters: W3C CSS Easing Functions Level 1. Values computed by solving x(u) = t for y(u).

BEZIER_AT = (0.1, 0.25, 0.5, 0.75, 0.9)
BEZIERS = {
    "ease": ((0.25, 0.1, 0.25, 1), (0.094796, 0.408511, 0.802403, 0.960459, 0.994316)),
    "ease-in": ((0.42, 0, 1, 1), (0.017027, 0.093465, 0.315357, 0.621862, 0.839428)),
    "ease-out": ((0, 0, 0.58, 1), (0.160572, 0.378138, 0.684643, 0.906535, 0.982973)),
    "ease-in-out": ((0.42, 0, 0.58, 1), (0.019722, 0.129162, 0.5, 0.870838, 0.980278)),
}

# An independent list for (.25, 0, .75, 1): a web browser's own unit test of the W3C function,
# which grants an error of 1.5e-4.
BROWSER = {
    0.05: 0.01136, 0.1: 0.03978, 0.15: 0.07978, 0.2: 0.12803, 0.25: 0.18235, 0.3: 0.24115,
    0.35: 0.30323, 0.4: 0.36761, 0.45: 0.43345, 0.6: 0.63238, 0.7: 0.75884, 0.8: 0.87196,
    0.9: 0.96021, 0.95: 0.98863,
}  # fmt: skip


@pytest.mark.parametrize("name", BEZIERS)
def test_a_named_bezier_has_its_published_parameters_and_values(name: str) -> None:
    parameters, wanted = BEZIERS[name]
    assert EASES[name].curve == parameters
    at = EASES[name].progress(np.array(BEZIER_AT) * 100, 100)
    assert at == pytest.approx(wanted, abs=6e-7)


def test_a_bezier_agrees_with_a_web_browsers_own_list() -> None:
    at = cubic_bezier(0.25, 0, 0.75, 1).progress(np.array(list(BROWSER)), 1)
    assert at == pytest.approx(list(BROWSER.values()), abs=1.5e-4)


unit = st.floats(0, 1)
any_y = st.floats(-2, 3)


@given(x1=unit, y1=any_y, x2=unit, y2=any_y, t=st.floats(0.001, 0.999))
def test_a_bezier_agrees_with_a_root_finder_that_is_not_ours(
    x1: float, y1: float, x2: float, y2: float, t: float
) -> None:
    bernstein_x = np.polynomial.Polynomial([0, 3 * x1, 3 * x2 - 6 * x1, 1 + 3 * x1 - 3 * x2])
    bernstein_y = np.polynomial.Polynomial([0, 3 * y1, 3 * y2 - 6 * y1, 1 + 3 * y1 - 3 * y2])
    u = brentq(lambda v: float(bernstein_x(v)) - t, 0, 1, xtol=1e-15)
    # Where x is nearly level in u, u is known to a third of the digits at worst: compare there by
    # what y can change over that span.
    steep = max(abs(float(bernstein_x.deriv()(u))), 1e-5)
    tolerance = 1e-12 + abs(float(bernstein_y.deriv()(u))) * 1e-15 / steep + 1e-9 * (steep < 1e-3)
    got = float(cubic_bezier(x1, y1, x2, y2).progress(np.array([t]), 1)[0])
    assert got == pytest.approx(float(bernstein_y(u)), abs=tolerance)


@pytest.mark.parametrize(
    "bad", [(-0.1, 0, 1, 1), (0, 0, 1.1, 1), (0, np.nan, 1, 1), (np.inf, 0, 1, 1)]
)
def test_a_bezier_that_would_run_back_in_time_is_refused(bad: tuple[float, ...]) -> None:
    with pytest.raises(InputError, match="first and third within 0 and 1"):
        cubic_bezier(*bad)


@pytest.mark.parametrize("bad", [(0.3, -10.1, 0.7, 1), (0.3, 0, 0.7, 30000)])
def test_a_bezier_so_high_that_a_width_would_shrink_to_nothing_is_refused(
    bad: tuple[float, ...],
) -> None:
    # 10 either way: common practice, no source.
    with pytest.raises(InputError, match="the others within -10 and 10"):
        cubic_bezier(*bad)
    assert cubic_bezier(0.3, -10, 0.7, 10).overshoots


def test_only_a_bezier_whose_second_or_fourth_leaves_0_to_1_overshoots() -> None:
    assert cubic_bezier(0.3, -0.1, 0.7, 1).overshoots
    assert cubic_bezier(0.3, 0, 0.7, 1.1).overshoots
    assert not cubic_bezier(0.3, 0, 0.7, 1).overshoots
    assert not any(ease.overshoots for ease in EASES.values())


# --- laws -------------------------------------------------------------------------------------


@st.composite
def eased_legs(draw: st.DrawFn) -> tuple[Ease, int, int, int]:
    ease = EASES[draw(st.sampled_from(list(EASES)))]
    steps = draw(st.integers(1, 300))
    a = draw(st.integers(0, steps))
    b = draw(st.integers(0, steps - a))
    return ease, steps, a, b


@given(eased_legs())
def test_every_ease_starts_at_nothing_and_ends_at_all_exactly(
    leg: tuple[Ease, int, int, int],
) -> None:
    ease, steps, a, b = leg
    at = ease.progress(np.arange(steps + 1), steps, a, b)
    assert at[0] == 0.0
    assert at[-1] == 1.0


@given(eased_legs())
def test_no_ease_ever_goes_back(leg: tuple[Ease, int, int, int]) -> None:
    ease, steps, a, b = leg
    at = ease.progress(np.linspace(0, steps, 7 * steps + 1), steps, a, b)
    assert np.diff(at).min() >= -1e-15


@pytest.mark.parametrize("name", [*RAMPS, "none", "ease-in-out"])
@given(steps=st.integers(1, 200), data=st.data())
def test_a_leg_run_backwards_has_its_eases_exchanged(
    name: str, steps: int, data: st.DataObject
) -> None:
    a = data.draw(st.integers(0, steps))
    b = data.draw(st.integers(0, steps - a))
    at = np.arange(steps + 1)
    forth = EASES[name].progress(at, steps, a, b)
    back = EASES[name].progress(steps - at, steps, b, a)
    assert forth + back == pytest.approx(1.0, abs=1e-13)


def test_w3c_ease_in_and_ease_out_are_each_other_backwards() -> None:
    t = np.linspace(0, 1, 101)
    both = EASES["ease-in"].progress(t, 1) + EASES["ease-out"].progress(1 - t, 1)
    assert both == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("name", RAMPS)
def test_a_length_of_nothing_is_a_hard_start(name: str) -> None:
    steps = np.diff(EASES[name].progress(np.arange(49), 48, 0, 12))
    assert steps[:36] == pytest.approx(steps[0], rel=1e-12)
    assert steps[36] < steps[35]


@given(st.integers(3, 5000))
def test_the_default_is_eased_at_both_ends_and_longer_out_than_in(steps: int) -> None:
    ease_in, ease_out = default_lengths(steps)
    assert 1 <= ease_in < ease_out
    assert ease_in + ease_out <= steps


def test_the_default_is_a_sixth_in_and_two_sevenths_out() -> None:
    # Common practice, no source.
    assert [default_lengths(n) for n in (48, 24, 3)] == [(8, 14), (4, 7), (1, 2)]


@given(steps=st.integers(1, 500), given_length=st.integers(0, 500), at_end=st.booleans())
def test_a_given_length_is_kept_and_the_other_gives_way(
    steps: int, given_length: int, at_end: bool
) -> None:
    given_length = min(given_length, steps)
    if at_end:
        ease_in, kept = default_lengths(steps, ease_out=given_length)
    else:
        kept, ease_in = default_lengths(steps, ease_in=given_length)
    assert kept == given_length
    assert 0 <= ease_in <= steps - given_length


def leg_of(steps: int, ease_in: int, ease_out: int) -> Key:
    framing = Framing(x=960, y=540, width=1920)
    return Key(frame=1 + steps, framing=framing, ease_in=ease_in, ease_out=ease_out)


START = Key(frame=1, framing=Framing(x=900, y=540, width=1920))


@given(steps=st.integers(1, 200), data=st.data())
def test_eases_may_fill_their_leg(steps: int, data: st.DataObject) -> None:
    ease_in = data.draw(st.integers(0, steps))
    (leg,) = legs([START, leg_of(steps, ease_in, steps - ease_in)])
    assert leg.ease_lengths == (ease_in, steps - ease_in)


@given(steps=st.integers(1, 200), ease_in=st.integers(0, 300), ease_out=st.integers(0, 300))
def test_eases_longer_than_their_leg_are_refused_and_what_fits_is_told(
    steps: int, ease_in: int, ease_out: int
) -> None:
    if ease_in + ease_out <= steps:
        ease_out = steps - ease_in + 1
    with pytest.raises(InputError) as refused:
        legs([START, leg_of(steps, ease_in, ease_out)])
    (complaint,) = refused.value.complaints
    assert complaint.where == "key 2, ease_in + ease_out"
    assert complaint.value == f"{ease_in} + {ease_out}"
    a, b = (int(word) for word in complaint.remedy.split(" would fit")[0].split(" + "))
    assert a + b == steps
    (leg,) = legs([START, leg_of(steps, a, b)])
    assert leg.steps == steps


# --- names ------------------------------------------------------------------------------------


def test_the_default_is_even() -> None:
    assert DEFAULT_EASE is EASES["even"]


def test_every_ease_is_tested_here_and_says_what_it_is_and_where_it_comes_from() -> None:
    tested = {*RAMP_TABLE, *CURVES, *BEZIERS, "none"}
    assert tested == set(EASES)
    for name, ease in EASES.items():
        assert ease.name == name
        assert ease.summary
        assert ease.reference
        assert ease_named(name) is ease


def test_an_ease_that_is_not_there_is_refused_with_the_nearest() -> None:
    with pytest.raises(InputError, match='did you mean "smooth"'):
        ease_named("smoth")


def test_a_bezier_is_named_by_its_four_numbers() -> None:
    ease = ease_named(" cubic-bezier(0.25, 0, .75, 1) ")
    assert ease.curve == (0.25, 0.0, 0.75, 1.0)
    assert ease_named(ease.name) == ease


@pytest.mark.parametrize(
    "text",
    [
        "cubic-bezier()",
        "cubic-bezier(1,2,3)",
        "cubic-bezier(a,b,c,d)",
        "cubic-bezier(nan,0,1,1)",
        "cubic-bezier(0,0,1,1,1)",
    ],
)
def test_a_bezier_of_anything_else_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(InputError, match="write, say, cubic-bezier"):
        ease_named(text)


@given(st.tuples(unit, any_y, unit, any_y))
def test_a_beziers_name_is_the_whole_of_it(numbers: tuple[float, float, float, float]) -> None:
    ease = cubic_bezier(*numbers)
    assert ease_named(ease.name).curve == ease.curve


# --- meeting passed keys ----------------------------------------------------------------------


@given(st.lists(st.floats(0.01, 1), min_size=2, max_size=7), st.data())
def test_keeping_time_meets_every_key_and_never_goes_back(
    gaps: list[float], data: st.DataObject
) -> None:
    rises = data.draw(st.lists(st.floats(0, 1), min_size=len(gaps), max_size=len(gaps)))
    due = np.concatenate([[0], np.cumsum(gaps)]) / np.sum(gaps)
    knots = np.concatenate([[0], np.cumsum(rises)])
    whole = np.ones(len(due))
    bent = keeping_time(np.linspace(0, 1, 400), due, knots, whole)
    assert keeping_time(due, due, knots, whole) == pytest.approx(knots, abs=1e-12)
    assert np.diff(bent).min() >= -1e-12 * max(1, knots[-1])


@given(st.lists(st.floats(0.01, 1), min_size=2, max_size=7))
def test_keeping_time_bends_nothing_where_the_keys_are_met_anyway(gaps: list[float]) -> None:
    due = np.concatenate([[0], np.cumsum(gaps)]) / np.sum(gaps)
    progress = np.linspace(0, 1, 200)
    whole = np.ones(len(due))
    assert keeping_time(progress, due, due, whole) == pytest.approx(progress, abs=1e-12)


def test_the_eases_that_have_lengths_are_the_ramps() -> None:
    assert set(WHOLE) == {"none", *BEZIERS}
