"""One frame: however the still is stored, the frame stands upright."""

from __future__ import annotations

import numpy as np
import pytest

from cropmove.geometry import Orientation, Size
from cropmove.move.framing import Framing
from cropmove.rendering.frame import frame_of, frames_of
from cropmove.rendering.look import Look
from cropmove.scratch import Scratch

LOOK = Look(delivery=Size(64, 36), kernel="crisp")


def stored(upright: np.ndarray, code: int) -> np.ndarray:
    """An upright picture as a camera held that way would store it: found by search."""
    for turned in (upright, upright.swapaxes(0, 1)):
        for rows in (1, -1):
            for columns in (1, -1):
                candidate = np.ascontiguousarray(turned[::rows, ::columns])
                shown = Orientation(code).upright(candidate)
                if shown.shape == upright.shape and (shown == upright).all():
                    return candidate
    raise LookupError(code)


@pytest.mark.parametrize("code", range(1, 9))
def test_a_still_gives_the_same_frame_however_it_is_stored(code: int) -> None:
    rng = np.random.default_rng(code)
    upright = rng.integers(0, 256, (120, 200, 3), dtype=np.uint8)
    framing = Framing(x=90.37, y=51.81, width=133.7)
    wanted = frame_of(upright, framing, LOOK)
    got = frame_of(stored(upright, code), framing, LOOK, orientation=Orientation(code))
    assert got.shape == wanted.shape == (36, 64, 3)
    assert np.abs(got.astype(int) - wanted).max() <= 1


def test_moving_the_camera_right_moves_the_picture_left() -> None:
    still = np.zeros((120, 200, 3), np.uint8)
    still[60, 100] = 255
    at = [
        int(frame_of(still, Framing(x=x, y=60.5, width=64), LOOK)[18, :, 0].argmax())
        for x in (100.0, 105.0)
    ]
    assert at == [32, 27]


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
def test_grey_and_alpha_keep_their_channels(channels: int) -> None:
    still = np.full((120, 200, channels), 200, np.uint8)
    frame = frame_of(still, Framing(x=100, y=60, width=128), LOOK)
    assert frame.shape == (36, 64, channels)
    assert (frame == 200).all()


@pytest.mark.parametrize("code", range(1, 9))
def test_a_rolled_frame_is_the_same_however_the_still_is_stored(code: int) -> None:
    rng = np.random.default_rng(code)
    upright = rng.integers(0, 256, (120, 200, 3), dtype=np.uint8)
    look = Look(delivery=Size(64, 36), kernel="crisp", rolled=True, rolling=True)
    framing = Framing(x=90.37, y=61.81, width=103.7, roll=7.3)
    wanted = frame_of(upright, framing, look)
    got = frame_of(stored(upright, code), framing, look, orientation=Orientation(code))
    assert (got == wanted).all()


def test_a_positive_roll_turns_the_picture_anticlockwise() -> None:
    # The camera turns clockwise seen from behind it; what was at the right rises to the top.
    still = np.zeros((200, 200, 3), np.uint8)
    still[95:105, 150:160] = 255
    look = Look(delivery=Size(100, 100), kernel="crisp", rolled=True, rolling=True)
    frame = frame_of(still, Framing(x=100, y=100, width=200, roll=90), look)
    down, across = np.unravel_index(frame[..., 0].argmax(), frame.shape[:2])
    assert abs(int(across) - 50) <= 3
    assert abs(int(down) - 22) <= 3


def test_corners_of_a_rolled_frame_show_what_the_framing_says() -> None:
    # A smooth ramp of light: what a pixel shows tells where it looks.
    y, x = np.mgrid[:400, :600] + 0.5
    still = np.stack([x / 600, y / 400, np.zeros_like(x)], axis=-1).astype(np.float32)
    look = Look(delivery=Size(64, 36), kernel="steady", depth=32, rolled=True, rolling=True)
    framing = Framing(x=310.4, y=190.2, width=200, roll=-11.5)
    frame = frame_of(still, framing, look)
    j, i = np.mgrid[:36, :64] + 0.5
    offsets = np.stack([(i - 32) / 64, (j - 18) / 64], axis=-1)
    wanted = framing.to_still(offsets)
    got = frame[..., :2] * (600, 400)
    assert np.abs(got - wanted).max() < 0.01 * 200 / 64  # a hundredth of a delivered pixel


@pytest.mark.parametrize("code", [1, 3, 6])
@pytest.mark.parametrize("roll", [0.0, 5.0])
def test_a_frame_made_in_used_memory_is_the_same(code: int, roll: float) -> None:
    noise = np.random.default_rng(3).integers(0, 256, (90, 120, 3)).astype(np.uint8)
    look = Look(delivery=Size(48, 27), kernel="steady", rolled=bool(roll))
    scratch = Scratch()
    for x in (40, 50, 60):
        framing = Framing(x=x, y=45, width=60, roll=roll)
        fresh = frame_of(noise, framing, look, orientation=Orientation(code))
        used = frame_of(noise, framing, look, orientation=Orientation(code), scratch=scratch)
        assert np.array_equal(used, fresh)


@pytest.mark.parametrize("code", [1, 3, 6])
@pytest.mark.parametrize("kind", ["sharp", "rolled", "blurred", "to sRGB"])
def test_several_frames_of_a_still_are_those_made_one_by_one(kind: str, code: int) -> None:
    noise = np.random.default_rng(3).integers(0, 256, (90, 120, 3)).astype(np.uint8)
    roll = 5.0 if kind == "rolled" else 0.0
    look = Look(delivery=Size(48, 27), kernel="steady", rolled=bool(roll))
    framings = [Framing(x=40 + 4 * i, y=45, width=60, roll=roll) for i in range(5)]
    exposures = [framings[i : i + 3] if kind == "blurred" else framings[i] for i in range(3)]
    options = {
        "orientation": Orientation(code),
        "to_srgb": np.diag([0.9, 1.0, 0.8]) if kind == "to sRGB" else None,
    }
    alone = [frame_of(noise, shown, look, **options) for shown in exposures]
    assert not np.array_equal(alone[0], alone[1])
    kept = list(frames_of(noise, exposures, look, **options))
    scratch = Scratch()
    passing = [
        frame.copy() for frame in frames_of(noise, exposures, look, scratch=scratch, **options)
    ]
    assert np.array_equal(kept, alone)
    assert np.array_equal(passing, alone)
