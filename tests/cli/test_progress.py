"""How far the work is, told on a terminal: an error has a line of its own."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest
import typer
from harbour import TEXT

from cropmove.cli.check import check
from cropmove.cli.preview import preview
from cropmove.errors import InputError


@pytest.fixture
def damaged(
    photograph: Callable[..., Path],
    tmp_path: Path,
) -> Path:
    """A shot whose last still is cut off."""
    photograph(count=4)
    last = max((tmp_path / "harbour").iterdir())
    last.write_bytes(last.read_bytes()[: last.stat().st_size // 2])
    (tmp_path / "quay.toml").write_text(TEXT)
    return tmp_path / "quay.toml"


def test_a_preview_that_fails_ends_its_line(
    damaged: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    with pytest.raises(InputError, match="damaged"):
        preview(damaged, width=160, keep_nothing=True)
    told = capsys.readouterr().err
    assert "\rquay.toml: 4 of 8 frames" in told
    assert told.endswith("\n")


def test_stills_that_cannot_be_looked_at_are_told_on_a_line_of_their_own(
    damaged: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    with pytest.raises(typer.Exit):
        check([damaged], stills=True)
    told = capsys.readouterr().err
    assert "\rquay.toml: looked at 3 of 4 stills" in told
    assert "\ncropmove: " in told
