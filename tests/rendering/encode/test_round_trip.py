"""Patches through every format, out by our writers and in by our readers."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pytest
from numpy.typing import NDArray

from cropmove.picture.light import SRGB
from cropmove.rendering.encode import FORMATS, Encoding, encode
from cropmove.stills.find import StillRef
from cropmove.stills.profile import same_profile, to_srgb, transfer_of
from cropmove.stills.read import read_header, read_pixels

PICTURES = [
    (entry.name, depth)
    for entry in FORMATS.values()
    if not entry.is_movie
    for depth in entry.depths
]
NEAR = {"jpeg": 2 / 255, "exr": 2**-11}
"""A JPEG's losses on flat colours, a half's rounding; everything else is exact."""


def patches(dtype: str) -> NDArray[Any]:
    colours = np.random.default_rng(6).random((4, 6, 3))
    full = 1 if dtype == "float32" else np.iinfo(dtype).max
    return (colours * full).astype(dtype).repeat(16, axis=0).repeat(16, axis=1)


def delivered(name: str, depth: int, folder: Path, profile: bytes | None) -> StillRef:
    encoding = Encoding(format=name, depth=depth, profile=profile)
    path = folder / f"frame{encoding.format.suffix}"
    path.write_bytes(encode(patches(encoding.dtype), encoding))
    return StillRef(path=path)


@pytest.mark.parametrize(("name", "depth"), PICTURES)
def test_patches_come_back(name: str, depth: int, tmp_path: Path) -> None:
    still = delivered(name, depth, tmp_path, None)
    header = read_header(still)
    wanted = patches(Encoding(format=name, depth=depth).dtype)
    pixels = read_pixels(still, header)
    full = 1 if pixels.dtype == np.float32 else np.iinfo(pixels.dtype).max
    assert pixels.dtype == wanted.dtype
    near = NEAR.get(name, 0) * full
    error = np.abs(pixels.astype(np.float64) - wanted)[8::16, 8::16]
    assert error.max() <= near
    assert to_srgb(header) is None
    if name != "exr":
        assert transfer_of(header) == SRGB


@pytest.mark.parametrize(("name", "depth"), PICTURES)
def test_another_space_comes_back(name: str, depth: int, tmp_path: Path) -> None:
    profile = imagecodecs.cms_profile("adobergb")
    header = read_header(delivered(name, depth, tmp_path, profile))
    if name == "exr":
        assert header.profile is None
    else:
        assert same_profile(header.profile, profile)
    # From memory: a unit of Adobe red is 1.398 of sRGB red.
    assert to_srgb(header)[0, 0] == pytest.approx(1.398, abs=2e-3)
