"""The compiled loops of a rolled frame.

The kernel lies along the still's own rows and columns, while the frame's columns run aslant
through them. So the still is summed down first, to rows that lie `DENSER` times as close as the
pixels along a column of the frame; then across, exactly where each such column crosses each such
row; and what a frame pixel shows is interpolated along its own column. Where the roll is nearer
to a quarter than to none, the rows of the frame take the place of its columns: *lines* is the
word for either here.

All this is done in tiles, so that what has been summed across is still in the cache when it is
interpolated. As in a straight frame eight rows are summed at a time, every other one, so that a
vector holds one number of each; and a row of light is a vector's place from its first to its last
step. Where a line crosses eight such rows it has moved sideways from one to the next, always by as
much: each pair of them is summed as many whole still pixels further aside, and the weights for all
eight, with what is left of their distances, are tabulated together.

What a line has of a channel stands in two runs, of its even rows and of its odd ones. The pixels
of a line are two rows apart, so that eight neighbours are eight numbers on in each.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import HALF_PIXEL
from cropmove.picture.compiling import HALF, ZERO, Part, compiled, inlined, inner, row_of
from cropmove.picture.lanes import WIDTH, item, load, multiply, multiply_add, splat, store
from cropmove.picture.reading import read
from cropmove.picture.sums import (
    BLOCK,
    PIECE,
    TOGETHER,
    most_rows,
    rows_for,
    sum_down,
    transpose,
)
from cropmove.picture.writing import write

MADE_WITH = "5561d308981567c6"
"""See `cropmove.picture.compiling`."""

DENSER = 2
"""Rows for each frame pixel along a line."""

REACH = 8
"""Rows that a frame pixel is interpolated from."""

PLACES = 256
"""Places between two rows that the weights for that are tabulated for."""

BAND = DENSER * TOGETHER
"""Rows that are summed before the next rows of the still are read."""

WIDE, TALL = 240, 216
"""Frame pixels across and down a tile. Larger ones sum less of the still twice, smaller ones fit a
nearer cache: of ten sizes tried this took the least time, and whole ones make an HD frame."""


class Profile(NamedTuple):
    """The kernel across eight rows, tabulated for all places between two still pixels."""

    weights: NDArray[np.float32]
    """For each place, and each of so many still pixels, the weights of the eight rows."""
    places: int
    taps: int
    """So many still pixels."""
    span: int
    """From the first tap of any row to the last of any, where they lie in the still."""
    reach: float
    """How far the kernel reaches to either side, in still pixels."""
    leftmost: float
    """How far from the first of eight rows that row begins whose taps begin first; 0 or less."""
    asides: NDArray[np.int64]
    """How many still pixels further right each pair of rows is taken."""


class Tile(NamedTuple):
    """Where the lines of a tile lie in the still, and which of the frame's pixels they are.

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
    pixels: int
    """Of each line."""
    upright: bool
    """Whether lines are the frame's columns; else they are its rows."""
    line: int
    """Which line is the frame's first column, or row."""
    next_line: int
    backwards: bool
    """Whether the pixels of a line run against those of the frame."""


class Runs(NamedTuple):
    """How the rows of a line stand in the memory of a tile."""

    length: int
    """Of a run: the even or the odd rows of one channel."""
    pitch: int
    """From a line to the next."""
    firsts: NDArray[np.int64]
    """For each line, where the even rows of its first channel would begin with the topmost."""


class Plan(NamedTuple):
    """What is to be summed for a tile, its rows being counted from the topmost one on."""

    skipped: int
    """Rows of the whole frame above it."""
    bands: int
    ends: NDArray[np.int64]
    """For each band the first line that crosses it, and one past the last."""
    columns: NDArray[np.int64]
    """For each band the first still column that counts, and one past the last."""
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


@inner
def laid(first, right, below, left, top, wide, tall):
    """The `Tile` of so many frame pixels across and down from one pixel on."""
    x = first[0] + left * right[0] + top * below[0]
    y = first[1] + left * right[1] + top * below[1]
    upright = abs(below[1]) >= abs(right[1])
    beside, along, lines, pixels = right, below, wide, tall
    if not upright:
        beside, along, lines, pixels = below, right, tall, wide
    line, next_line, backwards = 0, 1, False
    if beside[1] < 0:
        x, y = x + (lines - 1) * beside[0], y + (lines - 1) * beside[1]
        beside, line, next_line = (-beside[0], -beside[1]), lines - 1, -1
    if along[1] < 0:
        x, y = x + (pixels - 1) * along[0], y + (pixels - 1) * along[1]
        along, backwards = (-along[0], -along[1]), True
    return Tile(x, y, beside, along, lines, pixels, upright, line, next_line, backwards)


# From the still to the lines. ----------------------------------------------------------------


@inner
def first_rows(tile, between, begins, line_weights):
    """The topmost row that crosses a tile, counted from the top of the still.

    The first row of each line, counted from that one, and the weights of its pixels' rows are put
    into `begins` and `line_weights`. Rows have the same places in all tiles.
    """
    pitch = tile.along[1] / DENSER
    place, before = tile.y / pitch, REACH // 2 - 1
    topmost = int(np.floor(place)) - before
    for i in range(tile.lines):
        here = place - topmost + i * tile.beside[1] / pitch
        row = int(here)
        begins[i] = row - before
        at = int((here - row) * PLACES + HALF_PIXEL) * REACH
        for t in range(REACH):
            line_weights[i * REACH + t] = between[at + t]
    return topmost


@inner
def rows_of(tile):
    """Rows that a line needs."""
    return DENSER * (tile.pixels - 1) + REACH


@inner
def crossing(begins, used, ends):
    """For each band the first line that crosses it, and one past the last."""
    first = last = 0
    for band in range(len(ends)):
        while last < begins.size and begins[last] < (band + 1) * BAND:
            last += 1
        while first < begins.size and begins[first] + used <= band * BAND:
            first += 1
        ends[band, 0], ends[band, 1] = first, last


@inner
def stretches(ends, begun, slope, step, count, available, columns):
    """For each band the still columns that the lines crossing it need, and one past them.

    Columns outside the still are its edge repeated; more of them than a kernel covers are no use.
    What all need together comes back.
    """
    leftmost, rightmost = available - 1, 1
    for band in range(len(ends)):
        least, most = np.inf, -np.inf
        for row in (band * BAND, (band + 1) * BAND - 1):
            for line in (ends[band, 0], ends[band, 1] - 1):
                place = begun + row * slope + line * step
                least, most = min(least, place), max(most, place)
        low = int(min(max(np.floor(least), -count - 1), available + 1))
        high = int(min(max(np.ceil(most) + count + 2, low + count + 2),
                       available + count + 3))  # fmt: skip
        columns[band, 0], columns[band, 1] = low, high
        leftmost, rightmost = min(leftmost, low), max(rightmost, high)
    return leftmost, rightmost


@inner
def needed_of_rows(down, skipped, columns, spans):
    """For each still row, from the first that counts on, the columns any sum needs of it."""
    for row in range(len(spans)):
        spans[row, 0], spans[row, 1] = columns[0, 1], columns[0, 0]
    for band in range(len(columns)):
        y = skipped + band * BAND
        first, needed = down.firsts[y] - down.firsts[skipped], rows_for(down, y, BAND)
        for row in range(first, first + needed):
            spans[row, 0] = min(spans[row, 0], columns[band, 0])
            spans[row, 1] = max(spans[row, 1], columns[band, 1])


@inner
def planned(available, down, highest, tile, topmost, begins, profile):
    """The `Plan` of a tile."""
    skipped, used = topmost - highest, rows_of(tile)
    bands = (begins[tile.lines - 1] + used + BAND - 1) // BAND
    ends, columns = np.empty((bands, 2), np.int64), np.empty((bands, 2), np.int64)
    crossing(begins[: tile.lines], used, ends)
    slope = tile.along[0] / DENSER
    step = tile.beside[0] - tile.along[0] * tile.beside[1] / tile.along[1]
    begun = tile.x - HALF_PIXEL + slope * (topmost - tile.y / tile.along[1] * DENSER)
    begun -= profile.reach - 1
    left, right = stretches(ends, begun, slope, step, profile.span, available, columns)
    past = down.firsts[skipped + bands * BAND - 1] + down.weights.shape[1]
    spans = np.empty((past - down.firsts[skipped], 2), np.int64)
    needed_of_rows(down, skipped, columns, spans)
    offsets = np.empty(tile.lines, np.float32)
    for i in range(tile.lines):
        offsets[i] = i * step
    return Plan(skipped, bands, ends, columns, spans, left, right, begun, slope, offsets)


@inner
def runs_of(tile, begins, channels):
    """The `Runs` of a tile's lines: each line has room for the bands that it crosses."""
    length = ((rows_of(tile) + BAND - 2) // BAND + 1) * TOGETHER
    pitch = DENSER * channels * length
    firsts = np.empty(tile.lines, np.int64)
    for i in range(tile.lines):
        # A vector may begin before the first line.
        firsts[i] = TOGETHER + i * pitch - begins[i] // BAND * TOGETHER
    return Runs(length, pitch, firsts)


@inner
def repeat_edges(light, channels, begin, end, left, right):
    """Pixels `begin` to `left` of a row like pixel `left`, and `right` to `end` like the last."""
    for x in range(begin * channels, left * channels):
        light[x] = light[left * channels + x % channels]
    for x in range(right * channels, end * channels):
        light[x] = light[(right - 1) * channels + x % channels]


@inlined
def read_rows(source, still, plan, begin, end, first, decoding, ring, pitch):
    """Rows of the still into the ring, as far across as is needed, from `plan.left` on.

    Which is needed of each stands in the plan, counted from row `first` on.
    """
    channels = still.channels
    pixel, row = still.depth // 8 * channels, still.bytes.shape[1]
    available = row // pixel
    for y in range(begin, end):
        low, high = plan.spans[y - first, 0], plan.spans[y - first, 1]
        left = min(max(low, 0), available - 1)
        right = max(min(high, available), left + 1)
        part = Part(left * pixel, (right - left) * pixel, row)
        into = Part((left - plan.left) * channels, (right - left) * channels, pitch)
        read(source, still, part, y, y + 1, decoding, ring, into)
        whole = row_of(ring, Part(0, pitch, pitch), y)
        repeat_edges(whole, channels, low - plan.left, high - plan.left,
                     left - plan.left, right - plan.left)  # fmt: skip


@inlined
def place_taps(begin, offsets, limit, places, each, pixel, at, weight):
    """Where the taps of the lines begin in eight rows, and where the weights of each do."""
    places, begin, highest = np.float32(places), np.float32(begin), np.float32(limit)
    each, pixel = np.int32(each), np.int32(pixel)
    for i in range(offsets.size):
        place = min(max(begin + offsets[i], ZERO), highest)
        whole = np.int32(place)
        at[i] = whole * pixel
        weight[i] = np.int32((place - np.float32(whole)) * places + HALF) * each


@inlined
def sum_aslant(upright, channels, at, weights, weight, taps, first, last, firsts, to, run, lit):
    """Weighted sums across eight rows where lines cross them, into the runs of those rows."""
    pixel = channels * WIDTH
    for i in range(first, last):
        begin, by, place = item(at, i), item(weight, i), item(firsts, i) + to
        if channels == 3:
            red = green = blue = splat(ZERO)
            for t in range(taps):
                among = load(weights, by + t * WIDTH)
                red = multiply_add(load(upright, begin + t * pixel), among, red)
                green = multiply_add(load(upright, begin + t * pixel + WIDTH), among, green)
                blue = multiply_add(load(upright, begin + t * pixel + 2 * WIDTH), among, blue)
            store(lit, place, red)
            store(lit, place + run, green)
            store(lit, place + 2 * run, blue)
        else:
            for c in range(channels):
                total = splat(ZERO)
                for t in range(taps):
                    among = load(weights, by + t * WIDTH)
                    total = multiply_add(load(upright, begin + t * pixel + c * WIDTH), among, total)
                store(lit, place + c * run, total)


# From the lines to the frame. ----------------------------------------------------------------


@inlined
def between_rows(lit, runs, one, other, channels, weights, by, to, apart, out):
    """Eight pixels of a line from the runs of the rows around them, channels `apart` in `out`."""
    w0, w1, w2, w3, w4, w5, w6, w7 = (
        splat(item(weights, by)), splat(item(weights, by + 1)), splat(item(weights, by + 2)),
        splat(item(weights, by + 3)), splat(item(weights, by + 4)), splat(item(weights, by + 5)),
        splat(item(weights, by + 6)), splat(item(weights, by + 7)),
    )  # fmt: skip
    for c in range(channels):
        a, b = one + c * runs.length, other + c * runs.length
        even = multiply_add(load(lit, a), w0, multiply(load(lit, a + 1), w2))
        even = multiply_add(load(lit, a + 2), w4, multiply_add(load(lit, a + 3), w6, even))
        total = multiply_add(load(lit, b), w1, multiply_add(load(lit, b + 1), w3, even))
        total = multiply_add(load(lit, b + 2), w5, multiply_add(load(lit, b + 3), w7, total))
        store(out, to + c * apart, total)


@inlined
def runs_at(runs, begins, channels, line, n):
    """Where the first channel's rows of pixel n of a line stand, every other from the first on."""
    row, other = begins[line], channels * runs.length
    first, second = runs.firsts[line] + row // 2 + n, runs.firsts[line] + (row + 1) // 2 + n
    if row % 2:
        return first + other, second
    return first, second + other


@inlined
def turn_columns(lit, tile, runs, begins, weights, channels, y, light):
    """Eight rows of a tile from row y on whose lines are columns, all eight of a place together.

    Where the pixels of a line run backwards, so do the eight.
    """
    n = tile.pixels - TOGETHER - y if tile.backwards else y
    for x in range(tile.lines):
        line = tile.line + x * tile.next_line
        one, other = runs_at(runs, begins, channels, line, n)
        between_rows(lit, runs, one, other, channels, weights, line * REACH,
                     x * channels * WIDTH, WIDTH, light)  # fmt: skip


@inlined
def turn_lines(lit, tile, runs, begins, weights, channels, y, block, light):
    """Eight rows of a tile from row y on whose lines are rows, all eight of a place together."""
    for x in range(0, tile.pixels, WIDTH):
        n, to, further = x, x * channels * WIDTH, channels * WIDTH
        if tile.backwards:
            n, to, further = tile.pixels - WIDTH - x, (x + WIDTH - 1) * channels * WIDTH, -further
        for side in range(TOGETHER):
            line = tile.line + min(y + side, tile.lines - 1) * tile.next_line
            one, other = runs_at(runs, begins, channels, line, n)
            between_rows(lit, runs, one, other, channels, weights, line * REACH,
                         side * WIDTH, WIDTH * WIDTH, block)  # fmt: skip
        for c in range(channels):
            transpose(block, c * WIDTH * WIDTH, WIDTH, light, to + c * WIDTH, further)


@compiled
def turn(still, decoding, first, right, below, profile, down, highest, between,
         encoding, lowest, shift, frame):  # fmt: skip
    """Fill `frame` from `still`, both `Rows`.

    Frame pixel (x, y) is centred at ``first + x·right + y·below`` in the still. `between` has eight
    weights for each of the places between two rows. `down` are the taps of all rows that a tile may
    need, of which `highest` is the topmost, counted from the still's top.

    As `straight.resample_rows` is, this is one function because whatever reads or writes is long to
    compile, and is compiled once more with each caller.
    """
    channels, most_lines = still.channels, max(WIDE, TALL)
    still_pixel, frame_pixel = still.depth // 8 * channels, frame.depth // 8 * channels
    row, frame_row = still.bytes.shape[1], frame.bytes.shape[1]
    available, height, width = row // still_pixel, len(frame.bytes), frame_row // frame_pixel
    source, target = still.bytes.reshape(-1), frame.bytes.reshape(-1)
    begins, line_weights = np.empty(most_lines, np.int64), np.empty(most_lines * REACH, np.float32)
    at, weight = np.empty(most_lines, np.int32), np.empty(most_lines, np.int32)
    sums, asides = np.empty(TOGETHER * PIECE, np.float32), profile.asides * channels
    block = np.empty(channels * WIDTH * WIDTH, np.float32)
    shown = (WIDE + WIDTH) * channels
    light, rows = np.empty(shown * WIDTH, np.float32), np.empty(TOGETHER * shown, np.float32)
    lit = np.empty(0, np.float32)
    for top in range(0, height, TALL):
        for left in range(0, width, WIDE):
            wide, tall = min(WIDE, width - left), min(TALL, height - top)
            tile = laid(first, right, below, left, top, wide, tall)
            topmost = first_rows(tile, between, begins, line_weights)
            plan = planned(available, down, highest, tile, topmost, begins, profile)
            runs = runs_of(tile, begins, channels)
            if lit.size < runs.pitch * tile.lines + 3 * TOGETHER:
                lit = np.empty(runs.pitch * tile.lines + 3 * TOGETHER, np.float32)
            past = plan.skipped + plan.bands * BAND
            most = most_rows(down, plan.skipped, past, BAND)
            pitch = (plan.right - plan.left) * channels + BLOCK
            ring, starts = np.empty(most * pitch, np.float32), np.empty(most, np.int64)
            weights = np.empty(TOGETHER * most, np.float32)
            upright = np.empty((pitch + BLOCK) * TOGETHER, np.float32)
            first_row = ready = down.firsts[plan.skipped]
            for band in range(plan.bands):
                y = plan.skipped + band * BAND
                listed, needed = down.firsts[y], rows_for(down, y, BAND)
                read_rows(source, still, plan, ready, listed + needed, first_row, decoding, ring,
                          pitch)  # fmt: skip
                ready = max(ready, listed + needed)
                low, high = plan.columns[band, 0], plan.columns[band, 1]
                for t in range(needed):
                    starts[t] = (listed + t) % most * pitch + (low - plan.left) * channels
                length = (high - low - profile.span + profile.taps) * channels
                length = (length + BLOCK - 1) // BLOCK * BLOCK
                for side in range(DENSER):
                    sum_down(ring, starts, down, y, y + side, DENSER, asides, weights, length, sums,
                             upright)  # fmt: skip
                    begun = plan.begun + (band * BAND + side) * plan.slope + profile.leftmost - low
                    place_taps(begun, plan.offsets, high - low - profile.span, profile.places,
                               profile.taps * WIDTH, channels * WIDTH, at, weight)  # fmt: skip
                    sum_aslant(upright, channels, at, profile.weights, weight, profile.taps,
                               plan.ends[band, 0], plan.ends[band, 1], runs.firsts,
                               side * channels * runs.length + band * TOGETHER, runs.length,
                               lit)  # fmt: skip
            into = Part(left * frame_pixel, wide * frame_pixel, frame_row)
            for y in range(0, tall, TOGETHER):
                at_row, further = 0, shown
                if tile.upright:
                    turn_columns(lit, tile, runs, begins, line_weights, channels, y, light)
                    if tile.backwards:
                        at_row, further = (TOGETHER - 1) * shown, -shown
                else:
                    turn_lines(lit, tile, runs, begins, line_weights, channels, y, block, light)
                for x in range(0, wide * channels, WIDTH):
                    transpose(light, x * WIDTH, WIDTH, rows, at_row + x, further)
                write(rows, Part(0, wide * channels, shown), frame, top + y,
                      top + min(y + TOGETHER, tall), encoding, lowest, shift, target,
                      into)  # fmt: skip
