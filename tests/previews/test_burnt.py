"""What is written into a preview's frames."""

from __future__ import annotations

import colour
import numpy as np
import pytest

from cropmove.checks.finding import Finding, Level
from cropmove.geometry import Size
from cropmove.previews.burnt import findings_in, named, outlined, safe_outlines, tagged


def _grey(width: int = 960, height: int = 540) -> np.ndarray:
    return np.full((height, width, 3), 128, np.uint8)


@pytest.mark.parametrize("corner", ["top left", "top right", "bottom left", "bottom right"])
def test_words_stand_in_their_corner_and_nowhere_else(corner: str) -> None:
    frame = _grey()
    tagged(frame, "preview", corner)
    rows, columns = np.nonzero((frame != 128).any(axis=2))
    assert len(rows) > 500
    assert (rows.max() < 60) == corner.startswith("top")
    assert (rows.min() > 480) == corner.startswith("bottom")
    assert (columns.max() < 200) == corner.endswith("left")
    assert (columns.min() > 760) == corner.endswith("right")


BOX = np.array([(0, 0), (200, 0), (200, 120), (0, 120)], dtype=float)


def test_a_name_stands_on_its_box() -> None:
    frame = _grey()
    named(frame, "ferry", BOX + np.array((300, 200)))
    rows, columns = np.nonzero((frame != 128).any(axis=2))
    assert (rows.max(), columns.min()) == (199, 300)


@pytest.mark.parametrize("place", [(-50, -50), (900, 500), (400, -100), (-150, 300)])
def test_a_name_stays_in_the_frame_with_a_box_that_hangs_out(place: tuple[int, int]) -> None:
    whole, frame = _grey(), _grey()
    named(whole, "ferry", BOX + np.array((300, 200)))
    named(frame, "ferry", BOX + np.array(place))
    assert (frame != 128).any(axis=2).sum() == (whole != 128).any(axis=2).sum()


@pytest.mark.parametrize("place", [(-300, 100), (1000, 100), (300, -200), (300, 600)])
def test_what_is_outside_has_no_name(place: tuple[int, int]) -> None:
    frame = _grey()
    named(frame, "ferry", BOX + np.array(place))
    assert (frame == 128).all()


@pytest.mark.parametrize("ground", [0, 128, 255])
def test_words_can_be_read_on_any_ground(ground: int) -> None:
    """Letters against their plate: W3C WCAG 2.1, 1.4.3, 4.5 to 1."""
    frame = np.full((540, 960, 3), ground, np.uint8)
    tagged(frame, "preview", "bottom left")
    rows, columns = np.nonzero((frame != ground).any(axis=2))
    tag = frame[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1] / 255
    luminance = colour.models.eotf_sRGB(tag) @ np.array([0.2126, 0.7152, 0.0722])
    plate = luminance[0, 0]
    assert (luminance.max() + 0.05) / (plate + 0.05) >= 4.5


def test_what_lies_under_a_plate_does_not_show_through_like_words() -> None:
    """White against black through the plate: below the 3 to 1 that signs need to be seen.

    W3C WCAG 2.1, 1.4.11.
    """
    light = []
    for ground in (0, 255):
        frame = np.full((540, 960, 3), ground, np.uint8)
        tagged(frame, "preview", "top left")
        rows, columns = np.nonzero((frame != ground).any(axis=2))
        plate = frame[rows.min(), columns.min()] / 255
        light.append(float(colour.models.eotf_sRGB(plate) @ np.array([0.2126, 0.7152, 0.0722])))
    assert (max(light) + 0.05) / (min(light) + 0.05) < 3


def test_lines_of_words_do_not_lie_on_each_other() -> None:
    first, second = _grey(), _grey()
    tagged(first, "caution  pace", "top right", 0)
    tagged(second, "caution  pace", "top right", 1)
    both = (first != 128).any(axis=2) & (second != 128).any(axis=2)
    assert not both.any()


def test_the_safe_areas_are_those_of_the_standards() -> None:
    """1785.6 x 1004.4 and 1728 x 972 on 1920 x 1080: SMPTE ST 2046-1:2009, EBU R 95, computed."""
    (action, _), (title, dash) = safe_outlines(Size(1920, 1080), 93, 90)
    assert np.ptp(action, axis=0) == pytest.approx([1785.6, 1004.4])
    assert np.ptp(title, axis=0) == pytest.approx([1728, 972])
    assert action.min(axis=0) == pytest.approx([67.2, 37.8])
    assert dash


@pytest.mark.parametrize("ground", [0, 128, 255])
def test_outlines_show_on_any_ground(ground: int) -> None:
    frame = np.full((108, 192, 3), ground, np.uint8)
    shown = outlined(frame, safe_outlines(Size(192, 108), 93, 90))
    assert np.abs(shown.astype(int) - ground).max() > 90
    assert (frame == ground).all()


def test_findings_are_told_in_their_frames_only() -> None:
    found = [
        Finding(id="pace", level=Level.CAUTION, frames=((3, 5),), what="w", remedy="r"),
        Finding(id="whole", level=Level.NOTE, what="w", remedy="r"),
    ]
    assert findings_in(found, 4) == ["caution  pace"]
    assert findings_in(found, 6) == []
