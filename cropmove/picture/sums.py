"""Compiled loops: weighted sums of linear light, down the rows of a still and across them.

Sums down are made for two frame rows at a time, so that what both need is loaded once, and for
four such pairs one after the other, while their still rows are in the first-level cache. The eight
rows are then transposed, so that a vector holds one number of each: sums across need no adding up
within vectors.
"""

from __future__ import annotations

from typing import NamedTuple

from cropmove.picture.compiling import ZERO, inlined, inner
from cropmove.picture.lanes import (
    WIDTH,
    item,
    load,
    multiply_add,
    splat,
    store,
    transposed,
)

__all__ = [
    "BLOCK",
    "PIECE",
    "TOGETHER",
    "most_rows",
    "rows_for",
    "sum_across",
    "sum_down",
    "transpose",
]

MADE_WITH = "36bf168ef472278a"
"""See `cropmove.picture.compiling`."""

BLOCK = 4 * WIDTH
"""Rows of light are padded to whole blocks of so many numbers."""

TOGETHER = WIDTH
"""Frame rows that are made at a time."""

PIECE = 2 * BLOCK
"""Numbers of a row that are summed down in one go: so much of all rows fits a first-level cache."""


class Pair(NamedTuple):
    """Two rows that are summed together, from so many rows of the ring each."""

    taps: int
    begin: int
    """From which of the rows on that are listed the one is summed."""
    later: int
    """By how many rows the other begins later."""
    weights: int
    """Where the weights of both begin, which stand side by side."""
    aside: int
    """How many numbers further on in the rows of the ring both are summed."""


@inner
def rows_for(down, y, together):
    """How many still rows frame rows from y on need, so many together."""
    return down.firsts[y + together - 1] - down.firsts[y] + down.weights.shape[1]


@inner
def most_rows(down, begin, end, together):
    """How many still rows the neediest frame rows from `begin` to `end` need, so many together."""
    most = 0
    for y in range(begin, end, together):
        most = max(most, rows_for(down, y, together))
    return most


@inner
def pair_of(down, first, y, other, at, aside):
    """Frame rows y and `other` as a `Pair`, where rows are listed from those of `first` on."""
    return Pair(down.weights.shape[1], down.firsts[y] - down.firsts[first],
                down.firsts[other] - down.firsts[y], at, aside)  # fmt: skip


@inner
def put_weights(down, y, other, pair, weights):
    """The weights of frame rows y and `other` side by side, for the still rows of both."""
    for t in range(2 * (pair.later + pair.taps)):
        weights[pair.weights + t] = ZERO
    for t in range(pair.taps):
        weights[pair.weights + 2 * t] = down.weights[y, t]
        weights[pair.weights + 2 * (pair.later + t) + 1] = down.weights[other, t]


@inner
def added(ring, at, weight, s0, s1, s2, s3):
    """Four vectors of sums, and a weighted block of the ring added to them."""
    w = splat(weight)
    return (
        multiply_add(load(ring, at), w, s0),
        multiply_add(load(ring, at + WIDTH), w, s1),
        multiply_add(load(ring, at + 2 * WIDTH), w, s2),
        multiply_add(load(ring, at + 3 * WIDTH), w, s3),
    )


@inner
def put(row, x, s0, s1, s2, s3):
    """Four vectors of sums into a row."""
    store(row, x, s0)
    store(row, x + WIDTH, s1)
    store(row, x + 2 * WIDTH, s2)
    store(row, x + 3 * WIDTH, s3)


@inlined
def sum_rows(ring, starts, weights, pair, begin, end, sums, one, other):
    """The weighted sums of a `Pair`, from block to block, to where `one` and `other` say.

    Rows of the ring begin at `starts`. A row that both sums need is loaded once.
    """
    late, last = pair.weights + 1, pair.later + pair.taps
    for x in range(begin, end, BLOCK):
        column = x + pair.aside
        a0 = a1 = a2 = a3 = b0 = b1 = b2 = b3 = splat(ZERO)
        for t in range(min(pair.later, pair.taps)):
            at = item(starts, pair.begin + t) + column
            a0, a1, a2, a3 = added(ring, at, item(weights, pair.weights + 2 * t), a0, a1, a2, a3)
        for t in range(pair.later, pair.taps):
            at = item(starts, pair.begin + t) + column
            a0, a1, a2, a3 = added(ring, at, item(weights, pair.weights + 2 * t), a0, a1, a2, a3)
            b0, b1, b2, b3 = added(ring, at, item(weights, late + 2 * t), b0, b1, b2, b3)
        for t in range(max(pair.later, pair.taps), last):
            at = item(starts, pair.begin + t) + column
            b0, b1, b2, b3 = added(ring, at, item(weights, late + 2 * t), b0, b1, b2, b3)
        put(sums, one + x - begin, a0, a1, a2, a3)
        put(sums, other + x - begin, b0, b1, b2, b3)


@inlined
def transpose(rows, at, pitch, columns, to, further):
    """Eight by eight numbers transposed: rows that lie `pitch` apart, into rows `further` apart."""
    c0, c1, c2, c3, c4, c5, c6, c7 = transposed(
        load(rows, at), load(rows, at + pitch),
        load(rows, at + 2 * pitch), load(rows, at + 3 * pitch),
        load(rows, at + 4 * pitch), load(rows, at + 5 * pitch),
        load(rows, at + 6 * pitch), load(rows, at + 7 * pitch),
    )  # fmt: skip
    store(columns, to, c0)
    store(columns, to + further, c1)
    store(columns, to + 2 * further, c2)
    store(columns, to + 3 * further, c3)
    store(columns, to + 4 * further, c4)
    store(columns, to + 5 * further, c5)
    store(columns, to + 6 * further, c6)
    store(columns, to + 7 * further, c7)


@inlined
def sum_down(ring, starts, down, first, y, apart, asides, weights, length, sums, upright):
    """Frame row y and seven more, `apart` each, with all eight numbers of a place in one vector.

    Rows of the ring are listed from those of frame row `first` on. Each pair of frame rows is
    summed so many numbers further on in them as `asides` says. It goes by pieces that stay in the
    first-level cache with all the rows that are summed.
    """
    pairs = sums.size // (2 * PIECE)
    each = weights.size // pairs
    for side in range(pairs):
        one, other = y + 2 * side * apart, y + (2 * side + 1) * apart
        pair = pair_of(down, first, one, other, side * each, asides[side])
        put_weights(down, one, other, pair, weights)
    for x in range(0, length, PIECE):
        stop = min(x + PIECE, length)
        for side in range(pairs):
            one, other = y + 2 * side * apart, y + (2 * side + 1) * apart
            pair = pair_of(down, first, one, other, side * each, asides[side])
            sum_rows(ring, starts, weights, pair, x, stop, sums, 2 * side * PIECE,
                     (2 * side + 1) * PIECE)  # fmt: skip
        for k in range(0, stop - x, WIDTH):
            transpose(sums, k, PIECE, upright, (x + k) * WIDTH, WIDTH)


@inlined
def sum_across(upright, channels, firsts, weights, light):
    """Weighted sums across eight rows, all of which are in a vector, for each frame pixel."""
    count, pixel, flat = weights.shape[1], channels * WIDTH, weights.reshape(-1)
    for i in range(len(weights)):
        if channels == 3:
            red = green = blue = splat(ZERO)
            for t in range(count):
                at, weight = (firsts[i] + t) * pixel, splat(item(flat, i * count + t))
                red = multiply_add(load(upright, at), weight, red)
                green = multiply_add(load(upright, at + WIDTH), weight, green)
                blue = multiply_add(load(upright, at + 2 * WIDTH), weight, blue)
            store(light, i * pixel, red)
            store(light, i * pixel + WIDTH, green)
            store(light, i * pixel + 2 * WIDTH, blue)
        else:
            for c in range(0, pixel, WIDTH):
                total = splat(ZERO)
                for t in range(count):
                    at, weight = (firsts[i] + t) * pixel + c, splat(item(flat, i * count + t))
                    total = multiply_add(load(upright, at), weight, total)
                store(light, i * pixel + c, total)
