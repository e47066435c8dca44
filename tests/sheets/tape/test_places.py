"""What is laid where along a tape."""

import numpy as np

from cropmove.sheets.tape.places import passes_of


def test_passes_are_runs_of_one_way():
    assert passes_of(np.array([0.0, 0, 0])) == [(1, 3)]
    assert passes_of(np.array([5.0, 3, 3, 4])) == [(1, 3), (3, 4)]
