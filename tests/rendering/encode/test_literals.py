from __future__ import annotations

import zlib

import imagecodecs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from skimage import data

from cropmove.rendering.encode.literals import packed_literals, room
from cropmove.rendering.encode.packing import packed
from cropmove.scratch import Scratch

RANDOM = np.random.default_rng(8)


def fibonacci() -> NDArray[np.uint8]:
    """Counts that make Huffman's longest code as long as can be: 24 bits, where 15 are allowed."""
    counts = [1, 1]
    while len(counts) < 25:
        counts.append(counts[-1] + counts[-2])
    return RANDOM.permutation(np.repeat(np.arange(25, dtype=np.uint8), counts))


def many_long() -> NDArray[np.uint8]:
    """One value nearly always, all others once: a great many codes that are too long."""
    return RANDOM.permutation(np.r_[np.arange(256), np.full(200_000, 9)].astype(np.uint8))


CONTENTS = {
    "nothing": np.zeros(0, np.uint8),
    "one byte": np.full(1, 7, np.uint8),
    "two bytes": np.array([7, 255], np.uint8),
    "three bytes": np.array([7, 255, 7], np.uint8),
    "one value": np.zeros(1000, np.uint8),
    "one value, an odd number of times": np.full(1001, 255, np.uint8),
    "one value over many blocks": np.full(3 << 18, 128, np.uint8),
    "even noise": RANDOM.integers(0, 256, 10_001).astype(np.uint8),
    "even noise over many blocks": RANDOM.integers(0, 256, 1_000_003).astype(np.uint8),
    "grain": (RANDOM.normal(0, 6, 700_001).astype(int) % 256).astype(np.uint8),
    "codes too long": fibonacci(),
    "many codes too long": many_long(),
    "exactly a block": RANDOM.integers(0, 9, 1 << 18).astype(np.uint8),
    "a block and a byte": RANDOM.integers(0, 9, (1 << 18) + 1).astype(np.uint8),
    "a block and two bytes": RANDOM.integers(0, 9, (1 << 18) + 2).astype(np.uint8),
}


def stream_of(content: NDArray[np.uint8]) -> bytes:
    stream = packed_literals(content, 0, np.empty(room(content.size), np.uint64))
    assert stream is not None
    return bytes(stream)


@pytest.mark.parametrize("content", CONTENTS.values(), ids=CONTENTS)
def test_other_libraries_unpack_the_same_bytes(content: NDArray[np.uint8]) -> None:
    stream = stream_of(content)
    assert zlib.decompress(stream) == content.tobytes()
    assert imagecodecs.zlibng_decode(stream) == content.tobytes()
    if content.size:
        unpacked = imagecodecs.deflate_decode(stream, out=content.size, raw=False)  # libdeflate
        assert unpacked == content.tobytes()


@pytest.mark.parametrize("content", CONTENTS.values(), ids=CONTENTS)
def test_a_stream_takes_no_more_than_its_room(content: NDArray[np.uint8]) -> None:
    longer = np.full(room(content.size) + 8, 0x5A5A5A5A5A5A5A5A, np.uint64)
    stream = packed_literals(content, 0, longer[:-8])
    assert stream is not None
    assert np.shares_memory(np.frombuffer(stream, np.uint8), longer)
    assert (longer[-8:] == 0x5A5A5A5A5A5A5A5A).all()
    assert stream == stream_of(content)


def test_a_stream_without_room_is_refused() -> None:
    content = CONTENTS["even noise"]
    with pytest.raises(ValueError, match="words"):
        packed_literals(content, 0, np.empty(room(content.size) - 1, np.uint64))


def test_noise_grows_by_little() -> None:
    content = CONTENTS["even noise over many blocks"]
    assert len(stream_of(content)) < 1.005 * content.size


@pytest.mark.parametrize("name", ["codes too long", "many codes too long"])
def test_codes_cut_short_cost_little(name: str) -> None:
    """Beside zlib's, which may be of 15 bits, on the same search for no repeats."""
    content = CONTENTS[name]
    maker = zlib.compressobj(6, strategy=zlib.Z_HUFFMAN_ONLY)
    other = maker.compress(content.tobytes()) + maker.flush()
    assert len(stream_of(content)) < 1.01 * len(other)


def test_a_row_as_long_as_the_sampling_is_seen_all_over() -> None:
    """Grain down one strip of a picture whose rows are 4096 bytes, as counting goes, or near it."""
    for row in (4095, 4096, 4097, 8192):
        lines = np.full((300, row), 3, np.uint8)
        lines[:, row // 2 : row // 2 + 512] = RANDOM.normal(128, 3, (300, 512))
        maker = zlib.compressobj(6, strategy=zlib.Z_HUFFMAN_ONLY)
        other = maker.compress(lines.tobytes()) + maker.flush()
        assert len(stream_of(lines.reshape(-1))) < 1.02 * len(other)


def test_bytes_may_lie_anywhere() -> None:
    content = CONTENTS["grain"]
    assert zlib.decompress(stream_of(content[1:])) == content[1:].tobytes()


@given(st.binary(max_size=3000))
def test_any_bytes_come_back(content: bytes) -> None:
    assert zlib.decompress(stream_of(np.frombuffer(content, np.uint8))) == content


def test_grain_is_packed_to_within_two_hundredths_of_its_entropy() -> None:
    content = CONTENTS["grain"]
    shares = np.bincount(content) / content.size
    entropy = -np.sum(shares * np.log2(shares, where=shares > 0, out=np.zeros_like(shares)))
    stream = stream_of(content)
    assert entropy <= 8 * len(stream) / content.size < entropy + 0.05
    assert len(stream) < len(zlib.compress(content, level=6))


def test_a_plain_picture_is_searched_for_repeats() -> None:
    plain = np.zeros((300, 1000), np.uint8)
    assert packed_literals(plain.reshape(-1), 2, np.empty(room(plain.size), np.uint64)) is None
    assert len(packed(plain, "quick", Scratch())) < 3000


@pytest.mark.parametrize("compression", ["quick", "small", "none"])
@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_every_way_of_packing_comes_back(compression: str, kind: type) -> None:
    content = data.camera().astype(kind)
    assert zlib.decompress(packed(content, compression, Scratch())) == content.tobytes()
