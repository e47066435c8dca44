"""The pages of a tape: its strips, and what stands above and below them."""

from __future__ import annotations

from cropmove.errors import complain
from cropmove.rig.marks import Marks
from cropmove.sheets.fit import fit
from cropmove.sheets.paper import Page, Paper, bold_width, text_width
from cropmove.sheets.tape.lay import DEEP, Bent
from cropmove.sheets.tape.pieces import FOOT, MARGIN, Piece, pieces_of
from cropmove.sheets.tape.places import along_of, hand_of
from cropmove.sheets.tape.strip import Strip

__all__ = ["tape"]

_FACES = {
    "pan": ("upwards", "downwards"),
    "tilt": ("to the left", "to the right"),
    "roll": ("backwards", "forwards"),
}
"""Which way the axis of a motion goes as one looks along it from `hand_of`'s side, and back."""


def tape(
    marks: Marks, paper: Paper, *, title: str, bent: bool | None = None
) -> tuple[list[Page], list[Piece]]:
    """The pages of a thing's tape, and where its pieces lie.

    Parameters
    ----------
    marks : Marks
    paper : Paper
    title : str
        Of the shot.
    bent : bool, optional
        Whether to bend it to its radius; None to bend what has one.

    Raises
    ------
    InputError
        For a thing that turns without a radius.
    """
    along = along_of(marks)
    radius = marks.rig.scale.radius if bent is not False else None
    if bent and radius is None:
        rule = f'"{marks.name}" goes straight: there is no arc to bend its tape to'
        raise complain("bent", True, rule, "leave bent out, or say bent=False")
    pieces = pieces_of(along, paper, radius, hand_of(marks))
    pages = [Page(paper.height, paper.width) for _ in range(pieces[-1].page)]
    for piece, after in zip(pieces, [*pieces[1:], None], strict=True):
        below = paper.width - FOOT
        if after is not None and after.page == piece.page and isinstance(after.lay, Bent):
            below = after.lay.down - after.lay.radius - DEEP
        strip = Strip(
            page=pages[piece.page - 1], marks=marks, along=along, piece=piece, below=below
        )
        strip.draw(f"{title}: {marks.name}")
    for number, page in enumerate(pages, start=1):
        _furnish(page, marks, paper, title, f"{number} of {len(pages)}", radius)
    return pages, pieces


def _furnish(
    page: Page, marks: Marks, paper: Paper, title: str, count: str, radius: float | None
) -> None:
    """What stands above and below the strips."""
    rig, timing = marks.rig, marks.timing
    counted = f"page {count}"
    room = page.width - 2 * MARGIN - text_width(counted, 10) - 5
    name, size = fit(f"{title}: {rig.name}", 15, room, bold_width, least=9)
    page.text((MARGIN, MARGIN + 5), name, size=size, bold=True)
    page.text((page.width - MARGIN, MARGIN + 5), counted, size=10, align="right")
    held = "" if timing.on == 1 else f", each held for {timing.on} frames"
    told = f"{rig.motion.name}; readings grow {_grows(marks)}. Numbers are stills{held}."
    page.text((MARGIN, MARGIN + 11), told, size=9)
    page.text((MARGIN, MARGIN + 16), _laid(marks, radius), size=9)
    page.check_bar(paper, (MARGIN, page.height - MARGIN + 2))


def _laid(marks: Marks, radius: float | None) -> str:
    """How a tape is laid, bent to a radius or straight."""
    faces, back = _FACES.get(marks.rig.motion.way, _FACES["pan"])
    if radius is not None:
        text = f"The edge is an arc of radius {radius:g} mm: keep the pivot so far from it"
        return f"{text}, this side {faces}."
    if marks.rig.scale.kind != "arc":
        return "Cut along the edge, away from the hand; the pointer runs there."
    turns, stands = (faces, back) if hand_of(marks) > 0 else (back, faces)
    return (
        f"To be wrapped round a rim of radius {marks.rig.scale.radius:g} mm: its edge {turns} "
        f"where the rim turns, {stands} where the pointer does."
    )


def _grows(marks: Marks) -> str:
    way = marks.rig.motion.grows
    return f"the other way than {way}" if marks.rig.reverse else way
