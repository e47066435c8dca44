"""The preview of a shot, alone or beside another."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from cropmove.checks.registry import findings_of
from cropmove.errors import called, complain, placed
from cropmove.files import make_folder
from cropmove.geometry import counted
from cropmove.machine import workers_for
from cropmove.move.course import LONGEST
from cropmove.shot import Shot
from cropmove.showing.asked import still_named
from cropmove.showing.written import Shown, refuse_before, write
from cropmove.units import rate_text

if TYPE_CHECKING:
    from cropmove.previews.burnt import Marks
    from cropmove.previews.compare import Played
    from cropmove.previews.frames import Reel
    from cropmove.previews.kept import Kept
    from cropmove.stills.find import StillRef

__all__ = ["preview"]


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
    reel = _reel(shot, compared, still_named(still), across, marks)
    if suffix not in {known.suffix for known in FORMATS.values()}:
        reel = _reel(shot, compared, still_named(still), _within_memory(reel), marks)
    folder = Path(out) if out is not None else Path(f"{shot.name}_sheets")
    name = f"{shot.name}.preview{_compared(compared)}{suffix}"
    make_folder(folder)
    refuse_before(folder, shot, name, overwrite)
    kept, tell = Kept(usual_folder()) if keep else None, say or (lambda _: None)
    make_ready(say=tell)
    if not every_still:
        reel = _in_time(reel, kept, tell)
    try:
        content = play(reel, suffix, at_a_time, progress, kept)
    finally:
        if kept:
            kept.make_room()
    return write(folder, shot, [(name, content)], overwrite)


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


def _other(given: Shot | str | Path | None) -> Shot | str | None:
    """What to compare with: the shot of another shot file, or the words of a change."""
    if isinstance(given, str) and given.strip().endswith(".toml"):
        given = Path(given.strip())
    if not isinstance(given, Path):
        return given
    from cropmove.shotfile import load

    with placed(called("compare")):
        return load(given)
