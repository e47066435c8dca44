"""Compiled loops: codes of a still to linear light."""

from __future__ import annotations

import numpy as np

from cropmove.picture.compiling import ZERO, inlined, inner, place_of, row_of
from cropmove.picture.lanes import (
    WIDTH,
    load_bytes,
    multiply,
    multiply_add,
    prefetch,
    splat,
    store,
    where_below,
)

__all__ = ["read"]

MADE_WITH = "36bf168ef472278a"
"""See `cropmove.picture.compiling`."""

AHEAD = 4
"""Rows of the still are fetched from memory so many rows before they are read."""

CACHE_LINE = 64

BRIGHTEST = np.float32(1e30)
"""What an infinite highlight counts as, so that sums stay numbers."""


@inner
def read(source, still, part, begin, end, curve, ring, into):
    """Part of some rows of a still to linear light, alpha multiplied in.

    `source` are all bytes of the still. Each row goes to its place in the ring.
    """
    if still.depth == 8 and curve.polynomial.size > 0:
        read_by_polynomial(source, part, begin, end, curve.polynomial, ring, into)
    else:
        for y in range(begin, end):
            fetch(source, part, y + AHEAD)
            codes, light = row_of(source, part, y), row_of(ring, into, y)
            if still.depth == 32:
                read_floats(codes.view(np.float32), light)
            elif still.depth == 16:
                look_up(codes.view(np.uint16), curve.table, light)
            else:
                look_up(codes, curve.table, light)
    if still.channels == 2 or still.channels == 4:
        for y in range(begin, end):
            codes, light = row_of(source, part, y), row_of(ring, into, y)
            if still.depth == 16:
                set_alpha(codes.view(np.uint16), np.float32(65535), still.channels, light)
            elif still.depth == 8:
                set_alpha(codes, np.float32(255), still.channels, light)
            premultiply(still.channels, light)


@inlined
def fetch(numbers, part, y):
    """Have the part of a row brought near."""
    at = min(y * part.pitch, numbers.size - part.pitch) + part.at
    for i in range(at, at + part.length, CACHE_LINE):
        prefetch(numbers, i)


@inner
def read_floats(values, light):
    """Light that is light already, kept to numbers."""
    for i in range(values.size):
        value = values[i]
        if value > BRIGHTEST:
            light[i] = BRIGHTEST
        elif value >= -BRIGHTEST:
            light[i] = value
        else:
            light[i] = ZERO


@inner
def look_up(codes, table, light):
    """Light of codes by a table of them all."""
    for i in range(codes.size):
        light[i] = table[codes[i]]


@inlined
def light_of(x, fine, knee, toe, c0, c1, c2, c3, c4, c5, c6, c7):
    """Light of eight codes; see `light.fit_decoding`."""
    last = multiply_add(x, c7, c6) if fine else c6
    curved = multiply_add(x, multiply_add(x, last, c5), c4)
    curved = multiply_add(x, multiply_add(x, curved, c3), c2)
    curved = multiply_add(x, multiply_add(x, curved, c1), c0)
    return where_below(x, knee, multiply(x, toe), curved)


@inner
def read_by_polynomial(source, part, begin, end, polynomial, ring, into):
    """What `look_up` gives, so closely that it makes no code, and twice as fast.

    See `light.fit_decoding` and `light.fit_fine_decoding`. Two vectors at a time keep the processor
    busy, and all coefficients in its registers.
    """
    p, fine = polynomial, polynomial.size > 9
    knee, toe, c0, c1, c2, c3, c4, c5, c6 = (
        splat(p[0]), splat(p[1]), splat(p[2]), splat(p[3]), splat(p[4]), splat(p[5]), splat(p[6]),
        splat(p[7]), splat(p[8]),
    )  # fmt: skip
    c7 = splat(p[9] if fine else ZERO)
    twos, whole = part.length // (2 * WIDTH) * (2 * WIDTH), part.length // WIDTH * WIDTH
    for y in range(begin, end):
        fetch(source, part, y + AHEAD)
        at, to = place_of(source, part, y), place_of(ring, into, y)
        for i in range(0, twos, 2 * WIDTH):
            one, other = load_bytes(source, at + i), load_bytes(source, at + i + WIDTH)
            one = light_of(one, fine, knee, toe, c0, c1, c2, c3, c4, c5, c6, c7)
            other = light_of(other, fine, knee, toe, c0, c1, c2, c3, c4, c5, c6, c7)
            store(ring, to + i, one)
            store(ring, to + i + WIDTH, other)
        if twos < whole:
            one = load_bytes(source, at + twos)
            one = light_of(one, fine, knee, toe, c0, c1, c2, c3, c4, c5, c6, c7)
            store(ring, to + twos, one)
        for i in range(whole, part.length):
            x = np.float32(source[at + i])
            last = p[8] + x * p[9] if fine else p[8]
            curved = p[4] + x * (p[5] + x * (p[6] + x * (p[7] + x * last)))
            curved = p[2] + x * (p[3] + x * curved)
            ring[to + i] = p[1] * x if x < p[0] else curved


@inner
def set_alpha(codes, full, channels, light):
    """The last channel in proportion to its codes, whatever the curve."""
    for i in range(channels - 1, codes.size, channels):
        light[i] = codes[i] / full


@inner
def premultiply(channels, light):
    """Colours multiplied by the alpha beside them."""
    for i in range(0, light.size, channels):
        for c in range(channels - 1):
            light[i + c] *= light[i + channels - 1]
