"""What ``--help`` says: plain words, every option explained, an example to begin with."""

from __future__ import annotations

import re

import pytest
import typer
from typer.testing import CliRunner

from cropmove.cli import app

COMMANDS = sorted(typer.main.get_command(app).commands)  # type: ignore[attr-defined]


def _help(*words: str, columns: int = 80) -> str:
    said = CliRunner().invoke(app, [*words, "--help"], env={"COLUMNS": str(columns)})
    assert said.exit_code == 0
    return said.stdout


@pytest.mark.parametrize("command", COMMANDS)
def test_it_speaks_of_no_programs_types(command: str) -> None:
    told = _help(command)
    assert not re.search(r"<\w|list\[|Path|\bx>|[{}]", told)


@pytest.mark.parametrize("command", COMMANDS)
def test_it_gives_an_example(command: str) -> None:
    assert f"  Such as: cropmove {command} " in _help(command)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_argument_and_option_is_explained(command: str) -> None:
    for parameter in typer.main.get_command(app).commands[command].params:  # type: ignore[attr-defined]
        assert parameter.help, parameter.name
        assert parameter.help.rstrip(")]").endswith((".", "...")), parameter.name


@pytest.mark.parametrize(
    ("command", "usage"),
    [("render", "SHOT..."), ("check", "[SHOT...]"), ("table", "SHOT"), ("marks", "[SHOT]")],
)
def test_its_usage_says_what_must_be_given_and_what_may(command: str, usage: str) -> None:
    first = _help(command).splitlines()[0]
    assert first.endswith(f" {command} [OPTIONS] {usage}")


@pytest.mark.parametrize("words", [(), *((command,) for command in COMMANDS)])
def test_it_fits_a_terminal_of_80_columns(words: tuple[str, ...]) -> None:
    assert max(map(len, _help(*words).splitlines())) <= 80


def test_the_first_page_says_how_to_begin() -> None:
    assert "cropmove new harbour --push-in" in _help()
