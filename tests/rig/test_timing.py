"""Moments and phases of things that are set once for every still."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.rig.timing import Timing


def test_on_ones_a_still_is_a_frame():
    timing = Timing(frames=48)
    assert timing.moments([1, 48]).tolist() == list(range(1, 49))


@given(st.integers(2, 200), st.integers(1, 4))
def test_the_first_and_last_still_of_a_leg_stand_for_its_ends(frames, on):
    timing = Timing(frames=frames, on=on, fps=Fraction(24))
    moments = timing.moments([1, frames])
    if timing.stills > 1:
        assert moments[0] == 1
        assert moments[-1] == frames or on == 1
        assert (np.diff(moments) > 0).all()


def test_a_still_says_in_which_frames_it_is_shown():
    twos = Timing(frames=5, on=2)
    assert twos.still.tolist() == [1, 1, 2, 2, 3]
    assert twos.first_frames.tolist() == [1, 3, 5]
    assert [twos.last_frame(still) for still in (1, 2, 3)] == [2, 4, 5]


def test_moments_between_two_legs_are_those_of_the_stop():
    moments = Timing(frames=9, on=2).moments([1, 5, 9])
    assert moments[[0, 2, 4]] == pytest.approx([1, 5, 9])


def test_a_still_of_two_stops_ends_one_leg_and_begins_the_next():
    # Counted out: still 9 of a shot on fours shows the stops on frames 33 and 36. Both legs take
    # 32 frames for eight stills, so every still is four frames on (docs/marks.md, "On twos").
    moments = Timing(frames=68, on=4).moments([1, 33, 36, 68])
    assert moments[:8].tolist() == [1, 5, 9, 13, 17, 21, 25, 29]
    assert moments[9:].tolist() == [40, 44, 48, 52, 56, 60, 64, 68]
    assert moments[8] in (33, 36)
