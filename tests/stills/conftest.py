"""A place to put files, and a small picture."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from cropmove.stills.find import StillRef


@pytest.fixture
def put(tmp_path: Path) -> Callable[[str, bytes], StillRef]:
    """Writes a file and gives the still that it is."""

    def write(name: str, content: bytes) -> StillRef:
        path = tmp_path / name
        path.write_bytes(content)
        return StillRef(path=path)

    return write


@pytest.fixture
def noise() -> NDArray[np.uint16]:
    """A small picture that uses every bit of its 16, (23, 17, 4)."""
    return np.random.default_rng(7).integers(0, 65536, (23, 17, 4)).astype(np.uint16)
