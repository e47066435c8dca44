"""The columns of a printed list: large, and lined up."""

import pytest
from by_hand import a_rig, a_table
from written import overlapping, words_on

from cropmove.sheets.paper import PAPERS, pdf
from cropmove.sheets.shooting_list.pages import list_pages
from cropmove.sheets.shooting_list.rows import rows_of


def test_the_points_of_readings_stand_under_one_another():
    """Decimal points in a line: common practice, no source."""
    table = a_table(a_rig("boat", "subject sideways", start=-5, end=240), frames=97, on=2)
    readings = {row.cells[0].reading for row in rows_of(table)}
    assert {len(reading) for reading in readings} == {3, 4, 5}
    ends = [
        box[2]
        for page in list_pages(table, PAPERS["a4"], title="quay")
        for words, box in words_on(pdf([page], "list"))
        if words in readings
    ]
    assert len(ends) >= 49
    assert max(ends) - min(ends) < 0.5


def test_fractions_are_read_from_the_left():
    table = a_table(a_rig("dolly", "camera in", start=0, end=400, inches=True), frames=97, on=2)
    readings = {row.cells[0].reading for row in rows_of(table)}
    assert any("/" in reading for reading in readings)
    starts = [
        item.at[0]
        for page in list_pages(table, PAPERS["a4"], title="quay")
        for item in page.items
        if getattr(item, "bold", False) and item.text in readings
    ]
    assert len(set(starts)) == 1


def test_readings_are_big_enough_for_an_arm_s_length(both):
    # 15 points and more for figures read at 70 cm: common practice, no source.
    figures = [
        item.size
        for page in list_pages(both, PAPERS["a4"], title="quay")
        for item in page.items
        if getattr(item, "bold", False) and item.text.replace(".", "").isdigit()
    ]
    assert min(figures) >= 15


def test_inches_and_turns_are_as_big_as_millimetres_all_down_a_column():
    # 15 points and more for figures read at 70 cm: common practice, no source.
    for rig in (
        a_rig("dolly", "camera in", start=0, end=4000, inches=True),
        a_rig("lift", "camera up", start=0, end=50, thread=1.25),
    ):
        table = a_table(rig, frames=241, on=2)
        readings = {row.cells[0].reading for row in rows_of(table)}
        sizes = {
            item.size
            for page in list_pages(table, PAPERS["a4"], title="quay")
            for item in page.items
            if getattr(item, "bold", False) and item.text in readings
        }
        assert len(sizes) == 1
        assert min(sizes) >= 15


@pytest.mark.parametrize("paper", list(PAPERS))
def test_in_narrow_columns_nothing_stands_over_what_is_beside_it(paper):
    # They come to readings of two figures, under which the words for losing speed are longest.
    things = [a_rig(f"thing {n}", "subject up", start=240, end=0) for n in range(4)]
    things += [a_rig(f"arm {n}", "camera pan", start=0, end=10, radius=1250.5) for n in range(2)]
    pages = list_pages(a_table(*things, frames=97, on=2), PAPERS[paper], title="quay")
    for number in range(len(pages)):
        assert overlapping(pdf(pages, "list"), number) == []
