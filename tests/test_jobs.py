"""What a user can ask for, asked from Python on real files."""

from __future__ import annotations

import errno
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import cropmove
from cropmove import jobs
from cropmove.errors import InputError, MachineError, MoveFault
from cropmove.geometry import Size
from cropmove.rendering import ready, sequence
from cropmove.showing import frames_named

SHOT = """
[shot]
stills = "stills"
on = 2
[delivery]
size = [64, 36]
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "90%"
[[key]]
frame = 8
width = 80
"""

ANOTHER = SHOT.replace('"90%"', '"85%"').replace("width = 80", "width = 90")


@pytest.fixture
def shot_file(tmp_path: Path) -> Path:
    rng = np.random.default_rng(3)
    (tmp_path / "stills").mkdir()
    for number in range(1, 5):
        pixels = rng.integers(0, 256, (120, 180, 3), dtype=np.uint8)
        Image.fromarray(pixels).save(tmp_path / "stills" / f"set_{number}.jpg", quality=95)
    path = tmp_path / "quay.toml"
    path.write_text(SHOT)
    return path


def frames_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("*.png"))


def test_a_render_makes_every_frame_under_its_name(shot_file: Path, tmp_path: Path) -> None:
    done = jobs.render(cropmove.load(shot_file), out=tmp_path / "out")
    assert (done.made, done.kept) == (8, 0)
    assert frames_in(tmp_path / "out") == [f"quay.{n:04d}.png" for n in range(1, 9)]
    with Image.open(tmp_path / "out" / "quay.0008.png") as frame:
        assert frame.size == (64, 36)


def test_a_second_render_does_only_what_is_missing_or_out_of_date(
    shot_file: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    jobs.render(cropmove.load(shot_file), out=out)
    again = jobs.render(cropmove.load(shot_file), out=out)
    assert (again.made, again.kept) == (0, 8)
    (out / "quay.0005.png").unlink()
    assert jobs.render(cropmove.load(shot_file), out=out).made == 1
    os.utime(tmp_path / "stills" / "set_2.jpg", (1, 1))  # shown in frames 3 and 4
    assert jobs.render(cropmove.load(shot_file), out=out).made == 2
    shot_file.write_text(SHOT.replace("width = 80", "width = 90"))
    # The first framing stays: that frame is up to date.
    assert jobs.render(cropmove.load(shot_file), out=out).made == 7


def test_a_shot_that_begins_to_move_is_made_anew_with_the_kernel_for_that(
    shot_file: Path, tmp_path: Path
) -> None:
    # A shot that never moves is copied, one that moves is not: all its frames alike.
    held = SHOT.replace('width = "90%"', "width = 64").replace("width = 80", "width = 64")
    out = tmp_path / "out"
    shot_file.write_text(held)
    assert jobs.render(cropmove.load(shot_file), out=out).made == 8
    shot_file.write_text(held + '[[key]]\nframe = 16\ncentre = ["60%", "50%"]\nwidth = 64\n')
    again = jobs.render(cropmove.load(shot_file), out=out, allow=["too-few-stills"])
    assert (again.made, again.kept) == (8, 0)


def test_a_render_with_nothing_to_do_wakes_no_engine(shot_file: Path, tmp_path: Path) -> None:
    jobs.render(cropmove.load(shot_file), out=tmp_path / "out")
    program = (
        "import sys, cropmove\n"
        "done = cropmove.render(cropmove.load('quay.toml'), out='out')\n"
        "assert done.kept == 8, done\n"
        "assert not {'numba', 'scipy', 'matplotlib'} & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", program], cwd=tmp_path, check=True, timeout=120)


def test_only_the_frames_asked_for_are_made(shot_file: Path, tmp_path: Path) -> None:
    done = jobs.render(cropmove.load(shot_file), out=tmp_path / "out", frames=[3, 4, 4])
    assert frames_in(done.out) == ["quay.0003.png", "quay.0004.png"]


def test_a_file_that_cropmove_did_not_make_stops_the_render_before_it_begins(
    shot_file: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "quay.0004.png").write_bytes(b"painted by hand")
    with pytest.raises(InputError, match="overwrite"):
        jobs.render(cropmove.load(shot_file), out=out)
    assert frames_in(out) == ["quay.0004.png"]
    assert (out / "quay.0004.png").read_bytes() == b"painted by hand"
    assert jobs.render(cropmove.load(shot_file), out=out, overwrite=True).made == 8


def test_frames_of_another_shot_of_the_same_name_are_left(
    shot_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Scenes have a quay each; with one folder for all frames the second would take the first's."""
    other = tmp_path / "scene_2" / "quay.toml"
    shutil.copytree(tmp_path / "stills", tmp_path / "scene_2" / "stills")
    other.write_text(ANOTHER)
    out = tmp_path / "reel"
    jobs.render(cropmove.load(shot_file), out=out)
    before = {path: path.read_bytes() for path in out.iterdir()}
    monkeypatch.chdir(out)
    for way in (Path("../scene_2/quay.toml"), other):
        with pytest.raises(InputError) as refused:
            jobs.render(cropmove.load(way), out=out)
        (complaint,) = refused.value.complaints
        assert complaint.where == str(out)
        assert complaint.rule == (
            "cropmove writes over no other shot's files, here those of ../quay.toml: "
            "quay.0001.png, quay.0002.png, quay.0003.png and 5 more"
        )
        assert complaint.remedy == "give another folder with out=..., or say overwrite=True"
    (out / "quay.0002.png").write_bytes(b"painted")
    with pytest.raises(InputError) as refused:
        jobs.render(cropmove.load(other), out=out)
    theirs, painted = (complaint.rule for complaint in refused.value.complaints)
    assert theirs.endswith("quay.0001.png, quay.0003.png, quay.0004.png and 4 more")
    assert painted.endswith("or that was changed since: quay.0002.png")
    (out / "quay.0002.png").write_bytes(before[out / "quay.0002.png"])
    with pytest.raises(InputError, match=r"other shot's files, here those of \.\./quay\.toml"):
        jobs.render(replace(cropmove.load(other), file=None), out=out)
    assert {path: path.read_bytes() for path in out.iterdir()} == before
    assert jobs.render(cropmove.load(other), out=out, overwrite=True).made == 8
    with pytest.raises(InputError, match=r"here those of \.\./scene_2/quay\.toml"):
        jobs.render(cropmove.load(shot_file), out=out)


def test_a_shot_stays_the_same_wherever_all_of_it_is_carried(
    shot_file: Path, tmp_path: Path
) -> None:
    jobs.render(cropmove.load(shot_file), out=tmp_path / "out")
    carried = tmp_path / "archive" / "film"
    shutil.copytree(
        tmp_path, carried, ignore=shutil.ignore_patterns("archive"), copy_function=shutil.copy2
    )
    (carried / "quay.toml").write_text(ANOTHER)
    assert jobs.render(cropmove.load(carried / "quay.toml"), out=carried / "out").made == 8


@pytest.mark.parametrize("overwrite", [False, True])
def test_no_frame_goes_among_the_stills_or_over_one(
    overwrite: bool, shot_file: Path, tmp_path: Path
) -> None:
    stills = tmp_path / "stills"
    before = {path.name: path.read_bytes() for path in stills.iterdir()}
    with pytest.raises(InputError, match="among the stills"):
        jobs.render(cropmove.load(shot_file), out=stills, overwrite=overwrite)
    (tmp_path / "link").symlink_to(stills)
    with pytest.raises(InputError, match="among the stills"):
        jobs.render(cropmove.load(shot_file), out=tmp_path / "link", overwrite=overwrite)
    one = tmp_path / "one"
    one.mkdir()
    Image.open(stills / "set_1.jpg").save(one / "Quay.0003.png")
    shot_file.write_text(SHOT.replace('"stills"', '"one/Quay.0003.png"'))
    photograph = (one / "Quay.0003.png").read_bytes()
    with pytest.raises(InputError, match="a still of the shot"):
        jobs.render(cropmove.load(shot_file), out=one, overwrite=overwrite)
    assert [path.name for path in one.iterdir()] == ["Quay.0003.png"]
    assert (one / "Quay.0003.png").read_bytes() == photograph
    assert {path.name: path.read_bytes() for path in stills.iterdir()} == before


def test_a_link_to_itself_is_no_folder_for_frames(shot_file: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to("link")
    with pytest.raises(MachineError, match="leads to is not there"):
        jobs.render(cropmove.load(shot_file), out=tmp_path / "link" / "frames")


def test_what_was_cut_off_long_ago_is_taken_away(shot_file: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    old = time.time() - 25 * 3600
    for name, changed in (
        (".quay.mp4.77.0.part", old), (".quay.mp4.78.0.part", time.time()), (".mine.part", old),
    ):  # fmt: skip
        (out / name).touch()
        os.utime(out / name, (changed, changed))
    jobs.render(cropmove.load(shot_file), out=out, frames=[1])
    assert {path.name for path in out.glob(".*")} == {".quay.mp4.78.0.part", ".mine.part"}


def test_frames_may_stand_beside_the_only_still(shot_file: Path, tmp_path: Path) -> None:
    shot_file.write_text(SHOT.replace('"stills"', '"stills/set_1.jpg"'))
    assert jobs.render(cropmove.load(shot_file), out=tmp_path / "stills").made == 8


def test_each_still_is_decoded_once_for_all_its_frames(
    shot_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    decoded = []

    def counted(still, *args, **kwargs):
        decoded.append(still.name)
        return real(still, *args, **kwargs)

    real = sequence.read_pixels
    monkeypatch.setattr(sequence, "read_pixels", counted)
    jobs.render(cropmove.load(shot_file), out=tmp_path / "out")
    assert sorted(decoded) == [f"set_{n}.jpg" for n in range(1, 5)]
    decoded.clear()
    shot_file.write_text(
        SHOT.replace('"stills"', '"stills/set_1.jpg"').replace("frame = 8", "frame = 40")
    )
    assert jobs.render(cropmove.load(shot_file), out=tmp_path / "one").made == 40
    assert decoded == ["set_1.jpg"]


def test_no_more_stills_are_held_than_there_are_workers(
    shot_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    arrays = set()
    real = sequence.read_pixels

    def counted(still, *args, **kwargs):
        pixels = real(still, *args, **kwargs)
        arrays.add(pixels.ctypes.data)
        return pixels

    monkeypatch.setattr(sequence, "read_pixels", counted)
    jobs.render(cropmove.load(shot_file), out=tmp_path / "out", workers=1)
    assert len(arrays) <= 2  # the one in use, and the one whose memory the next takes over


def test_processes_serve_as_well_as_threads(shot_file: Path, tmp_path: Path) -> None:
    shot = cropmove.load(shot_file)
    jobs.render(shot, out=tmp_path / "threads")
    with ProcessPoolExecutor(2) as pool:
        done = jobs.render(shot, out=tmp_path / "processes", executor=pool, workers=2)
    assert done.made == 8
    for name in frames_in(tmp_path / "threads"):
        one, other = (tmp_path / f / name for f in ("threads", "processes"))
        assert one.read_bytes() == other.read_bytes()


def test_a_damaged_still_spoils_its_own_frames_only(shot_file: Path, tmp_path: Path) -> None:
    victim = tmp_path / "stills" / "set_3.jpg"
    victim.write_bytes(victim.read_bytes()[:-2000])
    done = jobs.render(cropmove.load(shot_file), out=tmp_path / "out")
    assert done.made == 6
    assert [complaint.where.endswith("set_3.jpg") for complaint in done.trouble] == [True]
    assert "quay.0005.png" not in frames_in(tmp_path / "out")


def test_a_fault_stops_the_render_unless_it_is_allowed_by_name(
    shot_file: Path, tmp_path: Path
) -> None:
    shot_file.write_text(SHOT.replace("width = 80", "width = 40"))
    shot = cropmove.load(shot_file)
    with pytest.raises(MoveFault, match="allow='enlarged'"):
        jobs.render(shot, out=tmp_path / "out")
    assert not (tmp_path / "out").exists()
    with pytest.raises(InputError, match="enlarged"):
        jobs.render(shot, out=tmp_path / "out", allow=["enlargd"])
    assert jobs.render(shot, out=tmp_path / "out", allow=["enlarged"]).made == 8


def test_what_no_movie_can_be_made_of_is_not_offered_to_be_allowed(
    shot_file: Path, tmp_path: Path
) -> None:
    shot = cropmove.load(shot_file)
    odd = replace(shot, delivery=replace(shot.delivery, size=Size(41, 22), format="mov"))
    with pytest.raises(MoveFault) as refused:
        jobs.render(odd, out=tmp_path / "out")
    (complaint,) = (c for c in refused.value.complaints if c.where == "odd-size")
    assert complaint.remedy == "size = [42, 22]"


def test_alpha_that_jpeg_cannot_hold_is_refused_before_anything_is_written(
    shot_file: Path, tmp_path: Path
) -> None:
    (tmp_path / "stills" / "set_3.jpg").unlink()
    Image.new("RGBA", (180, 120)).save(tmp_path / "stills" / "set_3.png")
    shot_file.write_text(SHOT.replace("size = [64, 36]", 'size = [64, 36]\nformat = "jpeg"'))
    with pytest.raises(MoveFault) as refused:
        jobs.render(cropmove.load(shot_file), out=tmp_path / "out")
    (complaint,) = (c for c in refused.value.complaints if c.where.startswith("alpha-lost"))
    assert complaint.where == "alpha-lost, frames 5-6"
    assert "allow=" not in complaint.remedy
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("frames", [[0], [9], [-1], [2, 50], [1.5], [1.0], [True]])
def test_frames_that_the_shot_does_not_have_are_refused(
    frames: list[int], shot_file: Path, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match="frames 1 to 8"):
        jobs.render(cropmove.load(shot_file), out=tmp_path / "out", frames=frames)
    for workers in (0, 2.5, "2"):
        with pytest.raises(InputError, match="at least one"):
            jobs.render(cropmove.load(shot_file), out=tmp_path / "out", workers=workers)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(("text", "remedy"), [("5-3", "write 3-5"), ("", "write, say, 10-20")])
def test_a_range_that_is_none_is_refused_and_nothing_is_rendered(
    text: str, remedy: str, shot_file: Path, tmp_path: Path
) -> None:
    (result,) = jobs.render_batch([shot_file], out=tmp_path / "out", frames=text)
    assert result.error is not None
    assert remedy in str(result.error)
    assert not (tmp_path / "out").exists()
    with pytest.raises(InputError, match=remedy):
        frames_named(text, cropmove.load(shot_file))


def test_frames_that_have_a_still_are_made_where_the_lack_of_others_is_allowed(
    shot_file: Path, tmp_path: Path
) -> None:
    shot_file.write_text(SHOT.replace("frame = 8", "frame = 11"))
    done = jobs.render(cropmove.load(shot_file), out=tmp_path / "out", allow=["too-few-stills"])
    assert (done.made, done.without_still) == (8, 3)


def test_a_full_disk_leaves_whole_frames_and_says_so(
    shot_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = Path.replace

    def full(self: Path, target: Path):
        if target.name == "quay.0005.png":
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(self, target)

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(MachineError, match="No space left"):
        jobs.render(cropmove.load(shot_file), out=tmp_path / "out", workers=1)
    for name in frames_in(tmp_path / "out"):
        Image.open(tmp_path / "out" / name).load()
    assert not list((tmp_path / "out").glob(".*"))


def test_an_interrupted_render_leaves_whole_frames_and_goes_on_later(
    shot_file: Path, tmp_path: Path
) -> None:
    def stop(at: jobs.Progress) -> None:
        if at.done >= 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        jobs.render(cropmove.load(shot_file), out=tmp_path / "out", workers=1, progress=stop)
    there = frames_in(tmp_path / "out")
    assert 2 <= len(there) < 8
    assert not list((tmp_path / "out").glob(".*"))
    done = jobs.render(cropmove.load(shot_file), out=tmp_path / "out")
    assert (done.made, done.kept) == (8 - len(there), len(there))


def test_progress_tells_of_every_frame_and_of_the_time_left(
    shot_file: Path, tmp_path: Path
) -> None:
    told: list[jobs.Progress] = []
    jobs.render(cropmove.load(shot_file), out=tmp_path / "out", progress=told.append)
    assert told[-1].done == told[-1].total == 8
    assert [at.done for at in told] == sorted(at.done for at in told)
    assert told[-1].left == 0
    assert told[0].rate > 0


def test_frames_that_the_shot_has_no_more_are_told_and_left(
    shot_file: Path, tmp_path: Path
) -> None:
    shot, out = cropmove.load(shot_file), tmp_path / "out"
    assert jobs.render(shot, out=out).beyond == ()
    (out / "quayside.0009.png").touch()  # of another shot
    shorter = replace(shot, frames=6)
    for frames in (None, [1]):
        done = jobs.render(shorter, out=out, frames=frames)
        assert done.beyond == ("quay.0007.png", "quay.0008.png")
    for number in (3, 4):
        (tmp_path / "stills" / f"set_{number}.jpg").unlink()
    done = jobs.render(cropmove.load(shot_file), out=out, allow=["too-few-stills"])
    assert done.beyond == tuple(f"quay.000{number}.png" for number in range(5, 9))
    assert len(frames_in(out)) == 9


def test_a_compile_counts_for_nothing_in_the_time_left(
    shot_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    now, told = [0.0], []

    def compile_for_long(*_: object, **__: object) -> None:
        make_ready(*_, **__)
        now[0] += 1000

    def note(at: jobs.Progress) -> None:
        told.append(at)
        now[0] += 1

    make_ready = ready.make_ready
    monkeypatch.setattr(ready, "make_ready", compile_for_long)
    monkeypatch.setattr("cropmove.jobs.frames.time.perf_counter", lambda: now[0])
    done = jobs.render(cropmove.load(shot_file), out=tmp_path / "out", progress=note)
    assert told[-1].seconds < 1000
    assert done.seconds < 1000


def test_a_profile_travels_from_the_still_into_the_frames(tmp_path: Path) -> None:
    from imagecodecs import cms_profile

    adobe = cms_profile(
        "rgb", whitepoint=[0.3127, 0.329, 1], gamma=563 / 256,
        primaries=[0.64, 0.33, 1, 0.21, 0.71, 1, 0.15, 0.06, 1],
    )  # fmt: skip
    (tmp_path / "stills").mkdir()
    still = Image.new("RGB", (180, 120), (200, 100, 50))
    still.save(tmp_path / "stills" / "set_1.jpg", quality=95, icc_profile=adobe)
    path = tmp_path / "quay.toml"
    path.write_text(SHOT.replace("on = 2", "frames = 1").replace("frame = 8", "frame = 2"))
    done = jobs.render(cropmove.load(path), out=tmp_path / "out")
    with Image.open(done.out / "quay.0001.png") as frame:
        assert frame.info["icc_profile"] == adobe


def test_the_shot_says_how_many_frames_it_has(shot_file: Path) -> None:
    shot = cropmove.load(shot_file)
    assert (shot.length, shot.fps, len(shot.stills)) == (8, Fraction(24), 4)


def test_findings_as_json_are_plain_values(shot_file: Path) -> None:
    shot_file.write_text(SHOT.replace("width = 80", "width = 40"))
    findings = cropmove.check(cropmove.load(shot_file))
    assert json.loads(json.dumps([f.to_json() for f in findings]))[0]["id"] == "enlarged"


@pytest.mark.parametrize(
    ("format", "changed"),
    [("png", 'kernel = "crisp"'), ("png", "depth = 16"), ("jpeg", "quality = 60")],
)
def test_frames_of_another_delivery_are_made_anew(
    format: str, changed: str, shot_file: Path, tmp_path: Path
) -> None:
    plain = SHOT.replace("[delivery]", f'[delivery]\nformat = "{format}"')
    shot_file.write_text(plain)
    assert jobs.render(cropmove.load(shot_file), out=tmp_path / "out").made == 8
    shot_file.write_text(plain.replace("[delivery]", f"[delivery]\n{changed}"))
    assert jobs.render(cropmove.load(shot_file), out=tmp_path / "out").made == 8


def test_a_movie_that_is_up_to_date_is_left_as_it_is(shot_file: Path, tmp_path: Path) -> None:
    shot_file.write_text(SHOT.replace("[delivery]", '[delivery]\nformat = "mp4"'))
    movie = jobs.render(cropmove.load(shot_file), out=tmp_path / "out").out
    written = movie.stat().st_mtime_ns
    again = jobs.render(cropmove.load(shot_file), out=tmp_path / "out")
    assert (again.made, again.kept) == (0, 8)
    assert movie.stat().st_mtime_ns == written


def test_a_movie_of_some_frames_leaves_that_of_all_as_it_is(
    shot_file: Path, tmp_path: Path
) -> None:
    shot_file.write_text(SHOT.replace("[delivery]", '[delivery]\nformat = "mp4"'))
    shot, out = cropmove.load(shot_file), tmp_path / "out"
    movie = jobs.render(shot, out=out).out
    written = movie.read_bytes()
    some = jobs.render(shot, out=out, frames=[3, 2, 6])
    assert (some.out, some.made) == (out / "quay.2-3,6.mp4", 3)
    assert movie.read_bytes() == written
    assert jobs.render(shot, out=out, frames=[2, 3, 6]).kept == 3
    assert jobs.render(shot, out=out).kept == 8


def test_several_threads_may_render_the_same_frames(shot_file: Path, tmp_path: Path) -> None:
    shot, out = cropmove.load(shot_file), tmp_path / "out"

    def render(_: int) -> jobs.Rendered:
        return jobs.render(shot, out=out, overwrite=True)

    with ThreadPoolExecutor(4) as pool:
        assert len(list(pool.map(render, range(8)))) == 8
    assert jobs.render(shot, out=out).kept == 8
    assert sorted(path.name for path in out.iterdir() if path.name.startswith(".")) == []


@pytest.mark.parametrize("allow", ["enlarged", ("enlarged",), iter(["enlarged"])])
def test_one_fault_may_be_allowed_alone(
    allow: str | Iterable[str], shot_file: Path, tmp_path: Path
) -> None:
    shot_file.write_text(SHOT.replace("width = 80", "width = 40"))
    assert jobs.render(cropmove.load(shot_file), out=tmp_path / "out", allow=allow).made == 8


@pytest.mark.parametrize("frames", ["1-4", "4", 4, 4.0])
def test_frames_that_are_no_row_of_numbers_are_refused(
    frames: object, shot_file: Path, tmp_path: Path
) -> None:
    shot = cropmove.load(shot_file)
    for job in (cropmove.render, cropmove.sheet):
        with pytest.raises(InputError, match="several whole numbers") as refused:
            job(shot, out=tmp_path / "out", frames=frames)
        assert "range(1, 5)" in refused.value.complaints[0].remedy
    assert not (tmp_path / "out").exists()


def test_a_shot_is_rendered_wherever_one_stands_when_it_is(
    shot_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shot = cropmove.load("quay.toml")
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    assert jobs.render(shot, out="out").made == 8
    cropmove.save(shot, "saved.toml")
    assert 'stills = "../stills"' in (tmp_path / "elsewhere" / "saved.toml").read_text()
    cropmove.save(shot, "../quay.toml", overwrite=True)
    assert shot_file.read_text() == SHOT
