"""Draws the stills of the demo: "The Last Ferry", a harbour at dusk on a table top.

A carved ferry with a peg skipper and cotton smoke crosses a harbour of pleated film, past card
houses with lit paper windows, to the lighthouse. The camera is locked off and the lamps burn
steadily; only the ferry is moved, once for each still, and each still is to be held for two frames.

    python demo_frames/draw_stills.py                  all 24 stills, 3000 x 2000
    python demo_frames/draw_stills.py --only 12 --size 600 --samples 4 --out quick

The set is marched by rays (signed distances) with a softbox, soft fill, small lamps and a real
aperture. The empty set is exposed once; for each still only the neighbourhood of the ferry, its
shadow and its reflection is exposed again, with the very same samples, so that no seam shows.
Then comes the film: glow round the lamps, vignette, grain, a tone curve, sRGB, JPEG.
"""

import argparse
from itertools import product
from math import cos, sin
from pathlib import Path
from time import perf_counter

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw
from scene import STILLS, carried, ferry, lamps, table
from scipy.ndimage import gaussian_filter, maximum_filter, zoom
from scipy.spatial import ConvexHull
from tracer import KEY, Light, Mask, expose, screen_place

Codes = npt.NDArray[np.uint8]
Point = tuple[float, float, float]

HERE = Path(__file__).parent
QUALITY = 70
GRAIN = 0.010
SOFTNESS = 0.9  # standard deviation in pixels of a still 3000 wide
EXPOSURE = 1.0

# Boxes that together hold the ferry, in its own frame: hull, wheelhouse and skipper, mast, smoke.
PARTS_OF_FERRY: tuple[tuple[Point, Point], ...] = (
    ((-7.5, -0.9, -3.3), (7.3, 3.3, 3.3)),
    ((-5.2, 3.3, -1.7), (2.1, 7.0, 1.7)),
    ((-2.3, 3.3, -1.2), (6.8, 9.7, 0.3)),
    ((-6.6, 6.6, -1.2), (-1.2, 11.1, 1.0)),
)


# ---- exposure ----------------------------------------------------------------------------------


def empty_set(wanted: Mask, samples: int) -> Light:
    """The set without the ferry, in linear light, where it is wanted."""
    light = np.zeros((*wanted.shape, 3), np.float32)
    expose(light, wanted, samples, table(None), lamps(None))
    return light


def neighbourhood(still: int, width: int, height: int) -> Mask:
    """The pixels that the ferry can change: itself, its reflection, shadow and lamplight."""
    ship = ferry(still)
    mask = Image.new("1", (width, height))
    pen = ImageDraw.Draw(mask)
    for low, high in PARTS_OF_FERRY:
        box = [(x, y, z) for x, y, z in product(*zip(low, high, strict=True))]
        corners = [carried(ship, corner) for corner in box]
        mirrored = [(x, -y - stretch, z) for x, y, z in corners for stretch in (-2.0, 3.5)]
        for points in (corners, mirrored, [on_water(corner) for corner in corners]):
            outline(pen, [screen_place(point, width, height) for point in points])
    dimmed = [carried(ship, (12.3 * cos(a), 0.0, 8.4 * sin(a))) for a in np.linspace(0, 6.2, 24)]
    outline(pen, [screen_place(point, width, height) for point in dimmed])
    near = maximum_filter(np.asarray(mask), size=2 * int(0.012 * width) + 1)
    return np.asarray(near, np.bool_)


def outline(pen: ImageDraw.ImageDraw, places: list[tuple[float, float]]) -> None:
    """Fill the outermost line round some places."""
    pen.polygon([places[i] for i in ConvexHull(places).vertices], fill=1)


def on_water(point: Point) -> Point:
    """Where the key throws the shadow of a point on the water."""
    share = max(point[1], 0.0) / (KEY[1] - point[1])
    return (
        point[0] + share * (point[0] - KEY[0]), 0.0, point[2] + share * (point[2] - KEY[2]),
    )  # fmt: skip


def every_other(mask: Mask) -> Mask:
    """Every other pixel of every other row."""
    chosen = np.zeros_like(mask)
    chosen[::2, ::2] = True
    return chosen


def with_ferry(empty: Light, sketch: Light, still: int, samples: int) -> Light:
    """The set with the ferry in its place for a still.

    `sketch` is the empty set with two rays for every other pixel. Two rays with the ferry in place
    tell which of them it changes; only these, and those close by, are exposed in full.
    """
    height, width = empty.shape[:2]
    things, lights = table(still), lamps(still)
    near = neighbourhood(still, width, height)
    trial = sketch.copy()
    expose(trial, near & every_other(near), 2, things, lights)
    changed = np.abs(trial - sketch).max(axis=2) > 1e-4
    light = empty.copy()
    around = maximum_filter(changed, size=2 * (width // 500) + 3)
    expose(light, around & near, samples, things, lights)
    return light


# ---- film --------------------------------------------------------------------------------------


def glow(light: Light) -> Light:
    """Light scattered in the lens: a narrow and a wide halo round the lamps and lit panes."""
    height, width = light.shape[:2]
    bright = np.maximum(light - 0.9, 0.0)
    small = bright[: height // 4 * 4, : width // 4 * 4]
    small = small.reshape(height // 4, 4, width // 4, 4, 3).mean((1, 3))
    halo = np.zeros_like(small)
    for share, radius in ((0.10, 0.0025), (0.07, 0.009), (0.05, 0.03)):
        halo += share * gaussian_filter(small, (radius * width / 4, radius * width / 4, 0))
    wide = zoom(halo, (height / small.shape[0], width / small.shape[1], 1), order=1)
    return np.asarray(light + wide, np.float32)


def lens(light: Light) -> Light:
    """The softness of a real lens and sensor; it pools the rays of neighbours as well."""
    radius = SOFTNESS * light.shape[1] / 3000
    return np.asarray(gaussian_filter(light, (radius, radius, 0)), np.float32)


def vignette(light: Light) -> Light:
    """The corners a little darker, as a lens leaves them."""
    height, width = light.shape[:2]
    y, x = np.ogrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j]
    fall = 1.0 / (1.0 + 0.20 * (x * x + (y * height / width) ** 2)) ** 2
    return np.asarray(light * fall[:, :, None], np.float32)


def grain(light: Light, still: int) -> Light:
    """Grain of its own for each still: strongest in the middle tones, about a pixel across."""
    random = np.random.default_rng(1800 + still)
    speck = random.standard_normal((*light.shape[:2], 1), np.float32)
    speck = gaussian_filter(speck, (0.7, 0.7, 0))
    speck /= speck.std()
    return np.asarray(light + 0.5 * GRAIN * speck * np.sqrt(light), np.float32)


def tone(light: Light) -> Light:
    """A film's shoulder and toe: a rational curve fitted to a print, 0 to 1 in linear light."""
    x = np.maximum(light * EXPOSURE, 0.0)
    print_ = x * (2.51 * x + 0.03) / (x * (2.43 * x + 0.59) + 0.14)
    return np.asarray(np.clip(print_, 0.0, 1.0), np.float32)


def srgb(light: Light) -> Codes:
    """8-bit sRGB codes of linear light (IEC 61966-2-1)."""
    code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.asarray(np.rint(255.0 * code), np.uint8)


def developed(light: Light, still: int) -> Codes:
    """The codes of a still: lens, glow, vignette, grain and tone, as light meets them."""
    return srgb(tone(grain(vignette(glow(lens(light))), still)))


# ---- command -----------------------------------------------------------------------------------


def draw(out: Path, stills: list[int], width: int, samples: int, suffix: str) -> None:
    """Expose, develop and save stills."""
    out.mkdir(parents=True, exist_ok=True)
    start = perf_counter()
    everywhere = np.ones((width * 2 // 3, width), np.bool_)
    empty, sketch = empty_set(everywhere, samples), empty_set(every_other(everywhere), 2)
    print(f"empty set: {perf_counter() - start:.0f} s", flush=True)
    for still in stills:
        codes = developed(with_ferry(empty, sketch, still, samples), still)
        path = out / f"harbour_{still:04d}.{suffix}"
        image = Image.fromarray(codes)
        if suffix == "jpg":
            image.save(path, quality=QUALITY, subsampling="4:2:0", optimize=True)
        else:
            image.save(path)
        print(f"{path}: {path.stat().st_size:,} bytes, {perf_counter() - start:.0f} s", flush=True)


def main() -> None:
    """Read the command line and draw."""
    parser = argparse.ArgumentParser(description="Draw the stills of the demo.")
    parser.add_argument("--only", type=int, nargs="+", help="draw these stills only")
    parser.add_argument("--size", type=int, default=3000, help="width in pixels (default 3000)")
    parser.add_argument("--samples", type=int, default=6, help="rays for each pixel")
    parser.add_argument("--out", type=Path, default=HERE / "harbour", help="folder for the stills")
    parser.add_argument("--suffix", choices=("jpg", "png"), default="jpg")
    given = parser.parse_args()
    stills = given.only or list(range(1, STILLS + 1))
    draw(given.out, stills, given.size, given.samples, given.suffix)


if __name__ == "__main__":
    main()
