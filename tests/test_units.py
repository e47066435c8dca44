"""Names for numbers: rasters, rates, times, lengths."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.units import (
    RASTERS,
    duration,
    length,
    raster,
    rate,
    rate_text,
    seconds_text,
    whole,
)

# Name: width, height, aspect to its printed digits.
PUBLISHED = {
    "hd": (1920, 1080, 16 / 9),  # ITU-R BT.709-6, SMPTE ST 274
    "uhd": (3840, 2160, 16 / 9),  # ITU-R BT.2020-2, SMPTE ST 2036-1; from memory
    "8k uhd": (7680, 4320, 16 / 9),  # same; from memory
    "2k full": (2048, 1080, 1.8963),  # SMPTE ST 428-1, DCI Digital Cinema System Specification
    "4k full": (4096, 2160, 1.8963),
    "2k flat": (1998, 1080, 1.85),
    "4k flat": (3996, 2160, 1.85),
    "2k scope": (2048, 858, 2.386947),  # not 2.39 exactly
    "4k scope": (4096, 1716, 2.386947),
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_named_raster_has_its_published_size(name: str) -> None:
    width, height, aspect = PUBLISHED[name]
    assert raster(name) == Size(width, height)
    assert float(raster(name).aspect) == pytest.approx(aspect, abs=5e-5)


def test_no_other_raster_has_a_name_and_each_says_who_says_so() -> None:
    assert set(RASTERS) == set(PUBLISHED)
    for name, entry in RASTERS.items():
        assert entry.name == name
        assert any(body in entry.source for body in ("ITU-R", "SMPTE"))


def test_flat_is_1_85_exactly() -> None:
    # SMPTE ST 428-1, DCI: 1998 x 1080 and 3996 x 2160.
    assert raster("2k flat").aspect == raster("4k flat").aspect == Fraction(185, 100)


def test_the_words_of_a_raster_may_stand_in_either_order_and_case() -> None:
    assert raster("FLAT 2K") == raster("2k flat") == raster("  2k   flat ")


@pytest.mark.parametrize(
    ("frames", "told"), [(1, "0.042 s"), (24 * 9999, "2 h 46 min 39 s"), (24 * 10_800, "3 h")]
)
def test_seconds_are_told_without_powers_of_ten(frames: int, told: str) -> None:
    assert seconds_text(frames, Fraction(24)) == told


def test_an_unknown_raster_is_refused_with_the_nearest() -> None:
    with pytest.raises(InputError, match='did you mean "2k scope"'):
        raster("2k scop")


# What people call them: common practice, no source. 1080 lines are HD and 2160 UHD (ITU-R BT.709
# and BT.2020); "4k" is said of the screen's and of the cinema's.
@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("fullhd", '"hd"'),
        ("Full HD", '"hd"'),
        ("1080p", '"hd"'),
        ("ultra-hd", '"uhd"'),
        ("2160p", '"uhd"'),
        ("4k uhd", '"uhd"'),
        ("8k", '"8k uhd"'),
        ("4k", '"uhd", "4k full", "4k flat" or "4k scope"'),
        ("2k", '"2k full", "2k flat" or "2k scope"'),
    ],
)
def test_a_name_from_elsewhere_is_refused_with_what_it_means(name: str, meant: str) -> None:
    with pytest.raises(InputError) as refused:
        raster(name)
    assert refused.value.complaints[0].remedy == f"did you mean {meant}?"


@pytest.mark.parametrize("name", ["720p", "1280x720", "telly"])
def test_a_size_that_has_no_name_is_asked_for_in_pixels(name: str) -> None:
    with pytest.raises(InputError, match="write its width and height"):
        raster(name)


# --- rates --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "fraction", "decimal"),
    [  # ITU-R BT.709-6 and SMPTE ST 274: 60, 50, 30, 25, 24 and 60, 30, 24 over 1.001
        (23.976, Fraction(24000, 1001), 23.976023976),
        (29.97, Fraction(30000, 1001), 29.970029970),
        (59.94, Fraction(60000, 1001), 59.940059940),
    ],
)
def test_a_usual_decimal_is_the_rate_over_1_001(
    written: float, fraction: Fraction, decimal: float
) -> None:
    assert rate(written) == fraction
    assert float(fraction) == pytest.approx(decimal, abs=5e-10)
    assert rate(round(decimal, 2)) == rate(float(fraction)) == fraction


@pytest.mark.parametrize("fps", [24, 25, 30, 50, 60, 12, 8, 1, 1000])
def test_a_whole_rate_is_itself(fps: int) -> None:
    assert rate(fps) == rate(float(fps)) == rate(f"{fps}/1") == fps


@pytest.mark.parametrize(
    "slow", [0.001, 0.004, 0.005, 0.5, 1.003, 3.001, 5.995, 12.5, 23.97, 24.98001]
)
def test_any_other_decimal_is_taken_at_its_word(slow: float) -> None:
    assert rate(slow) == Fraction(str(slow))


def test_a_decimal_that_movies_cannot_hold_is_the_nearest_rate_that_they_can() -> None:
    # A rate in a movie is two whole numbers of 32 bits: FFmpeg's AVRational.
    for decimal, fps in ((50 / 3, Fraction(50, 3)), (1000 / 7, Fraction(1000, 7))):
        assert rate(decimal) == fps
    for decimal in (12.123456789, 999.9999999, 0.00123456789):
        fps = rate(decimal)
        assert max(fps.numerator, fps.denominator) < 2**31
        assert abs(fps - Fraction(decimal)) < Fraction(1, 10**6)


@given(st.fractions(Fraction(1, 1000), 1000, max_denominator=10**6))
def test_a_rate_written_and_read_is_the_same(fps: Fraction) -> None:
    text = rate_text(fps)
    assert rate(text if "/" in text else int(text)) == fps


@pytest.mark.parametrize(
    "bad",
    [0, -24, 0.0, 1e-320, 1000.5, 10**400, float("nan"), float("inf"), True, None, "24", "0/5",
     "24/0", "-24/1", "1/2/3", "fast", [24], "4166666666666667/250000000000000",
     Fraction(10**9 + 1, 10**8)],
)  # fmt: skip
def test_what_is_no_rate_is_refused(bad: object) -> None:
    with pytest.raises(InputError):
        rate(bad)


# --- times --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "fps", "frames"),
    [
        (12, 24, 12),
        (0, 24, 0),
        ("0.5 s", 24, 12),
        ("2s", 25, 50),
        (" 1.5 sec ", 24, 36),
        ("1 second", 24, 24),
        ("3 seconds", 24, 72),
        ("1e1 s", 24, 240),
        (".5 s", 24, 12),
        ("1 s", Fraction(24000, 1001), 24),
        ("0 s", 24, 0),
    ],
)
def test_a_time_is_frames_or_seconds(value: object, fps: object, frames: int) -> None:
    assert duration(value, Fraction(fps)) == frames


def test_half_a_frame_goes_to_the_even_one() -> None:
    # Half-way ties to even: NIST Handbook 44, section 10.3.
    assert duration("0.5 s", Fraction(25)) == 12  # 12.5
    assert duration("1.5 s", Fraction(25)) == 38  # 37.5
    assert [whole(Fraction(n, 2)) for n in (1, 3, 5, 7)] == [0, 2, 2, 4]


@pytest.mark.parametrize(
    "bad",
    [
        -1,
        1.5,
        True,
        None,
        "12",
        "-0.01 s",
        "-1 s",
        "nan s",
        "inf s",
        "1 m",
        "s",
        "",
        "1e999999999 s",
    ],
)
def test_what_is_no_time_is_refused(bad: object) -> None:
    with pytest.raises(InputError, match="whole number of frames, or seconds"):
        duration(bad, Fraction(24))


@given(st.integers(0, 10**5), st.sampled_from([24, 25, 30, 12]))
def test_frames_told_as_exact_seconds_come_back(frames: int, fps: int) -> None:
    assert duration(f"{frames / fps:.9f} s", Fraction(fps)) == frames


def test_seconds_for_people_have_four_digits() -> None:
    assert seconds_text(48, Fraction(24)) == "2 s"
    assert seconds_text(49, Fraction(24000, 1001)) == "2.044 s"


def test_seconds_for_people_are_no_finer_than_thousandths() -> None:
    assert [seconds_text(n, Fraction(24)) for n in (1, 2, 5)] == ["0.042 s", "0.083 s", "0.208 s"]


def test_long_times_are_told_in_minutes_and_hours() -> None:
    # 60 s a minute, 60 min an hour: The International System of Units, 9th edition, table 8.
    assert seconds_text(119 * 24, Fraction(24)) == "119 s"
    assert seconds_text(150 * 24, Fraction(24)) == "2 min 30 s"
    assert seconds_text(3600 * 24, Fraction(24)) == "1 h"
    assert seconds_text(1_000_000, Fraction(24)) == "11 h 34 min 27 s"


# --- lengths ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "pixels"),
    [(1400.5, 1400.5), (0, 0), (-3, -3), ("25%", 1500), (" 33.5 % ", 2010), ("-1%", -60),
     ("1e1%", 600), ("150%", 9000)],
)  # fmt: skip
def test_a_length_is_pixels_or_a_share(value: object, pixels: float) -> None:
    assert length(value, 6000) == pixels


@given(st.decimals(0, 100, places=6), st.integers(1, 65536))
def test_a_share_is_rounded_once(share: object, side: int) -> None:
    assert length(f"{share}%", side) == float(Fraction(share) * side / 100)


@pytest.mark.parametrize(
    "bad", [True, None, "50", "%", "fifty %", [1], "nan%", "1e999%", "1e999999999%"]
)
def test_what_is_no_length_is_refused(bad: object) -> None:
    with pytest.raises(InputError, match="pixels of the still, or a share of it"):
        length(bad, 6000)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 10**400])
def test_a_length_is_finite(bad: float) -> None:
    with pytest.raises(InputError, match="finite"):
        length(bad, 6000)


def test_a_share_of_an_unknown_still_is_refused_with_the_way_out() -> None:
    with pytest.raises(InputError, match="still_size"):
        length("50%", None)
    assert length(50, None) == 50
