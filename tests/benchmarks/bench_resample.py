"""One frame of 1920 × 1080 from a 24-megapixel still, on one thread, beside its peers.

Run ``python tests/benchmarks/bench_resample.py``. Every method takes its turn in every round, and
what is compared is the processor time of the fastest round, since other work on the machine can
only add to it. libvips crops to whole pixels and averages code values; Pillow is given the exact
box, in code values, and per channel in linear light, decoded and encoded in numpy. The answer is
checked before it is timed.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from functools import partial

os.environ["VIPS_CONCURRENCY"] = "1"

import numpy as np
import pyvips
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import zoom

from cropmove.picture.kernels import DEFAULT_KERNEL, KERNELS
from cropmove.picture.light import SRGB, decode, decoding_table, encode
from cropmove.picture.ready import warm_up
from cropmove.picture.resample import resample
from cropmove.picture.roll import resample_rolled

SIZE = (1920, 1080)
STILL = (6000, 4000)
ROUNDS = 7
ROLLS = (3.7, 20.0, 45.0)
KERNEL = KERNELS[DEFAULT_KERNEL]
Box = tuple[float, float, float, float]


def painted_still() -> NDArray[np.uint8]:
    """Soft shapes with grain, the size of a photograph."""
    random = np.random.default_rng(1)
    shapes = zoom(random.uniform(0, 255, (63, 94, 3)), (64, 64, 1), order=1)[: STILL[1], : STILL[0]]
    grain = random.normal(0, 4, shapes.shape[:2])[:, :, None]
    return np.clip(shapes + grain, 0, 255).astype(np.uint8)


def methods(still: NDArray[np.uint8], box: Box) -> dict[str, Callable[[], object]]:
    """What is compared, each a call without arguments."""
    out = np.empty((SIZE[1], SIZE[0], 3), dtype=np.uint8)
    table = decoding_table(SRGB, 8)
    codes = (255 * encode(np.arange(65536) / 65535, SRGB) + 0.5).astype(np.uint8)
    picture = Image.fromarray(still)
    left, top, right, bottom = (round(side) for side in box)
    centre = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    lanczos = Image.Resampling.LANCZOS

    def rolled(roll: float) -> object:
        return resample_rolled(still, centre, box[2] - box[0], roll, SIZE, kernel=KERNEL, out=out)

    def libvips() -> object:
        whole = pyvips.Image.new_from_memory(still.data, *STILL, 3, "uchar")
        part = whole.crop(left, top, right - left, bottom - top)
        scale, vscale = SIZE[0] / (right - left), SIZE[1] / (bottom - top)
        return part.resize(scale, vscale=vscale).write_to_memory()

    def pillow_in_linear_light() -> object:
        near = slice(max(top - 12, 0), bottom + 12), slice(max(left - 12, 0), right + 12)
        inside = np.array(box) - [near[1].start, near[0].start] * 2
        for channel in range(3):
            light = Image.fromarray(table[still[(*near, channel)]])
            small = np.asarray(light.resize(SIZE, lanczos, box=tuple(inside)))
            out[:, :, channel] = codes[(np.clip(small, 0, 1) * 65535 + 0.5).astype(np.uint16)]
        return out

    return {
        "cropmove": lambda: resample(still, box, SIZE, kernel=KERNEL, out=out),
        "cropmove, crisp": lambda: resample(still, box, SIZE, kernel=KERNELS["crisp"], out=out),
        **{f"cropmove, rolled {roll:g}°": partial(rolled, roll) for roll in ROLLS},
        "libvips, whole pixels, gamma light": libvips,
        "Pillow, exact, gamma light": lambda: picture.resize(SIZE, lanczos, box=box),
        "Pillow, exact, linear light": pillow_in_linear_light,
    }


def check(still: NDArray[np.uint8], box: Box) -> None:
    """The crisp frame is the one that Pillow makes in linear light."""
    frame = resample(still, box, SIZE, kernel=KERNELS["crisp"])[:, :, 0].astype(float)
    plane = Image.fromarray(decode(still[:, :, 0], SRGB).astype(np.float32))
    light = np.asarray(plane.resize(SIZE, Image.Resampling.LANCZOS, box=box))
    # at the edge Pillow leaves taps out where we repeat the edge pixel
    error = np.abs(frame - 255 * encode(np.clip(light, 0, 1), SRGB))[8:-8, 8:-8]
    if error.max() > 0.7:
        raise SystemExit(f"the frame is {error.max():.2f} codes off")


def fastest(calls: dict[str, Callable[[], object]]) -> dict[str, float]:
    """Milliseconds of processor time of each method's fastest round."""
    spent: dict[str, list[float]] = {name: [] for name in calls}
    for _ in range(ROUNDS):
        for name, call in calls.items():
            begun = time.process_time()
            call()
            spent[name].append(time.process_time() - begun)
    return {name: 1000 * min(times) for name, times in spent.items()}


def main() -> None:
    """Print a row for each width and method."""
    warm_up()
    still = painted_still()
    print("| framing | method | ms | against libvips | against straight |\n|---|---|---|---|---|")
    for width in (6000, 3000, 1950):
        left = min(1000.3, STILL[0] - width)
        top = min(300.6, STILL[1] - width * 9 / 16)
        box = (left, top, left + width, top + width * 9 / 16)
        check(still, box)
        times = fastest(methods(still, box))
        peer, straight = times["libvips, whole pixels, gamma light"], times["cropmove"]
        for name, spent in times.items():
            ratios = f"{spent / peer:.2f} × | {spent / straight:.2f} ×"
            print(f"| {width} wide | {name} | {spent:.1f} | {ratios} |", flush=True)


if __name__ == "__main__":
    main()
