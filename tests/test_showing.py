"""Sheets and previews as jobs: what is written, and what is never written over."""

from __future__ import annotations

import csv
import io
import os
import sys
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from harbour import TEXT
from PIL import Image

from cropmove import showing
from cropmove.checks.facts import Facts
from cropmove.checks.too_fast import calm_step
from cropmove.errors import InputError, MachineError
from cropmove.sheets.sheet import Sheet
from cropmove.shot import Shot
from cropmove.shotfile import load
from cropmove.showing import sheets

KINDS = ("overview", "contact", "chart", "guide")


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two small files in place of all sheets, for what happens to files."""

    def files(self: object, say: object) -> list[tuple[str, bytes]]:
        return [("quay.chart.svg", b"<svg/>"), ("quay.html", b"<p>quay</p>")]

    monkeypatch.setattr(sheets._Drawing, "files", files)


@pytest.fixture
def shot(photograph, tmp_path: Path) -> Shot:
    photograph(count=4)
    (tmp_path / "quay.toml").write_text(TEXT)
    return load(tmp_path / "quay.toml")


def test_one_call_writes_every_sheet_in_every_kind_and_a_page(shot: Shot, tmp_path: Path) -> None:
    shown = showing.sheet(shot, out=tmp_path / "sheets")
    names = {path.name for path in shown.files}
    expected = {f"quay.{kind}.{suffix}" for kind in KINDS for suffix in ("png", "svg", "pdf")}
    assert names == expected | {"quay.guide_overlay.png", "quay.guide.csv", "quay.html"}
    assert shown.page.name == "quay.html"
    assert all(path.stat().st_size for path in shown.files)
    page = shown.page.read_text()
    assert page.count("data:image/") == len(KINDS)
    starts = {".png": b"\x89PNG", ".svg": b"<?xml", ".pdf": b"%PDF"}
    for path in shown.files:
        if path.suffix in starts:
            assert path.read_bytes().startswith(starts[path.suffix]), path.name


def test_its_own_sheets_are_made_anew_and_come_out_the_same(
    shot: Shot, tmp_path: Path, quick: None
) -> None:
    first = showing.sheet(shot, out=tmp_path / "sheets")
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in first.files}
    showing.sheet(shot, out=tmp_path / "sheets")
    after = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in first.files}
    assert before == after


def test_somebody_elses_file_is_never_written_over(shot: Shot, tmp_path: Path, quick: None) -> None:
    folder = tmp_path / "sheets"
    folder.mkdir()
    mine = folder / "quay.chart.svg"
    mine.write_text("mine")
    with pytest.raises(InputError, match=r"quay\.chart\.svg"):
        showing.sheet(shot, out=folder)
    assert mine.read_text() == "mine"
    showing.sheet(shot, out=folder, overwrite=True)
    assert mine.read_text() != "mine"


def test_a_sheet_that_was_changed_by_hand_is_kept(shot: Shot, tmp_path: Path, quick: None) -> None:
    shown = showing.sheet(shot, out=tmp_path / "sheets")
    shown.page.write_text("notes of mine")
    with pytest.raises(InputError, match=r"quay\.html"):
        showing.sheet(shot, out=tmp_path / "sheets")
    assert shown.page.read_text() == "notes of mine"


def _drawing(shot: Shot, **changes: object) -> sheets._Drawing:
    from cropmove.previews.source import Source

    given: dict = {
        "source": Source(shot=shot, course=shot.course()),
        "findings": (),
        "paper": (297.0, 210.0),
        "frames": None,
        "points": {},
        "guide_width": 240.0,
    }
    return sheets._Drawing(**(given | changes))


def _share_of(sheet: Sheet, colour: tuple[int, int, int]) -> float:
    pixels = np.asarray(Image.open(BytesIO(sheet.png(dpi=60))).convert("RGB")).astype(int)
    return float((np.abs(pixels - colour).max(axis=2) < 4).mean())


def test_a_shot_without_any_still_can_be_drawn(tmp_path: Path) -> None:
    text = TEXT.replace('stills = "harbour/*.jpg"', "still_size = [640, 480]")
    (tmp_path / "plan.toml").write_text(text)
    drawing = _drawing(load(tmp_path / "plan.toml"))
    kinds = [kind for kind, sheet in drawing._sheets(print) if sheet.png(dpi=40)]
    assert kinds == list(KINDS)


@pytest.mark.parametrize("with_test", [False, True])
def test_the_page_says_what_stands_in_for_the_stills(tmp_path: Path, with_test: bool) -> None:
    text = TEXT.replace('stills = "harbour/*.jpg"', "still_size = [640, 480]")
    (tmp_path / "plan.toml").write_text(text)
    Image.new("RGB", (640, 480), (200, 30, 30)).save(tmp_path / "test.png")
    test = tmp_path / "test.png" if with_test else None
    shown = showing.sheet(load(tmp_path / "plan.toml"), out=tmp_path / "sheets", still=test)
    page = shown.page.read_text()
    assert "from stills of 640 × 480 to come" in page.replace("\u00a0", " ")
    assert "This picture is not to size: print the PDF" in page
    assert ("a test still stands in" if with_test else "a plain ground with a line") in page


def test_a_test_still_is_shown_where_there_is_none(tmp_path: Path) -> None:
    from cropmove.previews.source import Source
    from cropmove.stills.find import StillRef

    text = TEXT.replace('"harbour/*.jpg"', '"harbour/*.jpg"\nstill_size = [640, 480]')
    (tmp_path / "plan.toml").write_text(text)
    Image.new("RGB", (640, 480), (200, 30, 30)).save(tmp_path / "test.png")
    plan, test = load(tmp_path / "plan.toml"), StillRef(path=tmp_path / "test.png")
    drawing = _drawing(plan, source=Source(shot=plan, course=plan.course(), test=test))
    assert _share_of(drawing._contact(), (200, 30, 30)) > 0.2


def test_the_contact_sheet_shows_what_the_render_would(shot: Shot) -> None:
    """Each still of the fixture has a grey of its own: frame 7 shows still 4."""
    assert _share_of(_drawing(shot, frames=(7,))._contact(), (94, 80, 70)) > 0.3


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"frames": [0]}, "frames 1 to 8"),
        ({"frames": [9]}, "frames 1 to 8"),
        ({"frames": []}, "frames 1 to 8"),
        ({"paper": "a5"}, "a paper is one of"),
        ({"guide_width": 3}, "20 to 5000 mm"),
        ({"still": "nowhere.jpg"}, "nowhere"),
    ],
)
def test_what_will_not_do_is_refused_before_anything_is_written(
    shot: Shot, tmp_path: Path, wrong: dict, told: str
) -> None:
    with pytest.raises(InputError, match=told):
        showing.sheet(shot, out=tmp_path / "sheets", **wrong)
    assert not (tmp_path / "sheets").exists()


def test_the_guides_table_agrees_with_the_course(shot: Shot) -> None:
    drawing = _drawing(shot, points={"dot": (300.0, 250.0)}, guide_width=160.0)
    files = dict(drawing._guide_extras())
    course = shot.course()
    for row in csv.DictReader(io.StringIO(files["quay.guide.csv"].decode())):
        seen = course[int(row["frame"])].to_frame(np.array([300.0, 250.0]), course.delivery)
        assert [float(row["x"]), float(row["y"])] == pytest.approx(seen, abs=1e-3)
        assert float(row["x_mm"]) == pytest.approx(seen[0] / 2, abs=1e-3)


@pytest.mark.parametrize(
    ("text", "told"),
    [("1200,50%", "has a name"), ("dot=1200", "has a name"), ("dot=a,b", "pixels of the still")],
)
def test_a_point_that_is_none_is_refused(shot: Shot, text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        showing.points_named([text], shot)


def test_all_wrong_points_are_told_at_once(shot: Shot) -> None:
    with pytest.raises(InputError) as refused:
        showing.points_named(["dot", "dot=1,2", "=3,4"], shot)
    assert len(refused.value.complaints) == 2


def test_the_chart_judges_by_the_same_limit_as_the_check(shot: Shot) -> None:
    limits = sheets._limits(shot, shot.course())
    assert limits[0].value == calm_step(Facts(shot)) * 320
    assert limits[0].value == pytest.approx(320 / 168)  # the seven-second rule at 24 a second


def test_a_preview_is_named_as_one_and_leaves_nothing_half_written(
    shot: Shot, tmp_path: Path
) -> None:
    shown = showing.preview(shot, out=tmp_path / "sheets")
    assert shown.page.name == "quay.preview.mp4"
    assert {path.name for path in (tmp_path / "sheets").iterdir()} == {
        "quay.preview.mp4",
        "quay.made.jsonl",
    }


def test_a_preview_that_is_stopped_leaves_the_last_one_as_it_was(
    shot: Shot, tmp_path: Path
) -> None:
    shown = showing.preview(shot, out=tmp_path / "sheets")
    before = shown.page.read_bytes()

    def stop(done: int, total: int) -> None:
        if done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        showing.preview(shot, out=tmp_path / "sheets", width=160, progress=stop)
    assert shown.page.read_bytes() == before
    assert len(list((tmp_path / "sheets").iterdir())) == 2


def test_a_movie_that_somebody_else_made_is_kept(shot: Shot, tmp_path: Path) -> None:
    folder = tmp_path / "sheets"
    folder.mkdir()
    (folder / "quay.preview.mp4").write_bytes(b"mine")
    with pytest.raises(InputError, match=r"quay\.preview\.mp4"):
        showing.preview(shot, out=folder)
    assert (folder / "quay.preview.mp4").read_bytes() == b"mine"


def test_a_preview_that_can_be_put_nowhere_is_told_before_it_is_made(
    shot: Shot, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("in the way")
    played: list[int] = []
    with pytest.raises(MachineError):
        showing.preview(shot, out=tmp_path / "file", progress=lambda done, _: played.append(done))
    assert played == []


@pytest.mark.skipif(sys.platform != "linux", reason="names of any bytes are Linux's")
def test_a_name_that_is_no_text_stops_no_sheet(shot: Shot, tmp_path: Path) -> None:
    odd = replace(shot, name=os.fsdecode(b"caf\xe9"))
    shown = showing.sheet(odd, out=tmp_path / "sheets")
    assert len(shown.files) == 15
    assert all(path.exists() for path in shown.files)
    assert r"<title>caf\udce9</title>" in shown.page.read_text("utf-8")


def test_a_comparison_has_a_name_of_its_own_and_two_rows(shot: Shot, tmp_path: Path) -> None:
    import av

    shown = showing.preview(shot, out=tmp_path / "sheets", compare="ease=smooth", width=320)
    assert shown.page.name == "quay.preview.ease_smooth.mp4"
    stream = av.open(str(shown.page)).streams.video[0]
    assert (stream.width, stream.height) == (320, 364)


def test_two_shots_can_be_compared(shot: Shot, tmp_path: Path) -> None:
    (tmp_path / "other.toml").write_text(TEXT.replace("60%", "70%"))
    other = load(tmp_path / "other.toml")
    for named in (other, str(tmp_path / "other.toml"), tmp_path / "other.toml"):
        shown = showing.preview(shot, out=tmp_path / "sheets", compare=named)
        assert shown.page.name == "quay.preview.other.mp4"


def test_two_shots_that_play_longer_than_a_shot_may_be_are_not_compared(shot: Shot) -> None:
    """1,000 seconds a frame, beside 24 frames a second: 8 frames are 192,000."""
    slow = replace(shot, name="slow", fps=Fraction(1, 1000), frames=100)
    with pytest.raises(InputError, match="2,400,000 frames at 24"):
        showing.preview(shot, compare=slow)


def test_without_the_movie_library_a_moving_picture_is_made(
    shot: Shot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cropmove.previews.movie.find_spec", lambda name: None)
    shown = showing.preview(shot, out=tmp_path / "sheets")
    assert shown.page.name == "quay.preview.webp"
    assert Image.open(BytesIO(shown.page.read_bytes())).size == (320, 180)


def test_a_moving_picture_is_made_narrower_before_it_fills_the_memory(
    shot: Shot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cropmove.previews.movie.find_spec", lambda name: None)
    monkeypatch.setattr("cropmove.previews.movie.FALLBACK_BYTES", 320 * 180 * 3 * 8 // 4)
    shown = showing.preview(shot, out=tmp_path / "sheets")
    assert Image.open(BytesIO(shown.page.read_bytes())).size[0] <= 170


@pytest.mark.parametrize("width", [0, 63, 3841])
def test_a_preview_has_a_width_that_can_be(shot: Shot, tmp_path: Path, width: int) -> None:
    with pytest.raises(InputError, match="64 to 3840"):
        showing.preview(shot, out=tmp_path / "sheets", width=width)


@pytest.fixture
def large(photograph, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shot:
    """Four stills large enough to be kept, held for no time at all beside what may be read."""
    from cropmove.previews import kept, thinned

    photograph(count=4, size=(2000, 1500))
    monkeypatch.setattr(kept, "usual_folder", lambda: tmp_path / "kept")
    monkeypatch.setattr(thinned, "MEGAPIXELS", 6)
    (tmp_path / "quay.toml").write_text(TEXT)
    return load(tmp_path / "quay.toml")


def _said(shot: Shot, folder: Path, **asked: object) -> list[str]:
    said: list[str] = []
    showing.preview(shot, out=folder, say=said.append, **asked)
    return said


def test_a_first_preview_shows_what_there_is_time_for_and_the_next_shows_all(
    large: Shot, tmp_path: Path
) -> None:
    (first,) = _said(large, tmp_path / "a")
    assert first.startswith("every second still is shown")
    assert "every_still=True shows all now" in first
    assert len(list((tmp_path / "kept").iterdir())) == 2
    assert _said(large, tmp_path / "b") == []
    assert len(list((tmp_path / "kept").iterdir())) == 4


def test_every_still_is_shown_where_it_is_asked_for(large: Shot, tmp_path: Path) -> None:
    assert _said(large, tmp_path / "a", every_still=True) == []
    assert len(list((tmp_path / "kept").iterdir())) == 4


def test_nothing_is_kept_where_that_is_asked_for(large: Shot, tmp_path: Path) -> None:
    for folder in "ab":
        (told,) = _said(large, tmp_path / folder, keep=False)
        assert "next preview" not in told
    assert not (tmp_path / "kept").exists()
    assert {p.name for p in tmp_path.iterdir()} == {"harbour", "quay.toml", "a", "b"}


def test_no_preview_leaves_more_than_there_is_room_for(
    large: Shot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from cropmove.previews.kept import Kept

    monkeypatch.setattr("cropmove.previews.kept.Kept", lambda folder: Kept(folder, room=1))
    _said(large, tmp_path / "a")
    assert list((tmp_path / "kept").iterdir()) == []


def test_a_preview_that_is_stopped_leaves_room_and_whole_stills(
    large: Shot, tmp_path: Path
) -> None:
    def stop(done: int, total: int) -> None:
        if done:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        showing.preview(large, out=tmp_path / "a", progress=stop)
    assert all(p.suffix == ".still" for p in (tmp_path / "kept").iterdir())


@pytest.mark.parametrize("bad", [0, -1, 2.5, True, "2"])
def test_a_preview_has_at_least_one_worker(bad: object, shot: Shot, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="at least one"):
        showing.preview(shot, out=tmp_path / "sheets", workers=bad)
    assert not (tmp_path / "sheets").exists()


@pytest.mark.parametrize("bad", [[1.0], [True], [0], []])
def test_a_contact_sheet_shows_frames_of_the_shot(bad: list[object], shot: Shot) -> None:
    with pytest.raises(InputError, match="frames 1 to 8"):
        showing.sheet(shot, frames=bad)


@pytest.mark.parametrize(
    ("job", "words", "where"),
    [
        (showing.sheet, {"guide_width": "240"}, "guide_width"),
        (showing.sheet, {"points": {"lamp": ("half", 3)}}, "points, lamp"),
        (showing.sheet, {"points": {"lamp": (3,)}}, "points, lamp"),
        (showing.sheet, {"points": {"lamp": "3,4"}}, "points, lamp"),
        (showing.preview, {"width": "640"}, "width"),
        (showing.preview, {"width": 640.5}, "width"),
    ],
)
def test_what_is_no_number_is_refused_by_its_name(
    job: Callable[..., object], words: dict[str, object], where: str, shot: Shot, tmp_path: Path
) -> None:
    with pytest.raises(InputError) as refused:
        job(shot, out=tmp_path / "sheets", **words)
    assert refused.value.complaints[0].where == where


def test_a_point_may_be_told_in_shares_of_the_still(shot: Shot, tmp_path: Path) -> None:
    size = shot.stills.size
    tables = []
    for place in ((size.width / 2, size.height / 4), ("50%", "25%")):
        folder = tmp_path / str(len(tables))
        showing.sheet(shot, out=folder, points={"lamp": place})
        tables.append(next(folder.glob("*.guide.csv")).read_text())
    assert tables[0] == tables[1]
    assert "lamp" in tables[0]
