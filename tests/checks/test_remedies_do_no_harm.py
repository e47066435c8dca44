"""Remedies that mended their own finding and brought another: tried on the whole shot now.

The shots are invented; each did bring what is named here.
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from math import floor

import pytest
from by_hand import a_rig

from cropmove.checks.finding import Level
from cropmove.checks.registry import findings_of
from cropmove.checks.retime import stretched
from cropmove.geometry import Size
from cropmove.move.subject import Point, Subject
from cropmove.rig.layers import Layer
from cropmove.rig.optics import Lens
from cropmove.rig.rig import Stop
from cropmove.shot import Delivery, Stills

FLAT = Size(1998, 1080)


def cautions(shot):
    return {finding.id for finding in findings_of(shot) if finding.level >= Level.CAUTION}


def test_room_in_front_of_a_subject_does_not_put_it_out_of_the_frame(shot, key, one):
    # It crosses the frame from the right to the left: all framings moved left lose it at first.
    subject = Subject(points=(Point(frame=1, x=3120, y=2487, width=600, height=200),
                              Point(frame=205, x=1813, y=2487, width=600, height=200)))  # fmt: skip
    crossing = shot(
        key(1, 2446, 2091, 2856), key(97, 2446, 2091, 2856, stop=False),
        key(193, 2417, 2091, 1900, stop=False), key(205, 2425, 2091, 1900),
        subjects=(subject,), on=2, delivery=Delivery(size=Size(1080, 1080)),
    )  # fmt: skip
    told = one(crossing, "lead-room").remedy
    assert "subject-leaves-frame" not in cautions(crossing)
    assert not told.startswith("move every key's centre")


@pytest.mark.parametrize("ease_out", [3, 8])
def test_a_longer_ease_out_does_not_make_the_move_strobe(pan, one, found, eased, ease_out):
    # 0.833 % of the width in a frame, at the peak, with eases of 24 and 3 or 8 in 48 steps.
    peak = 0.00832 * (48 - (24 + ease_out) / 2)
    shot = pan(peak, 48, ease="even", ease_in=24, ease_out=ease_out)
    assert found(shot, "strobing") == ()
    finding = one(shot, "short-ease-out")
    both = finding.figures["ease_in"]
    assert both == finding.figures["ease_out"] >= ease_out
    mended = eased(shot, 1, ease_in=both, ease_out=both)
    assert found(mended, "strobing") == found(mended, "short-ease-out") == ()


def test_a_leg_that_is_cut_off_starts_softly_by_what_is_shown_of_it(shot, key, one, found):
    # Only 2 of its 8 steps are shown: of its fastest there is nothing to be seen.
    end = key(129, 3386, 2669, 2207, ease="even", ease_in=0, ease_out=0)
    cut_off = shot(key(1, 3192, 2697, 2452), key(121, 3192, 2697, 2452), end, frames=123)
    finding = one(cut_off, "hard-start")
    eases = {
        side: int(told[1])
        for side in ("ease_in", "ease_out")
        if (told := re.search(rf"{side} = (\d+)", finding.remedy))
    }
    keys = (*cut_off.keys[:2], replace(end, **eases))
    assert "give it" in finding.remedy or found(replace(cut_off, keys=keys), "hard-start") == ()


@pytest.mark.parametrize(("wide", "near"), [(3320, 1900), (4200, 1930), (5600, 2000)])
def test_the_pixels_that_are_told_keep_the_picture_sharp(shot, key, one, found, wide, near):
    def made(times):
        size = Size(round(6000 * times + 0.5), round(4000 * times + 0.5))
        keys = (key(1, 3000 * times, 2000 * times, wide * times),
                key(241, 3000 * times, 2000 * times, near * times))  # fmt: skip
        delivery = Delivery(size=FLAT, kernel="crisp", max_scale=1.2)
        return shot(*keys, delivery=delivery, stills=Stills(size=size))

    told = one(made(1.0), "softening").remedy
    times = float(re.search(r"photograph with ([\d.]+) times the pixels", told)[1])
    assert found(made(times), "softening") == ()


def test_framings_are_not_widened_out_of_the_still(shot, key, one):
    # 900 px from the left: a framing of 1920 leaves it.
    told = one(shot(key(1, 900, 2000, 1700)), "enlarged").remedy
    assert told.startswith("deliver at most 1700 x 956, or accept it: max_scale =")
    assert one(shot(key(1, 1000, 2000, 1700)), "enlarged").remedy.startswith("keep every framing")


def test_a_move_that_is_cut_off_before_it_leaves_the_still_is_told_no_other_end(shot, key, one):
    whole = shot(key(1, 3000, 2000, 2400), key(201, 1150, 2000, 2400))
    cut_off = replace(whole, frames=150)
    assert "outside" in cautions(whole)
    assert "outside" not in cautions(cut_off)
    assert one(cut_off, "key-unreached").remedy == (
        "none if it is meant; to reach all keys, frames = 201, and mend what is cut off now"
    )
    assert one(cut_off, "no-hold").remedy.startswith("let all keys come")


# Passed keys on whole frames: the fewest steps that are slow enough are not always the smoothest.
def test_a_longer_move_that_brings_something_else_says_so(shot, key, one, relengthened):
    leg = shot(
        key(1, 3000, 2000, 3000), key(9, 3400, 2300, 3000, stop=False), key(21, 5000, 2000, 3000),
        key(29, 5000, 2100, 3000, ease="none"), fps=Fraction(12),
    )  # fmt: skip
    before = cautions(leg)
    told = one(leg, "zip-pan")
    steps, passed = told.figures["steps"], told.figures["passed"]
    late = steps - 20
    keys = tuple(
        replace(k, frame=passed.get(str(k.frame), k.frame + late if k.frame >= 21 else k.frame))
        for k in leg.keys
    )
    brings = cautions(replace(leg, keys=keys)) - before
    assert bool(brings) is ("mend what comes of that" in told.remedy)


# --- by hand

LENS = Lens(focal_length=24, distance=400, stop=8)


@pytest.fixture
def by_hand(shot, key):
    def made(*rigs, frames=97, lens=LENS, **more):
        return shot(key(1, 3000, 2000, 5000), frames=frames, rigs=rigs, lens=lens, **more)

    return made


SOFT_STOP = (Stop(1, 0.0), Stop(48, 30.0))


def test_a_longer_travel_makes_nothing_near_sweep_or_soft(by_hand):
    # Reeds ride on a turntable that follows at 0.3 of the way: further, they go out of focus.
    table = a_rig("table", "set turn", stops=SOFT_STOP, ease_in=0, ease_out=21, radius=300)
    other = a_rig("other", "set turn", follows="table", ratio=0.3, radius=400)
    made = by_hand(
        table, other, frames=48, lens=Lens(focal_length=24, distance=1500, stop=8),
        layers=(Layer(name="reeds", distance=150.0, moves_with=("other",)),),
    )  # fmt: skip
    for finding in findings_of(made):
        travel = re.search(r"a travel of ([\d.]+) degrees", finding.remedy)
        if travel and finding.figures["rig"] == "table":
            stops = (SOFT_STOP[0], replace(SOFT_STOP[1], place=float(travel[1])))
            longer = replace(made, rigs=(replace(table, stops=stops), other))
            assert cautions(longer) <= cautions(made)


def test_a_slower_move_whose_steps_are_too_short_tells_how_both_can_be_had(by_hand, one):
    stops = (Stop(1, 0.0), Stop(49, 120.0), Stop(97, 300.0))
    it = a_rig("it", "camera sideways", stops=stops, ease_in=5, ease_out=4)
    made = by_hand(
        it, layers=(Layer(name="reeds", distance=250.0),),
        lens=Lens(focal_length=85, distance=700), on=2,
    )  # fmt: skip
    told = one(made, "layer-sweeps").remedy
    times = float(re.search(r"make the move ([\d.]+) times as long", told)[1])
    brings = cautions(stretched(made, times, floor)) - cautions(made)
    assert brings & {"small-steps", "uneven-steps"}
    assert "steps of it are then too short for readings: set the ticks of the tape" in told
