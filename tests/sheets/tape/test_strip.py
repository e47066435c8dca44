"""What stands on a strip: numbers, wedges, rules, the pivot."""

import numpy as np
import pytest
from by_hand import a_rig, a_table
from printed import across, darkness_along
from taped import CLOSE, THERE_AND_BACK, made, on_page

from cropmove.rig.rig import Stop
from cropmove.sheets.paper import PAPERS, text_width
from cropmove.sheets.tape import numbers as beside
from cropmove.sheets.tape import strip
from cropmove.sheets.tape.pages import tape


def words_of(page):
    return [item for item in page.items if hasattr(item, "text")]


def test_on_the_way_back_every_number_stands_at_its_own_tick():
    marks = a_table(a_rig("it", "subject sideways", stops=THERE_AND_BACK))["it"]
    (page,), (_, back) = tape(marks, PAPERS["a4"], title="quay")
    deep = back.lay.top + strip._NUMBER
    numbers = [w for w in words_of(page) if w.bold and w.at[1] == pytest.approx(deep, abs=2)]
    assert len(numbers) > 20
    places = [marks.place[int(word.text) - 1] - back.lay.start + back.lay.left for word in numbers]
    assert [word.at[0] for word in numbers] == pytest.approx(places, abs=beside._ENDS_ASTRAY)
    in_order = sorted(numbers, key=lambda word: word.at[0])
    assert [int(w.text) for w in in_order] == sorted((int(w.text) for w in numbers), reverse=True)


def test_the_wedges_of_a_tape_are_thin_where_it_stands_and_high_where_it_is_fast():
    it = a_rig("it", "subject sideways", stops=THERE_AND_BACK, ease_in=10, ease_out=10)
    marks, (page,), pieces = made(it)
    for piece in pieces:
        first, last = piece.stills
        stands, fast = marks.place[[first - 1, last - 1]], marks.place[[first + 9, last - 11]]
        inward = np.sign(fast - stands)
        for places, grey in ((stands + inward, False), (fast - inward, True)):
            high = on_page(piece, places, strip._BAND[0] + 1, None)
            assert (darkness_along(page, high) > 0.1).tolist() == [grey, grey]


def test_a_rule_in_inches_has_a_number_at_every_half():
    it = a_rig("it", "subject sideways", start=0, end=2.5 * 25.4, inches=True)
    (page,), (piece,) = tape(a_table(it)["it"], PAPERS["a4"], title="quay")
    deep = piece.lay.top + strip._RULE + 4.3
    numbers = [w for w in words_of(page) if w.at[1] == pytest.approx(deep, abs=1.5)]
    assert [word.text for word in numbers] == ["0", "1/2", "1", "1 1/2", "2", "2 1/2"]
    begin = piece.lay.left - piece.lay.start
    assert [w.at[0] - begin for w in numbers] == pytest.approx(12.7 * np.arange(6), abs=1e-6)


def test_the_rule_beside_a_tape_is_in_step_with_it():
    _, pages, pieces = made(a_rig("it", "subject sideways", start=0, end=120))
    x, y = on_page(pieces[0], 0, strip._RULE + 2.3, None)
    tens = across(pages[0], y, x - 1, x + 125)
    assert np.diff(tens[:12]) == pytest.approx(10, abs=CLOSE)
    assert tens[0] == pytest.approx(x, abs=CLOSE)


@pytest.mark.parametrize("radius", [25, 35, 60, 120])
def test_a_pivot_is_printed_on_no_other_strip(radius):
    # Back and forth: two strips on a page, and the first one's pivot where the second may lie.
    there_and_back = (Stop(1, -10.0), Stop(25, 20.0), Stop(49, -10.0))
    rig = a_rig("arm", "camera pan", stops=there_and_back, radius=radius)
    marks = a_table(rig)["arm"]
    pages, pieces = tape(marks, PAPERS["a4"], title="quay")
    pivots = [
        (number, item.at)
        for number, page in enumerate(pages, start=1)
        for item in page.items
        if getattr(item, "text", "") == "pivot"
    ]
    assert pivots or radius > 100
    for page, (x, y) in pivots:
        for piece in pieces:
            out = np.hypot(x - piece.lay.across, y - piece.lay.down) - piece.lay.radius
            above = y < piece.lay.down
            assert not (piece.page == page and above and -1 < out < 37)


@pytest.mark.parametrize("radius", [15, 20, 40, 60, 80, 400])
def test_the_words_at_an_arc_stand_inside_it(radius):
    rig = a_rig("knob", "subject turn", start=0, end=400 / radius, radius=radius)
    marks = a_table(rig)["knob"]
    pages, pieces = tape(marks, PAPERS["a4"], title="quay")
    (words,) = [item for item in pages[0].items if "to the pivot" in getattr(item, "text", "")]
    wide, lay = text_width(words.text, words.size), pieces[0].lay
    left = words.at[0] - (wide / 2 if words.align == "centre" else 0)
    # The height of a letter is at most a point size: 25.4 mm are 72 points (ISO 32000-1).
    top = words.at[1] - words.size * 0.76 * 25.4 / 72
    for x in (left, left + wide):
        assert np.hypot(x - lay.across, top - lay.down) < radius
