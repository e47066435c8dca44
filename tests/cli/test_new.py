"""``cropmove new``, as a person types it."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

import cropmove
from cropmove.cli import app


@pytest.fixture
def new(command: Callable[..., Any], photograph: Callable[..., Path]) -> Callable[..., Any]:
    photograph(count=24, size=(600, 400))

    def run(*words: object) -> Any:
        return command("new", "harbour", "--size", "192x108", *words)

    return run


@pytest.mark.parametrize(
    "words",
    [
        ("--push-in", "2"),
        ("--push-in", "2", "--at", "55%,45%", "--on", "2"),
        ("--pull-out", "3"),
        ("--pan", "left"),
        ("--tilt", "up", "--width", "50%"),
        ("--pan", "right", "--tilt", "down", "--ease", "smooth"),
        ("--hold", "--seconds", "0.5"),
        ("--from", "50%,50%,100%", "--to", "310,190,200", "--ease-in", "0.25 s", "--ease-out", "9"),
        ("--push-in", "2", "--fps", "24000/1001", "--frames", "20"),
    ],
)
def test_what_it_makes_is_a_good_shot_file(
    new: Callable[..., Any], command: Callable[..., Any], tmp_path: Path, words: tuple[str, ...]
) -> None:
    said = new(*words)
    assert (said.code, said.err) == (0, "")
    assert said.out.startswith("harbour.toml: ")
    assert "without enlarging, a framing could be as close as 192 px wide" in said.out
    text = (tmp_path / "harbour.toml").read_text()
    assert 'stills = "harbour"' in text
    assert not re.search(r"(FAULT)", command("check", "harbour.toml").out)
    shot = cropmove.load(tmp_path / "harbour.toml")
    assert cropmove.dumps(shot, like=text) == text


def test_a_link_that_leads_to_itself_is_told_plainly(
    new: Callable[..., Any], tmp_path: Path
) -> None:
    (tmp_path / "loop").symlink_to("loop")
    said = new("--hold", "--file", "loop/quay.toml")
    assert said.code == 2
    assert "loop" in said.err


def test_it_never_writes_over_a_file_unasked(new: Callable[..., Any], tmp_path: Path) -> None:
    file = tmp_path / "harbour.toml"
    file.write_text("mine")
    said = new("--push-in", 2)
    assert said.code == 2
    assert "--overwrite" in said.err
    assert file.read_text() == "mine"
    assert new("--push-in", 2, "--overwrite").code == 0
    assert file.read_text() != "mine"


def test_the_stills_are_named_as_the_file_sees_them(
    new: Callable[..., Any], tmp_path: Path
) -> None:
    assert new("--push-in", 2, "--file", "shots/first/quay.toml").code == 0
    file = tmp_path / "shots" / "first" / "quay.toml"
    assert 'stills = "../../harbour"' in file.read_text()
    assert len(cropmove.load(file).stills) == 24


def test_a_file_in_a_linked_folder_finds_its_stills(
    new: Callable[..., Any], tmp_path: Path
) -> None:
    (tmp_path / "far" / "deep").mkdir(parents=True)
    (tmp_path / "link").symlink_to("far/deep", target_is_directory=True)
    for file in ("link/quay.toml", "link/new/quay.toml"):
        assert new("--push-in", 2, "--file", file).code == 0
        assert len(cropmove.load(tmp_path / file).stills) == 24


def test_a_name_that_is_no_text_is_refused(
    photograph: Callable[..., Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    folder = os.fsdecode(b"quay\xff")
    try:
        photograph().rename(folder)
    except OSError:
        pytest.skip("this disk takes names in UTF-8 only")
    with pytest.raises(cropmove.InputError, match="UTF-8"):
        cropmove.new("a.toml", folder, cropmove.Wish(hold=True, size="64x36"))
    assert not (tmp_path / "a.toml").exists()


def test_a_glob_and_one_still_will_do(
    new: Callable[..., Any], command: Callable[..., Any], tmp_path: Path
) -> None:
    assert command("new", "harbour/*.jpg", "--size", "192x108", "--push-in", 2).code == 0
    one = command("new", "harbour/harbour_0001.jpg", "--size", "192x108", "--pan", "left")
    assert one.code == 0
    assert "72 frames (3 s at 24)" in one.out
    assert (tmp_path / "harbour_0001.toml").exists()


def test_it_looks_at_upright_stills(
    command: Callable[..., Any], photograph: Callable[..., Path], tmp_path: Path
) -> None:
    photograph("quay", count=2, size=(600, 400), orientation=6)
    assert command("new", "quay", "--size", "108x192", "--push-in", 2).code == 0
    key = cropmove.load(tmp_path / "quay.toml").keys[0]
    assert (key.framing.x, key.framing.y) == (200, 300)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "--push-in"),
        (("--pan", "sideways"), "left, right"),
        (("--push-in", "4"), "would be enlarged"),
        (("--push-in", "2", "--at", "50%"), "2 lengths between commas"),
        (("--push-in", "2", "--frames", "100"), "last 24 frames"),
        (("--push-in", "2", "--seconds", "100"), "--seconds = 100.0 24 stills held"),
        (("--push-in", "2", "--fps", "0"), "frames a second"),
        (("--pan", "left", "--seconds", "1e9"), "1,000,000"),
        (("--push-in", "2", "--file", ".", "--overwrite"), "there is a folder of that name"),
        (("--push-in", "2", "--file", "n" * 300), "a shorter name"),
        (("--from", "0,0,200", "--to", "50%,50%,50%"), "its centre could be 100, 56.25"),
    ],
)
def test_what_cannot_be_is_told_once_and_nothing_is_written(
    new: Callable[..., Any], tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    said = new(*words)
    assert said.code == 2
    assert said.out == ""
    assert said.err.startswith("cropmove: ")
    assert told in " ".join(said.err.split())
    assert said.err.count("->") == 1
    assert not (tmp_path / "harbour.toml").exists()


@pytest.mark.parametrize(
    "stills", ["", "n" * 300, "nowhere", "empty", "empty/*.jpg", "notes", "cut.jpg", "text.jpg"]
)
def test_stills_that_will_not_do_are_told_once(
    command: Callable[..., Any], photograph: Callable[..., Path], tmp_path: Path, stills: str
) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "notes").mkdir()
    (tmp_path / "notes" / "a.txt").write_text("notes")
    whole = (photograph() / "harbour_0001.jpg").read_bytes()
    (tmp_path / "cut.jpg").write_bytes(whole[:100])
    (tmp_path / "text.jpg").write_text("not a picture")
    said = command("new", stills, "--push-in", 2, "--size", "64x36")
    assert said.code == 2
    assert said.err.count("->") == 1
    assert "Traceback" not in said.err


def test_stills_that_are_not_there_are_looked_for_here_not_beside_the_file(
    command: Callable[..., Any], tmp_path: Path
) -> None:
    (tmp_path / "shots").mkdir()
    said = command("new", "nowhere", "--push-in", 2, "--file", "shots/quay.toml")
    assert "it is looked for in the current folder" in said.err


@pytest.mark.parametrize("stills", ["soon", "soon/*.jpg", "empty", None])
def test_a_move_is_planned_before_anything_is_photographed(
    command: Callable[..., Any], tmp_path: Path, stills: str | None
) -> None:
    (tmp_path / "empty").mkdir()
    words = ([stills] if stills else []) + ["--still-size", "6000x4000", "--push-in", 2, "--on", 2]
    said = command("new", *words, "--seconds", 4, "--file", "quay.toml")
    assert (said.code, said.err) == (0, "")
    assert "96 frames (4 s at 24)" in said.out
    assert "48 stills of 6000 x 4000 to be photographed (on twos)" in said.out
    text = (tmp_path / "quay.toml").read_text()
    assert "still_size = [6000, 4000]" in text
    assert ("stills = " in text) == bool(stills)
    shot = cropmove.load(tmp_path / "quay.toml")
    assert shot.stills.source == (stills or "")
    assert cropmove.dumps(shot, like=text) == text
    checked = command("check", "quay.toml")
    assert (checked.code, checked.err) == (0, "")
    assert "on twos, no stills yet (6000 x 4000 planned)" in " ".join(checked.out.split())
    assert len(command("table", "quay.toml").out.splitlines()) == 97


def test_a_planned_shot_takes_its_stills_when_they_are_in(
    command: Callable[..., Any], photograph: Callable[..., Path], tmp_path: Path
) -> None:
    words = ("--size", "192x108", "--on", 2, "--seconds", 1, "--push-in", 2)
    assert command("new", "harbour", "--still-size", "600x400", *words).code == 0
    planned = command("table", "harbour.toml").out
    photograph(count=12, size=(600, 400))
    assert command("table", "harbour.toml").out == planned
    photograph(count=12, size=(300, 200))
    said = command("check", "harbour.toml")
    assert said.code == 2
    assert "stills are 300 x 200, and 600 x 400 was planned" in " ".join(said.err.split())


def test_stills_that_are_there_have_their_own_size(new: Callable[..., Any], tmp_path: Path) -> None:
    said = new("--push-in", 2, "--still-size", "6000x4000")
    assert said.code == 2
    assert "cropmove: stills = harbour" in said.err
    assert "600 x 400, and 6000 x 4000 was planned" in " ".join(said.err.split())
    assert new("--push-in", 2, "--still-size", "600x400").code == 0
    assert "still_size" not in (tmp_path / "harbour.toml").read_text()


@pytest.mark.parametrize("size", ["big", "6000", "6000x", "6000x4000x2", "0x10", "-3x4", "hd"])
def test_a_size_of_stills_that_is_none_is_refused(
    command: Callable[..., Any], tmp_path: Path, size: str
) -> None:
    said = command("new", "soon", "--push-in", 2, "--still-size", size)
    assert said.code == 2
    assert said.err.startswith("cropmove: --still-size")
    assert said.err.count("->") == 1
    assert not (tmp_path / "soon.toml").exists()


def test_stills_that_are_missing_may_be_still_to_come(command: Callable[..., Any]) -> None:
    for words in (("nowhere",), ("nowhere/*.jpg",), ()):
        said = command("new", *words, "--push-in", 2)
        assert said.code == 2
        assert "--still-size 6000x4000" in " ".join(said.err.split())


def test_one_frame_is_told_in_the_singular(command: Callable[..., Any]) -> None:
    said = command("new", "soon", "--still-size", "600x400", "--size", "192x108", "--hold",
                   "--frames", 1)  # fmt: skip
    assert "for 1 frame (" in said.out
    assert "1 still of 600 x 400 to be photographed" in said.out
    assert "1 frame (" in command("check", "soon.toml").out


def test_a_wrong_option_is_refused_as_usual() -> None:
    result = CliRunner().invoke(app, ["new", "harbour", "--push-inn", "2"])
    assert result.exit_code == 2
    assert "--push-in" in result.output
