"""Which kinds of picture are read, told apart by their suffix and their first bytes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cropmove.stills.opening import first_bytes, refused

__all__ = ["KINDS", "READABLE", "Kind", "kind_by_suffix", "kind_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of source file."""

    name: str
    title: str
    suffixes: tuple[str, ...]
    signatures: tuple[bytes, ...] = ()

    @property
    def is_movie(self) -> bool:
        """Whether one file holds many stills."""
        return self.name == "movie"


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            name="jpeg",
            title="JPEG",
            suffixes=(".jpg", ".jpeg", ".jpe", ".jfif"),
            signatures=(b"\xff\xd8\xff",),
        ),
        Kind(name="png", title="PNG", suffixes=(".png",), signatures=(b"\x89PNG\r\n\x1a\n",)),
        Kind(
            name="tiff",
            title="TIFF",
            suffixes=(".tif", ".tiff"),
            signatures=(b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"),
        ),
        Kind(name="exr", title="OpenEXR", suffixes=(".exr",), signatures=(b"\x76\x2f\x31\x01",)),
        Kind(
            name="raw",
            title="camera raw",
            suffixes=(".dng", ".arw", ".cr2", ".cr3", ".nef", ".orf", ".pef", ".raf", ".rw2"),
        ),
        Kind(name="movie", title="movie", suffixes=(".mov", ".mp4", ".m4v", ".mkv", ".mxf")),
    )
}
"""Every kind that is read, in the order in which listings name them."""

READABLE = ", ".join(kind.title for kind in KINDS.values())
"""The kinds as one phrase, for messages."""

_BY_SUFFIX = {suffix: kind for kind in KINDS.values() for suffix in kind.suffixes}
_LONGEST = max(len(mark) for kind in KINDS.values() for mark in kind.signatures)


def kind_by_suffix(path: Path) -> Kind | None:
    """The kind that a file's suffix promises, upper or lower case; None where it is no picture.

    Examples
    --------
    >>> kind_by_suffix(Path("harbour/shot_0001.JPG")).title
    'JPEG'
    >>> kind_by_suffix(Path("notes.txt")) is None
    True
    """
    return _BY_SUFFIX.get(path.suffix.lower())


def kind_of(path: Path) -> Kind:
    """The kind that a file's first bytes show, where they show one, and else its suffix.

    Raises
    ------
    InputError
        Where the file is empty, no picture, or none of the kinds that are read.
    """
    start = first_bytes(path, _LONGEST)
    promised = kind_by_suffix(path)
    if not start:
        raise refused(path, "a still holds a picture; this file is empty", "copy it anew")
    if promised and not promised.signatures:
        return promised  # raw files begin as TIFF does, movies in too many ways to list
    for kind in KINDS.values():
        if start.startswith(kind.signatures or (b"\0never\0",)):
            return kind
    rule = f"a still is one of: {READABLE}"
    if promised:
        rule = f"a file named {path.suffix} holds a picture; this one does not begin as one"
    raise refused(path, rule, "save it anew as JPEG, PNG or TIFF, or leave it out")
