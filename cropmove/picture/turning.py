"""The compiled loops of a rolled frame.

The kernel lies along the still's own rows and columns, while the frame's columns run aslant
through them. So the still is summed down first, to rows that lie `DENSER` times as close as the
pixels along a column of the frame; then across, exactly where each such column crosses each such
row; and what a frame pixel shows is interpolated along its own column. Where the roll is nearer
to a quarter than to none, the rows of the frame take the place of its columns: *lines* is the
word for either here.

All this is done in tiles, so that what has been summed across is still in the cache when it is
interpolated. Along each of its lines a tile has slots of four samples, so that two slots fill one
vector; the n-th pixel of a line has its eight slots around it from slot ``DENSER·n`` on.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import HALF_PIXEL
from cropmove.picture.lanes import (
    WIDTH,
    load,
    multiply_add,
    splat,
    store_folded,
)
from cropmove.picture.loops import (
    BLOCK,
    HALF,
    ZERO,
    Part,
    compiled,
    inner,
    most_rows,
    pair_of,
    put_weights,
    read,
    rows_for,
    sum_rows,
    write,
)

LOOPS = "d9fcb3595b2fdf15"
"""Which loops.py this is compiled with, for the same reason as `loops.LANES`."""

QUAD = 4
"""Samples in a slot."""

DENSER = 2
"""Slots for each frame pixel along a line."""

REACH = 8
"""Slots that a frame pixel is interpolated from."""

PLACES = 256
"""Places between two slots that the weights for that are tabulated for."""

WIDE, TALL = 192, 96
"""Frame pixels across and down a tile: its slots and its rows of the still fit a second-level
cache together."""


class Profile(NamedTuple):
    """The kernel across a row, tabulated for all places between two still pixels."""

    weights: NDArray[np.float32]
    """For each place so many weights one after the other, each four times."""
    places: int
    taps: int
    """Weights for each place, padded by zeros to a multiple of four."""
    reach: float
    """How far the kernel reaches to either side, in still pixels."""


class Tile(NamedTuple):
    """Where the lines of a tile lie in the still, and where its pixels lie among their slots.

    The first pixel of the first line is the topmost of that line, and that line is the topmost
    of all, whichever way the frame is turned.
    """

    x: float
    y: float
    """Where that pixel is centred, in still pixels."""
    beside: tuple[float, float]
    """From a line to the next."""
    along: tuple[float, float]
    """From a pixel to the next on its line."""
    lines: int
    used: int
    """Slots of a line."""
    slots: int
    """Slots from a line to the next, which keeps them apart in the cache."""
    start: int
    """The first slot of the tile's top-left pixel, and how many slots on its neighbours are."""
    right: int
    below: int
    line: int
    """The line of that pixel, and how many lines on its neighbours are."""
    line_right: int
    line_below: int


class Plan(NamedTuple):
    """What is to be summed for a tile, its rows being counted from the topmost one on."""

    skipped: int
    """Rows of the whole frame above it."""
    ends: NDArray[np.int64]
    """For each row, an even number of them, the first line that crosses it, and one past the last.
    """
    columns: NDArray[np.int64]
    """For each two rows the first still column that counts, and one past the last."""
    spans: NDArray[np.int64]
    """The same for each row of the still."""
    left: int
    right: int
    """The same for all."""
    begun: float
    """In which still column the first line's taps begin in the topmost row, were they there."""
    slope: float
    """From a row to the next so much further right."""
    offsets: NDArray[np.float32]
    """How much further right than the first line's each line's taps begin in a row."""
    slots: NDArray[np.int64]
    """For each line where the samples would stand that belong to the topmost row."""


@inner
def laid(first, right, below, left, top, wide, tall):
    """The `Tile` of so many frame pixels across and down from one pixel on."""
    x = first[0] + left * right[0] + top * below[0]
    y = first[1] + left * right[1] + top * below[1]
    upright = abs(below[1]) >= abs(right[1])
    beside, along, lines, pixels = right, below, wide, tall
    if not upright:
        beside, along, lines, pixels = below, right, tall, wide
    used = DENSER * (pixels - 1) + REACH
    slots = used + (QUAD - used) % WIDTH
    start = line = 0
    to_line, to_pixel = 1, DENSER
    if beside[1] < 0:
        x, y = x + (lines - 1) * beside[0], y + (lines - 1) * beside[1]
        beside, line, to_line = (-beside[0], -beside[1]), lines - 1, -1
    if along[1] < 0:
        x, y = x + (pixels - 1) * along[0], y + (pixels - 1) * along[1]
        along, start, to_pixel = (-along[0], -along[1]), DENSER * (pixels - 1), -DENSER
    start += line * slots
    if upright:
        return Tile(x, y, beside, along, lines, used, slots,
                    start, to_line * slots, to_pixel, line, to_line, 0)  # fmt: skip
    return Tile(x, y, beside, along, lines, used, slots,
                start, to_pixel, to_line * slots, line, 0, to_line)  # fmt: skip


# From the still to the slots. ----------------------------------------------------------------


@inner
def first_rows(tile, between, begins, line_weights):
    """The topmost row that crosses a tile, counted from the top of the still, and how many do.

    The row of each line's first slot, counted from that one, and the weights of each line are put
    into `begins` and `line_weights`. Rows have the same places in all tiles.
    """
    pitch = tile.along[1] / DENSER
    place, before, each = tile.y / pitch, REACH // 2 - 1, REACH * QUAD
    topmost = int(np.floor(place)) - before
    for i in range(tile.lines):
        here = place - topmost + i * tile.beside[1] / pitch
        row = int(here)
        begins[i] = row - before
        at = int((here - row) * PLACES + HALF_PIXEL) * each
        for t in range(each):
            line_weights[i * each + t] = between[at + t]
    return topmost, begins[tile.lines - 1] + tile.used


@inner
def crossing(begins, used, ends):
    """For each row the first line that crosses it, and one past the last."""
    first = last = 0
    for row in range(len(ends)):
        while last < begins.size and begins[last] <= row:
            last += 1
        while first < begins.size and begins[first] + used <= row:
            first += 1
        ends[row, 0], ends[row, 1] = first, last


@inner
def stretches(ends, begun, slope, step, count, available, columns):
    """For each two rows the still columns that the lines crossing them need, and one past them.

    Columns outside the still are its edge repeated; more of them than a kernel covers are no use.
    What all need together comes back.
    """
    leftmost, rightmost = available - 1, 1
    for y in range(0, len(ends), 2):
        least, most = np.inf, -np.inf
        for row in (y, y + 1):
            if ends[row, 0] < ends[row, 1]:
                one = begun + row * slope + ends[row, 0] * step
                other = begun + row * slope + (ends[row, 1] - 1) * step
                least, most = min(least, one, other), max(most, one, other)
        low = int(min(max(np.floor(least), -count - 1), available + 1))
        high = int(min(max(np.ceil(most) + count + 2, low + count + 2),
                       available + count + 3))  # fmt: skip
        columns[y // 2, 0], columns[y // 2, 1] = low, high
        leftmost, rightmost = min(leftmost, low), max(rightmost, high)
    return leftmost, rightmost


@inner
def needed_of_rows(down, skipped, columns, spans):
    """For each still row, from the first that counts on, the columns any sum needs of it."""
    for row in range(len(spans)):
        spans[row, 0], spans[row, 1] = columns[0, 1], columns[0, 0]
    for pair in range(len(columns)):
        y = skipped + 2 * pair
        first, needed = down.firsts[y] - down.firsts[skipped], rows_for(down, y, 2)
        for row in range(first, first + needed):
            spans[row, 0] = min(spans[row, 0], columns[pair, 0])
            spans[row, 1] = max(spans[row, 1], columns[pair, 1])


@inner
def repeat_edges(light, channels, begin, end, left, right):
    """Pixels `begin` to `left` of a row like pixel `left`, and `right` to `end` like the last."""
    for x in range(begin * channels, left * channels):
        light[x] = light[left * channels + x % channels]
    for x in range(right * channels, end * channels):
        light[x] = light[(right - 1) * channels + x % channels]


@inner
def spread(light, channels, quads):
    """Light of interleaved channels as pixels of four samples."""
    if channels == 3:
        for x in range(quads.size // QUAD):
            quads[QUAD * x] = light[3 * x]
            quads[QUAD * x + 1] = light[3 * x + 1]
            quads[QUAD * x + 2] = light[3 * x + 2]
            quads[QUAD * x + 3] = ZERO
    else:
        for x in range(quads.size // QUAD):
            for c in range(channels):
                quads[QUAD * x + c] = light[channels * x + c]


@inner
def place_taps(begin, offsets, limit, profile, at, weight):
    """Where the taps of the lines begin in a row, and where the weights of each do."""
    places, begin, highest = np.float32(profile.places), np.float32(begin), np.float32(limit)
    each = np.int32(profile.taps * QUAD)
    for i in range(at.size):
        place = min(max(begin + offsets[i], ZERO), highest)
        pixel = np.int32(place)
        at[i] = pixel * np.int32(QUAD)
        weight[i] = np.int32((place - np.float32(pixel)) * places + HALF) * each


@inner
def sum_aslant(quads, at, weight, weights, count, first, last, slots, row, lit):
    """Weighted sums across one row where lines cross it, into the slots of that row."""
    for i in range(first, last):
        one = other = splat(ZERO)
        a, w = at[i], weight[i]
        for t in range(0, count * QUAD, 2 * WIDTH):
            one = multiply_add(load(quads, a + t), load(weights, w + t), one)
            other = multiply_add(load(quads, a + t + WIDTH), load(weights, w + t + WIDTH), other)
        store_folded(lit, slots[i] + row * QUAD, one, other)


@inner
def planned(available, down, highest, tile, profile, between, line_weights):
    """The `Plan` of a tile; the weights of its lines are put beside it."""
    begins = np.empty(tile.lines, np.int64)
    topmost, rows = first_rows(tile, between, begins, line_weights)
    skipped, pairs = topmost - highest, (rows + 1) // 2
    ends, columns = np.empty((2 * pairs, 2), np.int64), np.empty((pairs, 2), np.int64)
    crossing(begins, tile.used, ends)
    slope = tile.along[0] / DENSER
    step = tile.beside[0] - tile.along[0] * tile.beside[1] / tile.along[1]
    begun = tile.x - HALF_PIXEL + slope * (topmost - tile.y / tile.along[1] * DENSER)
    begun -= profile.reach - 1
    left, right = stretches(ends, begun, slope, step, profile.taps, available, columns)
    past = down.firsts[skipped + 2 * pairs - 1] + down.weights.shape[1]
    spans = np.empty((past - down.firsts[skipped], 2), np.int64)
    needed_of_rows(down, skipped, columns, spans)
    slots, offsets = np.empty(tile.lines, np.int64), np.empty(tile.lines, np.float32)
    for i in range(tile.lines):
        slots[i] = (i * tile.slots - begins[i]) * QUAD
        offsets[i] = i * step
    return Plan(skipped, ends, columns, spans, left, right, begun, slope, offsets, slots)


@inner
def sum_pair(ring, down, plan, y, channels, profile, weights, sums, quads, at, weight, lit):
    """Sum the still's rows in the ring to the slots of rows y and y + 1 of a tile."""
    first, needed = down.firsts[plan.skipped + y], rows_for(down, plan.skipped + y, 2)
    low, high = plan.columns[y // 2, 0], plan.columns[y // 2, 1]
    pitch = sums.size // 2
    starts = np.empty(needed, np.int64)
    for t in range(needed):
        starts[t] = (first + t) % (ring.size // pitch) * pitch + (low - plan.left) * channels
    pair = pair_of(down, plan.skipped + y, plan.skipped + y, 0)
    put_weights(down, plan.skipped + y, pair, weights)
    sum_rows(ring, starts, weights, pair, 0, (high - low) * channels, sums, 0, pitch)
    for side in range(2):
        row = y + side
        spread(sums[side * pitch :], channels, quads[: (high - low) * QUAD])
        place_taps(plan.begun + row * plan.slope - low, plan.offsets, high - low - profile.taps,
                   profile, at, weight)  # fmt: skip
        sum_aslant(quads, at, weight, profile.weights, profile.taps,
                   plan.ends[row, 0], plan.ends[row, 1], plan.slots, row, lit)  # fmt: skip


# From the slots to the frame. ----------------------------------------------------------------


@inner
def pixels_across(tile, first, line):
    """The first sample and the first weight of each pixel across a tile."""
    for x in range(first.size):
        first[x] = (tile.start + x * tile.right) * QUAD
        line[x] = (tile.line + x * tile.line_right) * REACH * QUAD


@inner
def turn_row(lit, first, further, weights, line, on, channels, light):
    """Interpolated pixels of one row of a tile, of eight slots each: a vector holds two slots."""
    for x in range(first.size):
        one = other = splat(ZERO)
        at, weight = further + first[x], on + line[x]
        for t in range(0, REACH * QUAD, 2 * WIDTH):
            one = multiply_add(load(lit, at + t), load(weights, weight + t), one)
            other = multiply_add(
                load(lit, at + t + WIDTH), load(weights, weight + t + WIDTH), other
            )
        # What is put beyond a pixel's own channels the next one is put over.
        store_folded(light, x * channels, one, other)


@compiled
def turn(still, decoding, first, right, below, profile, down, highest, between,
         encoding, lowest, shift, frame):  # fmt: skip
    """Fill `frame` from `still`, both `Rows`.

    Frame pixel (x, y) is centred at ``first + x·right + y·below`` in the still. `between` has eight
    weights, each four times, for each of the places between two slots. `down` are the taps of all
    rows that a tile may need, of which `highest` is the topmost, counted from the still's top.

    As `loops.resample_rows` is, this is one function because whatever reads or writes is long to
    compile, and is compiled once more with each caller.
    """
    channels = frame.channels
    still_pixel, frame_pixel = still.depth // 8 * channels, frame.depth // 8 * channels
    row, frame_row = still.bytes.shape[1], frame.bytes.shape[1]
    available, height, width = row // still_pixel, len(frame.bytes), frame_row // frame_pixel
    source, target = still.bytes.reshape(-1), frame.bytes.reshape(-1)
    most = max(WIDE * (DENSER * TALL + REACH + WIDTH), TALL * (DENSER * WIDE + REACH + WIDTH))
    lit = np.zeros(most * QUAD, np.float32)
    line_weights = np.empty(max(WIDE, TALL) * REACH * QUAD, np.float32)
    at, weight = np.empty(max(WIDE, TALL), np.int32), np.empty(max(WIDE, TALL), np.int32)
    first_samples, lines = np.empty(WIDE, np.int64), np.empty(WIDE, np.int64)
    light = np.empty(WIDE * channels + QUAD, np.float32)
    for top in range(0, height, TALL):
        for left in range(0, width, WIDE):
            wide, tall = min(WIDE, width - left), min(TALL, height - top)
            tile = laid(first, right, below, left, top, wide, tall)
            plan = planned(available, down, highest, tile, profile, between, line_weights)
            ring_rows = most_rows(down, plan.skipped, plan.skipped + len(plan.ends), 2)
            pitch = (plan.right - plan.left) * channels + BLOCK
            ring = np.empty(ring_rows * pitch, np.float32)
            weights, sums = np.empty(2 * ring_rows, np.float32), np.empty(2 * pitch, np.float32)
            quads = np.zeros((plan.right - plan.left) * QUAD, np.float32)
            read_from = ready = down.firsts[plan.skipped]
            for y in range(0, len(plan.ends), 2):
                past = down.firsts[plan.skipped + y] + rows_for(down, plan.skipped + y, 2)
                while ready < past:
                    low, high = plan.spans[ready - read_from, 0], plan.spans[ready - read_from, 1]
                    begin = min(max(low, 0), available - 1)
                    end = max(min(high, available), begin + 1)
                    part = Part(begin * still_pixel, (end - begin) * still_pixel, row)
                    into = Part((begin - plan.left) * channels, (end - begin) * channels, pitch)
                    read(source, still, part, ready, ready + 1, decoding, ring, into)
                    held = ring[ready % ring_rows * pitch : (ready % ring_rows + 1) * pitch]
                    repeat_edges(held, channels, low - plan.left, high - plan.left,
                                 begin - plan.left, end - plan.left)  # fmt: skip
                    ready += 1
                sum_pair(ring, down, plan, y, channels, profile, weights, sums, quads,
                         at[: tile.lines], weight[: tile.lines], lit)  # fmt: skip
            pixels_across(tile, first_samples[:wide], lines[:wide])
            row_part = Part(0, wide * channels, light.size)
            frame_part = Part(left * frame_pixel, wide * frame_pixel, frame_row)
            for y in range(tall):
                turn_row(lit, first_samples[:wide], y * tile.below * QUAD, line_weights,
                         lines[:wide], y * tile.line_below * REACH * QUAD, channels,
                         light)  # fmt: skip
                write(light, row_part, frame, top + y, top + y + 1, encoding, lowest, shift,
                      target, frame_part)  # fmt: skip
