"""Shifts between pictures, against an independent library and against shifts that are known."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter
from scipy.ndimage import shift as shifted
from skimage import data
from skimage.registration import phase_cross_correlation

from cropmove.checks.looks import SURE
from cropmove.checks.registration import (
    InParts,
    Spectrum,
    moved_between,
    parts_moved,
    picture_moved,
)


def photograph(name: str) -> np.ndarray:
    """A photograph of 512 x 512 that scikit-image carries, in grey."""
    picture = getattr(data, name)()
    return np.asarray(picture, dtype=np.float64).reshape(512, 512, -1).mean(axis=2) / 255


@pytest.mark.parametrize("name", ["camera", "astronaut"])
@pytest.mark.parametrize("moved", [(0.1, 0.0), (-0.37, 0.62), (2.5, -1.3), (-4.9, 5.0), (13, -22)])
def test_a_known_shift_is_found(name, moved):
    picture = photograph(name)
    after = shifted(picture, moved[::-1], order=3, mode="nearest")
    across, down, sure = moved_between(Spectrum.of(picture), Spectrum.of(after))
    # Published figures for whole pictures are some hundredths of a pixel: Guizar-Sicairos 2008.
    assert (across, down) == pytest.approx(moved, abs=0.05)
    assert sure > 2 * SURE


def test_noise_costs_little():
    picture = photograph("camera")
    noise = np.random.default_rng(7).normal(0, 2 / 255, (2, *picture.shape))
    after = shifted(picture, (1.3, -0.7), order=3, mode="nearest")
    moved = moved_between(Spectrum.of(picture + noise[0]), Spectrum.of(after + noise[1]))
    assert moved[:2] == pytest.approx((-0.7, 1.3), abs=0.1)


def test_it_agrees_with_an_independent_library_which_tells_the_way_back():
    picture = photograph("camera")
    after = shifted(picture, (1.3, -3.6), order=3, mode="nearest")
    window = np.outer(np.hanning(512), np.hanning(512))
    back, _, _ = phase_cross_correlation(
        (picture - picture.mean()) * window,
        (after - after.mean()) * window,
        upsample_factor=100,
        normalization=None,
    )
    across, down, _ = moved_between(Spectrum.of(picture), Spectrum.of(after))
    assert (down, across) == pytest.approx(tuple(-back), abs=0.08)


def test_other_pictures_altogether_give_no_sure_shift():
    *_, sure = moved_between(
        Spectrum.of(photograph("camera")), Spectrum.of(photograph("astronaut"))
    )
    assert sure < SURE


def test_a_flat_picture_gives_no_sure_shift():
    flat = Spectrum.of(np.full((40, 60), 0.5))
    *_, sure = moved_between(flat, flat)
    assert sure == 0


def with_a_mover(picture: np.ndarray, x: int, y: int) -> np.ndarray:
    """A thing of hard black and white squares, 190 x 140, before a picture of softer contrast."""
    squares = np.kron(np.random.default_rng(99).uniform(0, 1, (19, 14)), np.ones((10, 10)))
    made = 0.1 + 0.6 * picture
    made[y : y + 190, x : x + 140] = squares
    return made


def textured(seed: int) -> np.ndarray:
    """An invented ground: noise, two pixels soft."""
    ground = gaussian_filter(np.random.default_rng(seed).normal(0, 1, (512, 640)), 2)
    return np.clip(0.5 + 0.1 * ground / ground.std(), 0, 1)


GROUNDS = {
    "camera": photograph("camera"),
    "astronaut": photograph("astronaut"),
    "coffee": data.coffee().mean(axis=2) / 255,
    "one invented": textured(1),
    "another invented": textured(2),
}


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("bumped", [(0.0, 0.0), (3.0, 2.0), (17.0, -9.0)])
@pytest.mark.parametrize("strides", [20, 90])
def test_a_strong_mover_does_not_pass_for_the_whole_picture(ground, bumped, strides):
    picture, rng = GROUNDS[ground], np.random.default_rng(7)
    after = shifted(picture, bumped[::-1], order=3, mode="nearest")
    pair = (
        with_a_mover(picture, 150, 120),
        with_a_mover(after, 150 + strides + round(bumped[0]), 120 + round(bumped[1])),
    )
    seen = [InParts.of(one + rng.normal(0, 2 / 255, one.shape)) for one in pair]
    across, down, sure = picture_moved(*seen, parts_moved(*seen))
    # The mover goes tens of pixels. Beside it a part is found to some tenths of one, not to the
    # hundredths that are published for whole pictures: measured here, no source.
    assert (across, down) == pytest.approx(bumped, abs=0.4)
    assert sure > SURE


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("moved", [(0.6, -0.4), (2.5, -1.3), (-4.9, 5.0), (60, 0)])
def test_where_nothing_else_moves_the_parts_change_nothing(ground, moved):
    picture = GROUNDS[ground]
    after = shifted(picture, moved[::-1], order=3, mode="nearest")
    whole = moved_between(Spectrum.of(picture), Spectrum.of(after))
    pair = InParts.of(picture), InParts.of(after)
    assert picture_moved(*pair, parts_moved(*pair)) == whole
    assert whole[:2] == pytest.approx(moved, abs=0.05)


def test_of_a_small_picture_there_are_no_parts():
    assert InParts.of(photograph("camera")[:120, :180]).parts == ()
