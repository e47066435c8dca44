"""Changes of step out of proportion to their neighbours, and kinks at keys."""

from dataclasses import replace

import pytest

from cropmove.limits import Limits
from cropmove.move.ease import EASES


def applied(shot, finding):
    """The keys that the remedy leaves, on the frames and with the stops it tells."""
    told = finding.figures["keys"]
    if len(told) < len(shot.keys):
        kept = {entry["frame"] for entry in told}
        return replace(shot, keys=tuple(k for k in shot.keys if k.frame in kept))
    keys = []
    for key, entry in zip(shot.keys, told, strict=True):
        stays = key.stop == entry["stop"]
        plain = {} if stays else {"ease": None, "ease_in": None, "ease_out": None}
        keys.append(replace(key, **plain, **entry))
    return replace(shot, keys=tuple(keys))


@pytest.fixture
def hurried(shot, key):
    """Two keys passed far too close together in time for what lies between them."""
    return shot(
        key(1, 1500, 2000, 3000),
        key(24, 1600, 2000, 3000, stop=False),
        key(26, 2000, 2000, 3000, stop=False),
        key(49, 2100, 2000, 3000),
    )


def test_a_change_of_pace_at_a_passed_key_is_told(hurried, one):
    finding = one(hurried, "jolt")
    assert 22 <= finding.figures["worst_frame"] <= 28
    assert finding.measured > finding.limit == 7


def test_the_remedy_takes_the_jolt_out(hurried, one, found):
    mended = applied(hurried, one(hurried, "jolt"))
    assert found(mended, "jolt") == ()


def test_a_kink_between_two_legs_that_do_not_stop_is_told_and_mended(shot, key, one, found):
    kinked = shot(
        key(1, 1500, 1500, 3000),
        key(25, 1800, 1500, 3000, ease_in=8, ease_out=0),
        key(49, 1800, 1800, 3000, ease_in=0, ease_out=8),
    )
    finding = one(kinked, "jolt")
    assert finding.figures["worst_frame"] == 25
    assert "stop = false" in finding.remedy
    assert found(applied(kinked, finding), "jolt") == ()


def test_the_same_legs_in_one_line_have_no_kink(shot, key, found):
    straight = shot(
        key(1, 1500, 1500, 3000),
        key(25, 1800, 1500, 3000, ease_in=8, ease_out=0),
        key(49, 2100, 1500, 3000, ease_in=0, ease_out=8),
    )
    assert found(straight, "jolt") == ()


@pytest.fixture
def paces(shot, key):
    """Two legs of so many pixels, without an ease where they meet."""

    def made(first, second):
        return shot(
            key(1, 1500, 1500, 3000),
            key(25, 1500 + first, 1500, 3000, ease_in=8, ease_out=0),
            key(49, 1500 + first + second, 1500, 3000, ease_in=0, ease_out=8),
        )

    return made


def test_a_little_change_is_let_be_and_a_little_more_is_told(paces, found):
    # A change of speed is just noticed at about 7 %: De Bruyn & Orban 1988. The slower cruise is
    # 900 / 20 px, 1.5 % of the width: 6 % of it is more than the 0.05 % of a visible change.
    assert found(paces(900, 900 / 0.94), "jolt") == ()
    assert len(found(paces(900, 900 / 0.92), "jolt")) == 1


def test_a_change_that_is_noticed_but_hardly_seen_is_let_be(paces, found):
    # The slower cruise is 15 px, 0.5 % of the width: a change of 8 % is 0.043 % of it, less than
    # about a pixel in 1920; one of 15 % is 0.088 %.
    assert found(paces(300, 300 / 0.92), "jolt") == ()
    assert len(found(paces(300, 300 / 0.85), "jolt")) == 1


def test_a_jolt_at_many_keys_is_mended_whatever_it_takes(shot, key, one, found):
    far = [0, 30, 200, 210, 400, 405, 700]
    keys = [
        key(1 + 4 * n, 1500 + x, 2000, 3000, stop=n in (0, len(far) - 1)) for n, x in enumerate(far)
    ]
    jolting = shot(*keys)
    assert found(applied(jolting, one(jolting, "jolt")), "jolt") == ()


@pytest.mark.parametrize("ease", EASES)
def test_no_ease_is_a_jolt_by_itself(pan, found, ease):
    for share in (0.05, 0.3):
        assert found(pan(share, 48, ease=ease), "jolt") == ()


@pytest.mark.parametrize("length", [1, 2, 3, 5, 24])
def test_no_length_of_a_ramp_is_a_jolt_by_itself(pan, found, length):
    for name, ease in EASES.items():
        if ease.has_lengths:
            shot = pan(0.2, 48, ease=name, ease_in=length, ease_out=length)
            assert found(shot, "jolt") == ()


def test_what_change_is_judged_can_be_changed(hurried, found):
    assert found(replace(hurried, limits=Limits(visible_change=10)), "jolt") == ()


def test_a_cut_is_no_jolt(shot, key, found):
    # docs/shot-file.md: two keys a frame apart are a cut. Both sides are eased.
    cut = shot(
        key(1, 1500, 2000, 2400),
        key(49, 1700, 2000, 2400),
        key(50, 4000, 2000, 2400),
        key(98, 4200, 2000, 2400),
    )
    for id in ("jolt", "hard-start", "hard-stop"):
        assert found(cut, id) == ()


def test_a_jolt_beside_a_cut_is_told_and_its_remedy_keeps_the_cut(hurried, key, one, found):
    after = key(50, 4000, 2000, 3000), key(98, 4200, 2000, 3000)
    both = replace(hurried, keys=(*hurried.keys, *after), frames=98)
    finding = one(both, "jolt")
    assert 22 <= finding.figures["worst_frame"] <= 28
    mended = applied(both, finding)
    assert {49, 50} <= {key.frame for key in mended.keys}
    assert found(mended, "jolt") == ()


def test_keys_on_every_frame_are_no_cuts(shot, key, found):
    # A way by numbers from elsewhere, of 20 px a frame, with a knock of 60 px on frame 12.
    places = [1500 + 20 * n + 60 * (n >= 11) for n in range(24)]
    knocked = shot(*(key(n + 1, x, 2000, 3000) for n, x in enumerate(places)))
    assert [finding.figures["worst_frame"] for finding in found(knocked, "jolt")] in ([11], [12])
