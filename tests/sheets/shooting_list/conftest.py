"""Two things on twos, the second one's rule too short for its way."""

import pytest
from by_hand import a_rig, a_table


@pytest.fixture
def both():
    boat = a_rig("boat", "subject sideways", start=0, end=240, ease_in=12, ease_out=20)
    slider = a_rig("slider", "camera sideways", follows="boat", ratio=0.9, rule=150, start=5)
    return a_table(boat, slider, frames=97, on=2)
