"""Remedies of what is moved by hand, followed to the letter: the finding is gone, no graver comes.

The shots are invented; what has to come of them follows from the rule that each finding tells.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from by_hand import a_rig

from cropmove.checks.finding import Finding, Level
from cropmove.checks.registry import findings_of
from cropmove.rig.layers import Layer
from cropmove.rig.measures import millimetres
from cropmove.rig.optics import Lens
from cropmove.rig.rig import Rig, Stop
from cropmove.shot import Shot

LENS = Lens(focal_length=50, distance=800)


@pytest.fixture
def by_hand(key, shot):
    def made(*rigs, frames=49, **more) -> Shot:
        return shot(key(1, 3000, 2000, 6000), frames=frames, rigs=rigs, **{"lens": LENS} | more)

    return made


@pytest.fixture
def told(by_hand):
    """The findings of a check about a rig, or several, by themselves."""

    def found(id: str, *rigs: Rig, **more) -> list[Finding]:
        return [f for f in findings_of(by_hand(*rigs, **more)) if f.id == id]

    return found


def number_after(words: str, text: str) -> float:
    match = re.search(rf"{re.escape(words)}([\d.]+)", text)
    assert match, text
    return float(match[1])


@pytest.mark.parametrize("end", [463.1234, 1020.8, 300.00004, 61.74])
@pytest.mark.parametrize("inches", [False, True])
def test_the_track_that_is_told_is_long_enough(told, end, inches):
    it = a_rig("it", "camera up", start=0, end=end, track=57, inches=inches)
    (finding,) = told("beyond-track", it)
    length = re.search(r"a track of ([\d.]+ (?:mm|in)) or more", finding.remedy)
    assert length[1].endswith("in") is inches
    assert millimetres(length[1]) == pytest.approx(end, rel=2e-3)
    assert not told("beyond-track", replace(it, track=millimetres(length[1])))


@pytest.mark.parametrize("id", ["uneven-steps", "small-steps"])
@pytest.mark.parametrize("step", [0.3, 0.45, 1.3, 3.1])
def test_no_longer_travel_is_offered_than_there_is_track_for(told, id, step):
    it = a_rig("it", "camera up", start=0, end=48 * step, ease="none", track=48 * step * 1.02)
    for finding in told(id, it):
        if "a travel of" in finding.remedy:
            longer = replace(it, end=number_after("a travel of ", finding.remedy))
            assert not told("beyond-track", longer)
            assert not told(id, longer)


def test_nor_one_that_takes_a_follower_beyond_its_own(told):
    it = a_rig("it", "camera up", start=0, end=48 * 0.45, ease="none")
    (finding,) = told("small-steps", it)
    assert "a travel of" in finding.remedy
    rides = a_rig("rides", "subject up", follows="it", ratio=2.0, division=0.1, track=43.5)
    (finding,) = told("small-steps", it, rides)
    assert "a travel of" not in finding.remedy


def test_nor_one_that_takes_the_camera_past_its_subject(told):
    it = a_rig("it", "camera in", start=0, end=48 * 0.45, ease="none")
    (finding,) = told("small-steps", it, lens=replace(LENS, focal_length=15, distance=23))
    assert "a travel of" not in finding.remedy


@pytest.mark.parametrize("end", [2.0, 7.5, 12.0, 21.0, 35.0])
@pytest.mark.parametrize("id", ["uneven-steps", "small-steps"])
def test_the_arm_that_is_offered_for_a_protractor_is_long_enough(told, id, end):
    it = a_rig("it", "camera pan", start=0, end=end, ease="none")
    for finding in told(id, it):
        radius = re.search(r"read along its arc: radius = (\d+)", finding.remedy)
        if radius:
            scale = replace(it.scale, radius=float(radius[1]))
            assert not told(id, replace(it, scale=scale))
        # A tape lies along a rule or an arc: a protractor has none.
        assert "arm" in finding.remedy


@pytest.mark.parametrize("radius", [150.0, 300.0, 577.0])
@pytest.mark.parametrize("id", ["uneven-steps", "small-steps"])
def test_an_arc_s_travel_is_told_in_degrees_and_no_arm_longer_than_a_metre(told, id, radius):
    it = a_rig("it", "camera pan", start=0, end=9, radius=radius)
    (finding,) = told(id, it)
    if "a travel of" in finding.remedy:
        assert not told(id, replace(it, end=number_after("a travel of ", finding.remedy)))
        assert re.search(r"a travel of [\d.]+ degrees \([\d.]+ mm along the arc\)", finding.remedy)
    if "a longer arm" in finding.remedy:
        arm = number_after("a longer arm, ", finding.remedy)
        assert arm <= 1000
        assert arm % 10 == 0
        assert not told(id, replace(it, scale=replace(it.scale, radius=arm)))


@pytest.mark.parametrize("step", [0.339, 0.41, 0.2, 0.13])
def test_a_finer_inch_rule_is_told_as_it_is_divided(told, step):
    it = a_rig("it", "camera up", start=0, end=48 * step * 25.4, ease="none", inches=True)
    for finding in told("uneven-steps", it):
        match = re.search(r"read to ([\d./]+ in)", finding.remedy)
        if match:
            assert match[1] in ("1/64 in", "0.010 in")
            finer = replace(it.scale, division=millimetres(match[1]))
            assert not told("uneven-steps", replace(it, scale=finer))


def eases_in(text: str) -> dict[str, int]:
    found = re.findall(r"ease (in|out) of at most (\d+)", text)
    return {f"ease_{side}": int(most) for side, most in found}


@pytest.mark.parametrize("middle", [30.0, 45.0, 52.0])
@pytest.mark.parametrize("ease_in", [8, 16])
def test_eases_that_are_offered_can_be_set_in_every_leg(told, middle, ease_in):
    stops = (Stop(1, 0.0), Stop(49, middle), Stop(97, middle + 60.0))
    it = a_rig("it", "camera up", stops=stops, ease_in=ease_in, ease_out=24, ease="even")
    (finding,) = told("small-steps", it, frames=97)
    assert not finding.remedy.startswith(",")
    eases = eases_in(finding.remedy)
    assert eases or "ease" not in finding.remedy
    if eases:
        assert not told("small-steps", replace(it, **eases), frames=97)


def test_eases_of_the_keys_are_told_leg_by_leg(key, shot):
    # 120 and 260 mm: each leg has another longest ease whose steps can be set.
    keys = (key(1, 3000, 2000, 6000), key(49, 3000, 2000, 5800), key(97, 3000, 2000, 5400))
    it = a_rig("it", "subject up", places=(0.0, 120.0, 380.0))

    def small(keys):
        found = findings_of(shot(*keys, rigs=(it,), lens=LENS))
        return [f for f in found if f.id == "small-steps"]

    (finding,) = small(keys)
    told = finding.remedy.split(", or ")[0]
    legs = re.findall(r"((?:an? ease [^,]*?)) for the leg that ends on frame (\d+)", told)
    assert [frame for _, frame in legs] == ["49", "97"]
    by_frame = {int(frame): eases_in(text) for text, frame in legs}
    assert not small([replace(k, **by_frame.get(k.frame, {})) for k in keys])


def test_a_rule_that_is_read_below_its_beginning_is_told_where_to_begin(told):
    it = a_rig("it", "camera up", start=0, end=-400, rule=300)
    (finding,) = told("rule-too-short", it)
    rule = number_after("take a rule of ", finding.remedy)
    begin = number_after("begin at ", finding.remedy)
    assert told("rule-too-short", replace(it, rule=5000))  # length alone does not do
    assert not told("rule-too-short", replace(it, rule=rule, start=begin, end=begin - 400))
    assert rule == pytest.approx(400, abs=1)


@pytest.mark.parametrize(("end", "approach"), [(431.3, None), (431.3, "above")])
def test_the_rule_that_is_told_need_not_be_laid_anew(told, end, approach):
    it = a_rig("it", "camera up", start=0, end=end, rule=300, backlash=0.5, approach=approach)
    (finding,) = told("rule-too-short", it)
    rule = number_after("take a rule of ", finding.remedy)
    assert not told("rule-too-short", replace(it, rule=rule))


@pytest.mark.parametrize("inches", [False, True])
def test_what_is_told_of_a_step_longer_than_its_rule_does(told, inches):
    it = a_rig("it", "camera up", start=0, end=440, ease="none", rule=8, inches=inches)

    def faults(it, frames=49):
        found = told("rule-too-short", it, frames=frames)
        return [f for f in found if f.level is Level.FAULT]

    (finding,) = faults(it)
    rule = re.search(r"a rule of ([\d./]+ (?:mm|in)) or more", finding.remedy)[1]
    assert not faults(replace(it, rule=millimetres(rule)))
    times = number_after("make the move ", finding.remedy)
    assert not faults(it, frames=1 + int(48 * times))


@pytest.mark.parametrize(("end", "every"), [(8000, 0.5), (12000, 1.0), (4000, 0.25)])
def test_the_longer_move_that_is_told_can_be_followed_by_two_hands(told, end, every):
    it = a_rig("it", "camera up", start=0, end=end, ease="none", every=every)
    (finding,) = told("too-fast-by-hand", it)
    times = number_after("make the move ", finding.remedy)
    assert not told("too-fast-by-hand", it, frames=1 + int(48 * times))
    # A helper makes no one thing faster.
    assert "help" not in finding.remedy


def test_help_is_told_of_where_it_helps(told):
    # 2.05 s each, of which two hands do three in 3.075 s; three or four hands all at once.
    things = [
        a_rig(name, "subject up", start=0, end=480, ease="none", every=3.07) for name in "abc"
    ]
    (finding,) = told("too-fast-by-hand", *things)
    assert "let somebody help" in finding.remedy


def test_marks_for_every_frame_say_where_steps_become_too_short(told):
    # 0.9 mm a still on twos; 0.45 on ones, where half a millimetre can be set.
    it = a_rig(
        "it", "camera sideways", start=0, end=48 * 0.45, ease="none", division=0.1, smallest=0.5
    )
    (finding,) = told("by-hand-on-twos", it, on=2)
    assert "steps of it are then too short for readings" in finding.remedy
    longer = replace(it, end=480.0, smallest=None)
    (finding,) = told("by-hand-on-twos", longer, on=2)
    assert "too short" not in finding.remedy


@pytest.mark.parametrize(("width", "has_room"), [(2300, True), (1200, False)])
def test_no_framing_is_asked_for_more_to_spare_than_it_could_have(key, shot, width, has_room):
    # A crab does not push in: a corner ends 0.574 (2400 / width - 1) widths off at 16:9.
    keys = (key(1, 2500, 2000, 2400), key(49, 3000, 2000, width))
    rigs = (a_rig("it", "camera sideways", follows="keys"),)
    found = findings_of(shot(*keys, rigs=rigs, lens=LENS))
    (finding,) = [f for f in found if f.id == "rig-differs"]
    assert ("to spare" in finding.remedy) is has_room


def test_one_focus_for_all_is_told_where_there_is_one(told):
    # 50 mm at f/8, 0.03 mm of blur: focused at 1 m all from 916.42 to 1100.35 mm is sharp
    # (the formulas of any optics textbook); 2 * 925 * 1090 / 2015 is 1000.7.
    lens = Lens(focal_length=50, distance=925, stop=8, blur=0.03)
    layers = (Layer(name="backing", distance=1090),)
    still = a_rig("it", "subject turn", start=0, end=9)
    (finding,) = told("out-of-focus", still, lens=lens, layers=layers)
    assert "focus at 1001 mm throughout" in finding.remedy
    # It stands where it stands: to pull focus to it has no sense.
    assert "pull focus" not in finding.remedy
    assert not told("out-of-focus", still, lens=replace(lens, focus=1001), layers=layers)


@pytest.mark.parametrize("far", [90, 120, 200])
def test_the_stop_that_is_offered_is_one_that_is_on_a_lens(told, far):
    # Thirds of a stop as lenses are marked, from memory.
    marked = {8, 9, 10, 11, 13, 14, 16, 18, 20, 22, 25, 29, 32, 36, 40, 45}
    lens = Lens(focal_length=50, distance=1000, stop=8)
    (finding,) = told("out-of-focus", a_rig("it", "camera in", start=0, end=far), lens=lens)
    stop = finding.figures["stop"]
    assert stop in marked
    again = a_rig("it", "camera in", start=0, end=far)
    assert not told("out-of-focus", again, lens=replace(lens, stop=stop))


def test_a_ratio_is_told_for_what_follows(told):
    lead = a_rig("lead", "camera up", start=0, end=48.0, ease="none")
    it = a_rig("it", "subject up", follows="lead", ratio=0.45, ease=None)
    (finding,) = told("small-steps", lead, it)
    ratio = number_after("by ratio = ", finding.remedy)
    assert not told("small-steps", lead, replace(it, ratio=ratio))
