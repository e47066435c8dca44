"""Lengths on the set, and readings as they stand on a scale."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.rig.measures import inches_text, millimetres, number_text, rounded_down, rounded_up


@pytest.mark.parametrize(
    ("words", "length"),
    [
        (250, 250.0), ("12 in", 304.8), ("3 1/2 in", 88.9), ("1/32 in", 0.79375), ("30cm", 300.0),
        ("1.2 m", 1200.0), ("1 ft", 304.8), ("-1/4 in", -6.35), ('4"', 101.6),
    ],
)  # fmt: skip
def test_an_inch_is_25_4_mm_exactly(words, length):
    # NIST SP 811, appendix B: 1 in = 25.4 mm exactly, 1 ft = 0.3048 m exactly.
    assert millimetres(words) == length


@pytest.mark.parametrize("words", ["", "in", "1/0 in", "1/2/3 in", "12", "3/4", "12 yards", True])
def test_what_is_no_length_is_refused_with_an_example(words):
    with pytest.raises(InputError) as refused:
        millimetres(words)
    assert '"12 in"' in refused.value.complaints[0].remedy


@given(st.integers(-3000, 3000))
def test_inches_read_back(count):
    text = inches_text(Fraction(count, 32)).replace("−", "-")
    assert millimetres(f"{text} in") == pytest.approx(count / 32 * 25.4, abs=1e-9)


def test_no_zero_has_a_minus():
    assert number_text(-0.04, 1) == "0.0"


@given(st.floats(1e-4, 1e6))
def test_a_remedy_is_rounded_to_the_safe_side(value):
    assert rounded_down(value) <= value * (1 + 1e-6)
    assert rounded_up(value) >= value * (1 - 1e-6)
    assert rounded_up(value) <= 1.1 * value * (1 + 1e-6)


@pytest.mark.parametrize("value", [5e-324, 1e-300, 1e-13])
def test_next_to_nothing_is_nothing_in_a_remedy(value):
    # 5e-324 is the smallest number above 0 (IEEE 754, binary64).
    assert rounded_up(value) == rounded_down(value) == 0.0
