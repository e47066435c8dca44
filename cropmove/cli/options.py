"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["OneShot", "SeveralShots", "as_option"]

OneShot = Annotated[Path, typer.Argument(metavar="SHOT", help="A shot file (NAME.toml).")]
SeveralShots = Annotated[list[Path], typer.Argument(metavar="SHOT", help="One shot file or more.")]

_OWN = {
    "end": "to",
    "listed": "list",
    "on_ones": "ones",
    "points": "point",
    "rigs": "rig",
    "start": "from",
}
"""Parameters whose options have names of their own."""


def as_option(name: str, value: object = None) -> str:
    """A parameter as the option that gives it.

    Examples
    --------
    >>> as_option("push_in", 2), as_option("overwrite", True), as_option("out", ...)
    ('--push-in 2', '--overwrite', '--out')
    """
    option = f"--{_OWN.get(name, name).replace('_', '-')}"
    return option if value is None or value is True or value is ... else f"{option} {value}"
