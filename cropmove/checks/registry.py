"""Every check, in the order in which they are asked, and the asking."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from cropmove.checks.alike import EXPOSURE_DIFFERS, PROFILE_DIFFERS
from cropmove.checks.delivery import ALPHA_LOST, DISK_ROOM, NAME_CLASH, ODD_SIZE
from cropmove.checks.ease import HARD_START, HARD_STOP, NO_HOLD, SHORT_EASE_OUT, SLOW_END
from cropmove.checks.edges import OUTSIDE
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level
from cropmove.checks.jolt import JOLT
from cropmove.checks.keys import KEY_UNREACHED
from cropmove.checks.layers import LAYER_LEAVES, LAYER_SWEEPS, OUT_OF_FOCUS
from cropmove.checks.looks import look_at
from cropmove.checks.pace import PACE, STROBING, ZIP_PAN, strong_edges_to_seek
from cropmove.checks.picture import PULSING, SOFTENING
from cropmove.checks.pixels import BUMP, FLICKER, STILL_AGAIN
from cropmove.checks.rate import LOW_RATE, ON_TWOS
from cropmove.checks.rig import (
    BACKLASH,
    BEYOND_TRACK,
    RIG_DIFFERS,
    RULE_RESET,
    SET_SHADOWS,
    TOO_FAST,
)
from cropmove.checks.scale import ENLARGED
from cropmove.checks.steps import BY_HAND_ON_TWOS, SMALL_STEPS, UNEVEN_STEPS
from cropmove.checks.stills import (
    NOT_PHOTOGRAPHED,
    NUMBER_MISSING,
    SPARE_STILLS,
    STILLS_DIFFER,
    STRANGE_NAME,
    TOO_FEW_STILLS,
)
from cropmove.checks.subject import (
    LEAD_ROOM,
    LEAVES_ACTION_SAFE,
    LEAVES_FRAME,
    LEAVES_TITLE_SAFE,
    TOO_TIGHT,
)
from cropmove.checks.twice import MOVED_TWICE
from cropmove.errors import called, names_in, unknown_word
from cropmove.shot import Shot

__all__ = ["BY_HAND", "CHECKS", "STOPPING", "check_named", "faults_left", "findings_of"]

BY_HAND: tuple[Check, ...] = (
    BEYOND_TRACK,
    TOO_FAST,
    RULE_RESET,
    UNEVEN_STEPS,
    SMALL_STEPS,
    BACKLASH,
    BY_HAND_ON_TWOS,
    RIG_DIFFERS,
    SET_SHADOWS,
    LAYER_SWEEPS,
    LAYER_LEAVES,
    OUT_OF_FOCUS,
)
"""The checks of what is moved by hand. They say nothing against rendering."""

CHECKS: dict[str, Check] = {
    entry.id: entry
    for entry in (
        # the framing in the still
        OUTSIDE,
        ENLARGED,
        # pace
        PACE,
        STROBING,
        ZIP_PAN,
        # rate
        LOW_RATE,
        ON_TWOS,
        # ease
        HARD_START,
        HARD_STOP,
        SHORT_EASE_OUT,
        JOLT,
        SLOW_END,
        NO_HOLD,
        KEY_UNREACHED,
        # picture
        PULSING,
        SOFTENING,
        # subject
        TOO_TIGHT,
        LEAVES_FRAME,
        LEAVES_ACTION_SAFE,
        LEAVES_TITLE_SAFE,
        LEAD_ROOM,
        # stills
        TOO_FEW_STILLS,
        STILLS_DIFFER,
        NUMBER_MISSING,
        STRANGE_NAME,
        SPARE_STILLS,
        NOT_PHOTOGRAPHED,
        PROFILE_DIFFERS,
        EXPOSURE_DIFFERS,
        STILL_AGAIN,
        FLICKER,
        BUMP,
        MOVED_TWICE,
        # delivery
        ODD_SIZE,
        ALPHA_LOST,
        DISK_ROOM,
        NAME_CLASH,
        # by hand
        *BY_HAND,
    )
}

STOPPING: tuple[Check, ...] = tuple(
    entry for entry in CHECKS.values() if entry.level is Level.FAULT and entry not in BY_HAND
)
"""The checks that can stop a render."""


def check_named(id: str, where: str = "check") -> Check:
    """The check of that id; `where` is where it was asked for.

    Raises
    ------
    InputError
        Where there is none; the nearest is named.
    """
    if id not in CHECKS:
        raise unknown_word(where, id, CHECKS, "a check")
    return CHECKS[id]


def findings_of(
    shot: Shot,
    *,
    stills: bool = False,
    batch: Iterable[str] = (),
    folder: str | Path | None = None,
    progress: Callable[[int, int], None] | None = None,
    checks: Iterable[Check] = tuple(CHECKS.values()),
) -> tuple[Finding, ...]:
    """All that the checks find in a shot, gravest first.

    Parameters
    ----------
    shot : Shot
    stills : bool
        Whether to look at the stills' pixels too, which takes a fraction of a second for each.
    batch : iterable of str
        The names of other shots that are delivered with it.
    folder : path, optional
        Where its frames will go, to ask how much room is there.
    progress : callable, optional
        Called with the stills looked at and the stills in all.
    checks : iterable of Check, optional
        Only these.

    Raises
    ------
    InputError
        Where a still cannot be read at all.
    """
    facts = Facts(shot, batch=batch, folder=None if folder is None else Path(folder))
    if stills and len(shot.stills):
        search = strong_edges_to_seek(facts)
        facts.looks = look_at(shot.stills.refs, facts.headers, progress, search)
    found = [finding for check in checks for finding in check.find(facts)]
    return tuple(sorted(found, key=lambda finding: -finding.level))


def faults_left(
    findings: Iterable[Finding], allow: str | Iterable[str] = ()
) -> tuple[Finding, ...]:
    """The faults that are not allowed by name.

    Raises
    ------
    InputError
        Where a name in `allow` is no check's.
    """
    allowed = {check_named(id, called("allow")).id for id in names_in(allow)}
    return tuple(f for f in findings if f.level is Level.FAULT and f.id not in allowed)
