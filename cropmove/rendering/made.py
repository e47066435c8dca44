"""Who made which frame: so that nothing is done twice, and nobody else's file is written over.

Beside the frames lies NAME.made.jsonl: a line for each frame that was written, with the shot and
what it was made from, and what the file then looked like. A line is added just before the frame
gets its name, so a frame without a line was not made here, and a line without its frame does no
harm.
"""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from enum import Enum
from pathlib import Path

from isal import isal_zlib

from cropmove.files import speaking_plainly, writing_whole
from cropmove.shot import Shot

__all__ = ["Made", "State", "kept_off"]


class State(Enum):
    """What stands where a frame belongs."""

    MISSING = "missing"
    CURRENT = "current"
    OUTDATED = "outdated"
    ANOTHERS = "another shot's"
    FOREIGN = "foreign"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    file: str
    inputs: str
    size: int
    changed: int
    checksum: int
    shot: str = ""


@dataclass(frozen=True, slots=True)
class Made:
    """The record of a shot's frames, no more than where it is, so that every worker can hold it.

    Parameters
    ----------
    path : Path
    shot : str
        The shot's file as it is seen from the frames, which tells it from others of its name; empty
        where nothing is known.
    """

    path: Path
    shot: str = ""

    @classmethod
    def of(cls, shot: Shot, folder: Path) -> Made:
        """The record of a shot's frames in a folder."""
        path = folder / f"{shot.name}.made.jsonl"
        origin = shot.file or Path(shot.stills.source)
        if origin == Path():
            return cls(path)
        with suppress(ValueError):  # two drives
            origin = Path(os.path.relpath(os.path.realpath(origin), os.path.realpath(folder)))
        return cls(path, shot=origin.as_posix())

    def lines(self) -> dict[str, list[_Line]]:
        """What was written, by file name, oldest first; a damaged line is passed over."""
        found: dict[str, list[_Line]] = {}
        with speaking_plainly(self.path):
            if not self.path.exists():
                return found
            text = self.path.read_text("utf-8", errors="replace")
        for raw in text.splitlines():
            try:
                line = _Line(**json.loads(raw))
                found.setdefault(line.file, []).append(line)
            except (ValueError, TypeError, RecursionError):
                continue
        return found

    def states(self, wanted: Iterable[tuple[str, str]]) -> dict[str, State]:
        """The state of each file, given as (file name, what it is to be made from)."""
        asked = dict(wanted)
        found = self._states(asked)
        # Another render may have written a frame after the record was read.
        strange = {n: inputs for n, inputs in asked.items() if found[n] is State.FOREIGN}
        return found | self._states(strange) if strange else found

    def _states(self, wanted: Mapping[str, str]) -> dict[str, State]:
        lines = self.lines()
        return {
            file: _state(self.path.with_name(file), inputs, lines.get(file, []), self.shot)
            for file, inputs in wanted.items()
        }

    def write(self, file: str, inputs: str, *pieces: bytes | memoryview) -> None:
        """Write a frame, which may come in pieces, whole, its line first."""
        checksum = 0
        for piece in pieces:
            checksum = isal_zlib.crc32(piece, checksum)
        with self.writing(file, inputs, checksum) as part, part.open("wb") as whole:
            whole.writelines(pieces)

    @contextmanager
    def writing(self, file: str, inputs: str, checksum: int | None = None) -> Iterator[Path]:
        """A temporary name to write a file under; it gets its line and then its own at the end."""

        def note(part: Path) -> None:
            stat = part.stat()
            self._append(
                _Line(
                    file=file,
                    inputs=inputs,
                    size=stat.st_size,
                    changed=stat.st_mtime_ns,
                    checksum=_checksum(part) if checksum is None else checksum,
                    shot=self.shot,
                )
            )

        with writing_whole(self.path.with_name(file), before=note) as part:
            yield part

    def _append(self, line: _Line) -> None:
        # One write of one short line: whole, whichever worker comes first.
        text = json.dumps(asdict(line)).encode() + b"\n"
        with speaking_plainly(self.path), self.path.open("a+b", buffering=0) as file:
            if file.tell() and file.seek(-1, os.SEEK_END) >= 0 and file.read(1) != b"\n":
                text = b"\n" + text  # what a full disk has torn off stays a line of its own
            if file.write(text) != len(text):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def kept_off(made: Made, states: Mapping[str, State]) -> dict[str, list[str]]:
    """Files that are not to be written over, by the rule that says so."""
    lines = made.lines() if State.ANOTHERS in states.values() else {}
    found: dict[str, list[str]] = {}
    for file, state in states.items():
        if state is State.ANOTHERS:
            whose = next(its for its in reversed(lines[file]) if its.shot not in ("", made.shot))
            rule = f"cropmove writes over no other shot's files, here those of {whose.shot}"
        elif state is State.FOREIGN:
            rule = "cropmove writes over nothing that it did not make, or that was changed since"
        else:
            continue
        found.setdefault(rule, []).append(file)
    return found


def _state(path: Path, inputs: str, lines: list[_Line], shot: str) -> State:
    with speaking_plainly(path):
        if not path.exists():
            return State.MISSING
        stat = path.stat()
        stamp = (stat.st_size, stat.st_mtime_ns)
        same = [line for line in lines if (line.size, line.changed) == stamp]
        # On a disk that counts whole seconds two frames may have the same stamp.
        is_plain = len({line.inputs for line in same}) == 1
        if not is_plain and any(line.size == stat.st_size for line in lines):
            checksum = _checksum(path)
            same = [line for line in lines if (line.size, line.checksum) == (stamp[0], checksum)]
    if not same:
        return State.FOREIGN
    if same[-1].inputs == inputs:
        return State.CURRENT
    is_ours = not shot or same[-1].shot in ("", shot)
    return State.OUTDATED if is_ours else State.ANOTHERS


def _checksum(path: Path) -> int:
    """CRC-32 of a file, read a piece at a time."""
    value = 0
    with path.open("rb") as file:
        while piece := file.read(1 << 22):
            value = isal_zlib.crc32(piece, value)
    return value
