from __future__ import annotations

import io
import struct

import imagecodecs
import numpy as np
import OpenEXR
import pytest
from numpy.typing import NDArray

from cropmove.rendering.encode import COMPRESSIONS, Encoding, encode


def light(channels: int) -> NDArray[np.float32]:
    values = np.random.default_rng(4).random((23, 31, channels)).astype(np.float32) * 4
    return values if channels in (1, 3) else np.concatenate(
        [values[..., :-1], np.full((23, 31, 1), 0.5, np.float32)], axis=-1
    )  # fmt: skip


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("depth", [16, 32])
@pytest.mark.parametrize("compression", COMPRESSIONS)
def test_light_comes_back_and_colours_are_multiplied_by_alpha(
    channels: int, depth: int, compression: str
) -> None:
    pixels = light(channels)
    file = encode(pixels, Encoding(format="exr", depth=depth, compression=compression))
    planes = OpenEXR.File(io.BytesIO(file), separate_channels=True).channels()
    kind = np.float16 if depth == 16 else np.float32
    assert "".join(sorted(planes)) == {1: "Y", 2: "AY", 3: "BGR", 4: "ABGR"}[channels]
    names = {1: "Y", 2: "YA", 3: "RGB", 4: "RGBA"}[channels]
    for i, name in enumerate(names):
        held = pixels[..., i] * (0.5 if channels in (2, 4) and name != "A" else 1)
        assert planes[name].pixels.dtype == kind
        assert np.array_equal(planes[name].pixels, held.astype(kind))


def test_the_bytes_are_where_the_format_says() -> None:
    # "OpenEXR File Layout": unpacked scanlines are row number, size, then B, G and R of the row.
    pixels = light(3)
    file = bytes(encode(pixels, Encoding(format="exr", depth=32, compression="none")))
    assert file[:4] == struct.pack("<I", 20000630)
    row = 8 + 31 * 3 * 4
    y, size = struct.unpack("<iI", file[-row : -row + 8])
    assert (y, size) == (22, 31 * 3 * 4)
    last = np.frombuffer(file[-row + 8 :], "<f4").reshape(3, 31)
    assert np.array_equal(last, pixels[-1].T[::-1])


def test_other_primaries_are_named_and_the_usual_ones_are_not() -> None:
    adobe = Encoding(format="exr", profile=imagecodecs.cms_profile("adobergb"))
    header = OpenEXR.File(io.BytesIO(encode(light(3), adobe))).header()
    wanted = (0.64, 0.33, 0.21, 0.71, 0.15, 0.06, 0.3127, 0.329)
    assert header["chromaticities"] == pytest.approx(wanted, abs=2e-4)
    plain = OpenEXR.File(io.BytesIO(encode(light(3), Encoding(format="exr")))).header()
    assert "chromaticities" not in plain


def test_light_too_bright_for_half_is_the_brightest_there_is() -> None:
    light = np.array([[[2e5, 65504.0, -1e9], [1.0, np.inf, 0.5]]], np.float32)
    file = encode(light, Encoding(format="exr", depth=16))
    planes = OpenEXR.File(io.BytesIO(file), separate_channels=True).channels()
    # IEEE 754 binary16: the largest number is 65504.
    assert planes["R"].pixels.tolist() == [[65504, 1]]
    assert planes["G"].pixels.tolist() == [[65504, 65504]]
    assert planes["B"].pixels.tolist() == [[-65504, 0.5]]
