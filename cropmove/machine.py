"""What the machine offers."""

from __future__ import annotations

import os
from pathlib import Path

__all__ = ["cache_folder", "processors"]


def cache_folder() -> Path:
    """The user's own folder for what can be made again; it need not be there yet."""
    from platformdirs import user_cache_path

    return user_cache_path("cropmove", appauthor=False)


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
