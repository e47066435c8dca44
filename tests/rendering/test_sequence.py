"""Stills on the desk: each is decoded once, however many ask for it, and then its memory serves."""

from __future__ import annotations

import pickle
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from known_pictures import write_png
from PIL import Image

from cropmove.errors import InputError
from cropmove.rendering import sequence
from cropmove.rendering.needed import Needed
from cropmove.rendering.sequence import Desk
from cropmove.stills.find import StillRef
from cropmove.stills.read import read_header, read_pixels

NOISE = np.random.default_rng(5).integers(0, 256, (30, 40, 3)).astype(np.uint8)


@pytest.fixture
def stills(tmp_path: Path) -> list[StillRef]:
    for number in range(3):
        write_png(tmp_path / f"{number}.png", np.roll(NOISE, number, axis=0))
    return [StillRef(path=tmp_path / f"{number}.png") for number in range(3)]


@pytest.fixture
def decoded(monkeypatch: pytest.MonkeyPatch) -> list[StillRef]:
    """The stills that have been decoded, in order."""
    seen: list[StillRef] = []
    read = sequence.read_pixels

    def noting(still: StillRef, *rest: object, **options: object) -> np.ndarray:
        seen.append(still)
        return read(still, *rest, **options)

    monkeypatch.setattr(sequence, "read_pixels", noting)
    return seen


def test_a_still_read_ahead_is_not_decoded_again(
    stills: list[StillRef], decoded: list[StillRef]
) -> None:
    desk = Desk(dict.fromkeys(stills, 2))
    with ThreadPoolExecutor(4) as pool:
        for still in stills[:2]:
            pool.submit(desk.read_ahead, still)
    for still in stills * 2:
        with desk.still(still, read_header(still)) as pixels:
            assert (pixels == np.roll(NOISE, stills.index(still), axis=0)).all()
    assert sorted(decoded, key=stills.index) == stills


def test_what_is_wrong_with_a_still_read_ahead_is_told_to_whoever_needs_it(
    tmp_path: Path,
) -> None:
    write_png(tmp_path / "cut.png", NOISE)
    whole = (tmp_path / "cut.png").read_bytes()
    (tmp_path / "cut.png").write_bytes(whole[: len(whole) // 2])
    still = StillRef(path=tmp_path / "cut.png")
    desk = Desk({still: 1})
    desk.read_ahead(still)
    with (
        pytest.raises(InputError, match="damaged or cut off"),
        desk.still(still, read_header(still)),
    ):
        pytest.fail("there is nothing to see")


def test_memory_of_a_still_that_is_done_with_is_used_for_the_next(stills: list[StillRef]) -> None:
    desk = Desk(dict.fromkeys(stills, 1))
    with desk.still(stills[0], read_header(stills[0])) as first:
        pass
    with desk.still(stills[1], read_header(stills[1])) as second:
        assert np.shares_memory(first, second)


def test_stills_read_down_to_different_rows_share_the_same_memory(tmp_path: Path) -> None:
    # Each needs more rows than the one before, and the last all of them.
    lowest = [20, 45, 70, 110]
    for number in range(4):
        picture = Image.fromarray(np.tile(NOISE, (4, 1, 1)) // (number + 1))
        picture.save(tmp_path / f"{number}.jpg")
    stills = [StillRef(path=tmp_path / f"{number}.jpg") for number in range(4)]
    for still in stills:
        read_pixels(still)  # found sound
    needed = {
        still: Needed(box=(0, 0, 40, bottom), margin=3, turned_first=False)
        for still, bottom in zip(stills, lowest, strict=True)
    }
    desk = Desk(dict.fromkeys(stills, 1), needed)
    rows, places = [], set()
    for still in stills:
        with desk.still(still, read_header(still)) as pixels:
            rows.append(len(pixels))
            places.add(pixels.ctypes.data)
    assert rows == [23, 48, 73, 120]
    assert len(places) == 1


def test_a_desk_in_another_process_knows_what_is_needed(stills: list[StillRef]) -> None:
    needed = {stills[0]: Needed(box=(0, 0, 40, 5), margin=3, turned_first=False)}
    desk = pickle.loads(pickle.dumps(Desk(dict.fromkeys(stills, 2), needed)))
    assert desk._needed == needed
    assert desk._uses == dict.fromkeys(stills, 2)
