"""A file as the buffers that were written to it, beside the standard library's file in memory."""

from __future__ import annotations

import io

import numpy as np
import pytest

from cropmove.rendering.encode.pieces import Pieces

LARGE = np.random.default_rng(6).integers(0, 256, 200_000).astype(np.uint8)


def test_what_is_written_stands_where_it_would_in_any_file() -> None:
    ours, other = Pieces(), io.BytesIO()
    for file in (ours, other):
        assert file.write(b"II*\0 header") == 11
        assert file.write(LARGE.data) == LARGE.size
        assert file.write(LARGE.view(np.uint16)[:9].data) == 18
        assert file.tell() == LARGE.size + 29
        assert file.seek(4) == 4
        assert file.write(b"four") == 4
        assert file.seek(-18, io.SEEK_END) == LARGE.size + 11
        assert file.write(b"x" * 18) == 18
        assert file.write(b"end") == 3
        assert file.seek(9, io.SEEK_CUR) == LARGE.size + 41
        assert file.write(b"beyond") == 6
        assert file.seek(-10, io.SEEK_CUR) == LARGE.size + 37
        assert file.write(b"gap") == 3
    assert b"".join(ours.buffers) == other.getvalue()


def test_what_is_large_is_not_copied_and_what_is_small_is() -> None:
    file, small = Pieces(), bytearray(b"small")
    file.write(LARGE)
    file.write(small)
    small[:] = b"other"
    assert np.shares_memory(np.frombuffer(file.buffers[0], np.uint8), LARGE)
    assert file.buffers[1] == b"small"


def test_what_is_large_is_not_written_over_and_nothing_stands_before_the_file() -> None:
    before = LARGE.copy()
    file = Pieces()
    file.write(b"head")
    file.write(LARGE)
    for place, content in ((4, b"x"), (2, b"three")):
        file.seek(place)
        with pytest.raises(ValueError, match="one small piece"):
            file.write(content)
    with pytest.raises(ValueError, match="before"):
        file.seek(-1)
    assert (before == LARGE).all()
