"""Which still stands behind a frame."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.previews.source import Source, ground_size, stand_in
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import StillRef


def _source(photographed: int, test: StillRef | None = None, size: Size | None = None) -> Source:
    refs = tuple(StillRef(path=Path(f"still_{n}.jpg")) for n in range(photographed))
    framing = Framing(x=320, y=240, width=600)
    shot = Shot(
        name="quay",
        stills=Stills(source="still_*.jpg", refs=refs, size=size or Size(640, 480)),
        delivery=Delivery(size=Size(320, 180)),
        keys=(Key(frame=1, framing=framing), Key(frame=10, framing=framing)),
    )
    return Source(shot=shot, course=shot.course(), test=test)


def _test_still(folder: Path, size: tuple[int, int] = (640, 480)) -> StillRef:
    Image.new("RGB", size, (1, 2, 3)).save(folder / "test.png")
    return StillRef(path=folder / "test.png")


def test_a_frame_shows_its_own_still_where_there_is_one(tmp_path: Path) -> None:
    source = _source(4, _test_still(tmp_path))
    still = source.still_of(3)
    assert still
    assert still.name == "still_2.jpg"
    assert source.is_photographed(4)


def test_the_test_still_stands_for_those_to_come(tmp_path: Path) -> None:
    source = _source(4, _test_still(tmp_path))
    still = source.still_of(5)
    assert still
    assert still.name == "test.png"
    assert not source.is_photographed(5)


def test_the_last_still_stays_where_there_is_no_test_still() -> None:
    still = _source(4).still_of(9)
    assert still
    assert still.name == "still_3.jpg"


def test_without_any_still_a_plain_ground_stands_in() -> None:
    source = _source(0)
    assert source.still_of(1) is None
    small = source.small(None, 0.5)
    assert small.size == Size(640, 480)
    assert np.unique(small.pixels).size > 1


def test_a_test_still_of_another_size_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="planned on stills of 640 x 480"):
        _source(0, _test_still(tmp_path, (800, 600)))


def test_the_stand_ins_lines_stand_at_tenths() -> None:
    small = stand_in(Size(3000, 2000))
    row = small.pixels[int(small.pixels.shape[0] * 0.55), :, 0]
    dark = np.flatnonzero(row < 200) + 0.5
    groups = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
    middles = [float(group.mean()) / len(row) for group in groups]
    assert middles[1:-1] == pytest.approx([n / 10 for n in range(1, 10)], abs=1e-3)


def test_a_shot_that_nobody_measured_is_as_large_as_its_framings_reach() -> None:
    framing = Framing(x=1000, y=500, width=1600)
    shot = Shot(
        name="rig", delivery=Delivery(size=Size(1600, 900)), keys=(Key(frame=1, framing=framing),)
    )
    assert ground_size(shot.course(), shot) == Size(1800, 950)
