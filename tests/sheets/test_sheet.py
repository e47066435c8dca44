"""One drawing, three files: their sizes, their fonts, their sameness."""

from __future__ import annotations

import re
import subprocess
import sys
from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from cropmove.rig.measures import MM_PER_INCH
from cropmove.sheets.sheet import POINT, Pen, Sheet, Type, text_width

INK = "#17242c"


def _ruled() -> Sheet:
    sheet = Sheet(297, 210, title="A rule")
    sheet.line([(50, 100), (150, 100)], Pen(colour=INK, width=0.5))
    sheet.text((50, 90), "100 mm, äöü × °", Type(size=9, colour=INK))
    return sheet


def test_a_pdf_of_a4_has_the_size_of_a4() -> None:
    """595.2756 x 841.8898 units: ISO 216, at 1/72 inch a unit (ISO 32000-1, 8.3.2.3)."""
    page = re.search(rb"/MediaBox \[([^\]]+)\]", _ruled().pdf())
    assert page
    box = [float(side) for side in page[1].split()]
    assert box == pytest.approx([0, 0, 841.8898, 595.2756], abs=1e-3)


def test_a_hundred_millimetres_are_a_hundred_millimetres_in_the_pdf() -> None:
    """283.4646 units (ISO 32000-1)."""
    import zlib

    pdf = _ruled().pdf()
    drawn = b""
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, flags=re.S):
        try:
            drawn += zlib.decompress(stream)
        except zlib.error:
            continue
    ends = re.search(rb"([\d.]+) ([\d.]+) m\s+([\d.]+) ([\d.]+) l\s+S", drawn)
    assert ends
    x0, y0, x1, y1 = map(float, ends.groups())
    assert (x1 - x0, y1 - y0) == pytest.approx((283.4646, 0), abs=1e-3)


def test_a_pdf_embeds_its_fonts() -> None:
    pdf = _ruled().pdf()
    fonts = len(re.findall(rb"/Type /FontDescriptor", pdf))
    assert fonts >= 1
    assert len(re.findall(rb"/FontFile2", pdf)) == fonts


def test_an_svg_needs_no_font_and_has_its_size_on_paper() -> None:
    svg = _ruled().svg().decode()
    assert "<text" not in svg
    size = re.search(r'width="([\d.]+)pt" height="([\d.]+)pt"', svg)
    assert size
    assert [float(side) for side in size.groups()] == pytest.approx([841.8898, 595.2756], abs=1e-3)


def test_a_png_knows_how_large_it_prints() -> None:
    picture = Image.open(BytesIO(_ruled().png(dpi=200)))
    assert picture.size == (int(297 / MM_PER_INCH * 200), int(210 / MM_PER_INCH * 200))
    assert picture.info["dpi"][0] == pytest.approx(200, abs=0.1)


def test_a_line_lies_where_it_was_put() -> None:
    pixels = np.asarray(Image.open(BytesIO(_ruled().png(dpi=254))).convert("L"))  # 10 a mm
    rows, columns = np.nonzero(pixels[960:1040] < 128)
    assert (rows.mean() + 960, columns.min(), columns.max()) == pytest.approx(
        (999.5, 500, 1499), abs=1
    )


def test_paper_may_stay_clear() -> None:
    picture = Image.open(BytesIO(_ruled().png(dpi=100, clear=True)))
    alpha = np.asarray(picture)[..., 3]
    assert alpha[0, 0] == 0
    assert alpha.max() == 255


@pytest.mark.parametrize(("width", "height"), [(2048, 858), (1998, 1080), (4096, 1716), (101, 57)])
def test_an_exact_number_of_pixels_is_not_cut_down_by_one(width: int, height: int) -> None:
    sheet = Sheet(254.0, 254.0 * height / width, title="exact")
    picture = Image.open(BytesIO(sheet.png(width * MM_PER_INCH / 254.0)))
    assert picture.size == (width, height)


MAKE = """
from hashlib import sha256
from cropmove.sheets.sheet import *
sheet = Sheet(100, 60, title="the same")
sheet.line([(5, 5), (95, 55)], Pen(colour="#17242c", width=0.3, dash=(2, 1), halo=0.3))
sheet.box((10, 10, 40, 30), "#c3cbcf", hatch=1.1)
sheet.text((20, 40), "the same", Type(size=9, colour="#17242c"))
print([sha256(made).hexdigest() for made in (sheet.png(), sheet.svg(), sheet.pdf())])
"""


def test_every_file_comes_out_the_same_in_another_process() -> None:
    said = {
        subprocess.run(
            [sys.executable, "-c", MAKE], capture_output=True, text=True, check=True
        ).stdout
        for _ in range(2)
    }
    assert len(said) == 1


def test_words_are_as_wide_as_pillow_measures_them() -> None:
    """Against Pillow's own reading of the same font, unhinted."""
    import matplotlib
    from PIL import ImageFont

    path = f"{matplotlib.get_data_path()}/fonts/ttf/DejaVuSans.ttf"
    font = ImageFont.truetype(path, 1000, layout_engine=ImageFont.Layout.BASIC)
    text = "closest framing allowed, 1920 px"
    expected = font.getlength(text) / 1000 * 8 * POINT
    assert text_width(text, Type(size=8, colour=INK)) == pytest.approx(expected, rel=0.01)


def test_a_hatched_box_stays_inside_itself() -> None:
    sheet = Sheet(40, 40, title="hatch")
    sheet.box((10, 10, 30, 20), INK, hatch=1.0)
    pixels = np.asarray(Image.open(BytesIO(sheet.png(dpi=254))).convert("L"))
    rows, columns = np.nonzero(pixels < 200)
    assert 99 <= rows.min() < rows.max() <= 200
    assert 99 <= columns.min() < columns.max() <= 300


def test_dollars_are_words_not_formulas(drawn: object) -> None:
    sheet = Sheet(60, 20, title="dollars")
    sheet.text((5, 10), "$a_b$", Type(size=9, colour=INK))
    wide = np.asarray(Image.open(BytesIO(sheet.png(dpi=254))).convert("L"))
    columns = np.nonzero(wide < 128)[1]
    assert np.ptp(columns) / 10 == pytest.approx(
        text_width("$a_b$", Type(size=9, colour=INK)), abs=0.8
    )


def test_letters_that_the_font_lacks_become_boxes_without_a_warning() -> None:
    sheet = Sheet(60, 20, title="letters")
    sheet.text((5, 10), "港 \U0001f6a2 quay\nside", Type(size=9, colour=INK))
    assert sheet.pdf()[:4] == b"%PDF"
    wide, boxes = (text_width(t, Type(size=9, colour=INK)) for t in ("港", "□"))
    assert wide == boxes


def test_a_line_of_very_many_points_is_drawn_as_fine_as_it_is_seen() -> None:
    """It crosses 10,000 hundredths of a millimetre, and goes down by 3,000."""
    sheet = Sheet(120, 50, title="A line")
    sheet.line(np.linspace((10, 10), (110, 40), 500_000), Pen(colour=INK, width=0.3))
    ((path,),) = [[line.get_xydata() for line in sheet._axes.lines]]
    assert len(path) <= 13_002
    assert path[[0, -1]].tolist() == [[10, 10], [110, 40]]


def test_paper_of_metres_is_a_picture_that_other_programs_open() -> None:
    """Pillow warns from 89,478,485 pixels on (Image.MAX_IMAGE_PIXELS)."""
    picture = Image.open(BytesIO(Sheet(5028, 2850, title="A wall").png()))
    assert picture.width * picture.height <= Image.MAX_IMAGE_PIXELS
    assert picture.width / picture.info["dpi"][0] * MM_PER_INCH == pytest.approx(5028, rel=1e-3)
