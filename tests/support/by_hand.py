"""Things moved by hand, in a few words, for the tests of what is worked out from them."""

from __future__ import annotations

from typing import Any

import numpy as np

from cropmove.geometry import Size
from cropmove.move.course import Move
from cropmove.move.ease import ease_named
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.rig.motion import motion_named
from cropmove.rig.optics import Lens
from cropmove.rig.rig import Rig
from cropmove.rig.scale import Scale
from cropmove.rig.timing import Timing
from cropmove.rig.twin import View
from cropmove.rig.working import Table, work_out

HD = Size(1920, 1080)
STILL = Size(6000, 4000)
_OF_SCALE = ("radius", "thread", "parts", "division", "inches")


def a_rig(name: str, moves: str, **words: Any) -> Rig:
    motion = motion_named(moves)
    scale = {word: words.pop(word) for word in _OF_SCALE if word in words}
    if isinstance(words.get("ease"), str):
        words["ease"] = ease_named(words["ease"])
    return Rig(name=name, motion=motion, scale=Scale(angular=motion.angular, **scale), **words)


def a_table(*rigs: Rig, frames: int = 49, on: int = 1, **lens: Any) -> Table:
    """Rigs alone, behind a lens where its words are given, on stills of 6000 x 4000."""
    view = View(lens=Lens(**lens), still=STILL) if lens else None
    return work_out(rigs, Timing(frames=frames, on=on), view=view)


def a_twin(move: Move, *rigs: Rig, lens: Lens, on: int = 1, still: Size = STILL) -> Table:
    """Rigs beside a digital move."""
    frames = move.keys[-1].frame
    timing = Timing(frames=frames, on=on, legs=move.legs)
    return work_out(rigs, timing, view=View(lens=lens, still=still), framings=move.at)


def a_move(*rows: tuple[float, ...], steps: int = 48, **ease: Any) -> Move:
    """A digital move through framings (x, y, width, roll), so many steps from one to the next."""
    if isinstance(ease.get("ease"), str):
        ease["ease"] = ease_named(ease["ease"])
    keys = [
        Key(
            frame=1 + n * steps,
            framing=Framing.from_row(np.array([*row, 0.0][:4])),
            **(ease if n else {}),
        )
        for n, row in enumerate(rows)
    ]
    return Move(tuple(keys), HD)
