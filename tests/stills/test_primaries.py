from __future__ import annotations

import colour
import numpy as np
import pytest

from cropmove.stills.primaries import PRIMARIES, SRGB_CHROMATICITIES, from_matrix, to_xyz


def test_srgb_under_d50_is_what_its_profiles_hold() -> None:
    # The columns of "sRGB IEC61966-2.1", the profile that most sRGB files carry; its authors
    # rounded the white point otherwise.
    wanted = [[0.43607, 0.38515, 0.14307], [0.22249, 0.71687, 0.06061], [0.01392, 0.09708, 0.71410]]
    assert np.abs(to_xyz(SRGB_CHROMATICITIES) - wanted).max() < 2.5e-4


@pytest.mark.parametrize(("code", "name"), [
    (1, "ITU-R BT.709"),
    (9, "ITU-R BT.2020"),
    (11, "DCI-P3"),
    (12, "P3-D65"),
])  # fmt: skip
def test_primaries_are_those_of_colour_science(code: int, name: str) -> None:
    space = colour.RGB_COLOURSPACES[name]
    wanted = np.concatenate([space.primaries.ravel(), space.whitepoint])
    assert np.abs(np.array(PRIMARIES[code]) - wanted).max() < 1e-3


@pytest.mark.parametrize(
    "code", [code for code, xy in PRIMARIES.items() if xy[6:] == (0.3127, 0.329)]
)
def test_the_way_to_xyz_and_back_is_whole(code: int) -> None:
    back = from_matrix(to_xyz(PRIMARIES[code]))
    assert np.abs(np.array(back) - PRIMARIES[code]).max() < 1e-9


def test_primaries_outside_what_is_seen_are_read() -> None:
    # AP0, whose blue has a negative y, as OpenEXR holds it: SMPTE ST 2065-1, table 2.
    ap0 = (0.7347, 0.2653, 0.0, 1.0, 0.0001, -0.077, 0.32168, 0.33767)
    wanted = colour.RGB_COLOURSPACES["ACES2065-1"].matrix_RGB_to_XYZ
    cat = colour.adaptation.matrix_chromatic_adaptation_VonKries
    white = wanted.sum(axis=1)
    adapted = cat(white, np.array([0.9642, 1.0, 0.8249]), transform="Bradford") @ wanted
    assert np.abs(to_xyz(ap0) - adapted).max() < 1e-4
