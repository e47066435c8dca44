"""What is refused is told by the names that the caller used: Python's, or the command line's."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
import typer

import cropmove
from cropmove import showing
from cropmove.cli import app
from cropmove.cli.options import as_option
from cropmove.errors import InputError, MoveFault, called, naming
from cropmove.marking import Prints, StopwatchWish

HOME = Path(cropmove.__file__).parent

TEXT = """
[shot]
stills = "harbour"
[delivery]
size = [320, 240]
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "100%"
[[key]]
frame = 4
width = 320
[[rig]]
name = "boat"
moves = "subject sideways"
start = 0
end = 30
"""

Refused = Callable[[cropmove.Shot, Path], object]
Command = Callable[..., Any]


@pytest.fixture
def quay(tmp_path: Path, photograph: Callable[..., Path]) -> Path:
    photograph()
    (tmp_path / "quay.toml").write_text(TEXT)
    return tmp_path / "quay.toml"


def too_near(shot: cropmove.Shot) -> cropmove.Shot:
    text = cropmove.dumps(shot).replace("width = 320", "width = 200")
    return cropmove.loads(text, name="quay", survey=lambda *_: shot.stills)


WAYS: list[tuple[Refused, list[str], list[str], str]] = [
    (
        lambda shot, out: cropmove.render(shot, out=out, frames=[9]),
        ["render", "quay.toml", "--frames", "9"],
        ["frames = 9"],
        "--frames = 9",
    ),
    (
        lambda shot, out: cropmove.render(too_near(shot), out=out),
        ["render", "near.toml"],
        ["allow='enlarged'"],
        "--allow enlarged",
    ),
    (
        lambda shot, out: cropmove.render(shot, out=out, allow=["jollt"]),
        ["render", "quay.toml", "--allow", "jollt"],
        ["allow = jollt"],
        "--allow = jollt",
    ),
    (
        lambda shot, out: cropmove.render(shot, out=out.parent / "harbour"),
        ["render", "quay.toml", "--out", "harbour"],
        ["out=..."],
        "with --out",
    ),
    (
        lambda shot, out: cropmove.save(shot, out.parent / "quay.toml"),
        ["new", "harbour", "--hold", "--size", "320x240", "--file", "quay.toml"],
        ["overwrite=True"],
        "say --overwrite",
    ),
    (
        lambda shot, out: cropmove.sheet(shot, out=out, guide_width=3),
        ["sheet", "quay.toml", "--guide-width", "3"],
        ["guide_width = 3"],
        "--guide-width = 3",
    ),
    (
        lambda shot, out: cropmove.tape(shot, out / "tape.pdf", paper="a5"),
        ["marks", "quay.toml", "--tape", "tape.pdf", "--paper", "a5"],
        ["paper = a5"],
        "--paper = a5",
    ),
    (
        lambda shot, out: cropmove.preview(shot, out=out, compare="fsp=12"),
        ["preview", "quay.toml", "--compare", "fsp=12"],
        ["compare"],
        "--compare",
    ),
    (
        lambda shot, out: cropmove.new(out, out.parent / "harbour", cropmove.Wish()),
        ["new", "harbour"],
        ["push_in=2"],
        "--push-in 2",
    ),
]


@pytest.mark.parametrize(("python", "words", "in_python", "in_words"), WAYS)
def test_a_refusal_names_what_the_caller_gave_as_the_caller_gave_it(
    python: Refused,
    words: list[str],
    in_python: list[str],
    in_words: str,
    quay: Path,
    command: Command,
) -> None:
    with pytest.raises((InputError, MoveFault)) as refused:
        python(cropmove.load(quay), quay.with_name("out"))
    told = str(refused.value)
    assert all(name in told for name in in_python), told
    assert "--" not in told
    quay.with_name("near.toml").write_text(TEXT.replace("width = 320", "width = 200"))
    said = command(*words)
    assert in_words in said.err, said.err
    assert said.code


def test_after_the_command_line_python_has_its_own_names_again(
    quay: Path, command: Command
) -> None:
    assert command("render", "quay.toml", "--frames", "9").code == 2
    assert called("out", ...) == "out=..."


def test_names_are_told_otherwise_inside_the_block_alone() -> None:
    with naming(as_option):
        assert called("push_in", 2) == "--push-in 2"
    with pytest.raises(InputError), naming(as_option):
        raise InputError
    assert called("push_in", 2) == "push_in=2"


def sources() -> Iterator[tuple[Path, ast.Module]]:
    for path in sorted(HOME.rglob("*.py")):
        # The page about the checks is about the command.
        if "cli" not in path.parts and path.name != "page.py":
            yield path, ast.parse(path.read_text("utf-8"))


def texts(tree: ast.Module) -> Iterator[str]:
    """Every text in a file that is no docstring."""
    docs = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.value


def test_only_the_command_line_knows_of_options() -> None:
    for path, tree in sources():
        for text in texts(tree):
            assert not re.search(r"(?<![\w-])--[a-z]", text), (path.name, text)


def test_what_is_named_is_a_parameter_and_an_option() -> None:
    names = {
        node.args[0].value
        for _, tree in sources()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "called"
        and isinstance(node.args[0], ast.Constant)
    }
    assert {"out", "allow", "push_in", "paper"} <= names
    public = [getattr(cropmove, name) for name in cropmove.__all__]
    known = set(cropmove.__all__) | {field.name for field in fields(Prints)}
    for thing in [*public, StopwatchWish, showing.points_named]:
        if inspect.isfunction(thing):
            known |= set(inspect.signature(thing).parameters)
        elif is_dataclass(thing):
            known |= {field.name for field in fields(thing)}
    assert names <= known
    commands: Any = typer.main.get_command(app)
    options = {
        option
        for command in commands.commands.values()
        for parameter in command.params
        for option in parameter.opts
    }
    assert {as_option(name) for name in names} <= options
