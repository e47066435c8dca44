"""One function for each thing a user can ask for. The command line and Python call these."""

from __future__ import annotations

import csv
import io
import os
import re
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import nullcontext, suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Protocol

from cropmove.checks.batch import check_batch
from cropmove.checks.finding import Finding, Run, frames_text, runs_of
from cropmove.checks.registry import STOPPING, check_named, faults_left, findings_of
from cropmove.errors import Complaint, CropmoveError, InputError, MoveFault, called, complain
from cropmove.files import another_folder, drop_left_parts, make_folder, refuse_old
from cropmove.geometry import Size
from cropmove.machine import workers_for
from cropmove.move.course import Course
from cropmove.planning import Wish, plan, planned_size
from cropmove.shot import Shot, Stills
from cropmove.shotfile import dumps, load, place_text, save, source_from

if TYPE_CHECKING:
    from cropmove.rendering.made import Made, State
    from cropmove.rendering.orders import Order
    from cropmove.rendering.sequence import Outcome

__all__ = [
    "COLUMNS",
    "Clock",
    "Progress",
    "Rendered",
    "Wish",
    "check",
    "check_batch",
    "load",
    "new",
    "render",
    "save",
    "table",
]

COLUMNS = (
    "frame", "still", "centre_x", "centre_y", "width", "height", "roll", "scale", "step",
)  # fmt: skip
"""The columns of a table, in order."""


def check(
    shot: Shot,
    *,
    stills: bool = False,
    folder: str | Path | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Finding, ...]:
    """What would go wrong with a shot, gravest first.

    Parameters
    ----------
    shot : Shot
    stills : bool
        Whether to look at the stills' pixels too, which takes a fraction of a second for each.
    folder : path, optional
        Where its frames will go, to ask how much room is there.
    progress : callable, optional
        Called with the stills looked at and the stills in all.

    Raises
    ------
    InputError
        Where a still cannot be read at all.
    """
    return findings_of(shot, stills=stills, folder=folder, progress=progress)


def table(shot: Shot) -> str:
    """The course as CSV, a row a frame; every number reads back to the same bits.

    Parameters
    ----------
    shot : Shot

    Returns
    -------
    str
        A row of names, `COLUMNS`, and the rows: lengths in pixels of the still, the roll in
        degrees, the scale in delivered pixels per still pixel, the step in delivered pixels.

    Examples
    --------
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> from cropmove.shot import Delivery
    >>> still = Key(frame=1, framing=Framing(x=3000, y=2000, width=3840))
    >>> print(table(Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=(still,))))
    frame,still,centre_x,centre_y,width,height,roll,scale,step
    1,1,3000.0,2000.0,3840.0,2160.0,0.0,0.5,0.0
    """
    course = shot.course()
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    columns = (
        course.frame, course.still, course.x, course.y, course.width, course.height,
        course.roll, course.scale, course.step,
    )  # fmt: skip
    writer.writerows(zip(*(column.tolist() for column in columns), strict=True))
    return out.getvalue()


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a render is: frames done of all, and seconds since the engine was ready for them."""

    done: int
    total: int
    seconds: float

    @property
    def rate(self) -> float:
        """Frames a second so far."""
        return self.done / self.seconds if self.seconds > 0 else 0.0

    @property
    def left(self) -> float | None:
        """Seconds left at that rate; None where it cannot be told yet."""
        return (self.total - self.done) / self.rate if self.rate else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rendered:
    """What a render did.

    Parameters
    ----------
    out : Path
        The folder of the frames; the file of a movie.
    made, kept : int
        Frames written, and frames that were there already and up to date.
    without_still : int
        Frames left out because there is no still for them.
    seconds : float
        How long the frames took; a compile before them is not counted.
    trouble : tuple of Complaint
        About stills that could not be read; their frames are missing.
    beyond : tuple of str
        Frames in the folder that the shot has no more: it was longer once, or had more stills.
    """

    out: Path
    made: int
    kept: int
    without_still: int
    seconds: float
    trouble: tuple[Complaint, ...] = ()
    beyond: tuple[str, ...] = ()


def render(
    shot: Shot,
    *,
    out: str | Path | None = None,
    frames: Iterable[int] | None = None,
    overwrite: bool = False,
    allow: str | Iterable[str] = (),
    workers: int | None = None,
    executor: Executor | None = None,
    progress: Callable[[Progress], None] | None = None,
    say: Callable[[str], None] | None = None,
) -> Rendered:
    """Make the delivered frames of a shot that are missing or out of date.

    Parameters
    ----------
    shot : Shot
    out : path, optional
        The folder of the frames; NAME_frames in the current folder where it is not given.
    frames : iterable of int, optional
        Only these.
    overwrite : bool
        Whether files that cropmove did not make may be written over, and those of another shot.
    allow : str or iterable of str
        Ids of checks whose faults do not stop the render; one alone, or several.
    workers : int, optional
        How many frames are worked on at a time; the number of processors if not given.
    executor : concurrent.futures.Executor, optional
        Who does the work; threads if not given.
    progress : callable, optional
        Called with a `Progress` as frames are done.
    say : callable, optional
        Called with a line that a person waiting would want to know.

    Raises
    ------
    MoveFault
        Where the checks find a fault that is not allowed.
    InputError
        Where there are no stills, the frames would go among them, or files are in the way that
        cropmove did not make, or made of another shot.
    MachineError
        Where the disk will not have it. Frames that are there are whole.
    """
    from cropmove.rendering.made import Made, State
    from cropmove.rendering.orders import frames_in, orders_of

    folder = Path(out) if out is not None else Path(f"{shot.name}_frames")
    at_a_time = workers_for(workers)
    _refuse_faults(shot, folder, allow)
    encoding = shot.delivery.encoding
    course = shot.course()
    chosen = range(1, len(course) + 1) if frames is None else frames_in(frames, len(course))
    orders = orders_of(shot, course, chosen, encoding.format.suffix)
    movie = ""
    if encoding.format.is_movie:
        movie = _movie_name(shot.name, chosen, len(course)) + encoding.format.suffix
    files = _files_of(shot, orders, movie)
    _refuse_among_stills(shot, folder, files)
    make_folder(folder)
    drop_left_parts(folder)
    made = Made.of(shot, folder)
    states = made.states(files.items())
    in_the_way = [f for f, state in states.items() if state in (State.FOREIGN, State.ANOTHERS)]
    if in_the_way and not overwrite:
        with_still = (n for n in chosen if course.still[n - 1] <= len(shot.stills))
        by_frame = () if movie else zip(with_still, orders, strict=True)
        others = [number for number, order in by_frame if order.file not in in_the_way]
        raise _not_ours(made, {file: states[file] for file in in_the_way}, others)
    if movie:
        todo = orders if State.CURRENT not in states.values() else ()
    else:
        todo = tuple(order for order in orders if states[order.file] is not State.CURRENT)
    clock, done, trouble = Clock(), 0, {}
    for outcome in _worked(shot, course, todo, movie, made, at_a_time, executor, say, clock):
        done += outcome.written
        if outcome.error:
            trouble.update({str(complaint): complaint for complaint in outcome.error.complaints})
        if progress:
            progress(Progress(done=done, total=len(todo), seconds=clock.seconds))
    return Rendered(
        out=folder / movie,
        made=done,
        kept=len(orders) - len(todo),
        without_still=len(chosen) - len(orders),
        seconds=clock.seconds,
        trouble=tuple(trouble.values()),
        beyond=() if movie else _beyond(folder, shot, course, encoding.format.suffix),
    )


def _beyond(folder: Path, shot: Shot, course: Course, suffix: str) -> tuple[str, ...]:
    """Frames that the shot had once: an edit would take them for part of it."""
    named_so = re.compile(rf"{re.escape(shot.name)}\.(\d+){re.escape(suffix)}")
    found = {}
    with suppress(OSError):  # some folders may be written to, but not looked into
        found = {path.name: named_so.fullmatch(path.name) for path in folder.iterdir()}
    numbers = {name: int(of_shot[1]) for name, of_shot in found.items() if of_shot}
    has = int((course.still <= len(shot.stills)).sum())
    return tuple(sorted(name for name, number in numbers.items() if number > has))


class Clock:
    """Seconds since it was last set off."""

    def __init__(self) -> None:
        self.set_off()

    def set_off(self) -> None:
        """Begin anew."""
        self._began = time.perf_counter()

    @property
    def seconds(self) -> float:
        """As many as have gone by."""
        return time.perf_counter() - self._began


def _movie_name(shot: str, frames: Sequence[int], length: int) -> str:
    """What a movie of these frames is called: one of a few never takes the place of the whole.

    Examples
    --------
    >>> _movie_name("quay", range(1, 49), 48), _movie_name("quay", [1, 10, 11, 12], 48)
    ('quay', 'quay.1,10-12')
    """
    if len(frames) in (0, length):
        return shot
    runs = runs_of(frames)
    return f"{shot}.{_runs_text(runs if len(runs) <= _MOST_RUNS else [(frames[0], frames[-1])])}"


def _runs_text(runs: Iterable[Run]) -> str:
    """Frames as the command line takes them."""
    return ",".join(f"{first}" if first == last else f"{first}-{last}" for first, last in runs)


@dataclass(frozen=True, slots=True)
class _Frames:
    """Frames to ask for, as text for the command line, and as Python would write them.

    Examples
    --------
    >>> print(_Frames([(1, 1), (10, 20)]), repr(_Frames([(1, 1), (10, 20)])))
    1,10-20 [1, *range(10, 21)]
    """

    runs: Sequence[Run]

    def __str__(self) -> str:
        return _runs_text(self.runs)

    def __repr__(self) -> str:
        parts = (f"{a}" if a == b else f"*range({a}, {b + 1})" for a, b in self.runs)
        return f"[{', '.join(parts)}]"


_MOST_RUNS = 6
"""More than so many are no help to anybody."""


def _files_of(shot: Shot, orders: Sequence[Order], movie: str) -> dict[str, str]:
    """The files that are delivered, each with the fingerprint of what it is made from."""
    if not movie:
        return {order.file: order.inputs for order in orders}
    from cropmove.rendering.deliver import movie_inputs

    return {movie: movie_inputs(orders, shot.fps)}


def _worked(
    shot: Shot,
    course: Course,
    todo: Sequence[Order],
    movie: str,
    made: Made,
    workers: int,
    executor: Executor | None,
    say: Callable[[str], None] | None,
    clock: Clock,
) -> Iterator[Outcome]:
    """The orders carried out; the engine is woken only where there is something to do.

    While it wakes, the first stills are read. The clock is set off when it is awake.
    """
    if not todo:
        return
    from cropmove.rendering.deliver import to_files, to_movie
    from cropmove.rendering.look import look_of
    from cropmove.rendering.ready import make_ready
    from cropmove.rendering.sequence import Desk, pieces_of

    encoding = shot.delivery.encoding
    look = look_of(shot.delivery, course)
    pieces = pieces_of(todo)
    desk = Desk.for_pieces(pieces, look)
    deliver = to_files
    if movie:
        deliver = partial(to_movie, file=movie, fps=shot.fps)
    with nullcontext(executor) if executor else ThreadPoolExecutor(workers) as pool:
        if not executor:  # others may be other processes, with desks of their own
            for still in dict.fromkeys(piece.still for piece in pieces[:workers]):
                pool.submit(desk.read_ahead, still)
        make_ready(encoding, say, rolled=look.rolled)
        clock.set_off()
        yield from deliver(
            pieces, desk=desk, look=look, encoding=encoding, made=made, pool=pool, workers=workers
        )


def _refuse_among_stills(shot: Shot, folder: Path, files: Iterable[str]) -> None:
    """Keep frames off the stills, and out of a folder in which they would be taken for stills."""
    refs, where = shot.stills.refs, os.path.realpath(folder)  # not stopped by a link to itself
    lying_in = {still.path.parent for still in refs}
    here = {path for path in lying_in if os.path.realpath(path) == where}
    # Some disks tell no capitals.
    names = {still.path.name.casefold() for still in refs if still.path.parent in here}
    over = next((file for file in files if file.casefold() in names), None)
    if over:
        rule = "that is a still of the shot, and nothing is written over it"
        raise complain(str(folder / over), "", rule, another_folder())
    is_one_file = names == {Path(shot.stills.source or "").name.casefold()}
    if names and not is_one_file:
        rule = "frames do not go among the stills that they are made of"
        raise complain(str(folder), "", rule, another_folder())


def _refuse_faults(shot: Shot, folder: Path, allow: str | Iterable[str]) -> None:
    """Stop where the frames would go wrong; what is moved by hand has no part in them."""
    if not len(shot.stills):
        if not shot.stills.source:
            remedy = 'write stills = "FOLDER" under [shot]'
            raise complain("shot, stills", "", "a render needs stills", remedy)
        need = int(shot.course().still.max())
        remedy = f'photograph {need}, or write where they lie: stills = "FOLDER" under [shot]'
        rule = "a render needs stills, and there are none yet"
        raise complain("shot, stills", shot.stills.source, rule, remedy)
    faults = faults_left(findings_of(shot, folder=folder, checks=STOPPING), allow)
    if faults:
        raise MoveFault(*map(_refusal, faults))


def _refusal(fault: Finding) -> Complaint:
    allowed = f"; to render all the same: {called('allow', fault.id)}"
    return Complaint(
        where=f"{fault.id}, {frames_text(fault.frames)}" if fault.frames else fault.id,
        rule=fault.what,
        remedy=fault.remedy + ("" if check_named(fault.id).is_final else allowed),
    )


def _not_ours(made: Made, files: Mapping[str, State], others: Sequence[int]) -> InputError:
    """Files are in the way; `others` are the frames that could be made without them."""
    from cropmove.rendering.made import not_ours

    folder, (first, state) = made.path.parent, next(iter(files.items()))
    alike = [file for file, its in files.items() if its is state]
    shown = ", ".join(alike[:3]) + (f" and {len(alike) - 3} more" if len(alike) > 3 else "")
    rule = f"{not_ours(made, first, state)}: {shown}"
    runs = runs_of(others)
    rest = ""
    if 0 < len(runs) <= _MOST_RUNS:
        rest = f"to make the others say {called('frames', _Frames(runs))}; or "
    elsewhere = f"{another_folder()}, or say {called('overwrite', True)}"
    return complain(str(folder), "", rule, rest + elsewhere)


def new(
    path: str | Path, stills: str | Path, wish: Wish, *, overwrite: bool = False
) -> tuple[Shot, str]:
    """Write a shot file from a few words.

    Parameters
    ----------
    path : path
        The shot file.
    stills : str or path
        Where the stills are, seen from here: a folder, a glob, a numbered pattern, or one file.
        Where the wish says how large they will be, they may be missing still; it may be empty then.
    wish : Wish
    overwrite : bool
        Whether a shot file that is there may be written over.

    Returns
    -------
    Shot, str
        The shot, and a line that says what it is and how far it could go.

    Raises
    ------
    InputError
        Where the stills or the wish will not do, or the file is there.
    """
    path, stills, planned = Path(path), os.fspath(stills), planned_size(wish)
    if not stills and not planned:
        remedy = f"name a folder of them; {_stills_to_come()}"
        raise complain("stills", '""', "a shot is made of stills", remedy)
    refuse_old(path, overwrite=overwrite)
    found = _surveyed(stills, planned)
    source = source_from(stills, path) if stills else ""
    shot, sentence = plan(path.stem, replace(found, source=source), wish)
    told = fill(sentence, 78, initial_indent="# ", subsequent_indent="# ")
    text = f"{told}\n{HEADING}\n{dumps(shot)}"
    place_text(path, text, stills=stills, overwrite=overwrite)
    return shot, sentence


def _stills_to_come() -> str:
    size = called("still_size", "6000x4000")
    return f"or, before they are photographed, say their size: {size}"


def _surveyed(stills: str, planned: Size | None) -> Stills:
    """The stills that are there, or else those to come."""
    try:
        return Stills.found(stills, planned=planned) if stills else Stills(size=planned)
    except InputError as error:
        first, *others = error.complaints
        if not first.where:
            raise error.within("stills") from None
        if planned or os.path.isfile(stills):
            raise
        remedy = f"{first.remedy}; {_stills_to_come()}"
        raise InputError(replace(first, remedy=remedy), *others) from None


HEADING = """\
# Frames count from 1. Lengths are pixels of the still, or shares of it such as "50%".
# Times are frames, or seconds such as "0.5 s".
"""


def file_for(stills: str) -> Path:
    """The name of the shot file that is made of some stills, where nobody gives one.

    Examples
    --------
    >>> file_for("harbour/*.jpg").name, file_for("harbour/").name, file_for("set.jpg").name
    ('harbour.toml', 'harbour.toml', 'set.toml')
    >>> file_for("quay/*/*.jpg").name, file_for("..").name
    ('quay.toml', 'shot.toml')
    """
    path = Path(stills)
    while any(sign in path.name for sign in "*?#%["):
        path = path.parent
    return Path(f"{path.stem.strip('.') or 'shot'}.toml")


class Watch(Protocol):
    """Who is told how a batch goes."""

    def begin(self, path: Path) -> None:
        """Another shot begins."""
        ...

    def progress(self, at: Progress) -> None:
        """So many of its frames are done."""
        ...

    def say(self, text: str) -> None:
        """Something that a person waiting would want to know."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """How one shot of a batch ended: rendered, or refused, or stopped in the middle."""

    path: Path
    rendered: Rendered | None = None
    error: CropmoveError | None = None

    @property
    def exit_code(self) -> int:
        """0 done, 1 a fault in the move, 2 something that could not be used."""
        if self.error is not None:
            return self.error.exit_code
        return 2 if self.rendered and self.rendered.trouble else 0


def several(paths: Iterable[Path]) -> tuple[Path, ...]:
    """Shot files to be worked on one after another.

    Raises
    ------
    InputError
        Where there is none, or one is named twice.
    """
    all_of = tuple(paths)
    if not all_of:
        raise complain("SHOT", "", "there is at least one shot file", "name one, NAME.toml")
    for path in all_of:
        if all_of.count(path) > 1:
            raise complain("SHOT", str(path), "a shot is named once", "take one of them out")
    return all_of


def render_batch(
    paths: Iterable[Path],
    *,
    out: Path | None = None,
    frames: str | None = None,
    overwrite: bool = False,
    allow: str | Iterable[str] = (),
    workers: int | None = None,
    watch: Watch | None = None,
) -> tuple[Result, ...]:
    """Render several shots; a bad one does not stop the others.

    Parameters
    ----------
    paths : iterable of Path
        Shot files.
    out : Path, optional
        One folder for all frames; NAME_frames beside each shot file where it is not given.
    frames : str, optional
        Such as "10-20".
    overwrite, allow, workers
        As for `render`.
    watch : Watch, optional

    Raises
    ------
    InputError
        Where two shots would give their frames the same names.
    """
    from cropmove.rendering.orders import frame_numbers

    def one(path: Path) -> Result:
        try:
            shot = load(path)
        except CropmoveError as error:
            return Result(path=path, error=error)
        try:
            done = render(
                shot,
                out=out or path.parent / f"{path.stem}_frames",
                frames=None if frames is None else frame_numbers(frames, shot.length),
                overwrite=overwrite,
                allow=allow,
                workers=workers,
                progress=watch.progress if watch else None,
                say=watch.say if watch else None,
            )
        except CropmoveError as error:
            # A shot file that cannot be read names itself; what comes later does not.
            return Result(path=path, error=error.within(str(path)))
        trouble = tuple(complaint.within(str(path)) for complaint in done.trouble)
        return Result(path=path, rendered=replace(done, trouble=trouble))

    results = []
    for path in _distinct(several(paths), out):
        if watch:
            watch.begin(path)
        results.append(one(path))
    return tuple(results)


def _distinct(paths: tuple[Path, ...], out: Path | None) -> tuple[Path, ...]:
    names = [path.stem for path in paths]
    twice = next((name for name in names if names.count(name) > 1), None)
    if out is not None and twice:
        rule = "shots that share a folder have different names"
        raise complain(called("out"), str(out), rule, f"two are called {twice}: leave it out")
    return paths
