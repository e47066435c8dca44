"""``cropmove preview``: the move as it will play."""

from __future__ import annotations

from pathlib import Path
from time import perf_counter
from typing import Annotated

import typer

from cropmove.cli.options import OneShot

__all__ = ["preview"]


def preview(
    shot: OneShot,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER", help="Its folder; NAME_sheets beside the shot file if not given."
        ),
    ] = None,
    compare: Annotated[
        str | None,
        typer.Option(
            metavar="OTHER", help="Another shot file, or fps=12, ease=smooth, ease_out=20, on=2."
        ),
    ] = None,
    still: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="A test still, where none is photographed yet."),
    ] = None,
    width: Annotated[
        int | None, typer.Option(metavar="PIXELS", help="How wide the movie is; 960 if not given.")
    ] = None,
    number: Annotated[bool, typer.Option("--number", help="Write in the frame number.")] = False,
    safe: Annotated[bool, typer.Option("--safe", help="Draw the safe areas.")] = False,
    findings: Annotated[
        bool, typer.Option("--findings", help="Write in what the checks find.")
    ] = False,
    subject: Annotated[
        bool, typer.Option("--subject", help="Draw a box where each subject is.")
    ] = False,
    every_still: Annotated[
        bool, typer.Option("--every-still", help="Show every still, however long it takes.")
    ] = False,
    keep_nothing: Annotated[
        bool,
        typer.Option("--keep-nothing", help="Read the stills anew, and keep no small ones."),
    ] = False,
    overwrite: Annotated[
        bool,
        typer.Option(
            "--overwrite", help="Write over a file not made by cropmove, or of another shot."
        ),
    ] = False,
    quiet: Annotated[
        bool, typer.Option("--quiet", help="Print nothing but the path of the movie.")
    ] = False,
) -> None:
    """Make a small, quick movie of the move, or of two versions of it at once.

    Such as: cropmove preview harbour.toml --number --safe

    Or: cropmove preview harbour.toml --compare ease=smooth
    """
    from cropmove import jobs, showing
    from cropmove.cli.progress import Teller

    teller, began = Teller(quiet=quiet, stopped="stopped: no preview is made"), perf_counter()
    clock = jobs.Clock()

    def tell(done: int, total: int) -> None:
        if done:
            teller.progress(jobs.Progress(done=done, total=total, seconds=clock.seconds))
        else:  # a compile before the first frame says nothing of how long the others take
            clock.set_off()

    with teller:
        teller.begin(shot)
        shown = showing.preview(
            jobs.load(shot),
            out=out or shot.parent / f"{shot.stem}_sheets",
            compare=compare,
            still=still,
            width=width,
            number=number,
            safe=safe,
            findings=findings,
            subject=subject,
            every_still=every_still,
            keep=not keep_nothing,
            overwrite=overwrite,
            say=teller.say,
            progress=tell,
        )
        teller.say(f"made in {perf_counter() - began:.1f} s")
    typer.echo(shown.page)
