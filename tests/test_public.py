"""The public names: all there, all documented, and free until they are used."""

from __future__ import annotations

import runpy
import subprocess
import sys

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
    assert first.endswith((".", "?", "!", ":")) or name == "EASES"


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
