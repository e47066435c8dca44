from __future__ import annotations

import io
import struct
import sys
from collections.abc import Callable
from typing import Any

import numpy as np
import OpenEXR
import pytest
from numpy.typing import NDArray

from cropmove.errors import InputError, MachineError
from cropmove.geometry import Size
from cropmove.picture.light import LINEAR
from cropmove.stills.find import StillRef
from cropmove.stills.profile import to_srgb, transfer_of
from cropmove.stills.read import read_header, read_pixels

Put = Callable[[str, bytes], StillRef]


def exr(channels: dict[str, NDArray[Any]], compression: str = "ZIP", **header: Any) -> bytes:
    file = io.BytesIO()
    facts = {
        "compression": getattr(OpenEXR, f"{compression}_COMPRESSION"),
        "type": OpenEXR.scanlineimage,
        **header,
    }
    OpenEXR.File(facts, channels).write(file)
    return file.getvalue()


def light(*shape: int) -> NDArray[np.float32]:
    """Linear light that halves hold exactly, some of it above white."""
    return np.random.default_rng(2).integers(0, 2048, shape).astype(np.float32) / 256


@pytest.mark.parametrize("compression", ["NO", "RLE", "ZIPS", "ZIP", "PIZ"])
@pytest.mark.parametrize("kind", [np.float16, np.float32])
def test_light_is_read_to_the_last_bit(compression: str, kind: type, put: Put) -> None:
    values = light(20, 30, 3)
    still = put("a.exr", exr({"RGB": values.astype(kind)}, compression))
    header = read_header(still)
    pixels = read_pixels(still, header)
    assert (header.stored, header.channels, header.depth) == (Size(30, 20), 3, 32)
    assert transfer_of(header) == LINEAR
    assert to_srgb(header) is None
    assert pixels.dtype == np.float32
    assert np.array_equal(pixels, values)


def test_alpha_is_taken_out_of_the_colours(put: Put) -> None:
    # OpenEXR's colours are multiplied by alpha: "Technical Introduction to OpenEXR".
    values = light(20, 30, 4)
    values[..., 3] = 0.25
    multiplied = values * [0.25, 0.25, 0.25, 1]
    pixels = read_pixels(put("a.exr", exr({"RGBA": multiplied.astype(np.float32)})))
    assert np.array_equal(pixels, values)


def test_nothing_shows_where_alpha_is_zero(put: Put) -> None:
    pixels = read_pixels(put("a.exr", exr({"RGBA": np.zeros((4, 4, 4), np.float32)})))
    assert not pixels.any()


def test_luminance_alone_is_grey(put: Put) -> None:
    values = light(20, 30)
    pixels = read_pixels(put("a.exr", exr({"Y": values})))
    assert np.array_equal(pixels[..., 0], values)


def test_other_channels_are_left_out(put: Put) -> None:
    values = light(20, 30, 3)
    planes = {name: np.ascontiguousarray(values[..., i]) for i, name in enumerate("RGB")}
    assert np.array_equal(read_pixels(put("a.exr", exr({**planes, "Z": light(20, 30)}))), values)


def test_primaries_are_read(put: Put) -> None:
    adobe = (0.64, 0.33, 0.21, 0.71, 0.15, 0.06, 0.3127, 0.329)
    header = read_header(put("a.exr", exr({"RGB": light(4, 4, 3)}, chromaticities=adobe)))
    assert header.tags.chromaticities == pytest.approx(adobe, abs=1e-6)
    assert to_srgb(header) is not None


def test_the_first_part_that_is_a_picture_is_read(put: Put) -> None:
    values = light(20, 30, 3)
    kinds = {"compression": OpenEXR.ZIP_COMPRESSION, "type": OpenEXR.scanlineimage}
    channels = {
        "depth": {"Z": light(20, 30)},
        "beauty": {"RGB": values},
        "clean": {"Y": light(20, 30)},
    }
    parts = [OpenEXR.Part(dict(kinds), planes, name) for name, planes in channels.items()]
    file = io.BytesIO()
    OpenEXR.File(parts).write(file)
    content = file.getvalue()
    assert np.array_equal(read_pixels(put("a.exr", content)), values)
    with pytest.raises(InputError, match="damaged or cut off"):
        read_pixels(put("cut.exr", content[: len(content) // 2]))


def test_colour_as_differences_is_not_taken_for_grey(put: Put) -> None:
    # "Technical Introduction to OpenEXR", luminance/chroma images: Y, RY and BY.
    planes = {name: light(20, 30) for name in ("Y", "RY", "BY")}
    with pytest.raises(InputError, match=r"Y alone; this one has BY, RY, Y(.|\n)*plain RGB"):
        read_header(put("a.exr", exr(planes)))


def coarse_exr(width: int, height: int) -> bytes:
    """Halves of nothing, B for every second pixel each way ("OpenEXR File Layout")."""
    samples = {b"B": 2, b"G": 1, b"R": 1}
    channels = b"".join(
        name + b"\0" + struct.pack("<4I", 1, 0, step, step) for name, step in samples.items()
    )
    box = struct.pack("<4i", 0, 0, width - 1, height - 1)
    attributes = (
        (b"channels", b"chlist", channels + b"\0"),
        (b"compression", b"compression", b"\0"),
        (b"dataWindow", b"box2i", box),
        (b"displayWindow", b"box2i", box),
        (b"lineOrder", b"lineOrder", b"\0"),
        (b"pixelAspectRatio", b"float", struct.pack("<f", 1)),
        (b"screenWindowCenter", b"v2f", bytes(8)),
        (b"screenWindowWidth", b"float", struct.pack("<f", 1)),
    )
    head = struct.pack("<II", 20_000_630, 2)
    for name, kind, value in attributes:
        head += name + b"\0" + kind + b"\0" + struct.pack("<I", len(value)) + value
    at, table, lines = len(head) + 1 + 8 * height, b"", b""
    for y in range(height):
        size = sum(2 * -(-width // step) for step in samples.values() if y % step == 0)
        table += struct.pack("<Q", at + len(lines))
        lines += struct.pack("<iI", y, size) + bytes(size)
    return head + b"\0" + table + lines


def test_a_coarser_channel_is_no_damage(put: Put) -> None:
    with pytest.raises(InputError, match=r"this one's B is coarser(.|\n)*plain RGB"):
        read_header(put("a.exr", coarse_exr(6, 4)))


def test_pixels_that_are_not_square_are_refused(put: Put) -> None:
    planes = {"RGB": light(4, 4, 3)}
    with pytest.raises(InputError, match=r"square pixels; this one's are 2 times as wide"):
        read_header(put("a.exr", exr(planes, pixelAspectRatio=2.0)))
    assert read_header(put("b.exr", exr(planes, pixelAspectRatio=1.00001))).stored == Size(4, 4)


@pytest.mark.parametrize("share", [0.2, 0.7])
def test_a_cut_off_file_is_refused(share: float, put: Put) -> None:
    file = exr({"RGB": light(200, 300, 3)})
    still = put("a.exr", file[: int(share * len(file))])
    with pytest.raises(InputError, match="damaged or cut off"):
        read_pixels(still)


def test_a_channel_whose_name_is_no_text_is_damage(put: Put) -> None:
    file = exr({"RGB": light(4, 4, 3), "Zdepth": light(4, 4)}).replace(b"Zdepth", b"Z\xff\xfepth")
    with pytest.raises(InputError, match="damaged"):
        read_header(put("a.exr", file))


def test_primaries_of_no_numbers_are_refused(put: Put) -> None:
    file = exr({"RGB": light(4, 4, 3)}, chromaticities=(float("nan"),) * 8)
    with pytest.raises(InputError, match="four different colours"):
        read_header(put("a.exr", file))


def test_a_file_without_a_picture_is_refused(put: Put) -> None:
    with pytest.raises(InputError, match="has R, G and B"):
        read_header(put("a.exr", exr({"Z": light(4, 4)})))


def test_without_the_library_the_install_command_is_told(
    put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    still = put("a.exr", exr({"Y": light(4, 4)}))
    monkeypatch.setitem(sys.modules, "OpenEXR", None)
    with pytest.raises(MachineError, match=r"pip install"):
        read_header(still)
