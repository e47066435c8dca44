"""The compiled parts of a render made ready before it begins, so that the wait can be announced."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from cropmove.formats import Encoding
from cropmove.picture.ready import is_compiled, warm_up

__all__ = ["make_ready"]

FIRST_RUN = (
    "first run on this machine: the picture engine is compiled for its processor, "
    "half a minute or so, once"
)


def make_ready(encoding: Encoding, say: Callable[[str], None] | None = None) -> None:
    """Compile what rendering needs, or load it from the disk where it was compiled before.

    Parameters
    ----------
    encoding : Encoding
        What the frames will be put into.
    say : callable, optional
        Called with a line to announce a compile.
    """
    if say and not is_compiled():
        say(FIRST_RUN)
    if not encoding.format.is_movie:
        from cropmove.rendering.encode import encode

        # Noise takes the way of a photograph through the packing.
        noise = np.random.default_rng(1).integers(0, 256, (16, 16, 3))
        encode(noise.astype(encoding.dtype), encoding)
    warm_up()
