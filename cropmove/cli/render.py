"""``cropmove render``: the delivered frames."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cropmove.cli.options import SeveralShots

__all__ = ["render"]


def render(
    shots: SeveralShots,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER",
            help="The folder of the frames; NAME_frames beside the shot file if not given.",
        ),
    ] = None,
    frames: Annotated[
        str | None, typer.Option(metavar="1,10-20", help="Only these frames.")
    ] = None,
    allow: Annotated[
        list[str], typer.Option(metavar="ID", help="Render in spite of this fault; repeat it.")
    ] = [],  # noqa: B006 - typer wants a plain default
    overwrite: Annotated[
        bool,
        typer.Option(
            "--overwrite", help="Write over files not made by cropmove, or of another shot."
        ),
    ] = False,
    workers: Annotated[
        int | None,
        typer.Option(
            metavar="COUNT", help="Frames worked on at a time; one a processor if not given."
        ),
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Say nothing but errors.")] = False,
) -> None:
    """Make the delivered frames that are missing or out of date.

    Such as: cropmove render harbour.toml

    Several shots are a batch: a bad one does not stop the others.
    """
    from cropmove import jobs
    from cropmove.cli.progress import Teller

    with Teller(quiet=quiet) as teller:
        results = jobs.render_batch(
            shots, out=out, frames=frames, allow=allow, overwrite=overwrite,
            workers=workers, watch=teller,
        )  # fmt: skip
    teller.summary(results)
    raise typer.Exit(max(result.exit_code for result in results))
