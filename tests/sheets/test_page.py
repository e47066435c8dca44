"""The page: complete in itself, and readable by a machine too."""

from __future__ import annotations

import re
from base64 import b64decode
from html.parser import HTMLParser
from io import BytesIO
from xml.etree import ElementTree

import pytest
from PIL import Image

from cropmove.checks.finding import Finding, Level
from cropmove.sheets import style
from cropmove.sheets.page import Figure, cropped_drawing, cropped_picture, page
from cropmove.sheets.sheet import Pen, Sheet
from cropmove.shot import Shot

NASTY = Finding(
    id="enlarged", level=Level.FAULT, frames=((3, 9),), what="a < b & c", remedy='say "no"'
)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []
        self.pictures: list[dict[str, str | None]] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        held = dict(attrs)
        self.links += [str(held[name]) for name in ("src", "href") if name in held]
        if tag == "img":
            self.pictures.append(held)

    def handle_data(self, data: str) -> None:
        self.words += data


def _read(text: str) -> _Reader:
    reader = _Reader()
    reader.feed(text)
    return reader


def _sheet(push_in: Shot) -> Sheet:
    sheet = style.begin(push_in, "chart", (297, 210))
    sheet.line([(50, 60), (250, 60), (250, 160)], Pen(colour="#17242c", width=1))
    return sheet


def _page(push_in: Shot) -> str:
    sheet = _sheet(push_in)
    kind, content = cropped_drawing(sheet.svg(), sheet.png())
    figure = Figure(title="Chart", told="How far it moves.", kind=kind, content=content)
    files = ["quay.chart.pdf"]
    return page(push_in, push_in.course(), (NASTY,), (figure,), files)


def test_it_holds_all_it_shows_and_no_script(push_in: Shot) -> None:
    read = _read(_page(push_in))
    assert "script" not in read.tags
    assert "link" not in read.tags
    assert read.links
    assert all(link.startswith("data:image/") for link in read.links)
    assert not re.search(
        r"(?:url\(|@import|https?://)", re.sub(r"base64,[^\"]+", "", _page(push_in))
    )


def test_every_picture_can_be_described(push_in: Shot) -> None:
    assert all(picture["alt"] for picture in _read(_page(push_in)).pictures)


def test_words_of_the_shot_are_shown_as_they_are(push_in: Shot) -> None:
    text = _page(push_in)
    read = _read(text)
    assert "a < b & c" in read.words
    assert "frames 3-9" in read.words
    assert "quay.chart.pdf" in read.words
    assert "a < b" not in text


def test_the_keys_are_told_in_numbers(push_in: Shot) -> None:
    words = _read(_page(push_in)).words
    assert "2200.0" in words
    assert "49" in words


def test_a_drawing_is_cut_to_what_is_drawn(push_in: Shot) -> None:
    """The line runs from 50 to 250 mm and from 60 to 160 mm."""
    sheet = _sheet(push_in)
    _, svg = cropped_drawing(sheet.svg(), sheet.png())
    root = ElementTree.fromstring(svg)
    left, top, width, height = (float(side) * 25.4 / 72 for side in root.attrib["viewBox"].split())
    assert (left, top) == pytest.approx((50, 59.5), abs=1.1)
    assert (left + width, top + height) == pytest.approx((250.5, 160), abs=1.5)


def test_a_picture_is_cut_to_what_is_drawn(push_in: Shot) -> None:
    kind, content = cropped_picture(_sheet(push_in).png(dpi=100))
    picture = Image.open(BytesIO(content))
    assert kind == "image/jpeg"
    assert picture.size == pytest.approx((200.5 / 25.4 * 100, 100.5 / 25.4 * 100), abs=8)


def test_what_is_inside_opens_again(push_in: Shot) -> None:
    (link,) = _read(_page(push_in)).links
    kind, data = link.removeprefix("data:").split(";base64,")
    assert kind == "image/svg+xml"
    assert ElementTree.fromstring(b64decode(data)).tag.endswith("svg")


def _at(text: str, wide: int) -> str:
    """The style in force on a screen so many CSS pixels wide, after what holds for all."""
    rules = re.findall(r"@media screen and \(max-width:(\d+)rem\)\{(.*?)\n\}", text, re.DOTALL)
    assert rules
    return "".join(rule for most, rule in rules if wide <= int(most) * 16)


@pytest.mark.parametrize("wide", [768, 820, 1024])
def test_on_a_tablet_sheets_are_seen_whole(push_in: Shot, wide: int) -> None:
    """Upright, tablets are 768 CSS pixels wide and more: common practice, no source."""
    text = _page(push_in)
    assert "img{display:block;width:100%;height:auto}" in text
    assert "img" not in _at(text, wide)
    assert "::before" not in _at(text, wide)


def test_on_a_phone_sheets_keep_a_width_at_which_they_can_be_read(push_in: Shot) -> None:
    """They scroll sideways inside the page, which itself does not; and the page says so.

    Letters of 6 points on a sheet 297 mm wide are then above 6 CSS pixels high. A phone is 390 CSS
    pixels wide: common practice, no source.
    """
    text = _page(push_in)
    narrow = _at(text, 390)
    width = re.search(r"figure img\{width:(\d+)rem;max-width:none\}", narrow)
    assert width
    assert int(width[1]) * 16 / 297 * 6 * 25.4 / 72 > 5.9
    assert "div{overflow-x:auto}" in text
    assert len(re.findall(r"<figure><div><img ", text)) == text.count("<img ")
    assert "<div><table>" in text
    hint = '::before{content:"Slide it sideways to see all of it. "}'
    assert f"figcaption{hint}" in narrow
    assert f"div+p{hint}" in narrow
    assert re.search(r"</table></div>\s*<p>", text)


def test_a_long_name_is_broken_where_it_would_leave_the_screen(push_in: Shot) -> None:
    body = re.search(r"\nbody\{(.*?)\}", _page(push_in), re.DOTALL)
    assert body
    assert "overflow-wrap:anywhere" in body[1]


def test_a_remedy_is_marked_by_more_than_its_colour(push_in: Shot) -> None:
    assert '.remedy::before{content:"→ "}' in _page(push_in)


def test_no_line_of_the_page_begins_with_a_unit(push_in: Shot) -> None:
    wide = Finding(id="outside", level=Level.NOTE, what="by 380 px or 3 %", remedy="go 9 mm left")
    text = page(push_in, push_in.course(), (wide,), (), [])
    assert all(kept in text for kept in ("380\u00a0px", "3\u00a0%", "9\u00a0mm"))
    assert "1920\u00a0×\u00a01080" in text
