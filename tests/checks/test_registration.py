"""Shifts between pictures, against an independent library and against shifts that are known."""

import numpy as np
import pytest
from scipy.ndimage import shift as shifted
from skimage import data
from skimage.registration import phase_cross_correlation

from cropmove.checks.looks import SURE
from cropmove.checks.registration import Spectrum, moved_between


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
