"""The command line: one file a command, each thin. This is the one place where errors end."""

from __future__ import annotations

import sys

import typer

from cropmove.cli import check, marks, new, preview, render, sheet, table
from cropmove.cli.shown import error_text, version
from cropmove.errors import CropmoveError

__all__ = ["app", "main"]

app = typer.Typer(
    name="cropmove",
    help="A virtual camera for photographed frames: plan, check, render, mark.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.callback()
def _options(
    _version: bool = typer.Option(
        False, "--version", callback=version, is_eager=True, help="Say the version and stop."
    ),
) -> None:
    pass


app.command("new")(new.new)
app.command("check")(check.check)
app.command("table")(table.table)
app.command("sheet")(sheet.sheet)
app.command("preview")(preview.preview)
app.command("render")(render.render)
app.command("marks")(marks.marks)


def main() -> None:
    """Run the command line; what cropmove refuses is told in plain words, without a traceback.

    Exit codes: 0 done, 1 a fault in the move, 2 input that cannot be used, 130 stopped by the user.
    """
    try:
        app()
    except CropmoveError as error:
        typer.echo(error_text(error), err=True)
        sys.exit(error.exit_code)
    except SystemExit as end:
        # Whoever read our output has stopped reading: nothing is wrong, whatever typer makes of it.
        if isinstance(end.__context__, BrokenPipeError):
            sys.exit(0)
        raise
