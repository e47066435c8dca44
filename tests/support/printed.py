"""Pages as a printer would put them on paper, to be measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

DPI = 600


@dataclass(frozen=True)
class Print:
    """A page as darkness, 0 to 1, and how many dots it has to a millimetre, across and down.

    A renderer makes whole dots: a page of 6600.0001 gets 6601, and they lie a little closer.
    """

    dark: NDArray[np.float64]
    per_mm: tuple[float, float]


def printed(pdf: bytes) -> list[Print]:
    """Every page with about 600 dots an inch."""
    document = pypdfium2.PdfDocument(pdf)
    prints = []
    for page in document:
        dots = np.squeeze(page.render(scale=DPI / 72, grayscale=True).to_numpy())
        across, down = (points * 25.4 / 72 for points in page.get_size())
        per_mm = (dots.shape[1] / across, dots.shape[0] / down)
        prints.append(Print(1 - dots.astype(np.float64) / 255, per_mm))
    document.close()
    return prints


def darkness_along(page: Print, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """The darkness at points in millimetres from the page's top-left corner."""
    x, y = (points * page.per_mm - 0.5).T
    return np.asarray(map_coordinates(page.dark, [y, x], order=1))


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
