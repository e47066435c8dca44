"""What README and the docs show comes out word for word."""

from __future__ import annotations

import doctest
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PAGES = ["README.md", "docs/guide.md"]
"""Pages whose ```console blocks are run, one after another, in a copy of the demo."""

OPTIONS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


def sessions(page: str) -> list[tuple[str, str]]:
    """Commands and what they are shown to say."""
    found: list[tuple[str, str]] = []
    inside = False
    for line in (ROOT / page).read_text("utf-8").splitlines():
        if line.startswith("```"):
            inside = line == "```console"
        elif inside and line.startswith("$ "):
            found.append((line[2:], ""))
        elif inside:
            command, said = found[-1]
            found[-1] = (command, f"{said}{line}\n")
    return found


@pytest.mark.parametrize("page", PAGES)
def test_what_a_page_shows_comes_out(page: str, tmp_path: Path) -> None:
    shutil.copytree(
        ROOT / "demo_frames",
        tmp_path / "demo_frames",
        ignore=shutil.ignore_patterns("*.py", "*_frames", "*_sheets", "__pycache__"),
    )
    checker = doctest.OutputChecker()
    commands = sessions(page)
    assert commands, "a page listed here shows something"
    for command, wanted in commands:
        words = shlex.split(command)
        if words[0] == "cropmove":
            words[:1] = [sys.executable, "-m", "cropmove"]
        done = subprocess.run(
            words, cwd=tmp_path, capture_output=True, text=True, timeout=300, check=False
        )
        said = done.stdout + done.stderr
        shown = f"$ {command}\n--- shown\n{wanted}--- said\n{said}"
        assert checker.check_output(wanted, said, OPTIONS), shown
