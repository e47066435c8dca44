"""`cropmove render` as a person meets it: real processes, real exit codes, no traceback."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from cropmove.cli.progress import Teller
from cropmove.jobs import Progress

SHOT = """
[shot]
stills = "stills"
[delivery]
size = [64, 36]
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "90%"
[[key]]
frame = 4
width = 80
"""


def cropmove(*words: object, folder: Path, **options) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "cropmove", *map(str, words)],
        cwd=folder, capture_output=True, text=True, timeout=120, check=False, **options,
    )  # fmt: skip


def refused(done: subprocess.CompletedProcess[str], code: int = 2) -> str:
    """What was said, checked to be one clear refusal."""
    assert done.returncode == code, done.stderr
    assert "Traceback" not in done.stderr
    assert done.stderr.count("cropmove:") == 1
    assert "->" in done.stderr, "a refusal names its remedy"
    return done.stderr


@pytest.fixture
def set_(tmp_path: Path) -> Path:
    rng = np.random.default_rng(3)
    (tmp_path / "stills").mkdir()
    for number in range(1, 5):
        pixels = rng.integers(0, 256, (120, 180, 3), dtype=np.uint8)
        Image.fromarray(pixels).save(tmp_path / "stills" / f"set_{number}.jpg", quality=95)
    (tmp_path / "quay.toml").write_text(SHOT)
    return tmp_path


def test_frames_lie_beside_the_shot_file_and_the_last_line_says_where(set_: Path) -> None:
    done = cropmove("render", "quay.toml", folder=set_)
    assert done.returncode == 0, done.stderr
    assert done.stderr.splitlines()[-1].strip() == "quay_frames"
    assert len(list((set_ / "quay_frames").glob("quay.000?.png"))) == 4


def test_quiet_says_nothing(set_: Path) -> None:
    done = cropmove("render", "quay.toml", "--quiet", folder=set_)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_progress_is_plain_lines_where_there_is_no_terminal(set_: Path) -> None:
    done = cropmove("render", "quay.toml", folder=set_)
    assert "quay.toml: 4 of 4 frames" in done.stderr
    assert "\r" not in done.stderr


def test_frames_can_be_chosen(set_: Path) -> None:
    assert cropmove("render", "quay.toml", "--frames", "2-3", folder=set_).returncode == 0
    assert len(list((set_ / "quay_frames").glob("*.png"))) == 2
    refused(cropmove("render", "quay.toml", "--frames", "3-9", folder=set_))
    refused(cropmove("render", "quay.toml", "--frames", "9" * 5000, folder=set_))


def test_a_bad_shot_does_not_stop_the_others(set_: Path) -> None:
    (set_ / "bad.toml").write_text(SHOT.replace("width = 80", "width = 0"))
    (set_ / "good.toml").write_text(SHOT)
    done = cropmove("render", "bad.toml", "quay.toml", "good.toml", folder=set_)
    assert done.returncode == 2
    assert "key 2, width = 0" in done.stderr
    assert done.stderr.splitlines()[-1] == "2 of 3 shots are done; not bad.toml"
    assert (set_ / "good_frames" / "good.0004.png").exists()


def test_frames_of_a_longer_version_are_named_and_left(set_: Path) -> None:
    assert "longer version" not in cropmove("render", "quay.toml", folder=set_).stderr
    (set_ / "quay.toml").write_text(
        SHOT.replace("frame = 4", "frame = 2").replace("[shot]", "[shot]\nframes = 2")
    )
    done = cropmove("render", "quay.toml", folder=set_)
    told = " ".join(done.stderr.split())
    assert "2 frames of a longer version still there: quay.0003.png and 1 more" in told
    assert (set_ / "quay_frames" / "quay.0004.png").exists()


def test_what_is_refused_names_its_shot(set_: Path) -> None:
    (set_ / "near.toml").write_text(SHOT.replace("width = 80", "width = 40"))
    (set_ / "soon.toml").write_text(
        SHOT.replace('"stills"', '"soon"\nstill_size = [180, 120]\non = 2')
    )
    done = cropmove("render", "near.toml", "soon.toml", "quay.toml", folder=set_)
    assert "cropmove: near.toml, enlarged" in done.stderr
    assert "cropmove: soon.toml, shot, stills = soon" in done.stderr
    assert "-> photograph 2, or" in done.stderr


def test_a_frame_that_was_painted_on_is_kept_by_the_command_that_is_told(set_: Path) -> None:
    assert cropmove("render", "quay.toml", folder=set_).returncode == 0
    painted = set_ / "quay_frames" / "quay.0002.png"
    Image.new("RGB", (64, 36), "red").save(painted)
    kept = painted.read_bytes()
    (set_ / "quay.toml").write_text(SHOT.replace("width = 80", "width = 90"))
    said = " ".join(refused(cropmove("render", "quay.toml", folder=set_)).split())
    assert "to make the others say --frames 1,3-4;" in said
    done = cropmove("render", "quay.toml", "--frames", "1,3-4", folder=set_)
    assert done.returncode == 0, done.stderr
    assert painted.read_bytes() == kept


def test_one_frame_is_one(set_: Path) -> None:
    said = cropmove("render", "quay.toml", "--frames", "1", folder=set_).stderr
    assert "1 frame made" in said
    said = cropmove("render", "quay.toml", "--frames", "1", folder=set_).stderr
    assert "1 was up to date" in said


def test_two_shots_of_one_name_cannot_share_a_folder(set_: Path) -> None:
    (set_ / "other").mkdir()
    (set_ / "other" / "quay.toml").write_text(SHOT.replace('"stills"', '"../stills"'))
    refused(cropmove("render", "quay.toml", "other/quay.toml", "--out", "all", folder=set_))
    assert not (set_ / "all").exists()


def test_a_fault_in_the_move_ends_with_one_and_names_the_way_out(set_: Path) -> None:
    (set_ / "quay.toml").write_text(SHOT.replace("width = 80", "width = 40"))
    said = refused(cropmove("render", "quay.toml", folder=set_), code=1)
    assert "--allow enlarged" in " ".join(said.split())
    done = cropmove("render", "quay.toml", "--allow", "enlarged", folder=set_)
    assert done.returncode == 0


def heeding_stops() -> None:
    """What is started in the background may be told to pass stops over, and so may its children."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    signal.signal(signal.SIGHUP, signal.SIG_DFL)


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_stop_leaves_whole_frames_and_says_how_to_go_on(set_: Path, stop: signal.Signals) -> None:
    (set_ / "quay.toml").write_text(
        SHOT.replace('"stills"', '"stills/set_1.jpg"').replace("frame = 4", "frame = 100000")
    )
    job = subprocess.Popen(
        [sys.executable, "-m", "cropmove", "render", "quay.toml"],
        cwd=set_, stderr=subprocess.PIPE, text=True, preexec_fn=heeding_stops,
    )  # fmt: skip
    deadline = time.monotonic() + 60
    while not list(set_.glob("quay_frames/*.png")) and time.monotonic() < deadline:
        time.sleep(0.05)
    job.send_signal(stop)
    _, said = job.communicate(timeout=60)
    assert job.returncode == 128 + stop  # POSIX shells, Shell Command Language, 2.8.2: above 128
    assert "Traceback" not in said
    assert "stopped" in said
    assert not list((set_ / "quay_frames").glob(".*"))
    for frame in (set_ / "quay_frames").glob("*.png"):
        Image.open(frame).load()


def test_a_stop_that_was_passed_over_ends_the_work_with_the_next_frame() -> None:
    heeding_stops()

    def work() -> None:
        with Teller(quiet=True) as teller:
            with suppress(KeyboardInterrupt):  # as Python does while it tidies up
                signal.raise_signal(signal.SIGINT)
            teller.progress(Progress(done=1, total=9, seconds=1.0))

    with pytest.raises(SystemExit) as left:
        work()
    assert left.value.code == 130
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


@pytest.mark.parametrize(
    ("stills", "said"),
    [
        ("nowhere", "nowhere"),
        ("empty", "empty"),
        ("notes", "begin"),
        ("cut", "cut off"),
    ],
)
def test_stills_that_cannot_be_used_are_named(set_: Path, stills: str, said: str) -> None:
    (set_ / "empty").mkdir()
    (set_ / "notes").mkdir()
    (set_ / "notes" / "set_1.jpg").write_text("dear diary, we shot the quay today\n" * 9)
    (set_ / "cut").mkdir()
    whole = (set_ / "stills" / "set_1.jpg").read_bytes()
    for number in range(1, 5):
        (set_ / "cut" / f"set_{number}.jpg").write_bytes(whole[: len(whole) // 2])
    (set_ / "quay.toml").write_text(SHOT.replace('"stills"', f'"{stills}"'))
    done = cropmove("render", "quay.toml", folder=set_)
    assert said in refused(done)
    assert not list(set_.glob("quay_frames/*.png"))


def test_an_output_folder_that_cannot_be_written_is_said_in_plain_words(set_: Path) -> None:
    (set_ / "file").write_text("not a folder")
    said = refused(cropmove("render", "quay.toml", "--out", "file/frames", folder=set_))
    assert "file" in said
    said = refused(cropmove("render", "quay.toml", "--out", "file", folder=set_))
    assert "a file has that name" in said
    said = refused(cropmove("render", "quay.toml", "--out", "n" * 300, folder=set_))
    assert "a shorter name" in said


@pytest.mark.skipif(os.name != "posix", reason="permissions as POSIX has them")
def test_a_folder_that_may_not_be_written_is_said_in_plain_words(set_: Path) -> None:
    (set_ / "out").mkdir(mode=0o555)
    # Root may write everywhere but into the kernel's own tree.
    out = "/sys/frames" if os.geteuid() == 0 else "out/frames"
    said = refused(cropmove("render", "quay.toml", "--out", out, folder=set_))
    assert "refused" in said
    assert out in said


@pytest.mark.skipif(os.name != "posix", reason="limits as POSIX has them")
def test_a_disk_that_takes_no_more_is_said_in_plain_words(set_: Path) -> None:
    import resource

    def small_disk() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

    said = refused(cropmove("render", "quay.toml", folder=set_, preexec_fn=small_disk))
    assert "refused" in said
    assert not list(set_.glob("quay_frames/*.png"))
    assert not list(set_.glob("quay_frames/.*"))
