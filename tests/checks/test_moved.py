"""What a hand moves, taken off the shifts of the picture, beside a camera worked out elsewhere."""

from dataclasses import replace

import numpy as np
import pytest
from by_hand import a_rig
from pinhole import a_plane

from cropmove.checks.facts import Facts
from cropmove.checks.moved import as_moved_by_hand
from cropmove.rig.optics import Lens

LENS = Lens(focal_length=50, distance=800)
STILLS, WIDE, HIGH = 16, 240, 160
THINGS = {
    "sideways": a_rig("sideways", "camera sideways", start=0, end=90),
    "up": a_rig("up", "camera up", start=0, end=25),
    "nearer": a_rig("nearer", "camera in", start=0, end=300),
    "pan": a_rig("pan", "camera pan", start=0, end=-4),
}


@pytest.fixture
def moved(photographed):
    """A shot of grey stills with these things, and how its picture shifts in the middle."""
    grey = np.full((HIGH, WIDE, 3), 128, np.uint8)

    def made(*names, far=800.0, lens=LENS, set_by="moved"):
        rigs = tuple(THINGS[name] for name in names)
        shot = replace(photographed([grey] * STILLS), rigs=rigs, lens=lens)
        places = {name: shot.marks()[name] for name in names}
        if set_by == "reading":
            gone = {name: marks.reading - marks.reading[0] for name, marks in places.items()}
        else:
            gone = {name: marks.moved for name, marks in places.items()}
        shifts = np.full((STILLS, 2), np.nan)
        middle = np.array([WIDE / 2 - 0.5, HIGH / 2 - 0.5, 1])
        for still in range(1, STILLS):
            before, after = (
                a_plane((HIGH, WIDE), far=far, **{name: gone[name][n] for name in names})
                for n in (still - 1, still)
            )
            seen = after @ np.linalg.inv(before) @ middle
            shifts[still] = seen[:2] / seen[2] - middle[:2]
        return Facts(shot), shifts

    return made


COMBINED = [("sideways",), ("pan",), ("sideways", "up", "nearer"), ("pan", "nearer")]


@pytest.mark.parametrize("set_by", ["moved", "reading"])
@pytest.mark.parametrize("names", COMBINED)
def test_nothing_is_left_of_a_move_by_hand(moved, names, set_by):
    facts, shifts = moved(*names, set_by=set_by)
    assert np.nanmax(abs(shifts)) > 1
    assert as_moved_by_hand(facts, shifts)[1:] == pytest.approx(shifts[1:], abs=2e-3)


@pytest.mark.parametrize("names", COMBINED)
def test_a_knock_is_left_where_it_was(moved, names):
    facts, shifts = moved(*names)
    knocked = shifts.copy()
    knocked[7] += [2.0, -1.0]
    left = knocked - as_moved_by_hand(facts, knocked)
    assert left[7] == pytest.approx([2.0, -1.0], abs=0.15)
    assert np.nanmax(abs(np.delete(left, 7, axis=0))) < 0.15


@pytest.mark.parametrize("far", [600.0, 1500.0])
def test_what_fills_the_picture_may_stand_nearer_or_further_off(moved, far):
    facts, shifts = moved("sideways", far=far)
    assert as_moved_by_hand(facts, shifts)[1:] == pytest.approx(shifts[1:], abs=2e-3)


def test_without_a_lens_each_thing_goes_evenly(moved):
    facts, shifts = moved("sideways", lens=None)
    assert as_moved_by_hand(facts, shifts)[1:] == pytest.approx(shifts[1:], abs=2e-3)


def test_what_nothing_moves_shifts_nothing(photographed):
    grey = np.full((HIGH, WIDE, 3), 128, np.uint8)
    shifts = np.random.default_rng(1).normal(0, 1, (5, 2))
    assert not as_moved_by_hand(Facts(photographed([grey] * 5)), shifts).any()
