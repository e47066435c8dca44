"""Several shot files checked one after another: a bad one does not stop the others."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cropmove.checks.delivery import NAME_CLASH
from cropmove.checks.finding import Finding
from cropmove.checks.registry import faults_left, findings_of
from cropmove.errors import CropmoveError
from cropmove.shot import Shot
from cropmove.shotfile import load

__all__ = ["Checked", "check_batch"]

Progress = Callable[[Path, int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What came of checking one shot file: its findings, or why it could not be used.

    Parameters
    ----------
    path : Path
    shot : Shot or None
    findings : tuple of Finding
        Gravest first.
    error : CropmoveError or None
    """

    path: Path
    shot: Shot | None = None
    findings: tuple[Finding, ...] = ()
    error: CropmoveError | None = None

    @property
    def exit_code(self) -> int:
        """0 clean or cautions only, 1 a fault in the move, 2 input that cannot be used."""
        if self.error is not None:
            return self.error.exit_code
        return 1 if faults_left(self.findings) else 0

    def to_json(self) -> dict[str, Any]:
        """Plain values, complete, as docs/checks.md describes them."""
        shot, complaints = self.shot, self.error.complaints if self.error else ()
        return {
            "shot": str(self.path),
            "frames": shot.length if shot else None,
            "fps": float(shot.fps) if shot else None,
            "stills": len(shot.stills) if shot else None,
            "exit_code": self.exit_code,
            "findings": [finding.to_json() for finding in self.findings],
            "errors": [
                {"where": c.where, "value": c.value, "rule": c.rule, "remedy": c.remedy}
                for c in complaints
            ],
        }


def check_batch(
    paths: Sequence[Path], *, stills: bool = False, progress: Progress | None = None
) -> tuple[Checked, ...]:
    """Check shot files that are delivered together.

    Parameters
    ----------
    paths : sequence of Path
    stills : bool
        Whether to look at the stills' pixels too.
    progress : callable, optional
        Called with the shot file, the stills looked at and its stills in all.
    """
    loaded = [_loaded(path) for path in paths]
    checked: list[Checked] = []
    told: list[str] = []
    for one in loaded:
        names = [other.shot.name for other in loaded if other.shot and other is not one]
        checked.append(_checked(one, [*names, *told], stills, progress))
        # Two shots that are to be named anew get two names.
        told += [f.figures["free_name"] for f in checked[-1].findings if f.id == NAME_CLASH.id]
    return tuple(checked)


def _loaded(path: Path) -> Checked:
    try:
        return Checked(path=path, shot=load(path))
    except CropmoveError as error:
        return Checked(path=path, error=error)


def _checked(
    one: Checked, names: Sequence[str], stills: bool, progress: Progress | None
) -> Checked:
    if one.shot is None:
        return one
    path = one.path
    try:
        findings = findings_of(
            one.shot,
            stills=stills,
            batch=names,
            folder=path.parent,
            progress=(lambda done, total: progress(path, done, total)) if progress else None,
        )
    except CropmoveError as error:
        return Checked(path=path, shot=one.shot, error=error)
    return Checked(path=path, shot=one.shot, findings=findings)
