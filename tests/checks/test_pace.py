"""Pace against the seven-second rule, strobing and the zip pan."""

import re
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from cropmove.checks.facts import Facts
from cropmove.checks.registry import findings_of
from cropmove.checks.too_fast import calm_step
from cropmove.geometry import Size
from cropmove.limits import Limits
from cropmove.move.framing import Framing
from cropmove.shot import Delivery

CALM = 1 / 168
"""Frame widths a frame: seven seconds at 24 frames a second. Cinematographers' tradition."""


@pytest.mark.parametrize(
    ("ease", "ramps", "seconds"),
    [
        # The shortest time for one picture width whose peak step is 1/168 of it, from the peak
        # speed of each curve: 1, 1.5, pi/2, 1.875 and 2 times the mean; with a ramp of a quarter
        # at each end 1 / (1 - 1/4). Computed from the stated formulas.
        ("none", None, 7.0),
        ("odd", 1 / 4, 9.333),
        ("cubic-bezier(0.3333333333333333, 0, 0.6666666666666666, 1)", None, 10.5),
        ("cosine", 1 / 2, 10.996),
        ("smooth", 1 / 2, 13.125),
        ("odd", 1 / 2, 14.0),
        ("raised-cosine", 1 / 2, 14.0),
    ],
)
def test_the_shortest_calm_times_of_the_known_eases(pan, found, ease, ramps, seconds):
    def crossing(steps):
        length = int(steps * (ramps or 0))
        lengths = {"ease_in": length, "ease_out": length} if length else {}
        return found(pan(1.0, steps, ease=ease, **lengths), "pace")

    steps = int(np.ceil(seconds * 24 / 4) * 4)
    assert crossing(steps) == ()
    short = int(seconds * 24 * 0.98) // 4 * 4
    (finding,) = crossing(short)
    assert 1 < finding.measured / finding.limit < 1.06
    assert finding.limit == pytest.approx(100 * CALM)


def test_the_limit_is_the_published_step_on_common_rasters(pan):
    # 11.4286 px on 1920 and 22.857 on 3840: trade articles on the seven-second rule.
    calm = calm_step(Facts(pan(0.3, 48)))
    assert 1920 * calm == pytest.approx(11.4286, abs=1e-4)
    assert 3840 * calm == pytest.approx(22.857, abs=1e-3)


def test_the_remedy_slows_a_pan_down_just_enough(pan, one, found, relengthened):
    shot = pan(0.3, 48, ease_in=8, ease_out=14)
    finding = one(shot, "pace")
    steps = finding.figures["steps"]
    assert found(relengthened(shot, 1, steps), "pace") == ()
    assert len(found(relengthened(shot, 1, steps - 1), "pace")) == 1
    assert finding.figures["last_frame"] == steps + 1
    assert f"{steps} steps" in finding.remedy


def test_the_remedy_may_shorten_the_way_in_the_same_time(pan, one, found):
    shot = pan(0.3, 48, ease_in=8, ease_out=14)
    x, y, width, roll = one(shot, "pace").figures["end"]
    end = replace(shot.keys[1], framing=Framing(x=x, y=y, width=width, roll=roll))
    assert found(replace(shot, keys=(shot.keys[0], end)), "pace") == ()
    assert 1500 + 0.2 * 3000 < x < 1500 + 0.23 * 3000


def test_a_push_in_is_judged_at_its_corners(shot, key, one, found, relengthened):
    push = shot(key(1, 3000, 2000, 6000), key(49, 3000, 2000, 4000))
    finding = one(push, "pace")
    # A push about the centre at a constant rate r a frame moves the corner by r times half the
    # diagonal; at 16:9 that is 0.5737 widths. The centre does not move at all.
    cruise = np.log(6000 / 4000) / (48 - 8 / 2 - 14 / 2)
    assert finding.measured / 100 == pytest.approx(0.5737 * cruise, rel=0.02)
    assert found(relengthened(push, 1, finding.figures["steps"]), "pace") == ()


def test_frames_and_worst_frame_are_told(pan, one):
    finding = one(pan(0.25, 48, ease="odd", ease_in=10, ease_out=20), "pace")
    (run,) = finding.frames
    assert run[0] > 5
    assert run[1] < 45
    assert run[0] <= finding.figures["worst_frame"] <= run[1]


@pytest.mark.parametrize("fps", [12, 24, 25, 60])
def test_a_step_is_judged_alike_at_every_rate(pan, found, fps):
    assert found(pan(0.5, 100, ease="none", fps=fps), "pace") == ()
    assert found(pan(0.62, 100, ease="none", fps=fps), "pace") != ()


def test_the_crossing_time_scales_with_the_rate(pan, one):
    slow, fast = (one(pan(0.7, 100, ease="none", fps=fps), "pace") for fps in (24, 48))
    assert slow.figures["crossing_seconds"] == pytest.approx(2 * fast.figures["crossing_seconds"])


@pytest.mark.parametrize(
    ("limits", "times"),
    [
        ({}, 1.0),
        # What is not covered by blur is 1 - angle / 360 of a step; at 180 degrees a half.
        ({"shutter": 0}, 0.5),
        ({"shutter": 90}, 2 / 3),
        ({"shutter": 270}, 2.0),
        ({"crossing": 14}, 0.5),
    ],
)
def test_shutter_and_crossing_time_scale_the_rule(pan, limits, times):
    facts = Facts(pan(0.3, 48, limits=Limits(**limits)))
    assert calm_step(facts) == pytest.approx(times * CALM)


def test_more_blur_than_the_limit_supposes_allows_more(pan):
    shot = pan(0.3, 48)
    facts = Facts(replace(shot, delivery=replace(shot.delivery, shutter=270)))
    assert calm_step(facts) == pytest.approx(2 * CALM)


def test_sideways_from_the_stand_rule_on_it_strobes_instead(pan, one, found, relengthened):
    # 0.1 in a frame on a field 12 in wide is 0.833 % of the width: drawn-animation handbooks.
    shot = pan(0.84, 100, ease="none")
    finding = one(shot, "strobing")
    assert finding.measured == pytest.approx(0.84)
    assert found(shot, "pace") == ()
    assert found(pan(0.83, 100, ease="none"), "strobing") == ()
    mended = relengthened(shot, 1, finding.figures["steps"])
    assert found(mended, "strobing") == ()
    assert finding.figures["steps"] == 101


def test_a_tilt_does_not_strobe_on_upright_edges(shot, key, found):
    tilt = shot(key(1, 3000, 1200, 2000), key(101, 3000, 1200 + 0.9 * 2000, 2000, ease="none"))
    assert found(tilt, "strobing") == ()
    assert len(found(tilt, "pace")) == 1


# --- strobing, where the stills' pixels are looked at


BACKDROP = gaussian_filter(np.random.default_rng(8).normal(0, 1, (600, 900)), 25)


def a_set(post=None, rail=None, dark=70):
    """A painted backdrop, 8 bits, with a post from x on or a rail from y down before it."""
    grey = 150 + 20 * BACKDROP / BACKDROP.std()
    if post is not None:
        grey[150:, post : post + 12] = dark
    if rail is not None:
        grey[rail : rail + 12] = dark
    return np.repeat(np.clip(grey, 0, 255)[..., None], 3, axis=2).astype(np.uint8)


@pytest.fixture
def across(photographed, key):
    """A move over one still of 900 x 600 by a share of the frame's width of 450 px a frame."""

    def made(picture, right=0.0, down=0.0, steps=30, **more):
        first = key(1, 300, 300, 450)
        last = key(1 + steps, 300 + 450 * right * steps, 300 + 450 * down * steps, 450, ease="none")
        size = Size(450, 253)
        moving = replace(photographed([picture]), keys=(first, last))
        return replace(moving, delivery=Delivery(size=size), frames=None, **more)

    return made


def test_a_post_in_the_picture_strobes_and_is_told_with_its_place(across, one):
    finding = one(across(a_set(post=400), right=0.0085), "strobing", stills=True)
    assert finding.measured == pytest.approx(0.85)
    assert finding.figures["way"] == "upright"
    (x, _), (_, y) = finding.figures["ends"]
    assert x == pytest.approx(400, abs=2) or x == pytest.approx(412, abs=2)
    assert y == pytest.approx(300 + 253 / 2, abs=4)
    assert finding.figures["contrast"] > 25
    assert finding.figures["still"] == 1
    assert "a strong upright edge (still 1, columns " in finding.what
    assert finding.frames == ((2, 31),)


def test_of_several_posts_the_strongest_is_told(across, one):
    # Between two that are half as dark and taller; all are in the frame all the time.
    picture = np.minimum(a_set(post=340, dark=85), a_set(post=460, dark=85))
    picture[200:] = np.minimum(picture, a_set(post=400, dark=10))[200:]
    finding = one(across(picture, right=0.0085), "strobing", stills=True)
    (x, _), _ = finding.figures["ends"]
    assert 395 < x < 417
    assert finding.figures["edges"] == 6


def test_one_still_serves_a_longer_move_and_no_more_are_asked_for(across, one, photographed):
    of_one = across(a_set(post=400), right=0.0085)
    assert "more still" not in one(of_one, "strobing", stills=True).remedy
    # 31 frames have 31 stills; 31 steps in place of 30 want one more.
    many = replace(of_one, stills=photographed([a_set(post=400)] * 31).stills)
    assert "(1 more still)" in one(many, "strobing", stills=True).remedy


def test_a_post_below_the_limit_passes(across, found):
    assert found(across(a_set(post=400), right=0.0082), "strobing", stills=True) == ()


def test_the_frames_told_are_those_that_show_the_post(across, one):
    finding = one(across(a_set(post=560), right=0.0085), "strobing", stills=True)
    ((first, last),) = finding.frames
    # Its left edge comes in at the right once the centre is past 560 - 225.
    assert first == pytest.approx(1 + (560 - 225 - 300) / (450 * 0.0085), abs=2)
    assert last == 31


@pytest.mark.parametrize(("picture", "strobes"), [(a_set(), 0), (a_set(post=400, dark=120), 0)])
def test_where_nothing_strong_stands_it_is_only_not_calm(across, found, picture, strobes):
    shot = across(picture, right=0.0085)
    assert len(found(shot, "strobing")) == 1
    assert len(found(shot, "strobing", stills=True)) == strobes
    assert found(shot, "pace") == ()
    assert len(found(shot, "pace", stills=True)) == 1


def test_a_post_that_strobes_is_not_told_as_not_calm_too(across, found):
    assert found(across(a_set(post=400), right=0.0085), "pace", stills=True) == ()


def test_the_remedy_for_a_post_in_the_picture_makes_it_pass(across, one, found, relengthened):
    shot = across(a_set(post=400), right=0.0085)
    steps = one(shot, "strobing", stills=True).figures["steps"]
    assert steps == 31
    assert found(relengthened(shot, 1, steps), "strobing", stills=True) == ()
    x, y, width, roll = one(shot, "strobing", stills=True).figures["end"]
    end = replace(shot.keys[1], framing=Framing(x=x, y=y, width=width, roll=roll))
    shorter = replace(shot, keys=(shot.keys[0], end))
    assert found(shorter, "strobing", stills=True) == ()


def test_a_rail_strobes_under_a_tilt_and_not_under_a_pan(across, one, found, relengthened):
    tilt = across(a_set(rail=350), down=0.0085, steps=20)
    finding = one(tilt, "strobing", stills=True)
    assert finding.figures["way"] == "level"
    assert "goes up or down" in finding.what
    mended = relengthened(tilt, 1, finding.figures["steps"])
    assert found(mended, "strobing", stills=True) == ()
    assert found(across(a_set(rail=350), right=0.0085), "strobing", stills=True) == ()
    assert found(across(a_set(post=400), down=0.0085, steps=20), "strobing", stills=True) == ()


def test_how_strong_and_how_long_can_be_changed(across, found):
    for limits in (Limits(strong_contrast=60), Limits(strong_length=100)):
        shot = across(a_set(post=400), right=0.0085, limits=limits)
        assert found(shot, "strobing", stills=True) == ()


def test_a_post_in_a_photograph_of_24_megapixels_is_found_to_its_pixel(photographed, key, one):
    picture = np.full((4000, 6000, 3), 170, dtype=np.uint8)
    picture[1500:, 3203:3300] = 60
    still = photographed([picture], suffix="jpg", save=lambda n: {"quality": 90})
    keys = (key(1, 2500, 2200, 2400), key(25, 2500 + 24 * 0.01 * 2400, 2200, 2400, ease="none"))
    finding = one(
        replace(still, keys=keys, delivery=Delivery(size=Size(1920, 1080)), frames=None),
        "strobing",
        stills=True,
    )
    (x, _), _ = finding.figures["ends"]
    assert min(abs(x - 3203), abs(x - 3300)) < 8  # read at an eighth of its size


def test_a_zip_pan_is_said_to_be_one(pan, one, found, relengthened):
    # 0.25 in a frame on a field 12 in wide is 2.083 %: drawn-animation handbooks.
    shot = pan(0.5, 12, ease_in=2, ease_out=3)
    finding = one(shot, "zip-pan")
    assert finding.measured > 2.083
    assert found(shot, "pace") == found(shot, "strobing") == ()
    mended = relengthened(shot, 1, finding.figures["steps"])
    assert not any(found(mended, id) for id in ("zip-pan", "strobing", "pace"))


def test_just_below_the_zip_pan_it_strobes(pan, found):
    shot = pan(0.208, 10, ease="none")
    assert found(shot, "zip-pan") == ()
    assert len(found(shot, "strobing")) == 1


def test_each_leg_has_a_finding_of_its_own(shot, key, found):
    there_and_back = shot(
        key(1, 1500, 2000, 3000), key(41, 2300, 2000, 3000), key(81, 1500, 2000, 3000)
    )
    assert [f.figures["leg"] for f in found(there_and_back, "strobing")] == [1, 2]


def test_a_cut_between_two_neighbouring_frames_is_no_pan(shot, key, found):
    cut = shot(key(1, 1500, 2000, 3000), key(24, 1500, 2000, 3000), key(25, 4000, 2000, 3000))
    assert not any(found(cut, id) for id in ("zip-pan", "strobing", "pace", "hard-start"))


def followed(shot, finding, way):
    """The shot as a half of a remedy words it; None where that half is not told."""
    figures, keys = finding.figures, list(shot.keys)
    stops = [n for n, key in enumerate(keys) if key.stop or n == 0]
    end = stops[figures["leg"]]
    if way == "less":
        if figures["end"] is None:
            return None
        x, y, width, roll = figures["end"]
        also = [int(frame) for frame in re.findall(r", and on frame (\d+)", finding.remedy)]
        for n, key in enumerate(keys):
            if n == end or key.frame in also:
                framing = replace(key.framing, x=x, y=y, width=width, roll=roll)
                keys[n] = replace(key, framing=framing)
        return replace(shot, keys=tuple(keys))
    if figures["steps"] is None:
        return None
    late = figures["steps"] - (keys[end].frame - keys[stops[figures["leg"] - 1]].frame)
    usual = []
    if 'ease = "even"' in finding.remedy:
        wide = "legs beside it" in finding.remedy
        usual = stops[max(1, figures["leg"] - wide) : figures["leg"] + 1 + wide]
    for n, key in enumerate(keys):
        frame = figures["passed"].get(str(key.frame), key.frame + late * (n >= end))
        eased = {"ease": None, "ease_in": None, "ease_out": None} if n in usual else {}
        keys[n] = replace(key, frame=frame, **eased)
    return replace(shot, keys=tuple(keys))


def graver(before, after, level):
    """The ids of findings above a level that a shot had fewer of before."""
    now, was = (
        Counter(f.id for f in findings_of(shot) if f.level > level) for shot in (after, before)
    )
    return [id for id in now if now[id] > was[id]]


@pytest.mark.parametrize("way", ["less", "longer"])
@pytest.mark.parametrize("ease", ["none", "even"])
@pytest.mark.parametrize("back", [-1, 1])
def test_a_remedy_brings_nothing_graver_to_the_legs_beside(key, shot, way, ease, back):
    # A whip to the right, then a calm leg; and the same with a whip that has no ease.
    keys = (
        key(1, 1600, 2000, 3000),
        key(13, 3200, 2000, 3000, ease=ease),
        key(61, 3200 + back * 250, 2000, 3000),
    )
    whole = shot(*keys)
    (finding,) = [f for f in findings_of(whole) if f.id == "zip-pan"]
    changed = followed(whole, finding, way)
    assert way == "less" or changed
    if changed:
        assert not graver(whole, changed, finding.level)
        assert not [f for f in findings_of(changed) if f.id == "zip-pan"]


def test_a_hold_after_goes_with_the_end_of_what_goes_less_far(key, shot):
    keys = (key(1, 1600, 2000, 3000), key(25, 2900, 2000, 3000), key(49, 2900, 2000, 3000))
    whole = shot(*keys)
    (finding,) = [f for f in findings_of(whole) if f.id == "zip-pan"]
    assert ", and on frame 49" in finding.remedy
    changed = followed(whole, finding, "less")
    assert changed.keys[2].framing == changed.keys[1].framing
    assert not [f for f in findings_of(changed) if f.level > finding.level]


@pytest.mark.parametrize("which", [0, 1])
def test_a_longer_leg_beside_one_without_an_ease_is_told_the_eases_too(key, shot, which):
    # Two whips that meet at a key, the first at full speed; one alone made longer, they jolt there.
    keys = (
        key(1, 2761, 2533, 4670),
        key(13, 2199, 2451, 3384, ease="none"),
        key(25, 3145, 2871, 2779),
    )
    whole = shot(*keys)
    finding = [f for f in findings_of(whole) if f.id == "zip-pan"][which]
    changed = followed(whole, finding, "longer")
    assert changed
    assert not graver(whole, changed, finding.level)
