"""Memory that is used again holds what was asked for, and moves only to grow."""

from __future__ import annotations

import numpy as np

from cropmove.scratch import Scratch


def test_a_name_keeps_its_memory_until_it_is_too_small() -> None:
    scratch = Scratch()
    first = scratch.array("rows", (10, 30), np.uint8)
    assert np.shares_memory(first, scratch.array("rows", (5, 30), np.uint16))
    assert not np.shares_memory(first, scratch.array("rows", (11, 30), np.uint8))


def test_other_names_have_other_memory() -> None:
    scratch = Scratch()
    rows = scratch.array("rows", (4,), np.float32)
    assert rows.dtype == np.float32
    assert not np.shares_memory(rows, scratch.array("stream", (4,), np.float32))
