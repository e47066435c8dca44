"""Paper that is true to scale: pages in millimetres, as PDF and as SVG.

x runs right and y down from the page's top-left corner. One PDF unit is 1/72 in (ISO 32000-1), and
the file asks the printer not to fit it to the page. Whether a printer obeyed is measured on the
check bar. Every file comes out the same to the byte: no date is written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from io import BytesIO
from math import cos, pi, radians, sin
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

from cropmove.errors import called, unknown_word
from cropmove.rig.measures import MM_PER_INCH

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["PAPERS", "Page", "Paper", "bold_width", "paper_named", "pdf", "svg", "text_width"]

PER_MM = 72 / MM_PER_INCH
"""PDF units in a millimetre."""
_CAP = 0.729
"""Height of a capital or a figure of the font, in its size."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A size of paper, upright, and the bar that proves its print.

    Parameters
    ----------
    name, source : str
    width, height : float
        Millimetres.
    bar : float
        Millimetres.
    bar_name : str
    """

    name: str
    width: float
    height: float
    bar: float
    bar_name: str
    source: str


PAPERS: dict[str, Paper] = {
    entry.name: entry
    for entry in (
        Paper(
            name="a4", width=210, height=297, bar=100, bar_name="100 mm", source="ISO 216",
        ),
        Paper(
            name="letter", width=215.9, height=279.4, bar=4 * MM_PER_INCH, bar_name="4 in",
            source="ANSI/ASME Y14.1, size A",
        ),
    )
}  # fmt: skip
"""Every paper, by the name that is asked for."""


def paper_named(name: str) -> Paper:
    """The paper of that name.

    Raises
    ------
    InputError
        Where there is none; the nearest is named.

    Examples
    --------
    >>> paper_named("A4").bar_name, paper_named("letter").bar_name
    ('100 mm', '4 in')
    """
    if name.lower() not in PAPERS:
        raise unknown_word(called("paper"), name, PAPERS, "a paper")
    return PAPERS[name.lower()]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stroke:
    points: Sequence[Point]
    width: float
    grey: float
    closed: bool
    dash: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fill:
    points: Sequence[Point]
    grey: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    at: Point
    text: str
    size: float
    bold: bool
    align: str
    turned: float
    grey: float


@dataclass(slots=True)
class Page:
    """A page to be drawn on, in millimetres. Greys run from 0, black, to 1, white.

    Examples
    --------
    >>> page = Page(210, 297)
    >>> page.line([(20, 20), (120, 20)], width=0.2)
    >>> pdf([page], "a line")[:5], svg(page, "a line")[:5]
    (b'%PDF-', b'<?xml')
    """

    width: float
    height: float
    items: list[_Stroke | _Fill | _Words] = field(default_factory=list)

    def line(
        self,
        points: Sequence[Point],
        *,
        width: float = 0.2,
        grey: float = 0.0,
        closed: bool = False,
        dash: tuple[float, ...] = (),
    ) -> None:
        """A line through points, so many millimetres wide."""
        self.items.append(_Stroke(points=points, width=width, grey=grey, closed=closed, dash=dash))

    def area(self, points: Sequence[Point], grey: float) -> None:
        """A filled shape."""
        self.items.append(_Fill(points=points, grey=grey))

    def box(self, left: float, top: float, right: float, bottom: float, grey: float) -> None:
        """A filled upright rectangle."""
        self.area([(left, top), (right, top), (right, bottom), (left, bottom)], grey)

    def text(
        self,
        at: Point,
        text: str,
        *,
        size: float,
        bold: bool = False,
        align: str = "left",
        turned: float = 0.0,
        middle: bool = False,
        grey: float = 0.0,
    ) -> None:
        """Words on a baseline.

        Parameters
        ----------
        at : (x, y)
            Where the baseline begins, has its middle, or ends.
        text : str
        size : float
            Points.
        bold : bool
        align : "left", "centre" or "right"
        turned : float
            Degrees, clockwise.
        middle : bool
            Whether the point is half-way up the figures instead of on their baseline.
        grey : float
        """
        if middle:
            down = size * _CAP / 2 / PER_MM
            at = (at[0] - down * sin(radians(turned)), at[1] + down * cos(radians(turned)))
        self.items.append(
            _Words(
                at=at, text=text, size=size, bold=bold, align=align, turned=turned, grey=grey
            )
        )  # fmt: skip

    def cross(self, at: Point, name: str = "", *, above: bool = False) -> None:
        """A registration cross in a ring, with its name; laid on its twin it joins two pieces."""
        x, y = at
        self.line([(x - 4, y), (x + 4, y)], width=0.12)
        self.line([(x, y - 4), (x, y + 4)], width=0.12)
        turns = [2 * pi * n / 48 for n in range(48)]
        ring = [(x + 2.2 * cos(turn), y + 2.2 * sin(turn)) for turn in turns]
        self.line(ring, width=0.12, closed=True)
        if name:
            self.text((x + 2.6, y - 2.4 if above else y + 4.4), name, size=8, bold=True)

    def check_bar(self, paper: Paper, at: Point) -> None:
        """The bar to measure after printing."""
        x, y = at
        step, count = (10.0, 10) if paper.bar_name.endswith("mm") else (MM_PER_INCH / 4, 16)
        self.line([(x, y), (x + paper.bar, y)], width=0.25)
        for number in range(count + 1):
            long = 4.0 if number in (0, count) else 2.6 if number * 2 == count else 1.5
            self.line([(x + number * step, y), (x + number * step, y - long)], width=0.2)
        told = f"This bar is {paper.bar_name} long."
        self.text((x + paper.bar + 5, y - 2.2), told, size=8, bold=True)
        ask = "Print at 100 % (actual size), not fitted to the page; measure it before you cut."
        self.text((x + paper.bar + 5, y + 1.4), ask, size=7.5)


@cache
def _fonts() -> tuple[str, str]:
    """The upright and the bold font, made known to the PDF writer: they carry many scripts."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for name in ("DejaVuSans", "DejaVuSans-Bold"):
        pdfmetrics.registerFont(TTFont(name, str(folder / f"{name}.ttf")))
    return "DejaVuSans", "DejaVuSans-Bold"


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """How wide words are, in millimetres.

    Examples
    --------
    >>> round(text_width("100", 10), 2)
    6.73
    """
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(text, _fonts()[bold], size)) / PER_MM


def bold_width(text: str, size: float) -> float:
    """The same of bold ones."""
    return text_width(text, size, bold=True)


def pdf(pages: Sequence[Page], title: str) -> bytes:
    """Pages as one PDF, true to scale."""
    from reportlab.pdfgen.canvas import Canvas

    out = BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setCreator("cropmove")
    canvas.setViewerPreference("PrintScaling", "None")
    for page in pages:
        canvas.setPageSize((page.width * PER_MM, page.height * PER_MM))
        # From here on a unit is a millimetre and y runs down, as on the page.
        canvas.transform(PER_MM, 0, 0, -PER_MM, 0, page.height * PER_MM)
        for item in page.items:
            _draw(canvas, item)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw(canvas: Canvas, item: _Stroke | _Fill | _Words) -> None:
    if isinstance(item, _Words):
        _write(canvas, item)
        return
    path = canvas.beginPath()
    path.moveTo(*item.points[0])
    for point in item.points[1:]:
        path.lineTo(*point)
    if isinstance(item, _Fill):
        path.close()
        canvas.setFillGray(item.grey)
        canvas.drawPath(path, stroke=0, fill=1)
        return
    if item.closed:
        path.close()
    canvas.setStrokeGray(item.grey)
    canvas.setLineWidth(item.width)
    canvas.setDash(list(item.dash))
    canvas.drawPath(path, stroke=1, fill=0)


def _write(canvas: Canvas, words: _Words) -> None:
    canvas.saveState()
    canvas.translate(*words.at)
    canvas.rotate(words.turned)
    canvas.scale(1 / PER_MM, -1 / PER_MM)
    canvas.setFillGray(words.grey)
    canvas.setFont(_fonts()[words.bold], words.size)
    write = {
        "left": canvas.drawString,
        "centre": canvas.drawCentredString,
        "right": canvas.drawRightString,
    }[words.align]
    write(0, 0, words.text)
    canvas.restoreState()


def svg(page: Page, title: str) -> bytes:
    """One page as SVG, true to scale: its units are millimetres."""
    w, h = _number(page.width), _number(page.height)
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" '
        f'viewBox="0 0 {w} {h}">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{w}" height="{h}" fill="#ffffff"/>',
        *(_element(item) for item in page.items),
        "</svg>\n",
    ]
    return "\n".join(parts).encode()


def _element(item: _Stroke | _Fill | _Words) -> str:
    colour = f"#{round(item.grey * 255):02x}" + f"{round(item.grey * 255):02x}" * 2
    if isinstance(item, _Words):
        anchor = {"left": "start", "centre": "middle", "right": "end"}[item.align]
        x, y = (_number(part) for part in item.at)
        turn = f' transform="rotate({_number(item.turned)} {x} {y})"' if item.turned else ""
        weight = ' font-weight="bold"' if item.bold else ""
        return (
            f'<text x="{x}" y="{y}" font-size="{_number(item.size / PER_MM)}" fill="{colour}" '
            f'font-family="DejaVu Sans, Verdana, sans-serif"{weight} text-anchor="{anchor}"{turn}>'
            f"{escape(item.text)}</text>"
        )
    points = " ".join(f"{_number(x)},{_number(y)}" for x, y in item.points)
    if isinstance(item, _Fill):
        return f'<polygon points="{points}" fill="{colour}"/>'
    kind = "polygon" if item.closed else "polyline"
    dash = f" stroke-dasharray={quoteattr(' '.join(map(_number, item.dash)))}" if item.dash else ""
    return (
        f'<{kind} points="{points}" fill="none" stroke="{colour}" '
        f'stroke-width="{_number(item.width)}"{dash}/>'
    )


def _number(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")
