"""Colours come out as they went in, or as sRGB says they should."""

from __future__ import annotations

from pathlib import Path

import colour
import numpy as np
import pytest
from imagecodecs import cms_profile
from PIL import Image

import cropmove

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
