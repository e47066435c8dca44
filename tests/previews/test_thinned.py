"""Every second still where there is no time for all, by a rule that no clock moves."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.previews.frames import Reel, row_of
from cropmove.previews.kept import Kept
from cropmove.previews.source import Source
from cropmove.previews.thinned import MEGAPIXELS, every_nth, thinned
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import StillRef

LARGE = Size(6000, 4000)


def _reel(
    on: int = 1, size: Size = LARGE, frames: int = 48, fps: int = 24, photographed: int = 1000,
    folder: Path = Path("harbour"),
) -> Reel:  # fmt: skip
    count = min(photographed, -(-frames // on))
    refs = tuple(StillRef(path=folder / f"{n:03d}.jpg") for n in range(count))
    shot = Shot(
        name="quay",
        stills=Stills(source="harbour/*.jpg", refs=refs, size=size),
        delivery=Delivery(size=Size(1920, 1080)),
        keys=(Key(frame=1, framing=Framing(x=size.width / 2, y=size.height / 2, width=2000)),),
        on=on,
        fps=Fraction(fps),
        frames=frames,
    )
    return Reel(rows=(row_of(Source(shot=shot, course=shot.course()), width=960),), fps=shot.fps)


@pytest.mark.parametrize(
    ("on", "size", "fps", "nth"),
    [
        (1, LARGE, 24, 4),
        (2, LARGE, 24, 2),
        (4, LARGE, 24, 1),
        (1, LARGE, 12, 2),
        (2, Size(4000, 3000), 24, 1),
        (1, Size(8256, 5504), 24, 8),
        (2, Size(8256, 5504), 24, 4),
    ],
)
def test_the_more_and_the_larger_the_stills_the_fewer_are_shown(
    on: int, size: Size, fps: int, nth: int
) -> None:
    assert every_nth(_reel(on, size, fps=fps)) == nth


def test_one_still_for_all_frames_is_never_thinned() -> None:
    reel = _reel(on=48)
    assert len({reel.rows[0].source.still_of(frame) for frame in range(1, 49)}) == 1
    assert every_nth(reel) == 1


def test_for_less_than_a_second_of_stills_nobody_waits() -> None:
    assert every_nth(_reel(frames=6)) == 1
    assert every_nth(_reel(frames=20)) == 4


def test_every_second_still_stands_in_for_the_next_and_the_camera_moves_on() -> None:
    reel = _reel()
    fewer = thinned(reel, 2).rows[0]
    assert fewer.source.course.still[:6].tolist() == [1, 1, 3, 3, 5, 5]
    assert (fewer.source.course.rows == reel.rows[0].source.course.rows).all()
    assert fewer.nth == 2
    assert thinned(reel, 1) is reel


def test_a_frame_that_is_not_photographed_yet_stays_one() -> None:
    row = thinned(_reel(photographed=10), 4).rows[0].source
    assert [row.is_photographed(frame) for frame in (8, 9, 10, 11, 12)] == [True] * 3 + [False] * 2


def test_stills_that_are_kept_take_no_time(tmp_path: Path) -> None:
    reel, kept = _reel(folder=tmp_path), Kept(tmp_path / "kept")
    for number in range(0, 48, 2):
        (tmp_path / f"{number:03d}.jpg").write_bytes(b"a still")
    assert every_nth(reel, kept) == 4
    for number in range(0, 48, 2):
        still = StillRef(path=tmp_path / f"{number:03d}.jpg")
        kept.put(kept.place(still, 0.5), np.zeros((8, 8, 3), np.uint8))
    assert every_nth(reel, kept) == 2


def test_two_rows_of_the_same_stills_are_read_once() -> None:
    reel = _reel(on=2)
    assert every_nth(replace(reel, rows=reel.rows * 2)) == every_nth(reel)


@given(
    on=st.integers(1, 4), frames=st.integers(1, 90), fps=st.sampled_from([12, 24, 25, 30]),
    width=st.integers(2000, 12000),
)  # fmt: skip
def test_what_is_read_for_a_second_is_bounded(on: int, frames: int, fps: int, width: int) -> None:
    reel = _reel(on, Size(width, width * 2 // 3), frames, fps)
    nth = every_nth(reel)
    source = thinned(reel, nth).rows[0].source
    shown = {source.still_of(frame) for frame in range(1, frames + 1)}
    seconds = max(1, frames / fps)
    # The last run of stills may be shorter than n: one still more than the share.
    read = (len(shown) - 1) * width * (width * 2 // 3) / 1e6
    assert read <= MEGAPIXELS * seconds
    assert nth == 1 or len(shown) < len(source.shot.stills)
