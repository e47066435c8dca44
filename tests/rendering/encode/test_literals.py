from __future__ import annotations

import zlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from skimage import data

from cropmove.rendering.encode.literals import packed_literals
from cropmove.rendering.encode.packing import packed

RANDOM = np.random.default_rng(8)


def fibonacci() -> NDArray[np.uint8]:
    """Counts that make Huffman's longest code as long as can be: 24 bits, where 15 are allowed."""
    counts = [1, 1]
    while len(counts) < 25:
        counts.append(counts[-1] + counts[-2])
    return RANDOM.permutation(np.repeat(np.arange(25, dtype=np.uint8), counts))


CONTENTS = {
    "nothing": np.zeros(0, np.uint8),
    "one byte": np.full(1, 7, np.uint8),
    "one value": np.zeros(1000, np.uint8),
    "even noise": RANDOM.integers(0, 256, 10_001).astype(np.uint8),
    "grain": (RANDOM.normal(0, 6, 700_001).astype(int) % 256).astype(np.uint8),
    "codes too long": fibonacci(),
    "exactly a block": RANDOM.integers(0, 9, 1 << 18).astype(np.uint8),
}


@pytest.mark.parametrize("content", CONTENTS.values(), ids=CONTENTS)
def test_another_library_unpacks_the_same_bytes(content: NDArray[np.uint8]) -> None:
    stream = packed_literals(content, 0)
    assert stream is not None
    assert zlib.decompress(stream) == content.tobytes()


@given(st.binary(max_size=3000))
def test_any_bytes_come_back(content: bytes) -> None:
    stream = packed_literals(np.frombuffer(content, np.uint8), 0)
    assert stream is not None
    assert zlib.decompress(stream) == content


def test_grain_is_packed_to_within_two_hundredths_of_its_entropy() -> None:
    content = CONTENTS["grain"]
    shares = np.bincount(content) / content.size
    entropy = -np.sum(shares * np.log2(shares, where=shares > 0, out=np.zeros_like(shares)))
    stream = packed_literals(content, 0)
    assert stream is not None
    assert entropy <= 8 * len(stream) / content.size < entropy + 0.05
    assert len(stream) < len(zlib.compress(content, level=6))


def test_a_plain_picture_is_searched_for_repeats() -> None:
    plain = np.zeros((300, 1000), np.uint8)
    assert packed_literals(plain.reshape(-1), 2) is None
    assert len(packed(plain, "quick")) < 3000


@pytest.mark.parametrize("compression", ["quick", "small", "none"])
@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_every_way_of_packing_comes_back(compression: str, kind: type) -> None:
    content = data.camera().astype(kind)
    assert zlib.decompress(packed(content, compression)) == content.tobytes()
