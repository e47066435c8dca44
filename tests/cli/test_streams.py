"""What the command line says to streams that are closed, full or of few letters, and in colour."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile

SHOT = """\
[delivery]
size = "hd"
[[key]]
frame = 1
centre = [3000, 2000]
width = 6000
[[key]]
frame = 9
width = 4000
"""
Run = Callable[..., "subprocess.CompletedProcess[bytes]"]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Runs the command line in another process, a shell's redirections after its words."""
    (tmp_path / "quay.toml").write_text(SHOT)

    def made(words: str, **more: str) -> subprocess.CompletedProcess[bytes]:
        known = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
        return subprocess.run(
            f"{sys.executable} -m cropmove {words}",
            shell=True, cwd=tmp_path, env=known | more, capture_output=True, timeout=120,
        )  # fmt: skip

    return made


POSIX = pytest.mark.skipif(os.name != "posix", reason="a POSIX shell closes streams")


@POSIX
@pytest.mark.parametrize("closed", ["2>&-", ">&-", "<&- >&- 2>&-"])
def test_a_closed_stream_swallows_what_is_said(run: Run, closed: str) -> None:
    assert run(f"check quay.toml {closed}").returncode == 0
    assert run(f"check nowhere.toml {closed}").returncode == 2
    assert run(f"table quay.toml {closed}").returncode == 0


@POSIX
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="Linux has a disk that is always full")
@pytest.mark.parametrize("words", ["table quay.toml", "check --limits"])
def test_a_disk_too_full_for_what_is_said_is_told_plainly(run: Run, words: str) -> None:
    ended = run(f"{words} > /dev/full")
    assert ended.returncode == 2
    assert ended.stderr.startswith(b"cropmove: standard output\n")
    assert b"free some room" in ended.stderr
    assert b"Traceback" not in ended.stderr


@POSIX
def test_where_no_home_can_be_written_nothing_is_said_of_it(run: Run) -> None:
    home = dict.fromkeys(("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"), "/dev/null/nowhere")
    ended = run("sheet quay.toml --quiet", MPLCONFIGDIR="", **home)
    assert (ended.returncode, ended.stderr) == (0, b"")


@pytest.mark.parametrize("letters", ["cp1252", "cp437", "utf-8"])
def test_a_letter_that_a_stream_has_no_code_for_stops_nothing(
    run: Run, tmp_path: Path, letters: str
) -> None:
    (tmp_path / "港.toml").write_text(SHOT)
    ended = run("check 港.toml", PYTHONIOENCODING=letters)
    assert (ended.returncode, ended.stderr) == (0, b"")
    said = ended.stdout.decode(letters)
    assert said.startswith("港.toml" if letters == "utf-8" else "\\u6e2f.toml")


@pytest.mark.parametrize(
    ("more", "is_coloured"),
    [
        ({"TERM": "xterm"}, True),
        ({"TERM": "xterm", "NO_COLOR": ""}, True),
        ({"TERM": "xterm", "NO_COLOR": "1"}, False),
        ({"TERM": "dumb"}, False),
    ],
)
def test_a_terminal_gets_colours_unless_it_or_its_user_wants_none(
    run: Run, tmp_path: Path, more: dict[str, str], is_coloured: bool
) -> None:
    # https://no-color.org: present and not an empty string. terminfo(5): dumb has no capabilities.
    pty = pytest.importorskip("pty", reason="a terminal is made by POSIX's pty")
    heard, end = pty.openpty()
    command = [sys.executable, "-m", "cropmove", "check", "quay.toml"]
    known = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    subprocess.run(command, cwd=tmp_path, env=known | more, stdout=end, timeout=120)
    os.close(end)
    said = os.read(heard, 65536)
    os.close(heard)
    assert b"CAUTION" in said
    assert (b"\x1b[" in said) is is_coloured


@POSIX
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="Linux has a disk that is always full")
@pytest.mark.parametrize("words", ["check nowhere.toml", "table nowhere.toml"])
def test_an_error_that_cannot_be_told_ends_with_its_code_all_the_same(run: Run, words: str) -> None:
    assert run(f"{words} 2> /dev/full").returncode == 2


@POSIX
@pytest.mark.parametrize("words", ["check ../quay.toml", "render ../quay.toml --out frames"])
def test_a_current_folder_that_is_gone_is_told_plainly(
    run: Run, photograph: Callable[..., Path], tmp_path: Path, words: str
) -> None:
    photograph(count=1, size=(6000, 4000))
    (tmp_path / "quay.toml").write_text(f'[shot]\nstills = "harbour"\n{SHOT}')
    made = "mkdir gone && cd gone && rmdir ../gone && "
    ended = run(f"--version > /dev/null; {made} {sys.executable} -m cropmove {words}")
    assert ended.returncode == 2
    assert ended.stderr.startswith(b"cropmove: current folder\n")
    assert b"Traceback" not in ended.stderr


def test_what_a_library_mutters_of_a_damaged_still_is_not_passed_on(
    run: Run, tmp_path: Path
) -> None:
    file = tmp_path / "still.tif"
    tifffile.imwrite(file, np.zeros((60, 90, 3), np.uint8), photometric="rgb", software="x")
    content = bytearray(file.read_bytes())
    with tifffile.TiffFile(file) as written:
        content[written.pages.first.tags["Software"].offset + 2] = (
            99  # TIFF 6.0, section 2: a value's type is 1 to 12
        )
    file.write_bytes(content)
    (tmp_path / "quay.toml").write_text(f'[shot]\nstills = "still.tif"\n{SHOT}')
    ended = run("check quay.toml")
    assert (ended.returncode, ended.stderr) == (1, b"")  # its framings leave so small a still
