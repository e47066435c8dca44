"""The default kernel is steady on pictures that had no part in its design.

The photographs are those of scikit-image that tests/benchmarks/design_kernel.py does not read; the
bounds are the ones the kernel was designed for: common practice, no source.
"""

from __future__ import annotations

import numpy as np
import pytest
import skimage.data
from numpy.typing import NDArray

from cropmove.picture.kernels import DEFAULT_KERNEL, KERNELS, Kernel
from cropmove.picture.light import SRGB, decode
from cropmove.picture.resample import resample

Floats = NDArray[np.float64]
STEPS = np.arange(20) * 0.05
WAYS = {"rows": (1, 0), "columns": (0, 1), "diagonal": (1, 1)}


def grain_of_even_gradient(seed: int) -> Floats:
    """A picture of power 1/f², whose gradient is equally strong at all frequencies."""
    f = np.hypot(np.fft.fftfreq(384)[:, None], np.fft.rfftfreq(384))
    f[0, 0] = np.inf
    spectrum = np.fft.rfft2(np.random.default_rng(seed).standard_normal((384, 384))) / f
    grain = np.fft.irfft2(spectrum, s=(384, 384))
    return np.asarray(0.5 + 0.1 * grain / grain.std())


def light(codes: NDArray[np.uint8]) -> Floats:
    return decode(codes, SRGB).reshape(*codes.shape[:2], -1).mean(axis=2)


PICTURES = {
    "1/f²": lambda: grain_of_even_gradient(11),
    "coffee": lambda: light(skimage.data.coffee()),
    "rocket": lambda: light(skimage.data.rocket()),
    "motorcycle": lambda: light(skimage.data.stereo_motorcycle()[0]),
}


def gradient(picture: Floats, x: float = 0, y: float = 0) -> float:
    """Root mean square, of the same part of the picture after it has moved by (x, y)."""
    squared = np.diff(picture, axis=0)[:, :-1] ** 2 + np.diff(picture, axis=1)[:-1] ** 2
    down, across = (
        np.sin(np.pi * np.clip((np.arange(n) + moved) / (n - 1), 0, 1)) ** 2
        for n, moved in zip(squared.shape, (y, x), strict=True)
    )
    weight = down[:, None] * across
    return float(np.sqrt((squared * weight).sum() / weight.sum()))


def pan(picture: Floats, kernel: Kernel, way: tuple[int, int]) -> Floats:
    """Sharpness at native scale in shares of the still's own."""
    still, (height, width) = picture.astype(np.float32)[:, :, None], picture.shape

    def sharpness(x: float, y: float) -> float:
        box = (x, y, x + width, y + height)
        frame = resample(still, box, (width, height), kernel=kernel, depth=32)
        return gradient(frame[:, :, 0].astype(np.float64), x, y)

    moved = [sharpness(step * way[0], step * way[1]) for step in STEPS]
    return np.array(moved) / gradient(picture)


@pytest.mark.parametrize("way", WAYS.values(), ids=list(WAYS))
@pytest.mark.parametrize("name", PICTURES)
def test_the_default_neither_pulses_nor_softens_much_on_pictures_it_never_met(
    name: str, way: tuple[int, int]
) -> None:
    sharpness = pan(PICTURES[name](), KERNELS[DEFAULT_KERNEL], way)
    assert np.ptp(sharpness) / sharpness.mean() <= 0.01
    assert sharpness.mean() >= 0.85


@pytest.mark.parametrize("name", ["1/f²", "rocket"])
def test_the_other_kernels_pulse_on_the_same_pictures(name: str) -> None:
    picture = PICTURES[name]()
    for kernel in KERNELS.values():
        sharpness = pan(picture, kernel, (1, 0))
        assert kernel.name == DEFAULT_KERNEL or np.ptp(sharpness) / sharpness.mean() > 0.05


@pytest.mark.parametrize("down", [False, True])
@pytest.mark.parametrize("rising", [False, True])
def test_the_default_overshoots_a_hard_step_by_no_more_than_a_tenth_either_way(
    down: bool, rising: bool
) -> None:
    step = np.tile((np.arange(96) >= 48) == rising, (96, 1)).astype(np.float32)
    still = np.ascontiguousarray(step.T if down else step)[:, :, None]
    worst = 0.0
    for moved in np.arange(100) / 100:
        box = (moved, moved, moved + 96, moved + 96)
        frame = resample(still, box, (96, 96), kernel=KERNELS[DEFAULT_KERNEL], depth=32)
        worst = max(worst, float(frame.max()) - 1, -float(frame.min()))
    assert 0.05 < worst <= 0.10
