"""What the command line says, as text of 80 columns, or fewer where the terminal is narrower."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from shutil import get_terminal_size
from textwrap import fill
from typing import TYPE_CHECKING, Any

import typer

from cropmove.errors import Complaint, CropmoveError

if TYPE_CHECKING:
    from cropmove.checks.batch import Checked
    from cropmove.checks.finding import Finding
    from cropmove.limits import Limits
    from cropmove.shot import Shot

__all__ = [
    "checked_text",
    "counts_text",
    "error_text",
    "explanation",
    "findings_text",
    "folded",
    "headline",
    "limits_text",
    "moving_line",
    "named",
    "total_text",
    "version",
    "width",
]

WIDEST, NARROWEST = 80, 40
"""Columns: longer lines are hard to read, in shorter ones a finding's head has no room."""


def width() -> int:
    """How many columns are written: those of the terminal, or of COLUMNS, within bounds."""
    return min(max(get_terminal_size((WIDEST, 24)).columns, NARROWEST), WIDEST)


def moving_line(text: str) -> str:
    """A line that takes the place of the one before it, and never a second row of the terminal."""
    room = width() - 2
    return f"\r{text[:room]:<{room}}"


def error_text(error: CropmoveError) -> str:
    """An error for people: each complaint with its place, value, rule and remedy."""
    blocks = [_complaint_text(complaint) for complaint in error.complaints]
    count = f"{len(blocks)} things are wrong\n" if len(blocks) > 1 else ""
    return "cropmove: " + count + "\n".join(blocks)


def _complaint_text(complaint: Complaint) -> str:
    head = f"{complaint.where} = {complaint.value}" if complaint.value else complaint.where
    return f"{head}\n{_indented(complaint.rule)}\n{_indented('-> ' + complaint.remedy)}"


def _indented(text: str, by: int = 2) -> str:
    return folded(text, first=by, later=by + 3 * text.startswith("-> "))


def folded(text: str, *, first: int = 0, later: int = 2) -> str:
    """Text in lines as wide as is written, indented by so many columns; no unit begins one."""
    from cropmove.units import unbroken

    filled = fill(
        unbroken(text, _NO_BREAK), width(), initial_indent=" " * first,
        subsequent_indent=" " * later, break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
    return filled.replace(_NO_BREAK, " ")


_NO_BREAK = "\0"
"""Stands for a space while lines are broken: no text holds it."""


def headline(path: str, shot: Shot) -> str:
    """A shot in one line, or two where its path is long."""
    from cropmove.units import count_text, held_text, rate_text, seconds_text

    what = (
        f"{count_text(shot.length, 'frame')} ({seconds_text(shot.length, shot.fps)} at "
        f"{rate_text(shot.fps)}) {held_text(shot.on)}, {_stills_text(shot)}"
    )
    line = f"{path}: {what}"
    return line if len(line) <= width() else f"{path}:\n{_indented(what)}"


def _stills_text(shot: Shot) -> str:
    """How many stills there are and how large, or that there are none, or none yet."""
    from cropmove.units import count_text

    count, size = len(shot.stills), shot.stills.size
    if not count:
        planned = f" ({size} planned)" if size else ""
        return f"no stills yet{planned}" if size or shot.stills.source else "without stills"
    return count_text(count, "still") + (f" of {size}" if size else "")


def checked_text(result: Checked) -> str:
    """A shot that was checked: what it is, how many findings of each level, and each of them."""
    head = headline(str(result.path), result.shot) if result.shot else str(result.path)
    if not result.findings:
        return f"{head}\n  nothing to mend\n"
    return f"{head}\n  {counts_text(result.findings)}\n\n{findings_text(result.findings)}\n"


def total_text(results: Sequence[Checked]) -> str:
    """Several shots in one line."""
    findings = [finding for result in results for finding in result.findings]
    unusable = [str(result.path) for result in results if result.error is not None]
    told = f"{len(results)} shots: {counts_text(findings) if findings else 'nothing to mend'}"
    return folded(
        f"{told}; {len(unusable)} cannot be used: {named(unusable)}" if unusable else told
    )


def named(names: Sequence[str], most: int = 4) -> str:
    """Names in a row, the first few of them where they are many.

    Examples
    --------
    >>> named(["a", "b"]), named(["a", "b", "c", "d"], most=2)
    ('a, b', 'a, b and 2 more')
    """
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more" if more > 0 else "")


def counts_text(findings: Sequence[Finding]) -> str:
    """How many findings there are of each level, gravest first.

    Examples
    --------
    >>> from cropmove.checks.finding import Finding, Level
    >>> note = Finding(id="no-hold", level=Level.NOTE, what="", remedy="")
    >>> counts_text([note, note])
    '2 notes'
    """
    from cropmove.checks.finding import Level

    counts = {level: sum(f.level is level for f in findings) for level in reversed(Level)}
    return ", ".join(f"{n} {level}{'s' * (n > 1)}" for level, n in counts.items() if n)


def findings_text(findings: Sequence[Finding]) -> str:
    """Findings, gravest first: level and id on the left, frames on the right, then the sense."""
    if not findings:
        return "  nothing to mend"
    return "\n\n".join(_finding_text(finding) for finding in findings)


_COLOURS = {"fault": "red", "caution": "yellow", "note": "blue"}


def _finding_text(finding: Finding) -> str:
    from cropmove.checks.finding import frames_text

    level = str(finding.level)
    shown = typer.style(f"{level.upper():8}", fg=_COLOURS[level], bold=True)
    where = frames_text(finding.frames) if finding.frames else ""
    room = width() - 10 - len(finding.id)
    head = f"  {shown}{finding.id}{where:>{room}}" if len(where) < room - 1 else (
        f"  {shown}{finding.id}\n{_indented(where, 10)}"
    )  # fmt: skip
    what, remedy = _indented(finding.what, 10), _indented(f"-> {finding.remedy}", 10)
    return f"{head.rstrip()}\n{what}\n{remedy}"


def explanation(id: str) -> str:
    """Why a check is made, who says so, and what it judges by."""
    from cropmove.checks.registry import check_named
    from cropmove.limits import LIMITS

    check = check_named(id)
    blocks = [
        f"{check.id}: {check.title}",
        _indented(f"level: at most a {check.level}"),
        _indented(check.reason),
        _indented(f"source: {check.source}"),
    ]
    if check.reads_pixels:
        blocks.append(_indented("asked with --stills: it reads the stills' pixels"))
    for name in check.limits:
        limit = LIMITS[name]
        blocks.append(_indented(f"limit: {name} = {limit.value:g} ({limit.unit})"))
    return "\n".join(blocks)


def limits_text(paths: Sequence[Path], *, as_json: bool = False) -> str:
    """Every limit with its value, unit, range, reason and source: usual ones, or a shot's."""
    from cropmove.limits import LIMITS, Limits
    from cropmove.shotfile import load

    shown = [(str(path), load(path).limits) for path in paths] or [("", Limits())]
    if as_json:
        return json.dumps([_limits_json(path, limits) for path, limits in shown], indent=2)
    blocks = []
    for path, limits in shown:
        blocks += [f"{path}:\n"] if path else []
        for name, limit in LIMITS.items():
            value = getattr(limits, name)
            usual = f"usually {limit.value:g}; " if value != limit.value else ""
            may_be = f"({usual}{limit.low:g} to {limit.high:g})"
            blocks.append(
                f"{name} = {value:g}  {limit.unit} {may_be}\n"
                f"{_indented(limit.reason, 4)}\n{_indented('source: ' + limit.source, 4)}\n"
            )
    return "\n".join([*blocks, "change any of them under [limits] in the shot file"])


def _limits_json(path: str, limits: Limits) -> dict[str, Any]:
    from cropmove.limits import LIMITS

    return {
        "shot": path or None,
        "limits": [
            {
                "name": name,
                "value": getattr(limits, name),
                "usual": limit.value,
                "range": [limit.low, limit.high],
                "unit": limit.unit,
                "reason": limit.reason,
                "source": limit.source,
            }
            for name, limit in LIMITS.items()
        ],
    }


def version(asked: bool) -> None:
    """Print the version and stop."""
    if asked:
        from cropmove import __version__

        typer.echo(f"cropmove {__version__}")
        raise typer.Exit
