"""The frames of a preview, in order, made a few at a time by several workers."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Iterator, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, log2
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.finding import Finding
from cropmove.geometry import Size
from cropmove.previews.burnt import (
    PLAIN,
    Marks,
    findings_in,
    named,
    outlined,
    safe_outlines,
    tagged,
)
from cropmove.previews.compare import shown_at
from cropmove.previews.kept import Kept
from cropmove.previews.size import preview_size
from cropmove.previews.small import Small
from cropmove.previews.source import Source
from cropmove.stills.find import StillRef

__all__ = ["Reel", "Row", "ordinal", "preview_frames", "reduction", "row_of"]

Frame = NDArray[np.uint8]

_GAP = 4
"""Pixels between two shots that are compared."""
_AT_A_TIME = 4
"""Frames in a piece of work."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Row:
    """One shot of a preview.

    Parameters
    ----------
    source : Source
    size : Size
        Of its frames.
    findings : tuple of Finding
    label : str
        Written into its corner; empty where there is one row only.
    nth : int
        2 where every second still is shown only, and so on: it says so.
    """

    source: Source
    size: Size
    findings: tuple[Finding, ...] = ()
    label: str = ""
    nth: int = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reel:
    """What a preview plays: rows one above the other, at one rate.

    Parameters
    ----------
    rows : tuple of Row
        One, or two to compare.
    fps : Fraction
    marks : Marks
    """

    rows: tuple[Row, ...]
    fps: Fraction
    marks: Marks = PLAIN

    @property
    def size(self) -> Size:
        """Of the movie's frames."""
        height = sum(row.size.height for row in self.rows) + _GAP * (len(self.rows) - 1)
        return Size(max(row.size.width for row in self.rows), height)

    @property
    def length(self) -> int:
        """Frames played: as many as the longest row takes."""
        courses = (row.source.course for row in self.rows)
        return max(ceil(Fraction(len(course)) / course.fps * self.fps) for course in courses)


def row_of(source: Source, *, width: int, findings: Sequence[Finding] = (), label: str = "") -> Row:
    """A row about so many pixels wide."""
    size = preview_size(source.course.delivery, width)
    return Row(source=source, size=size, findings=tuple(findings), label=label)


def reduction(row: Row) -> float:
    """Pixels of a still that the row needs for one of the whole still: 1, 1/2, 1/4 or 1/8.

    The tightest framing may go soft, one part in three: decoders are quick at halves.

    Examples
    --------
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> from cropmove.shot import Delivery, Shot
    >>> key = Key(frame=1, framing=Framing(x=3000, y=2000, width=6000))
    >>> shot = Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=(key,))
    >>> reduction(row_of(Source(shot=shot, course=shot.course()), width=960))
    0.125
    """
    wanted = 0.65 * row.size.width / float(row.source.course.width.min())
    return float(min(1.0, 2.0 ** ceil(max(-3.0, log2(wanted)))))


class _Shelf:
    """The stills at hand, each decoded once by whoever asks first; the oldest makes room."""

    def __init__(self, room: int, kept: Kept | None) -> None:
        self._room, self._kept, self._guard = room, kept, Lock()
        self._held: dict[Hashable, tuple[Lock, list[Small]]] = {}

    def small(self, number: int, row: Row, still: StillRef | None) -> Small:
        at_least = reduction(row)
        # Rows that are compared show the same stills; what stands in for none is each one's own.
        name = (still, at_least) if still else number
        with self._guard:
            lock, place = self._held.setdefault(name, (Lock(), []))
            while len(self._held) > self._room:
                del self._held[next(iter(self._held))]
        with lock:
            if not place:
                place.append(row.source.small(still, at_least, self._kept))
        return place[0]


def preview_frames(
    reel: Reel, pool: Executor, workers: int, kept: Kept | None = None
) -> Iterator[Frame]:
    """Every frame in order, (h, w, 3) of 8 bits; only a few more than `workers` wait in memory.

    Small stills are taken from `kept`, where it is given, and kept there.
    """
    shown = [
        shown_at(len(row.source.course), row.source.course.fps, reel.fps, reel.length)
        for row in reel.rows
    ]
    shelf = _Shelf(room=(workers + 2) * len(reel.rows), kept=kept)
    waiting: deque[Future[list[Frame]]] = deque()

    def piece(numbers: range) -> list[Frame]:
        return [_frame(reel, shelf, [frames[n] for frames in shown]) for n in numbers]

    try:
        for start in range(0, reel.length, _AT_A_TIME):
            numbers = range(start, min(start + _AT_A_TIME, reel.length))
            waiting.append(pool.submit(piece, numbers))
            if len(waiting) > workers:
                yield from waiting.popleft().result()
        while waiting:
            yield from waiting.popleft().result()
    finally:
        for future in waiting:
            future.cancel()


def _frame(reel: Reel, shelf: _Shelf, frames: Sequence[int]) -> Frame:
    whole = np.full((reel.size.height, reel.size.width, 3), 255, np.uint8)
    top = 0
    for number, (row, frame) in enumerate(zip(reel.rows, frames, strict=True)):
        small = shelf.small(number, row, row.source.still_of(frame))
        picture = _marked(row, reel.marks, frame, small)
        whole[top : top + row.size.height, : row.size.width] = picture
        top += row.size.height + _GAP
    return whole


def _marked(row: Row, marks: Marks, frame: int, small: Small) -> Frame:
    source = row.source
    picture = small.frame(source.course[frame], row.size)
    limits, photographed = source.shot.limits, source.is_photographed(frame)
    if marks.subject or not photographed:
        picture = _with_subjects(picture, row, frame)
    if marks.safe:
        outlines = safe_outlines(row.size, limits.action_safe, limits.title_safe)
        picture = outlined(picture, outlines)
    tagged(picture, _told(row.nth, photographed), "bottom left")
    if marks.number:
        seconds = float(source.course.seconds[frame - 1])
        tagged(picture, f"{frame} of {len(source.course)}   {seconds:.2f} s", "bottom right")
    if row.label:
        tagged(picture, row.label, "top left")
    if marks.findings:
        for line, text in enumerate(findings_in(row.findings, frame)):
            tagged(picture, text, "top right", line)
    return picture


def _told(nth: int, photographed: bool) -> str:
    """What a frame says of itself.

    Examples
    --------
    >>> _told(2, True), _told(4, False)
    ('preview, every second still', 'preview, not photographed yet')
    """
    if not photographed:
        return "preview, not photographed yet"
    return f"preview, every {ordinal(nth)} still" if nth > 1 else "preview"


def ordinal(nth: int) -> str:
    """Second, third, and so on."""
    return {2: "second", 3: "third", 4: "fourth", 5: "fifth"}.get(nth, f"{nth}th")


def _with_subjects(picture: Frame, row: Row, frame: int) -> Frame:
    """Boxes where the subjects are in the frame."""
    course, on = row.source.course, row.source.shot.on
    framing, scale = course[frame], row.size.width / course.delivery.width
    boxes = []
    for subject in row.source.shot.subjects:
        corners = subject.boxes(frame, on)[-1]
        if np.ptp(corners) == 0:
            corners = corners + np.array([(-1, 0), (0, -1), (1, 0), (0, 1)]) * framing.width / 80
        seen = framing.to_frame(corners, course.delivery) * scale
        boxes.append((seen, ()))
    if not boxes:
        return picture
    picture = outlined(picture, boxes, strong=True)
    for subject, (seen, _) in zip(row.source.shot.subjects, boxes, strict=True):
        named(picture, subject.name, seen)
    return picture
