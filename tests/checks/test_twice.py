"""Stills that show a move already, photographed by a camera that is worked out elsewhere."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from by_hand import a_rig
from pinhole import a_plane
from skimage import data

from cropmove import marking
from cropmove.rig.optics import Lens

LENS = Lens(focal_length=50, distance=800)
STILLS = 8
PICTURES = {"coffee": data.coffee(), "cat": data.chelsea()[:, :450]}


def photographs(picture, count=STILLS, noise=2.0, **ways):
    """Stills of a flat picture as things go these ways: an array, a place for each still."""
    rng, down_across = np.random.default_rng(5), picture.shape[1::-1]
    for number in range(count):
        plane = a_plane(picture.shape, **{way: goes[number] for way, goes in ways.items()})
        seen = cv2.warpPerspective(
            picture, plane, down_across, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT
        )
        yield np.clip(np.round(seen + rng.normal(0, noise, seen.shape)), 0, 255).astype(np.uint8)


@pytest.fixture
def planned(photographed, key):
    """A move over stills, with what does it by hand; the stills come after."""

    def made(pictures, end, *rigs, **more):
        """From the middle of the whole still, a little narrower, to `end` (x, y, width, roll)."""
        shot = photographed(pictures)
        wide = shot.stills.size
        middle = (wide.width / 2, wide.height / 2)
        x, y, width, roll = end
        start = key(1, *middle, 0.8 * wide.width)
        there = key(
            STILLS, middle[0] + x * wide.width, middle[1] + y * wide.width,
            0.8 * wide.width * width, roll=roll,
        )  # fmt: skip
        return replace(shot, keys=(start, there), lens=LENS, rigs=rigs, **more)

    return made


MOVES = {
    "a crab": ((0.08, 0, 1, 0), {"sideways": "camera sideways"}),
    "a crab the other way": ((-0.03, 0, 1, 0), {"sideways": "camera sideways"}),
    "a pan": ((0.06, 0, 1, 0), {"pan": "camera pan"}),
    "a tilt": ((0, -0.04, 1, 0), {"tilt": "camera tilt"}),
    "a push in": ((0, 0, 0.85, 0), {"nearer": "camera in"}),
    "a pull out": ((0, 0, 1.08, 0), {"nearer": "camera in"}),
    "a push to a corner": (
        (0.05, -0.03, 0.85, 0),
        {"nearer": "camera in", "sideways": "camera sideways", "up": "camera up"},
    ),
    "a roll": ((0, 0, 1, 6), {"roll": "camera roll"}),
}


def things_of(moves):
    return [a_rig(way, motion, follows="keys") for way, motion in moves.items()]


CRAB = (MOVES["a crab"][0], *things_of(MOVES["a crab"][1]))


def as_moved(shot):
    """How far each thing goes, from its marks."""
    return {name: shot.marks()[name].moved for name in shot.marks()}


@pytest.fixture
def by_hand(planned):
    """A shot whose stills were photographed as its rigs go."""

    def made(picture, end, *rigs, **more):
        ways = as_moved(planned([picture] * STILLS, end, *rigs, **more))
        return planned(list(photographs(picture, **ways)), end, *rigs, **more)

    return made


@pytest.mark.parametrize("picture", PICTURES)
@pytest.mark.parametrize("move", MOVES)
def test_a_move_that_a_hand_has_made_is_told(by_hand, one, picture, move):
    end, moves = MOVES[move]
    finding = one(by_hand(PICTURES[picture], end, *things_of(moves)), "moved-twice", stills=True)
    # A part of a picture is found where its detail lies, not in its middle: measured, no source.
    assert finding.measured == pytest.approx(100, abs=20)
    assert finding.figures["rigs"] == list(moves)
    assert finding.frames == ((2, STILLS),)


@pytest.mark.parametrize("move", ["a crab", "a tilt", "a push to a corner", "a roll"])
def test_a_camera_that_is_locked_off_is_let_be(planned, found, move):
    end, moves = MOVES[move]
    shot = planned(list(photographs(PICTURES["coffee"])), end, *things_of(moves))
    assert found(shot, "moved-twice", stills=True) == ()


def test_a_subject_that_goes_as_the_camera_would_make_it_go_is_let_be(planned, found):
    picture = PICTURES["coffee"]
    shot = planned([picture] * STILLS, *CRAB)
    gone = list(photographs(picture, **as_moved(shot)))
    stills = list(photographs(picture))
    for still, moved in zip(stills, gone, strict=True):
        still[:, :200] = moved[:, :200]
    assert found(planned(stills, *CRAB), "moved-twice", stills=True) == ()


def test_a_backing_behind_a_small_subject_is_enough(planned, one):
    picture = PICTURES["coffee"]
    ways = as_moved(planned([picture] * STILLS, *CRAB))
    stills = list(photographs(picture, **ways, far=[1800.0] * STILLS))
    for still, near in zip(stills, photographs(picture, **ways), strict=True):
        still[150:300, 220:320] = near[150:300, 220:320]
    finding = one(planned(stills, *CRAB), "moved-twice", stills=True)
    # A plane that is so much further off shifts by so much less: H & Z 13.1, t / d.
    assert finding.measured == pytest.approx(100 * 800 / 1800, abs=10)


def test_what_moves_besides_the_keys_leaves_it_open(by_hand, found):
    pan = a_rig("pan", "camera pan", start=0, end=2)
    assert found(by_hand(PICTURES["coffee"], *CRAB, pan), "moved-twice", stills=True) == ()


def test_a_camera_that_goes_a_way_of_its_own_is_no_move_made_twice(by_hand, found):
    slide = a_rig("sideways", "camera sideways", start=0, end=60)
    shot = by_hand(PICTURES["coffee"], (0.08, 0, 1, 0), slide)
    assert found(shot, "moved-twice", stills=True) == ()


def test_a_set_that_goes_in_the_place_of_a_camera_counts_as_one(planned, one):
    picture = PICTURES["coffee"]
    stills = photographs(picture, **as_moved(planned([picture] * STILLS, *CRAB)))
    board = a_rig("board", "set sideways", instead_of="sideways")
    finding = one(planned(list(stills), *CRAB, board), "moved-twice", stills=True)
    assert finding.figures["rigs"] == ["board"]


def test_a_roll_needs_no_lens(by_hand, planned, one):
    end, moves = MOVES["a roll"]
    shot = by_hand(PICTURES["coffee"], end, *things_of(moves))
    assert one(replace(shot, lens=None), "moved-twice", stills=True).figures["rigs"] == ["roll"]


def test_a_move_of_a_third_of_a_pixel_is_too_little_to_tell(by_hand, found):
    end = (0.0005, 0, 1, 0)
    assert found(by_hand(PICTURES["coffee"], end, *CRAB[1:]), "moved-twice", stills=True) == ()


def test_the_shot_that_is_left_is_not_told(by_hand, found):
    left = marking.crop(by_hand(PICTURES["coffee"], *CRAB))
    assert found(left, "moved-twice", stills=True) == ()
