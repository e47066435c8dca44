"""The table of motions, and the cautions that go with them."""

import pytest

from cropmove.errors import InputError
from cropmove.rig.cautions import CAUTIONS, DEFERS, cautions_for
from cropmove.rig.motion import MOTIONS, motion_named


def test_a_near_miss_names_the_nearest_motion():
    with pytest.raises(InputError) as refused:
        motion_named("camera sidewards")
    assert "camera sideways" in refused.value.complaints[0].remedy


def test_every_motion_is_named_by_what_moves_and_its_way():
    for name, motion in MOTIONS.items():
        assert name == f"{motion.mover} {motion.way}"
        assert motion.grows


def test_a_raised_camera_has_a_second_fixing_and_a_moved_set_pinches(rig):
    raised = cautions_for([rig("lift", "camera up", start=0, end=9)])
    moved = cautions_for([rig("board", "set turn", start=0, end=9)])
    assert CAUTIONS["raised"] in raised
    assert CAUTIONS["raised"] not in moved
    assert {CAUTIONS["fingers"], CAUTIONS["shadows"]} <= set(moved)


@pytest.mark.parametrize("moves", [name for name in MOTIONS if name.startswith("camera")])
def test_a_camera_that_a_hand_pushes_may_be_heavy_whichever_way_it_goes(rig, moves):
    assert CAUTIONS["raised"] in cautions_for([rig("it", moves, start=0, end=9)])


@pytest.mark.parametrize("moves", ["subject up", "background up", "set up"])
def test_whatever_is_lifted_has_a_second_fixing(rig, moves):
    assert CAUTIONS["raised"] in cautions_for([rig("it", moves, start=0, end=9)])


def test_the_cautions_defer_to_local_codes():
    assert "Local codes" in DEFERS
    assert "licensed" in DEFERS
