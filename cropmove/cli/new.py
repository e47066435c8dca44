"""``cropmove new``: a shot file from a few words."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cropmove.errors import complain

__all__ = ["new"]


def _parts(text: str | None, option: str, example: str) -> list[str] | None:
    if text is None:
        return None
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != len(example.split(",")):
        rule = f"{option} is {len(example.split(','))} lengths between commas"
        raise complain(option, text, rule, f"write, say, {option} {example}")
    return parts


def new(
    stills: Annotated[
        str,
        typer.Argument(
            metavar="STILLS", help="Where the photographs are: a folder, a glob or a file."
        ),
    ] = "",
    still_size: Annotated[
        str | None,
        typer.Option(
            metavar="6000x4000",
            help="How large the stills will be, where none is photographed yet.",
        ),
    ] = None,
    file: Annotated[
        Path | None,
        typer.Option(
            "--file", metavar="FILE", help="The shot file; STILLS.toml here if not given."
        ),
    ] = None,
    push_in: Annotated[
        float | None, typer.Option(metavar="TIMES", help="End so many times nearer.")
    ] = None,
    pull_out: Annotated[
        float | None, typer.Option(metavar="TIMES", help="Start so many times nearer.")
    ] = None,
    pan: Annotated[str | None, typer.Option(metavar="left|right", help="Go across.")] = None,
    tilt: Annotated[str | None, typer.Option(metavar="up|down", help="Go up or down.")] = None,
    hold: Annotated[bool, typer.Option("--hold", help="Stay: a locked-off framing.")] = False,
    start: Annotated[
        str | None, typer.Option("--from", metavar="X,Y,WIDTH", help="The exact first framing.")
    ] = None,
    end: Annotated[
        str | None, typer.Option("--to", metavar="X,Y,WIDTH", help="The exact last framing.")
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(
            metavar="X,Y", help="The point to go to, or to come from; the middle if not given."
        ),
    ] = None,
    width: Annotated[
        str | None,
        typer.Option(metavar="LENGTH", help="How wide a pan, a tilt or a hold frames the still."),
    ] = None,
    seconds: Annotated[
        float | None,
        typer.Option(
            metavar="SECONDS",
            help="The length of the shot; as long as the stills last if not given, or 3 s.",
        ),
    ] = None,
    frames: Annotated[
        int | None, typer.Option(metavar="FRAMES", help="The same, in frames.")
    ] = None,
    ease: Annotated[
        str | None, typer.Option(metavar="EASE", help="even, smooth, none, ...; even if not given.")
    ] = None,
    ease_in: Annotated[
        str | None,
        typer.Option(metavar="TIME", help='Frames, or "0.5 s"; a sixth of the move if not given.'),
    ] = None,
    ease_out: Annotated[
        str | None,
        typer.Option(metavar="TIME", help='Frames, or "0.5 s"; two sevenths if not given.'),
    ] = None,
    size: Annotated[
        str, typer.Option(metavar="SIZE", help="The delivery: hd, uhd, 1920x1080, ...")
    ] = "hd",
    on: Annotated[
        int,
        typer.Option(
            metavar="FRAMES", help="How long each still is held: 1 is on ones, 2 on twos."
        ),
    ] = 1,
    fps: Annotated[str, typer.Option(metavar="RATE", help="Frames a second.")] = "24",
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Write over a shot file that is there.")
    ] = False,
) -> None:
    """Write a shot file from a few words.

    Such as: cropmove new harbour --push-in 2

    Before anything is photographed: cropmove new harbour --still-size 6000x4000 --pan left --on 2

    Lengths are pixels of the still, or shares of it such as 50%.
    """
    from cropmove import jobs

    wish = jobs.Wish(
        push_in=push_in, pull_out=pull_out, pan=pan, tilt=tilt, hold=hold,
        start=_parts(start, "--from", "50%,50%,100%"), end=_parts(end, "--to", "50%,50%,50%"),
        at=_parts(at, "--at", "50%,40%"), width=width, seconds=seconds, frames=frames,
        ease=ease, ease_in=ease_in, ease_out=ease_out, size=size, on=on, fps=fps,
        still_size=still_size,
    )  # fmt: skip
    path = file or jobs.file_for(stills)
    _, sentence = jobs.new(path, stills, wish, overwrite=overwrite)
    typer.echo(f"{path}: {sentence}")
