from __future__ import annotations

import colour
import numpy as np
import pytest

from cropmove.stills.ycbcr import LUMA_SHARES, Coding, to_rgb

# 75 % colour bars in BT.709, 10 bits, narrow range: SMPTE RP 219, from memory; the formulas of
# ITU-R BT.709-6, 3, give the same.
BARS = {
    (0.75, 0.75, 0.75): (721, 512, 512),
    (0.75, 0.75, 0): (674, 176, 543),
    (0, 0.75, 0.75): (581, 589, 176),
    (0, 0.75, 0): (534, 253, 207),
    (0.75, 0, 0.75): (251, 771, 817),
    (0.75, 0, 0): (204, 435, 848),
    (0, 0, 0.75): (111, 848, 481),
    (0, 0, 0): (64, 512, 512),
    (1, 1, 1): (940, 512, 512),
}
BT709 = Coding(bits=8, shares=LUMA_SHARES[1], is_full=False)


def planes(values: list[tuple[int, ...]]) -> list[np.ndarray]:
    return [np.array([[value[i] for value in values]], np.uint16) for i in range(3)]


def test_colour_bars_come_back() -> None:
    coding = Coding(bits=10, shares=LUMA_SHARES[1], is_full=False)
    pixels = to_rgb(*planes(list(BARS.values())), coding)
    assert np.abs(pixels[0] / 65535 - list(BARS)).max() < 1.5 / 876


@pytest.mark.parametrize("code", [1, 6, 9])
@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("is_full", [False, True])
def test_every_matrix_depth_and_range_is_as_colour_science_has_it(
    code: int, bits: int, is_full: bool
) -> None:
    name = {1: "ITU-R BT.709", 6: "ITU-R BT.601", 9: "ITU-R BT.2020"}[code]
    rgb = np.random.default_rng(code).random((6, 5, 3))
    coded = colour.RGB_to_YCbCr(
        rgb, K=colour.WEIGHTS_YCBCR[name], out_bits=bits, out_legal=not is_full, out_int=True
    )
    kind = np.uint8 if bits == 8 else np.uint16
    luma, blue, red = (np.ascontiguousarray(coded[..., i], kind) for i in range(3))
    coding = Coding(bits=bits, shares=LUMA_SHARES[code], is_full=is_full)
    pixels = to_rgb(luma, blue, red, coding)
    full = 255 if bits == 8 else 65535
    assert np.abs(pixels / full - rgb).max() < 2.2 / (1 << bits)


def test_half_width_chroma_lies_on_the_first_of_two_columns() -> None:
    luma = np.full((2, 8), 126, np.uint8)
    red = np.full((2, 4), 128, np.uint8)
    blue = np.tile(np.array([100, 110, 120, 130], np.uint8), (2, 1))
    whole = np.array([100, 105, 110, 115, 120, 125, 130, 130], np.uint8)
    want = to_rgb(luma, np.tile(whole, (2, 1)), np.full((2, 8), 128, np.uint8), BT709)
    assert np.array_equal(to_rgb(luma, blue, red, BT709), want)


def test_half_height_chroma_lies_midway_between_two_rows() -> None:
    luma = np.full((6, 2), 126, np.uint8)
    blue = np.array([[100], [108], [116]], np.uint8)
    red = np.full((3, 1), 128, np.uint8)
    whole = np.array([100, 102, 106, 110, 114, 116], np.uint8)
    want = to_rgb(luma, np.tile(whole[:, None], 2), np.full((6, 2), 128, np.uint8), BT709)
    assert np.array_equal(to_rgb(luma, blue, red, BT709), want)


def test_odd_sizes_use_the_last_chroma_value_once() -> None:
    luma = np.full((3, 5), 126, np.uint8)
    blue = np.full((2, 3), 90, np.uint8)
    red = np.full((2, 3), 140, np.uint8)
    pixels = to_rgb(luma, blue, red, BT709)
    assert pixels.shape == (3, 5, 3)
    assert len(np.unique(pixels.reshape(-1, 3), axis=0)) == 1
