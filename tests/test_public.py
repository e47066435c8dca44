"""The public names: all there, all documented, and free until they are used."""

from __future__ import annotations

import inspect
import re
import runpy
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

import pytest

import cropmove

HEAVY = {
    "numpy", "scipy", "numba", "llvmlite", "PIL", "imagecodecs", "tifffile", "simplejpeg", "isal",
    "tomlkit", "matplotlib", "imageio", "av", "starlette", "uvicorn",
}  # fmt: skip


@pytest.mark.parametrize("name", cropmove.__all__)
def test_a_public_name_is_there_and_documented(name: str) -> None:
    thing = getattr(cropmove, name)
    documented = thing if callable(thing) else type(thing)
    assert documented.__doc__
    first = documented.__doc__.strip().splitlines()[0]
    assert first.endswith((".", "?", "!", ":")) or name.isupper()


def test_no_public_name_is_missing_from_the_list_or_listed_twice() -> None:
    assert set(cropmove.__all__) == set(cropmove._HOMES)
    assert len(cropmove.__all__) == len(set(cropmove.__all__))
    assert set(cropmove.__all__) <= set(dir(cropmove))


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'zebra'"):
        cropmove.zebra  # noqa: B018


def test_a_type_checker_is_told_of_the_public_names_and_of_no_others(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Typing specification, "Type stubs": a module's __getattr__ stands for any name at all.
    monkeypatch.setattr("typing.TYPE_CHECKING", True)
    seen = runpy.run_path(str(cropmove.__file__))
    assert "__getattr__" not in seen
    assert all(seen[name] is getattr(cropmove, name) for name in cropmove.__all__)


def loaded_by(code: str) -> set[str]:
    end = "import sys; print('MODULES', *sorted({name.split('.')[0] for name in sys.modules}))"
    ended = subprocess.run(
        [sys.executable, "-c", f"{code}\n{end}"],
        capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    return set(ended.stdout.split("MODULES", 1)[1].split())


HELP = """
import sys
from cropmove.cli import main
sys.argv = ["cropmove", *{words!r}]
try:
    main()
except SystemExit as end:
    assert not end.code, end.code
"""


def test_importing_cropmove_loads_nothing_heavy() -> None:
    assert loaded_by("import cropmove") & (HEAVY | {"typer", "click", "rich"}) == set()


@pytest.mark.parametrize(
    "words", [["--help"], ["--version"], ["render", "--help"], ["new", "--help"]]
)
def test_help_answers_at_once_and_loads_nothing_heavy(words: list[str]) -> None:
    assert loaded_by(HELP.format(words=words)) & HEAVY == set()


def test_planning_a_move_compiles_nothing_and_opens_no_picture() -> None:
    plan = """
import cropmove
wide = cropmove.Key(frame=1, framing=cropmove.Framing(x=3000, y=2000, width=6000))
hd = cropmove.Delivery(size=cropmove.Size(1920, 1080))
shot = cropmove.Shot(name="q", delivery=hd, keys=(wide,))
cropmove.table(shot)
"""
    assert loaded_by(plan) & {"numba", "llvmlite", "imagecodecs", "av", "matplotlib"} == set()


INSIDE = {
    "Encoding": "the inside of a delivery",
    "Facts": "what a check is asked",
    "Poses": "where a lens stands: arithmetic for the checks",
    "Route": "the way between keys",
    "Timing": "which still stands for which frame",
    "View": "a lens with its still: arithmetic for the checks",
}
"""Kinds that public names speak of and no user builds, with what they are."""


def spoken_of() -> Iterator[tuple[str, str]]:
    """Every kind of ours in the annotations of a public name, with the name."""
    for name in cropmove.__all__:
        thing = getattr(cropmove, name)
        functions = [thing] if inspect.isfunction(thing) else []
        hints: list[dict[str, Any]] = []
        if inspect.isclass(thing):
            hints.append(getattr(thing, "__annotations__", {}))
            for word, member in vars(thing).items():
                inner = getattr(member, "fget", None) or getattr(member, "func", None)
                inner = inner or getattr(member, "__func__", member)
                if inspect.isfunction(inner) and (word[0] != "_" or word == "__getitem__"):
                    functions.append(inner)
        hints += [function.__annotations__ for function in functions]
        for text in (str(hint) for hint in hints for hint in hint.values()):
            yield from ((name, word) for word in re.findall(r"[A-Z]\w+", text))


def test_what_public_names_give_and_take_has_a_public_name() -> None:
    kinds = {
        word
        for module in walk_packages(cropmove.__path__, "cropmove.")
        if not module.name.endswith("__main__")
        for word, thing in vars(import_module(module.name)).items()
        if inspect.isclass(thing) and thing.__module__.startswith("cropmove.")
    }
    kinds -= {*cropmove.__all__, *INSIDE, "Path"}  # which is pathlib's there
    assert not {(name, word) for name, word in spoken_of() if word in kinds}
    assert set(INSIDE) <= {word for _, word in spoken_of()}


def test_a_script_that_uses_the_public_names_satisfies_a_strict_type_checker(
    tmp_path: Path,
) -> None:
    api = pytest.importorskip("mypy.api")
    script = tmp_path / "day.py"
    script.write_text(SCRIPT)
    told, _, code = api.run(["--strict", "--follow-imports=silent", "--config-file=", str(script)])
    assert code == 0, told


SCRIPT = """
from dataclasses import replace
from pathlib import Path

import cropmove
from cropmove import EASES, MOTIONS, Rig, Scale, Shot, Stop

def steps(travel: float) -> list[float]:
    made: cropmove.Pace = cropmove.pace(travel, 48, EASES["smooth"], on=2)
    return [float(step) for step in made.step]

def ferry(folder: Path) -> Shot:
    wish = cropmove.Wish(push_in=1.25, at=(2040, "63%"), seconds=2, on=2)
    shot, _ = cropmove.plan("ferry", cropmove.Stills.found(folder), wish)
    arm = Rig(
        name="arm", motion=MOTIONS["camera pan"], scale=Scale(angular=True, radius=400),
        stops=(Stop(1, 0), Stop(48, 15)),
    )
    return replace(shot, rigs=(arm,))

def readings(shot: Shot) -> dict[str, list[float]]:
    table: cropmove.Table = cropmove.marks(shot, "arm")
    return {name: table[name].reading.tolist() for name in table}

def watched(at: cropmove.Progress) -> None:
    print(at.done, at.total, at.left)

def made(shot: Shot) -> list[str]:
    worst = max((finding.level for finding in cropmove.check(shot)), default=cropmove.Level.NOTE)
    why = [cropmove.CHECKS[finding.id].reason for finding in cropmove.check(shot)]
    try:
        done: cropmove.Rendered = cropmove.render(shot, progress=watched, allow="enlarged")
        shown: cropmove.Shown = cropmove.preview(shot, number=True)
    except cropmove.CropmoveError as error:
        return [complaint.remedy for complaint in error.complaints]
    return [str(done.out), str(shown.page), str(worst), *why]
"""
