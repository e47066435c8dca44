"""The compiled inner loops: still rows in, frame rows out, linear light in between.

A frame is made in stripes of columns narrow enough for a processor's cache. Down a stripe each
still row is turned to linear light once and kept in a ring of rows until no frame row needs it.
Eight frame rows at a time are summed from the ring and stood upright, so that a vector holds one
number of each; then they are summed across, laid down again and encoded straight into the frame.
Nothing the size of a picture is ever held in floating point.

All functions stand at module level and take whatever varies as an argument, so that numba's cache
on disk holds them and nothing is compiled twice. Rows go in and out as bytes and are seen as what
they are inside: one compilation serves every depth and number of channels.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numba
import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import HALF_PIXEL
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
    transposed,
    where_below,
)

BLOCK = 4 * WIDTH
"""Rows of light are padded to whole blocks of so many numbers."""

TOGETHER = WIDTH
"""Frame rows that are made at a time: a vector holds one number of each."""

ROOM = 1 << 16
"""Numbers that are at work in a stripe, about: they fit a second-level cache."""

PIECE = 2 * BLOCK
"""Numbers of a row that are summed down in one go: so much of all rows fits a first-level cache."""

LANES = "7bee0ebb4773c0ba"
"""Which lanes.py this is compiled with; numba looks for changes in this file only, so that a
change there has to show here. A test compares it."""

AHEAD = 4
"""Rows of the still are fetched from memory so many rows before they are read."""

CACHE_LINE = 64

ZERO, HALF, ONE = np.float32(0), np.float32(0.5), np.float32(1)
BRIGHTEST = np.float32(1e30)
"""What an infinite highlight counts as, so that sums stay numbers."""

FAINTEST_COVER = np.float32(1e-6)
"""Below this alpha there is no colour left to tell."""


class Rows(NamedTuple):
    """A picture as rows of bytes, and what the bytes are."""

    bytes: NDArray[np.uint8]
    depth: int
    channels: int


class Curve(NamedTuple):
    """A transfer curve one way, as `cropmove.picture.light` tabulates it."""

    table: NDArray[np.float32]
    polynomial: NDArray[np.float32]


class Taps(NamedTuple):
    """For each frame pixel along one axis the first still pixel that counts, and the weights.

    Pixels are padded to a multiple of eight by repeating the last first with no weight.
    """

    firsts: NDArray[np.int64]
    weights: NDArray[np.float32]


class Part(NamedTuple):
    """So many numbers of each row, in an array that has the rows one after the other."""

    at: int
    length: int
    pitch: int
    """From a row to the next."""


_COMPILED: dict[str, Any] = {
    "cache": True,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract"},
    "no_cfunc_wrapper": True,
}
_INNER: dict[str, Any] = _COMPILED | {"no_cpython_wrapper": True}


def compiled(function: Any) -> Any:
    """The function compiled, to be called from Python."""
    return numba.njit(**_COMPILED)(function)


def inner(function: Any) -> Any:
    """The function compiled, to be called by compiled ones only: from Python a call crashes.

    The door to Python that each function would get takes longer to compile than most of them.
    """
    return numba.njit(**_INNER)(function)


def inlined(function: Any) -> Any:
    """The function as a part of each compiled one that calls it: calls would cost too much."""
    return numba.njit(**_INNER, forceinline=True)(function)


@compiled
def taps(start, step, count, available, samples, per_unit, radius, stretch):
    """The `Taps` of `count` frame pixels, of which pixel i is centred at start + (i + ½)·step.

    `samples` is the kernel at every 1/per_unit of a unit, and a unit is `stretch` still pixels.
    Weights add up to 1; what falls outside the still counts for its edge pixel.
    """
    reach = radius * stretch
    width = min(int(np.ceil(2 * reach)), available)
    firsts = np.empty((count + WIDTH - 1) // WIDTH * WIDTH, np.int64)
    weights = np.zeros((firsts.size, width), np.float32)
    row = np.empty(width, np.float64)
    for i in range(count):
        centre = start + (i + HALF_PIXEL) * step - HALF_PIXEL
        low = int(np.floor(centre - reach)) + 1
        first = min(max(low, 0), available - width)
        for t in range(width):
            row[t] = 0.0
        total = 0.0
        for pixel in range(low, int(np.ceil(centre + reach))):
            place = abs(pixel - centre) / stretch * per_unit
            below = min(int(place), samples.size - 2)
            value = samples[below] + (place - below) * (samples[below + 1] - samples[below])
            row[min(max(pixel - first, 0), width - 1)] += value
            total += value
        firsts[i] = first
        for t in range(width):
            weights[i, t] = row[t] / total
    firsts[count:] = firsts[count - 1]
    return Taps(firsts, weights)


# Still rows to linear light. -----------------------------------------------------------------


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


@inner
def row_of(numbers, part, y):
    """The part of a row, where rows begin anew when all places are taken."""
    at = y % (numbers.size // part.pitch) * part.pitch + part.at
    return numbers[at : at + part.length]


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
def light_of(x, knee, toe, c0, c1, c2, c3, c4, c5, c6):
    """Light of eight codes; see `light.fit_decoding`."""
    curved = multiply_add(x, multiply_add(x, c6, c5), c4)
    curved = multiply_add(x, multiply_add(x, curved, c3), c2)
    curved = multiply_add(x, multiply_add(x, curved, c1), c0)
    return where_below(x, knee, multiply(x, toe), curved)


@inner
def read_by_polynomial(source, part, begin, end, polynomial, ring, into):
    """What `look_up` gives, within 0.03 code, and twice as fast; see `light.fit_decoding`.

    Two vectors at a time keep the processor busy, and all coefficients in its registers.
    """
    p = polynomial
    knee, toe, c0, c1, c2, c3, c4, c5, c6 = (
        splat(p[0]), splat(p[1]), splat(p[2]), splat(p[3]), splat(p[4]), splat(p[5]), splat(p[6]),
        splat(p[7]), splat(p[8]),
    )  # fmt: skip
    twos, whole = part.length // (2 * WIDTH) * (2 * WIDTH), part.length // WIDTH * WIDTH
    for y in range(begin, end):
        fetch(source, part, y + AHEAD)
        at, to = y * part.pitch + part.at, y % (ring.size // into.pitch) * into.pitch + into.at
        for i in range(0, twos, 2 * WIDTH):
            one, other = load_bytes(source, at + i), load_bytes(source, at + i + WIDTH)
            store(ring, to + i, light_of(one, knee, toe, c0, c1, c2, c3, c4, c5, c6))
            store(ring, to + i + WIDTH, light_of(other, knee, toe, c0, c1, c2, c3, c4, c5, c6))
        if twos < whole:
            one = load_bytes(source, at + twos)
            store(ring, to + twos, light_of(one, knee, toe, c0, c1, c2, c3, c4, c5, c6))
        for i in range(whole, part.length):
            x = np.float32(source[at + i])
            curved = p[4] + x * (p[5] + x * (p[6] + x * (p[7] + x * p[8])))
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


# Sums. ---------------------------------------------------------------------------------------


class Pair(NamedTuple):
    """Two rows that are summed together, from so many rows of the ring each."""

    taps: int
    begin: int
    """From which of the rows on that are listed the one is summed."""
    later: int
    """By how many rows the other begins later."""
    weights: int
    """Where the weights of both begin, which stand side by side."""


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
def pair_of(down, first, y, other, at):
    """Frame rows y and `other` as a `Pair`, where rows are listed from those of `first` on."""
    return Pair(down.weights.shape[1], down.firsts[y] - down.firsts[first],
                down.firsts[other] - down.firsts[y], at)  # fmt: skip


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
        a0 = a1 = a2 = a3 = b0 = b1 = b2 = b3 = splat(ZERO)
        for t in range(min(pair.later, pair.taps)):
            at = item(starts, pair.begin + t) + x
            a0, a1, a2, a3 = added(ring, at, item(weights, pair.weights + 2 * t), a0, a1, a2, a3)
        for t in range(pair.later, pair.taps):
            at = item(starts, pair.begin + t) + x
            a0, a1, a2, a3 = added(ring, at, item(weights, pair.weights + 2 * t), a0, a1, a2, a3)
            b0, b1, b2, b3 = added(ring, at, item(weights, late + 2 * t), b0, b1, b2, b3)
        for t in range(max(pair.later, pair.taps), last):
            at = item(starts, pair.begin + t) + x
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
def sum_down(ring, starts, down, first, y, apart, weights, length, sums, upright):
    """Frame row y and seven more, `apart` each, with all eight numbers of a place in one vector.

    Rows of the ring are listed from those of frame row `first` on. It goes by pieces that stay in
    the first-level cache with all the rows that are summed.
    """
    pairs = sums.size // (2 * PIECE)
    each = weights.size // pairs
    for side in range(pairs):
        one, other = y + 2 * side * apart, y + (2 * side + 1) * apart
        put_weights(down, one, other, pair_of(down, first, one, other, side * each), weights)
    for x in range(0, length, PIECE):
        stop = min(x + PIECE, length)
        for side in range(pairs):
            one, other = y + 2 * side * apart, y + (2 * side + 1) * apart
            sum_rows(ring, starts, weights, pair_of(down, first, one, other, side * each), x, stop,
                     sums, 2 * side * PIECE, (2 * side + 1) * PIECE)  # fmt: skip
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


# Linear light to frame rows. -----------------------------------------------------------------


@inner
def write(light, part, frame, begin, end, curve, lowest, shift, target, into):
    """Rows of linear light, which is used up, into part of some rows of a frame.

    The first row of light goes to row `begin` of the frame, of which `target` are all bytes.
    """
    alpha = frame.channels == 2 or frame.channels == 4
    if curve.polynomial.size > 0 and not alpha:
        if frame.depth == 8:
            write_by_polynomial(light, part, begin, end, curve.polynomial, target, into)
        else:
            wide = Part(into.at // 2, into.length // 2, into.pitch // 2)
            codes = target.view(np.uint16)
            write_by_polynomial(light, part, begin, end, curve.polynomial, codes, wide)
        return
    for y in range(begin, end):
        row, codes = row_of(light, part, y - begin), row_of(target, into, y)
        if alpha:
            divide_out(row, frame.channels)
        if frame.depth == 32:
            put_numbers(row, 1, codes.view(np.float32))
        elif frame.depth == 16:
            put_codes(row, frame, curve, lowest, shift, np.float32(65535), codes.view(np.uint16))
        else:
            put_codes(row, frame, curve, lowest, shift, np.float32(255), codes)


@inner
def write_by_polynomial(light, part, begin, end, polynomial, codes, into):
    """What `encode_by_table` gives, within 0.03 code; see `light.fit_encoding`."""
    p, fine = polynomial, codes.itemsize == 2
    knee, toe, c0, c1, c2, c3, c4, c5, c6, c7 = (
        splat(p[0]), splat(p[1]), splat(p[2] + HALF), splat(p[3]), splat(p[4]), splat(p[5]),
        splat(p[6]), splat(p[7]), splat(p[8]), splat(p[9]),
    )  # fmt: skip
    low, high, half = splat(ZERO), splat(ONE), splat(HALF)
    whole = part.length // WIDTH * WIDTH
    for y in range(begin, end):
        at, to = (y - begin) * part.pitch + part.at, y * into.pitch + into.at
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
def divide_out(light, channels):
    """Colours back from what `premultiply` made of them; black where nothing covers."""
    for i in range(0, light.size, channels):
        cover = light[i + channels - 1]
        part = ONE / cover if cover > FAINTEST_COVER else ZERO
        for c in range(channels - 1):
            light[i + c] *= part


@inner
def put_codes(light, rows, curve, lowest, shift, full, codes):
    """Light as codes up to `full`: alpha in proportion, whatever the curve, all else by it."""
    channels = rows.channels
    alpha = channels == 2 or channels == 4
    if alpha:
        for i in range(channels - 1, light.size, channels):
            codes[i] = min(max(light[i], ZERO), ONE) * full + HALF
    encode_by_table(light, light.view(np.int32), curve.table, lowest, shift, full)
    put_numbers(light, channels if alpha else 1, codes)


@inner
def put_numbers(light, channels, numbers):
    """Light as numbers of another type, all but the last channel of several."""
    if channels == 1:
        for i in range(light.size):
            numbers[i] = light[i]
    else:
        for i in range(0, light.size, channels):
            for c in range(channels - 1):
                numbers[i + c] = light[i + c]


@inner
def encode_by_table(light, bits, table, lowest, shift, full):
    """Code values, raised by a half for rounding; `bits` are the same numbers seen as integers."""
    length = np.float32(1 << shift)
    for x in range(light.size):
        light[x] = min(max(light[x], ZERO), ONE)
        place = bits[x] - lowest
        code = ZERO
        if place >= 0:
            piece = place >> shift
            code = table[piece, 0] + np.float32(place - (piece << shift)) / length * table[piece, 1]
        light[x] = code * full + HALF


# The whole frame. ----------------------------------------------------------------------------


@inner
def stripe_columns(across, width, channels, rows):
    """How many frame pixels make a stripe, where so many still rows are needed at once."""
    taps = across.weights.shape[1]
    step = max((across.firsts[width - 1] - across.firsts[0]) / width, 1 / width)
    columns = int(ROOM / channels / (step * (rows + TOGETHER) + 2 * TOGETHER))
    # Stripes overlap by the taps: what is read twice stays a small part.
    return min(width, max(columns, int(4 * taps / step), 1))


@compiled
def resample_rows(still, decoding, across, down, encoding, lowest, shift, frame):
    """Fill `frame` from `still`, both `Rows`, with the taps across and down.

    All in one function, since whatever is called is compiled once more with its caller.
    """
    channels, taps = still.channels, across.weights.shape[1]
    still_pixel, frame_pixel = still.depth // 8 * channels, frame.depth // 8 * channels
    row, frame_row = still.bytes.shape[1], frame.bytes.shape[1]
    available, width = row // still_pixel, frame_row // frame_pixel
    source, target = still.bytes.reshape(-1), frame.bytes.reshape(-1)
    most = most_rows(down, 0, len(frame.bytes), TOGETHER)
    columns = stripe_columns(across, width, channels, most)
    longest = 0
    for begin in range(0, width, columns):
        end = min(begin + columns, width)
        longest = max(longest, across.firsts[end - 1] - across.firsts[begin] + taps)
    pitch = ((longest + WIDTH) * channels + BLOCK - 1) // BLOCK * BLOCK
    ring, starts = np.zeros(most * pitch, np.float32), np.empty(most, np.int64)
    weights, sums = np.empty(TOGETHER * most, np.float32), np.empty(TOGETHER * PIECE, np.float32)
    upright = np.empty(pitch * TOGETHER, np.float32)
    lit = (columns * channels + WIDTH - 1) // WIDTH * WIDTH
    light, rows = np.empty(lit * TOGETHER, np.float32), np.empty(TOGETHER * lit, np.float32)
    for begin in range(0, width, columns):
        end = min(begin + columns, width)
        left = across.firsts[begin]
        # Whole vectors are read, where the still has them.
        wide = (across.firsts[end - 1] + taps - left + WIDTH - 1) // WIDTH * WIDTH
        right = min(left + wide, available)
        part = Part(left * still_pixel, (right - left) * still_pixel, row)
        held = Part(0, (right - left) * channels, pitch)
        row_part = Part(0, (end - begin) * channels, lit)
        frame_part = Part(begin * frame_pixel, (end - begin) * frame_pixel, frame_row)
        length = ((right - left) * channels + BLOCK - 1) // BLOCK * BLOCK
        firsts, across_weights = across.firsts[begin:end] - left, across.weights[begin:end]
        ready = down.firsts[0]
        for y in range(0, len(frame.bytes), TOGETHER):
            first, needed = down.firsts[y], rows_for(down, y, TOGETHER)
            past = first + needed
            read(source, still, part, max(ready, first), past, decoding, ring, held)
            ready = past
            for t in range(needed):
                starts[t] = (first + t) % most * pitch
            sum_down(ring, starts, down, y, y, 1, weights, length, sums, upright)
            sum_across(upright, channels, firsts, across_weights, light)
            for x in range(0, (end - begin) * channels, WIDTH):
                transpose(light, x * WIDTH, WIDTH, rows, x, lit)
            write(rows, row_part, frame, y, min(y + TOGETHER, len(frame.bytes)), encoding, lowest,
                  shift, target, frame_part)  # fmt: skip
