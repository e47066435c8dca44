"""Tapes printed and measured: every tick at its mark, on every page and across every joint."""

from itertools import pairwise

import numpy as np
import pytest
from by_hand import a_rig, a_table
from hypothesis import given
from hypothesis import strategies as st
from printed import across, darkness_along, nearest, printed, strokes
from written import overlapping, words_on

from cropmove.errors import InputError
from cropmove.rig.pose import CAMERA_WAYS, Poses
from cropmove.rig.rig import Stop
from cropmove.sheets import tape as tapes
from cropmove.sheets.paper import PAPERS, Page, pdf, text_width
from cropmove.sheets.tape import along_of, labels_for, passes_of, tape

CLOSE = 0.05
"""Millimetres by which a tick may be off its mark on paper."""
SET_IN = 3.0
"""Millimetres from the edge, where there are ticks and nothing else."""


def made(rig, paper="a4", frames=49, on=1, bent=None):
    marks = a_table(rig, frames=frames, on=on)[rig.name]
    pages, pieces = tape(marks, PAPERS[paper], title="quay", bent=bent)
    return marks, printed(pdf(pages, "tape")), pieces


def apart(along):
    """Ticks that stand clear of others, so that each can be measured by itself."""
    ticks = np.unique(along)
    gaps = np.diff(ticks, prepend=-np.inf, append=np.inf)
    return ticks[(gaps[1:] > 0.5) & (gaps[:-1] > 0.5)]


def on_page(piece, along, deep, radius, hand=1):
    """Where places along a tape must be on paper, by plain geometry: millimetres are millimetres.

    From the piece only where it begins is taken, or the pivot and the middle of an arc. An arc goes
    clockwise, or the other way where `hand` is -1.
    """
    along = np.asarray(along, dtype=np.float64)
    lay = piece.lay
    if radius is None:
        x = lay.left + (along - lay.start)
        return np.stack([x, np.full_like(x, lay.top + deep)], axis=-1)
    turn = hand * (along - lay.middle) / radius
    x = lay.across + (radius + deep) * np.sin(turn)
    return np.stack([x, lay.down - (radius + deep) * np.cos(turn)], axis=-1)


def measured(page, piece, radius=None, hand=1):
    """Places of ticks along a piece, in millimetres of its edge."""
    low, high = piece.covers
    at = np.arange(low + 0.05, high - 0.05, 0.005)
    return strokes(darkness_along(page, on_page(piece, at, SET_IN, radius, hand)), at)


def clockwise(moves):
    """1 where what is moved turns clockwise about its pivot, seen from above, and else -1."""
    if moves == "set turn":
        return 1  # by its definition
    way = np.zeros((1, len(CAMERA_WAYS)))
    way[0, CAMERA_WAYS.index(moves.split()[1])] = 1.0
    there = Poses.of(way, distance=800)
    # To the right and ahead of the pivot: the camera's own, or the subject that it goes round.
    right, _, ahead = there.axes[0, :, 2] if moves == "camera pan" else [0, 0, 800] - there.at[0]
    return 1 if right * ahead > 0 else -1


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_tick_of_a_long_tape_is_at_its_mark_on_every_page(paper):
    slider = a_rig("slider", "camera sideways", start=20, end=1220, ease_in=12, ease_out=24)
    marks, pages, pieces = made(slider, paper, frames=97)
    assert len(pages) > 1
    assert len(pieces) > 4
    seen = 0
    for piece in pieces:
        ticks = measured(pages[piece.page - 1], piece)
        # The joint is drawn in dashes too: what is measured is only asked for at marks.
        for mark in apart(along_of(marks)):
            if piece.start <= mark < piece.end:
                assert nearest(ticks, mark) == pytest.approx(mark, abs=CLOSE)
                seen += 1
    assert seen == len(apart(along_of(marks)))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_across_a_joint_ticks_are_as_far_apart_as_their_marks(paper):
    slider = a_rig("slider", "camera sideways", start=0, end=1200, ease_in=12, ease_out=24)
    marks, pages, pieces = made(slider, paper, frames=97)
    along = apart(along_of(marks))
    joints = 0
    for before, after in pairwise(pieces):
        crosses = []
        for piece, joint in ((before, before.end), (after, after.start)):
            x, y = on_page(piece, joint, tapes._CROSS + 3.2, None)
            (cross,) = across(pages[piece.page - 1], y, x - 1.5, x + 1.5)
            crosses.append(cross)
        last = along[along < before.end][-1]
        first = along[along >= after.start][0]
        x, y = on_page(before, last, SET_IN, None)
        last_tick = nearest(across(pages[before.page - 1], y, x - 0.4, x + 0.4), x)
        x, y = on_page(after, first, SET_IN, None)
        first_tick = nearest(across(pages[after.page - 1], y, x - 0.4, x + 0.4), x)
        # Cross laid on cross, the way from tick to tick is what is left of the one and right of
        # the other.
        way = (crosses[0] - last_tick) + (first_tick - crosses[1])
        assert way == pytest.approx(first - last, abs=CLOSE)
        joints += 1
    assert joints == len(pieces) - 1
    assert {piece.page for piece in pieces} == set(range(1, len(pages) + 1))


@pytest.mark.parametrize("reverse", [False, True])
@pytest.mark.parametrize(
    ("moves", "radius", "end"),
    [("camera pan", 400, 15), ("set turn", 200, 130), ("camera arc", 300, 30)],
)
def test_a_template_is_bent_to_its_radius_with_every_tick_at_its_angle(moves, radius, end, reverse):
    it = a_rig("it", moves, start=0, end=end, radius=radius, ease_in=6, ease_out=10,
               reverse=reverse)  # fmt: skip
    hand = -clockwise(moves) if reverse else clockwise(moves)
    marks, pages, pieces = made(it)
    seen = 0
    for piece in pieces:
        page = pages[piece.page - 1]
        # Ticks are radial: at 3 mm outside the edge they stand at the same angles.
        ticks = measured(page, piece, radius, hand)
        for mark in apart(along_of(marks)):
            if piece.start <= mark < piece.end:
                assert nearest(ticks, mark) == pytest.approx(mark, abs=CLOSE)
                seen += 1
        # And the edge itself is as far from the pivot as the radius says, all along.
        for place in np.linspace(piece.start, piece.end, 7)[1:-1]:
            deep = np.arange(-1, 0.9, 0.005)
            points = np.array([on_page(piece, place + 0.3, d, radius) for d in deep])
            (edge,) = strokes(darkness_along(page, points), deep)
            assert edge == pytest.approx(0, abs=CLOSE)
    assert seen == len(apart(along_of(marks)))


def test_a_straight_tape_for_a_rim_is_as_long_as_the_arc():
    board = a_rig("board", "set turn", start=0, end=45, radius=300)
    _, pages, pieces = made(board, bent=False)
    # Computed: 45 degrees of a radius of 300 mm are 235.6194 mm along it.
    ends = measured(pages[0], pieces[0])
    assert ends[-1] - ends[0] == pytest.approx(235.6194, abs=CLOSE)


def test_a_way_there_and_back_has_a_strip_each():
    stops = (Stop(1, 0.0), Stop(25, 130.0), Stop(49, 10.0))
    marks, pages, pieces = made(a_rig("it", "subject sideways", stops=stops))
    assert [piece.stills for piece in pieces] == [(1, 25), (25, 49)]
    for piece in pieces:
        part = marks.place[piece.stills[0] - 1 : piece.stills[1]]
        ticks = measured(pages[piece.page - 1], piece)
        for mark in apart(part):
            assert nearest(ticks, mark) == pytest.approx(mark, abs=CLOSE)


THERE_AND_BACK = (Stop(1, 0.0), Stop(25, 130.0), Stop(49, 10.0))


def words_of(page):
    return [item for item in page.items if hasattr(item, "text")]


def test_on_the_way_back_every_number_stands_at_its_own_tick():
    marks = a_table(a_rig("it", "subject sideways", stops=THERE_AND_BACK))["it"]
    (page,), (_, back) = tape(marks, PAPERS["a4"], title="quay")
    deep = back.lay.top + tapes._NUMBER
    numbers = [w for w in words_of(page) if w.bold and w.at[1] == pytest.approx(deep, abs=2)]
    assert len(numbers) > 20
    places = [marks.place[int(word.text) - 1] - back.lay.start + back.lay.left for word in numbers]
    assert [word.at[0] for word in numbers] == pytest.approx(places, abs=tapes._ENDS_ASTRAY)
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
            high = on_page(piece, places, tapes._BAND[0] + 1, None)
            assert (darkness_along(page, high) > 0.1).tolist() == [grey, grey]


def test_a_rule_in_inches_has_a_number_at_every_half():
    it = a_rig("it", "subject sideways", start=0, end=2.5 * 25.4, inches=True)
    (page,), (piece,) = tape(a_table(it)["it"], PAPERS["a4"], title="quay")
    deep = piece.lay.top + tapes._RULE + 4.3
    numbers = [w for w in words_of(page) if w.at[1] == pytest.approx(deep, abs=1.5)]
    assert [word.text for word in numbers] == ["0", "1/2", "1", "1 1/2", "2", "2 1/2"]
    begin = piece.lay.left - piece.lay.start
    assert [w.at[0] - begin for w in numbers] == pytest.approx(12.7 * np.arange(6), abs=1e-6)


def test_the_rule_beside_a_tape_is_in_step_with_it():
    _, pages, pieces = made(a_rig("it", "subject sideways", start=0, end=120))
    x, y = on_page(pieces[0], 0, tapes._RULE + 2.3, None)
    tens = across(pages[0], y, x - 1, x + 125)
    assert np.diff(tens[:12]) == pytest.approx(10, abs=CLOSE)
    assert tens[0] == pytest.approx(x, abs=CLOSE)


@given(
    st.lists(st.floats(0, 250), min_size=1, max_size=60, unique=True),
    st.sampled_from([9.0, 12.0]),
)
def test_numbers_never_overlap_and_never_stray_from_the_strip(ticks, size):
    ticks = sorted(ticks)
    numbers = [str(n) for n in range(1, len(ticks) + 1)]
    labels = labels_for(numbers, ticks, -8, 258, size)
    assert labels
    spans = [
        (x.at - w / 2, x.at + w / 2) for x in labels for w in [text_width(x.text, size, bold=True)]
    ]
    assert all(a[1] < b[0] for a, b in pairwise(spans))
    assert spans[0][0] >= -8
    assert spans[-1][1] <= 258
    # Leaders do not cross: numbers stand in the order of their ticks.
    assert [label.text for label in labels] == sorted((x.text for x in labels), key=int)


def test_every_number_that_fits_is_there():
    ticks = [6.0 * n for n in range(40)]
    assert len(labels_for([str(n + 1) for n in range(40)], ticks, -8, 245)) == 40


def test_the_ends_and_the_tens_are_kept_where_not_all_fit():
    ticks = [1.0 * n for n in range(101)]
    shown = {x.text for x in labels_for([str(n + 1) for n in range(101)], ticks, -8, 108)}
    assert {"1", "101", "10", "50", "100"} <= shown
    assert len(shown) < 101


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


def test_passes_are_runs_of_one_way():
    assert passes_of(np.array([0.0, 0, 0])) == [(1, 3)]
    assert passes_of(np.array([5.0, 3, 3, 4])) == [(1, 3), (3, 4)]


def test_pages_are_made_of_plain_items():
    assert Page(10, 10).items == []


def test_a_long_name_stays_on_the_page_and_off_its_number():
    marks = a_table(a_rig("cup", "subject sideways", start=0, end=40))["cup"]
    pages, _ = tape(marks, PAPERS["a4"], title="A kettle that will not boil " * 6)
    printed_pages = pdf(pages, "tape")
    assert overlapping(printed_pages) == []
    assert max(box[2] for _, box in words_on(printed_pages)) < pages[0].width - 11.5


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
