"""Words on a drawing that keep out of each other's way."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

from cropmove.sheets.sheet import POINT, Sheet, Type, text_width

__all__ = ["Labels"]

Box = tuple[float, float, float, float]
Square = tuple[int, int]

_PAD = 0.9
_LINE = 1.45
"""A tag's height in sizes of its type."""
_SQUARE = 4.0
"""Millimetres: what is taken is kept by squares of the paper, so that few are asked of many."""


@dataclass(slots=True)
class Labels:
    """Tags of white paper with words on them; where there is no room left, a tag is left out.

    Tags find their places as they are put, and lie on everything else: `draw` draws them, last.

    Parameters
    ----------
    sheet : Sheet
    within : (left, top, right, bottom)
        Where they may stand, in millimetres.
    """

    sheet: Sheet
    within: Box
    _taken: dict[Square, list[Box]] = field(default_factory=lambda: defaultdict(list))
    _tags: list[tuple[Box, str, Type, bool]] = field(default_factory=list)

    def put(
        self,
        at: tuple[float, float],
        text: str,
        type: Type,
        *,
        sides: Sequence[str] = ("right below", "right above", "left below", "left above"),
        must: bool = False,
        bare: bool = False,
    ) -> bool:
        """Put a tag at a point, on the first side of it that is free.

        Parameters
        ----------
        at : (x, y)
        text : str
        type : Type
        sides : sequence of str
            "right", "left" or "mid", then "below", "above" or "level".
        must : bool
            Whether it is put on the first side even where that is taken.
        bare : bool
            Whether it has no paper under it.

        Returns
        -------
        bool
            Whether it was put.
        """
        boxes = [(side, self._box(at, text, type, side)) for side in sides]
        free = [(side, box) for side, box in boxes if self._is_free(box)]
        if not free and not must:
            return False
        _, box = (free or boxes)[0]
        self.keep_off(box)
        self._tags.append((box, text, type, bare))
        return True

    def draw(self) -> None:
        """Draw the tags that were put."""
        for box, text, type, bare in self._tags:
            if not bare:
                self.sheet.box(box, "#ffffff", alpha=0.88)
            middle = (box[1] + box[3]) / 2
            self.sheet.text((box[0] + _PAD, middle + type.size * POINT * 0.36), text, type)
        self._tags.clear()

    def keep_off(self, box: Box) -> None:
        """Let no tag stand here from now on."""
        for square in _squares(box):
            self._taken[square].append(box)

    def _box(self, at: tuple[float, float], text: str, type: Type, side: str) -> Box:
        across, down = side.split()
        width = text_width(text, type) + 2 * _PAD
        height = type.size * POINT * _LINE
        left = at[0] - {"right": 0.0, "left": width, "mid": width / 2}[across]
        top = at[1] - {"below": 0.0, "above": height, "level": height / 2}[down]
        return left, top, left + width, top + height

    def _is_free(self, box: Box) -> bool:
        left, top, right, bottom = self.within
        inside = left <= box[0] and top <= box[1] and box[2] <= right and box[3] <= bottom
        near = (other for square in _squares(box) for other in self._taken.get(square, ()))
        return inside and not any(_overlap(box, other) for other in near)


def _squares(box: Box) -> Iterator[Square]:
    """The squares of the paper that a box lies on."""
    left, top, right, bottom = (int(side // _SQUARE) for side in box)
    return product(range(left, right + 1), range(top, bottom + 1))


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
