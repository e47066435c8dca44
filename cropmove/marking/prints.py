"""All that is wanted for the set, written in one go."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cropmove.errors import called, complain
from cropmove.files import refuse_old
from cropmove.marking.crops import write_crop
from cropmove.marking.depth import boxes
from cropmove.marking.endings import PAPER, PICTURE, wrong_ending
from cropmove.marking.paper import shooting_list, tape
from cropmove.marking.table import on_ones
from cropmove.marking.twins import write_twin

__all__ = ["Prints", "write"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prints:
    """What is to be written for the set.

    Parameters
    ----------
    tape, listed, boxes, twin, crop : Path, optional
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
    crop: Path | None = None
    rigs: tuple[str, ...] = ()
    paper: str = "a4"
    straight: bool = False
    ones: bool = False
    still: Path | None = None
    overwrite: bool = False

    @property
    def nothing(self) -> bool:
        """Whether no file is wanted."""
        return not (self.tape or self.listed or self.boxes or self.twin or self.crop)


_ENDINGS = {"tape": PAPER, "listed": (*PAPER, ".csv", ".json"), "boxes": PICTURE}
"""What the names of prints may end in."""


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
    if prints.crop:
        write_crop(path, prints.crop, rigs=prints.rigs, ones=prints.ones,
                   overwrite=prints.overwrite)  # fmt: skip
        made.append(prints.crop)
    return tuple(made)


def _refuse_early(prints: Prints) -> None:
    """Refuse what is known to be in the way before anything is written, so that nothing half is."""
    taken: dict[str, str] = {}
    for word in ("tape", "listed", "boxes", "twin", "crop"):
        file: Path | None = getattr(prints, word)
        if file is None:
            continue
        option = called(word)
        endings = _ENDINGS.get(word, ())
        if endings and file.suffix.lower() not in endings:
            raise wrong_ending(option, file, endings)
        place = os.path.realpath(file)
        if place in taken:
            rule = f"{taken[place]} goes into that file too"
            raise complain(option, str(file), rule, "give each a file of its own")
        taken[place] = option
        if file.suffix.lower() != ".svg" or word == "boxes":
            refuse_old(file, overwrite=prints.overwrite)
