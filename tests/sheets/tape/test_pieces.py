"""Tapes printed and measured: every tick at its mark, on every page and across every joint."""

from itertools import pairwise

import pytest
from by_hand import a_rig
from printed import across, nearest
from taped import CLOSE, SET_IN, THERE_AND_BACK, apart, made, measured, on_page

from cropmove.sheets.tape import strip
from cropmove.sheets.tape.places import along_of


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
            x, y = on_page(piece, joint, strip._CROSS + 3.2, None)
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


def test_a_way_there_and_back_has_a_strip_each():
    marks, pages, pieces = made(a_rig("it", "subject sideways", stops=THERE_AND_BACK))
    assert [piece.stills for piece in pieces] == [(1, 25), (25, 49)]
    for piece in pieces:
        part = marks.place[piece.stills[0] - 1 : piece.stills[1]]
        ticks = measured(pages[piece.page - 1], piece)
        for mark in apart(part):
            assert nearest(ticks, mark) == pytest.approx(mark, abs=CLOSE)
