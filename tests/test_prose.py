"""What README and the docs show comes out word for word."""

from __future__ import annotations

import doctest
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from cropmove.cli import app

ROOT = Path(__file__).resolve().parents[1]
PAGES = ["README.md", "docs/guide.md", "docs/marks.md"]
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


def settled(said: str) -> str:
    """What was said, without what depends on how quick the machine is."""
    kept = []
    for line in said.splitlines(keepends=True):
        on_the_way = re.search(r": (?:looked at )?(\d+) of (\d+) (?:frames|stills)", line)
        if on_the_way and on_the_way[1] != on_the_way[2]:
            continue
        if not line.startswith("first run on this machine"):
            kept.append(line)
    return "".join(kept)


def copy_demo(folder: Path) -> None:
    """The demo as it is delivered, without what was made of it."""
    shutil.copytree(
        ROOT / "demo_frames",
        folder / "demo_frames",
        ignore=shutil.ignore_patterns("*.py", "*_frames", "*_sheets", "__pycache__"),
    )


@pytest.mark.parametrize("page", PAGES)
def test_what_a_page_shows_comes_out(page: str, tmp_path: Path) -> None:
    copy_demo(tmp_path)
    checker = doctest.OutputChecker()
    commands = sessions(page)
    assert commands, "a page listed here shows something"
    for command, _ in commands:
        if made := re.search(r"--file (\S+)", command):  # whoever has followed the page has it
            (tmp_path / made[1]).unlink(missing_ok=True)
    for command, wanted in commands:
        words = shlex.split(command)
        if words[0] == "cropmove":
            words[:1] = [sys.executable, "-m", "cropmove"]
        done = subprocess.run(
            words, cwd=tmp_path, capture_output=True, text=True, timeout=300, check=False
        )
        said = settled(done.stdout + done.stderr)
        shown = f"$ {command}\n--- shown\n{wanted}--- said\n{said}"
        assert checker.check_output(wanted, said, OPTIONS), shown


PYTHON = ["README.md", "docs/looking.md", "docs/python.md"]
"""Pages whose ```python blocks are run, and compared with a ```text block that follows."""


@pytest.mark.parametrize("page", PYTHON)
def test_what_a_page_does_in_python_comes_out(page: str, tmp_path: Path) -> None:
    copy_demo(tmp_path)
    text = (ROOT / page).read_text("utf-8")
    blocks = re.findall(r"```python\n(.*?)```(?:\n\n```text\n(.*?)```)?", text, re.DOTALL)
    assert blocks, "a page listed here shows something"
    for code, wanted in blocks:
        done = subprocess.run(
            [sys.executable, "-W", "error", "-c", code],
            cwd=tmp_path, capture_output=True, text=True, timeout=300, check=False,
        )  # fmt: skip
        assert not done.stderr, f"{code}\n{done.stderr}"
        matches = doctest.OutputChecker().check_output(wanted or "...", done.stdout, OPTIONS)
        assert matches, f"--- shown\n{wanted}--- said\n{done.stdout}"


def options() -> list[tuple[str, str]]:
    """Each command with each of its options."""
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    return [
        (name, option)
        for name, command in commands.items()
        for parameter in command.params
        for option in parameter.opts
        if option.startswith("--") and option != "--help"
    ]


@pytest.mark.parametrize(("command", "option"), options())
def test_every_option_stands_in_a_page_that_speaks_of_its_command(
    command: str, option: str
) -> None:
    pages = [page.read_text("utf-8") for page in (ROOT / "docs").glob("*.md")]
    speaking = [page for page in pages if f"cropmove {command}" in page]
    assert any(re.search(rf"{option}(?![\w-])", page) for page in speaking)


def test_no_page_names_an_option_that_is_not_there() -> None:
    known = {option for _, option in options()} | {"--help", "--version"}
    for page in [
        *PAGES,
        "docs/looking.md",
        "docs/shot-file.md",
        "docs/checks.md",
        "docs/python.md",
    ]:
        # Other programs' options stand in sh blocks.
        text = re.sub(r"```sh\n.*?```", "", (ROOT / page).read_text("utf-8"), flags=re.DOTALL)
        assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", text)) <= known, page
