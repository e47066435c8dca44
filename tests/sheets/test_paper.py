"""Paper that is true to scale, as PDF and SVG."""

import re
from xml.etree import ElementTree

import pypdfium2
import pytest
from printed import across, printed

from cropmove.errors import InputError
from cropmove.sheets.paper import PAPERS, Page, paper_named, pdf, svg, text_width


@pytest.mark.parametrize(
    ("name", "width", "height"),
    # ISO 216 A4 is 210 x 297 mm; US Letter is 8.5 x 11 in. One PDF unit is 1/72 in (ISO 32000-1).
    [("a4", 595.2756, 841.8898), ("letter", 612, 792)],
)
def test_a_page_has_its_size_in_pdf_units(name, width, height):
    paper = PAPERS[name]
    page = Page(paper.width, paper.height)
    page.line([(0, 0), (10, 10)])
    document = pypdfium2.PdfDocument(pdf([page], "page"))
    assert document[0].get_size() == pytest.approx((width, height), abs=1e-3)


@pytest.mark.parametrize(("name", "millimetres"), [("a4", 100.0), ("letter", 101.6)])
def test_the_check_bar_measures_what_it_says(name, millimetres):
    paper = PAPERS[name]
    page = Page(paper.width, paper.height)
    page.check_bar(paper, (15, 40))
    (sheet,) = printed(pdf([page], "bar"))
    ends = across(sheet, 37.0, 10, 15 + millimetres + 2)
    assert len(ends) == 2
    assert ends[1] - ends[0] == pytest.approx(millimetres, abs=0.02)
    assert paper.bar_name.split()[0] == f"{millimetres if name == 'a4' else 4:g}"


def test_the_printer_is_asked_not_to_fit_the_page():
    page = Page(210, 297)
    page.line([(0, 0), (10, 10)])
    assert re.search(rb"/PrintScaling\s*/None", pdf([page], "page"))


def test_svg_says_the_same_in_millimetres():
    page = Page(210, 297)
    page.line([(15.25, 40), (115.25, 40)], width=0.25)
    page.text((20, 50), "a < b & c", size=9)
    root = ElementTree.fromstring(svg(page, "a & b"))
    assert (root.get("width"), root.get("height")) == ("210mm", "297mm")
    assert root.get("viewBox") == "0 0 210 297"
    names = {"svg": "http://www.w3.org/2000/svg"}
    line = root.find("svg:polyline", names)
    assert line.get("points") == "15.25,40 115.25,40"
    assert line.get("stroke-width") == "0.25"
    assert root.find("svg:text", names).text == "a < b & c"


def test_names_in_other_scripts_are_drawn():
    page = Page(210, 297)
    page.text((20, 50), "Лодка Łódź", size=20)
    document = pypdfium2.PdfDocument(pdf([page], "page"))
    assert "Лодка Łódź" in document[0].get_textpage().get_text_range()


def test_a_page_comes_out_the_same_to_the_byte():
    page = Page(210, 297)
    page.text((20, 50), "still 1", size=20)
    page.cross((40, 40), "A")
    assert pdf([page], "page") == pdf([page], "page")


def test_bold_words_are_wider():
    assert text_width("100", 9, bold=True) > text_width("100", 9) > 0


def test_another_paper_is_refused_by_name():
    with pytest.raises(InputError, match="a4"):
        paper_named("a5")


def test_pages_are_made_of_plain_items():
    assert Page(10, 10).items == []
