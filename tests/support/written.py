"""Where words stand on a sheet and on a page, as the files that are printed have them."""

from __future__ import annotations

import ctypes
from itertools import combinations

import pypdfium2
import pypdfium2.raw as pdfium

from cropmove.sheets.sheet import Sheet

Box = tuple[float, float, float, float]
"""Left, top, right, bottom, in millimetres."""

_POINT = 25.4 / 72
_TOUCH = 0.15
"""Millimetres by which the boxes of words that only touch may lie on one another."""


def words_on(drawn: Sheet | bytes, page: int = 0) -> list[tuple[str, Box]]:
    """Words on a sheet, or on a page of a PDF, and the boxes that another library finds them in."""
    document = pypdfium2.PdfDocument(drawn if isinstance(drawn, bytes) else drawn.pdf())
    read = document[page]
    height, text = read.get_height(), read.get_textpage()
    found = []
    for words in read.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT], max_depth=3):
        left, bottom, right, top = (side * _POINT for side in words.get_bounds())
        box = (left, height * _POINT - top, right, height * _POINT - bottom)
        found.append((_said(words, text), box))
    return [(said, box) for said, box in found if said]


def _said(words: pypdfium2.PdfObject, text: pypdfium2.PdfTextPage) -> str:
    size = pdfium.FPDFTextObj_GetText(words.raw, text.raw, None, 0)
    buffer = ctypes.create_string_buffer(max(size, 2))
    into = ctypes.cast(buffer, ctypes.POINTER(ctypes.c_ushort))
    pdfium.FPDFTextObj_GetText(words.raw, text.raw, into, size)
    return buffer.raw[:size].decode("utf-16le").strip("\0 ")


def overlapping(drawn: Sheet | bytes, page: int = 0) -> list[tuple[str, str]]:
    """Words that lie on one another."""
    return [
        (one, other)
        for (one, a), (other, b) in combinations(words_on(drawn, page), 2)
        if min(a[2], b[2]) - max(a[0], b[0]) > _TOUCH and min(a[3], b[3]) - max(a[1], b[1]) > _TOUCH
    ]
