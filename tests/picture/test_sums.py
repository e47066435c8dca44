"""The compiled sums beside plain ones in numpy."""

from __future__ import annotations

import numba
import numpy as np
import pytest
from random_numbers import numbers

from cropmove.picture import sums, turning


@numba.njit
def _summed_rows(ring, starts, weights, later, count, aside, out):  # type: ignore[no-untyped-def]
    pair = sums.Pair(count, 1, later, 3, aside)
    sums.sum_rows(ring, starts, weights, pair, 32, 96, out, 5, 80)


@numba.njit
def _summed_across(upright, channels, firsts, weights, light):  # type: ignore[no-untyped-def]
    sums.sum_across(upright, channels, firsts, weights, light)


@numba.njit
def _summed_aslant(upright, channels, at, weights, weight, firsts, lit):  # type: ignore[no-untyped-def]
    turning.sum_aslant(upright, channels, at, weights, weight, 3, 1, 3, firsts, 8, 20, lit)


@numba.njit
def _between(lit, runs, channels, weights, out):  # type: ignore[no-untyped-def]
    turning.between_rows(lit, runs, 1, 40, channels, weights, 8, 3, 10, out)


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
def test_sums_where_lines_cross_eight_rows_are_what_numpy_says(channels: int) -> None:
    upright = numbers(13, 9 * channels * 8).reshape(9, channels, 8)
    weights = numbers(14, 5 * 3 * 8).reshape(5, 3, 8)
    first, place = np.array([0, 2, 6]), np.array([0, 4, 1])
    lit, firsts = np.zeros(200, np.float32), np.array([0, 2, 100], np.int64)
    at, weight = (first * channels * 8).astype(np.int32), (place * 24).astype(np.int32)
    _summed_aslant(upright.reshape(-1), channels, at, weights.reshape(-1), weight, firsts, lit)
    want = np.zeros(200)
    for line in (1, 2):
        crossed = upright[first[line] : first[line] + 3]
        for c, row in enumerate((weights[place[line]][:, None] * crossed).sum(axis=0)):
            begin = firsts[line] + 8 + 20 * c
            want[begin : begin + 8] = row
    np.testing.assert_allclose(lit, want, rtol=1e-4, atol=1e-5)


@pytest.mark.parametrize("channels", [1, 3])
def test_pixels_between_rows_are_what_numpy_says(channels: int) -> None:
    lit, weights, out = numbers(15, 120), numbers(16, 24), np.zeros(40, np.float32)
    runs = turning.Runs(13, 26 * channels, np.zeros(1, np.int64))
    _between(lit, runs, channels, weights, out)
    want = np.zeros(40)
    for c in range(channels):
        rows = np.empty(22)  # every other of the one run and of the other
        rows[::2], rows[1::2] = (lit[at + 13 * c : at + 13 * c + 11] for at in (1, 40))
        each = [weights[8:16] @ rows[2 * n : 2 * n + 8] for n in range(8)]
        want[3 + 10 * c : 11 + 10 * c] = each
    np.testing.assert_allclose(out, want, rtol=1e-4, atol=1e-5)


def _check_sums_of_rows(starts: list[int], later: int, count: int, aside: int = 0) -> None:
    ring, weights = numbers(4, 9 * 107).reshape(9, 107), numbers(5, 3 + 2 * (later + count))
    sums, begins = np.zeros(160, np.float32), 107 * np.array([0, *starts])
    _summed_rows(ring.reshape(-1), begins, weights, later, count, aside, sums)
    rows = ring[starts, 32 + aside : 96 + aside].astype(np.float64)
    each = weights[3:].reshape(-1, 2)
    for at, begin in ((5, 0), (80, later)):
        summed = slice(begin, begin + count)
        want = each[summed, 0 if at == 5 else 1] @ rows[summed]
        np.testing.assert_allclose(sums[at : at + 64], want, rtol=1e-4, atol=1e-5)
    assert not sums[:5].any()
    assert not sums[69:80].any()
    assert not sums[144:].any()


def test_sums_of_rows_are_what_numpy_says() -> None:
    _check_sums_of_rows([7, 8, 0, 1, 2, 3], later=2, count=4)


def test_sums_of_rows_are_taken_as_far_aside_as_is_said() -> None:
    _check_sums_of_rows([7, 8, 0, 1, 2, 3], later=2, count=4, aside=11)


def test_sums_of_rows_hold_where_the_two_have_no_row_in_common() -> None:
    _check_sums_of_rows([0, 1, 2, 3, 4, 5, 6, 7], later=5, count=3)


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
def test_sums_across_eight_rows_are_what_numpy_says(channels: int) -> None:
    upright = numbers(8, 40 * channels * 8).reshape(40, channels, 8)
    firsts, weights = np.array([0, 10, 31]), numbers(10, 27).reshape(3, 9)
    got = np.zeros((4, channels, 8), np.float32)
    _summed_across(upright.reshape(-1), channels, firsts, weights, got.reshape(-1))
    want = [np.tensordot(w, upright[f : f + 9], 1) for f, w in zip(firsts, weights, strict=True)]
    np.testing.assert_allclose(got[:3], want, rtol=1e-4, atol=1e-5)
    assert not got[3].any()
