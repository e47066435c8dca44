"""Shutter blur: as long as the shutter is open, centred, in linear light, without ghosts."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from skimage.transform import SimilarityTransform

from cropmove.geometry import Size
from cropmove.move.course import Course, Move
from cropmove.move.ease import EASES, cubic_bezier
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.picture.light import LINEAR
from cropmove.rendering import frame as framed
from cropmove.rendering.frame import frame_of, frames_of
from cropmove.rendering.look import Look
from cropmove.scratch import Scratch

SIZE = Size(160, 90)
LOOK = Look(delivery=SIZE, kernel="steady", depth=32)


def pan(pixels_a_frame: float, frames: int = 9) -> Course:
    """An even pan at native scale."""
    width = float(SIZE.width)
    start = Framing(x=150, y=120, width=width)
    end = Framing(x=150 + pixels_a_frame * (frames - 1), y=120, width=width)
    keys = (Key(frame=1, framing=start), Key(frame=frames, framing=end, ease=EASES["none"]))
    return Course.of(Move(keys, SIZE), frames=frames, fps=Fraction(24))


def spot(x: float, y: float, sigma: float = 3.0) -> np.ndarray:
    """A soft spot of light on black, linear."""
    down, across = np.mgrid[:240, :400] + 0.5
    light = np.exp(-((across - x) ** 2 + (down - y) ** 2) / (2 * sigma**2))
    return np.repeat(light[..., None], 3, axis=2).astype(np.float32)


def moments(frame: np.ndarray) -> tuple[float, float, float]:
    """Light, mean place across, and variance across."""
    across = frame[..., 0].sum(axis=0, dtype=np.float64)
    at = np.arange(len(across)) + 0.5
    total = across.sum()
    mean = (across * at).sum() / total
    return float(total), float(mean), float((across * (at - mean) ** 2).sum() / total)


@pytest.mark.parametrize("step", [3.0, 8.0])
@pytest.mark.parametrize("angle", [90.0, 172.8, 180.0, 360.0])
def test_the_blur_is_as_long_as_the_shutter_is_open(step: float, angle: float) -> None:
    # Blur length L = angle/360 of the step; a spot drawn out evenly over L gains L²/12 of
    # variance (that of the uniform distribution).
    course = pan(step)
    still = spot(182.0, 120.0)
    framings = course.exposed(5, angle)
    sharp = [moments(frame_of(still, framing, LOOK, transfer=LINEAR))[2] for framing in framings]
    blurred = moments(frame_of(still, framings, LOOK, transfer=LINEAR))[2]
    drawn_out = (angle / 360 * step) ** 2 / 12
    assert blurred - np.mean(sharp) == pytest.approx(drawn_out, rel=0.01, abs=0.005)


def test_the_blur_is_centred_on_the_frame_and_keeps_its_light() -> None:
    course = pan(8.0)
    still = spot(182.0, 120.0)
    sharp = moments(frame_of(still, course[5], LOOK, transfer=LINEAR))
    blurred = moments(frame_of(still, course.exposed(5, 180), LOOK, transfer=LINEAR))
    assert blurred[0] == pytest.approx(sharp[0], rel=1e-3)
    assert blurred[1] == pytest.approx(sharp[1], abs=0.01)


@pytest.mark.parametrize("moves_before", [False, True])
def test_a_cut_is_not_smeared(moves_before: bool) -> None:
    here, there = (Framing(x=x, y=120, width=160.0) for x in (150.0, 290.0))
    first = Framing(x=102.0, y=120, width=160.0) if moves_before else here
    keys = (Key(frame=1, framing=first), Key(frame=9, framing=here, ease=EASES["none"]),
            Key(frame=10, framing=there), Key(frame=17, framing=there))  # fmt: skip
    course = Course.of(Move(keys, SIZE), frames=17, fps=Fraction(24))
    assert course.exposed(10, 180.0) == (there,)
    before = np.array([framing.x for framing in course.exposed(9, 180.0)])
    if not moves_before:
        assert before.tolist() == [150.0]
        return
    # At 6 px a frame four moments: two as it moved, two at rest before the cut.
    moved = [150 - 1.5 * place / np.sqrt(15) for place in (3, 1)]
    assert before.tolist() == pytest.approx([*moved, 150, 150])


@pytest.mark.parametrize("step", [0.4, 1.9, 7.3, 31.0])
def test_ghosts_stand_at_most_a_pixel_apart(step: float) -> None:
    framings = pan(step).exposed(4, 180)
    across = np.array([framing.x for framing in framings])
    assert np.diff(across).max(initial=0) <= 1 + 1e-9
    assert len(framings) == max(2, int(np.ceil(np.hypot(step / 2, 1) - 1e-9)))


def farthest_gap(framings: tuple[Framing, ...]) -> float:
    """Delivered pixels from one moment to the next or back, at the corner that moves most.

    Where a point of the still stands in a frame is scikit-image's SimilarityTransform: another
    library's, angles clockwise where y runs down. A similarity moves no point of a rectangle
    further than the one of its corners that it moves most.
    """
    corners = np.array([(-80, -45), (80, -45), (80, 45), (-80, 45)], dtype=float)
    on_still = [
        SimilarityTransform(scale=one.width / 160, rotation=np.deg2rad(one.roll),
                            translation=(one.x, one.y)) for one in framings
    ]  # fmt: skip
    pairs = [*pairwise(on_still), *pairwise(on_still[::-1])]
    gaps = [np.hypot(*(b.inverse(a(corners)) - corners).T).max() for a, b in pairs]
    return float(max(gaps, default=0.0))


HERE = Framing(x=150, y=120, width=160.0)
UNEVEN = {
    "gathers speed": (Key(frame=9, framing=replace(HERE, x=350), ease=EASES["smooth"]),),
    "zips off": (Key(frame=4, framing=replace(HERE, x=350), ease=EASES["smooth"]),),
    "pulls out": (Key(frame=3, framing=replace(HERE, width=640), ease=EASES["none"]),),
    "rolls": (Key(frame=5, framing=replace(HERE, roll=720.0), ease=EASES["none"]),),
    "rolls and pushes in": (Key(frame=9, framing=replace(HERE, width=70.0, roll=50.0)),),
    "turns back": (Key(frame=5, framing=replace(HERE, x=250), stop=False),
                   Key(frame=9, framing=replace(HERE, x=160))),
    "runs past its end": (Key(frame=4, framing=replace(HERE, x=200),
                              ease=cubic_bezier(0.3, 3, 0.6, 2)),),
}  # fmt: skip


@pytest.mark.parametrize("angle", [1.0, 90.0, 180.0, 270.0, 360.0])
@pytest.mark.parametrize("way", UNEVEN)
def test_ghosts_stand_at_most_a_pixel_apart_where_the_pace_changes(way: str, angle: float) -> None:
    keys = (Key(frame=1, framing=HERE), *UNEVEN[way])
    length = keys[-1].frame
    course = Course.of(Move(keys, SIZE), frames=length, fps=Fraction(24))
    for frame in range(1, length + 1):
        assert farthest_gap(course.exposed(frame, angle)) <= 1 + 1e-9


def test_a_whole_turn_while_the_shutter_is_open_is_no_hold() -> None:
    keys = (Key(frame=1, framing=HERE),
            Key(frame=5, framing=replace(HERE, roll=2880.0), ease=EASES["none"]))  # fmt: skip
    course = Course.of(Move(keys, SIZE), frames=5, fps=Fraction(24))
    # Two turns a frame; a corner stands √(80² + 45²) px from the middle.
    assert len(course.exposed(3, 360.0)) >= 4 * np.pi * np.hypot(80, 45)


def test_an_ease_without_end_to_its_pace_does_not_ask_for_moments_without_end() -> None:
    # This curve sets off upright: the way in a moment t is as the cube root of t, so that n
    # moments a pixel apart at the start would be as many as the cube of the way, in pixels.
    sudden = Key(frame=3, framing=replace(HERE, x=350), ease=cubic_bezier(0, 1, 0, 1))
    course = Course.of(Move((Key(frame=1, framing=HERE), sudden), SIZE), frames=3, fps=Fraction(24))
    moments = course.exposed(1, 180.0)
    way = moments[-1].x - HERE.x
    assert way > 100
    assert 10 * way < len(moments) < 17 * way


def contrast_left(length: float) -> float:
    """Of stripes of 4 px a pair, by what the moments of a blur so many pixels long add up to."""
    across = np.array([framing.x for framing in pan(2 * length).exposed(5, 180.0)])
    return float(abs(np.exp(2j * np.pi * across / 4).mean()))


@pytest.mark.parametrize("length", [0.06, 0.3, 0.6, 0.95, 1.0])
def test_a_short_blur_takes_as_much_contrast_as_a_box_of_its_length(length: float) -> None:
    # A box of length L leaves sin(πfL) / (πfL) of stripes of frequency f (its Fourier transform);
    # two moments L/√3 apart leave cos(πfL/√3), which is at most 0.0014 less up to a pixel.
    assert contrast_left(length) == pytest.approx(np.sinc(length / 4), abs=0.0014)


def test_blur_does_not_set_in_at_once_where_a_way_comes_to_a_pixel() -> None:
    # From each of these lengths to the next a box's sin(πfL) / (πfL) falls by up to 0.017.
    lengths = np.arange(0.05, 3, 0.05)
    left = [contrast_left(length) for length in lengths]
    assert np.abs(np.diff(left) - np.diff(np.sinc(lengths / 4))).max() < 0.012


def test_a_hold_stays_sharp() -> None:
    course = pan(0.0)
    assert course.exposed(5, 180) == (course[5],)


def test_half_a_turn_at_24_opens_for_a_forty_eighth() -> None:
    # t = angle / (360 fps): 180 degrees at 24 is 1/48 s, 172.8 is 1/50, 144 is 1/60, 90 is 1/96.
    for angle, opening in ((180, 48), (172.8, 50), (144, 60), (90, 96)):
        assert Fraction(str(angle)) / (360 * 24) == Fraction(1, opening)
        across = np.array([framing.x for framing in pan(240.0).exposed(3, angle)])
        seconds = np.sqrt(12) * across.std() / 240 / 24  # an even spread's, by its deviation
        assert seconds == pytest.approx(1 / opening, rel=1e-9)


@pytest.mark.parametrize("length", [0.2, 1.0, 1.7, 1.8, 2.0, 9.0, 40.5])
def test_moments_spread_as_an_even_blur_does(length: float) -> None:
    # The variance of the uniform distribution over a length L is L²/12.
    framings = pan(2 * length).exposed(5, 180)
    across = np.array([framing.x for framing in framings]) - pan(2 * length)[5].x
    assert (across**2).mean() == pytest.approx(length**2 / 12)
    assert across.mean() == pytest.approx(0, abs=1e-9)
    assert np.abs(across).max() < length / 2


def test_alpha_weighs_the_colours_that_are_blurred() -> None:
    still = np.zeros((240, 400, 4), np.float32)
    still[:, :182] = (1, 0, 0, 1)
    still[:, 182:] = (0, 1, 0, 0)  # green that nobody may see
    course = pan(8.0)
    blurred = frame_of(still, course.exposed(5, 360), LOOK, transfer=LINEAR)
    visible = blurred[..., 3] > 0.5
    assert blurred[visible][:, 1].max() < 1e-3
    assert blurred[visible][:, 0] == pytest.approx(1, abs=0.02)


def blurred_cut_out(depth: int, roll: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A disc with hard edges, cut out of a picture of noise, as a shutter sees it.

    Also its light and its cover: blurred grey pictures, of which nothing is limited.
    """
    down, across = np.mgrid[:240, :400] + 0.5
    cover = np.hypot(across - 190, down - 120) < 30
    colour = np.random.default_rng(5).uniform(0.2, 0.8, cover.shape)
    still = np.stack([colour, cover], axis=-1).astype(np.float32)
    seen = [replace(framing, roll=roll + n) for n, framing in enumerate(pan(8.0).exposed(5, 180))]
    look = replace(LOOK, kernel="crisp", rolled=bool(roll), rolling=bool(roll))
    shown = frame_of(still, seen, replace(look, depth=depth), transfer=LINEAR)
    light, covered = (
        frame_of(grey[..., None].astype(np.float32), seen, look, transfer=LINEAR)[..., 0]
        for grey in (colour * cover, cover)
    )
    return shown, light.astype(np.float64), covered.astype(np.float64)


@pytest.mark.parametrize("roll", [0.0, 7.0])
@pytest.mark.parametrize("depth", [8, 16, 32])
def test_a_blurred_cut_out_covers_as_much_as_white_on_black_is_light(
    depth: int, roll: float
) -> None:
    # T. Porter & T. Duff, Compositing digital images, 1984: white laid over black shows its alpha.
    shown, _, covered = blurred_cut_out(depth, roll)
    full = {8: 255, 16: 65535, 32: 1}[depth]
    assert covered.min() < -0.01  # the kernel overshoots
    assert covered.max() > 1.01
    off = np.abs(shown[..., 1] - full * np.clip(covered, 0, 1))
    assert off.max() <= (0.51 if depth < 32 else 1e-5)


@pytest.mark.parametrize("roll", [0.0, 7.0])
def test_colours_of_a_blurred_cut_out_are_its_light_by_its_cover(roll: float) -> None:
    # Porter & Duff as above: a colour is what is laid over black, divided by its alpha.
    shown, light, covered = blurred_cut_out(32, roll)
    covers = covered > 1e-3
    assert shown[covers][:, 0] == pytest.approx(light[covers] / covered[covers], abs=2e-3)
    assert (shown[covered < -1e-3] == 0).all()


@pytest.mark.parametrize("depth", [8, 16, 32])
def test_the_blurred_frame_is_the_mean_of_what_the_shutter_saw(depth: int) -> None:
    still = spot(182.0, 120.0)
    framings = pan(8.0).exposed(5, 180)
    light = [frame_of(still, framing, LOOK, transfer=LINEAR) for framing in framings]
    look = replace(LOOK, depth=depth)
    blurred = frame_of(still, framings, look, transfer=LINEAR, scratch=Scratch())
    full = {8: 255, 16: 65535, 32: 1}[depth]
    mean = np.mean(np.array(light, np.float64), axis=0)
    assert np.abs(blurred - full * mean).max() <= (0.5001 if depth < 32 else 1e-6)


def test_what_stands_still_while_the_shutter_is_open_is_drawn_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    drawn: list[object] = []

    def counted(pixels: object, boxes: list[object], *given: object, **named: object) -> None:
        drawn.extend(boxes)
        resample_each(pixels, boxes, *given, **named)

    resample_each = framed.resample_each
    monkeypatch.setattr(framed, "resample_each", counted)
    still = spot(182.0, 120.0)
    here, there, further = (replace(HERE, x=150 + step) for step in (0, 0.7, 1.5))
    seen = (here, here, here, there, further, further)
    mean = frame_of(still, seen, LOOK, transfer=LINEAR)
    assert len(drawn) == 3
    light = [frame_of(still, one, LOOK, transfer=LINEAR) for one in seen]
    assert mean == pytest.approx(np.mean(light, axis=0, dtype=np.float64), abs=1e-6)


def test_held_frames_beside_blurred_ones_are_the_same_with_alpha_too() -> None:
    random = np.random.default_rng(7)
    still = random.integers(0, 65536, (200, 260, 4)).astype(np.uint16)
    look = replace(LOOK, depth=16)
    held = Framing(x=120.3, y=100.7, width=161.0)
    moved = tuple(replace(held, x=held.x + step) for step in (0.4, 1.2))
    alone = frame_of(still, held, look)
    _, beside = frames_of(still, [moved, (held,)], look)
    assert np.array_equal(beside, alone)


@pytest.mark.parametrize("ease", [None, "ease-in-out"])
def test_a_key_on_every_frame_is_blurred_as_the_move_it_is(ease: str | None) -> None:
    step, frames = 8.0, 9
    keys = tuple(
        Key(frame=n + 1, framing=Framing(x=150 + step * n, y=120, width=160.0),
            ease=EASES[ease] if ease and n else None) for n in range(frames)
    )  # fmt: skip
    written_out = Course.of(Move(keys, SIZE), frames=frames, fps=Fraction(24))
    seen = [[framing.x for framing in course.exposed(5, 180.0)]
            for course in (written_out, pan(step, frames))]  # fmt: skip
    assert len(seen[0]) > 1
    # An even pan: at 180 degrees the camera goes over half a step, about the frame's own place.
    assert seen[0] == pytest.approx(seen[1], abs=1e-6)
    assert max(seen[0]) + min(seen[0]) == pytest.approx(2 * (150 + 4 * step))


def test_a_cut_to_one_frame_and_back_is_not_smeared() -> None:
    here, there = (Framing(x=x, y=120, width=160.0) for x in (150.0, 290.0))
    shown = {1: here, 8: here, 9: there, 10: here, 17: here}
    keys = tuple(Key(frame=frame, framing=framing) for frame, framing in shown.items())
    course = Course.of(Move(keys, SIZE), frames=17, fps=Fraction(24))
    for frame in (8, 9, 10):
        assert course.exposed(frame, 180.0) == (course[frame],)
