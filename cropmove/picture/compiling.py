"""How the inner loops are compiled, and what they hand each other.

All of them stand at module level and take whatever varies as an argument, so that numba's cache
on disk holds them and nothing is compiled twice. Rows go in and out as bytes and are seen as what
they are inside: one compilation serves every depth and number of channels.

That cache looks for changes in the file of a function only, not in those that it calls. So each
file of loops says by `MADE_WITH` which others it is compiled with, and a test compares it: a change
there shows here.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numba
import numpy as np
from numpy.typing import NDArray

ZERO, HALF, ONE = np.float32(0), np.float32(0.5), np.float32(1)


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

    Pixels are padded to a multiple of eight by repeating the last first with no weight. Those of
    several frames, equally many each, have one more axis in front.
    """

    firsts: NDArray[np.int64]
    weights: NDArray[np.float32]


class Part(NamedTuple):
    """So many numbers of each row, in an array that has the rows one after the other."""

    at: int
    length: int
    pitch: int
    """From a row to the next."""


def _finds_a_folder() -> bool:
    try:
        numba.njit(cache=True)(_finds_a_folder)
    except RuntimeError:  # what numba says of a place where it can write nowhere
        return False
    return True


KEPT = _finds_a_folder()
"""Whether what is compiled is kept for later runs: beside the package, or in the user's cache."""

_COMPILED: dict[str, Any] = {
    "cache": KEPT,
    "nogil": True,
    "error_model": "numpy",
    "fastmath": {"contract"},
    "no_cfunc_wrapper": True,
}
_INNER: dict[str, Any] = _COMPILED | {"no_cpython_wrapper": True}


def compiled(function: Any) -> Any:
    """The function compiled, to be called from Python."""
    return numba.njit(**_COMPILED)(function)


def loop(function: Any) -> Any:
    """The function compiled by numba's own rules of arithmetic, to be called from anywhere."""
    return numba.njit(nogil=True, cache=KEPT)(function)


def inner(function: Any) -> Any:
    """The function compiled, to be called by compiled ones only: from Python a call crashes.

    The door to Python that each function would get takes longer to compile than most of them.
    """
    return numba.njit(**_INNER)(function)


def inlined(function: Any) -> Any:
    """The function as a part of each compiled one that calls it: calls would cost too much."""
    return numba.njit(**_INNER, forceinline=True)(function)


@inlined
def place_of(numbers, part, y):
    """Where the part of a row begins; rows begin anew when all places are taken."""
    return y % (numbers.size // part.pitch) * part.pitch + part.at


@inner
def row_of(numbers, part, y):
    """The part of a row, where `place_of` says."""
    at = place_of(numbers, part, y)
    return numbers[at : at + part.length]
