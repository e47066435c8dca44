"""The main job held to arithmetic: what `table` says is where the rendered points are."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pytest
from known_pictures import HEIGHT, PERIODS, phases, read_png, summed, waves, write_png
from PIL import Image
from skimage import data
from typer.testing import CliRunner

from cropmove.cli import app
from cropmove.picture.kernels import DEFAULT_KERNEL, kernel_named
from cropmove.picture.light import SRGB, decode, encode

SIZE = (160, 90)
STILL = (700, 500)

SHOT = """
[shot]
stills = "stills"
[delivery]
size = [160, 90]
format = "png"
depth = {depth}
[[key]]
frame = 1
centre = [{x0}, {y0}]
width = {width}
[[key]]
frame = 4
centre = [{x1}, {y1}]
width = {width}
ease = "none"
"""


Rows = list[dict[str, float]]


def render(folder: Path, width: float, depth: int) -> tuple[Rows, list[np.ndarray]]:
    """The rows of the table and the frames of a slow move at odd fractions of a pixel."""
    shot = folder / "waves.toml"
    shot.write_text(
        SHOT.format(depth=depth, width=width, x0=330.137, y0=250.713, x1=341.219, y1=247.377)
    )
    runner = CliRunner()
    table = runner.invoke(app, ["table", str(shot)])
    assert table.exit_code == 0, table.output
    done = runner.invoke(app, ["render", str(shot), "--out", str(folder / "frames"), "--quiet"])
    assert done.exit_code == 0, done.output
    told = csv.DictReader(io.StringIO(table.stdout))
    rows = [{name: float(value) for name, value in row.items()} for row in told]
    names = [f"waves.{frame:04d}.png" for frame in range(1, 5)]
    return rows, [read_png(folder / "frames" / name) for name in names]


@pytest.mark.parametrize("times", [1.0, 1.7, 3.3])
def test_every_rendered_point_is_within_a_hundredth_of_a_pixel_of_the_table(
    tmp_path: Path, times: float
) -> None:
    write_png(tmp_path / "stills" / "a.png", waves(*STILL))
    rows, frames = render(tmp_path, width=SIZE[0] * times, depth=16)
    for row, frame in zip(rows, frames, strict=True):
        scale = row["scale"]
        j, i = np.mgrid[: SIZE[1], : SIZE[0]]
        x = row["centre_x"] + (i + 0.5 - SIZE[0] / 2) / scale
        y = row["centre_y"] + (j + 0.5 - SIZE[1] / 2) / scale
        for channel, period in enumerate(PERIODS):
            light = decode(frame[..., channel] / 65535, SRGB)
            phase = phases(x, y)[..., channel]
            # A symmetric kernel changes a wave's height, never its place: fit height and middle.
            basis = np.stack([np.ones_like(phase), np.sin(phase)], axis=-1).reshape(-1, 2)
            fit, *_ = np.linalg.lstsq(basis, light.ravel(), rcond=None)
            off = light.ravel() - basis @ fit
            slope = 2 * np.pi / period / scale * fit[1] * np.cos(phase.ravel())
            steep = np.abs(np.cos(phase.ravel())) > 0.5
            assert 0.9 * HEIGHT < fit[1] < 1.05 * HEIGHT
            assert np.abs(off[steep] / slope[steep]).max() < 0.01


@pytest.mark.parametrize("times", [1.0, 1.7, 3.3])
def test_no_code_is_off_the_float64_sum_of_the_kernel_by_more_than_six_tenths(
    tmp_path: Path, times: float
) -> None:
    rng = np.random.default_rng(5)
    still = rng.integers(0, 256, (STILL[1], STILL[0], 3), dtype=np.uint8)
    write_png(tmp_path / "stills" / "a.png", still)
    rows, frames = render(tmp_path, width=SIZE[0] * times, depth=8)
    kernel = kernel_named(DEFAULT_KERNEL)
    for row, frame in zip(rows, frames, strict=True):
        half_width, half_height = row["width"] / 2, row["height"] / 2
        box = (
            row["centre_x"] - half_width,
            row["centre_y"] - half_height,
            row["centre_x"] + half_width,
            row["centre_y"] + half_height,
        )
        wanted = summed(still, box, SIZE, kernel) * 255
        off = np.abs(frame - wanted)
        assert off.max() <= 0.6, f"worst {off.max():.3f}, mean {off.mean():.3f} codes"


def test_a_flat_field_stays_exactly_flat(tmp_path: Path) -> None:
    for code in (1, 64, 188, 254):
        folder = tmp_path / str(code)
        write_png(folder / "stills" / "a.png", np.full((500, 700, 3), code, np.uint8))
        _, frames = render(folder, width=272.3, depth=8)
        assert all((frame == code).all() for frame in frames)


@pytest.mark.parametrize(
    ("white", "of", "code"),
    # IEC 61966-2-1: a fine pattern seen from afar is the mean of its light, not of its codes.
    [(1, 4, 136.960), (1, 3, 156.188), (1, 2, 187.516), (2, 3, 213.182), (3, 4, 224.610)],
)
def test_a_half_tone_gives_the_mean_of_its_light(
    tmp_path: Path, white: int, of: int, code: float
) -> None:
    columns = (np.arange(STILL[0]) % of < white) * 255
    still = np.broadcast_to(columns[None, :, None], (STILL[1], STILL[0], 3)).astype(np.uint8)
    write_png(tmp_path / "stills" / "a.png", np.ascontiguousarray(still))
    # Ten patterns to a delivered pixel: no kernel sees a single line of it.
    shot = SHOT.replace("size = [160, 90]", "size = [16, 9]")
    (tmp_path / "waves.toml").write_text(
        shot.format(depth=8, width=640, x0=350, y0=250, x1=350, y1=250)
    )
    done = CliRunner().invoke(
        app, ["render", str(tmp_path / "waves.toml"), "--out", str(tmp_path / "f"), "--quiet"]
    )
    assert done.exit_code == 0, done.output
    inner = read_png(tmp_path / "f" / "waves.0001.png")[2:-2, 2:-2]
    assert np.abs(inner - code).max() <= 0.6


def test_a_native_framing_on_whole_pixels_copies_them_bit_for_bit(tmp_path: Path) -> None:
    rng = np.random.default_rng(9)
    still = rng.integers(0, 256, (STILL[1], STILL[0], 3), dtype=np.uint8)
    write_png(tmp_path / "stills" / "a.png", still)
    (tmp_path / "held.toml").write_text(
        '[shot]\nstills = "stills"\nframes = 2\n[delivery]\nsize = [160, 90]\n'
        "[[key]]\nframe = 1\ncentre = [180, 95]\nwidth = 160\n"
    )
    done = CliRunner().invoke(
        app, ["render", str(tmp_path / "held.toml"), "--out", str(tmp_path / "f"), "--quiet"]
    )
    assert done.exit_code == 0, done.output
    for frame in (1, 2):
        picture = read_png(tmp_path / "f" / f"held.{frame:04d}.png")
        assert (picture == still[50:140, 100:260]).all()


def test_a_photograph_agrees_with_an_independent_exact_resize(tmp_path: Path) -> None:
    # Picture: scikit-image's "coffee" (CC0). Peer: Pillow's resize with an exact float box,
    # Lanczos-3 with antialiasing, on each channel in linear light as 32-bit floats.
    still = data.coffee()
    write_png(tmp_path / "stills" / "a.png", still)
    (tmp_path / "cup.toml").write_text(
        '[shot]\nstills = "stills"\nframes = 1\n[delivery]\nsize = [160, 90]\nkernel = "crisp"\n'
        "[[key]]\nframe = 1\ncentre = [301.37, 207.91]\nwidth = 411.3\n"
    )
    done = CliRunner().invoke(
        app, ["render", str(tmp_path / "cup.toml"), "--out", str(tmp_path / "f"), "--quiet"]
    )
    assert done.exit_code == 0, done.output
    got = read_png(tmp_path / "f" / "cup.0001.png")
    half_width, half_height = 411.3 / 2, 411.3 * 90 / 160 / 2
    box = (301.37 - half_width, 207.91 - half_height, 301.37 + half_width, 207.91 + half_height)
    light = decode(still / 255, SRGB).astype(np.float32)
    planes = [
        Image.fromarray(light[..., c]).resize((160, 90), Image.Resampling.LANCZOS, box=box)
        for c in range(3)
    ]
    wanted = encode(np.clip(np.stack([np.asarray(p) for p in planes], -1), 0, 1), SRGB) * 255
    off = np.abs(got - wanted)
    assert off.max() <= 0.6, f"worst {off.max():.3f}, mean {off.mean():.3f} codes"
