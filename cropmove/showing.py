"""Looking before rendering: the sheets of a shot and its preview, written beside its file."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING

from cropmove.checks.facts import Facts
from cropmove.checks.finding import Finding
from cropmove.checks.pace import calm_step, strobing_step
from cropmove.checks.registry import findings_of
from cropmove.errors import Complaints, called, complain, placed
from cropmove.files import another_folder, make_folder, utf8
from cropmove.geometry import counted, finite
from cropmove.machine import workers_for
from cropmove.move.course import LONGEST, Course
from cropmove.shot import Shot, Stills
from cropmove.units import length, number_or_text, rate_text

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from cropmove.previews.burnt import Marks
    from cropmove.previews.compare import Played
    from cropmove.previews.frames import Reel
    from cropmove.previews.kept import Kept
    from cropmove.previews.source import Source
    from cropmove.rendering.made import Made, State
    from cropmove.sheets.chart import Limit
    from cropmove.sheets.sheet import Sheet
    from cropmove.stills.find import StillRef

__all__ = [
    "SHEETS",
    "Shown",
    "frames_named",
    "points_named",
    "preview",
    "sheet",
]

SHEETS = ("overview", "contact", "chart", "guide")
"""Every sheet, in the order in which a page shows them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What was made to be looked at.

    Parameters
    ----------
    page : Path
        The one to open first.
    files : tuple of Path
        All of them, the page too.
    """

    page: Path
    files: tuple[Path, ...]


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
    source = Source(shot=shot, course=course, test=_test_still(still))
    drawing = _Drawing(
        source=source,
        findings=findings_of(shot),
        paper=(upright.height, upright.width),
        frames=_asked_frames(frames, course),
        points=_on_still(points or {}, shot),
        guide_width=guide_width,
    )
    folder = Path(out) if out is not None else Path(f"{shot.name}_sheets")
    return _write(folder, shot, drawing.files(say or (lambda _: None)), overwrite)


def _test_still(still: str | Path | None) -> StillRef | None:
    if still is None:
        return None
    return Stills.found(still).refs[0]


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


def _write(folder: Path, shot: Shot, files: Iterable[tuple[str, bytes]], overwrite: bool) -> Shown:
    from cropmove.rendering.made import Made

    make_folder(folder)
    made = Made.of(shot, folder)
    written = [_place(made, file, content, overwrite) for file, content in files]
    return Shown(page=written[-1], files=tuple(written))


def _place(made: Made, file: str, content: bytes, overwrite: bool) -> Path:
    """Write a file unless it is there already, or somebody else's."""
    from cropmove.rendering.made import State

    path = made.path.with_name(file)
    inputs = blake2b(content, digest_size=16).hexdigest()
    state = made.states([(file, inputs)])[file]
    _refuse(made, file, state, overwrite)
    if state is not State.CURRENT:
        made.write(file, inputs, content)
    return path


def preview(
    shot: Shot,
    *,
    out: str | Path | None = None,
    compare: Shot | str | Path | None = None,
    still: str | Path | None = None,
    width: int | None = None,
    number: bool = False,
    safe: bool = False,
    findings: bool = False,
    subject: bool = False,
    every_still: bool = False,
    keep: bool = True,
    overwrite: bool = False,
    workers: int | None = None,
    say: Callable[[str], None] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Shown:
    """Write a quick small movie of a shot, or of two versions one above the other.

    It is made from stills read at a reduced size and says in its corner that it is a preview. The
    small stills are kept, so that the next preview has them at hand. Where more large stills have
    to be read than there is time for, every second or third is shown, and the corner says so.
    Where PyAV is not installed it is an animated WebP, which a browser plays.

    Parameters
    ----------
    shot : Shot
    out : path, optional
        Its folder; NAME_sheets in the current folder where it is not given.
    compare : Shot, str or path, optional
        Another shot, or its file: "other.toml"; or this one otherwise: "fps=12",
        "ease=smooth, ease_out=20", "on=2".
    still : path, optional
        A test still, where the stills are not photographed yet.
    width : int, optional
        Pixels across, about; 960 if not given.
    number, safe, findings, subject : bool
        What is written into the frames, besides that it is a preview: the frame's number and
        time, the safe areas, what the checks find, a box where each subject is.
    every_still : bool
        Whether every still is shown, however long it takes to read them.
    keep : bool
        Whether small stills of earlier previews are used, and this one's kept for the next.
    overwrite : bool
        Whether a file that cropmove did not make may be written over.
    workers : int, optional
        How many frames are worked on at a time; the number of processors if not given.
    say : callable, optional
        Called with a line where not every still is shown, and where the engine is compiled first.
    progress : callable, optional
        Called with frames done and frames in all; with 0 before the first is begun.

    Raises
    ------
    InputError
        Where an argument will not do, a still cannot be read, or a file is in the way.
    MachineError
        Where the disk will not have it.
    """
    from cropmove.formats import FORMATS
    from cropmove.previews.burnt import Marks
    from cropmove.previews.kept import Kept, usual_folder
    from cropmove.previews.movie import movie_suffix, play
    from cropmove.rendering.ready import make_ready

    across, compared, at_a_time = _asked_width(width), _other(compare), workers_for(workers)
    marks = Marks(number=number, safe=safe, findings=findings, subject=subject)
    suffix = movie_suffix()
    reel = _reel(shot, compared, _test_still(still), across, marks)
    if suffix not in {known.suffix for known in FORMATS.values()}:
        reel = _reel(shot, compared, _test_still(still), _within_memory(reel), marks)
    folder = Path(out) if out is not None else Path(f"{shot.name}_sheets")
    name = f"{shot.name}.preview{_compared(compared)}{suffix}"
    make_folder(folder)
    _refuse_before(folder, shot, name, overwrite)
    kept, tell = Kept(usual_folder()) if keep else None, say or (lambda _: None)
    make_ready(say=tell)
    if not every_still:
        reel = _in_time(reel, kept, tell)
    try:
        content = play(reel, suffix, at_a_time, progress, kept)
    finally:
        if kept:
            kept.make_room()
    return _write(folder, shot, [(name, content)], overwrite)


def _in_time(reel: Reel, kept: Kept | None, say: Callable[[str], None]) -> Reel:
    """The reel with as many stills as there is time for."""
    from cropmove.previews.frames import ordinal
    from cropmove.previews.thinned import every_nth, thinned

    nth = every_nth(reel, kept)
    if nth > 1:
        later = "the next preview shows more; " if kept else ""
        now = f"{called('every_still', True)} shows all now"
        say(f"every {ordinal(nth)} still is shown, to be quick: {later}{now}")
    return thinned(reel, nth)


def _asked_width(width: int | None) -> int:
    from cropmove.previews.size import WIDTH

    across = WIDTH if width is None else width
    if counted(across) not in range(64, 3841):
        rule = "a preview is 64 to 3840 pixels wide"
        raise complain(called("width"), across, rule, f"leave it out for {WIDTH}")
    return across


def _reel(
    shot: Shot, compare: Shot | str | None, test: StillRef | None, width: int, marks: Marks
) -> Reel:
    from cropmove.previews.compare import otherwise, played, playing_rate
    from cropmove.previews.frames import Reel, row_of
    from cropmove.previews.source import Source

    versions = [played(shot)]
    if isinstance(compare, str):
        versions.append(otherwise(shot, compare))
    elif compare is not None:
        versions.append(replace(played(compare), label=compare.name))
    rows = [
        row_of(
            Source(shot=version.shot, course=version.course, test=test),
            width=width,
            findings=findings_of(version.shot) if marks.findings else (),
            label=(version.label or _as_it_is(shot, versions[-1])) if len(versions) > 1 else "",
        )
        for version in versions
    ]
    fps = playing_rate([version.shot.fps for version in versions])
    reel = Reel(rows=tuple(rows), fps=fps, marks=marks)
    if reel.length > LONGEST and compare is not None:
        rule = f"together they play {reel.length:,} frames at {rate_text(fps)}, too many to be seen"
        raise complain(
            called("compare"), versions[-1].label, rule, "compare with a shot as short as it"
        )
    return reel


def _as_it_is(shot: Shot, other: Played) -> str:
    """What the first of two rows is called: by the same words as the second."""
    named = other.label.split(", ")
    words = []
    for name in (part.split(" ")[0] for part in named):
        if name == "fps":
            words.append(f"fps {rate_text(shot.fps)}")
        elif name == "on":
            words.append(f"on {shot.on}")
        elif name in ("ease", "ease_in", "ease_out") and shot.move.legs:
            leg = shot.move.legs[-1]
            ease_in, ease_out = leg.ease_lengths
            value = {"ease": leg.ease.name, "ease_in": ease_in, "ease_out": ease_out}[name]
            words.append(f"{name} {value}")
    return ", ".join(words) or shot.name


def _within_memory(reel: Reel) -> int:
    """A width at which all frames of a moving picture fit into memory."""
    from cropmove.previews.movie import FALLBACK_BYTES

    size = reel.size
    share = (FALLBACK_BYTES / (size.width * size.height * 3 * reel.length)) ** 0.5
    return max(64, int(size.width * min(1.0, share)))


def _compared(compare: Shot | str | None) -> str:
    """The part of a preview's name that says what it is compared with.

    Examples
    --------
    >>> _compared("ease=smooth, ease_out=20"), _compared(None)
    ('.ease_smooth_ease_out_20', '')
    >>> _compared("ease=cubic-bezier(0.4, 0, 0.2, 1)")
    '.ease_cubic_bezier_0_4_0_0_2_1'
    """
    if compare is None:
        return ""
    text = compare if isinstance(compare, str) else compare.name
    return "." + re.sub(r"[\s!-/:-@\[-`{-~]+", "_", text).strip("_")


def _refuse_before(folder: Path, shot: Shot, file: str, overwrite: bool) -> None:
    """Say before the work, not after it, that a file is in the way."""
    from cropmove.rendering.made import Made

    made = Made.of(shot, folder)
    _refuse(made, file, made.states([(file, "")])[file], overwrite)


def _refuse(made: Made, file: str, state: State, overwrite: bool) -> None:
    from cropmove.rendering.made import State, not_ours

    if state in (State.FOREIGN, State.ANOTHERS) and not overwrite:
        remedy = f"{another_folder()}, or say {called('overwrite', True)}"
        raise complain(str(made.path.with_name(file)), "", not_ours(made, file, state), remedy)


def frames_named(text: str | None, shot: Shot) -> tuple[int, ...] | None:
    """Frames from a text such as "1,10-20"; None where there is none."""
    from cropmove.rendering.orders import frame_numbers

    return None if text is None else frame_numbers(text, shot.length)


def points_named(texts: Iterable[str], shot: Shot) -> dict[str, tuple[float, float]]:
    """Points of the set from texts such as "dot=1200,50%".

    Raises
    ------
    InputError
        With every text that is none.

    Examples
    --------
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> from cropmove.shot import Delivery, Stills
    >>> key = Key(frame=1, framing=Framing(x=3000, y=2000, width=3840))
    >>> shot = Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=(key,),
    ...             stills=Stills(size=Size(6000, 4000)))
    >>> points_named(["dot on the buoy=1200,50%"], shot)
    {'dot on the buoy': (1200.0, 2000.0)}
    """
    found, points = Complaints(), {}
    for text in texts:
        with found.at(called("points")):
            name, point = _point(text, shot)
            points[name] = point
    found.settle()
    return points


def _point(text: str, shot: Shot) -> tuple[str, tuple[float, float]]:
    name, _, place = text.rpartition("=")
    sides = [side.strip() for side in place.split(",")]
    if not name.strip() or len(sides) != 2:
        rule = "a point has a name and a place on the still, across and down"
        raise complain("", text, rule, 'write, say, "dot=1200,50%"')
    across, down = map(number_or_text, sides)
    return name.strip(), _spot((across, down), shot)


def _spot(place: tuple[float | str, float | str], shot: Shot) -> tuple[float, float]:
    """A place on the still in pixels, from pixels or shares of it."""
    size = shot.stills.size
    across, down = place
    return length(across, size.width if size else None), length(down, size.height if size else None)


def _on_still(
    points: Mapping[str, tuple[float | str, float | str]], shot: Shot
) -> dict[str, tuple[float, float]]:
    found, there = Complaints(), {}
    for name, place in points.items():
        with found.at(f"{called('points')}, {name}"):
            if isinstance(place, str) or len(place) != 2:
                rule = "a point has a place on the still, across and down"
                raise complain("", place, rule, 'give, say, (1200, "50%")')
            there[name] = _spot(place, shot)
    found.settle()
    return there


def _other(given: Shot | str | Path | None) -> Shot | str | None:
    """What to compare with: the shot of another shot file, or the words of a change."""
    if isinstance(given, str) and given.strip().endswith(".toml"):
        given = Path(given.strip())
    if not isinstance(given, Path):
        return given
    from cropmove.shotfile import load

    with placed(called("compare")):
        return load(given)
