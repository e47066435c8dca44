"""Resampling: against float64 sums, an independent library, and the laws it must keep."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from sklearn.datasets import load_sample_image

from cropmove.errors import InputError
from cropmove.picture import straight
from cropmove.picture.kernels import KERNELS, Kernel, copies
from cropmove.picture.light import ADOBE_RGB, BT709, LINEAR, SRGB, Transfer, decode, gamma
from cropmove.picture.ready import is_compiled, warm_up
from cropmove.picture.resample import resample, resample_each

CRISP, STEADY = KERNELS["crisp"], KERNELS["steady"]
every_kernel = pytest.mark.parametrize("kernel", KERNELS.values(), ids=list(KERNELS))
BOXES = [
    ((0.0, 0.0, 403.0, 301.0), (403, 301)),
    ((3.3, 7.7, 399.9, 290.1), (120, 85)),
    ((100.25, 50.75, 220.25, 118.25), (120, 67)),
    ((-9.5, 200.2, 200.5, 310.4), (63, 33)),
    ((10.0, 10.0, 50.0, 30.0), (111, 57)),
]


def noise(dtype: Any = np.uint8, channels: int = 3, seed: int = 0) -> NDArray[Any]:
    full = np.iinfo(dtype).max
    random = np.random.default_rng(seed)
    return random.integers(0, full + 1, (301, 403, channels)).astype(dtype)


def photograph() -> NDArray[np.uint8]:
    return np.ascontiguousarray(load_sample_image("china.jpg"))


# Against float64 sums. ---------------------------------------------------------------------


@every_kernel
@pytest.mark.parametrize(("box", "size"), BOXES)
def test_no_code_is_further_than_0_6_from_a_float64_sum(
    kernel: Kernel, box: Any, size: Any, summed: Any, coded: Any
) -> None:
    still = noise()
    got = resample(still, box, size, kernel=kernel)
    assert np.abs(got - coded(summed(still, box, size, kernel), 8)).max() <= 0.6


@pytest.mark.parametrize("transfer", [SRGB, LINEAR, ADOBE_RGB, BT709], ids=lambda t: t.name)
@pytest.mark.parametrize("channels", [1, 3])
@pytest.mark.parametrize("depth", [8, 16])
def test_every_curve_depth_and_channel_count_is_as_exact(
    depth: int, channels: int, transfer: Transfer, summed: Any, coded: Any
) -> None:
    still = noise(np.dtype(f"u{depth // 8}"), channels)
    box, size = BOXES[1]
    got = resample(still, box, size, kernel=STEADY, transfer=transfer, depth=depth)
    want = coded(summed(still, box, size, STEADY, transfer), depth, transfer)
    assert np.abs(got - want).max() <= 0.6


def test_depths_may_change_on_the_way(summed: Any, coded: Any) -> None:
    box, size = BOXES[1]
    for dtype, depth in ((np.uint8, 16), (np.uint16, 8)):
        still = noise(dtype)
        got = resample(still, box, size, kernel=CRISP, depth=depth)
        # an 8-bit still is read within 0.03 of its code, and 257 codes of 16 bits make one
        limit = 0.6 if depth == 8 else 30
        assert np.abs(got - coded(summed(still, box, size, CRISP), depth)).max() <= limit


def test_linear_light_goes_in_and_comes_out_in_floating_point_unlimited(summed: Any) -> None:
    still = (noise() / 20 - 3).astype(np.float32)
    box, size = BOXES[1]
    got = resample(still, box, size, kernel=CRISP, depth=32)
    np.testing.assert_allclose(got, summed(still, box, size, CRISP), atol=2e-5)
    assert got.max() > 1
    assert got.min() < 0


def test_a_highlight_without_end_stays_within_its_own_pixels() -> None:
    still = np.zeros((64, 64, 3), dtype=np.float32)
    still[32, 32] = [np.inf, np.nan, 1]
    frame = resample(still, (0, 0, 64, 64), (64, 64), kernel=CRISP)
    assert frame[32, 32].tolist() == [255, 0, 255]
    assert frame[:20].max() == 0


def test_alpha_is_multiplied_in_and_divided_out_again(summed: Any, coded: Any) -> None:
    still = noise(channels=4)
    box, size = BOXES[1]
    alpha = still[:, :, 3:] / 255.0
    light = summed(decode(still[:, :, :3], SRGB) * alpha, box, size, STEADY)
    cover = summed(alpha, box, size, STEADY)
    got = resample(still, box, size, kernel=STEADY)
    solid = cover[:, :, 0] > 0.2
    assert np.abs(got[:, :, 3:] - 255 * np.clip(cover, 0, 1)).max() <= 0.6
    assert np.abs(got[:, :, :3] - coded(light / cover, 8))[solid].max() <= 0.6


def test_what_is_behind_nothing_does_not_bleed_into_colour() -> None:
    still = np.zeros((32, 32, 4), dtype=np.uint8)
    still[:, :16] = [255, 0, 0, 255]
    still[:, 16:] = [0, 255, 0, 0]
    frame = resample(still, (0, 0, 32, 32), (13, 13), kernel=KERNELS["gentle"])
    seen = frame[frame[:, :, 3] > 0]
    assert (seen[:, :3] == [255, 0, 0]).all()


def test_what_covers_is_from_nothing_to_all_in_floating_point_too() -> None:
    """A. R. Smith, Alpha and the history of digital compositing, 1995: alpha is a coverage."""
    still = np.zeros((32, 32, 4), dtype=np.uint8)
    still[:, :16] = 255
    frame = resample(still, (0.3, 0, 32, 31.7), (29, 29), kernel=CRISP, depth=32)
    assert frame[..., 3].min() == 0
    assert frame[..., 3].max() == 1


@pytest.mark.parametrize("channels", [2, 4])
def test_what_is_weighed_is_the_bare_sum(channels: int, summed: Any) -> None:
    still = noise(channels=channels)
    still[..., -1] //= 128
    still[..., -1] *= 255
    alpha = still[..., -1:] / 255.0
    whole = np.concatenate([decode(still[..., :-1], SRGB) * alpha, alpha], axis=-1)
    box, size = BOXES[2]
    want = summed(whole, box, size, CRISP)
    got = resample(still, box, size, kernel=CRISP, depth=32, weighed=True)
    np.testing.assert_allclose(got, want, atol=2e-5)
    assert got[..., -1].min() < 0
    assert got[..., -1].max() > 1


# Against an independent library and published numbers. --------------------------------------


@pytest.mark.parametrize(("box", "size"), [BOXES[1], BOXES[0], ((20, 30, 380, 240), (151, 90))])
def test_a_photograph_in_floating_point_agrees_with_pillow(box: Any, size: Any) -> None:
    # Pillow's resize(box=) with its own Lanczos, in its 32-bit float mode
    light = decode(photograph()[:301, :403], SRGB).astype(np.float32)
    got = resample(light, box, size, kernel=CRISP, depth=32)
    for channel in range(3):
        plane = Image.fromarray(np.ascontiguousarray(light[:, :, channel]))
        want = np.asarray(plane.resize(size, Image.Resampling.LANCZOS, box=box))
        inner = slice(8, -8)
        # Pillow leaves taps out at the still's edge where we repeat the edge pixel
        difference = np.abs(got[inner, inner, channel] - want[inner, inner])
        assert difference.max() < 1e-5


@pytest.mark.parametrize(
    ("white", "of", "code"),
    # averages in linear light under IEC 61966-2-1, computed from its formula
    [(1, 4, 136.960), (1, 3, 156.188), (1, 2, 187.516), (2, 3, 213.182), (3, 4, 224.610)],
)
def test_a_half_tone_too_fine_to_show_becomes_the_grey_of_its_light(
    white: int, of: int, code: float
) -> None:
    columns = np.where(np.arange(960) % of < white, 255, 0).astype(np.uint8)
    still = np.repeat(np.tile(columns, (960, 1))[:, :, None], 3, axis=2)
    frame = resample(still, (0, 0, 960, 960), (60, 60), kernel=CRISP, depth=16)
    assert np.abs(frame[5:-5, 5:-5] / 257 - code).max() < 0.02
    assert (resample(still, (0, 0, 960, 960), (60, 60), kernel=STEADY)[5:-5, 5:-5]
            == round(code)).all()  # fmt: skip


def test_a_half_is_the_published_code_in_16_bits() -> None:
    # IEC 61966-2-1, computed from its formula: 0.5 is 48191.62 of 65535
    still = np.full((16, 16, 1), 0.5, dtype=np.float32)
    assert (resample(still, (0, 0, 16, 16), (5, 5), kernel=STEADY, depth=16) == 48192).all()


@pytest.mark.parametrize("scale", [0.5, 0.3])
def test_rings_too_fine_for_the_frame_melt_into_their_mean(scale: float) -> None:
    # zone plate ½ + ½cos(πr²/N): local frequency r/N, gone beyond r = scale·N/2
    n = 480
    y, x = np.mgrid[:n, :n] + 0.5 - n / 2
    plate = (0.5 + 0.5 * np.cos(np.pi * (x**2 + y**2) / n)).astype(np.float32)[:, :, None]
    side = round(n * scale)
    frame = resample(plate, (0, 0, n, n), (side, side), kernel=CRISP, depth=32)[:, :, 0]
    y, x = (np.mgrid[:side, :side] + 0.5 - side / 2) / scale
    r = np.hypot(x, y)
    along_axes = (np.abs(y) < 10) | (np.abs(x) < 10)
    melted = along_axes & (r > 1.6 * scale * n / 2) & (r < n / 2 - 20)
    kept = r < 0.5 * scale * n / 2
    assert np.abs(frame[melted] - 0.5).max() < 0.05
    assert np.abs(frame - (0.5 + 0.5 * np.cos(np.pi * r**2 / n)))[kept].max() < 0.1


# Where points land. --------------------------------------------------------------------------


@every_kernel
@pytest.mark.parametrize("ratio", [1.0, 1.7, 3.3])
def test_a_point_lands_within_a_hundredth_of_a_pixel(kernel: Kernel, ratio: float) -> None:
    y, x = np.mgrid[:420, :640] + 0.5
    spot = (287.31, 201.77)
    width = 5.0 * ratio
    light = np.exp(-((x - spot[0]) ** 2 + (y - spot[1]) ** 2) / (2 * width**2))
    left, top = spot[0] - 80.37 * ratio, spot[1] - 54.83 * ratio
    box = (left, top, left + 160 * ratio, top + 110 * ratio)
    frame = resample(light.astype(np.float32)[:, :, None], box, (160, 110), kernel=kernel, depth=32)
    v, u = np.mgrid[:110, :160] + 0.5
    weight = frame[:, :, 0].astype(np.float64)
    found = np.array([(u * weight).sum(), (v * weight).sum()]) / weight.sum()
    wanted = (np.array(spot) - box[:2]) / ratio
    np.testing.assert_allclose(found, wanted, atol=0.01)


# Laws. ---------------------------------------------------------------------------------------

boxes = st.tuples(
    st.floats(-20, 200), st.floats(-20, 100), st.floats(5, 300), st.floats(5, 200)
).map(lambda b: (b[0], b[1], b[0] + b[2], b[1] + b[3]))


@given(
    code=st.integers(0, 255),
    box=boxes,
    size=st.tuples(st.integers(1, 70), st.integers(1, 40)),
    name=st.sampled_from(list(KERNELS)),
    channels=st.integers(1, 4),
)
def test_a_flat_field_stays_exactly_flat(
    code: int, box: Any, size: tuple[int, int], name: str, channels: int
) -> None:
    still = np.full((120, 160, channels), code, dtype=np.uint8)
    if channels in (2, 4):
        still[:, :, -1] = 255
    frame = resample(still, box, size, kernel=KERNELS[name])
    want = still[0, 0]
    assert (frame == want).all()


@given(code=st.integers(0, 65535), box=boxes, name=st.sampled_from(list(KERNELS)))
def test_a_flat_field_of_16_bits_stays_exactly_flat(code: int, box: Any, name: str) -> None:
    still = np.full((120, 160, 3), code, dtype=np.uint16)
    assert (resample(still, box, (17, 9), kernel=KERNELS[name], depth=16) == code).all()


@given(dx=st.integers(-40, 40), dy=st.integers(-40, 40), name=st.sampled_from(list(KERNELS)))
def test_moving_still_and_box_together_changes_nothing(dx: int, dy: int, name: str) -> None:
    still = noise(channels=1, seed=3)
    moved = np.roll(still, (dy, dx), axis=(0, 1))
    box = (100.3, 100.6, 190.9, 170.2)
    there = (box[0] + dx, box[1] + dy, box[2] + dx, box[3] + dy)
    a = resample(still, box, (40, 31), kernel=KERNELS[name], depth=16).astype(int)
    b = resample(moved, there, (40, 31), kernel=KERNELS[name], depth=16).astype(int)
    assert np.abs(a - b).max() <= 1


@given(box=boxes, name=st.sampled_from(list(KERNELS)))
def test_a_mirrored_still_gives_a_mirrored_frame(box: Any, name: str) -> None:
    still = noise(channels=1, seed=4)
    left, top, right, bottom = box
    mirrored = (403 - right, top, 403 - left, bottom)
    a = resample(still, box, (37, 21), kernel=KERNELS[name]).astype(int)
    b = resample(np.ascontiguousarray(still[:, ::-1]), mirrored, (37, 21), kernel=KERNELS[name])
    assert np.abs(a - b[:, ::-1]).max() <= 1


@settings(max_examples=20)
@given(x=st.integers(0, 200), y=st.integers(0, 200), channels=st.sampled_from([1, 3]))
def test_a_native_box_on_whole_pixels_copies_bit_for_bit(x: int, y: int, channels: int) -> None:
    for dtype, depth in ((np.uint8, 8), (np.uint16, 16)):
        still = noise(dtype, channels, seed=x)
        box, size = (x, y, x + 130, y + 77), (130, 77)
        assert copies(box, size)
        for name in ("crisp", "supple", "plain"):
            frame = resample(still, box, size, kernel=KERNELS[name], depth=depth)
            np.testing.assert_array_equal(frame, still[y : y + 77, x : x + 130])


@pytest.mark.parametrize(("depth", "kind"), [(8, np.uint8), (16, np.uint16)])
def test_every_code_survives_a_copy(depth: int, kind: type) -> None:
    still = np.resize(np.arange(2**depth), (257, 257, 1)).astype(kind)  # rows of vectors and one
    # not BT.709, whose two pieces overlap at the knee: two codes there are one light
    for transfer in (SRGB, ADOBE_RGB, gamma(1.8), LINEAR):
        frame = resample(
            still, (0, 0, 257, 257), (257, 257), kernel=CRISP, transfer=transfer, depth=depth
        )
        np.testing.assert_array_equal(frame, still)


@pytest.mark.parametrize("transfer", [SRGB, ADOBE_RGB, BT709, gamma(1.8), LINEAR])
def test_a_copy_in_more_bits_holds_the_very_codes(transfer: Transfer) -> None:
    """PNG, third edition, 13.12: a sample of more bits is the linear share, here 257 times."""
    still = np.resize(np.arange(256), (257, 257, 1)).astype(np.uint8)
    frame = resample(still, (0, 0, 257, 257), (257, 257), kernel=CRISP, transfer=transfer, depth=16)
    np.testing.assert_array_equal(frame, still * np.uint16(257))


def test_a_box_between_pixels_or_at_another_scale_does_not_copy() -> None:
    assert not copies((0.5, 0, 10.5, 10), (10, 10))
    assert not copies((0, 0, 20, 20), (10, 10))


# How it is called. ---------------------------------------------------------------------------


def test_a_stripe_more_or_less_changes_nothing() -> None:
    still = np.random.default_rng(5).integers(0, 256, (40, 3000, 3), dtype=np.uint8)
    whole = resample(still, (0, 0, 3000, 40), (2999, 40), kernel=STEADY)
    part = resample(still, (0, 0, 1500, 40), (1500, 40), kernel=STEADY)
    assert whole.shape == (40, 2999, 3)
    native = resample(still, (1000, 0, 2500, 40), (1500, 40), kernel=STEADY)
    again = resample(np.ascontiguousarray(still[:, 900:2600]), (100, 0, 1600, 40), (1500, 40),
                     kernel=STEADY)  # fmt: skip
    np.testing.assert_array_equal(native, again)
    assert part.shape == (40, 1500, 3)


@pytest.mark.parametrize("shape", [(1, 1), (2, 3), (5, 1), (3, 100)])
def test_the_smallest_stills_and_frames_are_served(shape: tuple[int, int], summed: Any,
                                                   coded: Any) -> None:  # fmt: skip
    still = noise()[: shape[0], : shape[1]].copy()
    for size in ((1, 1), (9, 7)):
        box = (0.0, 0.0, float(shape[1]), float(shape[0]))
        got = resample(still, box, size, kernel=STEADY)
        assert np.abs(got - coded(summed(still, box, size, STEADY), 8)).max() <= 0.6


def test_a_result_goes_where_it_is_told() -> None:
    out = np.empty((20, 30, 3), dtype=np.uint8)
    got = resample(noise(), (0, 0, 90, 60), (30, 20), kernel=STEADY, out=out)
    assert got is out
    np.testing.assert_array_equal(got, resample(noise(), (0, 0, 90, 60), (30, 20), kernel=STEADY))


@st.composite
def near_and_far(draw: st.DrawFn) -> list[tuple[float, ...]]:
    """Boxes of one course, a little to very much apart, inside a still and beyond it."""
    left, top = draw(st.floats(-20, 200)), draw(st.floats(-20, 150))
    width, step = draw(st.floats(40, 350)), draw(st.sampled_from([0.0, 0.4, 7.0, 60.0]))
    boxes = []
    for _ in range(draw(st.integers(1, 5))):
        x, y, grown = (draw(st.floats(-1, 1)) * step for _ in range(3))
        left, top, width = left + x, top + y, max(width + grown, 20)
        boxes.append((left, top, left + width, top + width * 0.6))
    return boxes


@given(
    near_and_far(),
    st.sampled_from([(96, 54), (61, 33), (333, 200)]),
    st.sampled_from([np.uint8, np.uint16]),
    st.integers(1, 4),
    st.sampled_from([8, 16, 32]),
    st.sampled_from(list(KERNELS.values())),
)
@settings(max_examples=60, deadline=None)
def test_frames_made_in_one_pass_are_those_made_one_by_one(
    boxes: Any, size: Any, dtype: Any, channels: int, depth: int, kernel: Kernel
) -> None:
    still = noise(dtype, channels)
    each = resample_each(still, boxes, size, kernel=kernel, depth=depth)
    for got, box in zip(each, boxes, strict=True):
        np.testing.assert_array_equal(got, resample(still, box, size, kernel=kernel, depth=depth))


@pytest.mark.parametrize(
    ("boxes", "passes"),
    [
        ([(10.0, 10.0, 250.0, 160.0)] * 3, 1),
        ([(x, 10.0, x + 240.0, 160.0) for x in (0.0, 20.0, 40.0)], 1),
        ([(x, 10.0, x + 240.0, 160.0) for x in (0.0, 20.0, 160.0)], 2),
        ([(10.0, y, 250.0, y + 150.0) for y in (0.0, 60.0, 61.0, 120.0)], 3),
        ([(10.0, 10.0, 250.0, 160.0), (100.0, 66.0, 160.0, 104.0)], 2),
    ],
)
def test_only_what_is_near_by_shares_a_pass(
    boxes: Any, passes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    counts = []
    monkeypatch.setattr(
        straight, "resample_rows", lambda *given: counts.append(len(given[2].firsts))
    )
    resample_each(noise(), boxes, (96, 60), kernel=CRISP)
    assert (len(counts), sum(counts)) == (passes, len(boxes))


def test_threads_do_not_disturb_each_other() -> None:
    still = noise()
    jobs = [((x, 3.3, x + 300.0, 280.0), (150, 101)) for x in np.linspace(0, 90, 12)]
    alone = [resample(still, box, size, kernel=STEADY) for box, size in jobs]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda job: resample(still, *job, kernel=STEADY), jobs))
    for a, b in zip(alone, together, strict=True):
        np.testing.assert_array_equal(a, b)


def test_all_kinds_of_stills_share_one_compilation() -> None:
    warm_up()
    locked = noise()
    locked.flags.writeable = False
    resample(locked, (0, 0, 90, 60), (30, 20), kernel=STEADY)
    resample(noise(np.uint16, 4), (0, 0, 90, 60), (30, 20), kernel=CRISP, depth=32)
    resample(noise()[:, :, :1], (np.float32(0), 0, 90, 60), (np.int16(30), 20), kernel=CRISP)
    assert len(straight.resample_rows.signatures) == 1
    assert len(straight.taps.signatures) == 1
    assert is_compiled()


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"still": np.zeros((5, 5), np.uint8)}, "still"),
        ({"still": np.zeros((5, 5, 3), np.int64)}, "still"),
        ({"still": np.zeros((0, 5, 3), np.uint8)}, "still"),
        ({"still": np.zeros((5, 5, 5), np.uint8)}, "channels"),
        ({"box": (0, 0, np.nan, 5)}, "box"),
        ({"box": (5, 0, 5, 5)}, "box"),
        ({"box": (0, 9, 5, 5)}, "box"),
        ({"size": (0, 4)}, "size"),
        ({"depth": 12}, "depth"),
        ({"out": np.zeros((4, 4, 3), np.uint16)}, "out"),
        ({"out": np.zeros((4, 8, 3), np.uint8)[:, ::2]}, "out"),
    ],
)
def test_what_cannot_be_resampled_is_refused_in_words(change: dict[str, Any], word: str) -> None:
    given: dict[str, Any] = {
        "still": np.zeros((5, 5, 3), np.uint8), "box": (0, 0, 5, 5), "size": (4, 4),
    }  # fmt: skip
    given.update(change)
    with pytest.raises(InputError, match=word):
        resample(given.pop("still"), given.pop("box"), given.pop("size"), kernel=CRISP, **given)


def test_of_several_boxes_the_one_that_is_none_is_refused() -> None:
    boxes = [(0.0, 0.0, 5.0, 5.0), (0.0, 0.0, 0.0, 5.0)]
    with pytest.raises(InputError, match="box"):
        resample_each(noise(), boxes, (4, 4), kernel=CRISP)
    with pytest.raises(InputError, match="out"):
        resample_each(noise(), boxes[:1], (4, 4), kernel=CRISP, out=np.zeros((4, 4, 3), np.uint8))
