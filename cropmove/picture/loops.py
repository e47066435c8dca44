"""The compiled inner loops: still rows in, frame rows out, linear light in between.

A frame is made in stripes of columns narrow enough for a processor's cache. Down a stripe each
still row is turned to linear light once and kept in a ring of rows until no frame row needs it.
Two frame rows at a time are summed from the ring, then across, then encoded straight into the
frame. Nothing the size of a picture is ever held in floating point.

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
    load,
    multiply_add,
    prefetch,
    splat,
    store,
    store_halves,
    totals,
)

STRIPE = 640
"""Still pixels across a stripe, about: a ring of such rows fits a second-level cache."""

BLOCK = 4 * WIDTH
"""Rows of light are padded to whole blocks of so many numbers."""

LANES = "f8f3d77173ad145d"
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

    Pixels are padded to a multiple of eight by repeating the last first with no weight, taps to
    a multiple of eight by zeros; `real` taps of each pixel are.
    """

    firsts: NDArray[np.int64]
    weights: NDArray[np.float32]
    real: int


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


@compiled
def taps(start, step, count, available, samples, per_unit, radius, stretch):
    """The `Taps` of `count` frame pixels, of which pixel i is centred at start + (i + ½)·step.

    `samples` is the kernel at every 1/per_unit of a unit, and a unit is `stretch` still pixels.
    Weights add up to 1; what falls outside the still counts for its edge pixel.
    """
    reach = radius * stretch
    width = min(int(np.ceil(2 * reach)), available)
    firsts = np.empty((count + WIDTH - 1) // WIDTH * WIDTH, np.int64)
    weights = np.zeros((firsts.size, (width + WIDTH - 1) // WIDTH * WIDTH), np.float32)
    row = np.empty(width, np.float64)
    for i in range(count):
        centre = start + (i + HALF_PIXEL) * step - HALF_PIXEL
        low = int(np.floor(centre - reach)) + 1
        first = min(max(low, 0), available - width)
        row[:] = 0
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
    return Taps(firsts, weights, width)


# Still rows to linear light. -----------------------------------------------------------------


@inner
def read(codes, rows, curve, light):
    """A stretch of a still row, given as its bytes, to linear light, alpha multiplied in."""
    if rows.depth == 32:
        read_floats(codes.view(np.float32), light)
    elif rows.depth == 16:
        look_up(codes.view(np.uint16), curve.table, light)
    elif curve.polynomial.size > 0:
        read_by_polynomial(codes, curve.polynomial, light)
    else:
        look_up(codes, curve.table, light)
    if rows.channels == 2 or rows.channels == 4:
        if rows.depth == 16:
            set_alpha(codes.view(np.uint16), np.float32(65535), rows.channels, light)
        elif rows.depth == 8:
            set_alpha(codes, np.float32(255), rows.channels, light)
        premultiply(rows.channels, light, codes.size * 8 // rows.depth)


@inner
def fetch(codes):
    """Have a stretch of a still row brought near."""
    for i in range(0, codes.size, CACHE_LINE):
        prefetch(codes, i)


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


@inner
def read_by_polynomial(codes, polynomial, light):
    """What `look_up` gives, within 0.03 code, and twice as fast; see `light.fit_decoding`."""
    knee, toe, c0, c1, c2, c3, c4, c5, c6 = (
        polynomial[0], polynomial[1], polynomial[2], polynomial[3], polynomial[4],
        polynomial[5], polynomial[6], polynomial[7], polynomial[8],
    )  # fmt: skip
    for i in range(codes.size):
        x = np.float32(codes[i])
        curved = c0 + x * (c1 + x * (c2 + x * (c3 + x * (c4 + x * (c5 + x * c6)))))
        light[i] = toe * x if x < knee else curved


@inner
def set_alpha(codes, full, channels, light):
    """The last channel in proportion to its codes, whatever the curve."""
    for i in range(channels - 1, codes.size, channels):
        light[i] = codes[i] / full


@inner
def premultiply(channels, light, count):
    """Colours multiplied by the alpha beside them."""
    for i in range(0, count, channels):
        for c in range(channels - 1):
            light[i + c] *= light[i + channels - 1]


# Sums. ---------------------------------------------------------------------------------------


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


@inner
def sum_rows(ring, starts, weights, later, count, one, other):
    """Two weighted sums, of `count` rows of the ring each, the other beginning `later` rows on.

    A row that both need is loaded once. Rows of the ring begin at `starts`; `weights` are those
    of both sums side by side.
    """
    shared = max(later, count)
    for x in range(0, one.size, BLOCK):
        a0 = a1 = a2 = a3 = b0 = b1 = b2 = b3 = splat(ZERO)
        for t in range(min(later, count)):
            a0, a1, a2, a3 = added(ring, starts[t] + x, weights[t, 0], a0, a1, a2, a3)
        for t in range(later, count):
            a0, a1, a2, a3 = added(ring, starts[t] + x, weights[t, 0], a0, a1, a2, a3)
            b0, b1, b2, b3 = added(ring, starts[t] + x, weights[t, 1], b0, b1, b2, b3)
        for t in range(shared, later + count):
            b0, b1, b2, b3 = added(ring, starts[t] + x, weights[t, 1], b0, b1, b2, b3)
        put(one, x, a0, a1, a2, a3)
        put(other, x, b0, b1, b2, b3)


@inner
def split(light, channels, planes):
    """Light of interleaved channels as one plane for each channel."""
    if channels == 3:
        for x in range(planes.shape[1]):
            planes[0, x] = light[3 * x]
            planes[1, x] = light[3 * x + 1]
            planes[2, x] = light[3 * x + 2]
    else:
        for c in range(channels):
            for x in range(planes.shape[1]):
                planes[c, x] = light[channels * x + c]


@inner
def sum_columns(one, other, firsts, weights, tap_count, total_one, total_other):
    """Weighted sums across two rows of one channel, four frame pixels at a time.

    `weights` holds `tap_count` taps for each frame pixel, padded to a multiple of eight.
    """
    for i in range(0, firsts.size, 4):
        a0 = a1 = a2 = a3 = b0 = b1 = b2 = b3 = splat(ZERO)
        f0, f1, f2, f3 = firsts[i], firsts[i + 1], firsts[i + 2], firsts[i + 3]
        w0 = i * tap_count
        w1, w2, w3 = w0 + tap_count, w0 + 2 * tap_count, w0 + 3 * tap_count
        for t in range(0, tap_count, WIDTH):
            w = load(weights, w0 + t)
            a0, b0 = (multiply_add(w, load(one, f0 + t), a0),
                      multiply_add(w, load(other, f0 + t), b0))  # fmt: skip
            w = load(weights, w1 + t)
            a1, b1 = (multiply_add(w, load(one, f1 + t), a1),
                      multiply_add(w, load(other, f1 + t), b1))  # fmt: skip
            w = load(weights, w2 + t)
            a2, b2 = (multiply_add(w, load(one, f2 + t), a2),
                      multiply_add(w, load(other, f2 + t), b2))  # fmt: skip
            w = load(weights, w3 + t)
            a3, b3 = (multiply_add(w, load(one, f3 + t), a3),
                      multiply_add(w, load(other, f3 + t), b3))  # fmt: skip
        store_halves(total_one, total_other, i, totals(a0, a1, a2, a3, b0, b1, b2, b3))


# Linear light to frame rows. -----------------------------------------------------------------


@inner
def write(planes, rows, curve, lowest, shift, codes):
    """Planes of linear light into a stretch of a frame row, given as its bytes."""
    channels = rows.channels
    alpha = channels == 2 or channels == 4
    if alpha:
        divide_out(planes)
    if rows.depth == 32:
        weave(planes, codes.view(np.float32))
        return
    full = np.float32(255) if rows.depth == 8 else np.float32(65535)
    for c in range(channels):
        if alpha and c == channels - 1:
            encode_straight(planes[c], full)
        elif rows.depth == 8 and curve.polynomial.size > 0:
            encode_by_polynomial(planes[c], curve.polynomial)
        else:
            encode_by_table(planes[c], planes[c].view(np.int32), curve.table, lowest, shift, full)
    if rows.depth == 8:
        weave(planes, codes)
    else:
        weave(planes, codes.view(np.uint16))


@inner
def divide_out(planes):
    """Colours back from what `premultiply` made of them; black where nothing covers."""
    cover = planes[-1]
    for x in range(cover.size):
        part = ONE / cover[x] if cover[x] > FAINTEST_COVER else ZERO
        for c in range(len(planes) - 1):
            planes[c, x] *= part


@inner
def encode_straight(light, full):
    """Codes in proportion, raised by a half for rounding."""
    for x in range(light.size):
        light[x] = min(max(light[x], ZERO), ONE) * full + HALF


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


@inner
def encode_by_polynomial(light, polynomial):
    """What `encode_by_table` gives for 8 bits, within 0.03 code; see `light.fit_encoding`."""
    knee, toe, c0, c1, c2, c3, c4, c5, c6, c7 = (
        polynomial[0], polynomial[1], polynomial[2], polynomial[3], polynomial[4],
        polynomial[5], polynomial[6], polynomial[7], polynomial[8], polynomial[9],
    )  # fmt: skip
    for i in range(light.size):
        y = min(max(light[i], ZERO), ONE)
        x = np.sqrt(y)
        curved = c0 + x * (c1 + x * (c2 + x * (c3 + x * (c4 + x * (c5 + x * (c6 + x * c7))))))
        light[i] = (toe * y if y < knee else curved) + HALF


@inner
def weave(planes, row):
    """Planes into interleaved channels, cut to whole numbers where the row holds such."""
    channels = len(planes)
    if channels == 3:
        for x in range(row.size // 3):
            row[3 * x] = planes[0, x]
            row[3 * x + 1] = planes[1, x]
            row[3 * x + 2] = planes[2, x]
    else:
        for c in range(channels):
            for x in range(row.size // channels):
                row[channels * x + c] = planes[c, x]


# The whole frame. ----------------------------------------------------------------------------


@inner
def rows_for_pair(down, y):
    """How many still rows frame rows y and y + 1 need between them."""
    return down.firsts[y + 1] - down.firsts[y] + down.real


@inner
def pair_weights(down, y, weights):
    """The weights of frame rows y and y + 1 side by side, for the still rows of both."""
    later = down.firsts[y + 1] - down.firsts[y]
    weights[:] = 0
    for t in range(down.real):
        weights[t, 0] = down.weights[y, t]
        weights[later + t, 1] = down.weights[y + 1, t]


@inner
def stripe_columns(across):
    """How many frame pixels make a stripe, and the longest stretch of still pixels they need."""
    firsts = across.firsts
    step = max(1.0, (firsts[-1] - firsts[0]) / firsts.size)
    columns = max(1, int(STRIPE / step) // WIDTH) * WIDTH
    longest = 0
    for begin in range(0, firsts.size, columns):
        last = min(begin + columns, firsts.size) - 1
        longest = max(longest, firsts[last] - firsts[begin] + across.weights.shape[1])
    return columns, (longest + BLOCK - 1) // BLOCK * BLOCK


@inner
def most_rows(down, begin, end):
    """How many still rows the neediest two frame rows from `begin` to `end` need between them."""
    most = 0
    for y in range(begin, end, 2):
        most = max(most, rows_for_pair(down, y))
    return most


@compiled
def resample_rows(still, decoding, across, down, encoding, lowest, shift, frame):
    """Fill `frame` from `still`, both `Rows`, with the taps across and down.

    All in one function, since whatever is called is compiled once more with its caller.
    """
    channels, wide = still.channels, across.weights.shape[1]
    still_pixel, frame_pixel = still.depth // 8 * channels, frame.depth // 8 * channels
    columns, pitch = stripe_columns(across)
    ring = np.zeros((most_rows(down, 0, down.firsts.size), pitch * channels), np.float32)
    flat_ring = ring.reshape(-1)
    starts, pair = np.empty(len(ring), np.int64), np.empty((len(ring), 2), np.float32)
    sums = np.empty((2, pitch * channels), np.float32)
    planes = np.empty((2, channels, pitch), np.float32)
    for begin in range(0, across.firsts.size, columns):
        end = min(begin + columns, across.firsts.size)
        left = across.firsts[begin]
        right = min(across.firsts[end - 1] + wide, still.bytes.shape[1] // still_pixel)
        frame_end = min(end, frame.bytes.shape[1] // frame_pixel)
        firsts = across.firsts[begin:end] - left
        weights = across.weights[begin:end].reshape(-1)
        light = np.empty((2, channels, end - begin), np.float32)
        ready = down.firsts[0]
        for y in range(0, len(frame.bytes), 2):
            first, needed = down.firsts[y], rows_for_pair(down, y)
            while ready < first + needed:
                ahead = min(ready + AHEAD, len(still.bytes) - 1)
                fetch(still.bytes[ahead, left * still_pixel : right * still_pixel])
                codes = still.bytes[ready, left * still_pixel : right * still_pixel]
                read(codes, still, decoding, ring[ready % len(ring)])
                ready += 1
            for t in range(needed):
                starts[t] = (first + t) % len(ring) * ring.shape[1]
            pair_weights(down, y, pair)
            sum_rows(flat_ring, starts, pair, needed - down.real, down.real, sums[0], sums[1])
            split(sums[0], channels, planes[0])
            split(sums[1], channels, planes[1])
            for c in range(channels):
                sum_columns(planes[0, c], planes[1, c], firsts, weights, wide,
                            light[0, c], light[1, c])  # fmt: skip
            for side in range(min(2, len(frame.bytes) - y)):
                row = frame.bytes[y + side, begin * frame_pixel : frame_end * frame_pixel]
                write(light[side], frame, encoding, lowest, shift, row)
