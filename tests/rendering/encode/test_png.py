from __future__ import annotations

import io
import struct
import zlib
from typing import Any

import imagecodecs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from skimage import data

from cropmove.rendering.encode import COMPRESSIONS, Encoding, encode
from cropmove.stills.profile import srgb_profile


def chunks(file: bytes) -> dict[bytes, bytes]:
    """The parts of a PNG, their check sums checked (PNG, third edition, 5)."""
    found, at = {}, 8
    while at < len(file):
        length, name = struct.unpack_from(">I4s", file, at)
        content = file[at + 8 : at + 8 + length]
        check = int.from_bytes(file[at + 8 + length : at + 12 + length])
        assert check == zlib.crc32(name + content)
        found[name] = content
        at += 12 + length
    return found


def unfiltered(lines: NDArray[np.uint8], step: int) -> NDArray[np.uint8]:
    """Scanlines back to bytes, by the standard's formulas (9.2), one byte at a time."""
    rows = np.zeros((lines.shape[0] + 1, lines.shape[1] - 1 + step), np.int64)
    for y, line in enumerate(lines.astype(np.int64), start=1):
        for i, value in enumerate(line[1:], start=step):
            a, b, c = rows[y, i - step], rows[y - 1, i], rows[y - 1, i - step]
            distances = [abs(b - c), abs(a - c), abs(a + b - 2 * c)]
            paeth = (a, b, c)[int(np.argmin(distances))]
            rows[y, i] = (value + (0, a, b, (a + b) // 2, paeth)[line[0]]) % 256
    return rows[1:, step:].astype(np.uint8)


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("depth", [8, 16])
@pytest.mark.parametrize("compression", COMPRESSIONS)
def test_pixels_come_back_to_the_last_bit(
    channels: int, depth: int, compression: str, noise: NDArray[np.uint16]
) -> None:
    pixels = noise[..., :channels].astype(f"uint{depth}")
    file = encode(pixels, Encoding(format="png", depth=depth, compression=compression))
    decoded = imagecodecs.png_decode(file)
    assert decoded.dtype == pixels.dtype
    assert np.array_equal(decoded.reshape(pixels.shape), pixels)
    if depth == 8:
        assert np.array_equal(
            np.asarray(Image.open(io.BytesIO(file))).reshape(pixels.shape), pixels
        )


@given(
    st.integers(1, 9), st.integers(1, 9), st.integers(1, 4), st.sampled_from([8, 16]),
    st.sampled_from(list(COMPRESSIONS)), st.randoms(),
)  # fmt: skip
def test_the_standards_formulas_give_the_pixels_back(
    height: int, width: int, channels: int, depth: int, compression: str, random: Any
) -> None:
    kind = np.dtype(f"uint{depth}")
    values = [random.randrange(1 << depth) for _ in range(height * width * channels)]
    pixels = np.array(values, kind).reshape(height, width, channels)
    file = encode(pixels, Encoding(format="png", depth=depth, compression=compression))
    found = chunks(bytes(file))
    colour = {1: 0, 2: 4, 3: 2, 4: 6}[channels]
    assert found[b"IHDR"] == struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    lines = np.frombuffer(zlib.decompress(found[b"IDAT"]), np.uint8).reshape(height, -1)
    rows = unfiltered(lines, channels * depth // 8)
    assert np.array_equal(rows.view(kind.newbyteorder(">")).reshape(pixels.shape), pixels)


def test_frames_without_a_profile_say_that_they_are_srgb() -> None:
    found = chunks(bytes(encode(np.zeros((2, 2, 3), np.uint8), Encoding(format="png"))))
    assert list(found) == [b"IHDR", b"sRGB", b"IDAT", b"IEND"]
    assert found[b"sRGB"] == b"\0"


def test_a_profile_travels_and_takes_the_place_of_srgb() -> None:
    profile = imagecodecs.cms_profile("adobergb")
    file = bytes(encode(np.zeros((2, 2, 3), np.uint8), Encoding(format="png", profile=profile)))
    assert list(chunks(file)) == [b"IHDR", b"iCCP", b"IDAT", b"IEND"]
    assert Image.open(io.BytesIO(file)).info["icc_profile"] == profile


def test_small_is_smaller_and_none_is_not_packed() -> None:
    sizes = {
        word: len(encode(data.astronaut(), Encoding(format="png", compression=word)))
        for word in COMPRESSIONS
    }
    assert sizes["small"] < 0.95 * sizes["quick"]
    assert sizes["quick"] < 0.8 * sizes["none"]
    assert sizes["none"] > data.astronaut().nbytes


def test_a_grey_profile_goes_with_grey_frames() -> None:
    assert srgb_profile()[16:20] == b"RGB "
    file = encode(np.zeros((2, 2, 1), np.uint8), Encoding(format="png"))
    assert b"sRGB" in chunks(bytes(file))
