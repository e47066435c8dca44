"""The compiled parts of a render made ready before it begins, so that the wait can be announced."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import numpy as np

from cropmove.files import speaking_plainly
from cropmove.formats import Encoding
from cropmove.picture.compiling import KEPT
from cropmove.picture.ready import is_compiled, kept_in, note_compiled, warm_up

__all__ = ["EACH_RUN", "FIRST_IN_FORMAT", "FIRST_RUN", "make_ready"]

FIRST_RUN = (
    "first run on this machine: the picture engine is compiled for its processor, "
    "half a minute or so, once"
)

FIRST_IN_FORMAT = (
    "first run on this machine in this format: what writes it is compiled, a few seconds, once"
)

EACH_RUN = (
    "the picture engine is compiled, half a minute or so, in each run: there is no folder where it "
    "can be kept; name one by NUMBA_CACHE_DIR"
)


def make_ready(
    encoding: Encoding | None = None,
    say: Callable[[str], None] | None = None,
    *,
    rolled: bool = True,
) -> None:
    """Compile what rendering needs, or load it from the disk where it was compiled before.

    Parameters
    ----------
    encoding : Encoding, optional
        What the frames will be put into, where they are delivered.
    say : callable, optional
        Called with a line to announce a compile.
    rolled : bool
        Whether any frame is rolled; what only those need takes a tenth of a second to load.

    Raises
    ------
    MachineError
        Where the disk does not take what is compiled.
    """
    modules, kind = _compiled_for(encoding) if encoding else ((), "")
    if say and not KEPT:
        say(EACH_RUN)
    elif say and not is_compiled():
        say(FIRST_RUN)
    elif say and modules and not is_compiled(*modules, kind=kind):
        say(FIRST_IN_FORMAT)
    with speaking_plainly(kept_in()):
        warm_up(rolled=rolled)
        if encoding and modules:
            _try(encoding)
            note_compiled(*modules, kind=kind)


def _compiled_for(encoding: Encoding) -> tuple[tuple[ModuleType, ...], str]:
    """The modules whose loops put pictures into a format, and what they are compiled for."""
    kind = f"{encoding.format.name} {encoding.depth}"
    if encoding.format.is_movie:
        from cropmove.rendering.encode import ycbcr

        return (ycbcr,), kind
    if encoding.format.name in ("png", "tiff"):
        from cropmove.rendering.encode import literals, rows

        return (literals, rows), kind
    return (), ""


def _try(encoding: Encoding) -> None:
    """Put a little noise into the format: it takes the way of a photograph."""
    noise = np.random.default_rng(1).integers(0, 256, (16, 16, 3)).astype(encoding.dtype)
    if encoding.format.is_movie:
        from cropmove.rendering.encode.movie import video_frame

        video_frame(noise, encoding)
    else:
        from cropmove.rendering.encode import encode

        encode(noise, encoding)
