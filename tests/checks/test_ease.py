"""Starts, stops, slow ends and holds."""

from dataclasses import replace

import pytest

from cropmove.checks.retime import lasting, with_ease
from cropmove.limits import Limits


@pytest.mark.parametrize(
    ("id", "ease"),
    [
        ("hard-start", {"ease": "none"}),
        ("hard-start", {"ease_in": 0, "ease_out": 10}),
        ("hard-start", {"ease": "ease-out"}),
        ("hard-stop", {"ease": "none"}),
        ("hard-stop", {"ease_in": 10, "ease_out": 0}),
        ("hard-stop", {"ease": "ease-in"}),
        ("hard-start", {"ease_in": 40, "ease_out": 8, "ease": "none"}),
    ],
)
def test_a_jerk_is_told_and_its_remedy_takes_it_out(pan, one, found, eased, id, ease):
    if ease.get("ease") == "none":
        ease = {"ease": "none"}
    shot = pan(0.2, 48, **ease)
    figures = one(shot, id).figures
    mended = eased(
        shot, 1, ease=figures["ease"], ease_in=figures["ease_in"], ease_out=figures["ease_out"]
    )
    assert found(mended, id) == ()


@pytest.mark.parametrize(("id", "passed"), [("hard-start", 2), ("hard-stop", 48)])
def test_a_key_passed_too_near_the_end_for_any_ease_asks_for_a_longer_leg(
    shot, key, one, found, id, passed
):
    ends = key(1, 1500, 2000, 3000), key(49, 2700, 2000, 3000)
    hard = shot(ends[0], key(passed, 2100, 2000, 3000, stop=False), ends[1])
    figures = one(hard, id).figures
    ease = {name: figures[name] for name in ("ease_in", "ease_out")}
    mended = replace(hard, keys=with_ease(lasting(hard.keys, figures["steps"]), **ease))
    assert figures["steps"] > 48
    assert found(mended, id) == ()
    # Said in words that leave nothing to work out.
    told, ends_on = one(hard, id).remedy, mended.keys[-1].frame
    assert f"{figures['steps']} steps" in told
    assert f"end it on frame {ends_on} and move its passed keys from frame {passed} to " in told
    assert f"frame {passed} to {mended.keys[1].frame}" in told


def test_one_frame_of_ease_is_too_little_and_two_are_enough(pan, found):
    # With evenly growing steps the first of n is 1 / (n + 1) of the cruise: 50 % and 33 %.
    assert len(found(pan(0.2, 48, ease_in=1, ease_out=10), "hard-start")) == 1
    assert found(pan(0.2, 48, ease_in=2, ease_out=10), "hard-start") == ()


def test_the_default_ease_starts_and_stops_softly(pan, found):
    shot = pan(0.2, 48)
    assert found(shot, "hard-start") == found(shot, "hard-stop") == ()


def test_a_start_that_is_hardly_seen_is_let_be(pan, found):
    # 0.05 % of the width a frame, about a pixel in 1920.
    assert found(pan(0.0004 * 48, 48, ease="none"), "hard-start") == ()
    assert len(found(pan(0.0006 * 48, 48, ease="none"), "hard-start")) == 1


def test_a_leg_that_comes_in_moving_does_not_start(shot, key, found):
    through = shot(
        key(1, 1500, 2000, 3000),
        key(25, 1800, 2000, 3000, ease_in=8, ease_out=0),
        key(49, 2100, 2000, 3000, ease_in=0, ease_out=8),
    )
    assert found(through, "hard-start") == found(through, "hard-stop") == ()


def test_a_shot_that_ends_before_the_move_does_not_stop_hard(pan, found):
    assert found(pan(0.2, 48, ease="none", frames=30), "hard-stop") == ()


def test_an_ease_out_shorter_than_the_ease_in_is_told(pan, one, found, eased):
    shot = pan(0.2, 48, ease_in=12, ease_out=11)
    finding = one(shot, "short-ease-out")
    assert (finding.measured, finding.limit) == (11, 12)
    lengths = {name: finding.figures[name] for name in ("ease_in", "ease_out")}
    assert found(eased(shot, 1, **lengths), "short-ease-out") == ()
    assert found(pan(0.2, 48, ease_in=12, ease_out=12), "short-ease-out") == ()


def test_the_remedy_for_a_short_ease_out_fits_a_full_leg(pan, one, found, eased):
    shot = pan(0.2, 48, ease_in=40, ease_out=8)
    figures = one(shot, "short-ease-out").figures
    lengths = {name: figures[name] for name in ("ease_in", "ease_out")}
    assert sum(lengths.values()) <= 48
    assert found(eased(shot, 1, **lengths), "short-ease-out") == ()


def test_a_slow_end_is_told_and_a_shorter_ease_out_mends_it(pan, one, found, eased):
    shot = pan(0.01, 100, ease="smooth", ease_in=10, ease_out=80)
    finding = one(shot, "slow-end")
    assert finding.measured > finding.limit == 12
    ease_out = finding.figures["ease_out"]
    assert ease_out < 80
    assert found(eased(shot, 1, ease_in=10, ease_out=ease_out), "slow-end") == ()
    assert len(found(eased(shot, 1, ease_in=10, ease_out=ease_out + 1), "slow-end")) == 1


def test_a_move_too_slow_throughout_is_done_in_fewer_steps(pan, one, found, relengthened):
    shot = pan(0.001, 400, ease="none")
    finding = one(shot, "slow-end")
    steps = finding.figures["steps"]
    assert found(relengthened(shot, 1, steps), "slow-end") == ()
    assert f"move the key on frame 401 to {1 + steps} and hold from there" in finding.remedy


def test_keys_that_leave_no_room_for_fewer_steps_are_told_without_numbers(shot, key, one):
    close = [key(n, 1500 + n * 1e-4, 2000, 3000, stop=n in (1, 40)) for n in range(1, 40, 2)]
    remedy = one(shot(*close, key(40, 1500.004, 2000, 3000)), "slow-end").remedy
    assert remedy == "let it go further, or leave it out and hold until frame 40"


def test_the_limit_of_a_slow_end_can_be_changed(pan, found):
    slow = {"ease": "smooth", "ease_in": 10, "ease_out": 80}
    assert found(pan(0.01, 100, **slow, limits=Limits(slow_end=60)), "slow-end") == ()


def test_no_hold_says_what_to_write(pan, one, found):
    shot = pan(0.1, 48)
    late = tuple(replace(key, frame=key.frame + 4) for key in shot.keys)
    remedy = one(replace(shot, keys=late), "no-hold").remedy
    assert "let all keys come 1 frame later and write frames = 59 under [shot]" in remedy
    mended = tuple(replace(key, frame=key.frame + 1) for key in late)
    assert found(replace(shot, keys=mended, frames=59), "no-hold") == ()


def test_no_hold_at_either_end_is_told_once(pan, one, found):
    finding = one(pan(0.1, 48), "no-hold")
    assert finding.frames == ((1, 1), (49, 49))
    held_at_the_end = pan(0.1, 48, frames=49 + 5)
    assert found(held_at_the_end, "no-hold") == ()
    assert len(found(pan(0.1, 48, frames=49 + 4), "no-hold")) == 1


def test_the_remedy_holds_inside_the_same_length(pan, one, found):
    shot = pan(0.1, 48)
    figures = one(shot, "no-hold").figures
    first, last = figures["first_key"], figures["last_key"]
    keys = (replace(shot.keys[0], frame=first), replace(shot.keys[1], frame=last))
    mended = replace(shot, keys=keys, frames=49)
    assert found(mended, "no-hold") == ()
    assert mended.length == shot.length


def test_the_remedy_may_make_the_shot_longer(pan, one, found):
    shot = pan(0.1, 48, ease_in=20, ease_out=28)
    figures = one(shot, "no-hold").figures
    assert figures["first_key"] is None
    keys = tuple(replace(key, frame=key.frame + figures["later"]) for key in shot.keys)
    assert found(replace(shot, keys=keys, frames=figures["frames"]), "no-hold") == ()


def test_a_move_is_not_squeezed_until_it_strobes(pan, one, found):
    # 25 px of 3000 a frame strobe; held for six frames at either end this one would step by 27.
    assert found(pan(0.37, 60), "strobing") == ()
    assert "begin the move" not in one(pan(0.37, 60), "no-hold").remedy
    assert "begin the move" in one(pan(0.1, 60), "no-hold").remedy


def test_a_shot_that_ends_on_the_way_is_not_held_by_lasting_longer(pan, one, found):
    cut_off = replace(pan(0.1, 48), frames=40)
    figures = one(cut_off, "no-hold").figures
    keys = tuple(replace(key, frame=key.frame + figures["later"]) for key in cut_off.keys)
    held = replace(cut_off, keys=keys, frames=figures["frames"])
    assert found(held, "no-hold") == ()
    assert held.keys[-1].frame - held.length == 49 - 40


def test_a_locked_off_camera_holds_throughout(shot, key, found):
    assert found(shot(key(1, 3000, 2000, 4000), frames=3), "no-hold") == ()


def test_a_shot_that_ends_before_the_move_does_not_end_slowly(pan, found):
    slow = {"ease": "smooth", "ease_in": 10, "ease_out": 80}
    assert found(pan(0.01, 100, **slow, frames=100), "slow-end") == ()


def test_a_move_is_not_squeezed_into_a_cut(pan, one, found):
    # Holds of 6 frames at either end of 12 leave one step; a move has two and more. It goes less
    # far than 0.05 % of the width a step, so that nobody sees it start.
    shot = pan(0.0009, 11)
    figures = one(shot, "no-hold").figures
    assert (figures["first_key"], figures["last_key"]) == (None, None)
    assert one(pan(0.0009, 12), "no-hold").figures["first_key"] == 6


def test_a_move_is_not_squeezed_until_it_jerks(pan, one):
    # In two steps the first is as large as the second.
    assert one(pan(0.005, 12), "no-hold").figures["first_key"] is None


@pytest.mark.parametrize(
    ("id", "frame", "before", "after"),
    [("hard-stop", 49, {"ease_out": 0}, {}), ("hard-start", 51, {}, {"ease_in": 0})],
)
def test_a_jerk_into_a_cut_or_out_of_one_is_told(shot, key, one, id, frame, before, after):
    cut = shot(
        key(1, 1500, 2000, 2400),
        key(49, 2100, 2000, 2400, **({"ease_in": 8} | before if before else {})),
        key(50, 3500, 2000, 2400),
        key(98, 4100, 2000, 2400, **({"ease_out": 8} | after if after else {})),
    )
    assert one(cut, id).frames == ((frame, frame),)
