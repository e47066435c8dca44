"""PyAV, which reads and writes movies: loaded only where a movie is, since it is an extra."""

from __future__ import annotations

from typing import Any

from cropmove.errors import Complaint, MachineError

__all__ = ["pyav"]


def pyav() -> Any:
    """The PyAV library.

    Raises
    ------
    MachineError
        Where it is not installed.
    """
    try:
        import av
    except ImportError as error:
        rule = "movies need the PyAV library, which is not installed"
        remedy = 'install it: pip install "cropmove[movie]"'
        raise MachineError(Complaint(where="movie", rule=rule, remedy=remedy)) from error
    return av
