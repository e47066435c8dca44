"""On a DNG that is made here: a photograph seen through an RGGB mosaic by a camera whose own
colours are sRGB's. Tags: Adobe Digital Negative Specification 1.7, chapter 4."""

from __future__ import annotations

import sys
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from skimage import data

from cropmove.errors import InputError, MachineError
from cropmove.geometry import Orientation, Size
from cropmove.picture.light import SRGB, decode
from cropmove.stills.find import StillRef
from cropmove.stills.profile import transfer_of
from cropmove.stills.read import read_header, read_pixels

BLACK, WHITE = 512, 16_383
XYZ_TO_SRGB = (
    (3.2404542, -1.5371385, -0.4985314),
    (-0.9692660, 1.8760108, 0.0415560),
    (0.0556434, -0.2040259, 1.0572252),
)
"""IEC 61966-2-1's matrix; a DNG's colour matrix runs from XYZ to the camera's own colours."""


def mosaic(light: NDArray[np.float64]) -> NDArray[np.uint16]:
    seen = np.empty(light.shape[:2])
    for (row, column), channel in {(0, 0): 0, (0, 1): 1, (1, 0): 1, (1, 1): 2}.items():
        seen[row::2, column::2] = light[row::2, column::2, channel]
    return np.rint(BLACK + seen * (WHITE - BLACK)).astype(np.uint16)


def rationals(*values: float) -> list[int]:
    return [part for value in values for part in (round(value * 10_000), 10_000)]


def dng(path: Path, orientation: int = 1) -> StillRef:
    matrix = [value for row in XYZ_TO_SRGB for value in row]
    tags = [
        (274, "H", 1, orientation, True),
        (271, "s", 0, "cropmove", True),
        (272, "s", 0, "test camera", True),
        (33421, "H", 2, (2, 2), True),
        (33422, "B", 4, bytes([0, 1, 1, 2]), True),
        (33434, "2I", 1, (1, 4), True),
        (50706, "B", 4, bytes([1, 4, 0, 0]), True),
        (50708, "s", 0, "cropmove test camera", True),
        (50714, "H", 1, BLACK, True),
        (50717, "H", 1, WHITE, True),
        (50721, "2i", 9, rationals(*matrix), True),
        (50728, "2I", 3, rationals(1, 1, 1), True),
        (50778, "H", 1, 21, True),
    ]
    sensor = mosaic(decode(data.astronaut(), SRGB))
    tifffile.imwrite(path, sensor, photometric="cfa", metadata=None, extratags=tags)
    return StillRef(path=path)


def test_the_picture_is_developed_as_it_was(tmp_path: Path) -> None:
    still = dng(tmp_path / "a.dng")
    header = read_header(still)
    pixels = read_pixels(still, header)
    assert (header.stored, header.channels, header.depth) == (Size(512, 512), 3, 16)
    assert transfer_of(header) == SRGB
    # The mosaic blurs fine detail; patches of 16 × 16 keep their colour.
    patches = pixels.reshape(32, 16, 32, 16, 3).mean(axis=(1, 3)) / 257
    wanted = data.astronaut().reshape(32, 16, 32, 16, 3).mean(axis=(1, 3))
    assert np.abs(patches - wanted).mean() < 0.5
    assert np.abs(patches - wanted).max() < 8


@pytest.mark.parametrize("code", [1, 3, 6, 8])
def test_pixels_are_as_stored_and_orientation_is_told(code: int, tmp_path: Path) -> None:
    still = dng(tmp_path / "a.dng", code)
    assert read_header(still).orientation == Orientation(code)
    assert np.array_equal(read_pixels(still), read_pixels(dng(tmp_path / "b.dng")))


def test_the_exposure_time_is_read(tmp_path: Path) -> None:
    assert read_header(dng(tmp_path / "a.dng")).captured.time == Fraction(1, 4)


def test_a_cut_off_raw_file_is_refused(tmp_path: Path) -> None:
    still = dng(tmp_path / "a.dng")
    still.path.write_bytes(still.path.read_bytes()[:200_000])
    with pytest.raises(InputError, match="damaged or cut off"):
        read_pixels(still)


def test_a_camera_that_is_not_known_is_no_damage(tmp_path: Path) -> None:
    path = tmp_path / "a.dng"
    path.write_bytes(b"\xff\xd8\xff\xe0 a picture of another kind".ljust(5000, b"x"))
    with pytest.raises(InputError, match=r"a camera that the rawpy library(.|\n)*DNG or TIFF"):
        read_header(StillRef(path=path))


def test_without_the_library_the_install_command_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    still = dng(tmp_path / "a.dng")
    monkeypatch.setitem(sys.modules, "rawpy", None)
    with pytest.raises(MachineError, match=r'pip install "cropmove\[raw\]"'):
        read_header(still)
