"""``cropmove check``: exit codes, text and JSON of the same findings, one clear error each."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cropmove import jobs
from cropmove.errors import Complaint, InputError, MachineError, MoveFault

CLEAN = """\
[shot]
stills = "harbour"
on = 2
[delivery]
size = [64, 48]
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "50%"
[[key]]
frame = 48
width = "45%"
"""
Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path, photograph: Callable[..., Path]) -> Write:
    photograph(count=24, size=(640, 480))

    def made(*changes: tuple[str, str], name: str = "quay.toml") -> Path:
        text = CLEAN
        for old, new in changes:
            assert old in text
            text = text.replace(old, new, 1)
        (tmp_path / name).write_text(text)
        return Path(name)

    return made


def test_a_shot_without_faults_ends_with_0(write: Write, command: Callable[..., Any]) -> None:
    said = command("check", write())
    assert (said.code, said.err) == (0, "")
    assert "quay.toml" in said.out


def test_a_caution_alone_ends_with_0(
    write: Write, command: Callable[..., Any], tmp_path: Path
) -> None:
    file = write(("frame = 48", "frame = 46"))
    (tmp_path / "harbour" / "harbour_0003.jpg").unlink()
    said = command("check", file)
    assert said.code == 0
    assert "CAUTION" in said.out
    assert "number-missing" in said.out


@pytest.mark.parametrize(
    ("old", "new", "id"),
    [
        ('"45%"', "63.9", "enlarged"),
        ('["50%", "50%"]', '[3, "50%"]', "outside"),
        ("frame = 48", "frame = 49", "too-few-stills"),
    ],
)
def test_a_fault_in_the_move_ends_with_1(
    write: Write, command: Callable[..., Any], old: str, new: str, id: str
) -> None:
    said = command("check", write((old, new)))
    assert said.code == 1
    assert f"FAULT   {id}" in said.out
    assert "->" in said.out
    assert said.err == ""


BAD = {
    "a zero-size key": ('"50%"\n[[', "0\n[["),
    "not a number": ('"50%"\n[[', "nan\n[["),
    "two keys on one frame": ("frame = 48", "frame = 1"),
    "a frame of 0": ("frame = 1", "frame = 0"),
    "no rate": ("on = 2", "fps = 0"),
    "an impossible delivery": ("[64, 48]", "[1, 100000]"),
    "stills on none": ("on = 2", "on = 0"),
    "missing stills": ('"harbour"', '"nowhere"'),
    "a giant number": ('"45%"', "1" + "0" * 400),
    "a giant share": ('"45%"', '"1e999999999%"'),
    "a giant time": ("frame = 48", 'time = "1e999999999 s"'),
    "a word twice": ("on = 2", "on = 2\non = 2"),
    "an unknown word": ("width", "widht"),
    "eases that do not fit": ('width = "45%"', 'width = "45%"\nease_in = 40\nease_out = 40'),
    "no toml": ("[shot]", "[shot"),
}


@pytest.mark.parametrize("fault", BAD)
def test_input_that_cannot_be_used_ends_with_2_and_says_why(
    write: Write, command: Callable[..., Any], fault: str
) -> None:
    said = command("check", write(BAD[fault]))
    assert said.code == 2
    assert said.err.startswith("cropmove: ")
    assert "quay.toml" in said.err
    assert "->" in said.err
    assert "Traceback" not in said.err


def test_all_faults_of_a_file_are_told_and_counted(
    write: Write, command: Callable[..., Any]
) -> None:
    said = command("check", write(("on = 2", "on = 0\nfps = 0"), ("[64, 48]", '"hdd"')))
    assert "3 things are wrong" in said.err
    assert said.err.count("->") == 3


def test_json_and_text_are_views_of_the_same_findings(
    write: Write, command: Callable[..., Any], tmp_path: Path
) -> None:
    file = write(('"45%"', "63.9"))
    (told,) = json.loads(command("check", "--json", file).out)
    findings = jobs.check(jobs.load(tmp_path / "quay.toml"))
    assert told["shot"] == "quay.toml"
    assert told["findings"] == [json.loads(json.dumps(f.to_json())) for f in findings]
    text = " ".join(command("check", file).out.split())
    for finding in told["findings"]:
        assert finding["id"] in text
        assert " ".join(finding["what"].split()) in text


def test_a_bad_file_does_not_hide_the_others(write: Write, command: Callable[..., Any]) -> None:
    good, bad = write(), write(("on = 2", "on = 0"), name="bad.toml")
    said = command("check", bad, good)
    assert said.code == 2
    assert "quay.toml" in said.out
    assert "bad.toml" in said.err
    assert said.err.endswith("\n\n")  # the next shot stands apart
    assert said.out.splitlines()[-1].endswith("1 cannot be used: bad.toml")


@pytest.mark.parametrize("words", [(), ("quay.toml", "quay.toml"), ("nowhere.toml",)])
def test_no_shot_the_same_twice_or_none_there_ends_with_2(
    write: Write, command: Callable[..., Any], words: tuple[str, ...]
) -> None:
    write()
    said = command("check", *words)
    assert said.code == 2
    assert "->" in said.err


def test_a_check_explains_itself(command: Callable[..., Any]) -> None:
    said = command("check", "--explain", "enlarged")
    assert said.code == 0
    assert "source:" in said.out
    unknown = command("check", "--explain", "enlargd")
    assert unknown.code == 2
    assert 'did you mean "enlarged"' in unknown.err


@pytest.mark.parametrize("kind", [InputError, MachineError, MoveFault])
def test_whatever_is_refused_ends_with_its_own_code(
    write: Write, command: Callable[..., Any], monkeypatch: pytest.MonkeyPatch, kind: type
) -> None:
    def refuse(shot: object) -> str:
        raise kind(Complaint(where="quay", rule="so it is", remedy="mend it"))

    monkeypatch.setattr(jobs, "table", refuse)
    said = command("table", write())
    assert (said.code, said.out) == (kind.exit_code, "")
    assert "mend it" in said.err


def as_a_process(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "cropmove", *words],
        cwd=cwd, capture_output=True, text=True, timeout=60, env=os.environ, check=False,
    )  # fmt: skip


def test_a_process_ends_with_the_same_codes_and_no_traceback(write: Write, tmp_path: Path) -> None:
    write()
    write(('"45%"', "63.9"), name="fault.toml")
    write(("on = 2", "on = 0"), name="bad.toml")
    for name, code in (("quay.toml", 0), ("fault.toml", 1), ("bad.toml", 2)):
        ended = as_a_process("check", name, cwd=tmp_path)
        assert ended.returncode == code
        assert "Traceback" not in ended.stderr


def test_a_reader_that_stops_reading_is_no_fault(write: Write, tmp_path: Path) -> None:
    write()
    process = subprocess.Popen(
        [sys.executable, "-m", "cropmove", "table", "quay.toml"],
        cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    complaint = process.stderr.read()
    process.stderr.close()
    assert process.wait(timeout=60) == 0
    assert complaint == b""


def test_what_a_library_warns_of_is_not_among_the_findings(
    tmp_path: Path, command: Callable[..., Any]
) -> None:
    openexr = pytest.importorskip("OpenEXR")
    light = np.random.default_rng(2).random((200, 300, 3)).astype(np.float32)
    (tmp_path / "harbour").mkdir()
    for name in ("a_1.exr", "a_2.exr"):
        file = tmp_path / "harbour" / name
        openexr.File({"type": openexr.scanlineimage}, {"RGB": light}).write(str(file))
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])
    (tmp_path / "quay.toml").write_text(CLEAN)
    said = command("check", "--stills", "--json", "quay.toml")
    json.loads(said.out)
    assert said.code == 2
    assert "a_2.exr" in said.err


def test_the_limits_of_a_shot_say_what_is_usual_where_they_differ(
    write: Write, command: Callable[..., Any]
) -> None:
    file = write(("[delivery]", "[limits]\ncrossing = 5\nhold = 6\n[delivery]"))
    told = command("check", file, "--limits").out.splitlines()
    assert "crossing = 5  s (usually 7; 0.1 to 60)" in told
    assert "hold = 6  frames (0 to 1000)" in told


@pytest.mark.parametrize(("columns", "widest"), [(60, 60), (200, 80), (10, 40)])
def test_findings_fit_a_narrow_terminal(
    write: Write,
    command: Callable[..., Any],
    monkeypatch: pytest.MonkeyPatch,
    columns: int,
    widest: int,
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    said = command("check", write(('width = "45%"', 'width = "120%"'))).out
    longest = max(map(len, said.splitlines()))
    assert widest - 16 < longest <= widest


@pytest.mark.parametrize("columns", range(40, 81))
def test_no_line_begins_with_a_unit(monkeypatch: pytest.MonkeyPatch, columns: int) -> None:
    from cropmove.cli.shown import folded

    monkeypatch.setenv("COLUMNS", str(columns))
    text = (
        "a corner goes sideways by 0.864 % of the width, 380 px of the 6000 x 4000 px still: from "
        "0.833 % on, in 2.5 s, it is seen twice, and 0.50 mm are 3 % of it"
    )
    lines = folded(text).splitlines()
    assert " ".join(map(str.strip, lines)) == text
    assert not [line for line in lines if line.split()[0] in ("%", "px", "s,", "mm", "x", "4000")]


def test_a_line_that_moves_keeps_to_one_row(monkeypatch: pytest.MonkeyPatch) -> None:
    from cropmove.cli.shown import moving_line

    monkeypatch.setenv("COLUMNS", "60")
    for text in ("quay.toml: looked at 1 of 24 stills", "a" * 200):
        assert len(moving_line(text)) == 1 + 58
