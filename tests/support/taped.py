"""Tapes put on paper and measured there, for the tests of what is drawn on them."""

from __future__ import annotations

import numpy as np
from by_hand import a_table
from printed import darkness_along, printed, strokes

from cropmove.rig.rig import Stop
from cropmove.sheets.paper import PAPERS, pdf
from cropmove.sheets.tape.pages import tape

CLOSE = 0.05
"""Millimetres by which a tick may be off its mark on paper."""
SET_IN = 3.0
"""Millimetres from the edge, where there are ticks and nothing else."""
THERE_AND_BACK = (Stop(1, 0.0), Stop(25, 130.0), Stop(49, 10.0))


def made(rig, paper="a4", frames=49, on=1, bent=None):
    marks = a_table(rig, frames=frames, on=on)[rig.name]
    pages, pieces = tape(marks, PAPERS[paper], title="quay", bent=bent)
    return marks, printed(pdf(pages, "tape")), pieces


def apart(along):
    """Ticks that stand clear of others, so that each can be measured by itself."""
    ticks = np.unique(along)
    gaps = np.diff(ticks, prepend=-np.inf, append=np.inf)
    return ticks[(gaps[1:] > 0.5) & (gaps[:-1] > 0.5)]


def on_page(piece, along, deep, radius, hand=1):
    """Where places along a tape must be on paper, by plain geometry: millimetres are millimetres.

    From the piece only where it begins is taken, or the pivot and the middle of an arc. An arc goes
    clockwise, or the other way where `hand` is -1.
    """
    along = np.asarray(along, dtype=np.float64)
    lay = piece.lay
    if radius is None:
        x = lay.left + (along - lay.start)
        return np.stack([x, np.full_like(x, lay.top + deep)], axis=-1)
    turn = hand * (along - lay.middle) / radius
    x = lay.across + (radius + deep) * np.sin(turn)
    return np.stack([x, lay.down - (radius + deep) * np.cos(turn)], axis=-1)


def measured(page, piece, radius=None, hand=1):
    """Places of ticks along a piece, in millimetres of its edge."""
    low, high = piece.covers
    at = np.arange(low + 0.05, high - 0.05, 0.005)
    return strokes(darkness_along(page, on_page(piece, at, SET_IN, radius, hand)), at)
