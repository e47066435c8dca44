"""The figures and the chart of docs/kernels.md, measured anew: python docs/measure_kernels.py.

Everything goes through `cropmove.picture.resample.resample`, in linear light and floating point, so
what is measured is what renders. The photographs come with scikit-image and had no part in the
design of the steady kernel (those that had are named in tests/benchmarks/design_kernel.py).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from io import BytesIO
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
import skimage.data
from numpy.typing import NDArray
from PIL import Image
from scipy.fft import dctn, idctn

from cropmove.picture.kernels import DEFAULT_KERNEL, KERNELS, Kernel
from cropmove.picture.light import SRGB, decode, encode
from cropmove.picture.resample import resample

Floats = NDArray[np.float64]

PAGE = Path(__file__).parent / "kernels.md"
CHART = Path(__file__).parent / "pictures" / "steadiness.png"

STEPS = np.arange(20) * 0.05
"""A slow pan over one delivered pixel."""

WAYS = {"rows": (1, 0), "columns": (0, 1), "diagonal": (1, 1)}


# Pictures. -----------------------------------------------------------------------------------


def even_gradient(size: int = 512, seed: int = 1) -> Floats:
    """A picture of power 1/f², whose gradient is equally strong at all frequencies."""
    f = np.hypot(np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size))
    f[0, 0] = np.inf
    spectrum = np.fft.rfft2(np.random.default_rng(seed).standard_normal((size, size))) / f
    noise = np.fft.irfft2(spectrum, s=(size, size))
    return np.asarray(0.5 + 0.1 * noise / noise.std())


def _light(codes: NDArray[np.uint8]) -> Floats:
    light = decode(codes, SRGB)
    return light.mean(axis=2) if light.ndim == 3 else light


PHOTOGRAPHS: dict[str, Callable[[], Floats]] = {
    "coffee": lambda: _light(skimage.data.coffee()),
    "rocket": lambda: _light(skimage.data.rocket()),
    "motorcycle": lambda: _light(skimage.data.stereo_motorcycle()[0]),
    "brick": lambda: _light(skimage.data.brick()),
    "gravel": lambda: _light(skimage.data.gravel()),
    "grass": lambda: _light(skimage.data.grass()),
    "coins": lambda: _light(skimage.data.coins()),
    "deep field": lambda: _light(skimage.data.hubble_deep_field()),
}


def stripes(period: float) -> Floats:
    """Upright stripes, a cosine of that many pixels."""
    row = 0.5 + 0.3 * np.cos(2 * np.pi * np.arange(1024) / period + 0.3)
    return np.repeat(row[None], 12, axis=0)


# What is measured. ---------------------------------------------------------------------------


def gradient(picture: Floats, moved: tuple[float, float] = (0, 0)) -> float:
    """Root mean square gradient, weighed down to nothing at the edges.

    The weights go with the picture when it has moved, so that the same part of it counts: what
    enters and leaves the frame is no pulsing.
    """
    squared = np.diff(picture, axis=0)[:, :-1] ** 2 + np.diff(picture, axis=1)[:-1] ** 2
    across, down = (_hump(n, by) for n, by in zip(squared.shape[::-1], moved, strict=True))
    weight = down[:, None] * across
    return float(np.sqrt((squared * weight).sum() / weight.sum()))


def _hump(count: int, moved: float) -> Floats:
    share = (np.arange(count) + moved) / (count - 1)
    return np.asarray(np.sin(np.pi * np.clip(share, 0, 1)) ** 2)


def sharpest(picture: Floats, reduction: int) -> Floats:
    """The picture reduced with all that the smaller grid can hold, and nothing else.

    All frequencies below half its sampling rate whole, none above (a cut cosine transform).
    """
    if reduction == 1:
        return picture
    height, width = (side // reduction for side in picture.shape)
    kept = dctn(picture, norm="ortho")[:height, :width] / reduction
    return np.asarray(idctn(kept, norm="ortho"))


def frames(
    picture: Floats, kernel: Kernel, way: tuple[int, int], reduction: int, steps: Floats
) -> Iterator[Floats]:
    """The frames of a pan, its steps in delivered pixels."""
    still = picture.astype(np.float32)[:, :, None]
    height, width = (side // reduction for side in picture.shape)
    for step in steps:
        x, y = (reduction * step * part for part in way)
        box = (x, y, x + reduction * width, y + reduction * height)
        frame = resample(still, box, (width, height), kernel=kernel, depth=32)
        yield frame[:, :, 0].astype(np.float64)


def pan(
    picture: Floats,
    kernel: Kernel,
    way: tuple[int, int] = (1, 0),
    reduction: int = 1,
    steps: Floats = STEPS,
) -> Floats:
    """Sharpness at each step, in shares of the sharpest picture of that size."""
    own = gradient(sharpest(picture, reduction))
    taken = zip(steps, frames(picture, kernel, way, reduction, steps), strict=True)
    moved = [gradient(frame, (step * way[0], step * way[1])) for step, frame in taken]
    return np.array(moved) / own


def swing(sharpness: Floats) -> float:
    """From lowest to highest, as a share of the mean."""
    return float(np.ptp(sharpness) / sharpness.mean())


def ringing(kernel: Kernel, reduction: int = 1) -> float:
    """The most by which a hard one-pixel step is overshot, over a hundred positions."""
    step = np.zeros((4 * reduction, 128))
    step[:, 64:] = 1
    moved = frames(step, kernel, (1, 0), reduction, np.arange(100) / 100)
    return max(max(float(frame.max()) - 1, -float(frame.min())) for frame in moved)


# Tables. -------------------------------------------------------------------------------------


def _table(head: list[str], rows: Iterable[list[str]]) -> str:
    lines = [head, ["---", *["---:"] * (len(head) - 1)], *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def _percent(share: float, places: int = 1) -> str:
    return f"{100 * share:.{places}f} %"


def _three(swings: Iterable[float]) -> str:
    return " / ".join(f"{100 * share:.1f}" for share in swings) + " %"


def by_kernel(reduction: int) -> str:
    """Every kernel: sharpness and swing on the even picture and on photographs, and ringing."""
    even, photographs = even_gradient(), [make() for make in PHOTOGRAPHS.values()]
    head = ["kernel", "sharpness, 1/f²", "swing, 1/f²", "sharpness, photographs",
            "worst swing, photographs", "ringing"]  # fmt: skip
    return _table(head, (_kernel_row(k, even, photographs, reduction) for k in KERNELS.values()))


def _kernel_row(
    kernel: Kernel, even: Floats, photographs: list[Floats], reduction: int
) -> list[str]:
    drawn = [pan(even, kernel, way, reduction) for way in WAYS.values()]
    taken = [[pan(photo, kernel, w, reduction) for photo in photographs] for w in WAYS.values()]
    means = [sharpness.mean() for sharpness in chain(*taken)]
    return [
        f"`{kernel.name}`",
        f"{np.mean(drawn):.3f}",
        _three(swing(sharpness) for sharpness in drawn),
        f"{min(means):.2f} to {max(means):.2f}",
        _three(max(map(swing, sharpness)) for sharpness in taken),
        _percent(ringing(kernel, reduction), 2),
    ]


def by_photograph() -> str:
    """The default kernel on each photograph, at native scale."""
    kernel = KERNELS[DEFAULT_KERNEL]
    rows = []
    for name, make in {"1/f²": even_gradient, **PHOTOGRAPHS}.items():
        drawn = [pan(make(), kernel, way) for way in WAYS.values()]
        swings = (_percent(swing(sharpness), 2) for sharpness in drawn)
        rows.append([name, f"{np.mean(drawn):.3f}", *swings])
    return _table(["picture", "sharpness", *(f"swing, {way}" for way in WAYS)], rows)


def by_stripes() -> str:
    """Every kernel on stripes of one width: contrast kept, and its swing."""
    periods = (20, 10, 20 / 3, 5, 4, 10 / 3, 3, 2.5, 2.2)
    rows = []
    for kernel in KERNELS.values():
        drawn = [pan(stripes(period), kernel) for period in periods]
        cells = (f"{s.mean():.2f} ({_percent(swing(s), 0)})" for s in drawn)
        rows.append([f"`{kernel.name}`", *cells])
    return _table(["kernel", *(f"{period:.3g} px" for period in periods)], rows)


# Rounding. -----------------------------------------------------------------------------------


def gradient_still(electrons: float = 0, rows: int = 1080, width: int = 1920) -> Floats:
    """Light from 0.18 to 0.20 across, with the grain of a sensor that fills with `electrons`.

    Light arrives in grains itself: n electrons come with a spread of √n (Poisson).
    """
    light = np.repeat(np.linspace(0.18, 0.20, width)[None], rows, axis=0)
    if not electrons:
        return light
    return np.random.default_rng(3).poisson(light * electrons) / electrons


def noticeable(luminance: float) -> float:
    """How many just noticeable differences above 0.05 cd/m² a luminance lies.

    DICOM PS3.14, equation for the grayscale standard display function, read backwards.
    """
    above = (-1.3011877, 8.0242636e-2, 1.3646699e-1, -2.5468404e-2, 1.3635334e-3)
    below = (1.0, -2.5840191e-2, -1.0320229e-1, 2.8745620e-2, -3.1978977e-3, 1.2992634e-4)
    index = np.linspace(1, 1023, 100_000)
    place = np.log(index)
    log = np.polyval(above[::-1], place) / np.polyval(below[::-1], place)
    return float(np.interp(np.log10(luminance), log, index))


def by_grain() -> str:
    """Plain rounding of a soft gradient: what is left of its bands, by the grain in the still."""
    cases = [("no grain at all", 0, 1)] + [
        (f"grain of 50 000 electrons, {reduction}:1", 50_000, reduction) for reduction in (1, 2, 3)
    ]
    head = ["soft gradient in the still", "grain in the frame, codes", "bands left, codes",
            "bands left with dither, codes"]  # fmt: skip
    return _table(head, ([name, *_bands(*case)] for name, *case in cases))


def _rendered(light: Floats, reduction: int, depth: int) -> NDArray[np.float64]:
    """A 16-bit still of that light, rendered by the default kernel; in 8-bit codes."""
    still = np.rint(65535 * encode(light, SRGB)).astype(np.uint16)[:, :, None]
    height, width = (side // reduction for side in light.shape)
    box = (0.0, 0.0, float(reduction * width), float(reduction * height))
    kernel = KERNELS[DEFAULT_KERNEL]
    frame = resample(still, box, (width, height), kernel=kernel, depth=depth)[:, :, 0]
    return frame.astype(np.float64) if depth == 8 else frame / 257


def _bands(electrons: float, reduction: int) -> list[str]:
    light = gradient_still(electrons, 1080 * reduction, 1920 * reduction)
    exact, plain = (_rendered(light, reduction, depth) for depth in (16, 8))
    dithered = _dithered(exact, 4)
    spread = (exact - exact.mean(axis=0)).std()
    return [f"{spread:.2f}", *(f"{_band(frame, exact):.3f}" for frame in (plain, dithered))]


def _band(frame: Floats, exact: Floats) -> float:
    """Root mean square of what rounding added that stands as upright bands, 32 pixels smoothed."""
    added = (frame - exact).mean(axis=0)
    smooth = np.convolve(added, np.full(32, 1 / 32), mode="valid")
    return float(np.sqrt((smooth**2).mean()))


def rounding_facts() -> str:
    """Band widths, how visible one code is, and how much of a held frame dither sets boiling."""
    light = gradient_still(rows=8)
    codes = _rendered(light, 1, 8)[4]
    edges = np.flatnonzero(np.diff(codes)) + 1
    one = decode(np.array([120, 121], dtype=np.uint8), SRGB)
    seen = noticeable(100 * one[1]) - noticeable(100 * one[0])
    grainy = gradient_still(50_000)
    plain, again = (_rendered(grainy, 1, 8) for _ in range(2))
    dithered, anew = (_dithered(_rendered(grainy, 1, 16), seed) for seed in (5, 6))
    cup = PHOTOGRAPHS["coffee"]()
    growth = _packed(_dithered(_rendered(cup, 1, 16), 7)) / _packed(_rendered(cup, 1, 8))
    facts = [
        ["bands of a noiseless gradient", f"{codes.max() - codes.min() + 1:.0f}"],
        ["width of the whole ones", f"{np.diff(edges).min()} to {np.diff(edges).max()} px"],
        ["one code, in light", _percent(one[1] / one[0] - 1, 2)],
        ["one code, in just noticeable differences", f"{seen:.1f}"],
        [
            "pixels that change while a frame is held, plain rounding",
            _percent((plain != again).mean(), 0),
        ],
        ["the same with random dither", _percent((dithered != anew).mean(), 0)],
        ["a frame as PNG (coffee, grey) with dither, against plain", f"{growth:.2f} times"],
    ]
    return _table(["measured", "value"], facts)


def _dithered(exact: Floats, seed: int) -> Floats:
    return np.floor(exact + np.random.default_rng(seed).random(exact.shape))


def _packed(codes: Floats) -> int:
    file = BytesIO()
    Image.fromarray(codes.clip(0, 255).astype(np.uint8)).save(file, "PNG")
    return len(file.getvalue())


# The page. -----------------------------------------------------------------------------------


LINES = {
    "steady": {"linewidth": 2.6, "linestyle": "-"},
    "crisp": {"linewidth": 1.2, "linestyle": "-"},
    "supple": {"linewidth": 1.3, "linestyle": (0, (7, 2.5))},
    "gentle": {"linewidth": 1.3, "linestyle": (0, (7, 2, 1.2, 2))},
    "plain": {"linewidth": 1.5, "linestyle": (0, (1.2, 1.8))},
}


def draw() -> None:
    """The chart: sharpness over a pan of a pixel and a half, a line for each kernel."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    pictures = {
        "a picture of power 1/f²": even_gradient(),
        "a photograph (coffee)": PHOTOGRAPHS["coffee"](),
    }
    steps = np.arange(31) * 0.05
    figure, panels = plt.subplots(1, 2, figsize=(8.4, 4.2), sharey=True, layout="constrained")
    for panel, (title, picture) in zip(panels, pictures.items(), strict=True):
        ends = {}
        for name, kernel in KERNELS.items():
            sharpness = 100 * pan(picture, kernel, steps=steps)
            panel.plot(steps, sharpness, color="black", **LINES[name])
            ends[name] = float(sharpness[-1])
        _dress(panel, title)
        _label(panel, ends)
    panels[0].set_ylabel("sharpness, % of the still's own")
    figure.savefig(CHART, dpi=150, metadata={"Software": None})
    plt.close(figure)


def _dress(panel: Any, title: str) -> None:
    panel.set_title(title, loc="left", fontsize=10)
    panel.set_xlabel("pan along the rows, pixels", fontsize=9)
    panel.set_xlim(0, 1.5)
    panel.set_xticks([0, 0.5, 1, 1.5])
    panel.grid(axis="y", color="0.88", linewidth=0.7)
    panel.tick_params(labelsize=9, length=3, color="0.5")
    panel.spines[["top", "right"]].set_visible(False)


def _label(panel: Any, ends: dict[str, float], apart: float = 2.4) -> None:
    """Names at the ends of the lines, pushed apart where two would touch."""
    place = np.inf
    for name in sorted(ends, key=lambda name: -ends[name]):
        place = min(ends[name], place - apart)
        weight = "bold" if name == DEFAULT_KERNEL else "normal"
        panel.text(1.53, place, name, va="center", fontsize=9.5, fontweight=weight, clip_on=False)


def fill(page: str, name: str, table: str) -> str:
    """The page with a table put between its two markers."""
    begin, end = f"<!-- measured: {name} -->\n", "<!-- end -->"
    before, found, rest = page.partition(begin)
    _, closed, after = rest.partition(end)
    if not (found and closed):
        raise SystemExit(f"{PAGE.name} has no markers for {name!r}")
    return f"{before}{begin}{table}\n{closed}{after}"


def main() -> None:
    """Measure, print, and bring page and chart up to date."""
    page = PAGE.read_text("utf-8")
    for name, measure in {
        "native": lambda: by_kernel(1),
        "half": lambda: by_kernel(2),
        "photographs": by_photograph,
        "stripes": by_stripes,
        "grain": by_grain,
        "rounding": rounding_facts,
    }.items():
        table = measure()
        print(f"{name}\n{table}\n", flush=True)
        page = fill(page, name, table)
    draw()
    PAGE.write_text(page, "utf-8")


if __name__ == "__main__":
    main()
