"""What the command line says, as text of 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from typing import TYPE_CHECKING

import typer

from cropmove.errors import Complaint, CropmoveError

if TYPE_CHECKING:
    from cropmove.checks.finding import Finding
    from cropmove.shot import Shot

__all__ = ["error_text", "explanation", "findings_text", "headline", "version"]

WIDTH = 80


def error_text(error: CropmoveError) -> str:
    """An error for people: each complaint with its place, value, rule and remedy."""
    blocks = [_complaint_text(complaint) for complaint in error.complaints]
    count = f"{len(blocks)} things are wrong\n" if len(blocks) > 1 else ""
    return "cropmove: " + count + "\n".join(blocks)


def _complaint_text(complaint: Complaint) -> str:
    head = f"{complaint.where} = {complaint.value}" if complaint.value else complaint.where
    return f"{head}\n{_indented(complaint.rule)}\n{_indented('-> ' + complaint.remedy)}"


def _indented(text: str, by: int = 2) -> str:
    space = " " * by
    return fill(
        text, WIDTH, initial_indent=space, subsequent_indent=space + "   " * text.startswith("-> "),
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip


def headline(path: str, shot: Shot) -> str:
    """A shot in one line."""
    from cropmove.units import rate_text, seconds_text

    held = {1: "on ones", 2: "on twos"}.get(shot.on, f"on {shot.on}s")
    stills = f"{len(shot.stills)} stills" if len(shot.stills) != 1 else "1 still"
    size = f" of {shot.stills.size}" if shot.stills.size else ""
    return (
        f"{path}: {shot.length} frames ({seconds_text(shot.length, shot.fps)} at "
        f"{rate_text(shot.fps)}) {held}, {stills}{size}"
    )


def findings_text(findings: Sequence[Finding]) -> str:
    """Findings, gravest first."""
    from cropmove.checks.finding import frames_text

    if not findings:
        return "  nothing to mend"
    blocks = []
    for finding in findings:
        where = f"  {frames_text(finding.frames)}" if finding.frames else ""
        blocks.append(f"  {str(finding.level).upper():8}{finding.id}{where}")
        blocks.append(_indented(finding.what, 10))
        blocks.append(_indented(f"-> {finding.remedy}", 10))
    return "\n".join(blocks)


def explanation(id: str) -> str:
    """Why a check is made."""
    from cropmove.checks.registry import check_named

    check = check_named(id)
    return "\n".join(
        [
            f"{check.id}: {check.title} ({check.level} at the most)",
            _indented(check.reason),
            _indented(f"source: {check.source}"),
        ]
    )


def version(asked: bool) -> None:
    """Print the version and stop."""
    if asked:
        from cropmove import __version__

        typer.echo(f"cropmove {__version__}")
        raise typer.Exit
