"""The kernels: published values, unit sums, and how steady each keeps its sharpness."""

from __future__ import annotations

import numpy as np
import pytest
import skimage.data
from numpy.typing import NDArray
from sklearn.datasets import load_sample_image

from cropmove.errors import InputError
from cropmove.picture.kernels import (
    DEFAULT_KERNEL,
    KERNELS,
    SAMPLES_PER_UNIT,
    Kernel,
    kernel_named,
    sampled,
)
from cropmove.picture.light import SRGB, decode
from cropmove.picture.resample import resample

Floats = NDArray[np.float64]
STEPS = np.arange(20) * 0.05
"""A slow pan in steps of a twentieth of a pixel."""


def test_the_default_kernel_stands_first_and_every_kernel_under_its_own_name() -> None:
    assert next(iter(KERNELS)) == DEFAULT_KERNEL
    assert all(name == kernel.name for name, kernel in KERNELS.items())


@pytest.mark.parametrize("kernel", KERNELS.values(), ids=list(KERNELS))
def test_every_kernel_says_what_it_is_good_for_and_where_it_comes_from(kernel: Kernel) -> None:
    assert len(kernel.summary) > 20
    assert len(kernel.reference) > 20


def test_an_unknown_kernel_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(InputError, match="steady"):
        kernel_named("stedy")


def test_gentle_has_the_published_values_of_the_cubic_with_thirds() -> None:
    # Mitchell & Netravali, Reconstruction filters in computer graphics, 1988: B = C = 1/3
    values = KERNELS["gentle"].values([0, 0.5, 1, 1.5, 2])
    np.testing.assert_allclose(values, [8 / 9, 0.534722, 1 / 18, -0.034722, 0], atol=5e-7)


def test_supple_has_the_published_values_of_catmull_and_rom() -> None:
    # the same paper: B = 0, C = 1/2
    values = KERNELS["supple"].values([0, 0.5, 1, 1.5, 2])
    np.testing.assert_allclose(values, [1, 0.5625, 0, -0.0625, 0], atol=1e-12)


def test_crisp_has_the_sum_that_lanczos_3_is_known_for_half_way_between_pixels() -> None:
    # computed from sinc(x)·sinc(x/3), Duchon 1979: before normalising it is not 1
    total = KERNELS["crisp"].values(np.arange(-3, 3) + 0.5).sum()
    assert total == pytest.approx(0.994299, abs=5e-7)


@pytest.mark.parametrize("name", ["gentle", "supple"])
def test_the_cubics_sum_to_one_with_no_first_moment(name: str) -> None:
    # Mitchell & Netravali 1988
    for phase in np.linspace(0, 1, 21):
        distances = np.arange(-4, 5) + phase
        values = KERNELS[name].values(distances)
        assert values.sum() == pytest.approx(1, abs=1e-12)
        assert (values * distances).sum() == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("kernel", KERNELS.values(), ids=list(KERNELS))
def test_every_kernel_is_even_and_ends_without_a_jump(kernel: Kernel) -> None:
    x = np.linspace(0, kernel.radius, 301)
    np.testing.assert_array_equal(kernel.values(-x), kernel.values(x))
    assert abs(kernel.values(kernel.radius - 1e-9)) < 1e-5
    assert kernel.values(kernel.radius) == 0


@pytest.mark.parametrize(
    "kernel",
    [*KERNELS.values(), KERNELS["steady"].at(1.3), KERNELS["steady"].at(1.9)],
    ids=[*KERNELS, "mixed at 1.3", "mixed at 1.9"],
)
def test_straight_lines_between_the_samples_follow_the_kernel(kernel: Kernel) -> None:
    x = np.linspace(0, kernel.radius, 12345)
    samples = sampled(kernel)
    between = np.interp(x * SAMPLES_PER_UNIT, np.arange(samples.size), samples)
    assert np.abs(between - kernel.values(x)).max() < 2e-7


# Steady turns into crisp. ----------------------------------------------------------------


@pytest.mark.parametrize("reduction", [2.0, 2.5, 7.0])
def test_a_still_of_twice_the_delivery_and_more_keeps_the_full_sharpness_of_crisp(
    reduction: float,
) -> None:
    assert KERNELS["steady"].at(reduction) is KERNELS["crisp"]


@pytest.mark.parametrize("reduction", [0.3, 1.0, 1.1])
def test_near_native_scale_steady_is_itself(reduction: float) -> None:
    assert KERNELS["steady"].at(reduction) is KERNELS["steady"]


@pytest.mark.parametrize("reduction", [1.0, 1.1, 1.3, 1.55, 1.99995, 2.0])
def test_a_push_in_never_jumps_from_one_kernel_to_the_other(reduction: float) -> None:
    # A thousandth of reduction may move no weight by more than a two-thousandth of the whole.
    steady = KERNELS["steady"]
    x = np.linspace(0, 4, 801)
    before, after = (
        steady.at(r).values(x) / (2 * np.trapezoid(steady.at(r).values(x), x))
        for r in (reduction - 0.0005, reduction + 0.0005)
    )
    assert np.abs(after - before).max() < 5e-4


def test_every_mixture_has_an_area_of_one_and_lies_between_the_two() -> None:
    x = np.linspace(0, 4, 40_001)
    steady, crisp = (KERNELS[n].values(x) / _area(x, KERNELS[n]) for n in ("steady", "crisp"))
    mixed = KERNELS["steady"].at(1.55).values(x)
    assert 2 * np.trapezoid(mixed, x) == pytest.approx(1, abs=1e-6)
    np.testing.assert_allclose(mixed, (steady + crisp) / 2, atol=1e-6)


def _area(x: Floats, kernel: Kernel) -> float:
    return float(2 * np.trapezoid(kernel.values(x), x))


# Steadiness. -----------------------------------------------------------------------------


def noise_of_even_gradient(size: int = 320) -> Floats:
    """A picture of power 1/f², whose gradient is equally strong at all frequencies."""
    f = np.hypot(np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size))
    f[0, 0] = np.inf
    spectrum = np.fft.rfft2(np.random.default_rng(7).standard_normal((size, size))) / f
    noise = np.fft.irfft2(spectrum, s=(size, size))
    return 0.5 + 0.1 * noise / noise.std()


def grey_light(codes: NDArray[np.uint8]) -> Floats:
    return decode(codes, SRGB).mean(axis=2)


PICTURES = {
    "1/f²": noise_of_even_gradient,
    "china": lambda: grey_light(load_sample_image("china.jpg")),
    "flower": lambda: grey_light(load_sample_image("flower.jpg")),
    "astronaut": lambda: grey_light(skimage.data.astronaut()),
    "camera": lambda: decode(skimage.data.camera(), SRGB),
}


def gradient(picture: Floats) -> float:
    """Root mean square, weighed down towards the edges so that it is the same part all along."""
    squared = np.diff(picture, axis=0)[:, :-1] ** 2 + np.diff(picture, axis=1)[:-1] ** 2
    weight = np.hanning(squared.shape[0])[:, None] * np.hanning(squared.shape[1])
    return float(np.sqrt((squared * weight).sum() / weight.sum()))


def pan(picture: Floats, kernel: Kernel) -> Floats:
    """Sharpness in shares of the still's own, at native scale over a slow pan."""
    still = picture.astype(np.float32)[:, :, None]
    height, width = picture.shape
    frames = (
        resample(still, (x, 0, x + width, height), (width, height), kernel=kernel, depth=32)
        for x in STEPS
    )
    return np.array([gradient(frame[:, :, 0].astype(np.float64)) for frame in frames]) / gradient(
        picture
    )


def swing(sharpness: Floats) -> float:
    return float((sharpness.max() - sharpness.min()) / sharpness.mean())


@pytest.mark.parametrize("name", PICTURES)
def test_the_default_keeps_its_sharpness_over_a_slow_pan(name: str) -> None:
    sharpness = pan(PICTURES[name](), KERNELS[DEFAULT_KERNEL])
    assert swing(sharpness) <= 0.01
    assert sharpness.mean() >= 0.85


def test_crisp_is_seen_to_pulse_by_the_same_measure() -> None:
    assert swing(pan(noise_of_even_gradient(), KERNELS["crisp"])) > 0.08


def overshoot(kernel: Kernel) -> float:
    """By how much a hard one-pixel step is overshot at worst over all positions."""
    step = np.zeros((4, 64, 1), dtype=np.float32)
    step[:, 32:] = 1
    frames = (
        resample(step, (x, 0, x + 64, 4), (64, 4), kernel=kernel, depth=32)
        for x in np.arange(100) / 100
    )
    return float(max(max(frame.max() - 1, -frame.min()) for frame in frames))


def test_the_default_overshoots_a_hard_step_by_no_more_than_a_tenth() -> None:
    assert 0.05 < overshoot(KERNELS[DEFAULT_KERNEL]) <= 0.10


def test_the_default_keeps_full_sharpness_where_the_still_is_reduced_to_half() -> None:
    picture = noise_of_even_gradient()
    still = picture.astype(np.float32)[:, :, None]
    sharpness = {
        name: gradient(
            resample(still, (0, 0, 320, 320), (160, 160), kernel=KERNELS[name], depth=32)[
                :, :, 0
            ].astype(np.float64)
        )
        for name in ("steady", "crisp")
    }
    assert sharpness["steady"] >= 0.98 * sharpness["crisp"]


def test_sharpness_grows_evenly_through_a_push_in_without_a_jump() -> None:
    still = noise_of_even_gradient(640).astype(np.float32)[:, :, None]
    sharpness = []
    for reduction in np.geomspace(2.2, 1.0, 91):
        half = 80 * reduction
        box = (320 - half, 320 - half, 320 + half, 320 + half)
        frame = resample(still, box, (160, 160), kernel=KERNELS[DEFAULT_KERNEL], depth=32)
        sharpness.append(gradient(frame[:, :, 0].astype(np.float64)))
    changes = np.abs(np.diff(np.log(sharpness)))
    assert changes.max() < 0.02
