"""Stills read small: softer, but nothing stands elsewhere."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.previews.small import small_still
from cropmove.stills.find import StillRef

ODD = (1203, 805)
"""No multiple of eight, so that a reduced decode has a part of a pixel over."""


@pytest.mark.parametrize("at_least", [1.0, 0.5, 0.25, 0.125])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_dot_stays_in_place_however_small_and_however_turned(
    spot, found, at_least: float, orientation: int
) -> None:
    """Upright places by CIPA DC-008, tag 274, worked out by Pillow's own exif_transpose."""
    from PIL import ImageOps

    path = spot("dot.jpg", ODD, (301.0, 617.0), 40.0, orientation)
    upright = np.asarray(ImageOps.exif_transpose(Image.open(path)))
    expected = found(upright)
    small = small_still(StillRef(path=path), at_least)
    assert (small.size.width, small.size.height) == (upright.shape[1], upright.shape[0])
    framing = Framing(x=expected[0] + 25, y=expected[1] - 10, width=400)
    shown = small.frame(framing, Size(400, 224))
    assert found(shown) == pytest.approx((200 - 25, 112 + 10), abs=0.25)


@pytest.mark.parametrize("size", [(640, 480), (641, 483), (1000, 667), (8, 8), (3, 5)])
def test_the_reduction_is_exact(tmp_path: Path, size: tuple[int, int]) -> None:
    path = tmp_path / "plain.jpg"
    Image.new("RGB", size, (90, 80, 70)).save(path)
    for at_least, scale in ((0.5, 0.5), (0.25, 0.25)):
        small = small_still(StillRef(path=path), at_least)
        assert small.scale in (scale, *(n / 8 for n in range(1, 9) if n / 8 > scale))


@pytest.mark.parametrize("mode", ["L", "LA", "RGB", "RGBA"])
def test_every_kind_of_still_gives_colours_of_eight_bits(tmp_path: Path, mode: str) -> None:
    path = tmp_path / "plain.png"
    Image.new("RGB", (64, 48), (120, 120, 120)).convert(mode).save(path)
    shown = small_still(StillRef(path=path), 0.5).frame(Framing(x=32, y=24, width=32), Size(16, 8))
    assert shown.shape == (8, 16, 3)
    assert shown.dtype == np.uint8
    assert (shown == 120).all()


def test_sixteen_bits_become_eight(tmp_path: Path) -> None:
    import imagecodecs

    path = tmp_path / "deep.png"
    path.write_bytes(imagecodecs.png_encode(np.full((48, 64, 3), 120 * 257, np.uint16)))
    shown = small_still(StillRef(path=path)).frame(Framing(x=32, y=24, width=32), Size(16, 8))
    assert (shown == 120).all()


def test_a_wide_gamut_still_is_turned_to_srgb(tmp_path: Path) -> None:
    """Display P3's (200, 100, 50), against colour-science's own conversion."""
    import colour

    path = tmp_path / "wide.jpg"
    profile = _p3_profile()
    Image.new("RGB", (64, 64), (200, 100, 50)).save(path, quality=100, icc_profile=profile)
    shown = small_still(StillRef(path=path)).frame(Framing(x=32, y=32, width=32), Size(16, 16))
    expected = colour.RGB_to_RGB(
        np.array([200, 100, 50]) / 255, "Display P3", "sRGB",
        apply_cctf_decoding=True, apply_cctf_encoding=True,
    )  # fmt: skip
    assert shown[8, 8] == pytest.approx(np.clip(expected, 0, 1) * 255, abs=2.5)


def _p3_profile() -> bytes:
    """Display P3 (SMPTE EG 432-1 primaries, the sRGB curve), as the still reader would make it."""
    from cropmove.stills.header import ColourTags, Header
    from cropmove.stills.profile import profile_of

    tags = ColourTags(primaries=12, transfer=13)  # code points of ITU-T H.273
    held = profile_of(Header(kind="png", stored=Size(1, 1), channels=3, depth=8, tags=tags))
    assert held
    return held
