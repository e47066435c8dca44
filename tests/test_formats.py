from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.rendering.encode import COMPRESSIONS, FORMATS, Encoding, encode
from cropmove.rendering.encode.movie import MovieWriter
from cropmove.shot import Delivery


def refusal(**settings: Any) -> str:
    with pytest.raises(InputError) as caught:
        Encoding(**settings)
    assert len(caught.value.complaints) == 1
    return str(caught.value)


def test_every_format_is_named_as_its_entry() -> None:
    assert list(FORMATS) == [entry.name for entry in FORMATS.values()]
    assert len({entry.suffix for entry in FORMATS.values()}) == len(FORMATS)


@pytest.mark.parametrize("name", FORMATS)
def test_usual_settings_are_the_first_depth_and_quick(name: str) -> None:
    encoding = Encoding(format=name)
    assert encoding.depth == FORMATS[name].depths[0]
    assert encoding.compression == "quick"
    assert encoding.quality == (95 if name == "jpeg" else None)


@pytest.mark.parametrize(("settings", "told"), [
    ({"format": "pgn"}, 'did you mean "png"?'),
    ({"format": "jpeg", "depth": 16}, "or choose png or tiff"),
    ({"format": "mov", "depth": 8}, "mov holds 10 bits"),
    ({"format": "mov", "depth": 8}, "or choose mp4"),
    ({"format": "png", "depth": 12}, "write depth = 8"),
    ({"format": "png", "quality": 90}, "no quality to choose"),
    ({"format": "jpeg", "quality": 0}, "1 to 100"),
    ({"format": "jpeg", "quality": 101}, "1 to 100"),
    ({"format": "png", "compression": "smal"}, 'did you mean "small"?'),
])  # fmt: skip
def test_what_a_format_cannot_do_is_refused(settings: dict[str, Any], told: str) -> None:
    assert told in refusal(**settings)


@pytest.mark.parametrize(("name", "depth", "kind"), [
    ("png", 8, "uint8"), ("png", 16, "uint16"), ("exr", 16, "float32"), ("exr", 32, "float32"),
    ("mp4", 8, "uint8"), ("mp4", 10, "uint16"), ("mov", 10, "uint16"),
])  # fmt: skip
def test_the_type_of_the_pixels_follows(name: str, depth: int, kind: str) -> None:
    assert Encoding(format=name, depth=depth).dtype == kind


@pytest.mark.parametrize("name", ["jpeg", "mp4", "mov"])
def test_the_largest_size_is_the_largest_that_the_encoder_takes(name: str, tmp_path: Path) -> None:
    encoding, largest = Encoding(format=name), FORMATS[name].largest
    size = Size(largest, 2)
    FORMATS[name].check_size(size)
    FORMATS[name].check_size(size.turned())
    assert put(size, encoding, tmp_path)
    assert not put(Size(largest + FORMATS[name].is_movie + 1, 2), encoding, tmp_path)


def put(size: Size, encoding: Encoding, folder: Path) -> bool:
    """Whether the encoder, which is not ours, takes a picture of that size."""
    pixels = np.zeros((size.height, size.width, 3), encoding.dtype)
    try:
        if not encoding.format.is_movie:
            return bool(encode(pixels, encoding))
        with MovieWriter(folder / "part", size, Fraction(24), encoding) as movie:
            movie.add(pixels)
            movie.finish()
    except (ValueError, OSError):
        return False
    return True


@pytest.mark.parametrize(("name", "size", "told"), [
    ("jpeg", Size(65_501, 2), "at most 65,500 pixels each way(.|\n)*choose png or tiff or exr$"),
    ("jpeg", Size(2, 65_501), "2 x 65501(.|\n)*at most 65,500"),
    ("mp4", Size(16_386, 2), "at most 16,384 pixels each way(.|\n)*choose mov$"),
    ("mov", Size(65_536, 2), "at most 65,534 pixels each way(.|\n)*choose png"),
])  # fmt: skip
def test_a_delivery_too_large_for_its_format_is_refused(name: str, size: Size, told: str) -> None:
    with pytest.raises(InputError, match=told) as caught:
        Delivery(size=size, format=name)
    assert caught.value.complaints[0].where == "size"


def test_alpha_in_a_format_without_it_is_refused() -> None:
    with pytest.raises(InputError, match="choose png or tiff or exr"):
        encode(np.zeros((4, 4, 4), np.uint8), Encoding(format="jpeg"))


@pytest.mark.parametrize("shape", [(4, 4), (4, 4, 5)])
def test_other_shapes_are_our_own_mistake(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="takes"):
        encode(np.zeros(shape, np.uint8), Encoding(format="png"))


def test_another_type_is_our_own_mistake() -> None:
    with pytest.raises(ValueError, match="uint16"):
        encode(np.zeros((4, 4, 3), np.uint8), Encoding(format="png", depth=16))


@pytest.mark.parametrize("name", [name for name, entry in FORMATS.items() if not entry.is_movie])
@pytest.mark.parametrize("compression", COMPRESSIONS)
def test_the_same_frame_is_the_same_file(name: str, compression: str) -> None:
    encoding = Encoding(format=name, compression=compression)
    pixels = np.arange(5 * 7 * 3, dtype=encoding.dtype).reshape(5, 7, 3)
    assert bytes(encode(pixels, encoding)) == bytes(encode(pixels, encoding))


def test_a_view_of_a_larger_picture_is_encoded_as_it_looks() -> None:
    whole = np.random.default_rng(1).integers(0, 256, (20, 30, 3)).astype(np.uint8)
    part = whole[3:14:2, 25:5:-1]
    encoding = Encoding(format="png")
    assert encode(part, encoding) == encode(part.copy(), encoding)
