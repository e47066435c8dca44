"""Things moved by hand, in a few words."""

from collections.abc import Callable

import pytest
from by_hand import a_move, a_rig, a_table, a_twin

from cropmove.move.course import Move
from cropmove.rig.rig import Rig
from cropmove.rig.working import Table


@pytest.fixture
def rig() -> Callable[..., Rig]:
    return a_rig


@pytest.fixture
def table() -> Callable[..., Table]:
    return a_table


@pytest.fixture
def beside() -> Callable[..., Table]:
    return a_twin


@pytest.fixture
def move() -> Callable[..., Move]:
    return a_move
