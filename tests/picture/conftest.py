"""The plain truth that the compiled loops are held to: every sum written out in float64."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from cropmove.picture.kernels import Kernel
from cropmove.picture.light import SRGB, Transfer, decode, encode

Floats = NDArray[np.float64]
Summed = Callable[..., Floats]


def weights_of(kernel: Kernel, start: float, stop: float, count: int, available: int) -> Floats:
    """One row of weights for each frame pixel, a column for each still pixel."""
    step = (stop - start) / count
    unit, kernel = kernel.stretch(step), kernel.at(step)
    centres = start + (np.arange(count) + 0.5) * step
    reach = kernel.radius * unit
    pixels = np.arange(int(np.floor(start - reach)) - 1, int(np.ceil(stop + reach)) + 1)
    values = kernel.values((pixels + 0.5 - centres[:, None]) / unit)
    weights = np.zeros((count, available))
    for place, column in zip(np.clip(pixels, 0, available - 1), values.T, strict=True):
        weights[:, place] += column
    return weights / weights.sum(axis=1, keepdims=True)


@pytest.fixture
def summed() -> Summed:
    """Linear light of a frame as a float64 sum, without alpha."""

    def light(
        still: NDArray[Any],
        box: tuple[float, float, float, float],
        size: tuple[int, int],
        kernel: Kernel,
        transfer: Transfer = SRGB,
    ) -> Floats:
        linear = decode(still, transfer) if still.dtype.kind == "u" else still.astype(np.float64)
        across = weights_of(kernel, box[0], box[2], size[0], still.shape[1])
        down = weights_of(kernel, box[1], box[3], size[1], still.shape[0])
        return np.einsum("xw,yh,hwc->yxc", across, down, linear, optimize=True)

    return light


@pytest.fixture
def coded() -> Callable[..., Floats]:
    """Unrounded code values of linear light."""

    def codes(light: Floats, depth: int, transfer: Transfer = SRGB) -> Floats:
        return ((1 << depth) - 1) * encode(np.clip(light, 0, 1), transfer)

    return codes
