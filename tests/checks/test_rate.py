"""Camera moves below 24 frames a second, and cameras that move on twos."""

from dataclasses import replace
from fractions import Fraction

import pytest
from by_hand import a_rig

from cropmove import marking
from cropmove.move.key import Key
from cropmove.rig.optics import Lens
from cropmove.units import rate


@pytest.mark.parametrize("fps", ["24000/1001", "24", "25", "30000/1001"])
def test_the_rates_of_the_standards_are_fast_enough(pan, found, fps):
    # ITU-R BT.709-6 and SMPTE ST 274 list 24 / 1.001 as the slowest.
    assert found(pan(0.1, 48, fps=Fraction(fps)), "low-rate") == ()


@pytest.mark.parametrize(("fps", "times"), [("12", 2), ("12000/1001", 2), ("8", 3), ("15", 2)])
def test_the_remedy_raises_the_rate_and_keeps_stills_and_seconds(pan, one, found, fps, times):
    shot = pan(0.1, 24, fps=Fraction(fps), on=1, frames=25)
    finding = one(shot, "low-rate")
    assert finding.measured == pytest.approx(float(Fraction(fps)))
    figures = finding.figures
    assert figures["times"] == times
    keys = tuple(replace(k, frame=(k.frame - 1) * times + 1) for k in shot.keys)
    mended = replace(shot, fps=rate(figures["fps"]), on=figures["on"], keys=keys, frames=25 * times)
    assert found(mended, "low-rate") == ()
    assert mended.length / mended.fps == shot.length / shot.fps


def test_a_camera_that_does_not_move_may_have_any_rate(shot, key, found):
    assert found(shot(key(1, 3000, 2000, 4000), fps=12, frames=48), "low-rate") == ()


def stepping(shot, key, times: int, pause: int):
    keys: list[Key] = []
    for number in range(times + 1):
        for frame in range(pause + 1):
            at = 1 + number * (pause + 1) + frame
            keys.append(key(at, 2000 + 12 * number, 2000, 3000))
    return shot(*keys)


@pytest.mark.parametrize("pause", [1, 2])
def test_a_camera_that_moves_in_turn_with_standing_is_on_twos(shot, key, one, pause):
    finding = one(stepping(shot, key, 8, pause), "on-twos")
    assert finding.measured == pause + 1
    assert finding.figures["times"] == 7


def test_a_few_halts_are_no_twos(shot, key, found):
    assert found(stepping(shot, key, 4, 1), "on-twos") == ()
    assert len(found(stepping(shot, key, 5, 1), "on-twos")) == 1


def test_the_remedy_makes_it_move_on_every_frame(shot, key, one, found):
    stepped = stepping(shot, key, 8, 1)
    held = one(stepped, "on-twos").figures["holding_keys"]
    left = [k for k in stepped.keys if k.frame not in held]
    keys = (left[0], *(replace(k, stop=False) for k in left[1:-1]), left[-1])
    assert found(replace(stepped, keys=keys), "on-twos") == ()


def test_a_move_on_ones_over_stills_on_twos_is_as_it_should_be(pan, found):
    assert found(pan(0.1, 48, on=2), "on-twos") == ()


def test_a_twin_of_a_rig_on_twos_is_made_anew_for_every_frame(one, found, key, shot):
    slider = a_rig("slider", "camera sideways", follows="keys")
    lens = Lens(focal_length=50, distance=800)
    ends = key(1, 3000, 2000, 6000), key(48, 3200, 2000, 6000)
    rigged = shot(*ends, on=2, lens=lens, rigs=(slider,))
    remedy = one(marking.twin(rigged), "on-twos").remedy
    assert "take out" not in remedy
    assert remedy.endswith("write the twin anew then")
    assert "on_ones" in remedy
    assert found(marking.twin(marking.on_ones(rigged)), "on-twos") == ()
