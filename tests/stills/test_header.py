from __future__ import annotations

import errno
import io
import os
import struct
import zlib
from collections.abc import Callable
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any

import colour
import numpy as np
import pytest
import tifffile
from handmade import png_bytes
from numpy.typing import NDArray
from PIL import Image, ImageOps
from PIL.TiffImagePlugin import IFDRational, ImageFileDirectory_v2

from cropmove.errors import InputError, MachineError
from cropmove.geometry import Orientation, Size
from cropmove.picture.light import SRGB, decode
from cropmove.stills import png
from cropmove.stills.exif import exposure
from cropmove.stills.find import StillRef
from cropmove.stills.header import Exposure, Header
from cropmove.stills.primaries import to_xyz
from cropmove.stills.profile import rgb_to_xyz, srgb_profile, to_srgb, transfer_of
from cropmove.stills.read import read_header, read_pixels

Put = Callable[[str, bytes], StillRef]

# CIPA DC-008 (Exif), tag 274: how [[0, 1, 2], [3, 4, 5]] stands upright.
UPRIGHT = {
    1: [[0, 1, 2], [3, 4, 5]],
    2: [[2, 1, 0], [5, 4, 3]],
    3: [[5, 4, 3], [2, 1, 0]],
    4: [[3, 4, 5], [0, 1, 2]],
    5: [[0, 3], [1, 4], [2, 5]],
    6: [[3, 0], [4, 1], [5, 2]],
    7: [[5, 2], [4, 1], [3, 0]],
    8: [[2, 5], [1, 4], [0, 3]],
}
SMALL = np.array([[0, 1, 2], [3, 4, 5]], np.uint8)


def saved(picture: Image.Image, kind: str, **options: Any) -> bytes:
    file = io.BytesIO()
    picture.save(file, kind, **options)
    return file.getvalue()


def exif_of(code: int) -> Image.Exif:
    exif = Image.Exif()
    exif[274] = code
    return exif


@pytest.mark.parametrize("code", UPRIGHT)
@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_orientation_stands_stills_upright_as_exif_says(kind: str, code: int, put: Put) -> None:
    file = saved(Image.fromarray(SMALL), kind, exif=exif_of(code))
    still = put(f"a.{kind.lower()}", file)
    header = read_header(still)
    upright = header.orientation.upright(read_pixels(still)[..., 0])
    assert upright.tolist() == UPRIGHT[code]
    assert (header.size.height, header.size.width) == upright.shape
    turned = ImageOps.exif_transpose(Image.open(io.BytesIO(file)))
    assert np.array_equal(upright, np.asarray(turned))


@pytest.mark.parametrize("code", UPRIGHT)
def test_orientation_of_a_jpeg_is_the_tag(code: int, put: Put) -> None:
    file = saved(Image.new("RGB", (30, 20)), "JPEG", exif=exif_of(code))
    header = read_header(put("a.jpg", file))
    assert header.stored == Size(30, 20)
    assert header.orientation == Orientation(code)
    assert header.size == (Size(20, 30) if code >= 5 else Size(30, 20))


@pytest.mark.parametrize("code", [0, 9, 65535])
def test_an_orientation_that_means_nothing_is_upright(code: int, put: Put) -> None:
    file = saved(Image.new("RGB", (30, 20)), "JPEG", exif=exif_of(code))
    assert read_header(put("a.jpg", file)).orientation == Orientation(1)


def test_an_orientation_after_the_pixels_counts_too(put: Put) -> None:
    file = png_bytes(SMALL[..., None])
    exif = exif_of(6).tobytes()[6:]
    moved = png_bytes(SMALL[..., None], (b"eXIf", exif))
    at = moved.index(b"eXIf") - 4
    chunk = moved[at : at + 12 + len(exif)]
    still = put("a.png", file[:-12] + chunk + file[-12:])
    assert read_header(still).orientation == Orientation(6)


SETTINGS = {33434: IFDRational(1, 4), 33437: IFDRational(11, 1), 34855: 100}


def with_exposure(kind: str) -> dict[str, Any]:
    if kind == "TIFF":
        tags = ImageFileDirectory_v2()
        tags[34665] = SETTINGS
        return {"tiffinfo": tags}
    exif = exif_of(1)
    exif.get_ifd(34665).update(SETTINGS)
    return {"exif": exif}


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
def test_exposure_settings_are_read_from_exif(kind: str, put: Put) -> None:
    file = saved(Image.new("RGB", (30, 20)), kind, **with_exposure(kind))
    captured = read_header(put(f"a.{kind.lower()}", file)).captured
    assert captured == Exposure(time=Fraction(1, 4), f_number=11.0, iso=100)


def interoperability(index: str) -> bytes:
    """EXIF with an interoperability index, straight from CIPA DC-008, 4.6.3."""

    def entry(tag: int, kind: int, count: int, value: bytes) -> bytes:
        return struct.pack(">HHHI", 1, tag, kind, count) + value.ljust(4, b"\0") + bytes(4)

    pointers = entry(34665, 4, 1, (26).to_bytes(4)) + entry(40965, 4, 1, (44).to_bytes(4))
    return b"Exif\0\0MM\0*" + (8).to_bytes(4) + pointers + entry(1, 2, 4, index.encode())


def test_a_camera_set_to_adobe_rgb_says_so_by_its_index(put: Put) -> None:
    # CIPA DC-008, 4.6.7: R03 is the option file of DCF 2.0, in Adobe RGB; R98 is sRGB. Values of
    # the space: Adobe RGB (1998) color image encoding, 4.3.1, as colour-science has them.
    picture = Image.new("RGB", (8, 6))
    told = read_header(put("a.jpg", saved(picture, "JPEG", exif=interoperability("R03"))))
    known = colour.RGB_COLOURSPACES["Adobe RGB (1998)"]
    codes = np.linspace(0, 1, 11)
    assert decode(codes, transfer_of(told)) == pytest.approx(known.cctf_decoding(codes), abs=1e-9)
    xyz = to_xyz((*known.primaries.ravel(), *known.whitepoint))
    assert rgb_to_xyz(told) == pytest.approx(xyz, abs=1e-6)
    usual = read_header(put("b.jpg", saved(picture, "JPEG", exif=interoperability("R98"))))
    assert (transfer_of(usual), to_srgb(usual)) == (SRGB, None)


def test_a_profile_goes_before_an_index(put: Put) -> None:
    options = {"exif": interoperability("R03"), "icc_profile": srgb_profile()}
    header = read_header(put("a.jpg", saved(Image.new("RGB", (8, 6)), "JPEG", **options)))
    assert (transfer_of(header), to_srgb(header)) == (SRGB, None)


def test_a_still_without_exif_tells_nothing(put: Put) -> None:
    file = saved(Image.new("RGB", (30, 20)), "JPEG")
    assert read_header(put("a.jpg", file)).captured == Exposure()


def test_broken_exif_is_no_fault_of_the_picture(put: Put) -> None:
    file = saved(Image.new("RGB", (30, 20)), "JPEG", exif=b"Exif\0\0II*\0\xff\xff\xff\xff")
    assert read_header(put("a.jpg", file)).orientation == Orientation(1)


@pytest.mark.parametrize(("mode", "channels"), [("L", 1), ("RGB", 3)])
def test_channels_of_a_jpeg(mode: str, channels: int, put: Put) -> None:
    header = read_header(put("a.jpg", saved(Image.new(mode, (8, 8)), "JPEG")))
    assert (header.channels, header.depth) == (channels, 8)


@pytest.mark.parametrize("channels", [1, 2, 3, 4])
@pytest.mark.parametrize("depth", [8, 16])
def test_channels_and_depth_of_png_and_tiff(
    channels: int, depth: int, put: Put, noise: NDArray[np.uint16]
) -> None:
    values = noise[..., :channels].astype(f"uint{depth}")
    tiff = io.BytesIO()
    extra = ["unassalpha"] if channels in (2, 4) else None
    colour = "rgb" if channels > 2 else "minisblack"
    shown = values if channels > 1 else values[..., 0]
    tifffile.imwrite(tiff, shown, photometric=colour, extrasamples=extra, planarconfig="contig")
    for name, file in (("a.png", png_bytes(values)), ("a.tif", tiff.getvalue())):
        header = read_header(put(name, file))
        assert (header.channels, header.depth, header.stored) == (channels, depth, Size(17, 23))


def test_a_kind_is_told_by_content_not_by_suffix(put: Put) -> None:
    assert read_header(put("really_png.jpg", png_bytes(SMALL[..., None]))).kind == "png"


def refused(still: StillRef) -> str:
    with pytest.raises(InputError) as caught:
        read_header(still)
    (complaint,) = caught.value.complaints
    assert complaint.where == str(still.path)
    assert complaint.remedy
    return complaint.rule


@pytest.mark.parametrize(("name", "content", "told"), [
    ("a.jpg", b"these are only words, not a picture", "does not begin as one"),
    ("a.png", b"these are only words, not a picture", "does not begin as one"),
    ("a.jpg", b"", "empty"),
    ("a.tif", b"II*\0", "damaged"),
    ("a.png", b"\x89PNG\r\n\x1a\n", "damaged"),
    ("a.jpg", b"\xff\xd8\xff\xe0", "damaged"),
    ("a.exr", b"\x76\x2f\x31\x01", "damaged"),
    ("a.webp", b"RIFF....WEBP", "a still is one of"),
    ("a.dng", b"these are only words, not a picture", "damaged"),
    ("a.mov", b"these are only words, not a picture", "damaged"),
])  # fmt: skip
def test_what_is_no_picture_is_refused(name: str, content: bytes, told: str, put: Put) -> None:
    assert told in refused(put(name, content))


def test_a_png_part_that_fails_its_check_sum_is_refused(put: Put) -> None:
    file = png_bytes(SMALL[..., None], (b"gAMA", (45_455).to_bytes(4)))
    spoilt = file.replace(b"gAMA\0\0", b"gAMA\1\0")
    assert spoilt != file
    assert "gAMA part fails its check sum" in refused(put("a.png", spoilt))


def test_a_jpeg_for_printing_is_refused(put: Put) -> None:
    assert "CMYK" in refused(put("a.jpg", saved(Image.new("CMYK", (8, 8)), "JPEG")))


def tiff_of(values: NDArray[Any], **options: Any) -> bytes:
    file = io.BytesIO()
    tifffile.imwrite(file, values, **options)
    return file.getvalue()


@pytest.mark.parametrize(("values", "options", "told"), [
    (np.zeros((8, 8, 4), np.uint8), {"photometric": "separated"}, "separated"),
    (np.zeros((8, 8), np.uint32), {}, "8 or 16 bits"),
    (np.zeros((8, 8), np.int16), {}, "8 or 16 bits"),
    (np.zeros((8, 8), np.float64), {}, "8 or 16 bits"),
    (np.zeros((8, 8, 3), np.uint8), {"photometric": "ycbcr"}, "packed as JPEG"),
    (np.zeros((8, 8, 3), np.uint8), {"photometric": "ycbcr", "compression": "lzw"},
     "packed as JPEG"),
    (np.zeros((8, 8), np.uint8), {"photometric": "palette",
                                  "colormap": np.zeros((3, 256), np.uint16)}, "palette"),
])  # fmt: skip
def test_tiffs_that_are_not_read_say_why(
    values: NDArray[Any], options: dict[str, Any], told: str, put: Put
) -> None:
    assert told in refused(put("a.tif", tiff_of(values, **options)))


def damaged_tiff(code: int, value: int) -> bytes:
    """A TIFF with another value in a tag of its only directory (TIFF 6.0, section 2)."""
    file = bytearray(tiff_of(np.zeros((8, 8, 3), np.uint8), photometric="rgb", tile=(16, 16)))
    (at,) = struct.unpack_from("<I", file, 4)
    (count,) = struct.unpack_from("<H", file, at)
    entries = range(at + 2, at + 2 + 12 * count, 12)
    entry = next(e for e in entries if struct.unpack_from("<H", file, e) == (code,))
    struct.pack_into("<I", file, entry + 8, value)
    return bytes(file)


def png_of_size(width: int, height: int) -> bytes:
    file = png_bytes(SMALL[..., None])
    header = b"IHDR" + struct.pack(">II", width, height) + file[24:29]
    return file[:12] + header + zlib.crc32(header).to_bytes(4) + file[33:]


@pytest.mark.parametrize(("name", "content"), [
    ("a.png", png_of_size(0, 240)),
    ("a.png", png_of_size(65_537, 1)),
    ("a.tif", damaged_tiff(256, 0)),
])  # fmt: skip
def test_a_size_that_no_picture_has_is_told_of_its_file(
    name: str, content: bytes, put: Put
) -> None:
    assert "damaged" in refused(put(name, content))


def test_a_tiff_of_tiles_without_width_is_damaged(put: Put) -> None:
    with pytest.raises(InputError, match="damaged"):
        read_pixels(put("a.tif", damaged_tiff(322, 0)))


def test_a_tiff_that_asks_for_more_memory_than_there_is_is_damaged(
    put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    def asked(*_: Any, **__: Any) -> None:
        raise MemoryError("Unable to allocate 15.7 TiB")

    monkeypatch.setattr(tifffile.TiffPage, "asarray", asked)
    with pytest.raises(InputError, match="Unable to allocate"):
        read_pixels(put("a.tif", damaged_tiff(322, 16)))


def test_a_jpeg_cut_within_its_header_is_damaged(put: Put) -> None:
    file = saved(Image.new("RGB", (64, 48)), "JPEG")
    for length in (3, 100, 150, 200, 400, 600):
        assert "damaged" in refused(put("a.jpg", file[:length])), length


def test_a_profile_that_unpacks_without_end_is_refused(
    put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(png, "_LARGEST_PROFILE", 1_000_000)
    for packed in (zlib.compress(bytes(1_000_001)), zlib.compress(bytes(100_000))[:-8]):
        file = png_bytes(SMALL[..., None], (b"iCCP", b"x\0\0" + packed))
        assert "colour profile is cut off, or above 1 MB" in refused(put("a.png", file))


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    assert "exists" in refused(StillRef(path=tmp_path / "gone.jpg"))
    assert "folder" in refused(StillRef(path=tmp_path))
    (tmp_path / "a.jpg").write_bytes(b"x")
    assert "exists" in refused(StillRef(path=tmp_path / "a.jpg" / "b.jpg"))
    assert "too long" in refused(StillRef(path=tmp_path / ("n" * 300)))


def test_a_disk_that_fails_is_the_machines_fault(put: Put, monkeypatch: pytest.MonkeyPatch) -> None:
    still = put("a.jpg", b"\xff\xd8\xff")

    def fails(*_: Any, **__: Any) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", fails)
    with pytest.raises(MachineError, match="Permission denied"):
        read_header(still)


@pytest.mark.parametrize("error", [
    OSError("broken data stream"),
    OSError(errno.EINVAL, "Invalid argument"),  # a seek to before the file's beginning
])  # fmt: skip
def test_what_a_library_finds_wrong_is_no_fault_of_the_machine(
    error: OSError, put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: Any, **__: Any) -> None:
        raise error

    still = put("a.tif", tiff_of(SMALL))
    monkeypatch.setattr(tifffile, "TiffFile", fails)
    assert "damaged" in refused(still)


def test_a_still_of_more_than_a_hundred_megapixels_is_no_danger(put: Put) -> None:
    # Sensors of 150 megapixels exist; a library's guard against uploads must not speak.
    file = bytearray(saved(Image.new("L", (16, 16)), "JPEG"))
    at = file.index(b"\xff\xc0") + 5
    file[at : at + 4] = (20_000).to_bytes(2) + (20_000).to_bytes(2)
    assert read_header(put("a.jpg", bytes(file))).size == Size(20_000, 20_000)


# Read once. -------------------------------------------------------------------------------------


def test_a_header_is_read_once_while_its_file_stays_as_it_is(
    put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    still, opened = put("a.png", png_bytes(SMALL[..., None])), []
    monkeypatch.setattr(png, "header", partial(_noted, png.header, opened))
    assert read_header(still) == read_header(still)
    assert len(opened) == 1
    put("a.png", png_bytes(SMALL[:, :2, None]))
    assert read_header(still).size == Size(2, 2)
    os.utime(still.path, ns=(0, 0))
    assert read_header(still).size == Size(2, 2)
    assert len(opened) == 3
    still.path.unlink()
    with pytest.raises(InputError, match="exists"):
        read_header(still)


def _noted(header: Callable[[Path], Header], opened: list[Path], path: Path) -> Header:
    opened.append(path)
    return header(path)


def test_of_several_sensitivities_the_first_is_told() -> None:
    # The tag may hold any number of them: CIPA DC-008 (Exif), tag 34855, count "Any".
    assert exposure({34855: (200, 0)}) == exposure({34855: [200, 100]}) == Exposure(iso=200)
