"""What is written into a preview's frames: that it is one, the frame's number, areas, findings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.finding import Finding, Level
from cropmove.geometry import Floats, Size, corner_offsets

__all__ = ["PLAIN", "Marks", "findings_in", "named", "outlined", "safe_outlines", "tagged"]

Frame = NDArray[np.uint8]

_PLATE = (16, 22, 26, 205)
_INK = (255, 255, 255, 235)
_LINES = {Level.FAULT: "FAULT", Level.CAUTION: "caution", Level.NOTE: "note"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What to write into the frames, besides that it is a preview.

    Parameters
    ----------
    number : bool
        The frame's number and time.
    safe : bool
        The action-safe and title-safe areas.
    findings : bool
        What the checks find in the frame.
    subject : bool
        Boxes where the subjects are; they stand in for them where nothing is photographed yet.
    """

    number: bool = False
    safe: bool = False
    findings: bool = False
    subject: bool = False


PLAIN = Marks()
"""Nothing but that it is a preview."""


@lru_cache(maxsize=512)
def _tag(text: str, size: int) -> Frame:
    """Words on a dark plate: (h, w, 4)."""
    from PIL import Image, ImageDraw, ImageFont

    font = ImageFont.load_default(size)
    left, _, right, _ = font.getbbox(text)
    pad = round(size * 0.45)
    box = (round(right - left) + 2 * pad, round(size * 1.2) + pad)
    plate = Image.new("RGBA", box, _PLATE)
    pen = ImageDraw.Draw(plate)
    pen.text((pad - left, box[1] / 2), text, font=font, fill=_INK, anchor="lm")
    return np.asarray(plate)


def tagged(frame: Frame, text: str, corner: str, line: int = 0) -> None:
    """Write words into a corner of a frame: "top left", "bottom right" and so on.

    Parameters
    ----------
    frame : (h, w, 3) array
        Changed in place.
    text : str
    corner : str
    line : int
        How manieth line from the corner, from 0.
    """
    height, width = frame.shape[:2]
    size = _size(width)
    tag = _tag(text, size)
    edge = round(size * 0.7)
    down = edge + line * (tag.shape[0] + round(size * 0.25))
    top = down if corner.startswith("top") else height - down - tag.shape[0]
    left = edge if corner.endswith("left") else width - edge - tag.shape[1]
    _lay(frame, tag, left, top)


def named(frame: Frame, text: str, points: Floats) -> None:
    """Write words above the left end of what stands in a frame, or as near as they fit.

    Parameters
    ----------
    frame : (h, w, 3) array
        Changed in place.
    text : str
    points : (n, 2) array
        Its outline in pixels of the frame; nothing is written where it is all outside.
    """
    height, width = frame.shape[:2]
    low, high = points.min(axis=0), points.max(axis=0)
    if (high < 0).any() or low[0] > width or low[1] > height:
        return
    tag = _tag(text, _size(width))
    left, top = round(float(low[0])), round(float(low[1])) - tag.shape[0]
    _lay(frame, tag, min(left, width - tag.shape[1]), min(top, height - tag.shape[0]))


def _size(width: int) -> int:
    return max(9, round(width / 64))


def _lay(frame: Frame, tag: NDArray[np.uint8], left: int, top: int) -> None:
    top, left = max(0, top), max(0, left)
    under = frame[top : top + tag.shape[0], left : left + tag.shape[1]]
    over = tag[: under.shape[0], : under.shape[1]].astype(np.uint16)
    alpha = over[..., 3:]
    under[...] = (under * (255 - alpha) + over[..., :3] * alpha) // 255


def outlined(
    frame: Frame, polygons: Sequence[tuple[Floats, tuple[int, ...]]], *, strong: bool = False
) -> Frame:
    """The frame with outlines, light on dark so that they show on anything.

    Parameters
    ----------
    frame : (h, w, 3) array
    polygons : sequence of (points, dash)
        Points (n, 2) in pixels of the frame, and pixels of line and gap; () for unbroken.
    strong : bool
        Whether the lines are thick.
    """
    from PIL import Image, ImageDraw

    picture = Image.fromarray(frame)
    pen = ImageDraw.Draw(picture, "RGBA")
    width = 2 if strong else 1
    for points, dash in polygons:
        ring = np.concatenate([points, points[:1]])
        for a, b in pairwise(ring):
            for start, end in _dashes(a, b, dash):
                line = [tuple(start), tuple(end)]
                pen.line(line, fill=(16, 22, 26, 170), width=width + 2)
                pen.line(line, fill=(255, 255, 255, 235), width=width)
    return np.array(picture)


def _dashes(a: Floats, b: Floats, dash: tuple[int, ...]) -> list[tuple[Floats, Floats]]:
    length = float(np.hypot(*(b - a)))
    if not dash or not length:
        return [(a, b)]
    on, off = dash
    along = (b - a) / length
    starts = np.arange(0, length, on + off)
    return [(a + along * s, a + along * min(s + on, length)) for s in starts]


def safe_outlines(size: Size, action: float, title: float) -> list[tuple[Floats, tuple[int, ...]]]:
    """The safe areas in a frame of that size, from percentages of it."""
    middle = np.array([size.width, size.height]) / 2
    corners = corner_offsets(size.shape) * size.width
    return [(middle + corners * action / 100, ()), (middle + corners * title / 100, (8, 6))]


def findings_in(findings: Sequence[Finding], frame: int) -> list[str]:
    """What the checks find in a frame, the gravest first."""
    held = [f for f in findings if any(first <= frame <= last for first, last in f.frames)]
    return [f"{_LINES[finding.level]}  {finding.id}" for finding in held]
