"""Marks for the set: one function for each thing a user can ask of what is moved by hand."""

from __future__ import annotations

import csv
import io
import json
import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from cropmove.checks.facts import Facts
from cropmove.checks.finding import Finding
from cropmove.checks.registry import BY_HAND
from cropmove.errors import InputError, all_called, called, complain, names_in, placed
from cropmove.files import legible, place_new, refuse_old, utf8
from cropmove.move.ease import DEFAULT_EASE, Ease, ease_named
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.rig.measures import MM_PER_INCH, millimetres
from cropmove.rig.stopwatch import Pace, longest_ease, longest_move, pace, steps_in
from cropmove.rig.working import Table
from cropmove.shot import Shot, Stills, held
from cropmove.shotfile import dumps, place_text, source_from
from cropmove.units import (
    count_or_text,
    count_text,
    duration,
    held_text,
    number_or_text,
    rate,
    rate_text,
    seconds_text,
)

if TYPE_CHECKING:
    from cropmove.rig.layers import Sight
    from cropmove.sheets.paper import Page

__all__ = [
    "Prints",
    "StopwatchWish",
    "boxes",
    "findings",
    "layers",
    "layers_csv",
    "list_as",
    "marks",
    "on_ones",
    "shooting_list",
    "stopwatch",
    "tape",
    "twin",
    "write",
    "write_twin",
]


_PAPER = (".pdf", ".svg")
_PICTURE = (".png", ".svg", ".pdf")


def marks(shot: Shot, rigs: str | Iterable[str] = ()) -> Table:
    """Where everything that is moved by hand stands, for each still.

    Parameters
    ----------
    shot : Shot
    rigs : str or iterable of str
        Only these, by name, one alone or several; all where none is given.

    Raises
    ------
    InputError
        Where the shot moves nothing by hand, or a name is not known.

    Examples
    --------
    >>> from cropmove.shotfile import loads
    >>> text = '''
    ... [shot]
    ... frames = 61
    ... [[rig]]
    ... name = "boat"
    ... moves = "subject sideways"
    ... start = 0
    ... end = 300
    ... ease = "odd"
    ... ease_in = 10
    ... ease_out = 10
    ... '''
    >>> shot = loads(text, name="quay", survey=lambda source, size: Stills(size=size))
    >>> marks(shot)["boat"].step[1:12].round(6).tolist()
    [0.5, 0.5, 1.5, 2.5, 2.5, 3.5, 3.5, 4.5, 5.5, 5.5, 6.0]
    """
    if not shot.rigs:
        rule = "the shot moves nothing by hand"
        raise complain(
            "rig", "", rule, 'add [[rig]] with name, moves, and an end or follows = "keys"'
        )
    table, names = shot.marks(), names_in(rigs)
    if not names:
        return table
    chosen = [table[name] for name in names]
    return replace(table, marks=tuple(chosen))


def on_ones(shot: Shot) -> Shot:
    """The shot with a mark for every frame: puppets may be held, what moves the camera is not.

    Each pose is then photographed as often as it is held, with other marks each time.
    """
    return replace(shot, on=1, frames=shot.length)


def tape(
    shot: Shot,
    out: str | Path,
    *,
    rigs: str | Iterable[str] = (),
    paper: str = "a4",
    straight: bool = False,
    overwrite: bool = False,
) -> tuple[Path, ...]:
    """Print tapes true to scale: a tick and a number for each still.

    Parameters
    ----------
    shot : Shot
    out : path
        NAME.pdf, all pages in one file; or NAME.svg, a file a page: NAME.1.svg, NAME.2.svg ...
    rigs : str or iterable of str
        Only these; all that have one where none is given.
    paper : "a4" or "letter"
    straight : bool
        Whether a tape for an arc or a rim is straight, to be wrapped round, instead of bent.
    overwrite : bool

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    InputError
        Where a thing turns without a radius, the paper is not known or a file is there.
    """
    from cropmove.sheets.paper import paper_named
    from cropmove.sheets.tape import tape as tape_of

    sheet, title, names = paper_named(paper), legible(shot.name), names_in(rigs)
    pages: list[Page] = []
    for one in marks(shot, names).moved:
        if one.rig.motion.angular and one.rig.scale.kind != "arc" and not names:
            continue
        pages += tape_of(one, sheet, title=title, bent=False if straight else None)[0]
    if not pages:
        rule = "nothing in this shot is read along a rule, an arc or a rim"
        raise complain(called("tape"), "", rule, "add radius = 400 to what turns, in mm")
    return _write_pages(pages, Path(out), f"{title}: tape", overwrite)


def _write_pages(pages: Sequence[Page], out: Path, title: str, overwrite: bool) -> tuple[Path, ...]:
    from cropmove.sheets.paper import pdf, svg

    if out.suffix.lower() == ".pdf":
        place_new(out, pdf(pages, title), overwrite=overwrite)
        return (out,)
    if out.suffix.lower() != ".svg":
        raise _wrong_ending("out", out, _PAPER)
    names = [out.with_suffix(f".{n}.svg") for n in range(1, len(pages) + 1)]
    for name in names:  # all of them first, so that no half of a tape is written
        refuse_old(name, overwrite=overwrite)
    for name, page in zip(names, pages, strict=True):
        place_new(name, svg(page, title), overwrite=overwrite)
    return tuple(names)


def shooting_list(
    shot: Shot,
    out: str | Path,
    *,
    rigs: str | Iterable[str] = (),
    paper: str = "a4",
    overwrite: bool = False,
) -> tuple[Path, ...]:
    """Write the shooting list: on paper a row a still, as data a row a frame.

    Parameters
    ----------
    shot : Shot
    out : path
        What it ends in says how: .pdf, .svg (a file a page), .csv or .json.
    rigs, paper, overwrite
        As for `tape`.
    """
    from cropmove.sheets.paper import paper_named
    from cropmove.sheets.shooting_list import list_pages

    out, names = Path(out), names_in(rigs)
    if out.suffix.lower() in (".csv", ".json"):
        text = list_as(shot, out.suffix.lower()[1:], names)
        place_new(out, utf8(text), overwrite=overwrite)
        return (out,)
    title = legible(shot.name)
    pages = list_pages(marks(shot, names), paper_named(paper), title=title)
    return _write_pages(pages, out, f"{title}: shooting list", overwrite)


def list_as(shot: Shot, kind: str, rigs: str | Iterable[str] = ()) -> str:
    """The shooting list as the text of a CSV or a JSON file, a row a frame."""
    from cropmove.sheets.shooting_list import list_csv, list_json

    table = marks(shot, rigs)
    if kind == "csv":
        return list_csv(table)
    return json.dumps(list_json(table, shot.name), indent=2, ensure_ascii=False) + "\n"


def findings(shot: Shot) -> tuple[Finding, ...]:
    """What the checks find in what is moved by hand, gravest first."""
    facts = Facts(shot)
    found = [finding for check in BY_HAND for finding in check.find(facts)]
    return tuple(sorted(found, key=lambda finding: -finding.level))


def layers(shot: Shot) -> tuple[Sight, ...]:
    """What things at other distances do on the screen: steps, ways, when they are in sight.

    Raises
    ------
    InputError
        Where the shot has no layers.
    """
    if not shot.layers:
        rule = "the shot has no layers"
        raise complain("layer", "", rule, "add [[layer]] with a name and a distance in mm")
    return shot.sights()


def layers_csv(shot: Shot) -> str:
    """What each layer does, as CSV, a row a still: delivered pixels, and millimetres off.

    The columns of each layer are NAME right and NAME down (from where it was at first), NAME step,
    NAME mm off, and NAME in frame (1 or 0).
    """
    sights, width = layers(shot), shot.delivery.size.width
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    parts = ("right", "down", "step", "mm off", "in frame")
    writer.writerow(["still", *(f"{s.layer.name} {part}" for s in sights for part in parts)])
    for n in range(len(sights[0].step)):
        values: list[Any] = [n + 1]
        for sight in sights:
            right, down = ((sight.middle[n] - sight.middle[0]) * width).tolist()
            values += [right, down, float(sight.step[n] * width), float(sight.depth[n])]
            values.append(int(sight.in_sight[n]))
        writer.writerow(values)
    return out.getvalue()


def boxes(
    shot: Shot, out: str | Path, *, still: str | Path | None = None, overwrite: bool = False
) -> Path:
    """Draw the layers as boxes over a test still.

    Parameters
    ----------
    shot : Shot
    out : path
        NAME.png, NAME.svg or NAME.pdf.
    still : path, optional
        The test still; the shot's first where it is not given, and a plain ground without any.
    overwrite : bool
    """
    from cropmove.previews.source import Source
    from cropmove.sheets.boxes import boxes_sheet

    out, course = Path(out), shot.course()
    test = Stills.found(still).refs[0] if still else None
    source = Source(shot=shot, course=course, test=test)
    small = source.small(test or source.still_of(1), min(1.0, 1920 / course[1].width))
    width = 1600
    size = replace(
        shot.delivery.size, width=width, height=max(1, round(width * shot.delivery.size.shape))
    )
    sheet = boxes_sheet(shot, layers(shot), small.frame(course[1], size), (297.0, 210.0))
    writers = {".png": sheet.png, ".svg": sheet.svg, ".pdf": sheet.pdf}
    if out.suffix.lower() not in writers:
        raise _wrong_ending("out", out, _PICTURE)
    place_new(out, writers[out.suffix.lower()](), overwrite=overwrite)
    return out


_STILL = 1e-6
"""Pixels of the still, and degrees: what arithmetic may leave of a framing that does not move."""


def twin(shot: Shot, rigs: str | Iterable[str] = ()) -> Shot:
    """A digital move that looks, at the subject's distance, as what is moved by hand will.

    It can be previewed on one test still before a rig is built. Things at other distances do not
    shift against the subject in it, and a camera that turns does not see aslant: those are the
    rig's alone.

    Parameters
    ----------
    shot : Shot
        With a lens. What its camera and set do counts; where they stand still, its subject.
    rigs : str or iterable of str
        Only these move, by name; all where none is given.

    Returns
    -------
    Shot
        A key on every frame, without rigs.

    Raises
    ------
    InputError
        Where nothing is moved by hand, or no lens is given.
    """
    table = marks(shot, rigs)
    view = table.view
    if view is None:
        rule = "what a rig does on the screen depends on the lens"
        raise complain("lens", "", rule, "add [lens] with focal_length, sensor and distance")
    poses = table.seen_poses if _looks_moved(table) else table.subject_poses
    rows = view.framings(poses, shot.keys[0].framing.to_row(), table.roll())
    if not (np.isfinite(rows).all() and (rows[:, 2] > 0).all()):
        rule = "the camera goes past the subject, or turns away from it"
        raise complain("rig", "", rule, "no framing of a test still can show that")
    rows = rows[table.timing.still - 1]
    last = len(rows)
    keys = tuple(
        Key(frame=frame, framing=Framing.from_row(row), stop=frame in (1, last))
        for frame, row in enumerate(rows, start=1)
    )
    keys = keys[:1] if (abs(rows - rows[0]) < _STILL).all() else keys
    stills = shot.stills if shot.stills.size else Stills(size=view.still)
    return replace(
        shot, keys=keys, stills=stills, frames=last, lens=None, rigs=(), layers=(), subjects=()
    )


def _looks_moved(table: Table) -> bool:
    return any(m.rig.motion.mover in ("camera", "set") and m.moves.any() for m in table.moved)


def write_twin(
    path: Path,
    out: str | Path,
    *,
    rigs: str | Iterable[str] = (),
    ones: bool = False,
    still: str | Path | None = None,
    overwrite: bool = False,
) -> Shot:
    """Write a shot file that previews, on a test still, what another's rigs will do.

    Parameters
    ----------
    path : Path
        The shot file with the rigs.
    out : path
        The shot file to write.
    rigs : str or iterable of str
        Only these move, by name; all where none is given.
    ones : bool
        Whether they move on every frame, also where stills are held.
    still : path, optional
        The test still; the shot's own stills where it is not given.
    overwrite : bool
    """
    from cropmove.shotfile import load

    out, shot = Path(out), load(path)
    shot = on_ones(shot) if ones else shot
    stills, seen_from = shot.stills, path.parent
    if still is not None:
        stills, seen_from = Stills.found(still), Path()
    if stills.source:
        stills = replace(stills, source=source_from(seen_from / stills.source, out))
    made = twin(replace(shot, stills=stills) if still is not None else shot, rigs)
    made = replace(made, name=out.stem, stills=stills if stills.size else made.stills)
    name = " ".join(path.name.splitlines())
    told = f"# What {name} does by hand, as a digital move at the subject's distance.\n"
    place_text(out, told + dumps(made), stills=made.stills.source, overwrite=overwrite)
    return made


@dataclass(frozen=True, slots=True, kw_only=True)
class Prints:
    """What is to be written for the set.

    Parameters
    ----------
    tape, listed, boxes, twin : Path, optional
        The file of each; what is not given is not written.
    rigs : tuple of str
        Only these things.
    paper : "a4" or "letter"
    straight : bool
        Whether tapes for arcs are straight.
    ones : bool
        Whether there is a mark for every frame, also where stills are held.
    still : Path, optional
        The test still of the boxes and the twin.
    overwrite : bool
    """

    tape: Path | None = None
    listed: Path | None = None
    boxes: Path | None = None
    twin: Path | None = None
    rigs: tuple[str, ...] = ()
    paper: str = "a4"
    straight: bool = False
    ones: bool = False
    still: Path | None = None
    overwrite: bool = False

    @property
    def nothing(self) -> bool:
        """Whether no file is wanted."""
        return not (self.tape or self.listed or self.boxes or self.twin)


_ENDINGS = {"tape": _PAPER, "listed": (*_PAPER, ".csv", ".json"), "boxes": _PICTURE}
"""What the names of prints may end in."""


def _refuse_early(prints: Prints) -> None:
    """Refuse what is known to be in the way before anything is written, so that nothing half is."""
    taken: dict[str, str] = {}
    for word in ("tape", "listed", "boxes", "twin"):
        file: Path | None = getattr(prints, word)
        if file is None:
            continue
        option = called(word)
        endings = _ENDINGS.get(word, ())
        if endings and file.suffix.lower() not in endings:
            raise _wrong_ending(option, file, endings)
        place = os.path.realpath(file)
        if place in taken:
            rule = f"{taken[place]} goes into that file too"
            raise complain(option, str(file), rule, "give each a file of its own")
        taken[place] = option
        if file.suffix.lower() != ".svg" or word == "boxes":
            refuse_old(file, overwrite=prints.overwrite)


def _wrong_ending(option: str, file: Path, endings: Sequence[str]) -> InputError:
    rule = f"that is written as {', '.join(endings[:-1])} or {endings[-1]}"
    return complain(option, str(file), rule, f"end the name in {endings[0]}")


def write(path: Path, prints: Prints) -> tuple[Path, ...]:
    """Write all that is wanted of a shot file's marks; the files written."""
    from cropmove.shotfile import load

    if prints.nothing:
        return ()
    _refuse_early(prints)
    shot, made = load(path), list[Path]()
    shot = on_ones(shot) if prints.ones else shot
    how: dict[str, Any] = {
        "rigs": prints.rigs,
        "paper": prints.paper,
        "overwrite": prints.overwrite,
    }
    if prints.tape:
        made += tape(shot, prints.tape, straight=prints.straight, **how)
    if prints.listed:
        made += shooting_list(shot, prints.listed, **how)
    if prints.boxes:
        made.append(boxes(shot, prints.boxes, still=prints.still, overwrite=prints.overwrite))
    if prints.twin:
        write_twin(path, prints.twin, rigs=prints.rigs, ones=prints.ones, still=prints.still,
                   overwrite=prints.overwrite)  # fmt: skip
        made.append(prints.twin)
    return tuple(made)


# ---- the stopwatch -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class StopwatchWish:
    """What is known of a move before any file is written.

    Parameters
    ----------
    travel, rule, step, smallest : str, optional
        How far it goes, how long the rule is, the longest step it shall have, and the smallest
        that a hand can make: "300", "12 in", "30 deg"; millimetres where no unit is given.
    seconds : float, optional
    frames : int, optional
        The same as seconds: N frames of movement are N steps.
    fps : str
    on : int
        Frames that each still is held; a step is from one still to the next.
    ease : str, optional
    ease_in, ease_out : str, optional
        Frames ("8") or seconds ("0.5 s").
    """

    travel: str | None = None
    rule: str | None = None
    step: str | None = None
    smallest: str | None = None
    seconds: float | None = None
    frames: int | None = None
    fps: str = "24"
    on: int = 1
    ease: str | None = None
    ease_in: str | None = None
    ease_out: str | None = None


def stopwatch(wish: StopwatchWish) -> str:
    """An answer in one line.

    Raises
    ------
    InputError
        Where too little is known or too much, or lengths and angles are mixed.

    Examples
    --------
    >>> stopwatch(StopwatchWish(travel="12 ft", seconds=2, ease="none"))
    '2 s at 24 for 144 in: 48 steps, frames 1 to 49; 3 in a frame throughout'
    >>> stopwatch(StopwatchWish(travel="12 ft", seconds=2, on=2, ease="none"))
    '2 s at 24 for 144 in: on twos 24 steps in 25 stills, frames 1 to 49; 6 in a still throughout'
    >>> stopwatch(StopwatchWish(rule="300", step="6", ease_in="10", ease_out="10"))[:57]
    'a rule of 300 mm at 6 mm a step: 60 steps, 2.5 s at 24, f'
    """
    _check_asked(wish)
    with placed(called("fps")):
        fps = rate(number_or_text(wish.fps))
    with placed(called("on")):
        held(wish.on)
    ease = DEFAULT_EASE
    if wish.ease is not None:
        with placed(called("ease")):
            ease = ease_named(wish.ease)
    asked = _Asked(wish=wish, fps=fps, ease=ease)
    if wish.rule is not None and wish.step is not None:
        return asked.longest_move()
    if wish.travel is None and wish.rule is None:
        rule = "the stopwatch wants a travel, or a rule"
        raise complain(
            called("travel"),
            "",
            rule,
            f"say, for one, {called('travel', 300)} {called('seconds', 2.5)}",
        )
    return asked.pace()


_ANSWERED = (
    (("rule", "step"), ("travel", "seconds", "frames", "smallest")),
    (("travel",), ("rule", "step")),
    (("smallest",), ("ease_in", "ease_out")),
)
"""What is asked for, and what would be given twice with it or is the answer itself."""


def _check_asked(wish: StopwatchWish) -> None:
    """Refuse what would be left aside: the stopwatch answers one question at a time."""
    for asked, answered in _ANSWERED:
        if any(getattr(wish, name) is None for name in asked):
            continue
        more = [name for name in answered if getattr(wish, name) is not None]
        if more:
            rule = f"this does not go with {all_called(asked)}"
            value = ", ".join(str(getattr(wish, name)) for name in more)
            remedy = f"leave out {all_called(more)}"
            if more == ["step"]:
                remedy += f"; for a longest step say {called('rule', wish.travel)} "
                remedy += called("step", wish.step)
            raise complain(all_called(more), value, rule, remedy)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """A wish with its rate and its ease."""

    wish: StopwatchWish
    fps: Fraction
    ease: Ease

    def longest_move(self) -> str:
        """How long a move a rule has room for."""
        rule, unit = self._measure("rule")
        cruise, _ = self._measure("step", unit)
        made = longest_move(rule, cruise, self.ease, *self._lengths(), on=self.wish.on)
        return (
            f"a rule of {_plain(rule)} {unit} at {_plain(cruise)} {unit} a step: "
            f"{self._counted(made)}, {self._seconds(made.steps)}, frames 1 to {made.steps + 1}, "
            f"travel {_plain(made.travel)} {unit}{self._eases(made)}"
        )

    def pace(self) -> str:
        """How big the steps are, and how long an ease can be."""
        name = "rule" if self.wish.travel is None else "travel"
        travel, unit = self._measure(name)
        steps = self._steps()
        if self.wish.smallest is None:
            made = pace(travel, steps, self.ease, *self._lengths(), on=self.wish.on)
            longest = ""
        else:
            smallest, _ = self._measure("smallest", unit)
            made = longest_ease(travel, steps, smallest, self.ease, on=self.wish.on)
            longest = f"; no longer ease has steps of {_plain(smallest)} {unit} or more"
        first, last, cruise = float(made.step[0]), float(made.step[-1]), made.cruise
        steady = made.step.max() - made.step.min() < 1e-9 * travel
        each = "a frame" if made.on == 1 else "a still"
        paced = f"{_plain(cruise)} {unit} {each} throughout"
        if not steady:
            paced = f"{_plain(cruise)} {unit} {each} at the cruise, "
            paced += f"{_plain(first)} first and {_plain(last)} last{self._eases(made)}"
        return (
            f"{self._seconds(steps)} for {_plain(travel)} {unit}: {self._counted(made)}, "
            f"frames 1 to {steps + 1}; {paced}{longest}"
        )

    def _counted(self, made: Pace) -> str:
        if made.on == 1:
            return f"{made.steps} steps"
        moves = made.stills - 1
        return f"{held_text(made.on)} {count_text(moves, 'step')} in {made.stills} stills"

    def _measure(self, name: str, like: str | None = None) -> tuple[float, str]:
        text = str(getattr(self.wish, name))
        with placed(called(name)):
            value, unit = _measured(text)
            if like is not None and unit != like:
                if "deg" in (unit, like):
                    rule = "lengths and angles do not mix"
                    raise complain("", text, rule, f"give it in {like}")
                value *= MM_PER_INCH if (unit, like) == ("in", "mm") else 1 / MM_PER_INCH
            return value, like or unit

    def _steps(self) -> int:
        if (self.wish.seconds is None) == (self.wish.frames is None):
            rule = "a length of time is given once"
            raise complain(
                called("seconds"),
                "",
                rule,
                f"say {called('seconds', 2.5)}, or {called('frames', 60)}",
            )
        if self.wish.frames is not None:
            return self.wish.frames
        with placed(called("seconds")):
            return steps_in(
                Fraction(duration(f"{self.wish.seconds} s", Fraction(1000)), 1000), self.fps
            )

    def _lengths(self) -> tuple[int | None, int | None]:
        return self._moment("ease_in"), self._moment("ease_out")

    def _moment(self, name: str) -> int | None:
        text = getattr(self.wish, name)
        if text is None:
            return None
        with placed(called(name)):
            return duration(count_or_text(text), self.fps)

    def _seconds(self, steps: int) -> str:
        return f"{seconds_text(steps, self.fps)} at {rate_text(self.fps)}"

    def _eases(self, made: Pace) -> str:
        if not self.ease.has_lengths:
            return f" ({self.ease.name})"
        return f" ({self.ease.name}, ease in {made.ease_in}, ease out {made.ease_out})"


_DEGREES = re.compile(r"\s*(\d{1,9}(?:\.\d{0,9})?)\s*(?:deg|degrees|°)\s*")


def _measured(text: str) -> tuple[float, str]:
    """A measure with its unit: millimetres, inches or degrees."""
    angle = _DEGREES.fullmatch(text)
    if angle:
        return float(angle[1]), "deg"
    length = millimetres(number_or_text(text))
    if text.strip().endswith(("in", "ft", '"')):
        return length / MM_PER_INCH, "in"
    return length, "mm"


def _plain(value: float) -> str:
    """Three digits after the point at the most, and no more than say something."""
    return f"{value:.3f}".rstrip("0").rstrip(".")
