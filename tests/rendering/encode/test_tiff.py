from __future__ import annotations

import io

import imagecodecs
import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image
from skimage import data

from cropmove.rendering.encode import COMPRESSIONS, Encoding, encode


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("depth", [8, 16])
@pytest.mark.parametrize("compression", COMPRESSIONS)
def test_pixels_come_back_to_the_last_bit(
    channels: int, depth: int, compression: str, noise: NDArray[np.uint16]
) -> None:
    pixels = noise[..., :channels].astype(f"uint{depth}")
    file = encode(pixels, Encoding(format="tiff", depth=depth, compression=compression))
    decoded = tifffile.imread(io.BytesIO(file))
    assert decoded.dtype == pixels.dtype
    assert np.array_equal(decoded.reshape(pixels.shape), pixels)


@pytest.mark.parametrize("compression", COMPRESSIONS)
def test_another_reader_sees_the_same(compression: str) -> None:
    file = encode(data.astronaut(), Encoding(format="tiff", compression=compression))
    assert np.array_equal(np.asarray(Image.open(io.BytesIO(file))), data.astronaut())


@pytest.mark.parametrize("depth", [8, 16])
def test_libtiff_sees_the_same(depth: int, noise: NDArray[np.uint16]) -> None:
    pixels = noise[..., :3].astype(f"uint{depth}")
    file = encode(pixels, Encoding(format="tiff", depth=depth))
    assert np.array_equal(imagecodecs.tiff_decode(bytes(file)), pixels)


def test_tags_say_what_the_picture_is(noise: NDArray[np.uint16]) -> None:
    # TIFF 6.0: PhotometricInterpretation 2 is RGB, ExtraSamples 2 is straight alpha, Predictor 2
    # is differences; 8 is Adobe's deflate (TIFF Technical Note 2 of 2002).
    profile = imagecodecs.cms_profile("adobergb")
    file = encode(noise, Encoding(format="tiff", depth=16, profile=profile))
    with tifffile.TiffFile(io.BytesIO(file)) as read:
        tags = {tag.code: tag.value for tag in read.pages[0].tags}
    assert (tags[262], tags[338], tags[317], tags[259]) == (2, (2,), 2, 8)
    assert tags[34675] == profile
    assert not {270, 305, 306} & set(tags)  # no description, no software, no date


def test_small_is_smaller_and_none_is_not_packed() -> None:
    sizes = {
        word: len(encode(data.astronaut(), Encoding(format="tiff", compression=word)))
        for word in COMPRESSIONS
    }
    assert sizes["small"] < sizes["quick"]
    assert sizes["quick"] < 0.8 * sizes["none"]
