"""The sheets of a shot and the page of them all."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from cropmove.checks.facts import Facts
from cropmove.checks.finding import Finding
from cropmove.checks.registry import findings_of
from cropmove.checks.too_fast import calm_step, strobing_step
from cropmove.errors import called, complain
from cropmove.files import utf8
from cropmove.geometry import finite
from cropmove.move.course import Course
from cropmove.shot import Shot
from cropmove.showing.asked import on_still, still_named
from cropmove.showing.written import Shown, write

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from cropmove.previews.source import Source
    from cropmove.sheets.chart import Limit
    from cropmove.sheets.sheet import Sheet

__all__ = ["SHEETS", "sheet"]

SHEETS = ("overview", "contact", "chart", "guide")
"""Every sheet, in the order in which a page shows them."""


def sheet(
    shot: Shot,
    *,
    out: str | Path | None = None,
    still: str | Path | None = None,
    frames: Iterable[int] | None = None,
    points: Mapping[str, tuple[float | str, float | str]] | None = None,
    guide_width: float | None = None,
    paper: str = "a4",
    overwrite: bool = False,
    say: Callable[[str], None] | None = None,
) -> Shown:
    """Write the sheets of a shot, and a page that shows them together.

    The overview, the contact sheet, the chart and the guide, each as PNG, SVG and PDF; the guide
    as a transparent picture for a monitor and as a table too.

    Parameters
    ----------
    shot : Shot
    out : path, optional
        Their folder; NAME_sheets in the current folder where it is not given.
    still : path, optional
        A test still, where the stills are not photographed yet.
    frames : iterable of int, optional
        Which frames the contact sheet shows; twelve spread over the shot if not given.
    points : mapping of name to (x, y), optional
        Points of the set for the guide, in pixels of the still or shares of it ("50%").
    guide_width : float, optional
        Millimetres across the frame on the printed guide; as wide as fits on the paper, up to 240,
        if not given.
    paper : str
        "a4" or "letter".
    overwrite : bool
        Whether files that cropmove did not make may be written over.
    say : callable, optional
        Called with the name of each sheet as it is drawn.

    Raises
    ------
    InputError
        Where an argument will not do, a still cannot be read, or files are in the way.
    MachineError
        Where the disk will not have it.
    """
    from cropmove.previews.source import Source
    from cropmove.sheets.paper import paper_named

    upright = paper_named(paper)
    if guide_width is not None and not 20 <= finite(called("guide_width"), guide_width) <= 5000:
        rule = "a guide is 20 to 5000 mm wide"
        raise complain(
            called("guide_width"), guide_width, rule, "measure the picture on the monitor"
        )
    course = shot.course()
    source = Source(shot=shot, course=course, test=still_named(still))
    drawing = _Drawing(
        source=source,
        findings=findings_of(shot),
        paper=(upright.height, upright.width),
        frames=_asked_frames(frames, course),
        points=on_still(points or {}, shot),
        guide_width=guide_width,
    )
    folder = Path(out) if out is not None else Path(f"{shot.name}_sheets")
    return write(folder, shot, drawing.files(say or (lambda _: None)), overwrite)


def _asked_frames(frames: Iterable[int] | None, course: Course) -> tuple[int, ...] | None:
    if frames is None:
        return None
    from cropmove.rendering.orders import frames_in, not_in_shot

    wanted = frames_in(frames, len(course))
    if not wanted:
        raise not_in_shot("none", len(course))
    return wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawing:
    """The sheets of one shot, drawn one after the other."""

    source: Source
    findings: Sequence[Finding]
    paper: tuple[float, float]
    frames: tuple[int, ...] | None
    points: Mapping[str, tuple[float, float]]
    guide_width: float | None

    @property
    def shot(self) -> Shot:
        return self.source.shot

    @property
    def course(self) -> Course:
        return self.source.course

    def files(self, say: Callable[[str], None]) -> Iterator[tuple[str, bytes]]:
        """(name, content) of every file, the page last."""
        from cropmove.sheets.page import Figure, cropped_drawing, cropped_picture, page

        figures, names = [], []
        for kind, drawn in self._sheets(say):
            made = {"png": drawn.png(), "svg": drawn.svg(), "pdf": drawn.pdf()}
            for suffix, content in made.items():
                names.append(f"{self.shot.name}.{kind}.{suffix}")
                yield names[-1], content
            if kind in _WITH_STILLS:
                media, content = cropped_picture(made["png"])
            else:
                media, content = cropped_drawing(made["svg"], made["png"])
            title, told = _TOLD[kind]
            told = f"{told}{self._stand_in if kind in _WITH_STILLS else ''}"
            figures.append(Figure(title=title, told=told, kind=media, content=content))
        for name, content in self._guide_extras():
            names.append(name)
            yield name, content
        text = page(self.shot, self.course, self.findings, figures, names)
        yield f"{self.shot.name}.html", utf8(text)

    @property
    def _stand_in(self) -> str:
        """A sentence about what is seen in place of stills that are not photographed yet."""
        if len(self.shot.stills):
            return ""
        what = "a test still" if self.source.test else "a plain ground with a line at each tenth"
        return f" Nothing is photographed yet: {what} stands in."

    def _sheets(self, say: Callable[[str], None]) -> Iterator[tuple[str, Sheet]]:
        for kind in SHEETS:
            say(kind)
            yield kind, getattr(self, f"_{kind}")()

    def _overview(self) -> Sheet:
        from cropmove.previews.source import ground_size
        from cropmove.sheets.overview import overview

        across = ground_size(self.course, self.shot).width
        small = self.source.small(self.source.still_of(1), _OVERVIEW_PIXELS / across)
        return overview(self.shot, self.course, small.whole(_OVERVIEW_PIXELS), self.paper)

    def _contact(self) -> Sheet:
        from cropmove.sheets.contact import chosen_frames, contact_sheet

        frames = self.frames or chosen_frames(self.shot, self.course)
        return contact_sheet(self.shot, self.course, frames, self._frame, self.paper)

    def _frame(self, frame: int, width: int) -> NDArray[np.uint8] | None:
        from cropmove.geometry import Size

        if len(self.shot.stills) and not self.source.is_photographed(frame):
            return None
        small = self.source.small(self.source.still_of(frame), 1.0)
        size = Size(width, max(1, round(width * self.course.delivery.shape)))
        return small.frame(self.course[frame], size, self.shot.delivery.kernel)

    def _chart(self) -> Sheet:
        from cropmove.sheets.chart import chart

        limits = _limits(self.shot, self.course)
        return chart(self.shot, self.course, self.findings, limits, self.paper)

    def _guide(self) -> Sheet:
        from cropmove.sheets.guide import guide_sheet, ways_of

        ways = ways_of(self.shot, self.course, self.points)
        return guide_sheet(self.shot, self.course, ways, *self._printed_guide())

    def _printed_guide(self) -> tuple[float, tuple[float, float]]:
        """How wide the frame is on paper, and the paper."""
        from cropmove.sheets.guide import guide_on

        if self.guide_width is not None:
            return self.guide_width, self.paper
        return guide_on(self.paper, self.course.delivery.shape)

    def _guide_extras(self) -> Iterator[tuple[str, bytes]]:
        from cropmove.sheets.guide import guide_over, guide_table, ways_of

        ways = ways_of(self.shot, self.course, self.points)
        over, dpi = guide_over(self.shot, self.course, ways)
        yield f"{self.shot.name}.guide_overlay.png", over.png(dpi, clear=True)
        table = guide_table(self.course, ways, self._printed_guide()[0])
        yield f"{self.shot.name}.guide.csv", utf8(table)


_OVERVIEW_PIXELS = 1800


_WITH_STILLS = ("overview", "contact")
"""Sheets that show the photographs; the others are drawn."""


_TOLD = {
    "overview": (
        "Overview",
        "The still, with the framings that the camera shows of it, and the way of their centre.",
    ),
    "contact": ("Contact sheet", "Frames as they will be delivered."),
    "chart": (
        "Chart",
        "How far the picture moves from one frame to the next, and how many delivered pixels each "
        "pixel of the still becomes. Findings lie under the frames that they are about.",
    ),
    "guide": (
        "Guide",
        "The way of a point of the set across the screen, a tick for each frame. This picture is "
        "not to size: print the PDF of the guide to measure on.",
    ),
}


def _limits(shot: Shot, course: Course) -> tuple[Limit, ...]:
    """What the step is judged by, in delivered pixels."""
    from cropmove.sheets.chart import Limit

    width = course.delivery.width
    return (
        Limit(value=calm_step(Facts(shot)) * width, name="seven-second rule"),
        Limit(value=strobing_step(Facts(shot)) * width, name="strong edges strobe"),
        Limit(value=shot.limits.zip_pan / 100 * width, name="zip pan"),
    )
