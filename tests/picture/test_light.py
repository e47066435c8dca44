"""Transfer curves, against published numbers and an independent library."""

from __future__ import annotations

import colour
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.picture.light import (
    ADOBE_RGB,
    BT709,
    LINEAR,
    LOWEST_OCTAVE,
    SRGB,
    STEPS_PER_OCTAVE,
    Transfer,
    decode,
    decoding_table,
    encode,
    encoding_table,
    fit_decoding,
    fit_encoding,
    fit_fine_decoding,
    gamma,
)

CURVES = [LINEAR, SRGB, ADOBE_RGB, BT709, gamma(1.8), gamma(2.4)]
SHARES = np.linspace(0, 1, 1001)
by_name = pytest.mark.parametrize("transfer", CURVES, ids=lambda transfer: transfer.name)


@pytest.mark.parametrize(
    ("code", "light"),
    # IEC 61966-2-1, computed from its formula
    [(128, 0.2158605), (188, 0.5028865), (0, 0.0), (255, 1.0)],
)
def test_srgb_codes_are_the_light_the_standard_says(code: int, light: float) -> None:
    assert float(decode(np.uint8(code), SRGB)) == pytest.approx(light, abs=5e-8)


def test_eighteen_per_cent_grey_is_coded_as_srgb_says() -> None:
    # IEC 61966-2-1, computed from its formula
    assert float(encode(0.18, SRGB)) == pytest.approx(0.461356130, abs=5e-10)


@pytest.mark.parametrize(("light", "code"), [(0.18, 0.409007729), (0.5, 0.705515090)])
def test_bt709_codes_are_what_the_recommendation_says(light: float, code: float) -> None:
    # ITU-R BT.709-6, item 1.2, computed from its formula
    assert float(encode(light, BT709)) == pytest.approx(code, abs=5e-10)


def test_the_curves_agree_with_an_independent_library() -> None:
    srgb = colour.models.eotf_sRGB(SHARES)
    bt709 = colour.models.oetf_inverse_BT709(SHARES)
    adobe = colour.RGB_COLOURSPACES["Adobe RGB (1998)"].cctf_decoding(SHARES)
    np.testing.assert_allclose(decode(SHARES, SRGB), srgb, atol=1e-6)
    np.testing.assert_allclose(decode(SHARES, BT709), bt709, atol=1e-4)
    np.testing.assert_allclose(decode(SHARES, ADOBE_RGB), adobe, atol=1e-9)


@by_name
def test_encoding_undoes_decoding(transfer: Transfer) -> None:
    # BT.709's two pieces miss each other by 2.5e-4 at the knee, as its rounded numbers have it
    limit = 3e-4 if transfer is BT709 else 1e-9
    np.testing.assert_allclose(encode(decode(SHARES, transfer), transfer), SHARES, atol=limit)


@by_name
@given(a=st.floats(0, 1), b=st.floats(0, 1))
def test_more_code_is_more_light(transfer: Transfer, a: float, b: float) -> None:
    low, high = sorted((a, b))
    # BT.709's two pieces miss each other at the knee, as its rounded numbers have it
    assert decode(low, transfer) <= decode(high, transfer) + 1e-4


def test_a_sampled_curve_stands_in_for_a_formula() -> None:
    sampled = Transfer(
        name="sampled", reference="made here", samples=tuple(decode(np.linspace(0, 1, 4097), SRGB))
    )
    np.testing.assert_allclose(decode(SHARES, sampled), decode(SHARES, SRGB), atol=1e-6)
    np.testing.assert_allclose(encode(SHARES, sampled), encode(SHARES, SRGB), atol=1e-5)


@by_name
def test_the_encoding_table_is_within_a_twentieth_of_a_16_bit_code(transfer: Transfer) -> None:
    table = encoding_table(transfer).astype(np.float64)
    light = np.geomspace(2.0**-30, 0.9999, 20000)
    octave = np.floor(np.log2(light))
    along = (light / 2**octave - 1) * STEPS_PER_OCTAVE
    piece = ((octave - LOWEST_OCTAVE) * STEPS_PER_OCTAVE + np.floor(along)).astype(int)
    got = table[piece, 0] + (along % 1) * table[piece, 1]
    # where BT.709's two pieces miss each other there is nothing to follow
    smooth = np.abs(encode(light, transfer) - transfer.knee) > (1e-3 if transfer is BT709 else 0)
    assert np.abs(got - encode(light, transfer))[smooth].max() * 65535 < 0.05


@pytest.mark.parametrize("depth", [8, 16])
def test_the_decoding_table_holds_every_code(depth: int) -> None:
    table = decoding_table(SRGB, depth)
    assert table.shape == (2**depth,)
    assert table[-1] == 1
    assert table[0] == 0


def test_srgb_has_polynomials_that_stay_within_their_tolerance() -> None:
    knee, toe, *coefficients = fit_decoding(SRGB).astype(np.float64)
    codes = np.arange(256.0)
    light = np.where(codes < knee, toe * codes, np.polyval(coefficients[::-1], codes))
    darkest = decode(1 / 255, SRGB)
    assert np.abs(light - decode(codes / 255, SRGB)).max() < 0.1 * darkest

    knee, toe, *coefficients = fit_fine_decoding(SRGB).astype(np.float64)
    light = np.where(codes < knee, toe * codes, np.polyval(coefficients[::-1], codes))
    assert np.abs(65535 * encode(light, SRGB) - 257 * codes).max() < 0.4

    light = np.linspace(0, 1, 5000)
    for depth, full, root in ((8, 255, 2), (16, 65535, 4)):
        knee, toe, *coefficients = fit_encoding(SRGB, depth).astype(np.float64)
        curved = np.polyval(coefficients[::-1], light ** (1 / root))
        got = np.where(light < knee, toe * light, curved)
        assert np.abs(got - full * encode(light, SRGB)).max() < 0.03


def test_a_curve_that_no_polynomial_follows_has_none() -> None:
    assert fit_decoding(gamma(2.4)).size == 0
    assert fit_fine_decoding(gamma(2.4)).size == 0
    assert fit_encoding(gamma(2.4), 8).size == 0
    assert fit_encoding(gamma(2.4), 16).size == 0
