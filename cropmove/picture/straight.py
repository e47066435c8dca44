"""The compiled loops of a straight frame: still rows in, frame rows out, linear light in between.

A frame is made in stripes of columns narrow enough for a processor's cache. Down a stripe each
still row is turned to linear light once and kept in a ring of rows until no frame row needs it.
Eight frame rows at a time are summed from the ring and stood upright, so that a vector holds one
number of each; then they are summed across, laid down again and encoded straight into the frame.
Nothing the size of a picture is ever held in floating point.
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
    most_rows,
    rows_for,
    sum_across,
    sum_down,
    transpose,
)
from cropmove.picture.writing import write

__all__ = ["resample_rows", "taps"]

MADE_WITH = "63df84b862e55895"
"""See `cropmove.picture.compiling`."""

ROOM = 1 << 16
"""Numbers that are at work in a stripe, about: they fit a second-level cache."""


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
