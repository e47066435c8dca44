"""The pages of a tape: nothing beyond them, nothing over anything, and what has none."""

import pytest
from by_hand import a_rig, a_table
from written import overlapping, words_on

from cropmove.errors import InputError
from cropmove.sheets.paper import PAPERS, pdf
from cropmove.sheets.tape.pages import tape


@pytest.mark.parametrize("bent", [None, False])
def test_nothing_is_drawn_beyond_the_page(bent):
    for rig in (
        a_rig("it", "set turn", start=0, end=300, radius=60),
        a_rig("it", "camera pan", start=-40, end=40, radius=800),
        a_rig("it", "subject up", start=0, end=3, inches=True),
    ):
        bend = None if rig.scale.radius is None else bent
        marks = a_table(rig)["it"]
        pages, _ = tape(marks, PAPERS["a4"], title="quay", bent=bend)
        for page in pages:
            inside = [
                0 <= x <= page.width and 0 <= y <= page.height
                for item in page.items
                for x, y in getattr(item, "points", [getattr(item, "at", (0, 0))])
            ]
            assert all(inside)


def test_a_thing_that_turns_without_a_radius_has_no_tape():
    marks = a_table(a_rig("arm", "camera pan", start=0, end=9))["arm"]
    with pytest.raises(InputError, match="radius = 400"):
        tape(marks, PAPERS["a4"], title="quay")


def test_what_goes_straight_is_not_bent():
    marks = a_table(a_rig("it", "camera up", start=0, end=9))["it"]
    with pytest.raises(InputError, match="no arc to bend"):
        tape(marks, PAPERS["a4"], title="quay", bent=True)


def test_a_long_name_stays_on_the_page_and_off_its_number():
    marks = a_table(a_rig("cup", "subject sideways", start=0, end=40))["cup"]
    pages, _ = tape(marks, PAPERS["a4"], title="A kettle that will not boil " * 6)
    printed_pages = pdf(pages, "tape")
    assert overlapping(printed_pages) == []
    assert max(box[2] for _, box in words_on(printed_pages)) < pages[0].width - 11.5
