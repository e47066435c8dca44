"""One drawing, three files: a sheet of paper measured in millimetres, as PNG, SVG and PDF.

x runs right and y down from the top-left corner of the paper, as everywhere. The drawing library
places; what is said and where is decided by those who draw. Every file comes out the same, to the
byte, whenever and wherever it is made: the font is the library's own, and no date is written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cropmove.files import legible
from cropmove.geometry import Floats
from cropmove.rig.measures import MM_PER_INCH

if TYPE_CHECKING:
    from matplotlib.font_manager import FontProperties

__all__ = ["POINT", "Pen", "Sheet", "Type", "text_width"]

PICTURES = 170.0
"""Dots an inch of the photographs inside SVG and PDF; what is drawn has no dots."""
FINE, MOST_DOTS = 200.0, 5e7
"""Dots an inch of a PNG, and how many it has at most: a page of A1 has them all."""
POINT = MM_PER_INCH / 72
"""A printer's point in millimetres: 1/72 inch (ISO 32000-1, 8.3.2.3)."""
FINEST = 0.01
"""Millimetres: points of a line that are nearer than this are drawn as one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How a line is drawn.

    Parameters
    ----------
    colour : str
        Such as "#1d2730".
    width : float
        Millimetres.
    dash : tuple of float
        Millimetres of line and of gap, in turn; empty for an unbroken line.
    halo : float
        Millimetres of white on either side, so that the line reads on any picture; 0 for none.
    """

    colour: str
    width: float
    dash: tuple[float, ...] = ()
    halo: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Type:
    """How words are set.

    Parameters
    ----------
    size : float
        Points.
    colour : str
    bold : bool
    halo : float
        Millimetres of white around the letters; 0 for none.
    """

    size: float
    colour: str
    bold: bool = False
    halo: float = 0.0

    def but(self, **changes: Any) -> Type:
        """The same, but for what is given."""
        return replace(self, **changes)


@cache
def _font(bold: bool) -> FontProperties:
    import matplotlib
    from matplotlib.font_manager import FontProperties

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return FontProperties(fname=str(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / name))


@cache
def _letters(bold: bool) -> frozenset[int]:
    from matplotlib.font_manager import get_font

    return frozenset(get_font(str(_font(bold).get_file())).get_charmap())


def _writable(text: str, bold: bool) -> str:
    """Words with a box in place of each letter that the font does not have, and on one line."""
    letters = _letters(bold)
    return "".join(c if ord(c) in letters and c.isprintable() else "□" for c in text)


@lru_cache(maxsize=4096)
def text_width(text: str, type: Type) -> float:
    """How wide words will be, in millimetres.

    Examples
    --------
    >>> round(text_width("12", Type(size=10, colour="#000000")) / POINT, 1)
    12.7
    """
    if not text:
        return 0.0
    from matplotlib.font_manager import get_font
    from matplotlib.ft2font import LoadFlags

    font = get_font(str(_font(type.bold).get_file()))
    flags = LoadFlags.NO_SCALE
    advances = (font.load_char(ord(c), flags=flags).horiAdvance for c in _writable(text, type.bold))
    return float(sum(advances)) / font.units_per_EM * type.size * POINT


class Sheet:
    """Paper of a size in millimetres, to be drawn on.

    Examples
    --------
    >>> sheet = Sheet(100, 50, title="A line")
    >>> sheet.line([(10, 10), (90, 40)], Pen(colour="#1d2730", width=0.3))
    >>> sheet.png(dpi=100)[1:4], sheet.pdf()[:4]
    (b'PNG', b'%PDF')
    """

    def __init__(self, width: float, height: float, *, title: str) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self.width, self.height, self.title = width, height, legible(title)
        # The least bit more, since the library cuts a size of 1079.9999 pixels down to 1079.
        unit = MM_PER_INCH / (1 + 1e-9)
        self._figure = Figure(figsize=(width / unit, height / unit))
        FigureCanvasAgg(self._figure)
        self._axes = self._figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self._axes.set_xlim(0, width)
        self._axes.set_ylim(height, 0)
        self._axes.set_axis_off()
        self._order = 0
        self._clip: Any = None

    def line(self, points: ArrayLike, pen: Pen, *, closed: bool = False) -> None:
        """A line through points, (n, 2) in millimetres."""
        path = _as_fine_as_seen(points)
        if closed:
            path = np.concatenate([path, path[:1]])
        if pen.halo:
            wide = pen.width + 2 * pen.halo
            self._line(path, "#ffffff", wide, (), alpha=0.8)
        self._line(path, pen.colour, pen.width, pen.dash)

    def _line(
        self, path: NDArray[Any], colour: str, width: float, dash: Sequence[float], alpha: float = 1
    ) -> None:
        from matplotlib.lines import Line2D

        style: Any = (0, tuple(d / width for d in dash)) if dash else "solid"
        line = Line2D(
            path[:, 0],
            path[:, 1],
            color=colour,
            linewidth=width / POINT,
            linestyle=style,
            alpha=None if alpha == 1 else alpha,
            solid_capstyle="butt",
            dash_capstyle="butt",
            solid_joinstyle="miter",
            dash_joinstyle="miter",
        )
        self._put(line)

    def lines(self, segments: ArrayLike, pen: Pen) -> None:
        """Many short lines of one pen, (n, 2, 2) in millimetres: ticks."""
        from matplotlib.collections import LineCollection

        drawn_once: Any = np.asarray(segments, dtype=np.float64)
        if not len(drawn_once):
            return
        layers = [(pen.colour, pen.width, 1.0)]
        if pen.halo:
            layers.insert(0, ("#ffffff", pen.width + 2 * pen.halo, 0.8))
        for colour, width, alpha in layers:
            drawn = LineCollection(
                drawn_once,
                colors=colour,
                linewidths=width / POINT,
                alpha=None if alpha == 1 else alpha,
                capstyle="butt",
            )
            self._put(drawn)

    def area(
        self,
        points: ArrayLike,
        colour: str,
        *,
        hatch: float = 0.0,
        alpha: float = 1.0,
    ) -> None:
        """A filled shape; with `hatch`, slanting lines so many millimetres apart instead."""
        from matplotlib.patches import Polygon

        shape = _as_fine_as_seen(points)
        if not hatch:
            patch = Polygon(shape, closed=True, facecolor=colour, edgecolor="none", linewidth=0)
            patch.set_alpha(None if alpha == 1 else alpha)
            self._put(patch)
            return
        left, top = shape.min(axis=0)
        right, bottom = shape.max(axis=0)
        tall = bottom - top
        starts = np.arange(left - tall, right, hatch)
        slanting = np.array([[(x, bottom), (x + tall, top)] for x in starts])
        with self.within((left, top, right, bottom)):
            self.lines(slanting, Pen(colour=colour, width=0.18))

    def box(self, box: tuple[float, float, float, float], colour: str, **how: Any) -> None:
        """A filled upright rectangle: left, top, right, bottom."""
        left, top, right, bottom = box
        self.area([(left, top), (right, top), (right, bottom), (left, bottom)], colour, **how)

    def dot(self, at: tuple[float, float], size: float, colour: str, *, ring: str = "") -> None:
        """A round dot `size` millimetres across; with `ring`, an open one of that colour."""
        from matplotlib.patches import Ellipse

        edge = 0.25 if ring else 0.0
        self._put(
            Ellipse(at, size, size, facecolor=colour, edgecolor=ring or "none",
                    linewidth=edge / POINT)
        )  # fmt: skip

    def text(
        self,
        at: tuple[float, float],
        text: str,
        type: Type,
        *,
        align: str = "left",
        turned: float = 0.0,
        middle: bool = False,
    ) -> None:
        """Words, standing on a point of their baseline.

        Parameters
        ----------
        at : (x, y)
            Millimetres.
        text : str
        type : Type
        align : "left", "centre" or "right"
            Which part of the words stands at the point.
        turned : float
            Degrees, anticlockwise as read.
        middle : bool
            Whether the middle of a figure's height, not the baseline, is at the point.
        """
        from matplotlib.patheffects import withStroke

        effects = None
        if type.halo:
            width = 2 * type.halo / POINT
            effects = [withStroke(linewidth=width, foreground="#ffffff", alpha=0.85)]
        self._axes.text(
            *at,
            _writable(text, type.bold).replace("$", r"\$"),
            fontproperties=_font(type.bold),
            fontsize=type.size,
            color=type.colour,
            ha={"left": "left", "centre": "center", "right": "right"}[align],
            va="center_baseline" if middle else "baseline",
            rotation=turned,
            rotation_mode="anchor",
            path_effects=effects,
            zorder=self._next(),
        )

    def picture(self, pixels: NDArray[np.uint8], box: tuple[float, float, float, float]) -> None:
        """A picture, (h, w, 3) of 8 bits, in a box: left, top, right, bottom."""
        left, top, right, bottom = box
        shown = self._axes.imshow(
            pixels,
            extent=(left, right, bottom, top),
            interpolation="antialiased",
            aspect="auto",
            zorder=self._next(),
        )
        shown.set_clip_on(True)
        self._axes.set_xlim(0, self.width)
        self._axes.set_ylim(self.height, 0)

    def within(self, box: tuple[float, float, float, float]) -> _Window:
        """A block in which nothing is drawn outside a box."""
        return _Window(self, box)

    def _next(self) -> int:
        """Later things lie on earlier ones."""
        self._order += 1
        return self._order

    def _put(self, artist: Any) -> None:
        artist.set_zorder(self._next())
        self._axes.add_artist(artist)
        if self._clip is not None:
            artist.set_clip_path(self._clip)
        else:
            artist.set_clip_on(False)

    def png(self, dpi: float | None = None, *, clear: bool = False) -> bytes:
        """As pixels, with the resolution written in, so that it prints at its true size.

        Where no `dpi` is given it is 200, and less on paper of metres. `clear` leaves the paper
        transparent.
        """
        coarser = MM_PER_INCH * (MOST_DOTS / (self.width * self.height)) ** 0.5
        return self._saved(
            format="png",
            dpi=min(FINE, coarser) if dpi is None else dpi,
            transparent=clear,
            metadata={"Software": None},
            pil_kwargs={"compress_level": 3},
        )

    def svg(self) -> bytes:
        """As lines, with the letters as outlines: no font is needed to see it."""
        return self._saved(format="svg", metadata={"Date": None, "Title": self.title})

    def pdf(self) -> bytes:
        """As a page to print at 100 %, its fonts embedded."""
        named = {"Title": self.title, "Creator": "cropmove", "Producer": "cropmove"}
        return self._saved(format="pdf", metadata=named | {"CreationDate": None})

    def _saved(self, **options: Any) -> bytes:
        import matplotlib

        file = BytesIO()
        settings: dict[Any, Any] = {
            "svg.hashsalt": "cropmove",
            "svg.fonttype": "path",
            "pdf.fonttype": 42,
            "pdf.compression": 6,
            "path.simplify": False,
            "savefig.bbox": None,
            "savefig.facecolor": "white",
            "text.hinting": "none",
        }
        options.setdefault("dpi", PICTURES)
        with matplotlib.rc_context(settings):
            self._figure.savefig(file, **options)
        return file.getvalue()


def _as_fine_as_seen(points: ArrayLike) -> Floats:
    """A line without the points that lie where the one before does: a long shot has very many."""
    path = np.asarray(points, dtype=np.float64)
    if len(path) < 3:
        return path
    kept = np.ones(len(path), dtype=np.bool_)
    kept[1:-1] = np.diff(np.round(path[:-1] / FINEST), axis=0).any(axis=1)
    return np.asarray(path[kept])


class _Window:
    def __init__(self, sheet: Sheet, box: tuple[float, float, float, float]) -> None:
        self._sheet, self._box = sheet, box

    def __enter__(self) -> None:
        from matplotlib.patches import Rectangle

        left, top, right, bottom = self._box
        axes = self._sheet._axes
        clip = Rectangle((left, top), right - left, bottom - top, transform=axes.transData)
        self._before, self._sheet._clip = self._sheet._clip, clip

    def __exit__(self, *_: Any) -> None:
        self._sheet._clip = self._before
