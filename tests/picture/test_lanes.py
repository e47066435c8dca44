"""Each vector operation beside its plain twin in numpy."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import numba
import numpy as np
import pytest
from numpy.typing import NDArray

from cropmove.picture import lanes, loops, turning
from cropmove.picture.lanes import (
    WIDTH,
    item,
    load,
    multiply_add,
    prefetch,
    splat,
    store,
    store_folded,
)

Numbers = NDArray[np.float32]


def numbers(seed: int, count: int = 64) -> Numbers:
    return np.random.default_rng(seed).standard_normal(count).astype(np.float32)


@numba.njit
def _copied(a, b, at):  # type: ignore[no-untyped-def]
    prefetch(a, at)
    store(b, 1, load(a, at))


@numba.njit
def _multiplied(a, b, factor):  # type: ignore[no-untyped-def]
    store(b, 0, multiply_add(load(a, 0), splat(factor), load(a, 8)))


@numba.njit
def _transposed(rows, at, pitch, columns):  # type: ignore[no-untyped-def]
    loops.transpose(rows, at, pitch, columns, 2, 9)


@numba.njit
def _item(a, at):  # type: ignore[no-untyped-def]
    return item(a, at)


@numba.njit
def _folded(a, b):  # type: ignore[no-untyped-def]
    store_folded(b, 1, load(a, 0), load(a, 8))


@numba.njit
def _summed_rows(ring, starts, weights, later, count, sums):  # type: ignore[no-untyped-def]
    pair = loops.Pair(count, 1, later, 3)
    loops.sum_rows(ring, starts, weights, pair, 32, 96, sums, 5, 80)


@numba.njit
def _summed_across(upright, channels, firsts, weights, light):  # type: ignore[no-untyped-def]
    loops.sum_across(upright, channels, firsts, weights, light)


@numba.njit
def _summed_aslant(quads, at, weight, weights, slots, lit):  # type: ignore[no-untyped-def]
    turning.sum_aslant(quads, at, weight, weights, 8, 1, 3, slots, 2, lit)


def test_eight_numbers_are_taken_from_and_put_to_where_they_are_said_to_be() -> None:
    a, b = numbers(1), np.zeros(12, np.float32)
    _copied(a, b, 5)
    np.testing.assert_array_equal(b, [0, *a[5 : 5 + WIDTH], 0, 0, 0])


def test_multiply_add_is_a_times_b_plus_c() -> None:
    a, b = numbers(2), np.zeros(8, np.float32)
    _multiplied(a, b, np.float32(0.7))
    np.testing.assert_allclose(b, a[:8] * np.float32(0.7) + a[8:16], rtol=1e-6, atol=1e-7)


def test_an_item_is_the_number_at_an_index() -> None:
    assert _item(numbers(3), 5) == numbers(3)[5]
    assert _item(np.arange(4), 2) == 2


def test_transposing_makes_columns_of_rows() -> None:
    rows, columns = numbers(3, 100), np.zeros(80, np.float32)
    _transposed(rows, 1, 12, columns)
    want = np.array([rows[1 + 12 * i : 9 + 12 * i] for i in range(8)]).T
    got = np.array([columns[2 + 9 * i : 10 + 9 * i] for i in range(8)])
    np.testing.assert_array_equal(got, want)


def test_folding_adds_two_vectors_and_their_halves() -> None:
    a, b = numbers(11), np.zeros(6, np.float32)
    _folded(a, b)
    np.testing.assert_allclose(b, [0, *a[:16].reshape(4, 4).sum(axis=0), 0], rtol=1e-5, atol=1e-6)


def test_sums_across_a_row_are_what_numpy_says() -> None:
    quads, weights = numbers(13, 80), np.repeat(numbers(14, 24), 4)
    at, weight = np.array([0, 8, 40], np.int32), np.array([0, 32, 64], np.int32)
    slots, lit = np.array([0, 4, 12], np.int64), np.zeros(32, np.float32)
    _summed_aslant(quads, at, weight, weights, slots, lit)
    want = np.zeros((8, 4))
    for line, slot in ((1, 3), (2, 5)):
        pixels = quads[at[line] : at[line] + 32].reshape(8, 4)
        want[slot] = numbers(14, 24)[8 * line : 8 * line + 8] @ pixels
    np.testing.assert_allclose(lit.reshape(8, 4), want, rtol=1e-4, atol=1e-5)


def _check_sums_of_rows(starts: list[int], later: int, count: int) -> None:
    ring, weights = numbers(4, 9 * 96).reshape(9, 96), numbers(5, 3 + 2 * (later + count))
    sums = np.zeros(160, np.float32)
    _summed_rows(ring.reshape(-1), 96 * np.array([0, *starts]), weights, later, count, sums)
    rows, each = ring[starts, 32:].astype(np.float64), weights[3:].reshape(-1, 2)
    for at, begin in ((5, 0), (80, later)):
        summed = slice(begin, begin + count)
        want = each[summed, 0 if at == 5 else 1] @ rows[summed]
        np.testing.assert_allclose(sums[at : at + 64], want, rtol=1e-4, atol=1e-5)
    assert not sums[:5].any()
    assert not sums[69:80].any()
    assert not sums[144:].any()


def test_sums_of_rows_are_what_numpy_says() -> None:
    _check_sums_of_rows([7, 8, 0, 1, 2, 3], later=2, count=4)


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


def test_the_loops_know_which_lanes_they_were_compiled_with() -> None:
    # numba looks for changes in the file of a compiled function only: a change to lanes.py must
    # change loops.py too, or a machine that has compiled the old one keeps it.
    digest = sha256(Path(lanes.__file__).read_bytes()).hexdigest()
    assert digest[:16] == loops.LANES, f"write {digest[:16]!r} as LANES in loops.py"
