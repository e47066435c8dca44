"""``cropmove check``: what would go wrong."""

from __future__ import annotations

import json
import sys
from contextlib import redirect_stdout
from pathlib import Path
from typing import Annotated

import typer

from cropmove.cli.options import SeveralShots
from cropmove.cli.shown import (
    checked_text,
    error_text,
    explanation,
    limits_text,
    total_text,
)

__all__ = ["check"]


def check(
    shots: SeveralShots = [],  # noqa: B006 - typer copies it
    stills: Annotated[
        bool, typer.Option("--stills", help="Look at the stills' pixels too: this takes longer.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the findings as JSON.")] = False,
    explain: Annotated[
        str, typer.Option(metavar="ID", help="Say why a check is made, and who says so.")
    ] = "",
    limits: Annotated[
        bool, typer.Option("--limits", help="Print every limit with its value, unit and source.")
    ] = False,
) -> None:
    """Say what would go wrong, in which frames, and what to change.

    Such as: cropmove check harbour.toml

    When the stills are in: cropmove check harbour.toml --stills

    Exit code 0 where there is no fault, 1 for a fault in the move, 2 for input
    that cannot be used.
    """
    if explain:
        typer.echo(explanation(explain))
        return
    if limits:
        typer.echo(limits_text(shots, as_json=as_json))
        return
    _check(shots, stills=stills, as_json=as_json)


def _check(shots: list[Path], *, stills: bool, as_json: bool) -> None:
    from cropmove import jobs
    from cropmove.cli.progress import Teller

    # A library that warns on standard output would spoil the findings there.
    with redirect_stdout(sys.stderr), Teller(stopped="stopped") as teller:
        results = jobs.check_batch(jobs.several(shots), stills=stills, progress=teller.looked)
    for result in results:
        if result.error:
            typer.echo(error_text(result.error) + "\n" * (len(results) > 1), err=True)
        elif not as_json:
            typer.echo(checked_text(result))
    if as_json:
        typer.echo(json.dumps([result.to_json() for result in results], indent=2))
    elif len(results) > 1:
        typer.echo(total_text(results))
    raise typer.Exit(max(result.exit_code for result in results))
