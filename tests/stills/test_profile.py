from __future__ import annotations

import io
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import colour
import imagecodecs
import numpy as np
import pytest
import skimage
import tifffile
from handmade import curve_profile, fixed, icc_bytes, parametric, png_bytes
from numpy.typing import NDArray
from PIL import Image, ImageCms

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.picture.light import ADOBE_RGB, LINEAR, SRGB, decode
from cropmove.stills.find import StillRef
from cropmove.stills.header import ColourTags, Header
from cropmove.stills.profile import (
    profile_name,
    profile_of,
    rgb_to_xyz,
    same_profile,
    srgb_profile,
    to_srgb,
    transfer_of,
)
from cropmove.stills.read import read_header, read_pixels

Put = Callable[[str, bytes], StillRef]

X = np.linspace(0, 1, 256)
# ICC.1:2022, 10.18, table 68, with numbers of our own choosing.
FORMS: dict[str, tuple[bytes, Callable[[Any], Any]]] = {
    "form 0": (parametric(0, 1.8), lambda x: x**1.8),
    "form 1": (parametric(1, 2.0, 1.25, -0.25), lambda x: np.maximum(1.25 * x - 0.25, 0) ** 2),
    "form 2": (
        parametric(2, 2.0, 1.0, -0.25, 0.125),
        lambda x: np.maximum(x - 0.25, 0) ** 2 + 0.125,
    ),
    "form 3": (
        parametric(3, 3.0, 0.875, 0.125, 0.25, 0.0625),
        lambda x: np.where(x >= 0.0625, (0.875 * x + 0.125) ** 3, 0.25 * x),
    ),
    "form 4": (
        parametric(4, 2.0, 0.75, 0.125, 0.5, 0.125, 0.0625, 0.0478515625),
        lambda x: np.where(x >= 0.125, (0.75 * x + 0.125) ** 2 + 0.0625, 0.5 * x + 0.0478515625),
    ),
    "nothing": (b"curv" + bytes(8), lambda x: x),
    "one number": (
        b"curv" + bytes(4) + (1).to_bytes(4) + (461).to_bytes(2),
        lambda x: x ** (461 / 256),
    ),
    "samples": (
        b"curv" + bytes(4) + (3).to_bytes(4) + b"\x00\x00\x40\x00\xff\xff",
        lambda x: np.interp(x, [0, 0.5, 1], [0, 0x4000 / 65535, 1]),
    ),
}


def header_of(profile: bytes, channels: int = 3) -> Header:
    return Header(kind="png", stored=Size(8, 8), channels=channels, depth=8, profile=profile)


@pytest.mark.parametrize(("curve", "formula"), FORMS.values(), ids=FORMS)
def test_curves_are_what_the_icc_standard_says(curve: bytes, formula: Callable[[Any], Any]) -> None:
    transfer = transfer_of(header_of(curve_profile(curve)))
    assert np.abs(decode(X, transfer) - formula(X)).max() < 1e-5


@pytest.mark.parametrize("curve", [curve for curve, _ in FORMS.values()], ids=list(FORMS))
def test_curves_are_what_a_colour_management_library_makes_of_them(curve: bytes) -> None:
    grey = np.repeat(X[:, None, None], 3, axis=2).astype(np.float32)
    light = imagecodecs.cms_transform(
        grey,
        curve_profile(curve),
        curve_profile(parametric(0, 1.0)),
        colorspace="rgb",
        outcolorspace="rgb",
        intent=1,  # relative colorimetric: the perceptual one would shift black
        flags=int(imagecodecs.CMS.FLAGS.NOOPTIMIZE),
    )
    ours = decode(X, transfer_of(header_of(curve_profile(curve))))
    assert np.abs(light[:, 0, 1] - ours).max() < 2e-4


def test_adobe_rgb_is_the_power_563_over_256() -> None:
    # Adobe RGB (1998) Color Image Encoding, 4.3.1.2.
    profile = imagecodecs.cms_profile("adobergb")
    header = header_of(profile)
    assert transfer_of(header) == ADOBE_RGB
    assert ADOBE_RGB.power == 563 / 256
    assert profile_name(profile) == "Adobe RGB (compatible)"
    assert not same_profile(profile, None)
    wanted = colour.matrix_RGB_to_RGB("Adobe RGB (1998)", "sRGB")
    assert np.abs(to_srgb(header) - wanted).max() < 1e-3


def test_display_p3_has_the_srgb_curve_and_its_own_primaries() -> None:
    # SMPTE EG 432-1 primaries under D65 with the curve of IEC 61966-2-1.
    curve = decode(np.linspace(0, 1, 1024), SRGB).astype(np.float32)
    p3 = [0.68, 0.32, 1, 0.265, 0.69, 1, 0.15, 0.06, 1]
    header = header_of(
        imagecodecs.cms_profile(
            "rgb", whitepoint=[0.3127, 0.329, 1], primaries=p3, transferfunction=curve
        )
    )
    assert transfer_of(header) == SRGB
    wanted = colour.matrix_RGB_to_RGB("Display P3", "sRGB")
    assert np.abs(to_srgb(header) - wanted).max() < 1e-3


@pytest.mark.parametrize("name", ["astronaut.png", "chelsea.png"])
def test_photographs_with_the_usual_srgb_profile_are_srgb(name: str) -> None:
    folder = Path(skimage.__file__).parent / "data"
    header = read_header(StillRef(path=folder / name))
    assert header.profile is not None
    assert transfer_of(header) == SRGB
    assert to_srgb(header) is None
    assert profile_of(header) is None
    assert same_profile(header.profile, None)
    assert profile_name(header.profile) == "sRGB IEC61966-2.1"


@pytest.mark.parametrize("power", [1.8, 2.2])
def test_grey_gamma_profiles_are_read(power: float, put: Put) -> None:
    profile = icc_bytes((b"kTRC", parametric(0, power)), space=b"GRAY")
    file = io.BytesIO()
    Image.new("L", (8, 8), 128).save(file, "JPEG", icc_profile=profile)
    header = read_header(put("a.jpg", file.getvalue()))
    assert decode(0.5, transfer_of(header)) == pytest.approx(0.5**power, abs=1e-5)
    assert profile_of(header) == profile
    assert rgb_to_xyz(header) is None


def test_a_still_without_a_profile_is_srgb() -> None:
    header = Header(kind="jpeg", stored=Size(8, 8), channels=3, depth=8)
    assert transfer_of(header) == SRGB
    assert profile_of(header) is None
    assert to_srgb(header) is None


# What the tags of a PNG say (PNG, third edition, 4.3 and 11.3.2). ------------------------------

PIXEL = np.zeros((1, 1, 3), np.uint8)
ADOBE_ICCP = b"x\0\0" + zlib.compress(imagecodecs.cms_profile("adobergb"))


def numbers(*values: int) -> bytes:
    return b"".join(value.to_bytes(4) for value in values)


@pytest.mark.parametrize(("chunks", "wanted"), [
    ([(b"gAMA", numbers(100_000))], LINEAR.power),
    ([(b"gAMA", numbers(55_556))], 1.8),
    ([(b"sRGB", b"\0"), (b"gAMA", numbers(100_000))], None),
    ([(b"gAMA", numbers(45_455))], None),
    ([(b"iCCP", ADOBE_ICCP), (b"gAMA", numbers(100_000))], 563 / 256),
    ([(b"cICP", bytes([12, 13, 0, 1])), (b"iCCP", ADOBE_ICCP)], None),
    ([(b"cICP", bytes([1, 8, 0, 1]))], 1.0),
])  # fmt: skip
def test_the_first_of_cicp_iccp_srgb_and_gama_decides(
    chunks: list[tuple[bytes, bytes]], wanted: float | None, put: Put
) -> None:
    transfer = transfer_of(read_header(put("a.png", png_bytes(PIXEL, *chunks))))
    half = float(decode(0.5, transfer))
    assert half == pytest.approx(
        float(decode(0.5, SRGB)) if wanted is None else 0.5**wanted, abs=1e-5
    )


def test_cicp_names_the_primaries_too(put: Put) -> None:
    # ITU-T H.273, table 2, number 12: P3 under D65.
    header = read_header(put("a.png", png_bytes(PIXEL, (b"cICP", bytes([12, 13, 0, 1])))))
    wanted = colour.matrix_RGB_to_RGB("Display P3", "sRGB")
    assert np.abs(to_srgb(header) - wanted).max() < 1e-3


def test_chromaticities_of_a_png_are_its_primaries(put: Put) -> None:
    adobe = (31270, 32900, 64000, 33000, 21000, 71000, 15000, 6000)
    header = read_header(put("a.png", png_bytes(PIXEL, (b"cHRM", numbers(*adobe)))))
    wanted = colour.matrix_RGB_to_RGB("Adobe RGB (1998)", "sRGB")
    assert np.abs(to_srgb(header) - wanted).max() < 1e-3


@pytest.mark.parametrize("chromaticities", [
    (0,) * 8,
    (30_000,) * 8,
    (2**32 - 1,) * 8,
    (0, 0, 64000, 33000, 30000, 60000, 15000, 6000),
    (31270, 32900, 64000, 33000, 30000, 60000, 47000, 46500),
])  # fmt: skip
def test_primaries_that_span_no_colours_are_refused(
    chromaticities: tuple[int, ...], put: Put
) -> None:
    with pytest.raises(InputError, match="four different colours"):
        read_header(put("a.png", png_bytes(PIXEL, (b"cHRM", numbers(*chromaticities)))))


def test_a_narrow_range_is_refused(put: Put) -> None:
    # PNG third edition, 11.3.2.6: the last byte is the video full range flag.
    with pytest.raises(InputError, match=r"narrow range(.|\n)*full range, as RGB"):
        read_header(put("a.png", png_bytes(PIXEL, (b"cICP", bytes([1, 13, 0, 0])))))


def test_a_gama_of_another_length_says_nothing(put: Put) -> None:
    assert transfer_of(read_header(put("a.png", png_bytes(PIXEL, (b"gAMA", b"\1" * 200))))) == SRGB


@pytest.mark.parametrize("code", [16, 18])
def test_hdr_curves_are_refused(code: int, put: Put) -> None:
    # ITU-T H.273, table 3: PQ and HLG.
    with pytest.raises(InputError, match=f"number {code}"):
        read_header(put("a.png", png_bytes(PIXEL, (b"cICP", bytes([9, code, 0, 1])))))


# Profiles that frames carry. -------------------------------------------------------------------


def test_the_srgb_profile_is_srgb_and_always_the_same_bytes() -> None:
    opened = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile()))
    assert opened.profile.xcolor_space == "RGB "
    assert same_profile(srgb_profile(), None)
    assert srgb_profile()[24:36] == bytes([7, 234, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0])


@pytest.mark.parametrize("tags", [
    ColourTags(primaries=12, transfer=13),
    ColourTags(gamma=1 / 1.8),
    ColourTags(primaries=9, transfer=8),
])  # fmt: skip
@pytest.mark.parametrize("channels", [1, 3])
def test_tags_become_a_profile_that_says_the_same(tags: ColourTags, channels: int) -> None:
    header = Header(kind="png", stored=Size(8, 8), channels=channels, depth=8, tags=tags)
    profile = profile_of(header)
    if profile is None:
        assert transfer_of(header) == SRGB
        assert channels == 1
        return
    again = header_of(profile, channels)
    assert np.abs(decode(X, transfer_of(again)) - decode(X, transfer_of(header))).max() < 2e-4
    if channels == 3:
        assert np.abs(rgb_to_xyz(again) - rgb_to_xyz(header)).max() < 1e-3


@pytest.mark.parametrize(("a", "b", "same"), [
    (None, None, True),
    (None, srgb_profile(), True),
    (imagecodecs.cms_profile("adobergb"), imagecodecs.cms_profile("adobergb") + b"\0", True),
    (imagecodecs.cms_profile("adobergb"), srgb_profile(), False),
    (curve_profile(parametric(0, 1.8)), curve_profile(parametric(0, 2.2)), False),
])  # fmt: skip
def test_profiles_are_the_same_where_they_mean_the_same(
    a: bytes | None, b: bytes | None, same: bool
) -> None:
    assert same_profile(a, b) is same
    assert same_profile(b, a) is same


# Profiles that no single curve describes. ------------------------------------------------------


def look_up_profile() -> bytes:
    """Gamma 2 and sRGB's primaries as a lut16Type (ICC.1:2022, 10.10)."""
    columns = np.array([[0.43607, 0.22249, 0.01392], [0.38515, 0.71687, 0.09708],
                        [0.14307, 0.06061, 0.71410]])  # fmt: skip
    corners = np.stack(np.meshgrid([0, 1], [0, 1], [0, 1], indexing="ij"), axis=-1).reshape(8, 3)
    grid = np.rint(corners @ columns * 32768)  # XYZ's 1.0 is 0x8000
    ramp = np.rint(np.linspace(0, 1, 1024) ** 2 * 65535)
    table = np.concatenate([np.tile(ramp, 3), grid.ravel(), np.tile([0, 65535], 3)]).astype(">u2")
    head = b"mft2" + bytes(4) + bytes([3, 3, 2, 0]) + fixed(1, 0, 0, 0, 1, 0, 0, 0, 1)
    sizes = (1024).to_bytes(2) + (2).to_bytes(2)
    return icc_bytes((b"A2B0", head + sizes + table.tobytes()))


def stills_of(profile: bytes, values: NDArray[Any]) -> bytes:
    return png_bytes(values, (b"iCCP", b"x\0\0" + zlib.compress(profile)))


@pytest.mark.parametrize(("kind", "worst", "mean"), [(np.uint8, 1.5, 0.4), (np.uint16, 0.4, 0.05)])
def test_look_up_profiles_are_turned_to_srgb(
    kind: type, worst: float, mean: float, put: Put
) -> None:
    full = np.iinfo(kind).max
    share = np.random.default_rng(5).uniform(0.02, 0.2, (30, 30, 3))  # dark, where curves are steep
    values = np.rint(share * full).astype(kind)
    still = put("a.png", stills_of(look_up_profile(), values))
    header = read_header(still)
    assert header.profile is None
    assert header.converted_from is not None
    assert transfer_of(header) == SRGB
    wanted = colour.models.eotf_inverse_sRGB((values / full) ** 2) * 255
    error = np.abs(read_pixels(still) * (255 / full) - wanted)
    assert error.max() < worst
    assert error.mean() < mean


def test_channels_with_curves_of_their_own_are_turned_to_srgb(put: Put) -> None:
    powers = (1.8, 2.0, 2.2)
    profile = curve_profile(*(parametric(0, power) for power in powers))
    values = np.random.default_rng(5).integers(8000, 65536, (9, 9, 4)).astype(np.uint16)
    pixels = read_pixels(put("a.png", stills_of(profile, values)))
    wanted = colour.models.eotf_inverse_sRGB((values[..., :3] / 65535) ** powers) * 255
    assert np.abs(pixels[..., :3] / 257 - wanted).max() < 0.1
    assert np.array_equal(pixels[..., 3], values[..., 3])


# Profiles of floats: linear light, unless the profile has a curve. -------------------------------


def float_tiff(values: NDArray[np.float32], profile: bytes) -> bytes:
    file = io.BytesIO()
    kinds = {1: "minisblack", 3: "rgb", 4: "rgb"}
    alpha = ["unassalpha"] if values.shape[2] == 4 else None
    tifffile.imwrite(
        file,
        values,
        photometric=kinds[values.shape[2]],
        extrasamples=alpha,
        planarconfig="contig",
        iccprofile=profile,
    )
    return file.getvalue()


@pytest.mark.parametrize("channels", [3, 4])
def test_floats_that_a_profile_calls_codes_are_turned_to_light(channels: int, put: Put) -> None:
    values = np.random.default_rng(5).uniform(0, 1.5, (150, 9, channels)).astype(np.float32)
    still = put("a.tif", float_tiff(values, imagecodecs.cms_profile("srgb")))
    pixels = read_pixels(still)
    wanted = colour.models.eotf_sRGB(values[..., :3])  # IEC 61966-2-1, goes on above 1
    assert pixels.dtype == np.float32
    assert np.abs(pixels[..., :3] - wanted).max() < 1e-4
    assert np.array_equal(pixels[..., 3:], values[..., 3:])


@pytest.mark.parametrize("channels", [3, 4])
def test_floats_of_a_linear_profile_are_light(channels: int, put: Put) -> None:
    values = np.random.default_rng(5).uniform(-0.1, 9, (9, 9, channels)).astype(np.float32)
    still = put("a.tif", float_tiff(values, curve_profile(parametric(0, 1.0))))
    assert np.array_equal(read_pixels(still), values)


def test_floats_of_a_look_up_profile_are_turned_to_light(put: Put) -> None:
    values = np.random.default_rng(5).uniform(0.02, 1, (9, 9, 3)).astype(np.float32)
    pixels = read_pixels(put("a.tif", float_tiff(values, look_up_profile())))
    assert np.abs(pixels - values**2).max() < 2e-3  # the profile's gamma; its table has 1024 steps


def test_a_broken_profile_is_refused(put: Put) -> None:
    for broken in (b"x" * 200, imagecodecs.cms_profile("adobergb")[:400]):
        with pytest.raises(InputError, match="colour profile can be read"):
            read_header(put("a.png", stills_of(broken, PIXEL)))


def test_a_profile_whose_numbers_break_off_is_refused(put: Put) -> None:
    columns = [(b"rXYZ", fixed(0, 0, 1, 1)), *((name, fixed(0, 0, 1, 1, 1)) for name in
               (b"gXYZ", b"bXYZ"))]  # fmt: skip
    curves = [(name, parametric(0, 2.2)) for name in (b"rTRC", b"gTRC", b"bTRC")]
    short = [(name, parametric(3, 2.2, 1)) for name in (b"rTRC", b"gTRC", b"bTRC")]
    whole = [(name, fixed(0, 0, 1, 1, 1)) for name in (b"rXYZ", b"gXYZ", b"bXYZ")]
    for tags in ([*columns[1:], *curves, columns[0]], [*whole, *short]):
        with pytest.raises(InputError, match="colour profile can be read"):
            read_header(put("a.png", stills_of(icc_bytes(*tags), PIXEL)))


def test_a_profile_for_another_kind_of_picture_says_nothing(put: Put) -> None:
    grey = icc_bytes((b"kTRC", parametric(0, 1.8)), space=b"GRAY")
    header = read_header(put("a.png", stills_of(grey, PIXEL)))
    assert header.profile is None
    assert transfer_of(header) == SRGB
