"""The look of every sheet: a few inks, a few sizes of type, a few kinds of line.

Kinds of line differ in weight and dash, and everything drawn is named beside it: colour only
helps, so a sheet says the same in black and white. The two colours lie on the blue-orange axis
that the common kinds of colour blindness leave apart (Okabe & Ito, Color Universal Design, 2008).
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from cropmove.sheets.fit import fit
from cropmove.sheets.sheet import POINT, Pen, Sheet, Type, text_width
from cropmove.units import count_text, held_text, rate_text, seconds_text

if TYPE_CHECKING:
    from cropmove.shot import Shot

__all__ = [
    "FAINT", "INK", "MARGIN", "PALE", "RUST", "SOFT", "TEAL", "Box", "begin", "fit_words", "fitted",
    "shot_line", "wrapped",
]  # fmt: skip

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""

INK = "#17242c"
SOFT = "#5a6870"
FAINT = "#c3cbcf"
PALE = "#eef1f2"
RUST = "#b3461b"
TEAL = "#0b6472"

MARGIN = 14.0
"""Around every sheet, in millimetres."""

TITLE = Type(size=15, colour=INK, bold=True)
KIND = Type(size=15, colour=SOFT)
BODY = Type(size=7.5, colour=INK)
QUIET = Type(size=7.5, colour=SOFT)
SMALL = Type(size=6.2, colour=SOFT)
STRONG = Type(size=7.5, colour=INK, bold=True)
HAIR = Pen(colour=FAINT, width=0.18)


def begin(shot: Shot, kind: str, paper: tuple[float, float]) -> Sheet:
    """A sheet with its head: the shot's name, what the sheet is, the shot in a line."""
    sheet = Sheet(*paper, title=f"{shot.name}: {kind}")
    baseline = MARGIN + TITLE.size * POINT * 0.75
    room = paper[0] - 2 * MARGIN - 3 - text_width(kind, KIND)
    name, type = fit_words(shot.name, TITLE, room, least=10.0)
    sheet.text((MARGIN, baseline), name, type)
    sheet.text((MARGIN + text_width(name, type) + 3, baseline), kind, KIND)
    sheet.text((MARGIN, baseline + 6.2), shot_line(shot), QUIET)
    return sheet


def fit_words(text: str, type: Type, wide: float, *, least: float) -> tuple[str, Type]:
    """Words no wider than so many millimetres, and the type that they are set in; see `fit`."""

    def width(words: str, size: float) -> float:
        return text_width(words, type.but(size=size))

    shown, size = fit(text, type.size, wide, width, least=least)
    return shown, type.but(size=size)


HEAD = MARGIN + TITLE.size * POINT * 0.75 + 12.5
"""Where a sheet's contents begin, from the top."""


def shot_line(shot: Shot) -> str:
    """A shot in a line, for the head of a sheet.

    Examples
    --------
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> from cropmove.shot import Delivery, Shot
    >>> key = Key(frame=1, framing=Framing(x=3000, y=2000, width=3840))
    >>> shot_line(Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=(key,)))
    '1 frame, 0.042 s at 24 a second, on ones · delivered 1920 × 1080'
    """
    frames = count_text(shot.length, "frame")
    parts = [
        f"{frames}, {seconds_text(shot.length, shot.fps)} at {_rate(shot.fps)} a second, "
        + held_text(shot.on),
    ]
    to_come = "" if len(shot.stills) else " to come"
    still = f" from stills of {shot.stills.size}{to_come}" if shot.stills.size else ""
    parts.append(f"delivered {shot.delivery.size}{still}".replace(" x ", " × "))
    return " · ".join(parts)


def _rate(fps: Fraction) -> str:
    return rate_text(fps) if fps.denominator == 1 else f"{rate_text(fps)} ({float(fps):.3f})"


def fitted(width: float, height: float, room: Box) -> Box:
    """The largest box of a shape that stands in the top left of a room."""
    left, top, right, bottom = room
    scale = min((right - left) / width, (bottom - top) / height)
    return left, top, left + width * scale, top + height * scale


def wrapped(text: str, type: Type, width: float) -> list[str]:
    """Words in lines no wider than so many millimetres.

    Examples
    --------
    >>> wrapped("one two three four", Type(size=10, colour="#000000"), 20)
    ['one two', 'three four']
    """
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, type) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
