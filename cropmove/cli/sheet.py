"""``cropmove sheet``: pictures to look at before rendering."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cropmove.cli.options import OneShot

__all__ = ["sheet"]


def sheet(
    shot: OneShot,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER", help="Their folder; NAME_sheets beside the shot file if not given."
        ),
    ] = None,
    still: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="A test still, where none is photographed yet."),
    ] = None,
    frames: Annotated[
        str | None,
        typer.Option(metavar="1,10-20", help="Frames for the contact sheet; twelve if not given."),
    ] = None,
    point: Annotated[
        list[str],
        typer.Option(
            metavar="NAME=X,Y", help="A point of the set for the guide, on the still; repeat it."
        ),
    ] = [],  # noqa: B006 - typer wants a plain default
    guide_width: Annotated[
        float | None,
        typer.Option(
            metavar="MM",
            help="How wide the frame is on the printed guide; as fits, up to 240, if not given.",
        ),
    ] = None,
    paper: Annotated[str, typer.Option(metavar="PAPER", help="a4 or letter.")] = "a4",
    overwrite: Annotated[
        bool,
        typer.Option(
            "--overwrite", help="Write over files not made by cropmove, or of another shot."
        ),
    ] = False,
    quiet: Annotated[
        bool, typer.Option("--quiet", help="Print nothing but the path of the page.")
    ] = False,
) -> None:
    """Draw the move: overview, contact sheet, chart, guide, and a page.

    Such as: cropmove sheet harbour.toml --point lamp=2390,760
    """
    from cropmove import jobs, showing

    loaded = jobs.load(shot)
    shown = showing.sheet(
        loaded,
        out=out or shot.parent / f"{shot.stem}_sheets",
        still=still,
        frames=showing.frames_named(frames, loaded),
        points=showing.points_named(point, loaded),
        guide_width=guide_width,
        paper=paper,
        overwrite=overwrite,
        say=None if quiet else _drawing,
    )
    typer.echo(shown.page)


def _drawing(kind: str) -> None:
    name = {"contact": "contact sheet"}.get(kind, kind)
    typer.echo(f"drawing the {name}", err=True)
