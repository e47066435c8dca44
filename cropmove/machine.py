"""What the machine offers."""

from __future__ import annotations

import os
from pathlib import Path

from cropmove.errors import called, complain
from cropmove.geometry import counted

__all__ = ["cache_folder", "processors", "workers_for"]


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


def workers_for(asked: int | None) -> int:
    """How many frames are worked on at a time: so many as are asked for, or one a processor.

    Raises
    ------
    InputError
        Where fewer than one are asked for.
    """
    if asked is None:
        return processors()
    workers = counted(asked)
    if workers is None or workers < 1:
        raise complain(called("workers"), asked, "there is at least one", "leave it out")
    return workers
