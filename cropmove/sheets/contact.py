"""The contact sheet: chosen frames as they will be delivered, small and numbered."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from cropmove.move.course import Course
from cropmove.rig.measures import MM_PER_INCH
from cropmove.sheets import style
from cropmove.sheets.sheet import POINT, Pen, Sheet, text_width
from cropmove.sheets.style import FAINT, MARGIN, Box
from cropmove.shot import Shot

__all__ = ["MOST", "chosen_frames", "contact_sheet", "picture_width"]

MOST = 12
"""Frames on a sheet where nobody chooses."""

_GAP = 6.0
_CAPTION = 8.5
_DPI = 200.0


def chosen_frames(shot: Shot, course: Course, most: int = MOST) -> tuple[int, ...]:
    """The frames to show where nobody chooses: the ends, the keys, and others evenly between.

    Examples
    --------
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> from cropmove.shot import Delivery
    >>> wide, tight = Framing(x=3000, y=2000, width=6000), Framing(x=3000, y=2000, width=3000)
    >>> keys = (Key(frame=1, framing=wide), Key(frame=49, framing=tight))
    >>> shot = Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=keys)
    >>> chosen_frames(shot, shot.course(), most=5)
    (1, 13, 25, 37, 49)
    """
    last = len(course)
    frames = [int(frame) for frame in np.linspace(1, last, min(most, last)).round()]
    for key in shot.keys:
        inner = [place for place, frame in enumerate(frames) if 1 < frame < last]
        if 1 < key.frame < last and inner:
            # The nearest makes room for it; a key that is there already stays.
            frames[min(inner, key=lambda place: abs(frames[place] - key.frame))] = key.frame
    return tuple(sorted(set(frames)))


def contact_sheet(
    shot: Shot,
    course: Course,
    frames: Sequence[int],
    picture_of: Callable[[int, int], NDArray[np.uint8] | None],
    paper: tuple[float, float],
) -> Sheet:
    """The sheet.

    Parameters
    ----------
    shot : Shot
    course : Course
    frames : sequence of int
        Which, from 1.
    picture_of : callable
        ``picture_of(frame, width)``: the frame, so many pixels wide; None where it has no still.
    paper : (width, height)
        Millimetres.
    """
    sheet = style.begin(shot, "contact sheet", paper)
    room = (MARGIN, style.HEAD, paper[0] - MARGIN, paper[1] - MARGIN)
    columns, width = _grid(len(frames), course.delivery.shape, room)
    height = width * course.delivery.shape
    keys = {key.frame for key in shot.keys}
    for place, frame in enumerate(frames):
        row, column = divmod(place, columns)
        left = room[0] + column * (width + _GAP)
        top = room[1] + row * (height + _CAPTION + _GAP * 0.6)
        box = (left, top, left + width, top + height)
        _one(sheet, box, picture_of(frame, picture_width(width)))
        name = _name(frame, len(course), keys)
        _caption(sheet, box, shot, course, frame, name)
    return sheet


def picture_width(width: float) -> int:
    """Pixels for a picture so many millimetres wide."""
    return max(16, round(width / MM_PER_INCH * _DPI))


def _grid(count: int, shape: float, room: Box) -> tuple[int, float]:
    """How many stand beside each other, and how wide each may then be."""
    across, down = room[2] - room[0], room[3] - room[1]

    def width(columns: int) -> float:
        rows = -(-count // columns)
        by_height = (down / rows - _CAPTION - _GAP * 0.6) / shape
        return min((across - _GAP * (columns - 1)) / columns, by_height)

    columns = max(range(1, count + 1), key=width)
    return columns, width(columns)


def _one(sheet: Sheet, box: Box, picture: NDArray[np.uint8] | None) -> None:
    left, top, right, bottom = box
    if picture is not None:
        sheet.picture(picture, box)
        return
    outline = [(left, top), (right, top), (right, bottom), (left, bottom)]
    sheet.line(outline, Pen(colour=FAINT, width=0.2, dash=(1.2, 0.8)), closed=True)
    middle = ((left + right) / 2, (top + bottom) / 2 + 1)
    sheet.text(middle, "not photographed yet", style.QUIET, align="centre")


def _name(frame: int, last: int, keys: set[int]) -> str:
    if frame == 1 and last > 1:
        return "first"
    if frame == last and last > 1:
        return "last"
    return "key" if frame in keys else ""


def _caption(sheet: Sheet, box: Box, shot: Shot, course: Course, frame: int, name: str) -> None:
    number = style.STRONG.but(size=9.0)
    y = box[3] + number.size * POINT * 0.75 + 1.6
    sheet.text((box[0], y), str(frame), number)
    begin = box[0] + text_width(str(frame), number) + 1.6
    if name and begin + text_width(name, style.QUIET) <= box[2]:
        sheet.text((begin, y), name, style.QUIET)
        begin += text_width(name, style.QUIET) + 1.6
    parts = [f"{course.seconds[frame - 1]:.2f} s"]
    if not shot.one_still and len(shot.stills):
        parts.append(f"still {course.still[frame - 1]}")
    parts.append(f"scale {course.scale[frame - 1]:.2f}")
    # Under a narrow picture the last of these have no room.
    while parts and begin + text_width(" · ".join(parts), style.SMALL) > box[2]:
        parts.pop()
    sheet.text((box[2], y), " · ".join(parts), style.SMALL, align="right")
