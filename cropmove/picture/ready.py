"""The compiled loops made ready before they are needed, so that the wait can be announced."""

from __future__ import annotations

import sys
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from types import ModuleType

import numba
import numpy as np
from llvmlite.binding import get_host_cpu_name

from cropmove.picture import compiling, lanes, reading, straight, sums, turning, writing
from cropmove.picture.kernels import DEFAULT_KERNEL, KERNELS
from cropmove.picture.resample import resample
from cropmove.picture.roll import resample_rolled

__all__ = ["is_compiled", "kept_in", "note_compiled", "warm_up"]

_ENGINE = (compiling, lanes, reading, straight, sums, turning, writing)


def warm_up(*, rolled: bool = True) -> None:
    """Compile all that resampling needs, or load it from numba's cache on disk.

    The cache stands beside the package, or in the user's cache folder where that cannot be
    written to; numba sees to it that a changed source or another processor compiles afresh. Where
    neither can, all is compiled in each run.

    Parameters
    ----------
    rolled
        Whether to load what only rolled frames need. It is compiled in any case.
    """
    still = np.zeros((8, 8, 3), dtype=np.uint8)
    kernel = KERNELS[DEFAULT_KERNEL]
    resample(still, (0.0, 0.0, 8.0, 8.0), (4, 4), kernel=kernel)
    if rolled or not is_compiled():
        resample_rolled(still, (4.0, 4.0), 4.0, 1.0, (4, 4), kernel=kernel)
    note_compiled()


def is_compiled(*modules: ModuleType, kind: str = "") -> bool:
    """Whether `note_compiled` was told so before, of this source on this processor.

    It only looks for a file, so that a first compile can be announced before it is begun.

    Parameters
    ----------
    modules
        Whose loops are meant; the picture engine's if none are given.
    kind
        Of the pictures they are compiled for, where they are compiled for each anew.
    """
    return compiling.KEPT and _marker(modules or _ENGINE, kind).exists()


def kept_in() -> Path:
    """The folder where numba keeps what is compiled, if it does at all; see `compiling.KEPT`."""
    return Path(straight.resample_rows.stats.cache_path or "")


def note_compiled(*modules: ModuleType, kind: str = "") -> None:
    """Note for later runs that loops have been compiled; see `is_compiled`."""
    if compiling.KEPT:
        with suppress(OSError):
            _marker(modules or _ENGINE, kind).touch()


def _marker(modules: tuple[ModuleType, ...], kind: str) -> Path:
    """The file beside numba's cache that says that it is complete."""
    fingerprint = sha256()
    for module in modules:
        fingerprint.update(Path(str(module.__file__)).read_bytes())
    about = (numba.__version__, sys.version, get_host_cpu_name(), kind)
    fingerprint.update(repr(about).encode())
    return kept_in() / f"cropmove-compiled-{fingerprint.hexdigest()[:16]}"
