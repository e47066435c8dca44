"""Stills with a dot on them, at a place that is known to the pixel."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

Spot = Callable[..., Path]


def spotted(size: tuple[int, int], at: tuple[float, float], radius: float) -> np.ndarray:
    """A dark ground with a soft round dot: (h, w, 3)."""
    width, height = size
    x, y = np.arange(width) + 0.5 - at[0], np.arange(height) + 0.5 - at[1]
    r2 = (x[None, :] ** 2 + y[:, None] ** 2) / radius**2
    grey = 20 + 220 * np.exp(-np.minimum(r2, 50))
    return np.repeat(grey.astype(np.uint8)[..., None], 3, axis=2)


@pytest.fixture
def spot(tmp_path: Path) -> Spot:
    """Makes a JPEG with a dot: its path."""

    def make(
        name: str, size: tuple[int, int], at: tuple[float, float], radius: float = 30.0,
        orientation: int | None = None,
    ) -> Path:  # fmt: skip
        path = tmp_path / name
        exif = Image.Exif()
        if orientation:
            exif[274] = orientation
        Image.fromarray(spotted(size, at, radius)).save(path, quality=92, exif=exif)
        return path

    return make


def centre_of(frame: np.ndarray, floor: float = 60.0) -> tuple[float, float]:
    """Where a bright dot is: the middle of its light above a floor, in pixels."""
    light = np.clip(frame.astype(float).max(axis=2) - floor, 0, None)
    total = light.sum()
    assert total > 0, "there is no dot"
    rows, columns = np.indices(light.shape) + 0.5
    return float((columns * light).sum() / total), float((rows * light).sum() / total)


@pytest.fixture
def found() -> Callable[[np.ndarray], tuple[float, float]]:
    """Finds the dot in a frame."""
    return centre_of
