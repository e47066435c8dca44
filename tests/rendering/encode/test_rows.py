"""The compiled loops beside the standards' formulas, on all values of their arguments."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from cropmove.rendering.encode.rows import AVERAGE, NONE, PAETH, differences, filtered

KINDS = [NONE, AVERAGE, PAETH]


def predicted(kind: int, a: Any, b: Any, c: Any) -> Any:
    """PNG, third edition, 9.2 and 9.4: from the bytes to the left, above, and above that."""
    if kind == AVERAGE:
        return (a + b) // 2
    if kind == NONE:
        return 0 * a
    p = a + b - c
    to_a, to_b, to_c = abs(p - a), abs(p - b), abs(p - c)
    return np.where((to_a <= to_b) & (to_a <= to_c), a, np.where(to_b <= to_c, b, c))


def by_the_standard(rows: NDArray[np.uint8], step: int, swap: bool, kind: int) -> Any:
    height, width = rows.shape
    shown = rows.reshape(height, -1, 2)[..., ::-1].reshape(height, width) if swap else rows
    x = np.pad(shown.astype(np.int64), ((1, 0), (step, 0)))
    left, above = x[1:, :width], x[:-1]
    kinds = np.full(height, kind)
    kinds[0] = PAETH if kind == AVERAGE else kind
    guess = [
        predicted(*one) for one in zip(kinds, left, above[:, step:], above[:, :width], strict=True)
    ]
    return np.c_[kinds, (x[1:, step:] - guess) % 256].astype(np.uint8)


def lines_of(rows: NDArray[np.uint8], step: int, swap: bool, kind: Any) -> NDArray[np.uint8]:
    lines = np.full((rows.shape[0], rows.shape[1] + 1), 77, np.uint8)
    filtered(rows, step, swap, kind, lines)
    return lines


@pytest.mark.parametrize("kind", KINDS)
def test_all_neighbours_are_filtered_by_the_standard(kind: np.uint8) -> None:
    a, b = (part.ravel() for part in np.mgrid[0:256, 0:256])
    rows = np.empty((2, 2 * a.size), np.uint8)
    rows[0, 1::2], rows[1, 0::2], rows[1, 1::2] = b, a, 200
    for c in range(256):
        rows[0, 0::2] = c
        line = lines_of(rows, 1, False, kind)[1, 2::2]
        assert np.array_equal(line, ((200 - predicted(int(kind), a, b, c)) % 256).astype(np.uint8))


@pytest.mark.parametrize("kind", KINDS)
@given(
    arrays(np.uint8, st.tuples(st.integers(1, 4), st.sampled_from([12, 24, 48, 144]))),
    st.sampled_from([1, 2, 3, 4, 6, 8, 12]),
    st.booleans(),
)
def test_lines_are_the_standards(
    kind: np.uint8, rows: NDArray[np.uint8], step: int, swap: bool
) -> None:
    swap = swap and step % 2 == 0
    assert np.array_equal(lines_of(rows, step, swap, kind), by_the_standard(rows, step, swap, kind))


@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
@pytest.mark.parametrize("step", [1, 2, 3, 4])
def test_differences_add_up_to_the_rows(kind: type, step: int) -> None:
    # TIFF 6.0, section 14: each component less that of the pixel before, modulo its range.
    full = np.iinfo(kind).max + 1
    rows = np.random.default_rng(3).integers(0, full, (5, 60)).astype(kind)
    out = np.empty_like(rows)
    differences(rows, step, out)
    summed = np.cumsum(out.reshape(5, -1, step), axis=1, dtype=np.int64) % full
    assert np.array_equal(summed.reshape(rows.shape), rows)
