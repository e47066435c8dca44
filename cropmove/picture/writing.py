"""Compiled loops: linear light to the codes of a frame."""

from __future__ import annotations

import numpy as np

from cropmove.picture.compiling import HALF, ONE, ZERO, Part, inner, place_of, row_of
from cropmove.picture.lanes import (
    WIDTH,
    load,
    multiply_add,
    root,
    splat,
    store_codes,
    where_below,
)

__all__ = ["write"]

MADE_WITH = "36bf168ef472278a"
"""See `cropmove.picture.compiling`."""

FAINTEST_COVER = np.float32(1e-6)
"""Below this alpha there is no colour left to tell."""


@inner
def write(light, part, frame, begin, end, curve, lowest, shift, target, into):
    """Rows of linear light, whose alpha is divided out, into part of some rows of a frame.

    The first row of light goes to row `begin` of the frame, of which `target` are all bytes.
    """
    if frame.channels == 2 or frame.channels == 4:
        for y in range(end - begin):
            divide_out(row_of(light, part, y), frame.channels)
    if frame.depth == 32:
        for y in range(begin, end):
            numbers = row_of(target, into, y).view(np.float32)
            put_numbers(row_of(light, part, y - begin), numbers)
            if frame.channels == 2 or frame.channels == 4:
                limit_alpha(numbers, frame.channels)
    elif frame.depth == 16:
        wide = Part(into.at // 2, into.length // 2, into.pitch // 2)
        codes = target.view(np.uint16)
        write_codes(light, part, frame, begin, end, curve, lowest, shift, codes, wide)
    else:
        write_codes(light, part, frame, begin, end, curve, lowest, shift, target, into)


@inner
def write_codes(light, part, frame, begin, end, curve, lowest, shift, codes, into):
    """As `write` does, into codes: alpha in proportion, whatever the curve, all else by it."""
    full = np.float32(255) if frame.depth == 8 else np.float32(65535)
    if curve.polynomial.size > 0:
        write_by_polynomial(light, part, begin, end, curve.polynomial, codes, into)
    else:
        for y in range(begin, end):
            row = row_of(light, part, y - begin)
            bits, table = row.view(np.int32), curve.table
            write_by_table(bits, table, lowest, shift, full, row_of(codes, into, y))
    if frame.channels == 2 or frame.channels == 4:
        for y in range(begin, end):
            row = row_of(light, part, y - begin)
            put_alpha(row, frame.channels, full, row_of(codes, into, y))


@inner
def write_by_polynomial(light, part, begin, end, polynomial, codes, into):
    """What `write_by_table` puts, within 0.03 code; see `light.fit_encoding`."""
    p, fine = polynomial, codes.itemsize == 2
    knee, toe, c0, c1, c2, c3, c4, c5, c6, c7 = (
        splat(p[0]), splat(p[1]), splat(p[2] + HALF), splat(p[3]), splat(p[4]), splat(p[5]),
        splat(p[6]), splat(p[7]), splat(p[8]), splat(p[9]),
    )  # fmt: skip
    low, high, half = splat(ZERO), splat(ONE), splat(HALF)
    whole = part.length // WIDTH * WIDTH
    for y in range(begin, end):
        at, to = place_of(light, part, y - begin), place_of(codes, into, y)
        for i in range(0, whole, WIDTH):
            z = load(light, at + i)
            z = where_below(z, low, low, where_below(z, high, z, high))
            x = root(root(z)) if fine else root(z)
            curved = multiply_add(x, splat(p[10]), c7) if fine else c7
            curved = multiply_add(x, multiply_add(x, curved, c6), c5)
            curved = multiply_add(x, multiply_add(x, curved, c4), c3)
            curved = multiply_add(x, multiply_add(x, curved, c2), c1)
            curved = multiply_add(x, curved, c0)
            store_codes(codes, to + i, where_below(z, knee, multiply_add(z, toe, half), curved))
        for i in range(whole, part.length):
            v = min(max(light[at + i], ZERO), ONE)
            r = np.sqrt(np.sqrt(v)) if fine else np.sqrt(v)
            over = p[9] + r * p[10] if fine else p[9]
            over = p[5] + r * (p[6] + r * (p[7] + r * (p[8] + r * over)))
            over = p[2] + r * (p[3] + r * (p[4] + r * over))
            codes[to + i] = (p[1] * v if v < p[0] else over) + HALF


@inner
def write_by_table(bits, table, lowest, shift, full, codes):
    """Codes of linear light, which is given as the bits of its numbers."""
    length, steps = np.float32(1 << shift), len(table) - 1
    for x in range(bits.size):
        place = min(bits[x] - lowest, steps << shift)
        code = ZERO
        if place >= 0:
            piece = place >> shift
            code = table[piece, 0] + np.float32(place - (piece << shift)) / length * table[piece, 1]
        codes[x] = code * full + HALF


@inner
def divide_out(light, channels):
    """Colours back from what `premultiply` made of them; black where nothing covers."""
    for i in range(0, light.size, channels):
        cover = light[i + channels - 1]
        part = ONE / cover if cover > FAINTEST_COVER else ZERO
        for c in range(channels - 1):
            light[i + c] *= part


@inner
def put_alpha(light, channels, full, codes):
    """The last channel as codes in proportion."""
    for i in range(channels - 1, light.size, channels):
        codes[i] = min(max(light[i], ZERO), ONE) * full + HALF


@inner
def put_numbers(light, numbers):
    """Light as it is."""
    for i in range(light.size):
        numbers[i] = light[i]


@inner
def limit_alpha(numbers, channels):
    """The last channel kept to what can cover: from nothing to all."""
    for i in range(channels - 1, numbers.size, channels):
        numbers[i] = min(max(numbers[i], ZERO), ONE)
