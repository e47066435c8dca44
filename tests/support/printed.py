"""Pages as a printer would put them on paper, to be measured."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

DPI = 600
PER_MM = DPI / 25.4

Print = NDArray[np.float64]


def printed(pdf: bytes) -> list[Print]:
    """Every page as darkness, 0 to 1, with 600 dots an inch."""
    document = pypdfium2.PdfDocument(pdf)
    pages = [page.render(scale=DPI / 72, grayscale=True).to_numpy() for page in document]
    document.close()
    return [1 - np.squeeze(page).astype(np.float64) / 255 for page in pages]


def darkness_along(page: Print, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """The darkness at points in millimetres from the page's top-left corner."""
    x, y = (points * PER_MM - 0.5).T
    return np.asarray(map_coordinates(page, [y, x], order=1))


def strokes(dark: NDArray[np.float64], at: NDArray[np.float64]) -> list[float]:
    """Where a line is crossed by strokes: the middle of each run of darkness."""
    inside = dark > 0.15
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    found = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        part = slice(max(begin - 2, 0), end + 2)
        found.append(float(np.average(at[part], weights=dark[part])))
    return found


def across(page: Print, y: float, left: float, right: float) -> list[float]:
    """Where a level line at y, from left to right, is crossed by strokes; millimetres."""
    at = np.arange(left, right, 0.01)
    points = np.stack([at, np.full_like(at, y)], axis=1)
    return strokes(darkness_along(page, points), at)


def nearest(values: Sequence[float], wanted: float) -> float:
    """The value that is nearest to the one wanted."""
    return min(values, key=lambda value: abs(value - wanted))
