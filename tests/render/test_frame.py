"""One frame: however the still is stored, the frame stands upright."""

from __future__ import annotations

import numpy as np
import pytest
from cropmove.geometry import Orientation, Size
from cropmove.move.framing import Framing
from cropmove.render.frame import frame_of
from cropmove.render.look import Look

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
