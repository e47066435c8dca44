"""The contact sheet: which frames, how large, truly rendered."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from written import overlapping

from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.sheets.contact import chosen_frames, contact_sheet
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import StillRef

STILLS = tuple(StillRef(path=Path(f"kitchen_{n:04d}.jpg")) for n in range(1, 75))


def _plain(frame: int, width: int) -> np.ndarray:
    return np.full((round(width * 9 / 16), width, 3), 90, np.uint8)


def test_ends_and_keys_are_always_among_the_chosen(shot_of: Callable[..., Shot]) -> None:
    framing = Framing(x=3000, y=2000, width=4000)
    shot = shot_of(*(Key(frame=f, framing=framing) for f in (1, 17, 93, 120)))
    chosen = chosen_frames(shot, shot.course())
    assert {1, 17, 93, 120} <= set(chosen)
    assert len(chosen) == 12


@given(length=st.integers(1, 500), most=st.integers(2, 30), key=st.integers(2, 499))
def test_the_chosen_are_spread_over_the_shot(length: int, most: int, key: int) -> None:
    framing = Framing(x=3000, y=2000, width=4000)
    keys = (Key(frame=1, framing=framing), Key(frame=key, framing=framing))
    shot = Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=keys, frames=length)
    chosen = chosen_frames(shot, shot.course(), most)
    assert chosen[0] == 1
    assert chosen[-1] == length
    assert len(chosen) <= min(most, length)
    assert list(chosen) == sorted(set(chosen))
    if length > most:
        assert max(np.diff(chosen)) <= 2 * length / (most - 1) + 1


@pytest.mark.parametrize(
    "size", [Size(1920, 1080), Size(2048, 858), Size(1080, 1920), Size(1000, 1000)]
)
@pytest.mark.parametrize("count", [1, 2, 5, 12, 40])
def test_all_pictures_and_words_stay_on_the_paper(
    shot_of: Callable[..., Shot], a4: tuple, drawn, inside, size: Size, count: int
) -> None:
    framing = Framing(x=3000, y=2000, width=2000)
    shot = shot_of(Key(frame=1, framing=framing), delivery=Delivery(size=size), frames=60)
    sizes = []

    def picture(frame: int, width: int) -> np.ndarray:
        sizes.append(width)
        return _plain(frame, width)

    contact_sheet(shot, shot.course(), range(1, count + 1), picture, a4)
    assert inside(drawn) == []
    assert {str(frame) for frame in range(1, count + 1)} <= drawn.words()
    assert len(sizes) == count


def test_a_frame_without_a_still_is_left_empty_and_named(push_in: Shot, a4: tuple, drawn) -> None:
    contact_sheet(push_in, push_in.course(), (1, 25, 49), lambda *_: None, a4)
    assert "not photographed yet" in drawn.words()
    assert {"1", "25", "49", "first", "last"} <= drawn.words()


@pytest.mark.parametrize("size", [Size(1080, 1920), Size(100, 600), Size(1920, 1080)])
def test_what_stands_under_a_picture_keeps_out_of_each_others_way(
    shot_of: Callable[..., Shot], a4: tuple, size: Size
) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=3000, y=2000, width=600)),
        Key(frame=148, framing=Framing(x=3100, y=2000, width=500)),
        delivery=Delivery(size=size),
        stills=Stills(size=Size(6000, 4000), refs=STILLS),
        on=2,
    )
    course = shot.course()
    frames = chosen_frames(shot, course)
    sheet = contact_sheet(shot, course, frames, lambda *_: None, a4)
    assert [pair for pair in overlapping(sheet) if "not photographed yet" not in pair] == []
