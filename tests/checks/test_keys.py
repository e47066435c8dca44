"""Shots that end before their last key."""

from dataclasses import replace


def test_a_move_ends_sooner_where_its_keys_find_room_and_it_stays_smooth(pan, one, found):
    cut_off = replace(pan(0.1, 48), frames=40)
    remedy = one(cut_off, "key-unreached").remedy
    assert remedy.endswith("frames = 49, or end the move on frame 40, all keys in proportion")
    sooner = replace(cut_off, keys=(cut_off.keys[0], replace(cut_off.keys[1], frame=40)))
    assert found(sooner, "key-unreached") == ()
    assert found(sooner, "strobing") == ()


def test_it_is_not_told_to_where_it_would_strobe_or_finds_no_room(pan, one, shot, key):
    # 0.833 % of the width a frame: 40 % of it in 24 steps go twice as fast.
    assert one(replace(pan(0.4, 96), frames=25), "key-unreached").remedy.endswith("frames = 97")
    close = shot(*(key(n, 1500 + n, 2000, 3000) for n in (1, 20, 21, 22, 60)), frames=12)
    assert one(close, "key-unreached").remedy.endswith("frames = 60")
