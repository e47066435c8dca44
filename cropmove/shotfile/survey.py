"""What finds the stills that a shot file speaks of."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from cropmove.geometry import Size
from cropmove.shot import Stills

__all__ = ["Survey", "survey_of"]

Survey = Callable[[str, Size | None], Stills]
"""Finds the stills of a source; the size is what the file says they will be, if it does."""


def survey_of(folder: Path) -> Survey:
    """What finds the stills of shot files in a folder.

    Where the file says what size the stills will be, they may be missing still.
    """

    def survey(source: str, planned: Size | None) -> Stills:
        return Stills.found(source, folder, planned=planned) if source else Stills(size=planned)

    return survey
