"""Each vector operation beside its plain twin in numpy."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import numba
import numpy as np
from numpy.typing import NDArray

from cropmove.picture import lanes, loops, turning
from cropmove.picture.lanes import (
    WIDTH,
    load,
    multiply_add,
    prefetch,
    splat,
    store,
    store_folded,
    store_halves,
    totals,
    unwoven,
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
def _totalled(a, one, other):  # type: ignore[no-untyped-def]
    sums = totals(load(a, 0), load(a, 8), load(a, 16), load(a, 24),
                  load(a, 32), load(a, 40), load(a, 48), load(a, 56))  # fmt: skip
    store_halves(one, other, 2, sums)


@numba.njit
def _folded(a, b):  # type: ignore[no-untyped-def]
    store_folded(b, 1, load(a, 0), load(a, 8))


@numba.njit
def _unwoven(a, b):  # type: ignore[no-untyped-def]
    one, two, three, four = unwoven(load(a, 0), load(a, 8), load(a, 16), load(a, 24),
                                    load(a, 32), load(a, 40), load(a, 48), load(a, 56))  # fmt: skip
    store(b, 0, one)
    store(b, 8, two)
    store(b, 16, three)
    store(b, 24, four)


@numba.njit
def _summed_rows(ring, starts, weights, later, count, one, other):  # type: ignore[no-untyped-def]
    loops.sum_rows(ring, starts, weights, later, count, one, other)


@numba.njit
def _summed_columns(one, other, firsts, weights, count, got):  # type: ignore[no-untyped-def]
    loops.sum_columns(one, other, firsts, weights, count, got[0], got[1])


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


def test_totals_are_the_sums_of_eight_vectors_in_their_order() -> None:
    a, one, other = numbers(3), np.zeros(8, np.float32), np.zeros(8, np.float32)
    _totalled(a, one, other)
    sums = a.reshape(8, 8).sum(axis=1)
    np.testing.assert_allclose(one, [0, 0, *sums[:4], 0, 0], rtol=1e-5, atol=1e-6)
    np.testing.assert_allclose(other, [0, 0, *sums[4:], 0, 0], rtol=1e-5, atol=1e-6)


def test_folding_adds_two_vectors_and_their_halves() -> None:
    a, b = numbers(11), np.zeros(6, np.float32)
    _folded(a, b)
    np.testing.assert_allclose(b, [0, *a[:16].reshape(4, 4).sum(axis=0), 0], rtol=1e-5, atol=1e-6)


def test_unweaving_adds_halves_and_turns_columns_to_rows() -> None:
    a, b = numbers(12), np.zeros(32, np.float32)
    _unwoven(a, b)
    want = a.reshape(8, 2, 4).sum(axis=1).T.reshape(-1)
    np.testing.assert_allclose(b, want, rtol=1e-5, atol=1e-6)


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


def test_sums_of_rows_are_what_numpy_says() -> None:
    ring, weights = numbers(4, 9 * 64).reshape(9, 64), numbers(5, 20).reshape(10, 2)
    starts = np.array([7, 8, 0, 1, 2, 3], np.int64)
    one, other = np.empty(64, np.float32), np.empty(64, np.float32)
    _summed_rows(ring.reshape(-1), starts * 64, weights, 2, 4, one, other)
    rows = ring[starts].astype(np.float64)
    np.testing.assert_allclose(one, weights[:4, 0] @ rows[:4], rtol=1e-4, atol=1e-5)
    np.testing.assert_allclose(other, weights[2:6, 1] @ rows[2:], rtol=1e-4, atol=1e-5)


def test_sums_of_rows_hold_where_the_two_have_no_row_in_common() -> None:
    ring, weights = numbers(6, 9 * 32).reshape(9, 32), numbers(7, 18).reshape(9, 2)
    starts = np.arange(9, dtype=np.int64)
    one, other = np.empty(32, np.float32), np.empty(32, np.float32)
    _summed_rows(ring.reshape(-1), starts * 32, weights, 5, 3, one, other)
    rows = ring.astype(np.float64)
    np.testing.assert_allclose(one, weights[:3, 0] @ rows[:3], rtol=1e-4, atol=1e-5)
    np.testing.assert_allclose(other, weights[5:8, 1] @ rows[5:8], rtol=1e-4, atol=1e-5)


def test_sums_of_columns_are_what_numpy_says() -> None:
    one, other = numbers(8, 128), numbers(9, 128)
    firsts, weights = np.arange(0, 80, 10, dtype=np.int64), numbers(10, 8 * 16)
    got = np.empty((2, 8), np.float32)
    _summed_columns(one, other, firsts, weights, 16, got)
    for row, source in zip(got, (one, other), strict=True):
        want = [w @ source[f : f + 16] for f, w in zip(firsts, weights.reshape(8, 16), strict=True)]
        np.testing.assert_allclose(row, want, rtol=1e-4, atol=1e-5)


def test_the_loops_know_which_lanes_they_were_compiled_with() -> None:
    # numba looks for changes in the file of a compiled function only: a change to lanes.py must
    # change loops.py too, or a machine that has compiled the old one keeps it.
    digest = sha256(Path(lanes.__file__).read_bytes()).hexdigest()
    assert digest[:16] == loops.LANES, f"write {digest[:16]!r} as LANES in loops.py"
