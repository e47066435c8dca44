"""Memory that a worker uses again for frame after frame.

Fresh memory is slow to come by: the system clears it page by page, and workers wait for each
other while it does. For a frame of two million pixels that can cost as much as filling it.
"""

from __future__ import annotations

from math import prod
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

__all__ = ["Scratch"]


class Scratch:
    """Arrays kept under names, for one worker.

    Examples
    --------
    >>> scratch = Scratch()
    >>> frame = scratch.array("frame", (4, 6, 3), np.uint8)
    >>> smaller = scratch.array("frame", (2, 6, 3), np.uint16)
    >>> smaller.shape, np.shares_memory(frame, smaller)
    ((2, 6, 3), True)
    """

    def __init__(self) -> None:
        self._kept: dict[str, NDArray[np.uint8]] = {}

    def array(self, name: str, shape: tuple[int, ...], dtype: DTypeLike) -> NDArray[Any]:
        """An array of any content, good until the next is asked for under the same name."""
        size = prod(shape) * np.dtype(dtype).itemsize
        kept = self._kept.get(name)
        if kept is None or kept.size < size:
            kept = self._kept[name] = np.empty(size, np.uint8)
        return kept[:size].view(dtype).reshape(shape)
