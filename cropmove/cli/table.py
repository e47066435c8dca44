"""``cropmove table``: the course as CSV."""

from __future__ import annotations

import typer

from cropmove.cli.options import OneShot

__all__ = ["table"]


def table(shot: OneShot) -> None:
    """Print the course of a shot as CSV, a row a frame.

    Such as: cropmove table harbour.toml > harbour.csv
    """
    from cropmove import jobs

    typer.echo(jobs.table(jobs.load(shot)), nl=False)
