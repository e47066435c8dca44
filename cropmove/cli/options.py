"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["OneShot", "SeveralShots"]

OneShot = Annotated[Path, typer.Argument(metavar="SHOT", help="A shot file (NAME.toml).")]
SeveralShots = Annotated[list[Path], typer.Argument(metavar="SHOT", help="One shot file or more.")]
