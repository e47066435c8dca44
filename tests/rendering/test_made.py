"""The record of what was made: nothing done twice, nothing of somebody else's written over."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any
from unittest.mock import MagicMock

import pytest

from cropmove.errors import MachineError
from cropmove.rendering.made import Made, State, kept_off

LISTED = '{"file": ["a"], "inputs": "a", "size": 1, "changed": 1, "checksum": 1}'


@pytest.fixture
def made(tmp_path: Path) -> Made:
    return Made(tmp_path / "quay.made.jsonl")


def state(made: Made, file: str, inputs: str) -> State:
    return made.states([(file, inputs)])[file]


def test_a_frame_that_was_never_made_is_missing(made: Made) -> None:
    assert state(made, "quay.0001.png", "a") is State.MISSING


def test_a_name_that_is_too_long_is_told_plainly(made: Made) -> None:
    with pytest.raises(MachineError, match="shorter name"):
        Made(made.path.with_name("n" * 300)).states([("quay.0001.png", "a")])


def test_a_frame_is_current_until_what_it_is_made_from_changes(made: Made) -> None:
    made.write("quay.0001.png", "a", b"frame")
    assert state(made, "quay.0001.png", "a") is State.CURRENT
    assert state(made, "quay.0001.png", "b") is State.OUTDATED


def test_what_another_shot_of_the_name_made_is_its_own(made: Made) -> None:
    ours, theirs = (Made(made.path, shot=f"../{day}/quay.toml") for day in ("monday", "tuesday"))
    ours.write("quay.0001.png", "a", b"frame")
    assert state(ours, "quay.0001.png", "b") is State.OUTDATED
    assert state(theirs, "quay.0001.png", "b") is State.ANOTHERS
    assert list(kept_off(theirs, {"quay.0001.png": State.ANOTHERS})) == [
        "cropmove writes over no other shot's files, here those of ../monday/quay.toml"
    ]
    assert state(theirs, "quay.0001.png", "a") is State.CURRENT  # the same is the same
    theirs.write("quay.0001.png", "b", b"FRAME")
    assert state(theirs, "quay.0001.png", "c") is State.OUTDATED
    assert state(ours, "quay.0001.png", "a") is State.ANOTHERS


def test_frames_recorded_without_a_shot_are_everybodys(made: Made) -> None:
    made.write("quay.0001.png", "a", b"frame")
    known = Made(made.path, shot="../monday/quay.toml")
    assert state(known, "quay.0001.png", "b") is State.OUTDATED
    known.write("quay.0001.png", "b", b"frame")
    assert state(made, "quay.0001.png", "c") is State.OUTDATED


def test_a_file_nobody_recorded_is_foreign(made: Made) -> None:
    (made.path.parent / "quay.0001.png").write_bytes(b"an afternoon's work")
    assert state(made, "quay.0001.png", "a") is State.FOREIGN


def test_a_frame_that_was_painted_on_is_foreign(made: Made) -> None:
    made.write("quay.0001.png", "a", b"frame")
    (made.path.parent / "quay.0001.png").write_bytes(b"FRAME")  # as long as it was
    assert state(made, "quay.0001.png", "a") is State.FOREIGN


def test_frames_copied_elsewhere_are_still_known(made: Made, tmp_path: Path) -> None:
    made.write("quay.0001.png", "a", b"frame")
    shutil.copytree(made.path.parent, tmp_path / "copy")
    copy = tmp_path / "copy" / "quay.0001.png"
    os.utime(copy, (0, 0))
    assert state(Made(tmp_path / "copy" / made.path.name), copy.name, "a") is State.CURRENT


def test_a_damaged_line_is_passed_over(made: Made) -> None:
    made.write("quay.0001.png", "a", b"frame")
    with made.path.open("a") as file:
        file.write('{"file": "quay.0002.png", "inp')
    made.write("quay.0003.png", "a", b"frame")
    assert state(made, "quay.0001.png", "a") is State.CURRENT


@pytest.mark.parametrize("line", ['{"file": "quay.0002.png", "inp', "[" * 5000, LISTED])
def test_a_line_after_a_damaged_one_is_read(line: str, made: Made) -> None:
    made.path.write_text(line)
    made.write("quay.0003.png", "a", b"frame")
    assert state(made, "quay.0003.png", "a") is State.CURRENT


def test_a_record_that_a_full_disk_tears_leaves_the_frame_unmade(
    made: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    made.write("quay.0001.png", "a", b"frame")
    whole = Path.open

    def short(path: Path, *how: Any, **more: Any) -> Any:
        file = whole(path, *how, **more)
        if path != made.path or "a" not in how[0]:
            return file
        torn = MagicMock(wraps=file)
        torn.__enter__.return_value = torn
        torn.__exit__.side_effect = lambda *_: file.close()
        torn.write.side_effect = lambda text: file.write(text[:12])
        return torn

    with monkeypatch.context() as full:
        full.setattr(Path, "open", short)
        with pytest.raises(MachineError, match="free some room"):
            made.write("quay.0002.png", "a", b"frame")
    assert state(made, "quay.0002.png", "a") is State.MISSING
    made.write("quay.0002.png", "a", b"frame")
    for file in ("quay.0001.png", "quay.0002.png"):
        assert state(made, file, "a") is State.CURRENT


def test_a_frame_that_another_render_makes_meanwhile_is_known(
    made: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = Made.lines

    def lines(self: Made) -> Any:
        found = read(self)
        if not (self.path.parent / "quay.0001.png").exists():
            made.write("quay.0001.png", "a", b"frame")
        return found

    monkeypatch.setattr(Made, "lines", lines)
    assert state(made, "quay.0001.png", "a") is State.CURRENT


def test_a_frame_made_anew_is_judged_by_its_newest_line(made: Made) -> None:
    made.write("quay.0001.png", "a", b"frame")
    made.write("quay.0001.png", "b", b"frame")
    assert state(made, "quay.0001.png", "b") is State.CURRENT


def test_a_frame_is_not_taken_for_one_of_its_size_and_second_that_was_never_placed(
    made: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    """FAT counts a file's time in two seconds (Microsoft FAT specification, 1.03, section 6.4)."""
    stat = Path.stat
    in_whole_seconds = os.stat_result((0o100644, 0, 0, 1, 0, 0, 5, 0, 1_700_000_000, 0))

    def coarse(path: Path, **how: Any) -> os.stat_result:
        return in_whole_seconds if path.name.startswith((".quay", "quay.0")) else stat(path, **how)

    made.write("quay.0001.png", "a", b"older")
    monkeypatch.setattr(Path, "stat", coarse)
    made.write("quay.0001.png", "a", b"older")
    monkeypatch.setattr(Path, "replace", MagicMock(side_effect=KeyboardInterrupt))
    with pytest.raises(KeyboardInterrupt):
        made.write("quay.0001.png", "b", b"newer")
    assert state(made, "quay.0001.png", "b") is State.OUTDATED
    assert state(made, "quay.0001.png", "a") is State.CURRENT


def test_a_line_without_its_frame_does_no_harm(made: Made) -> None:
    made.write("quay.0001.png", "a", b"frame")
    (made.path.parent / "quay.0001.png").unlink()
    assert state(made, "quay.0001.png", "a") is State.MISSING
