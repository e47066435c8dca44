"""``cropmove preview`` on the command line."""

from __future__ import annotations

from pathlib import Path

import pytest
import typer
from harbour import TEXT
from typer.testing import CliRunner, Result

from cropmove.cli.preview import preview
from cropmove.errors import InputError
from cropmove.rendering import ready

APP = typer.Typer(pretty_exceptions_enable=False)
APP.command()(preview)


def _run(*words: object) -> Result:
    said = CliRunner().invoke(APP, [str(word) for word in words])
    if isinstance(said.exception, Exception) and not isinstance(said.exception, SystemExit):
        raise said.exception
    return said


@pytest.fixture
def quay(photograph, tmp_path: Path) -> Path:
    photograph(count=4)
    (tmp_path / "quay.toml").write_text(TEXT)
    return tmp_path / "quay.toml"


def test_it_lies_with_the_sheets_and_is_told(quay: Path) -> None:
    said = _run(quay, "--width", "160")
    movie = quay.parent / "quay_sheets" / "quay.preview.mp4"
    assert said.exit_code == 0
    assert said.stdout.strip() == str(movie)
    assert movie.exists()
    assert "8 of 8 frames" in said.stderr


def test_quiet_says_where_and_no_more(quay: Path) -> None:
    assert not _run(quay, "--width", "160", "--quiet").stderr


def test_all_marks_can_be_asked_for(quay: Path) -> None:
    words = ("--number", "--safe", "--findings", "--subject", "--quiet")
    assert _run(quay, "--width", "160", *words).exit_code == 0


def test_a_change_or_another_file_is_compared(quay: Path) -> None:
    (quay.parent / "other.toml").write_text(TEXT.replace("60%", "70%"))
    for words, name in (("fps=12", "fps_12"), (str(quay.parent / "other.toml"), "other")):
        said = _run(quay, "--width", "160", "--compare", words, "--quiet")
        assert Path(said.stdout.strip()).name == f"quay.preview.{name}.mp4"


@pytest.mark.parametrize("name", ["Hafen für Ölkähne", "港の朝", "Гавань", "a\u0308 decomposed"])
def test_another_files_letters_stay_in_the_movies_name(quay: Path, name: str) -> None:
    (quay.parent / f"{name}.toml").write_text(TEXT.replace("60%", "70%"))
    other = str(quay.parent / f"{name}.toml")
    said = _run(quay, "--width", "160", "--compare", other, "--quiet")
    assert Path(said.stdout.strip()).name == f"quay.preview.{name.replace(' ', '_')}.mp4"


def test_wrong_words_are_refused(quay: Path) -> None:
    with pytest.raises(InputError, match="did you mean"):
        _run(quay, "--compare", "fsp=12")
    with pytest.raises(InputError, match="no such file"):
        _run(quay, "--compare", "nowhere.toml")


def test_fewer_stills_are_told_and_all_can_be_asked_for(
    photograph, quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from cropmove.previews import kept, thinned

    photograph(count=4, size=(2000, 1500))
    monkeypatch.setattr(kept, "usual_folder", lambda: quay.parent / "kept")
    monkeypatch.setattr(thinned, "MEGAPIXELS", 6)
    small = ("--width", "160")
    assert "every second still is shown" in _run(quay, *small, "--keep-nothing").stderr
    assert not (quay.parent / "kept").exists()
    assert "every second" not in _run(quay, *small, "--every-still").stderr
    assert len(list((quay.parent / "kept").iterdir())) == 4


def test_a_compile_counts_for_nothing_in_the_time_left(
    quay: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [0.0]

    def compile_for_long(**options: object) -> None:
        make_ready(**options)
        now[0] += 1000

    make_ready = ready.make_ready
    monkeypatch.setattr(ready, "make_ready", compile_for_long)
    monkeypatch.setattr("cropmove.jobs.frames.time.perf_counter", lambda: now[0])
    monkeypatch.setattr("cropmove.cli.progress.EVERY", 0.0)
    told = _run(quay, "--width", "160").stderr
    assert "1 of 8 frames" in told
    assert "left" not in told  # no time has gone by since the engine was ready
