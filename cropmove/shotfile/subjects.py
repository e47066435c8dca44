"""[[subject]]: where a subject is at a frame. A point without a size has that of the last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

import tomlkit
from tomlkit.items import AoT

from cropmove.errors import Complaints, complain
from cropmove.geometry import Size
from cropmove.move.subject import Point, Subject
from cropmove.shotfile.reader import Reader, count, pair, word
from cropmove.units import duration, written

__all__ = ["SUBJECT_WORDS", "place_subjects", "read_subjects", "subject_words"]

SUBJECT_WORDS = ("name", "frame", "time", "centre", "size")
UNNAMED = "subject"


def read_subjects(
    data: Mapping[str, Any], still: Size | None, fps: Fraction, found: Complaints
) -> tuple[Subject, ...]:
    """What the [[subject]] tables say: points of the same name are one subject.

    Parameters
    ----------
    data : mapping
        The file.
    still : Size or None
        What shares are shares of.
    fps : Fraction
    found : Complaints
    """
    tables = data.get("subject", [])
    if not isinstance(tables, list):
        with found.at("subject"):
            rule = "a subject is one or more [[subject]] tables"
            raise complain("", tables, rule, "write [[subject]] with frame and centre")
        return ()
    points: dict[str, list[Point]] = {}
    for number, table in enumerate(tables, start=1):
        reader = Reader(table, f"subject {number}", SUBJECT_WORDS, found)
        name = reader.take("name", word, UNNAMED)
        series = points.setdefault(name, [])
        point = _point(reader, series[-1] if series else None, still, fps)
        if point:
            series.append(point)
    return tuple(
        subject for name, series in points.items() if (subject := _subject(name, series, found))
    )


def _subject(name: str, points: Sequence[Point], found: Complaints) -> Subject | None:
    if points:
        with found.at(f"subject {name}" if name != UNNAMED else "subject"):
            return Subject(name=name, points=tuple(points))
    return None


def _point(table: Reader, before: Point | None, still: Size | None, fps: Fraction) -> Point | None:
    known = len(table.found.all)
    across, down = (still.width, still.height) if still else (None, None)
    if ("frame" in table) == ("time" in table):
        rule = "a point is pinned by a frame or by a time, one of the two"
        table.lacks("frame", rule, 'write frame = 25, or time = "1 s"')
    frame = table.take("frame", count, table.take("time", lambda v: duration(v, fps) + 1, 1))
    if "centre" not in table:
        rule = "a point of a subject says where its centre is"
        table.lacks("centre", rule, 'add centre = ["50%", "50%"]')
    x, y = table.take("centre", lambda v: pair(v, across, down), (0.0, 0.0))
    usual = (before.width, before.height) if before else (0.0, 0.0)
    width, height = table.take("size", lambda v: pair(v, across, down), usual)
    if len(table.found.all) == known:
        with table.found.at(table.place):
            return Point(frame=frame, x=x, y=y, width=width, height=height)
    return None


def subject_words(subjects: Sequence[Subject]) -> list[dict[str, Any]]:
    """What the [[subject]] tables would say, one a point."""
    return [_point_words(subject, n) for subject in subjects for n in range(len(subject.points))]


def _point_words(subject: Subject, number: int) -> dict[str, Any]:
    point = subject.points[number]
    before = subject.points[number - 1] if number else Point(frame=1, x=0, y=0)
    size = (point.width, point.height)
    words: dict[str, Any] = {} if subject.name == UNNAMED else {"name": subject.name}
    words |= {"frame": point.frame, "centre": [written(point.x), written(point.y)]}
    if size != (before.width, before.height):
        words["size"] = [written(side) for side in size]
    return words


def place_subjects(
    document: tomlkit.TOMLDocument,
    subjects: Sequence[Subject],
    old: Sequence[Subject],
    retimed: bool,
) -> None:
    """Write the [[subject]] tables anew, keeping those whose point has not changed.

    Parameters
    ----------
    document : TOMLDocument
        The file, which is changed.
    subjects, old : sequence of Subject
        What it is to say, and what it says.
    retimed : bool
        Whether its rate changes, so that a time in it would be another frame.
    """
    tables = list(document.get("subject", []))
    timed = retimed and any("time" in table for table in tables)
    if tuple(subjects) == tuple(old) and not timed:
        return
    as_tables = isinstance(document.get("subject"), AoT)
    kept = _by_point(old, tables, retimed) if as_tables else {}
    placed = AoT([])
    for subject in subjects:
        for number, point in enumerate(subject.points):
            table = kept.get((subject.name, point))
            placed.append(_new_table(_point_words(subject, number)) if table is None else table)
    if tables:
        document.remove("subject")
    if len(placed):
        document.append("subject", placed)


def _by_point(
    old: Sequence[Subject], tables: list[Any], retimed: bool
) -> dict[tuple[str, Point], Any]:
    """The tables of a file by the point each one gives; tables of a subject stand in order."""
    waiting: dict[str, list[Any]] = {}
    for table in tables:
        waiting.setdefault(str(table.get("name", UNNAMED)), []).append(table)
    return {
        (subject.name, point): table
        for subject in old
        for point, table in zip(subject.points, waiting.get(subject.name, []), strict=False)
        # A table that takes its size from the one before would change with it.
        if ("size" in table or not (point.width or point.height))
        and not (retimed and "time" in table)
    }


def _new_table(words: Mapping[str, Any]) -> Any:
    table = tomlkit.table()
    for name, value in words.items():
        table[name] = value
    return table
