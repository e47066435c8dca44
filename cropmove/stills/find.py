"""Which stills a shot speaks of: a folder, a glob, a numbered pattern, one file or a movie.

Nothing is decoded here; a movie alone is opened, to count its pictures.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import gcd
from pathlib import Path

from cropmove.errors import InputError, nearest
from cropmove.stills.kinds import READABLE, kind_by_suffix
from cropmove.stills.natural import natural_key, running_numbers
from cropmove.stills.opening import opening, refused

__all__ = ["StillRef", "find_stills", "missing_numbers"]

_COUNTER = re.compile(r"#+|%0?(\d*)d")
_GLOB = re.compile(r"[*?\[]")


@dataclass(frozen=True, slots=True, kw_only=True)
class StillRef:
    """One still: where it lies.

    Parameters
    ----------
    path
        The file.
    index
        Which picture inside it, from 0: above 0 in movies only.
    number
        The running number in its name; None where it has none.
    in_movie
        Whether the file is a movie.

    Examples
    --------
    >>> StillRef(path=Path("harbour/shot_0007.jpg"), number=7).name
    'shot_0007.jpg'
    """

    path: Path
    index: int = 0
    number: int | None = None
    in_movie: bool = False

    @property
    def name(self) -> str:
        """The file's name; in a movie with the picture's place in it, from 1."""
        return f"{self.path.name} [{self.index + 1}]" if self.in_movie else self.path.name


def find_stills(source: str, folder: Path) -> tuple[StillRef, ...]:
    """The stills that `source` names, in natural order.

    Parameters
    ----------
    source
        A folder, a glob (``harbour/*.jpg``), a numbered pattern (``shot_####.jpg`` or
        ``shot_%04d.jpg``), one picture, or a movie; relative to `folder`.
    folder
        The folder of the shot file.

    Raises
    ------
    InputError
        Where nothing is there, nothing there is a picture, or a folder holds the same stills in
        several kinds; the nearest name is told.
    """
    path = folder / source
    with opening(path):
        if path.is_dir():
            return _series(_in_folder(path, folder), path, folder)
        if path.exists():
            return _one_file(path)
        if _COUNTER.search(path.name):
            return _numbered(path, folder)
        if _GLOB.search(source):
            return _series(_globbed(source, folder), path, folder)
        raise _missing(path, folder)


def missing_numbers(stills: Sequence[StillRef]) -> tuple[int, ...]:
    """The gaps in the stills' running numbers; none where they have no numbers.

    Three stills and more that are numbered by twos (or by another even stride) have a gap only
    where a stride is missed. Numbers further apart than a counter runs (dates) have none.

    Examples
    --------
    >>> missing_numbers([StillRef(path=Path("a"), number=n) for n in (1, 2, 4)])
    (3,)
    """
    numbers = sorted({still.number for still in stills if still.number is not None})
    if len(numbers) < 2:
        return ()
    stride = gcd(*(b - a for a, b in pairwise(numbers)))
    run = range(numbers[0], numbers[-1] + 1, stride if len(numbers) > 2 else 1)
    if len(run) > 10 * len(numbers):
        return ()
    return tuple(sorted(set(run) - set(numbers)))


def _one_file(path: Path) -> tuple[StillRef, ...]:
    kind = kind_by_suffix(path)
    if kind is None:
        raise refused(path, f"a still is one of: {READABLE}", "name a picture or a folder of them")
    if not kind.is_movie:
        return (StillRef(path=path),)
    from cropmove.stills.movie import count_pictures

    count = count_pictures(path)
    return tuple(StillRef(path=path, index=i, number=i + 1, in_movie=True) for i in range(count))


def _in_folder(path: Path, folder: Path) -> list[Path]:
    files = [file for file in path.iterdir() if not file.name.startswith(".")]
    pictures = [file for file in files if _is_still(file)]
    if not pictures:
        raise _no_pictures(path, files, folder)
    return pictures


def _is_still(path: Path) -> bool:
    kind = kind_by_suffix(path)
    is_shown = not path.name.startswith(".")
    return is_shown and kind is not None and not kind.is_movie and path.is_file()


def _globbed(source: str, folder: Path) -> list[Path]:
    # A pattern may be absolute; pathlib globs relative ones only. A folder that is there is meant
    # as it is named, signs and all.
    pattern = folder / source
    root = Path(pattern.anchor) if Path(source).is_absolute() else folder
    root = pattern.parent if pattern.parent.is_dir() else root
    relative = str(pattern.relative_to(root))
    try:
        found = [path for path in root.glob(relative) if not path.name.startswith(".")]
    except ValueError as error:  # until Python 3.13
        rule = "** stands for any folders, and has a place of its own between slashes"
        raise refused(pattern, rule, "write * for a part of a name") from error
    pictures = [path for path in found if _is_still(path)]
    if found and not pictures:
        raise refused(pattern, f"a still is one of: {READABLE}", "choose the pictures' suffix")
    if not pictures:
        raise _missing(pattern, folder)
    return pictures


def _series(paths: Iterable[Path], source: Path, folder: Path) -> tuple[StillRef, ...]:
    ordered = sorted(paths, key=lambda path: natural_key(path.as_posix()))
    _refuse_doubles(ordered, source, folder)
    numbers = running_numbers([path.stem for path in ordered])
    return tuple(StillRef(path=p, number=n) for p, n in zip(ordered, numbers, strict=True))


def _refuse_doubles(paths: Sequence[Path], source: Path, folder: Path) -> None:
    """Raw files and their JPEGs side by side: which of them is meant, only a glob can say."""
    seen: dict[Path, Path] = {}
    for path in paths:
        other = seen.setdefault(path.with_suffix(""), path)
        if other is not path:
            rule = f"a still comes once; {other.name} and {path.name} are both here"
            glob = (source if source.is_dir() else source.parent) / f"*{other.suffix}"
            remedy = f'choose one kind with a glob, such as "{_as_source(glob, folder)}"'
            raise refused(source, rule, remedy)


def _as_source(path: Path, folder: Path) -> str:
    """A path as a shot file in that folder says it."""
    return (path.relative_to(folder) if path.is_relative_to(folder) else path).as_posix()


def _numbered(path: Path, folder: Path) -> tuple[StillRef, ...]:
    matches = list(_COUNTER.finditer(path.name))
    if len(matches) > 1:
        raise refused(path, "a numbered pattern has one counter", "keep one run of #, or one %04d")
    counter = matches[0]
    width = len(counter[0]) if counter[0].startswith("#") else min(int(counter[1] or 1), 999)
    before, after = path.name[: counter.start()], path.name[counter.end() :]
    shape = re.compile(f"{re.escape(before)}(\\d{{{width},}}){re.escape(after)}")
    listing = path.parent.iterdir() if path.parent.is_dir() else ()
    matched = [(shape.fullmatch(p.name), p) for p in listing if _is_still(p)]
    found = [StillRef(path=p, number=int(match[1])) for match, p in matched if match]
    if not found:
        raise _missing(path, folder)
    return tuple(sorted(found, key=lambda still: natural_key(still.name)))


def _missing(path: Path, folder: Path) -> InputError:
    """Nothing is there: name the nearest thing that is."""
    missing = path
    while not missing.parent.is_dir():
        missing = missing.parent
    there = [p for p in missing.parent.iterdir() if not p.name.startswith(".")]
    beside = [p for p in there if p.is_dir() or kind_by_suffix(p)]
    names = [*(p.name for p in beside), *(f"*{p.suffix}" for p in beside if kind_by_suffix(p))]
    by_lower_case = {name.lower(): name for name in sorted(names)}
    close = nearest(missing.name, by_lower_case)
    looked_in = "the current folder" if folder == Path() else "the shot file's folder"
    remedy = f"check the name; it is looked for in {looked_in}"
    if close:
        there_is = missing.with_name(by_lower_case[close])
        rest = str(path.relative_to(missing)).replace("**", "*")
        if rest != "." and any(map(_is_still, there_is.glob(rest))):
            there_is /= rest
        remedy = f'did you mean "{_as_source(there_is, folder)}"?'
    return refused(path, _what_is_missing(missing, path), remedy)


def _what_is_missing(missing: Path, path: Path) -> str:
    if missing is not path:
        return f"stills lie in a folder that exists; there is no folder {missing}"
    if _GLOB.search(path.name) or _COUNTER.search(path.name):
        return "a pattern matches at least one picture; this one matches none"
    return "a still, or a folder of stills, exists; there is none by this name"


def _no_pictures(path: Path, files: Sequence[Path], folder: Path) -> InputError:
    movies = [file for file in files if (kind := kind_by_suffix(file)) and kind.is_movie]
    rule = "a folder of stills holds pictures; this one holds none" + (
        "" if files else ": it is empty"
    )
    remedy = "name another folder"
    if movies:
        remedy = f'to take the stills from a movie name it: "{_as_source(movies[0], folder)}"'
    return refused(path, rule, remedy)
