"""Numbers beside a tape: apart, in order, and as many as fit."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from cropmove.sheets.paper import text_width
from cropmove.sheets.tape.numbers import labels_for


@given(
    st.lists(st.floats(0, 250), min_size=1, max_size=60, unique=True),
    st.sampled_from([9.0, 12.0]),
)
def test_numbers_never_overlap_and_never_stray_from_the_strip(ticks, size):
    ticks = sorted(ticks)
    numbers = [str(n) for n in range(1, len(ticks) + 1)]
    labels = labels_for(numbers, ticks, -8, 258, size)
    assert labels
    spans = [
        (x.at - w / 2, x.at + w / 2) for x in labels for w in [text_width(x.text, size, bold=True)]
    ]
    assert all(a[1] < b[0] for a, b in pairwise(spans))
    assert spans[0][0] >= -8
    assert spans[-1][1] <= 258
    # Leaders do not cross: numbers stand in the order of their ticks.
    assert [label.text for label in labels] == sorted((x.text for x in labels), key=int)


def test_every_number_that_fits_is_there():
    ticks = [6.0 * n for n in range(40)]
    assert len(labels_for([str(n + 1) for n in range(40)], ticks, -8, 245)) == 40


def test_the_ends_and_the_tens_are_kept_where_not_all_fit():
    ticks = [1.0 * n for n in range(101)]
    shown = {x.text for x in labels_for([str(n + 1) for n in range(101)], ticks, -8, 108)}
    assert {"1", "101", "10", "50", "100"} <= shown
    assert len(shown) < 101
