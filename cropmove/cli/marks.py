"""``cropmove marks``: marks for the set, for what is moved by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from cropmove.cli.follow import step_through
from cropmove.errors import complain

__all__ = ["marks"]


def marks(
    shot: Annotated[
        Path | None, typer.Argument(metavar="SHOT", help="A shot file (NAME.toml).")
    ] = None,
    rig: Annotated[
        list[str] | None, typer.Option("--rig", metavar="NAME", help="Only this thing; repeat it.")
    ] = None,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print the list as CSV.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the list as JSON.")] = False,
    tape: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write tapes, 1:1: NAME.pdf or NAME.svg."),
    ] = None,
    straight: Annotated[
        bool, typer.Option("--straight", help="Tapes to wrap round a rim, not bent templates.")
    ] = False,
    listed: Annotated[
        Path | None,
        typer.Option("--list", metavar="FILE", help="Write the list: .pdf, .svg, .csv or .json."),
    ] = None,
    paper: Annotated[str, typer.Option(metavar="PAPER", help="a4 or letter.")] = "a4",
    ones: Annotated[
        bool, typer.Option("--ones", help="A mark for every frame, even where stills are held.")
    ] = False,
    layers: Annotated[
        bool, typer.Option("--layers", help="Say what near and far things do on the screen.")
    ] = False,
    boxes: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw the layers: .png, .svg or .pdf.")
    ] = None,
    twin: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write a shot file that previews the rig.")
    ] = None,
    crop: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the shot file that renders the rig's stills."),
    ] = None,
    still: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The test still, for --boxes and --twin.")
    ] = None,
    follow: Annotated[
        bool, typer.Option("--follow", help="Step through the list, one key a still.")
    ] = False,
    begin: Annotated[
        int, typer.Option("--from", metavar="STILL", help="The still to begin --follow at.")
    ] = 1,
    travel: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="How far: 300 (mm), 12in, 30deg.")
    ] = None,
    rule: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="How long the rule is.")
    ] = None,
    step: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="The longest step wanted.")
    ] = None,
    smallest: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="The smallest step a hand makes.")
    ] = None,
    seconds: Annotated[
        float | None, typer.Option(metavar="SECONDS", help="How long the action lasts.")
    ] = None,
    frames: Annotated[
        int | None, typer.Option(metavar="FRAMES", help="The same, in frames.")
    ] = None,
    fps: Annotated[
        str | None, typer.Option(metavar="RATE", help="Frames a second; 24 if not given.")
    ] = None,
    on: Annotated[
        int, typer.Option(metavar="FRAMES", help="How long each still is held: 2 is on twos.")
    ] = 1,
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
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Write over files that are there.")
    ] = False,
) -> None:
    """Say where each thing must stand for each still, and print that.

    Such as: cropmove marks quay.toml --tape tape.pdf --list list.pdf

    Without a shot file it is a stopwatch, for which the options from --travel to --ease-out are:
    cropmove marks --travel 300 --seconds 2.5
    """
    from cropmove import jobs, marking
    from cropmove.cli.marks_text import cautions_text, layers_text, table_text

    wish = marking.StopwatchWish(
        travel=travel, rule=rule, step=step, smallest=smallest, seconds=seconds, frames=frames,
        fps=fps or "24", on=on, ease=ease, ease_in=ease_in, ease_out=ease_out,
    )  # fmt: skip
    if shot is None:
        prints_or_lists = (tape, listed, boxes, twin, crop, rig, layers, follow, ones)
        if any((*prints_or_lists, as_csv, as_json, straight, still, begin != 1)):
            rule_ = "without a shot file there is only the stopwatch"
            raise complain("SHOT", "", rule_, "give the shot file whose marks are meant")
        typer.echo(marking.stopwatch(wish))
        return
    _refuse_alone("--from", begin != 1, "--follow", follow)
    _refuse_alone("--straight", straight, "--tape", tape)
    _refuse_alone("--still", still, "--boxes or --twin", boxes or twin)
    if layers and as_json:
        raise complain("--layers, --json", "", "layers are told in words or as CSV", "say --csv")
    if fps or wish != marking.StopwatchWish():
        rule_ = "the stopwatch works without a shot file; a shot file says all that itself"
        raise complain("--travel, --seconds ...", "", rule_, "leave the shot file out, or those")
    loaded, names = jobs.load(shot), tuple(rig or ())
    loaded = marking.on_ones(loaded) if ones else loaded
    prints = marking.Prints(
        tape=tape, listed=listed, boxes=boxes, twin=twin, crop=crop, rigs=names, paper=paper,
        straight=straight, ones=ones, still=still, overwrite=overwrite,
    )  # fmt: skip
    for path in marking.write(shot, prints):
        typer.echo(str(path))
    if layers and as_csv:
        typer.echo(marking.layers_csv(loaded), nl=False)
    elif as_csv or as_json:
        data = marking.list_as(loaded, "json" if as_json else "csv", names)
        typer.echo(data, nl=False)
    elif layers:
        typer.echo(layers_text(marking.layers(loaded), loaded, marking.findings(loaded)))
    elif follow:
        step_through(marking.marks(loaded, names), loaded.name, begin)
    elif prints.nothing:
        table = marking.marks(loaded, names)
        told = table_text(table, marking.findings(loaded))
        typer.echo(cautions_text(table) + "\n", err=True)
        typer.echo(told)


def _refuse_alone(option: str, given: object, partner: str, beside: object) -> None:
    """Refuse an option that says nothing without another one."""
    if given and not beside:
        rule = f"{option} goes with {partner}"
        raise complain(option, "", rule, f"say {partner} too, or leave {option} out")
