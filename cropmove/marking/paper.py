"""Tapes and shooting lists, on paper and as data."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cropmove.errors import called, complain, names_in
from cropmove.files import legible, place_new, refuse_old, utf8
from cropmove.marking.endings import PAPER, wrong_ending
from cropmove.marking.table import marks
from cropmove.shot import Shot

if TYPE_CHECKING:
    from cropmove.sheets.paper import Page

__all__ = ["list_as", "shooting_list", "tape"]


def tape(
    shot: Shot,
    out: str | Path,
    *,
    rigs: str | Iterable[str] = (),
    paper: str = "a4",
    straight: bool = False,
    overwrite: bool = False,
) -> tuple[Path, ...]:
    """Print tapes true to scale: a tick and a number for each still.

    Parameters
    ----------
    shot : Shot
    out : path
        NAME.pdf, all pages in one file; or NAME.svg, a file a page: NAME.1.svg, NAME.2.svg ...
    rigs : str or iterable of str
        Only these; all that have one where none is given.
    paper : "a4" or "letter"
    straight : bool
        Whether a tape for an arc or a rim is straight, to be wrapped round, instead of bent.
    overwrite : bool

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    InputError
        Where a thing turns without a radius, the paper is not known or a file is there.
    """
    from cropmove.sheets.paper import paper_named
    from cropmove.sheets.tape.pages import tape as tape_of

    sheet, title, names = paper_named(paper), legible(shot.name), names_in(rigs)
    pages: list[Page] = []
    for one in marks(shot, names).moved:
        if one.rig.motion.angular and one.rig.scale.kind != "arc" and not names:
            continue
        pages += tape_of(one, sheet, title=title, bent=False if straight else None)[0]
    if not pages:
        rule = "nothing in this shot is read along a rule, an arc or a rim"
        raise complain(called("tape"), "", rule, "add radius = 400 to what turns, in mm")
    return _write_pages(pages, Path(out), f"{title}: tape", overwrite)


def shooting_list(
    shot: Shot,
    out: str | Path,
    *,
    rigs: str | Iterable[str] = (),
    paper: str = "a4",
    overwrite: bool = False,
) -> tuple[Path, ...]:
    """Write the shooting list: on paper a row a still, as data a row a frame.

    Parameters
    ----------
    shot : Shot
    out : path
        What it ends in says how: .pdf, .svg (a file a page), .csv or .json.
    rigs, paper, overwrite
        As for `tape`.
    """
    from cropmove.sheets.paper import paper_named
    from cropmove.sheets.shooting_list.pages import list_pages

    out, names = Path(out), names_in(rigs)
    if out.suffix.lower() in (".csv", ".json"):
        text = list_as(shot, out.suffix.lower()[1:], names)
        place_new(out, utf8(text), overwrite=overwrite)
        return (out,)
    title = legible(shot.name)
    pages = list_pages(marks(shot, names), paper_named(paper), title=title)
    return _write_pages(pages, out, f"{title}: shooting list", overwrite)


def list_as(shot: Shot, kind: str, rigs: str | Iterable[str] = ()) -> str:
    """The shooting list as the text of a CSV or a JSON file, a row a frame."""
    from cropmove.sheets.shooting_list.data import list_csv, list_json

    table = marks(shot, rigs)
    if kind == "csv":
        return list_csv(table)
    return json.dumps(list_json(table, shot.name), indent=2, ensure_ascii=False) + "\n"


def _write_pages(pages: Sequence[Page], out: Path, title: str, overwrite: bool) -> tuple[Path, ...]:
    from cropmove.sheets.paper import pdf, svg

    if out.suffix.lower() == ".pdf":
        place_new(out, pdf(pages, title), overwrite=overwrite)
        return (out,)
    if out.suffix.lower() != ".svg":
        raise wrong_ending("out", out, PAPER)
    names = [out.with_suffix(f".{n}.svg") for n in range(1, len(pages) + 1)]
    for name in names:  # all of them first, so that no half of a tape is written
        refuse_old(name, overwrite=overwrite)
    for name, page in zip(names, pages, strict=True):
        place_new(name, svg(page, title), overwrite=overwrite)
    return tuple(names)
