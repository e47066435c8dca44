"""The shooting list on paper: every still once, nothing beyond the page or over anything."""

import pypdfium2
import pytest
from by_hand import a_rig, a_table
from written import overlapping, words_on

from cropmove.rig.cautions import CAUTIONS, DEFERS, cautions_for
from cropmove.sheets.paper import PAPERS, pdf, text_width
from cropmove.sheets.shooting_list.pages import list_pages

LONG = "A kettle that would not boil before the guests arrived, second attempt with the blue cup"


@pytest.mark.parametrize("paper", list(PAPERS))
def test_every_still_is_on_paper_once_in_order_beside_its_reading(both, paper):
    pages = list_pages(both, PAPERS[paper], title="quay")
    words = [
        (item.text, item.size)
        for page in pages
        for item in page.items
        if hasattr(item, "text") and item.size == 14 and not item.bold
    ]
    assert [text for text, _ in words] == [str(n) for n in range(1, 50)]
    document = pypdfium2.PdfDocument(pdf(pages, "list"))
    text = "".join(page.get_textpage().get_text_range() for page in document)
    assert text.count("240.0") >= 1
    assert "Before you start" in text


def test_nothing_on_a_page_stands_beyond_its_margins_or_over_another_row():
    things = [a_rig(f"thing {n}", "subject up", start=0, end=100 + n) for n in range(8)]
    pages = list_pages(a_table(*things, frames=60), PAPERS["letter"], title="quay")
    for page in pages:
        for item in page.items:
            for x, y in getattr(item, "points", [getattr(item, "at", (0, 0))]):
                assert 11 < x < page.width - 11
                assert 11 < y < page.height - 7


def test_the_frames_of_a_still_stand_between_its_number_and_the_first_reading(both):
    (page, *_) = list_pages(both, PAPERS["a4"], title="quay")
    words = [item for item in page.items if hasattr(item, "text")]
    still, frames = (next(w for w in words if w.text == text) for text in ("2", "3–4"))
    reading = next(w for w in words if w.at[1] == pytest.approx(frames.at[1], abs=2) and w.bold)
    assert still.at[0] < frames.at[0]
    assert frames.at[0] + text_width(frames.text, frames.size) < reading.at[0]


@pytest.mark.parametrize("count", [1, 3, 7])
def test_long_names_stay_on_the_page_and_apart(count):
    names = [f"{n} chipped cup from grandma's old cupboard" for n in range(count)]
    things = [a_rig(name[:40], "subject up", start=0, end=100) for name in names]
    pages = list_pages(a_table(*things, frames=60), PAPERS["a4"], title=LONG)
    printed = pdf(pages, "list")
    for number, page in enumerate(pages):
        assert overlapping(printed, number) == []
        assert max(box[2] for _, box in words_on(printed, number)) < page.width - 11.5
        assert min(box[0] for _, box in words_on(printed, number)) > 11.5


ALL_CAUTIONS = ("camera up", "set turn", "camera pan", "set sideways", "subject up", "camera in")
"""Moves that together ask for every caution."""


def many_things(count):
    turning = {"set turn": {"radius": 400}, "camera pan": {"radius": 400}}
    moves = [ALL_CAUTIONS[n % len(ALL_CAUTIONS)] for n in range(count)]
    things = [
        a_rig(f"thing {n}", way, start=0, end=100 + n, **turning.get(way, {}))
        for n, way in enumerate(moves)
    ]
    return a_table(*things, frames=97, on=2)


def test_cautions_can_be_read_at_arm_s_length():
    """Letters are at least 16 minutes of arc high (NUREG-0700 Rev. 2, 1.3.1-4).

    Its formula: height = 6.283 D MA / 21600. An arm's length is 700 mm: common practice, no source.
    """
    least = 6.283 * 700 * 16 / 21600
    pages = list_pages(many_things(3), PAPERS["a4"], title="quay")
    text = pypdfium2.PdfDocument(pdf(pages, "list"))[0].get_textpage()
    told = text.get_text_range()
    for caution in (*CAUTIONS.values(), DEFERS):
        _, bottom, _, top = text.get_charbox(told.index(caution[:12]), loose=False)
        assert caution[0].isupper()
        assert (top - bottom) * 25.4 / 72 >= least


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("count", [1, 3, 4, 6, 7, 12])
def test_many_things_with_all_their_cautions_leave_every_row_and_word_on_its_page(paper, count):
    table = many_things(count)
    pages = list_pages(table, PAPERS[paper], title="quay")
    drawn = pdf(pages, "list")
    for number, page in enumerate(pages):
        assert overlapping(drawn, number) == []
        boxes = [box for _, box in words_on(drawn, number)]
        assert min(box[0] for box in boxes) > 11.5
        assert max(box[2] for box in boxes) < page.width - 11.5
        assert max(box[3] for box in boxes) < page.height - 7
    stills = [
        item.text
        for page in pages
        for item in page.items
        if getattr(item, "align", "") == "right" and item.size == 14
    ]
    groups = -(-count // 6)
    assert stills == [str(n) for n in range(1, 50)] * groups
    # Every caution is there whole, once for each group of things.
    words = " ".join(
        " ".join(item.text for item in page.items if hasattr(item, "text")) for page in pages
    )
    for start in range(0, count, 6):
        for caution in cautions_for(marks.rig for marks in table.moved[start : start + 6]):
            assert caution in words
    assert words.count(DEFERS) == groups
