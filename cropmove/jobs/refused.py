"""What stops a render before it begins."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from cropmove.checks.finding import Finding, Run, frames_text, runs_of
from cropmove.checks.registry import STOPPING, check_named, faults_left, findings_of
from cropmove.errors import Complaint, InputError, MoveFault, called, complain
from cropmove.files import another_folder
from cropmove.shot import Shot

if TYPE_CHECKING:
    from cropmove.rendering.made import Made, State

__all__ = ["MOST_RUNS", "refuse_among_stills", "refuse_faults", "refuse_in_the_way", "runs_text"]

MOST_RUNS = 6
"""More than so many are no help to anybody."""


def refuse_faults(shot: Shot, folder: Path, allow: str | Iterable[str]) -> None:
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


def refuse_among_stills(shot: Shot, folder: Path, files: Iterable[str]) -> None:
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


def refuse_in_the_way(made: Made, states: Mapping[str, State], frames: Mapping[str, int]) -> None:
    """Keep off what cropmove did not make, or made of another shot; `frames` are those of files."""
    from cropmove.rendering.made import kept_off

    by_rule = kept_off(made, states)
    if not by_rule:
        return
    others = frames.keys() - chain.from_iterable(by_rule.values())
    runs = runs_of(sorted(frames[file] for file in others))
    rest = ""
    if 0 < len(runs) <= MOST_RUNS and states.keys() == frames.keys():
        rest = f"to make the others say {called('frames', _Frames(runs))}; or "
    remedy = f"{rest}{another_folder()}, or say {called('overwrite', True)}"
    where = str(made.path.parent)
    raise InputError(
        *(
            Complaint(where=where, rule=f"{rule}: {_some(files)}", remedy=remedy)
            for rule, files in by_rule.items()
        )
    )


def _some(files: Sequence[str]) -> str:
    """The first few of several."""
    return ", ".join(files[:3]) + (f" and {len(files) - 3} more" if len(files) > 3 else "")


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
        return runs_text(self.runs)

    def __repr__(self) -> str:
        parts = (f"{a}" if a == b else f"*range({a}, {b + 1})" for a, b in self.runs)
        return f"[{', '.join(parts)}]"


def runs_text(runs: Iterable[Run]) -> str:
    """Frames as the command line takes them."""
    return ",".join(f"{first}" if first == last else f"{first}-{last}" for first, last in runs)
