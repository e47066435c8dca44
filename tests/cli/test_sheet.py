"""``cropmove sheet`` on the command line."""

from __future__ import annotations

from pathlib import Path

import pytest
from harbour import TEXT
from typer.testing import CliRunner, Result

from cropmove.cli import app
from cropmove.errors import InputError


def _run(*words: object) -> Result:
    said = CliRunner().invoke(app, ["sheet", *map(str, words)])
    if isinstance(said.exception, Exception) and not isinstance(said.exception, SystemExit):
        raise said.exception
    return said


@pytest.fixture
def quay(photograph, tmp_path: Path) -> Path:
    photograph(count=4)
    (tmp_path / "quay.toml").write_text(TEXT)
    return tmp_path / "quay.toml"


def test_everything_lies_beside_the_shot_file_and_the_page_is_told(quay: Path) -> None:
    said = _run(quay)
    page = quay.parent / "quay_sheets" / "quay.html"
    assert said.exit_code == 0
    assert said.stdout.strip() == str(page)
    assert page.exists()
    assert "drawing the overview" in said.stderr


def test_points_frames_paper_and_size_are_asked_for_in_words(quay: Path, tmp_path: Path) -> None:
    said = _run(
        quay, "--out", tmp_path / "here", "--point", "dot=300,50%", "--frames", "1,4-6",
        "--paper", "letter", "--guide-width", "200", "--quiet",
    )  # fmt: skip
    assert said.exit_code == 0
    assert not said.stderr
    table = (tmp_path / "here" / "quay.guide.csv").read_text()
    assert table.splitlines()[1].startswith("dot,1,")
    letter = b"/MediaBox [0 0 792"  # 11 by 8 1/2 inches
    pdf = (tmp_path / "here" / "quay.chart.pdf").read_bytes()
    assert letter in pdf.replace(b"[ ", b"[")


def test_wrong_words_are_refused(quay: Path) -> None:
    with pytest.raises(InputError, match="frames 1 to 8"):
        _run(quay, "--frames", "90")
    with pytest.raises(InputError, match="--point"):
        _run(quay, "--point", "dot")
