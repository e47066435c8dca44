"""Small stills between previews: known again, dropped in time, and never trusted when damaged."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.previews import kept as kept_module
from cropmove.previews import small as small_module
from cropmove.previews.kept import Kept, usual_folder
from cropmove.previews.small import small_still
from cropmove.stills.find import StillRef

LARGE = (2003, 1333)
"""Large enough to be kept, and no multiple of eight."""


@pytest.fixture
def kept(tmp_path: Path) -> Kept:
    return Kept(tmp_path / "kept")


def _soft(height: int = 60, width: int = 90, channels: int = 3) -> np.ndarray:
    ramp = np.linspace(40, 200, height)[:, None, None] + np.linspace(0, 40, width)[None, :, None]
    return np.repeat(ramp, channels, axis=2).astype(np.uint8)


def _still(tmp_path: Path, name: str = "a.jpg", grey: int = 100) -> StillRef:
    Image.new("RGB", LARGE, (grey, grey, grey)).save(tmp_path / name)
    return StillRef(path=tmp_path / name)


@pytest.mark.parametrize("channels", [1, 3])
def test_what_was_kept_comes_back_to_within_what_an_eye_sees(
    tmp_path: Path, kept: Kept, channels: int
) -> None:
    still, pixels = _still(tmp_path), _soft(channels=channels)
    kept.put(kept.place(still, 0.25), pixels)
    back = kept.get(still, 0.25)
    assert back is not None
    assert back.shape == pixels.shape
    assert np.abs(back.astype(int) - pixels).max() <= 4


def test_a_still_taken_anew_is_not_taken_for_the_old(tmp_path: Path, kept: Kept) -> None:
    still = _still(tmp_path)
    kept.put(kept.place(still, 0.25), _soft())
    facts = still.path.stat()
    os.utime(still.path, ns=(facts.st_atime_ns, facts.st_mtime_ns + 1))
    assert kept.get(still, 0.25) is None
    os.utime(still.path, ns=(facts.st_atime_ns, facts.st_mtime_ns))
    assert kept.get(still, 0.25) is not None
    still.path.write_bytes(still.path.read_bytes() + b"more")
    os.utime(still.path, ns=(facts.st_atime_ns, facts.st_mtime_ns))
    assert kept.get(still, 0.25) is None


def test_a_still_taken_anew_while_it_is_read_is_read_again(
    tmp_path: Path, kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    still, read = _still(tmp_path, grey=50), small_module._pixels

    def slowly(*asked: Any) -> np.ndarray:
        pixels = read(*asked)
        _still(tmp_path, grey=200)
        facts = still.path.stat()
        os.utime(still.path, ns=(facts.st_atime_ns, facts.st_mtime_ns + 10**9))
        return pixels

    monkeypatch.setattr(small_module, "_pixels", slowly)
    assert small_still(still, 0.25, kept).pixels.mean() == pytest.approx(50, abs=2)
    monkeypatch.setattr(small_module, "_pixels", read)
    assert small_still(still, 0.25, kept).pixels.mean() == pytest.approx(200, abs=2)


def test_another_place_and_another_reduction_are_others(tmp_path: Path, kept: Kept) -> None:
    still, other = _still(tmp_path), _still(tmp_path, "b.jpg")
    kept.put(kept.place(still, 0.25), _soft())
    assert kept.has(still, 0.25)
    assert not kept.has(still, 0.5)
    assert not kept.has(other, 0.25)
    assert kept.get(other, 0.25) is None


@pytest.mark.parametrize("place", [0, 17, -1])
@pytest.mark.parametrize("harm", ["cut", "changed", "emptied"])
def test_a_damaged_one_is_ignored_and_made_anew(
    tmp_path: Path, kept: Kept, harm: str, place: int
) -> None:
    still = _still(tmp_path)
    right = small_still(still, 0.25, kept).pixels
    (file,) = kept.folder.iterdir()
    content = bytearray(file.read_bytes())
    if harm == "changed":
        content[place] ^= 0x10
    file.write_bytes(b"" if harm == "emptied" else content[: place % len(content)]
                     if harm == "cut" else content)  # fmt: skip
    assert kept.get(still, 0.25) is None
    assert (small_still(still, 0.25, kept).pixels == right).all()
    assert kept.get(still, 0.25) is not None


def test_the_second_time_the_still_itself_is_not_decoded(
    tmp_path: Path, kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    still = _still(tmp_path)
    first = small_still(still, 0.25, kept)

    def refuse(*_: object) -> None:
        raise AssertionError("the large still was decoded")

    monkeypatch.setattr(small_module, "_pixels", refuse)
    again = small_still(still, 0.25, kept)
    assert again.scale == first.scale == 0.25
    assert np.abs(again.pixels.astype(int) - first.pixels).max() <= 3
    for at_least, room in ((0.5, kept), (0.25, None)):
        with pytest.raises(AssertionError, match="was decoded"):
            small_still(still, at_least, room)


@pytest.mark.parametrize("name", ["dot.jpg", "dot.png"])
@pytest.mark.parametrize("orientation", [1, 2, 3, 6, 7, 8])
def test_a_dot_stays_in_place_in_what_is_kept(
    spot, found, kept: Kept, name: str, orientation: int
) -> None:
    """Upright places by CIPA DC-008, tag 274, worked out by Pillow's own exif_transpose."""
    from PIL import ImageOps

    path = spot(name, LARGE, (601.0, 1017.0), 40.0, orientation)
    upright = np.asarray(ImageOps.exif_transpose(Image.open(path)))
    expected = found(upright)
    framing = Framing(x=expected[0] + 25, y=expected[1] - 10, width=400)
    for _ in range(2):
        small = small_still(StillRef(path=path), 0.25, kept)
        assert small.size == Size(upright.shape[1], upright.shape[0])
        assert small.scale == 0.25
        shown = small.frame(framing, Size(400, 224))
        assert found(shown) == pytest.approx((200 - 25, 112 + 10), abs=0.25)


def test_deep_stills_are_kept_small_and_of_eight_bits(tmp_path: Path, kept: Kept) -> None:
    import imagecodecs

    path = tmp_path / "deep.png"
    deep = np.full((LARGE[1], LARGE[0], 3), 120 * 257, np.uint16)
    path.write_bytes(imagecodecs.png_encode(deep))
    for _ in range(2):
        small = small_still(StillRef(path=path), 0.125, kept)
        assert small.pixels.shape == (167, 251, 3)
        shown = small.frame(Framing(x=1000, y=600, width=800), Size(100, 50))
        assert np.abs(shown.astype(int) - 120).max() <= 1


@pytest.mark.parametrize(
    ("size", "at_least", "in_movie"),
    [(Size(1920, 1040), 0.5, False), (Size(6000, 4000), 1.0, False), (Size(6000, 4000), 0.5, True)],
)
def test_what_is_read_as_quickly_itself_is_not_kept(
    kept: Kept, size: Size, at_least: float, in_movie: bool
) -> None:
    assert kept.takes(StillRef(path=Path("a.jpg")), Size(6000, 4000), 0.5)
    assert not kept.takes(StillRef(path=Path("a.jpg"), in_movie=in_movie), size, at_least)


def test_the_longest_unused_make_room(tmp_path: Path, kept: Kept) -> None:
    stills = [_still(tmp_path, f"{n}.jpg") for n in range(4)]
    for age, still in enumerate(stills):
        kept.put(kept.place(still, 0.25), _soft())
        (new,) = [p for p in kept.folder.iterdir() if p.stat().st_mtime > 1e9]
        os.utime(new, (1000 + age, 1000 + age))
    one = new.stat().st_size
    assert kept.get(stills[0], 0.25) is not None  # used just now
    Kept(kept.folder, room=2 * one + one // 2).make_room()
    assert [kept.has(still, 0.25) for still in stills] == [True, False, False, True]


def test_one_that_another_preview_drops_meanwhile_is_not_left_empty(
    tmp_path: Path, kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    still, read = _still(tmp_path), Path.read_bytes
    kept.put(kept.place(still, 0.25), _soft())

    def dropped(path: Path) -> bytes:
        content = read(path)
        path.unlink()
        return content

    monkeypatch.setattr(Path, "read_bytes", dropped)
    kept.get(still, 0.25)
    assert not kept.has(still, 0.25)


def test_making_room_in_a_folder_that_is_not_there_does_nothing(kept: Kept) -> None:
    kept.make_room()
    assert not kept.folder.exists()


def test_where_nothing_can_be_written_nothing_is_kept(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    blocked, still = Kept(tmp_path / "file" / "kept"), _still(tmp_path)
    assert small_still(still, 0.25, blocked).pixels.shape == (334, 501, 3)
    assert not blocked.has(still, 0.25)


def test_two_previews_at_once_keep_whole_stills(tmp_path: Path, kept: Kept) -> None:
    still, pixels = _still(tmp_path), _soft(600, 900)
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda _: kept.put(kept.place(still, 0.25), pixels), range(40)))
    assert kept.get(still, 0.25) is not None
    assert len(list(kept.folder.iterdir())) == 1


def test_small_stills_of_another_making_are_not_used(
    tmp_path: Path, kept: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    still = _still(tmp_path)
    kept.put(kept.place(still, 0.25), _soft())
    monkeypatch.setattr(kept_module, "_MADE", kept_module._MADE + 1)
    assert kept.get(still, 0.25) is None


def test_they_lie_in_the_users_folder_for_what_can_be_made_again(own_cache: Path) -> None:
    assert usual_folder() == own_cache / "stills"
