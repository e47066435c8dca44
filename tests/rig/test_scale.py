"""Readings on rules, arcs, protractors and screws, against printed and worked values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.rig.scale import Scale, chord


@pytest.mark.parametrize(
    ("radius", "degrees", "arc", "straight"),
    [(400, 15, 104.7198, 104.4210), (500, 10, 87.2665, 87.1557), (300, 45, 235.6194, 229.6101)],
)
def test_arcs_and_chords_are_those_of_geometry(radius, degrees, arc, straight):
    # Computed: R θ and 2 R sin(θ / 2).
    scale = Scale(angular=True, radius=radius)
    assert scale.exact(np.array([degrees]))[0] == pytest.approx(arc, abs=5e-5)
    assert chord(radius, degrees) == pytest.approx(straight, abs=5e-5)


def test_a_millimetre_is_a_degree_on_a_radius_of_57_3():
    assert Scale(angular=True, radius=57.2958).exact(np.array([1.0]))[0] == pytest.approx(1, 1e-6)
    assert Scale(angular=True, radius=200).exact(np.array([1.0]))[0] == pytest.approx(3.490659)


@pytest.mark.parametrize(("thread", "turns"), [(0.8, 12.5), (1.0, 10.0), (1.25, 8.0)])
def test_coarse_threads_turn_so_often_in_a_centimetre(thread, turns):
    # M5, M6 and M8 coarse: 0.8, 1.0 and 1.25 mm a turn (ISO 261; from memory).
    assert Scale(thread=thread).exact(np.array([10.0]))[0] == turns


@pytest.mark.parametrize(
    ("travel", "steps", "division", "by_steps"), [(250, 48, 0.5, 240.0), (100, 37, 0.1, 99.9)]
)
def test_absolute_marks_land_on_the_end_where_rounded_steps_would_not(
    travel, steps, division, by_steps
):
    scale = Scale(division=division)
    places = np.linspace(0, travel, steps + 1)
    readings = scale.counts(places) * division
    assert readings[-1] == pytest.approx(travel)
    assert abs(readings - places).max() <= division / 2 + 1e-9
    # The same move with each step rounded by itself, as it must not be done.
    stepwise = steps * round(travel / steps / division) * division
    assert stepwise == pytest.approx(by_steps)


def test_half_way_ties_go_to_the_even_reading():
    # NIST Handbook 44, section 10.3: 0.25 on halves is 0.0, 0.75 is 1.0.
    counts = Scale(division=0.5).counts(np.array([0.25, 0.75, 1.25, -0.25]))
    assert counts.tolist() == [0, 2, 2, 0]
    # Ties stay ties where a division is no binary fraction.
    assert Scale(division=0.1).counts(np.array([0.15, 0.25, 0.35])).tolist() == [2, 2, 4]


def test_readings_scatter_as_a_rectangular_distribution():
    # GUM (JCGM 100), 4.3.7: a resolution d has a standard uncertainty of d / (2 sqrt 3) = 0.2887 d.
    places = np.random.default_rng(7).uniform(0, 500, 20_000)
    residue = Scale(division=0.5).counts(places) * 0.5 - places
    assert residue.std() == pytest.approx(0.5 * 0.2887, rel=0.02)


@pytest.mark.parametrize(
    ("scale", "count", "text"),
    [
        (Scale(), 251, "125.5"), (Scale(division=1), 125, "125"), (Scale(), -1, "−0.5"),
        (Scale(inches=True), 101, "3 5/32"), (Scale(thread=1.25, parts=20), 65, "3 + 5/20"),
        (Scale(angular=True), 15, "7.5"), (Scale(inches=True, division=25.4 / 128), 101, "101/128"),
        # a rule in hundredths and finer has no halves and quarters
        (Scale(inches=True, division=0.254), 101, "1.010"),
        (Scale(inches=True, division=0.005 * 25.4), 200, "1.000"),
        (Scale(inches=True, division=0.004 * 25.4), 101, "0.404"),
        (Scale(inches=True, division=0.001 * 25.4), 3, "0.003"),
        (Scale(inches=True, division=0.0001 * 25.4), 10_001, "1.0001"),
    ],
)  # fmt: skip
def test_a_reading_is_told_as_it_stands_on_the_scale(scale, count, text):
    assert scale.text(count) == text


@given(st.floats(-2000, 2000), st.sampled_from([0.1, 0.2, 0.25, 0.5, 1.0]))
def test_no_reading_is_off_by_more_than_half_a_division(place, division):
    scale = Scale(division=division)
    assert abs(scale.counts(np.array([place]))[0] * division - place) <= division / 2 + 1e-6


@pytest.mark.parametrize(
    "words",
    [
        {"radius": 400}, {"angular": True, "radius": 400, "thread": 1.0}, {"division": 0},
        {"thread": 1.0, "inches": True}, {"thread": 1.0, "parts": 0},
        {"thread": 1.0, "parts": 2.5}, {"division": float("nan")}, {"division": "fine"},
    ],
)  # fmt: skip
def test_a_scale_that_cannot_be_is_refused(words):
    with pytest.raises(InputError):
        Scale(**words)
