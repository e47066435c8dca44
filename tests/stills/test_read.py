from __future__ import annotations

import io
import struct
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import tifffile
from handmade import png_bytes
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from skimage import data

from cropmove.errors import InputError
from cropmove.geometry import Orientation, Size
from cropmove.stills.find import StillRef
from cropmove.stills.read import read_header, read_pixels, read_small

Put = Callable[[str, bytes], StillRef]
Pixels = NDArray[Any]


def jpeg(pixels: Pixels, **options: Any) -> bytes:
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "JPEG", **options)
    return file.getvalue()


def tiff(pixels: Pixels, **options: Any) -> bytes:
    file = io.BytesIO()
    tifffile.imwrite(file, pixels, **options)
    return file.getvalue()


def refused(still: StillRef) -> str:
    with pytest.raises(InputError) as caught:
        read_pixels(still)
    (complaint,) = caught.value.complaints
    assert complaint.where == str(still.path)
    return complaint.rule


# JPEG. -----------------------------------------------------------------------------------------

JPEGS: dict[str, dict[str, Any]] = {
    "4:2:0": {"subsampling": "4:2:0"},
    "4:4:4": {"subsampling": "4:4:4"},
    "progressive": {"progressive": True},
}


@pytest.mark.parametrize("options", JPEGS.values(), ids=JPEGS)
def test_a_jpeg_is_read_as_pillow_reads_it(options: dict[str, Any], put: Put) -> None:
    file = jpeg(data.astronaut(), quality=90, **options)
    wanted = np.asarray(Image.open(io.BytesIO(file)))
    assert np.array_equal(read_pixels(put("a.jpg", file)), wanted)


def test_a_grey_jpeg_has_one_channel(put: Put) -> None:
    file = jpeg(data.camera())
    pixels = read_pixels(put("a.jpg", file))
    assert pixels.shape == (512, 512, 1)
    assert np.array_equal(pixels[..., 0], np.asarray(Image.open(io.BytesIO(file))))


@pytest.mark.parametrize("options", JPEGS.values(), ids=JPEGS)
@pytest.mark.parametrize("share", [0.5, 0.9, 0.999])
def test_a_cut_off_jpeg_is_never_filled_up_with_grey(
    share: float, options: dict[str, Any], put: Put
) -> None:
    file = jpeg(data.astronaut(), **options)
    assert "damaged or cut off" in refused(put("a.jpg", file[: int(share * len(file))]))


def test_a_jpeg_that_ends_in_its_middle_is_refused(put: Put) -> None:
    file = bytearray(jpeg(data.astronaut()))
    middle = len(file) // 2
    file[middle : middle + 2] = b"\xff\xd9"  # the mark of the end (ITU-T T.81, table B.1)
    assert "damaged or cut off" in refused(put("a.jpg", bytes(file)))


@pytest.mark.parametrize(("wanted", "given_size"), [
    (Size(100, 100), (128, 128)),
    (Size(257, 10), (320, 320)),
    (Size(512, 512), (512, 512)),
    (Size(9999, 1), (512, 512)),
])  # fmt: skip
def test_a_small_jpeg_is_never_smaller_than_asked(
    wanted: Size, given_size: tuple[int, int], put: Put
) -> None:
    still = put("a.jpg", jpeg(data.astronaut()))
    pixels = read_small(still, read_header(still), wanted)
    assert pixels.shape == (*given_size, 3)
    whole = data.astronaut().reshape(-1, 3).mean(axis=0)
    assert np.abs(pixels.reshape(-1, 3).mean(axis=0) - whole).max() < 1


@pytest.mark.parametrize("name", ["a.png", "a.tif"])
def test_of_kinds_that_are_read_whole_there_are_always_all_rows(
    name: str, put: Put, noise: NDArray[np.uint16]
) -> None:
    pixels = noise[..., :3]
    file = png_bytes(pixels) if name == "a.png" else tiff(pixels, photometric="rgb")
    still = put(name, file)
    for _ in range(2):
        assert np.array_equal(read_pixels(still, rows=5), pixels)


def test_a_small_png_is_the_whole(put: Put, noise: NDArray[np.uint16]) -> None:
    still = put("a.png", png_bytes(noise))
    assert np.array_equal(read_small(still, read_header(still), Size(1, 1)), noise)


# PNG. ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_a_png_is_read_to_the_last_bit(
    channels: int, kind: type, put: Put, noise: NDArray[np.uint16]
) -> None:
    values = noise[..., :channels].astype(kind)
    pixels = read_pixels(put("a.png", png_bytes(values)))
    assert pixels.dtype == kind
    assert pixels.flags.c_contiguous
    assert np.array_equal(pixels, values)


@pytest.mark.parametrize("mode", ["1", "P"])
def test_palettes_and_single_bits_are_expanded(mode: str, put: Put) -> None:
    picture = Image.fromarray(data.astronaut()).convert(mode)
    file = io.BytesIO()
    picture.save(file, "PNG")
    wanted = np.asarray(picture.convert("RGB" if mode == "P" else "L"))
    assert np.array_equal(read_pixels(put("a.png", file.getvalue())).squeeze(), wanted)


def test_a_transparent_colour_becomes_alpha(put: Put) -> None:
    values = np.array([[[10, 20, 30], [40, 50, 60]]], np.uint8)
    file = png_bytes(values, (b"tRNS", bytes([0, 10, 0, 20, 0, 30])))
    pixels = read_pixels(put("a.png", file))
    assert pixels.tolist() == [[[10, 20, 30, 0], [40, 50, 60, 255]]]


@pytest.mark.parametrize("share", [0.3, 0.9, 0.999])
def test_a_cut_off_png_is_refused(share: float, put: Put) -> None:
    file = png_bytes(data.astronaut())
    assert "damaged or cut off" in refused(put("a.png", file[: int(share * len(file))]))


NOISE_PNG = png_bytes(np.random.default_rng(3).integers(0, 256, (20, 20, 3)).astype(np.uint8))
INSIDE = (NOISE_PNG.index(b"IDAT") + 4, NOISE_PNG.index(b"IEND") - 8)


@given(at=st.integers(*INSIDE), change=st.integers(1, 255))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
def test_no_changed_byte_in_a_png_goes_unnoticed(at: int, change: int, put: Put) -> None:
    file = bytearray(NOISE_PNG)
    file[at] ^= change
    assert "damaged or cut off" in refused(put("a.png", bytes(file)))


# TIFF. -----------------------------------------------------------------------------------------

TIFFS: dict[str, dict[str, Any]] = {
    "plain": {},
    "LZW": {"compression": "lzw", "predictor": True, "rowsperstrip": 5},
    "deflate": {"compression": "adobe_deflate", "predictor": True, "rowsperstrip": 7},
    "tiles": {"compression": "adobe_deflate", "tile": (16, 16)},
    "big-endian": {"byteorder": ">"},
    "big-endian LZW": {"byteorder": ">", "compression": "lzw", "predictor": True},
    "BigTIFF": {"bigtiff": True},
}


@pytest.mark.parametrize("options", TIFFS.values(), ids=TIFFS)
@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_a_tiff_is_read_to_the_last_bit(
    kind: type, options: dict[str, Any], put: Put, noise: NDArray[np.uint16]
) -> None:
    values = noise[..., :3].astype(kind)
    pixels = read_pixels(put("a.tif", tiff(values, photometric="rgb", **options)))
    assert pixels.dtype == np.dtype(kind)
    assert pixels.flags.c_contiguous
    assert np.array_equal(pixels, values)


@pytest.mark.parametrize("compression", ["tiff_lzw", "tiff_adobe_deflate", "packbits", None])
def test_a_tiff_of_another_writer_is_read(compression: str | None, put: Put) -> None:
    file = io.BytesIO()
    Image.fromarray(data.astronaut()).save(file, "TIFF", compression=compression)
    assert np.array_equal(read_pixels(put("a.tif", file.getvalue())), data.astronaut())


def test_a_tiff_packed_as_jpeg_has_its_colours(put: Put) -> None:
    file = io.BytesIO()
    Image.new("RGB", (32, 24), (200, 40, 60)).save(file, "TIFF", compression="jpeg")
    pixels = read_pixels(put("a.tif", file.getvalue()))
    assert np.abs(pixels.astype(int) - (200, 40, 60)).max() <= 2


def test_separate_planes_are_put_together(put: Put, noise: NDArray[np.uint16]) -> None:
    planes = np.ascontiguousarray(np.moveaxis(noise[..., :3], -1, 0))
    file = tiff(planes, photometric="rgb", planarconfig="separate")
    assert np.array_equal(read_pixels(put("a.tif", file)), noise[..., :3])


def test_grey_where_zero_is_white_is_turned_round(put: Put, noise: NDArray[np.uint16]) -> None:
    file = tiff(noise[..., 0], photometric="miniswhite")
    assert np.array_equal(read_pixels(put("a.tif", file))[..., 0], 65535 - noise[..., 0])


def test_straight_alpha_is_kept(put: Put, noise: NDArray[np.uint16]) -> None:
    file = tiff(noise, photometric="rgb", extrasamples=["unassalpha"])
    assert np.array_equal(read_pixels(put("a.tif", file)), noise)


def test_multiplied_alpha_is_taken_out(put: Put, noise: NDArray[np.uint16]) -> None:
    alpha = noise[..., 3:] | 0x8000  # well above 0, so that little is lost by rounding
    multiplied = np.rint(noise[..., :3] * (alpha / 65535)).astype(np.uint16)
    file = tiff(np.dstack([multiplied, alpha]), photometric="rgb", extrasamples=["assocalpha"])
    pixels = read_pixels(put("a.tif", file)).astype(int)
    assert np.abs(pixels[..., :3] - noise[..., :3]).max() <= 1
    assert np.array_equal(pixels[..., 3:], alpha)


def test_a_channel_that_is_nothing_in_particular_is_left_out(
    put: Put, noise: NDArray[np.uint16]
) -> None:
    file = tiff(noise, photometric="rgb", extrasamples=["unspecified"])
    assert np.array_equal(read_pixels(put("a.tif", file)), noise[..., :3])


@pytest.mark.parametrize("kind", [np.float16, np.float32])
def test_float_tiffs_are_linear_light(kind: type, put: Put) -> None:
    values = np.linspace(-0.5, 8, 60, dtype=kind).reshape(4, 5, 3)
    pixels = read_pixels(put("a.tif", tiff(values, photometric="rgb")))
    assert pixels.dtype == np.float32
    assert np.array_equal(pixels, values.astype(np.float32))


def test_the_still_may_lie_below_its_small_copy(put: Put, noise: NDArray[np.uint16]) -> None:
    # As in TIFF/EP (ISO 12234-2): SubIFDs hold the picture, and what describes it stands above.
    file = io.BytesIO()
    with tifffile.TiffWriter(file) as writer:
        above = [(274, "H", 1, 6, True)]
        small = noise[::4, ::4, :3].copy()
        writer.write(small, photometric="rgb", subifds=1, subfiletype=1, extratags=above)
        writer.write(noise[..., :3], photometric="rgb", subfiletype=0)
    still = put("a.tif", file.getvalue())
    assert np.array_equal(read_pixels(still), noise[..., :3])
    assert read_header(still).orientation == Orientation(6)


def test_a_small_copy_in_front_is_not_taken_for_the_still(
    put: Put, noise: NDArray[np.uint16]
) -> None:
    file = io.BytesIO()
    with tifffile.TiffWriter(file) as writer:
        writer.write(noise[:5, :5, :3], photometric="rgb", subfiletype=1)
        writer.write(noise[..., :3], photometric="rgb")
    assert np.array_equal(read_pixels(put("a.tif", file.getvalue())), noise[..., :3])


@pytest.mark.parametrize("options", TIFFS.values(), ids=TIFFS)
def test_a_cut_off_tiff_is_refused(
    options: dict[str, Any], put: Put, noise: NDArray[np.uint16]
) -> None:
    file = tiff(noise[..., :3], photometric="rgb", **options)
    assert "damaged or cut off" in refused(put("a.tif", file[: len(file) * 2 // 3]))


def patched(file: bytes, tag: int, value: bytes) -> bytes:
    """A TIFF in which the first bytes of a tag's value are others."""
    at = tifffile.TiffFile(io.BytesIO(file)).pages.first.tags[tag].valueoffset
    return file[:at] + value + file[at + len(value) :]


@pytest.mark.parametrize(
    ("options", "tag"),
    [
        # TIFF 6.0: RowsPerStrip (278) asks for more strips than there are, in section 7's sum;
        # a tile of no bytes (TileByteCounts, 325, section 15) is none.
        ({"rowsperstrip": 23, "compression": "lzw"}, 278),
        ({"rowsperstrip": 23, "planarconfig": "separate", "compression": "lzw"}, 278),
        ({"tile": (16, 16), "compression": "lzw"}, 325),
    ],
    ids=["strips", "planes", "tiles"],
)
def test_a_tiff_that_lacks_strips_or_tiles_is_never_filled_up_with_black(
    options: dict[str, Any], tag: int, put: Put, noise: NDArray[np.uint16]
) -> None:
    pixels = noise[..., :3]
    if "planarconfig" in options:
        pixels = np.ascontiguousarray(np.moveaxis(pixels, -1, 0))
    file = tiff(pixels, photometric="rgb", **options)
    read_pixels(put("whole.tif", file))
    assert "damaged or cut off" in refused(
        put("a.tif", patched(file, tag, bytes([5 * (tag == 278), 0])))
    )


@pytest.mark.parametrize("packing", [None, "lzw"])
def test_a_tiff_whose_channels_lie_in_no_known_way_is_refused(
    packing: str | None, put: Put, noise: NDArray[np.uint16]
) -> None:
    file = tiff(noise[..., :3], photometric="rgb", compression=packing)
    # TIFF 6.0, section 8: PlanarConfiguration (284) is 1 or 2.
    assert "damaged or cut off" in refused(put("a.tif", patched(file, 284, bytes([0, 0]))))


def test_a_tiff_whose_last_page_leads_back_to_the_first_is_read_and_ends(
    put: Put, noise: NDArray[np.uint16]
) -> None:
    file = bytearray(tiff(noise[..., :3], photometric="rgb"))
    # TIFF 6.0, section 2: a directory is a count of 12-byte entries, and where the next one is.
    (first,) = struct.unpack_from("<I", file, 4)
    (count,) = struct.unpack_from("<H", file, first)
    struct.pack_into("<I", file, first + 2 + 12 * count, first)
    still = put("a.tif", bytes(file))
    code = f"from cropmove import Stills; print(Stills.found({str(still.path)!r}).size)"
    ended = subprocess.run([sys.executable, "-c", code], timeout=60, capture_output=True)
    assert ended.stdout.split() == [b"17", b"x", b"23"]
    assert np.array_equal(read_pixels(still), noise[..., :3])


# Every kind. -----------------------------------------------------------------------------------


@pytest.mark.parametrize("more", [0, 88])
@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.tif"])
def test_an_array_with_room_is_read_into(name: str, more: int, put: Put) -> None:
    astronaut = data.astronaut()
    files = {"a.jpg": jpeg, "a.png": png_bytes, "a.tif": lambda p: tiff(p, photometric="rgb")}
    still = put(name, files[name](astronaut))
    out = np.zeros((512 + more, 512, 3), np.uint8)
    pixels = read_pixels(still, out=out)
    assert np.shares_memory(pixels, out)
    assert np.array_equal(out[:512], read_pixels(still))
    assert not out[512:].any()


@pytest.mark.parametrize("out", [
    np.zeros((511, 512, 3), np.uint8),
    np.zeros((512, 512, 4), np.uint8),
    np.zeros((512, 512, 3), np.uint16),
    np.zeros((512, 3, 512), np.uint8).transpose(0, 2, 1),
])  # fmt: skip
def test_an_array_that_does_not_fit_is_left_alone(out: Pixels, put: Put) -> None:
    pixels = read_pixels(put("a.jpg", jpeg(data.astronaut())), out=out)
    assert pixels.shape == (512, 512, 3)
    assert not out.any()


def test_a_grey_png_is_read_into_an_array_too(put: Put, noise: NDArray[np.uint16]) -> None:
    out = np.zeros((23, 17, 1), np.uint16)
    pixels = read_pixels(put("a.png", png_bytes(noise[..., :1])), out=out)
    assert np.array_equal(pixels, noise[..., :1])
