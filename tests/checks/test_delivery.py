"""Odd sizes, room on the disk and names that clash."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from cropmove.checks import delivery as delivery_checks
from cropmove.checks.delivery import CHROMA, bytes_needed
from cropmove.checks.facts import Facts
from cropmove.checks.finding import Level
from cropmove.formats import FORMATS
from cropmove.geometry import Size
from cropmove.limits import Limits
from cropmove.shot import Delivery


def delivering(pan, width, height, format):
    return pan(0.05, 24, delivery=Delivery(size=Size(width, height), format=format))


@pytest.mark.parametrize(
    ("format", "width", "height", "level"),
    [
        # 4:2:0 halves colour both ways, 4:2:2 across only: Rec. ITU-T H.264, table 6-1. An odd
        # height in 4:2:2: common practice, no source.
        ("mp4", 1919, 1080, Level.FAULT),
        ("mp4", 1920, 1079, Level.FAULT),
        ("mov", 1919, 1080, Level.FAULT),
        ("mov", 1920, 1079, Level.FAULT),
        ("png", 1919, 1080, Level.NOTE),
    ],
)
def test_an_odd_size_is_told_and_the_next_even_one_will_do(
    pan, one, found, format, width, height, level
):
    finding = one(delivering(pan, width, height, format), "odd-size")
    assert finding.level is level
    even = finding.figures["size"]
    assert 0 < sum(even) - width - height <= 2
    assert found(delivering(pan, *even, format), "odd-size") == ()


@pytest.mark.parametrize("format", [name for name, f in FORMATS.items() if not f.holds_alpha])
def test_alpha_that_cannot_be_delivered_is_told_still_by_still(photographed, one, found, format):
    grey = np.full((32, 48, 3), 128, dtype=np.uint8)
    clear = np.dstack([grey, grey[..., 0]])
    shot = photographed([grey, clear, clear, grey], on=2)
    shot = replace(shot, delivery=replace(shot.delivery, format=format))
    finding = one(shot, "alpha-lost")
    assert finding.level is Level.FAULT
    assert finding.frames == ((3, 6),)
    assert finding.figures == {"stills": [2, 3]}
    assert "still_0002.png" in finding.what
    # What is not shown does not matter, and what holds alpha is what the remedy says.
    assert found(replace(shot, frames=2), "alpha-lost") == ()
    for holder in ("png", "tiff", "exr"):
        assert f'"{holder}"' in finding.remedy
        held = replace(shot, delivery=replace(shot.delivery, format=holder))
        assert found(held, "alpha-lost") == ()


def test_every_movie_format_has_its_chroma():
    assert set(CHROMA) == {name for name, format in FORMATS.items() if format.is_movie}


def test_every_format_has_an_estimate_of_its_size():
    assert set(delivery_checks._PACKED) == set(FORMATS)


def with_room(monkeypatch, free):
    monkeypatch.setattr(
        delivery_checks.shutil, "disk_usage", lambda path: SimpleNamespace(free=free)
    )


def test_too_little_room_is_told_and_what_it_says_is_enough(pan, one, found, monkeypatch, tmp_path):
    shot = pan(0.05, 240)
    with_room(monkeypatch, 100_000_000)
    finding = one(shot, "disk-room", folder=tmp_path)
    with_room(monkeypatch, finding.figures["bytes_needed"])
    assert found(shot, "disk-room", folder=tmp_path) == ()
    with_room(monkeypatch, finding.figures["bytes_needed"] - 1)
    assert len(found(shot, "disk-room", folder=tmp_path)) == 1


def test_much_room_is_told_without_powers_of_ten(pan, one, monkeypatch, tmp_path):
    with_room(monkeypatch, 10**9)
    finding = one(pan(0.05, 300_000), "disk-room", folder=tmp_path)
    assert "e+" not in finding.what + finding.remedy


def test_the_folder_need_not_be_there_yet(pan, one, monkeypatch, tmp_path):
    with_room(monkeypatch, 1)
    assert one(pan(0.05, 24), "disk-room", folder=tmp_path / "a" / "b").level is Level.CAUTION


def test_spare_room_can_be_asked_for(pan, found, monkeypatch, tmp_path):
    shot = pan(0.05, 24)
    with_room(monkeypatch, bytes_needed(Facts(shot)))
    assert len(found(shot, "disk-room", folder=tmp_path)) == 1
    shot = replace(shot, limits=Limits(spare_room=0))
    assert found(shot, "disk-room", folder=tmp_path) == ()


def test_the_estimate_is_on_the_safe_side_of_real_frames(pan):
    from skimage import data

    from cropmove.rendering.encode import Encoding, encode

    picture = np.ascontiguousarray(np.tile(data.coffee(), (2, 2, 1))[:540, :960])
    for format in ("png", "tiff", "jpeg"):
        encoding = Encoding(format=format)
        shot = delivering(pan, 960, 540, format)
        estimate = bytes_needed(Facts(shot)) / shot.length
        assert len(encode(picture, encoding)) <= estimate * 1.02


@pytest.mark.parametrize(
    # Half floats have 16 bits (OpenEXR), ProRes 422 has 10 (Apple ProRes white paper).
    ("format", "depth"),
    [("exr", 16), ("mov", 10), ("png", 8)],
)
def test_where_no_depth_is_asked_for_the_estimate_is_of_the_format_s_own(pan, format, depth):
    usual = delivering(pan, 1920, 1080, format)
    told = replace(usual, delivery=replace(usual.delivery, depth=depth))
    assert bytes_needed(Facts(usual)) == bytes_needed(Facts(told))


def test_two_shots_of_one_name_clash_until_one_is_renamed(pan, one, found):
    batch = ("quay", "pier", "QUAY_2")
    finding = one(pan(0.05, 24, name="Quay"), "name-clash", batch=batch)
    free = finding.figures["free_name"]
    assert free == "Quay_3"
    assert found(pan(0.05, 24, name=free), "name-clash", batch=batch) == ()
    assert found(pan(0.05, 24, name="boat"), "name-clash", batch=batch) == ()
