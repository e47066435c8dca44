from __future__ import annotations

import colour
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from cropmove.rendering.encode.ycbcr import fill_planes
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


def planes(pixels: NDArray, bits: int, halve_rows: bool) -> tuple[NDArray, NDArray, NDArray]:
    height, width, _ = pixels.shape
    kind = np.uint8 if bits == 8 else np.uint16
    chroma = (height // 2 if halve_rows else height, width // 2)
    made = np.zeros((height, width), kind), np.zeros(chroma, kind), np.zeros(chroma, kind)
    fill_planes(pixels, *made, bits, halve_rows)
    return made


@pytest.mark.parametrize(("rgb", "coded"), BARS.items())
@pytest.mark.parametrize("halve_rows", [False, True])
def test_colour_bars_are_as_published(
    rgb: tuple[float, ...], coded: tuple[int, ...], halve_rows: bool
) -> None:
    pixels = np.full((4, 6, 3), np.array(rgb) * 65535, np.uint16)
    for plane, value in zip(planes(pixels, 10, halve_rows), coded, strict=True):
        assert (plane == value).all()


@pytest.mark.parametrize(("kind", "bits"), [(np.uint8, 8), (np.uint16, 8), (np.uint16, 10)])
def test_flat_colours_are_as_colour_science_has_them(kind: type, bits: int) -> None:
    full = np.iinfo(kind).max
    colours = np.random.default_rng(3).integers(0, full + 1, (40, 3)).astype(kind)
    wanted = colour.RGB_to_YCbCr(
        colours / full, K=colour.WEIGHTS_YCBCR["ITU-R BT.709"], out_bits=bits, out_legal=True
    ) * ((1 << bits) - 1)  # fmt: skip
    for rgb, want in zip(colours, wanted, strict=True):
        made = planes(np.full((2, 2, 3), rgb, kind), bits, True)
        assert np.abs([plane.flat[0] for plane in made] - want).max() <= 0.501


def test_chroma_lies_on_the_first_of_two_columns() -> None:
    # Red rises evenly along the row; on the even columns the filter changes nothing.
    ramp = np.zeros((2, 64, 3), np.uint16)
    ramp[..., 0] = np.arange(64) * 1000
    _, _, red = planes(ramp, 10, False)
    # At the left edge there is nothing beyond the first pixel but itself.
    seen = np.concatenate([[250], np.arange(2, 64, 2) * 1000]) / 65535
    exact = 512 + 896 * seen * (1 - 0.2126) / 1.5748
    assert np.abs(red[0] - exact).max() <= 0.501


def test_chroma_lies_midway_between_two_rows_where_they_are_halved() -> None:
    ramp = np.zeros((64, 2, 3), np.uint16)
    ramp[..., 0] = np.arange(64)[:, None] * 1000
    _, _, red = planes(ramp, 10, True)
    middle = (np.arange(0, 64, 2) + 0.5) * 1000
    exact = 512 + 896 * (middle / 65535) * (1 - 0.2126) / 1.5748
    assert np.abs(red[:, 0] - exact).max() <= 0.501


@given(st.tuples(*[st.integers(0, 65535)] * 3))
def test_a_flat_colour_comes_back_within_a_code(rgb: tuple[int, int, int]) -> None:
    pixels = np.full((4, 4, 3), rgb, np.uint16)
    coding = Coding(bits=10, shares=LUMA_SHARES[1], is_full=False)
    back = to_rgb(*planes(pixels, 10, True), coding)
    assert np.abs(back / 65535 - np.array(rgb) / 65535).max() < 1.5 / 876


@given(st.integers(0, 255))
def test_grey_has_no_colour(value: int) -> None:
    _, blue, red = planes(np.full((2, 4, 3), value, np.uint8), 8, True)
    assert (blue == 128).all()
    assert (red == 128).all()
