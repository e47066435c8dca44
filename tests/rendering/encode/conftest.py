"""Small pictures to be put into files."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray


@pytest.fixture
def noise() -> NDArray[np.uint16]:
    """A picture that uses every bit of its 16, (73, 41, 4): more than one strip of a TIFF."""
    return np.random.default_rng(11).integers(0, 65536, (73, 41, 4)).astype(np.uint16)
