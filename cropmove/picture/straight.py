"""The compiled loops of straight frames: still rows in, frame rows out, linear light in between.

A frame is made in stripes of columns narrow enough for a processor's cache. Down a stripe each
still row is turned to linear light once and kept in a ring of rows until no frame row needs it.
Eight frame rows at a time are summed from the ring and stood upright, so that a vector holds one
number of each; then they are summed across, laid down again and encoded straight into the frame.
Nothing the size of a picture is ever held in floating point.

Frames that show nearly the same of a still are made in one pass, side by side: its rows are turned
to light once for all of them, which is a third of the work.
"""

from __future__ import annotations

import numpy as np

from cropmove.geometry import HALF_PIXEL
from cropmove.picture.compiling import Part, Taps, compiled, inner
from cropmove.picture.lanes import WIDTH
from cropmove.picture.reading import read
from cropmove.picture.sums import (
    BLOCK,
    PIECE,
    TOGETHER,
    rows_for,
    sum_across,
    sum_down,
    transpose,
)
from cropmove.picture.writing import write

__all__ = ["resample_rows", "taps"]

MADE_WITH = "5561d308981567c6"
"""See `cropmove.picture.compiling`."""

ROOM = 1 << 16
"""Numbers that are at work in a stripe, about: they fit a second-level cache."""


@compiled
def taps(start, step, count, available, width, samples, per_unit, radius, stretch):
    """The `Taps` of `count` frame pixels, of which pixel i is centred at start + (i + ½)·step.

    `samples` is the kernel at every 1/per_unit of a unit, and a unit is `stretch` still pixels;
    each pixel has `width` taps, which is enough for all that it reaches. Weights add up to 1; what
    falls outside the still counts for its edge pixel.
    """
    reach = radius * stretch
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


@inner
def own_taps(taps, frame):
    """One frame's own of the `Taps` of several."""
    return Taps(taps.firsts[frame], taps.weights[frame])


@inner
def span(taps, begin, end):
    """Which still pixels, from one to before another, the frames' pixels begin … end - 1 need."""
    first, last = taps.firsts[0, begin], taps.firsts[0, end - 1]
    for frame in range(1, len(taps.firsts)):
        first = min(first, taps.firsts[frame, begin])
        last = max(last, taps.firsts[frame, end - 1])
    return first, last + taps.weights.shape[2]


@inner
def longest_span(taps, count, together):
    """The most still pixels that the frames' pixels need, so many together, of `count` each."""
    longest = 0
    for begin in range(0, count, together):
        first, past = span(taps, begin, min(begin + together, count))
        longest = max(longest, past - first)
    return longest


@inner
def stripe_columns(across, width, channels, rows):
    """How many frame pixels make a stripe, where so many still rows are needed at once."""
    taps = across.weights.shape[2]
    step = max((across.firsts[0, width - 1] - across.firsts[0, 0]) / width, 1 / width)
    columns = int(ROOM / channels / (step * (rows + TOGETHER) + 2 * TOGETHER))
    # Stripes overlap by the taps: what is read twice stays a small part.
    return min(width, max(columns, int(4 * taps / step), 1))


@compiled
def resample_rows(still, decoding, across, down, encoding, lowest, shift, frames):
    """Fill `frames`, one below the other, from `still`, with each one's taps across and down.

    Pictures are `Rows`. All is in one function, since whatever is called is compiled once more
    with its caller.
    """
    channels, count = still.channels, len(across.firsts)
    still_pixel, frame_pixel = still.depth // 8 * channels, frames.depth // 8 * channels
    row, frame_row = still.bytes.shape[1], frames.bytes.shape[1]
    available, width = row // still_pixel, frame_row // frame_pixel
    height = len(frames.bytes) // count
    source, target = still.bytes.reshape(-1), frames.bytes.reshape(-1)
    most = longest_span(down, height, TOGETHER)
    columns = stripe_columns(across, width, channels, most)
    # A frame's own part of a row begins on a vector and ends with a block.
    longest = (longest_span(across, width, columns) + WIDTH) * channels + BLOCK
    pitch = (longest + BLOCK - 1) // BLOCK * BLOCK
    ring, starts = np.zeros(most * pitch, np.float32), np.empty(most, np.int64)
    weights, sums = np.empty(TOGETHER * most, np.float32), np.empty(TOGETHER * PIECE, np.float32)
    upright, asides = np.empty(pitch * TOGETHER, np.float32), np.zeros(TOGETHER // 2, np.int64)
    lit = (columns * channels + WIDTH - 1) // WIDTH * WIDTH
    light, rows = np.empty(lit * TOGETHER, np.float32), np.empty(TOGETHER * lit, np.float32)
    for begin in range(0, width, columns):
        end = min(begin + columns, width)
        left, past_column = span(across, begin, end)
        # Whole vectors are read, where the still has them.
        right = min(left + (past_column - left + WIDTH - 1) // WIDTH * WIDTH, available)
        part = Part(left * still_pixel, (right - left) * still_pixel, row)
        held = Part(0, (right - left) * channels, pitch)
        row_part = Part(0, (end - begin) * channels, lit)
        frame_part = Part(begin * frame_pixel, (end - begin) * frame_pixel, frame_row)
        ready = np.int64(0)
        for y in range(0, height, TOGETHER):
            first, past = span(down, y, min(y + TOGETHER, height))
            read(source, still, part, max(ready, first), past, decoding, ring, held)
            ready = past
            for frame in range(count):
                its_across, its_down = own_taps(across, frame), own_taps(down, frame)
                begun, ended = its_across.firsts[begin], its_across.firsts[end - 1]
                skipped = (begun - left) // WIDTH * WIDTH
                for t in range(rows_for(its_down, y, TOGETHER)):
                    starts[t] = (its_down.firsts[y] + t) % most * pitch + skipped * channels
                length = (ended + across.weights.shape[2] - left - skipped) * channels
                sum_down(ring, starts, its_down, y, y, 1, asides, weights,
                         (length + BLOCK - 1) // BLOCK * BLOCK, sums, upright)  # fmt: skip
                sum_across(upright, channels, its_across.firsts[begin:end] - (left + skipped),
                           its_across.weights[begin:end], light)  # fmt: skip
                for x in range(0, (end - begin) * channels, WIDTH):
                    transpose(light, x * WIDTH, WIDTH, rows, x, lit)
                top = frame * height
                write(rows, row_part, frames, top + y, top + min(y + TOGETHER, height), encoding,
                      lowest, shift, target, frame_part)  # fmt: skip
