"""Can what is asked for be delivered: sizes, alpha, room on the disk, names?"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from math import ceil
from pathlib import Path

from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level, frames_text, runs_of
from cropmove.errors import called
from cropmove.formats import FORMATS
from cropmove.geometry import Size

__all__ = ["ALPHA_LOST", "CHROMA", "DISK_ROOM", "NAME_CLASH", "ODD_SIZE", "bytes_needed"]

_PRACTICE = "common practice, no source"

CHROMA = {"mp4": "4:2:0", "mov": "4:2:2"}
"""How movie formats thin out colour, by its name."""

_PACKED = {"png": 0.8, "tiff": 1.0, "jpeg": 0.3, "exr": 0.9, "mp4": 0.03, "mov": 0.15}
"""Size on the disk against plain pixels of the same depth; on the safe side for grainy stills.
Measured on noisy photographs; ProRes 422 HQ from its published 220 Mbit/s at 1920 x 1080 and 30
frames a second."""
_GIGA = 1e9


def _odd(facts: Facts) -> Iterator[Finding]:
    size, format = facts.shot.delivery.size, facts.shot.delivery.format
    name = CHROMA.get(format, "4:2:0")
    spare = size.width % 2, size.height % 2
    if not any(spare):
        return
    fits = Size(size.width + spare[0], size.height + spare[1])
    refused = format in CHROMA
    yield Finding(
        id="odd-size",
        level=Level.FAULT if refused else Level.NOTE,
        measured=size.width if spare[0] else size.height,
        limit=fits.width if spare[0] else fits.height,
        unit="pixels",
        what=f"{size} cannot be a {name} movie: its width and height are even"
        if refused
        else f"frames of {size} will not go into a {name} movie as they are",
        remedy=f"size = [{fits.width}, {fits.height}]",
        figures={"size": [fits.width, fits.height], "chroma": name},
    )


def _alpha(facts: Facts) -> Iterator[Finding]:
    format = facts.shot.delivery.format
    if FORMATS[format].holds_alpha:
        return
    shown = set(facts.course.still.tolist())
    clear = [n for n, h in enumerate(facts.headers, 1) if h.channels in (2, 4) and n in shown]
    if not clear:
        return
    which = frames_text(runs_of(clear), "still")
    holders = " or ".join(f'"{known.name}"' for known in FORMATS.values() if known.holds_alpha)
    yield Finding(
        id="alpha-lost",
        level=Level.FAULT,
        frames=runs_of(facts.frames_of_stills(clear)),
        measured=len(clear),
        limit=0,
        unit="stills",
        what=f"{facts.stills_named(clear)}: {format} holds no alpha channel",
        remedy=f"write format = {holders}, or save {which} anew without alpha",
        figures={"stills": clear},
    )


def bytes_needed(facts: Facts) -> int:
    """How much room all frames of a shot take on the disk, estimated on the safe side."""
    delivery = facts.shot.delivery
    plain = delivery.size.width * delivery.size.height * 3 * delivery.encoding.depth / 8
    return ceil(len(facts.course) * plain * _PACKED[delivery.format])


def free_bytes(folder: Path) -> int | None:
    """The room on the disk of a folder, or of the nearest one above it that is there."""
    folder = folder.absolute()
    try:
        there = next((path for path in (folder, *folder.parents) if path.is_dir()), None)
        return shutil.disk_usage(there).free if there else None
    except OSError:
        return None


def _room(facts: Facts) -> Iterator[Finding]:
    free = free_bytes(facts.folder) if facts.folder is not None else None
    if free is None:
        return
    need = ceil(bytes_needed(facts) * (1 + facts.limits.spare_room / 100))
    if free >= need:
        return
    short = ceil((need - free) / 1e8) / 10
    yield Finding(
        id="disk-room",
        level=Level.CAUTION,
        measured=free / _GIGA,
        limit=need / _GIGA,
        unit="GB",
        what=f"{len(facts.course):,} frames need about {_told(need / _GIGA)} GB; "
        f"{_told(free / _GIGA)} GB are free at {facts.folder}",
        remedy=f"free {short:,.10g} GB, or render to another disk with {called('out', ...)}",
        figures={"bytes_needed": need, "bytes_free": free},
    )


def _told(gigabytes: float) -> str:
    """Gigabytes to three digits, or as many whole ones as there are."""
    return f"{gigabytes:.3g}" if gigabytes < 999.5 else f"{gigabytes:,.0f}"


def _clash(facts: Facts) -> Iterator[Finding]:
    name = facts.shot.name
    # Disks of some systems do not tell capitals from small letters.
    taken = {other.casefold() for other in facts.batch}
    if name.casefold() not in taken:
        return
    free = next(n for n in _numbered(name) if n.casefold() not in taken and not _is_there(facts, n))
    yield Finding(
        id="name-clash",
        level=Level.CAUTION,
        measured=1 + sum(other.casefold() == name.casefold() for other in facts.batch),
        limit=1,
        unit="shots of one name",
        what=f"another shot of the batch is called {name} too: in one folder both would be "
        f"{name}.0001 and so on",
        remedy=f"name the file {free}.toml, or give each shot a folder of its own",
        figures={"free_name": free},
    )


def _is_there(facts: Facts, name: str) -> bool:
    """Whether a shot file of that name lies beside the shot's own."""
    file = facts.shot.file
    return file is not None and file.with_name(f"{name}.toml").exists()


def _numbered(name: str) -> Iterator[str]:
    number = 2
    while True:
        yield f"{name}_{number}"
        number += 1


ODD_SIZE = Check(
    id="odd-size",
    title="an odd size for a movie",
    level=Level.FAULT,
    reason="Movies keep colour for pairs of pixels: 4:2:0 wants an even width and height, 4:2:2 an "
    "even width; an even height plays everywhere.",
    source="Rec. ITU-T H.264, 6.2: chroma formats; 4:2:2: Rec. ITU-R BT.601; its height: "
    f"{_PRACTICE}",
    find=_odd,
    is_final=True,
)
ALPHA_LOST = Check(
    id="alpha-lost",
    title="stills with alpha for a format that holds none",
    level=Level.FAULT,
    reason="What is clear in a still would have to be given a colour, and nobody says which.",
    source="JFIF (ITU-T T.871) has one component or three; 4:2:0 and 4:2:2 have luma and two of "
    "chroma (Rec. ITU-T H.264, 6.2)",
    find=_alpha,
    is_final=True,
)
DISK_ROOM = Check(
    id="disk-room",
    title="the frames may not fit on the disk",
    level=Level.CAUTION,
    reason="A night of rendering that ends on a full disk is lost.",
    source=f"an estimate from size, depth and format; {_PRACTICE}",
    find=_room,
    limits=("spare_room",),
)
NAME_CLASH = Check(
    id="name-clash",
    title="two shots of a batch have one name",
    level=Level.CAUTION,
    reason="Frames are named after their shot: in one folder one would take the other's names.",
    source=_PRACTICE,
    find=_clash,
)
