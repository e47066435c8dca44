"""Moves with a key on every frame: judged as moves, and the words of their remedies followed."""

import re
from dataclasses import replace

import pytest

STRAIGHT = {"ease": None, "ease_in": None, "ease_out": None}


@pytest.fixture
def framewise(shot, key):
    """A pan to the right by so many pixels of the still a frame, a framing 3000 px wide."""

    def made(*steps, **more):
        places = [1500.0]
        for step in steps:
            places.append(places[-1] + step)
        return shot(*(key(n, x, 2000, 3000) for n, x in enumerate(places, start=1)), **more)

    return made


def further_apart(shot, finding):
    """The keys as the first half of the remedy sets them."""
    told = re.match(r"(?:.*calmly, )?set its keys (\d+) frames apart, with stop = false", finding)
    by, last = int(told[1]), len(shot.keys) - 1
    return replace(
        shot,
        keys=tuple(
            replace(key, frame=1 + n * by, stop=n in (0, last)) for n, key in enumerate(shot.keys)
        ),
    )


# 0.833 % of 3000 px are 25 px, a 168th is 17.9, 2.083 % are 62.5: as docs/checks.md gives them.
@pytest.mark.parametrize(
    ("id", "below", "beyond"),
    [("pace", 17.8, 17.9), ("strobing", 24.9, 25.1), ("zip-pan", 62.4, 62.6)],
)
def test_a_key_on_every_frame_is_judged_as_the_move_it_is(framewise, found, id, below, beyond):
    assert found(framewise(*[below] * 23), id) == ()
    (finding,) = found(framewise(*[beyond] * 23), id)
    assert finding.frames == ((2, 24),)


@pytest.mark.parametrize(("id", "step"), [("pace", 20), ("strobing", 40), ("zip-pan", 90)])
def test_its_keys_further_apart_make_it_pass(framewise, one, found, id, step):
    racing = framewise(*[step] * 23)
    finding = one(racing, id)
    mended = further_apart(racing, finding.remedy)
    assert found(mended, id) == ()
    assert found(mended, "jolt") == ()
    assert mended.length == 1 + finding.figures["steps"] == finding.figures["last_frame"]
    assert f"the last on frame {mended.length}" in finding.remedy


@pytest.mark.parametrize(("id", "step"), [("pace", 20), ("strobing", 40), ("zip-pan", 90)])
def test_so_does_one_leg_in_their_place(framewise, one, found, id, step):
    racing = framewise(*[step] * 23)
    told = one(racing, id).remedy
    assert "take out the keys on frames 2-23 (its way becomes straight) and give it" in told
    last = int(re.search(r"end it on frame (\d+)$", told)[1])
    ends = racing.keys[0], replace(racing.keys[-1], frame=last)
    for gone in (id, "hard-start", "hard-stop"):
        assert found(replace(racing, keys=ends), gone) == ()


@pytest.mark.parametrize("id", ["hard-start", "hard-stop"])
def test_it_starts_and_stops_hard_or_softly(framewise, one, found, id):
    grows = [4, 8, 12, 15, *[16] * 10, 15, 12, 8, 4]
    assert found(framewise(*grows), id) == ()
    hard = framewise(*[16] * 20)
    told = one(hard, id).remedy
    length = re.fullmatch(
        r"take out the keys on frames 2-20 \(its way becomes straight\) and write "
        r"(ease_in|ease_out) = (\d+) for the leg that ends on frame 21",
        told,
    )
    end = replace(hard.keys[-1], **{length[1]: int(length[2])})
    assert found(replace(hard, keys=(hard.keys[0], end)), id) == ()


def test_one_that_comes_back_is_told_without_a_straight_way(framewise, one):
    there_and_back = framewise(*[40] * 12, *[-40] * 12)
    assert "take out" not in one(there_and_back, "strobing").remedy
    assert one(there_and_back, "hard-start").remedy == (
        "let its steps grow from small ones, frame by frame"
    )


def test_what_creeps_on_at_its_end_is_told_and_mended(framewise, one, found):
    # 0.0025 % of 3000 px are 0.075: twelve such steps are let be, as docs/checks.md says.
    start = [4, 8, 12, 16, 12, 8, 4]
    assert found(framewise(*start, *[0.07] * 12), "slow-end") == ()
    creeps = framewise(*start, *[0.07] * 20)
    told = one(creeps, "slow-end").remedy
    last, end = map(int, re.findall(r"\d+", told))
    keys = [key for key in creeps.keys if key.frame <= last or key.frame == end]
    keys[-2] = replace(keys[-2], framing=keys[-1].framing)
    assert found(replace(creeps, keys=tuple(keys)), "slow-end") == ()


@pytest.mark.parametrize("jumps", [[900], [900, -900]])
def test_a_cut_and_a_cut_back_after_one_frame_are_not_judged(framewise, found, jumps):
    still = [0] * 12
    for id in ("pace", "strobing", "zip-pan", "hard-start", "hard-stop", "jolt"):
        assert found(framewise(*still, *jumps, *still), id) == ()


def test_what_comes_after_it_is_told_to_come_later(framewise, key, one):
    hold = key(40, 1500 + 23 * 40, 2000, 3000)
    move = framewise(*[40] * 23)
    told = one(replace(move, keys=(*move.keys, hold), frames=40), "strobing").remedy
    assert "the last on frame 70, and every key after it as many frames later" in told
    assert "and frames = 86" in told
