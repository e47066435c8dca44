"""``cropmove check``: what would go wrong."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from cropmove.cli.options import SeveralShots
from cropmove.cli.shown import error_text, explanation, findings_text, headline
from cropmove.errors import CropmoveError

__all__ = ["check"]


def check(
    shots: SeveralShots = [],  # noqa: B006 - typer copies it
    as_json: Annotated[bool, typer.Option("--json", help="Print the findings as JSON.")] = False,
    explain: Annotated[
        str, typer.Option(metavar="ID", help="Say why a check is made, and who says so.")
    ] = "",
) -> None:
    """Say what would go wrong with a shot, in which frames, and what to change.

    Ends with 0 where there is nothing or nothing grave, 1 for a fault in the move, 2 for input
    that cannot be used.
    """
    from cropmove import jobs

    if explain:
        typer.echo(explanation(explain))
        return
    told, worst = [], 0
    for path in jobs.several(shots):
        try:
            shot = jobs.load(path)
            findings = jobs.check(shot)
        except CropmoveError as error:
            worst = max(worst, error.exit_code)
            typer.echo(error_text(error), err=True)
            continue
        worst = max(worst, 1 if jobs.faults(findings) else 0)
        told.append({"shot": str(path), "findings": [finding.to_json() for finding in findings]})
        if not as_json:
            typer.echo(headline(str(path), shot))
            typer.echo(findings_text(findings))
    if as_json:
        typer.echo(json.dumps(told, indent=2))
    raise typer.Exit(worst)
