"""Every check, in the order in which they are asked, and the asking."""

from __future__ import annotations

from collections.abc import Iterable

from cropmove.checks.edges import OUTSIDE
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level
from cropmove.checks.scale import ENLARGED
from cropmove.checks.stills import (
    NOT_PHOTOGRAPHED,
    NUMBER_MISSING,
    SPARE_STILLS,
    STILLS_DIFFER,
    TOO_FEW_STILLS,
)
from cropmove.errors import unknown_word
from cropmove.shot import Shot

__all__ = ["CHECKS", "check_named", "faults_left", "findings_of"]

CHECKS: dict[str, Check] = {
    entry.id: entry
    for entry in (
        OUTSIDE,
        ENLARGED,
        TOO_FEW_STILLS,
        STILLS_DIFFER,
        NUMBER_MISSING,
        SPARE_STILLS,
        NOT_PHOTOGRAPHED,
    )
}


def check_named(id: str) -> Check:
    """The check of that id.

    Raises
    ------
    InputError
        Where there is none; the nearest is named.
    """
    if id not in CHECKS:
        raise unknown_word("check", id, CHECKS, "a check")
    return CHECKS[id]


def findings_of(shot: Shot) -> tuple[Finding, ...]:
    """All that the checks find in a shot, gravest first.

    Raises
    ------
    InputError
        Where a still cannot be read at all.
    """
    facts = Facts(shot)
    found = [finding for check in CHECKS.values() for finding in check.find(facts)]
    return tuple(sorted(found, key=lambda finding: -finding.level))


def faults_left(findings: Iterable[Finding], allow: Iterable[str] = ()) -> tuple[Finding, ...]:
    """The faults that are not allowed by name.

    Raises
    ------
    InputError
        Where a name in `allow` is no check's.
    """
    allowed = {check_named(id).id for id in allow}
    return tuple(f for f in findings if f.level is Level.FAULT and f.id not in allowed)
