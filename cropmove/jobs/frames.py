"""The delivered frames of a shot."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import nullcontext, suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from cropmove.checks.finding import runs_of
from cropmove.errors import Complaint
from cropmove.files import drop_left_parts, make_folder
from cropmove.jobs.refused import (
    MOST_RUNS,
    refuse_among_stills,
    refuse_faults,
    refuse_in_the_way,
    runs_text,
)
from cropmove.machine import workers_for
from cropmove.move.course import Course
from cropmove.shot import Shot

if TYPE_CHECKING:
    from cropmove.rendering.made import Made
    from cropmove.rendering.orders import Order
    from cropmove.rendering.sequence import Outcome

__all__ = ["Clock", "Progress", "Rendered", "render"]


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
    refuse_faults(shot, folder, allow)
    encoding = shot.delivery.encoding
    course = shot.course()
    chosen = range(1, len(course) + 1) if frames is None else frames_in(frames, len(course))
    orders = orders_of(shot, course, chosen, encoding.format.suffix)
    movie = ""
    if encoding.format.is_movie:
        movie = _movie_name(shot.name, chosen, len(course)) + encoding.format.suffix
    files = _files_of(shot, orders, movie)
    refuse_among_stills(shot, folder, files)
    make_folder(folder)
    drop_left_parts(folder)
    made = Made.of(shot, folder)
    states = made.states(files.items())
    if not overwrite:
        refuse_in_the_way(made, states, {order.file: order.frame for order in orders})
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


def _files_of(shot: Shot, orders: Sequence[Order], movie: str) -> dict[str, str]:
    """The files that are delivered, each with the fingerprint of what it is made from."""
    if not movie:
        return {order.file: order.inputs for order in orders}
    from cropmove.rendering.deliver import movie_inputs

    return {movie: movie_inputs(orders, shot.fps)}


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
    return f"{shot}.{runs_text(runs if len(runs) <= MOST_RUNS else [(frames[0], frames[-1])])}"


def _beyond(folder: Path, shot: Shot, course: Course, suffix: str) -> tuple[str, ...]:
    """Frames that the shot had once: an edit would take them for part of it."""
    named_so = re.compile(rf"{re.escape(shot.name)}\.(\d+){re.escape(suffix)}")
    found = {}
    with suppress(OSError):  # some folders may be written to, but not looked into
        found = {path.name: named_so.fullmatch(path.name) for path in folder.iterdir()}
    numbers = {name: int(of_shot[1]) for name, of_shot in found.items() if of_shot}
    has = int((course.still <= len(shot.stills)).sum())
    return tuple(sorted(name for name, number in numbers.items() if number > has))
