"""Pictures with a known formula, and what a frame of them must look like."""

from __future__ import annotations

from pathlib import Path

import imagecodecs
import numpy as np

from cropmove.picture.kernels import Kernel
from cropmove.picture.light import SRGB, decode, encode

PERIODS = (61.0, 47.0, 83.0)
"""Still pixels from crest to crest of the waves in red (across), green (down), blue (both)."""
MIDDLE, HEIGHT = 0.4, 0.3


def phases(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The waves' phases at places of the still: (..., 3)."""
    return 2 * np.pi * np.stack([x / PERIODS[0], y / PERIODS[1], (x + y) / PERIODS[2]], axis=-1)


def waves(width: int, height: int) -> np.ndarray:
    """A still of waves in linear light, 16 bit sRGB."""
    y, x = np.mgrid[:height, :width] + 0.5
    light = MIDDLE + HEIGHT * np.sin(phases(x, y))
    return np.round(encode(light, SRGB) * 65535).astype(np.uint16)


def write_png(path: Path, pixels: np.ndarray) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(imagecodecs.png_encode(pixels))


def read_png(path: Path) -> np.ndarray:
    return imagecodecs.png_decode(path.read_bytes())


def summed(still: np.ndarray, box: tuple[float, ...], size: tuple[int, int], kernel: Kernel):
    """The frame as a float64 sum of the kernel, written independently of the engine: codes 0-1."""
    full = np.iinfo(still.dtype).max
    light = decode(still / full, SRGB)
    left, top, right, bottom = box
    down = _weights(top, bottom, size[1], still.shape[0], kernel)
    across = _weights(left, right, size[0], still.shape[1], kernel)
    frame = np.einsum("ij,jkc,lk->ilc", down, light, across, optimize=True)
    return encode(np.clip(frame, 0, 1), SRGB)


def _weights(start: float, stop: float, count: int, available: int, kernel: Kernel) -> np.ndarray:
    step = (stop - start) / count
    unit, kernel = kernel.stretch(step), kernel.at(step)
    centres = start + (np.arange(count) + 0.5) * step
    reach = int(np.ceil(kernel.radius * unit)) + 2
    weights = np.zeros((count, available))
    for row, centre in zip(weights, centres, strict=True):
        pixels = np.arange(int(centre) - reach, int(centre) + reach + 1)
        values = kernel.values((pixels + 0.5 - centre) / unit)
        np.add.at(row, np.clip(pixels, 0, available - 1), values / values.sum())
    return weights
