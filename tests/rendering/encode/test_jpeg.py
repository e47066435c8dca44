from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from skimage import data

from cropmove.rendering.encode import Encoding, encode


def opened(encoding: Encoding, pixels: np.ndarray) -> Image.Image:
    picture = Image.open(io.BytesIO(encode(pixels, encoding)))
    picture.load()
    return picture


@pytest.mark.parametrize(("quality", "near"), [(100, 0.6), (95, 2), (50, 5)])
def test_another_reader_sees_nearly_the_same(quality: int, near: float) -> None:
    picture = opened(Encoding(format="jpeg", quality=quality), data.astronaut())
    error = np.abs(np.asarray(picture).astype(int) - data.astronaut()).mean()
    assert near / 4 < error < near


def test_colours_have_full_resolution_unless_made_small() -> None:
    # Sampling factors stand in the frame header, ITU-T T.81, B.2.2.
    for compression, factor in (("quick", 1), ("small", 2)):
        picture = opened(Encoding(format="jpeg", compression=compression), data.astronaut())
        assert picture.layer[0][1:3] == (factor, factor)


def test_grey_stays_grey() -> None:
    picture = opened(Encoding(format="jpeg"), data.camera()[..., None])
    assert picture.mode == "L"
    assert np.abs(np.asarray(picture).astype(int) - data.camera()).mean() < 2


@pytest.mark.parametrize("size", [1, 600, 65_519, 65_520, 200_000])
def test_a_profile_of_any_size_travels(size: int) -> None:
    profile = np.random.default_rng(size).bytes(size)
    picture = opened(Encoding(format="jpeg", profile=profile), data.astronaut())
    assert picture.info["icc_profile"] == profile
    # The JFIF segment comes right after the start (JFIF 1.02, "Identifying").
    assert picture.applist[0][0] == "APP0"
    assert picture.applist[0][1].startswith(b"JFIF")
