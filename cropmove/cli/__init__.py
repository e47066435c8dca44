"""The command line: one file a command, each thin. This is the one place where errors end."""

from __future__ import annotations

import errno
import logging
import os
import sys
from contextlib import suppress
from io import TextIOWrapper
from pathlib import Path
from typing import TextIO

import typer

from cropmove.cli import check, marks, new, preview, render, sheet, table
from cropmove.cli.options import as_option
from cropmove.cli.plain import PlainCommand
from cropmove.cli.shown import error_text, version
from cropmove.errors import CropmoveError, complain, naming
from cropmove.files import speaking_plainly

__all__ = ["app", "main"]

app = typer.Typer(
    name="cropmove",
    help="""A virtual camera for photographed frames: plan, check, look, render, mark.

    Begin with, say: cropmove new harbour --push-in 1.5

    The options of a command: cropmove new --help
    """,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.callback()
def _options(
    context: typer.Context,
    _version: bool = typer.Option(
        False, "--version", callback=version, is_eager=True, help="Say the version and stop."
    ),
) -> None:
    # Whatever is refused from here on names options.
    context.with_resource(naming(as_option))


app.command("new", cls=PlainCommand)(new.new)
app.command("check", cls=PlainCommand)(check.check)
app.command("table", cls=PlainCommand)(table.table)
app.command("sheet", cls=PlainCommand)(sheet.sheet)
app.command("preview", cls=PlainCommand)(preview.preview)
app.command("render", cls=PlainCommand)(render.render)
app.command("marks", cls=PlainCommand)(marks.marks)


def main() -> None:
    """Run the command line; what cropmove refuses is told in plain words, without a traceback.

    Exit codes: 0 done, 1 a fault in the move, 2 input that cannot be used, 130 stopped by the user.
    """
    # Where it can keep nothing the drawing library says so, at length; the sheets are the same.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    # Of a damaged still it says a line for each of its numbers; we say one error.
    logging.getLogger("tifffile").setLevel(logging.CRITICAL)
    sys.stdout, sys.stderr = _bearing_all(sys.stdout), _bearing_all(sys.stderr)
    try:
        _run()
    except CropmoveError as error:
        with suppress(OSError):  # it may be a full disk that takes what is said there
            typer.echo(error_text(error), err=True)
        sys.exit(error.exit_code)
    except SystemExit as end:
        # Whoever read our output has stopped reading: nothing is wrong, whatever typer makes of it.
        if isinstance(end.__context__, BrokenPipeError):
            sys.exit(0)
        raise


def _bearing_all(stream: TextIO | None) -> TextIO:
    """A stream that takes all that is said.

    One that is closed swallows it; a letter that it has no code for is told by its number.
    """
    if stream is None:
        return open(os.devnull, "w", encoding="utf-8")
    if isinstance(stream, TextIOWrapper) and stream.errors == "strict":
        stream.reconfigure(errors="backslashreplace")
    return stream


def _run() -> None:
    try:
        app(color=False if _is_plain() else None)
    except OSError as error:
        if _is_adrift():
            rule = "the folder that this is done from is not there any more"
            remedy = "change to another folder, or to the same one again"
            raise complain("current folder", "", rule, remedy) from error
        if error.errno not in _DISK or error.filename is not None:
            raise
        sys.stdout = _bearing_all(None)  # what it holds is not tried again at the end
        with speaking_plainly(Path("standard output")):
            raise


_DISK = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
"""What a disk says of output that is sent into a file."""


def _is_adrift() -> bool:
    """Whether the current folder has been taken away."""
    try:
        os.getcwd()
    except OSError:
        return True
    return False


def _is_plain() -> bool:
    """Whether the user wants no colours (https://no-color.org), or the terminal knows none."""
    return bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
