"""JPEG stills read only so far down as is needed: the same pixels, and no damage overlooked."""

from __future__ import annotations

import io
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from skimage import data

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.stills import sound
from cropmove.stills.find import StillRef
from cropmove.stills.read import read_header, read_pixels, read_small, room_for
from cropmove.stills.shortened import shortened

Put = Callable[[str, bytes], StillRef]
Pixels = NDArray[Any]

HEIGHT, WIDTH = 512, 512
PICTURE = data.astronaut()

SHORTENED: dict[str, tuple[str, dict[str, Any]]] = {
    "4:2:0": ("RGB", {"subsampling": "4:2:0"}),
    "4:2:2": ("RGB", {"subsampling": "4:2:2"}),
    "4:4:4": ("RGB", {"subsampling": "4:4:4"}),
    "grey": ("L", {}),
    "RGB as it is": ("RGB", {"keep_rgb": True}),
    "4:2:0, a restart a row": ("RGB", {"subsampling": "4:2:0", "restart_marker_rows": 1}),
    "4:4:4, restarts within rows": ("RGB", {"subsampling": "4:4:4", "restart_marker_blocks": 7}),
    "tables of its own": ("RGB", {"optimize": True, "comment": b"\xff\xda\xff\xc0" * 9}),
}
"""Kinds of JPEG whose upper part can be decoded by itself."""

WHOLE: dict[str, tuple[str, dict[str, Any]]] = {
    "progressive": ("RGB", {"progressive": True}),
    "progressive grey": ("L", {"progressive": True}),
}


def jpeg(mode: str = "RGB", pixels: Pixels = PICTURE, **options: Any) -> bytes:
    file = io.BytesIO()
    Image.fromarray(pixels).convert(mode).save(file, "JPEG", quality=90, **options)
    return file.getvalue()


@pytest.mark.parametrize(("mode", "options"), SHORTENED.values(), ids=SHORTENED)
@pytest.mark.parametrize("rows", [1, 16, 100, 255, 256, 257, 470])
def test_the_upper_rows_are_those_of_the_whole(
    mode: str, options: dict[str, Any], rows: int, put: Put, decoded: list[int]
) -> None:
    file = jpeg(mode, **options)
    wanted = np.atleast_3d(np.asarray(Image.open(io.BytesIO(file))))
    still = put("a.jpg", file)
    assert np.array_equal(read_pixels(still, rows=rows), wanted)
    upper = read_pixels(still, rows=rows)
    assert upper.flags.c_contiguous
    assert np.array_equal(upper, wanted[:rows])
    first, second = decoded
    assert first == HEIGHT
    assert rows < second <= rows + 2 * 16


@pytest.mark.parametrize(("mode", "options"), WHOLE.values(), ids=WHOLE)
def test_a_progressive_still_is_decoded_whole(
    mode: str, options: dict[str, Any], put: Put, decoded: list[int]
) -> None:
    file = jpeg(mode, **options)
    still = put("a.jpg", file)
    wanted = np.atleast_3d(np.asarray(Image.open(io.BytesIO(file))))
    for _ in range(2):
        assert np.array_equal(read_pixels(still, rows=100), wanted)
    assert decoded == [HEIGHT, HEIGHT]


@pytest.mark.parametrize("rows", [481, 497, 511, 512, 513, 9999])
def test_near_the_bottom_a_still_is_decoded_whole(rows: int, put: Put, decoded: list[int]) -> None:
    still = put("a.jpg", jpeg(subsampling="4:2:0"))
    for _ in range(2):
        assert read_pixels(still, rows=rows).shape == PICTURE.shape
    assert decoded == [HEIGHT, HEIGHT]


def test_a_content_is_known_again_under_another_name(put: Put, decoded: list[int]) -> None:
    file = jpeg()
    read_pixels(put("a.jpg", file))
    assert len(read_pixels(put("b.jpg", file), rows=100)) == 100
    assert decoded == [HEIGHT, 128]


def test_a_small_still_was_read_to_its_end_too(put: Put, decoded: list[int]) -> None:
    still = put("a.jpg", jpeg())
    read_small(still, read_header(still), Size(64, 64))
    assert len(read_pixels(still, rows=100)) == 100
    assert decoded == [64, 128]


def test_what_the_quick_decoder_refuses_the_strict_one_decides(
    put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refusing(*_: Any, **__: Any) -> Pixels:
        raise imagecodecs.Jpeg8Error("jpeg8_decode", "no")

    still = put("a.jpg", jpeg())
    whole = read_pixels(still)
    monkeypatch.setattr(imagecodecs, "jpeg8_decode", refusing)
    assert np.array_equal(read_pixels(still, rows=100), whole)


def damaged(file: bytes, others: bytes | None = None) -> list[bytes]:
    """The file with one sector of zeros or of another still in it, here and there."""
    sector = 512
    spoilt = []
    for at in range(4 * sector, len(file) * 3 // 4, 3 * sector):
        put_in = others[at : at + sector] if others else bytes(sector)
        spoilt.append(file[:at] + put_in + file[at + sector :])
    return spoilt


def is_refused(still: StillRef, **asked: Any) -> bool:
    try:
        read_pixels(still, **asked)
    except InputError:
        return True
    return False


@pytest.mark.parametrize("others", [None, jpeg(pixels=PICTURE[::-1])], ids=["zeros", "another's"])
def test_damage_is_found_as_often_as_when_the_whole_is_asked_for(
    others: bytes | None, put: Put, decoded: list[int]
) -> None:
    sound = jpeg()
    read_pixels(put("a.jpg", sound))
    found = 0
    for content in damaged(sound, others):
        still = put("a.jpg", content)  # as it is after a bad copy: the name and size are the same
        whole, upper = is_refused(still), is_refused(still, rows=480 - 32)
        assert upper == whole
        found += whole
    assert found > 0.8 * len(damaged(sound, others))
    assert decoded[0] == HEIGHT


def test_a_damaged_still_is_never_taken_for_sound(put: Put, own_cache: Path) -> None:
    still = put("a.jpg", damaged(jpeg())[0])
    assert is_refused(still)
    assert is_refused(still, rows=8)
    assert not own_cache.exists()


def test_without_a_register_a_still_is_decoded_whole(
    put: Put, decoded: list[int], own_cache: Path
) -> None:
    still = put("a.jpg", jpeg())
    read_pixels(still)
    (register,) = own_cache.iterdir()
    register.unlink()
    sound._register.cache_clear()  # as in the next run
    assert read_pixels(still, rows=100).shape == PICTURE.shape
    assert decoded == [HEIGHT, HEIGHT]


# Memory. ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("rows", [None, 300, 40])
def test_it_is_read_into_the_first_rows_of_a_larger_array(
    rows: int | None, put: Put, decoded: list[int]
) -> None:
    still = put("a.jpg", jpeg())
    wanted = read_pixels(still)
    out = np.full((HEIGHT + 88, WIDTH, 3), 77, np.uint8)
    pixels = read_pixels(still, out=out, rows=rows)
    assert pixels.ctypes.data == out.ctypes.data
    assert np.array_equal(pixels, wanted[:rows])
    assert (out[HEIGHT:] == 77).all()


def test_memory_serves_again_where_a_whole_still_has_room(put: Put) -> None:
    header = read_header(put("a.jpg", jpeg()))
    for shape in ((HEIGHT, WIDTH, 3), (HEIGHT + 1, WIDTH, 3)):
        spare = np.empty(shape, np.uint8)
        assert room_for(header, spare) is spare
    for shape in ((HEIGHT - 1, WIDTH, 3), (HEIGHT, WIDTH + 1, 3), (HEIGHT * WIDTH * 3,)):
        assert room_for(header, np.empty(shape, np.uint8)).shape == PICTURE.shape
    assert room_for(header, np.empty(PICTURE.shape, np.uint16)).dtype == np.uint8


# The data. -------------------------------------------------------------------------------------


def test_the_data_differs_in_the_height_alone_and_is_then_as_it_was() -> None:
    file = jpeg(subsampling="4:2:0")
    data = bytearray(file)
    with shortened(data, Size(WIDTH, HEIGHT), 100) as height:
        assert Image.open(io.BytesIO(data)).size == (WIDTH, height) == (WIDTH, 128)
        differing = np.flatnonzero(np.frombuffer(file, np.uint8) != np.frombuffer(data, np.uint8))
        at = file.index(struct.pack(">HH", HEIGHT, WIDTH))
        assert differing.tolist() in ([at], [at + 1], [at, at + 1])
    assert data == file


@pytest.mark.parametrize("spoil", [
    lambda file: b"",
    lambda file: file[:1],
    lambda file: file[: file.index(b"\xff\xc0") + 6],
    lambda file: file[: file.index(b"\xff\xda")],
    lambda file: file[: file.index(b"\xff\xda") + 4],
    lambda file: b"x" + file,
    lambda file: file.replace(b"\xff\xc0", b"\xff\xc9", 1),  # arithmetic codes (T.81, table B.1)
    lambda file: file.replace(b"\xff\xc0", b"\xff\xc3", 1),  # lossless
    lambda file: file.replace(b"\xff\xdb", b"\xff\x01", 1),  # reserved
    lambda file: file.replace(b"\xff\xda\0\x0c\3", b"\xff\xda\0\x0c\1", 1),  # the first of scans
    lambda file: file.replace(b"\xff\xda", _frame(file) + b"\xff\xda", 1),  # two frames
    lambda file: file.replace(struct.pack(">HH", HEIGHT, WIDTH),
                              struct.pack(">HH", 0, WIDTH), 1),  # told later (T.81, B.2.5)
])  # fmt: skip
def test_data_that_is_laid_out_otherwise_is_left_alone(spoil: Callable[[bytes], bytes]) -> None:
    file = jpeg()
    with shortened(bytearray(file), Size(WIDTH, HEIGHT), 100) as height:
        assert height < HEIGHT
    spoilt = bytearray(spoil(file))
    assert spoilt != file
    with shortened(spoilt, Size(WIDTH, HEIGHT), 100) as height:
        assert height == HEIGHT
        assert spoilt == spoil(file)


def _frame(file: bytes) -> bytes:
    at = file.index(b"\xff\xc0")
    return file[at : at + 2 + int.from_bytes(file[at + 2 : at + 4])]
