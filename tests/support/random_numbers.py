"""Numbers of no pattern, for the compiled loops and their plain twins."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["numbers"]


def numbers(seed: int, count: int = 64) -> NDArray[np.float32]:
    """So many of them, the same for each seed."""
    return np.random.default_rng(seed).standard_normal(count).astype(np.float32)
