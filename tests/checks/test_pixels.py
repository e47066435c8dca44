"""Stills used twice, flicker and bumps, in pictures made for it."""

import warnings
from dataclasses import replace

import numpy as np
import pytest
import tifffile
from by_hand import a_rig, a_table
from scipy.ndimage import gaussian_filter
from scipy.ndimage import shift as shifted

from cropmove.checks.pixels import light_of_what_stands
from cropmove.geometry import Size
from cropmove.limits import Limits
from cropmove.picture.light import SRGB, decode, encode
from cropmove.rig.rig import Stop
from cropmove.shot import Stills
from cropmove.stills.find import find_stills

HEIGHT, WIDTH = 160, 240


@pytest.fixture(scope="module")
def table():
    """A still life with detail of all sizes, in linear light."""
    noise = np.random.default_rng(3).random((HEIGHT, WIDTH, 3))
    light = sum(gaussian_filter(noise, (s, s, 0)) * s for s in (1.2, 3, 9))
    light = (light - light.min()) / np.ptp(light)
    return 0.05 + 0.75 * light


def codes(light, seed):
    """As a camera would save it, with a little noise of its own."""
    noise = np.random.default_rng(seed).normal(0, 0.004, light.shape)
    return np.round(255 * encode(np.clip(light + noise, 0, 1), SRGB)).astype(np.uint8)


def with_puppet(light, number):
    """A bright puppet that walks through the picture, four pixels a still."""
    light = light.copy()
    left = 20 + 4 * number
    light[60:110, left : left + 30] = 0.75
    return light


@pytest.fixture
def scene(table, photographed):
    """Stills with a walking puppet, lit and shifted as asked, still by still from 1."""

    def made(count=10, lit=None, moved=None, **more):
        pictures = []
        for number in range(1, count + 1):
            light = with_puppet(table, number) * (lit or {}).get(number, 1.0)
            across, down = (moved or {}).get(number, (0, 0))
            if across or down:
                light = shifted(light, (down, across, 0), order=3, mode="nearest")
            pictures.append(codes(light, number))
        return photographed(pictures, **more)

    return made


def test_a_quiet_scene_has_nothing_to_mend(scene, found):
    shot = scene()
    for id in ("still-again", "flicker", "bump"):
        assert found(shot, id, stills=True) == ()


def test_pixels_are_read_only_where_they_are_asked_for(scene, found):
    assert found(scene(lit={5: 1.2}), "flicker") == ()


# --- flicker


@pytest.mark.parametrize("factor", [1.035, 0.965, 1.2])
def test_a_still_of_other_light_flickers_and_the_remedy_evens_it_out(scene, one, found, factor):
    finding = one(scene(lit={5: factor}), "flicker", stills=True)
    assert finding.measured == pytest.approx(100 * abs(factor - 1), abs=0.8)
    (still,) = finding.figures["multiply"]
    assert still == "5"
    multiply = finding.figures["multiply"]["5"]
    assert multiply == pytest.approx(1 / factor, abs=0.006)
    assert found(scene(lit={5: factor * multiply}), "flicker", stills=True) == ()


def test_a_black_still_is_told_and_hides_no_flicker(scene, found):
    black, lit = found(scene(lit={4: 0.0, 7: 1.2}), "flicker", stills=True)
    assert black.frames == ((4, 4),)
    assert "no light" in black.what
    assert black.measured == pytest.approx(100, abs=1)
    assert list(lit.figures["multiply"]) == ["7"]
    assert lit.measured == pytest.approx(20, abs=0.8)


@pytest.mark.parametrize("place", [1, 10])
def test_a_black_still_at_an_end_is_all_that_is_told(scene, one, place):
    finding = one(scene(lit={place: 0.0}), "flicker", stills=True)
    assert finding.frames == ((place, place),)


def test_a_still_on_its_side_is_no_flicker_and_hides_none(table, photographed, one):
    pictures = [codes(with_puppet(table, n) * (1.2 if n == 7 else 1), n) for n in range(1, 11)]
    pictures[2] = np.rot90(pictures[2])
    finding = one(photographed(pictures), "flicker", stills=True)
    assert list(finding.figures["multiply"]) == ["7"]


def test_a_little_is_let_be(scene, found):
    assert found(scene(lit={5: 1.013}), "flicker", stills=True) == ()


def test_light_that_fades_slowly_is_no_flicker(scene, found):
    sunset = {number: 0.99**number for number in range(1, 11)}
    assert found(scene(lit=sunset), "flicker", stills=True) == ()


def test_a_lamp_that_stays_brighter_is_evened_out_as_well(scene, one, found):
    brighter = dict.fromkeys(range(6, 11), 1.06)
    finding = one(scene(lit=brighter), "flicker", stills=True)
    assert finding.figures["worst_still"] == 6
    multiply = finding.figures["multiply"]
    evened = {n: brighter.get(n, 1.0) * multiply.get(str(n), 1.0) for n in range(1, 11)}
    assert found(scene(lit=evened), "flicker", stills=True) == ()


@pytest.mark.parametrize("odd", [5, 9, 14])
def test_one_bright_still_in_a_sunset_is_mended_alone_and_the_sunset_stays(scene, one, found, odd):
    falling = {n: 1 - 0.012 * n for n in range(1, 21)}
    lit = falling | {odd: falling[odd] * 1.06}
    (still, multiply), *more = (
        one(scene(20, lit), "flicker", stills=True).figures["multiply"].items()
    )
    assert (still, more) == (str(odd), [])
    assert multiply == pytest.approx(1 / 1.06, abs=0.006)
    assert found(scene(20, lit | {odd: lit[odd] * multiply}), "flicker", stills=True) == ()


def test_what_moves_does_not_count():
    light = np.full((8, 10, 10), 0.4)
    for number in range(8):
        light[number, :, number] = 0.9
    assert light_of_what_stands(light) == pytest.approx(np.ones(8))


def test_what_moves_does_not_count_where_it_fills_nearly_half_of_the_picture():
    # 55 tiles stand, each with a little noise of its own; over the other 45 something bright goes.
    light = 0.4 * (1 + np.random.default_rng(1).normal(0, 0.01, (9, 10, 10)))
    light[4].flat[55:] *= 2
    assert light_of_what_stands(light) == pytest.approx(np.ones(9), abs=0.008)


def test_the_limit_of_flicker_can_be_changed(scene, found):
    shot = replace(scene(lit={5: 1.05}), limits=Limits(flicker=8))
    assert found(shot, "flicker", stills=True) == ()


# --- bumps

# The frame is 240 px wide at native scale: 0.05 % of it is 0.12 px.


def test_a_lasting_bump_is_told_with_its_way_and_the_remedy_takes_it_back(scene, one, found):
    moved = dict.fromkeys(range(6, 11), (1.5, -0.8))
    finding = one(scene(moved=moved), "bump", stills=True)
    assert (finding.figures["still"], finding.figures["last"]) == (6, 10)
    back = finding.figures["shift"]
    assert back == pytest.approx([-1.5, 0.8], abs=0.12)
    assert finding.frames == ((6, 10),)
    mended = {n: (x + back[0], y + back[1]) for n, (x, y) in moved.items()}
    assert found(scene(moved=mended), "bump", stills=True) == ()


def test_a_still_that_stands_off_alone_is_told_alone(scene, one, found):
    finding = one(scene(moved={4: (0, 2)}), "bump", stills=True)
    assert (finding.figures["still"], finding.figures["last"]) == (4, 4)
    assert "back after still 4" in finding.what
    x, y = finding.figures["shift"]
    assert found(scene(moved={4: (x, 2 + y)}), "bump", stills=True) == ()


def test_a_second_bump_another_way_is_not_the_first_one_s_way_back(scene, found):
    moved = dict.fromkeys(range(4, 8), (2, 0)) | dict.fromkeys(range(8, 11), (2, 2))
    told = found(scene(moved=moved), "bump", stills=True)
    assert [(f.figures["still"], f.figures["last"]) for f in told] == [(4, 10), (8, 10)]


def test_a_hair_is_let_be(scene, found):
    assert found(scene(moved={4: (0.05, 0)}), "bump", stills=True) == ()


def test_a_camera_that_really_moves_does_not_bump(scene, found):
    track = {number: (1.5 * number, 0) for number in range(1, 11)}
    assert found(scene(moved=track), "bump", stills=True) == ()


SLIDER = a_rig("slider", "camera sideways", ease_in=4, ease_out=6,
               stops=(Stop(1, 0.0), Stop(7, 0.0), Stop(24, 40.0)))  # fmt: skip


def slid(knocks=None):
    """What the slider does to 24 stills, 1.4 px to the millimetre, and what else befell them."""
    places = a_table(SLIDER, frames=24)["slider"].moved
    return {
        number: (-1.4 * place + (knocks or {}).get(number, 0), 0)
        for number, place in enumerate(places.tolist(), start=1)
    }


@pytest.mark.parametrize("reverse", [False, True])
def test_a_move_by_hand_that_went_as_planned_does_not_bump(reverse, scene, found):
    rig = replace(SLIDER, reverse=reverse)
    moved = {n: (-x if reverse else x, y) for n, (x, y) in slid().items()}
    assert found(scene(24, moved=moved, rigs=(rig,)), "bump", stills=True) == ()


@pytest.mark.parametrize("set_by", ["moved", "reading"])
def test_a_move_set_by_tape_or_by_list_does_not_bump(set_by, scene, found):
    coarse = a_rig("slider", "camera sideways", division=2.0, ease_in=4, ease_out=6,
                   stops=(Stop(1, 0.0), Stop(24, 40.0)))  # fmt: skip
    places = getattr(a_table(coarse, frames=24)["slider"], set_by)
    moved = {number: (-1.4 * place, 0) for number, place in enumerate(places.tolist(), start=1)}
    assert found(scene(24, moved=moved, rigs=(coarse,)), "bump", stills=True) == ()


@pytest.mark.parametrize("still", [5, 8, 15, 22])
def test_a_knock_in_a_move_by_hand_is_told_by_itself(still, scene, one):
    moved = slid(dict.fromkeys(range(still, 25), 2.0))
    finding = one(scene(24, moved=moved, rigs=(SLIDER,)), "bump", stills=True)
    assert (finding.figures["still"], finding.figures["last"]) == (still, 24)
    assert finding.figures["shift"] == pytest.approx([-2.0, 0.0], abs=0.12)


def test_a_bump_is_judged_in_delivered_pixels(scene, found):
    from cropmove.geometry import Size
    from cropmove.shot import Delivery

    small = Delivery(size=Size(24, 16))
    moved = {4: (0.9, 0)}
    assert len(found(scene(moved=moved), "bump", stills=True)) == 1
    bumped = scene(moved=moved, delivery=small, limits=Limits(bump=0.5))
    assert found(bumped, "bump", stills=True) == ()


@pytest.mark.parametrize(("count", "knocked"), [
    (4, [4]), (4, [3, 4]), (4, [2, 3, 4]), (4, [2]), (4, [2, 3]), (5, [5]), (6, [2, 3, 4]),
])  # fmt: skip
def test_in_a_few_stills_too_a_bump_is_told_once_and_whole(scene, one, found, count, knocked):
    moved = dict.fromkeys(knocked, (3.0, -2.0))
    finding = one(scene(count, moved=moved), "bump", stills=True)
    assert (finding.figures["still"], finding.figures["last"]) == (knocked[0], knocked[-1])
    assert finding.figures["shift"] == pytest.approx([-3.0, 2.0], abs=0.12)


def test_two_bumps_one_soon_after_the_other_are_told_as_two(scene, found):
    # In ten stills the last have few beside them, of an even number.
    moved = dict.fromkeys((6, 7), (4.7, -6.4)) | dict.fromkeys((8, 9, 10), (0.9, -7.7))
    told = found(scene(moved=moved), "bump", stills=True)
    assert [finding.figures["still"] for finding in told] == [6, 8]


# --- the same picture again


@pytest.fixture
def repeated(table, photographed):
    def made(order):
        return photographed([codes(with_puppet(table, n), n) for n in order])

    return made


def test_the_same_picture_out_of_order_is_told(repeated, one, found):
    finding = one(repeated([1, 2, 3, 4, 2, 5]), "still-again", stills=True)
    assert finding.figures["stills"] == [5]
    assert finding.figures["same"] == [[[2, 2], [5, 5]]]
    assert finding.frames == ((5, 5),)
    assert found(repeated([1, 2, 3, 4, 5]), "still-again", stills=True) == ()


def test_a_still_taken_out_shortens_a_shot_that_needs_them_all(repeated, one, found, key):
    shot = repeated([1, 2, 3, 4, 2, 5])
    last = replace(shot.keys[0], frame=6)
    remedy = one(replace(shot, keys=(*shot.keys, last)), "still-again", stills=True).remedy
    assert "end the move and the shot on frame 5" in remedy
    refs = tuple(ref for n, ref in enumerate(shot.stills.refs, start=1) if n != 5)
    left = replace(shot, stills=replace(shot.stills, refs=refs))
    assert found(replace(left, keys=(*shot.keys, last)), "too-few-stills")
    assert not found(replace(left, keys=(*shot.keys, replace(last, frame=5))), "too-few-stills")


def test_a_still_taken_out_leaves_no_number_missing(repeated, one, found):
    # Number 5 of 6 goes: without it the others would have a gap.
    shot = repeated([1, 2, 3, 4, 2, 5])
    assert (
        "or take it out and number the others anew" in one(shot, "still-again", stills=True).remedy
    )
    # The last of all leaves none.
    last = repeated([1, 2, 3, 4, 5, 2])
    assert "number the others" not in one(last, "still-again", stills=True).remedy


def test_a_held_neighbour_is_fine(repeated, found):
    assert found(repeated([1, 2, 2, 2, 3]), "still-again", stills=True) == ()


def test_progress_tells_every_still(scene, found):
    told = []
    found(scene(4), "bump", stills=True, progress=lambda *at: told.append(at))
    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_light_is_compared_in_linear_light():
    # 188 in sRGB is half the light of 255: IEC 61966-2-1.
    assert decode(np.uint8(188), SRGB) == pytest.approx(0.5, abs=0.003)


def test_light_that_is_no_number_is_looked_at_without_a_warning(pan, found, tmp_path):
    light = np.random.default_rng(5).random((HEIGHT, WIDTH, 3)).astype(np.float32)
    light[10:60, 20:80], light[70:90, 30:60], light[100:110] = np.nan, np.inf, -np.inf
    for number in range(1, 5):
        tifffile.imwrite(tmp_path / f"s_{number}.tif", light, photometric="rgb")
    refs = find_stills(".", tmp_path)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        shot = pan(0.01, 3, width=100, stills=Stills(refs=refs, size=Size(WIDTH, HEIGHT)))
        assert found(shot, "flicker", stills=True) == ()
        assert found(shot, "bump", stills=True) == ()


def test_one_strong_thing_that_starts_and_stops_is_no_bump(photographed, found, one):
    # It goes by 90 px a still before a soft ground, as an invented scene; then the camera is hit.
    rng = np.random.default_rng(5)
    ground = gaussian_filter(rng.normal(0, 1, (540, 860)), 2)
    ground = 128 + 25 * ground / ground.std()
    squares = np.kron(rng.uniform(0, 255, (19, 14)), np.ones((10, 10)))

    def picture(x, right=0):
        made = np.roll(ground, right, axis=1)[:, :760]
        made[150:340, x + right : x + right + 140] = squares
        made = np.clip(made + rng.normal(0, 4, made.shape), 0, 255)
        return np.repeat(made[..., None], 3, axis=2)

    places = [60, 60, 60, 150, 240, 330, 420, 420, 420]
    assert found(photographed([picture(x) for x in places]), "bump", stills=True) == ()
    hit = [picture(x, 6 if n >= 5 else 0) for n, x in enumerate(places)]
    finding = one(photographed(hit), "bump", stills=True)
    assert finding.figures["still"] == 6
    assert finding.figures["shift"] == pytest.approx([-6, 0], abs=0.3)
