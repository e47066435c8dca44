"""Each vector operation beside its plain twin in numpy."""

from __future__ import annotations

import numba
import numpy as np
import pytest
from random_numbers import numbers

from cropmove.picture import sums
from cropmove.picture.lanes import (
    WIDTH,
    item,
    load,
    load_bytes,
    multiply,
    multiply_add,
    prefetch,
    root,
    splat,
    store,
    store_codes,
    where_below,
)


@numba.njit
def _copied(a, b, at):  # type: ignore[no-untyped-def]
    prefetch(a, at)
    store(b, 1, load(a, at))


@numba.njit
def _multiplied(a, b, factor):  # type: ignore[no-untyped-def]
    store(b, 0, multiply_add(load(a, 0), splat(factor), load(a, 8)))


@numba.njit
def _transposed(rows, at, pitch, columns):  # type: ignore[no-untyped-def]
    sums.transpose(rows, at, pitch, columns, 2, 9)


@numba.njit
def _item(a, at):  # type: ignore[no-untyped-def]
    return item(a, at)


@numba.njit
def _product(a, b, factor):  # type: ignore[no-untyped-def]
    store(b, 0, multiply(load(a, 0), splat(factor)))


@numba.njit
def _roots(a, b):  # type: ignore[no-untyped-def]
    store(b, 0, root(load(a, 0)))


@numba.njit
def _chosen(a, b):  # type: ignore[no-untyped-def]
    store(b, 0, where_below(load(a, 0), load(a, 8), load(a, 16), load(a, 24)))


@numba.njit
def _recoded(codes, put):  # type: ignore[no-untyped-def]
    store_codes(put, 1, load_bytes(codes, 3))


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


def test_multiplying_roots_and_choosing_go_number_by_number() -> None:
    a, b = numbers(11), np.zeros(8, np.float32)
    _product(a, b, np.float32(0.7))
    np.testing.assert_array_equal(b, a[:8] * np.float32(0.7))
    _roots(np.abs(a), b)
    np.testing.assert_allclose(b, np.sqrt(np.abs(a[:8])), rtol=1e-7)
    _chosen(a, b)
    np.testing.assert_array_equal(b, np.where(a[:8] < a[8:16], a[16:24], a[24:32]))


@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_bytes_become_numbers_and_numbers_codes(kind: type) -> None:
    codes, put = np.array([9, 9, 9, 0, 1, 127, 128, 200, 254, 255, 7], np.uint8), np.zeros(10, kind)
    _recoded(codes, put)
    np.testing.assert_array_equal(put, [0, *codes[3:11], 0])
