"""What the machine offers."""

from __future__ import annotations

import os

__all__ = ["processors"]


def processors() -> int:
    """How many processors this process may use.

    Examples
    --------
    >>> processors() >= 1
    True
    """
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
