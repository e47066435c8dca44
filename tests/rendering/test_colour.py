"""Colours come out as they went in, or as sRGB says they should."""

from __future__ import annotations

import shutil
from pathlib import Path

import colour
import numpy as np
import pytest
from imagecodecs import cms_profile
from PIL import Image

import cropmove
from cropmove.previews.small import small_still
from cropmove.stills.find import StillRef

PATCHES = np.array(
    [(200, 100, 50), (30, 60, 90), (128, 128, 128), (90, 160, 70), (250, 240, 230), (5, 5, 5)],
    dtype=np.uint8,
)

SPACES = {
    "Adobe RGB (1998)": (cms_profile("adobergb"), "Adobe RGB (1998)"),
    "Display P3": (
        cms_profile(
            "rgb", whitepoint=[0.3127, 0.329, 1], transferfunction=colour.models.eotf_sRGB(
                np.linspace(0, 1, 4096)
            ).astype(np.float32),
            primaries=[0.68, 0.32, 1, 0.265, 0.69, 1, 0.15, 0.06, 1],
        ),
        "Display P3",
    ),
}  # fmt: skip

SHOT = """
[shot]
stills = "set.png"
[delivery]
size = [96, 16]
colour = "{colour}"
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "100%"
"""


def rendered(folder: Path, profile: bytes, keep: str) -> tuple[np.ndarray, bytes | None]:
    """The patches as they come out, and the profile they carry."""
    still = np.repeat(np.repeat(PATCHES[None], 32, axis=1), 32, axis=0)
    Image.fromarray(still).save(folder / "set.png", icc_profile=profile)
    (folder / "patches.toml").write_text(SHOT.format(colour=keep))
    done = cropmove.render(cropmove.load(folder / "patches.toml"), out=folder / "frames")
    with Image.open(done.out / "patches.0001.png") as frame:
        return np.asarray(frame)[8, 8::16], frame.info.get("icc_profile")


@pytest.mark.parametrize("name", SPACES)
def test_colours_and_profile_of_the_stills_are_kept(tmp_path: Path, name: str) -> None:
    codes, profile = rendered(tmp_path, SPACES[name][0], "still")
    assert (codes == PATCHES).all()
    assert profile == SPACES[name][0]


def test_a_still_of_srgb_primaries_and_another_curve_is_converted_too(tmp_path: Path) -> None:
    curves = {1.0: lambda x: x, 1.8: lambda x: x**1.8, 2.2: lambda x: x**2.2}
    for gamma, decode in curves.items():
        profile = cms_profile("rgb", whitepoint=[0.3127, 0.329, 1], gamma=gamma,
                              primaries=[0.64, 0.33, 1, 0.3, 0.6, 1, 0.15, 0.06, 1])  # fmt: skip
        codes, _ = rendered(tmp_path, profile, "srgb")
        wanted = colour.cctf_encoding(decode(PATCHES / 255), function="sRGB") * 255
        assert np.abs(codes - wanted).max() <= 0.6
        whole = small_still(StillRef(path=tmp_path / "set.png")).whole(96)
        assert np.abs(whole[8, 8::16] - wanted).max() <= 0.6
        (tmp_path / "set.png").unlink()
        shutil.rmtree(tmp_path / "frames")


def test_a_grey_still_of_another_curve_is_converted_too(tmp_path: Path) -> None:
    still = np.full((16, 96), 60, np.uint8)
    Image.fromarray(still).save(tmp_path / "set.png", icc_profile=cms_profile("gray", gamma=2.2))
    (tmp_path / "patches.toml").write_text(SHOT.format(colour="srgb"))
    done = cropmove.render(cropmove.load(tmp_path / "patches.toml"), out=tmp_path / "frames")
    wanted = colour.cctf_encoding((60 / 255) ** 2.2, function="sRGB") * 255
    with Image.open(done.out / "patches.0001.png") as frame:
        assert np.abs(np.asarray(frame, float) - wanted).max() <= 0.6
        assert frame.info.get("icc_profile") is None or "sRGB" in str(frame.info)


@pytest.mark.parametrize("name", SPACES)
def test_colours_are_converted_to_srgb_as_colour_science_converts_them(
    tmp_path: Path, name: str
) -> None:
    codes, profile = rendered(tmp_path, SPACES[name][0], "srgb")
    wanted = colour.RGB_to_RGB(
        PATCHES / 255, SPACES[name][1], "sRGB",
        apply_cctf_decoding=True, apply_cctf_encoding=True,
    )  # fmt: skip
    assert profile is None or profile != SPACES[name][0]
    assert np.abs(codes - np.clip(wanted, 0, 1) * 255).max() <= 1.0
