"""``cropmove table``: the course as CSV, to the last bit."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove import jobs
from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.shot import Delivery, Shot

SHOT = """\
[shot]
on = 2
[delivery]
size = "hd"
[[key]]
frame = 1
centre = [3000, 2000]
width = 6000
[[key]]
frame = 49
centre = [3100.1, 1900.7]
width = 1999.9
roll = 1.5
"""
COLUMNS = ["frame", "still", "centre_x", "centre_y", "width", "height", "roll", "scale", "step"]


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_it_has_a_row_a_frame_and_the_columns_that_are_told(
    command: Callable[..., Any], tmp_path: Path
) -> None:
    (tmp_path / "quay.toml").write_text(SHOT)
    said = command("table", "quay.toml")
    assert (said.code, said.err) == (0, "")
    assert said.out.splitlines()[0].split(",") == COLUMNS
    assert [row["frame"] for row in rows_of(said.out)] == [str(n) for n in range(1, 50)]
    assert [row["still"] for row in rows_of(said.out)][:4] == ["1", "1", "2", "2"]
    assert said.out == jobs.table(jobs.load(tmp_path / "quay.toml"))


framings = st.builds(
    Framing, x=st.floats(-1e5, 1e5), y=st.floats(-1e5, 1e5), width=st.floats(0.01, 1e5),
    roll=st.floats(-360, 360),
)  # fmt: skip


@given(framings, framings, st.integers(2, 60))
def test_every_number_reads_back_to_the_same_bits(
    first: Framing, last: Framing, frames: int
) -> None:
    keys = (Key(frame=1, framing=first), Key(frame=frames, framing=last))
    shot = Shot(name="quay", delivery=Delivery(size=Size(1998, 1080)), keys=keys)
    course = shot.course()
    columns = {
        "frame": course.frame, "still": course.still, "centre_x": course.x, "centre_y": course.y,
        "width": course.width, "height": course.height, "roll": course.roll,
        "scale": course.scale, "step": course.step,
    }  # fmt: skip
    rows = rows_of(jobs.table(shot))
    assert len(rows) == frames
    for name, column in columns.items():
        assert [float(row[name]) for row in rows] == column.tolist()


def test_a_file_that_cannot_be_read_is_told_on_stderr(command: Callable[..., Any]) -> None:
    said = command("table", "nowhere.toml")
    assert (said.code, said.out) == (2, "")
    assert "there is no such file" in said.err


@pytest.mark.parametrize("words", [(), ("a.toml", "b.toml")])
def test_it_takes_one_shot(command: Callable[..., Any], words: tuple[str, ...]) -> None:
    assert command("table", *words).code == 2
