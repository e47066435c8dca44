"""Roll: which way it turns, right angles, and a two-dimensional sum written out in float64."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from sklearn.datasets import load_sample_image

from cropmove.errors import InputError
from cropmove.picture import straight, turning
from cropmove.picture.kernels import KERNELS, Kernel
from cropmove.picture.light import SRGB, decode
from cropmove.picture.ready import warm_up
from cropmove.picture.resample import resample
from cropmove.picture.roll import resample_rolled

STEADY = KERNELS["steady"]


def photograph() -> NDArray[np.uint8]:
    return np.ascontiguousarray(load_sample_image("china.jpg"))


def summed(
    still: NDArray[np.uint8],
    centre: tuple[float, float],
    width: float,
    roll: float,
    size: tuple[int, int],
    kernel: Kernel,
) -> NDArray[np.float64]:
    """Linear light by the whole sum: every still pixel in reach of every frame pixel."""
    light = decode(still, SRGB)
    step = width / size[0]
    unit, kernel = kernel.stretch(step), kernel.at(step)
    reach = kernel.radius * unit
    angle = np.radians(roll)
    v, u = (np.mgrid[: size[1], : size[0]] + 0.5 - np.array(size)[::-1, None, None] / 2) * step
    x = centre[0] + u * np.cos(angle) - v * np.sin(angle)
    y = centre[1] + u * np.sin(angle) + v * np.cos(angle)
    count = int(np.ceil(2 * reach)) + 1
    left, top = (np.floor(place - reach - 0.5).astype(int) + 1 for place in (x, y))
    across = [kernel.values((left + t + 0.5 - x) / unit) for t in range(count)]
    down = [kernel.values((top + t + 0.5 - y) / unit) for t in range(count)]
    total = np.zeros((*x.shape, light.shape[2]))
    for j in range(count):
        rows = np.clip(top + j, 0, light.shape[0] - 1)
        for i in range(count):
            columns = np.clip(left + i, 0, light.shape[1] - 1)
            total += (across[i] * down[j])[..., None] * light[rows, columns]
    return total / (sum(across) * sum(down))[..., None]


@pytest.mark.parametrize(
    ("width", "roll"),
    [(540.0, 3.7), (300.0, -31.0), (180.0, 45.0), (180.0, 3.7), (540.0, 20.0), (250.0, 63.0),
     (120.0, 100.0), (300.0, 200.0), (400.0, -100.0)],
)  # fmt: skip
@pytest.mark.parametrize("name", ["steady", "crisp", "supple", "gentle"])
def test_a_rolled_photograph_is_on_average_within_a_quarter_code_of_the_whole_sum(
    name: str, width: float, roll: float, coded: Any
) -> None:
    kernel, size = KERNELS[name], (180, 100)
    got = resample_rolled(photograph(), (315.2, 212.7), width, roll, size, kernel=kernel)
    want = coded(summed(photograph(), (315.2, 212.7), width, roll, size, kernel), 8)
    assert np.abs(got - np.round(want)).mean() <= 0.25


def test_a_frame_that_hangs_over_the_edge_of_the_still_is_the_whole_sum_too(coded: Any) -> None:
    place: Any = (photograph(), (12.0, 418.0), 300.0, 24.0, (180, 100))
    got = resample_rolled(*place, kernel=STEADY)
    want = coded(summed(*place, STEADY), 8)
    assert np.abs(got - np.round(want)).mean() <= 0.25


@pytest.mark.parametrize(
    ("centre", "corner"),
    [
        ((-4e3, -4e3), (0, 0)),
        ((9e3, -9e3), (0, -1)),
        ((-7e6, 8e6), (-1, 0)),
        ((3e6, 9e5), (-1, -1)),
    ],
)
def test_far_outside_the_still_its_corners_are_repeated(
    centre: tuple[float, float], corner: tuple[int, int]
) -> None:
    still = photograph()[:60, :90]
    frame = resample_rolled(still, centre, 40.0, 33.0, (60, 40), kernel=STEADY)
    assert (frame == still[corner]).all()


@pytest.mark.parametrize("roll", [45.0, -45.0, 135.0, 225.0])
@pytest.mark.parametrize("width", [540.0, 180.0])
def test_where_lines_change_from_columns_to_rows_the_change_does_not_show(
    width: float, roll: float
) -> None:
    # half a thousandth of a degree moves no corner by a thousandth of a pixel
    place: Any = (photograph(), (315.2, 212.7), width)
    one, other = (
        resample_rolled(*place, roll + turn, (180, 100), kernel=STEADY).astype(int)
        for turn in (-0.0005, 0.0005)
    )
    assert np.abs(one - other).mean() <= 0.25


@pytest.mark.parametrize("size", [(1, 40), (40, 1), (193, 97), (7, 300)])
@pytest.mark.parametrize("roll", [3.7, 100.0, 200.0, 300.0])
def test_frames_of_all_shapes_are_filled_to_their_edges(
    size: tuple[int, int], roll: float, coded: Any
) -> None:
    place: Any = (photograph(), (315.2, 212.7), 1.3 * size[0], roll, size)
    got = resample_rolled(*place, kernel=STEADY)
    error = np.abs(got - np.round(coded(summed(*place, STEADY), 8)))
    assert error.mean() <= 0.25


def test_fine_stripes_do_not_come_back_as_coarse_ones() -> None:
    # 0.9 of a period to a frame pixel: all that may be left is what the kernel itself lets through
    stripes = 0.5 + 0.5 * np.cos(2 * np.pi * 0.3 * np.arange(600))
    still = np.tile(stripes.astype(np.float32), (600, 1))[:, :, None]
    left = max(
        np.abs(
            resample(still, (x, 105, x + 390, 495), (130, 130), kernel=STEADY, depth=32) - 0.5
        ).max()
        for x in 105 + np.arange(12) * 0.3
    )
    assert left <= 0.01
    for roll in (3.7, 45.0, 63.0):
        frame = resample_rolled(still, (300, 300), 390, roll, (130, 130), kernel=STEADY, depth=32)
        assert np.abs(frame - 0.5).max() <= 1.05 * left


@pytest.mark.parametrize("roll", [3.7, 100.0, 200.0, 300.0])
def test_a_frame_may_be_a_single_pixel(roll: float, coded: Any) -> None:
    place: Any = (photograph(), (315.2, 212.7), 3.0, roll, (1, 1))
    want = np.round(coded(summed(*place, STEADY), 8))
    assert np.abs(resample_rolled(*place, kernel=STEADY) - want).max() <= 1


@pytest.mark.parametrize("channels", [1, 2, 4])
def test_any_number_of_channels_is_turned_as_three_are(channels: int) -> None:
    # linear light with an alpha of one throughout: colours then are those without alpha
    light = decode(photograph(), SRGB).astype(np.float32)
    still = np.ones((*light.shape[:2], channels), dtype=np.float32)
    colours = channels - 1 if channels in (2, 4) else channels
    still[:, :, :colours] = light[:, :, :colours]
    place: Any = ((315.2, 212.7), 300.0, 17.0, (180, 100))
    got = resample_rolled(still, *place, kernel=STEADY, depth=32)
    want = resample_rolled(light, *place, kernel=STEADY, depth=32)
    np.testing.assert_allclose(got[:, :, :colours], want[:, :, :colours], atol=1e-5)
    np.testing.assert_allclose(got[:, :, colours:], 1, atol=1e-5)


def test_a_camera_rolled_clockwise_sees_its_top_right_where_the_still_is_lower() -> None:
    # rolled clockwise, the camera's right-hand side dips
    y, x = np.mgrid[:200, :200] + 0.5
    still = np.exp(-((x - 140) ** 2 + (y - 123) ** 2) / 50).astype(np.float32)[:, :, None]
    frame = resample_rolled(still, (100, 100), 160, 30, (160, 160), kernel=STEADY, depth=32)
    v, u = np.mgrid[:160, :160] + 0.5
    weight = frame[:, :, 0].astype(np.float64)
    found = np.array([(u * weight).sum(), (v * weight).sum()]) / weight.sum()
    # (40, 23) from the centre, turned back by 30°, is (46.14, −0.08)
    np.testing.assert_allclose(found, [80 + 46.141, 80 - 0.081], atol=0.01)


@pytest.mark.parametrize("roll", [-270, -90, 0, 90, 180, 270, 360])
def test_a_right_angle_at_native_scale_copies_bit_for_bit(roll: int) -> None:
    still = photograph()[:300, :400]
    frame = resample_rolled(still, (200, 150), 100, roll, (100, 60), kernel=KERNELS["crisp"])
    turned = np.rot90(still, roll // 90)
    middle = [side // 2 for side in turned.shape[:2]]
    want = turned[middle[0] - 30 : middle[0] + 30, middle[1] - 50 : middle[1] + 50]
    np.testing.assert_array_equal(frame, want)


@pytest.mark.parametrize("roll", [0, 90, 180, 270])
def test_a_right_angle_passed_while_rolling_looks_like_the_exact_one(roll: int) -> None:
    place: Any = (photograph(), (310.3, 215.9), 300.0, roll, (180, 100))
    passed = resample_rolled(*place, kernel=STEADY, rolling=True).astype(int)
    exact = resample_rolled(*place, kernel=STEADY).astype(int)
    assert np.abs(passed - exact).mean() <= 0.25


def test_no_roll_is_the_straight_frame() -> None:
    box = (310.3 - 150, 215.9 - 250 / 3, 310.3 + 150, 215.9 + 250 / 3)
    straight = resample(photograph(), box, (180, 100), kernel=STEADY)
    rolled = resample_rolled(photograph(), (310.3, 215.9), 300.0, 0, (180, 100), kernel=STEADY)
    assert np.abs(straight.astype(int) - rolled).max() <= 1


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_a_flat_field_stays_flat_at_any_roll(channels: int, dtype: Any) -> None:
    full = np.iinfo(dtype).max
    still = np.full((200, 300, channels), full // 3, dtype=dtype)
    if channels in (2, 4):
        still[:, :, -1] = full
    depth = 8 * np.dtype(dtype).itemsize
    frame = resample_rolled(still, (150, 100), 250, 17.3, (300, 170), kernel=STEADY, depth=depth)
    assert (frame == still[0, 0]).all()


def test_tiles_leave_no_seams() -> None:
    y, x = np.mgrid[:400, :700]
    ramp = ((x + y) / 1100).astype(np.float32)[:, :, None]
    frame = resample_rolled(ramp, (350, 200), 300, 10, (600, 340), kernel=STEADY, depth=32)
    assert np.abs(np.diff(frame[:, :, 0], n=2, axis=0)).max() < 1e-4
    assert np.abs(np.diff(frame[:, :, 0], n=2, axis=1)).max() < 1e-4


def test_alpha_is_turned_with_its_colour() -> None:
    still = np.zeros((100, 100, 4), dtype=np.uint8)
    still[:, :50] = [200, 30, 30, 255]
    still[:, 50:] = [0, 255, 0, 0]
    frame = resample_rolled(still, (50, 50), 60, 20, (60, 60), kernel=KERNELS["gentle"])
    seen = frame[frame[:, :, 3] > 20].astype(int)
    assert np.abs(seen[:, :3] - [200, 30, 30]).max() <= 1


@pytest.mark.parametrize("roll", [20, 70, 90])
def test_what_is_weighed_is_turned_as_light_is(roll: float) -> None:
    y, x = np.mgrid[:100, :100]
    cover = (np.hypot(x - 50, y - 50) < 20).astype(np.float32)
    still = np.stack([np.full_like(cover, 0.5), cover], axis=-1)
    place: Any = ((50.3, 50.8), 60, roll, (60, 60))
    got = resample_rolled(still, *place, kernel=KERNELS["crisp"], depth=32, weighed=True)
    light = np.stack([cover / 2, cover, cover], axis=-1)
    want = resample_rolled(light, *place, kernel=KERNELS["crisp"], depth=32)
    np.testing.assert_allclose(got, want[..., :2], atol=1e-5)
    assert got[..., 1].max() > 1


def test_rolled_and_straight_frames_share_the_compiled_loops() -> None:
    warm_up()
    resample_rolled(photograph(), (300, 200), 100, 5, (40, 30), kernel=STEADY, depth=16)
    resample_rolled(photograph(), (300, 200), 100, 5, (40, 30), kernel=STEADY, rolling=True)
    assert len(turning.turn.signatures) == 1
    assert len(straight.resample_rows.signatures) == 1


@pytest.mark.parametrize("change", [{"roll": np.nan}, {"width": 0.0}, {"centre": (np.inf, 3.0)}])
def test_a_roll_that_is_no_number_is_refused_in_words(change: dict[str, Any]) -> None:
    given: dict[str, Any] = {"centre": (50.0, 50.0), "width": 20.0, "roll": 3.0} | change
    with pytest.raises(InputError):
        resample_rolled(photograph(), size=(20, 20), kernel=STEADY, **given)
