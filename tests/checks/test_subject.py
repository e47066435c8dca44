"""A subject that leaves the frame or a safe area, fills it, or runs out of room."""

from dataclasses import replace

import pytest

from cropmove.checks.registry import findings_of
from cropmove.limits import Limits
from cropmove.move.subject import Point, Subject


def boat(*points, name="boat"):
    return Subject(
        name=name, points=tuple(Point(frame=f, x=x, y=y, **size(s)) for f, x, y, *s in points)
    )


def size(given):
    return {"width": given[0], "height": given[1]} if given else {}


@pytest.fixture
def watched(shot, key):
    """A framing of x 2000 to 4000, y 1437.5 to 2562.5, locked off, and a subject."""

    def made(*points, **more):
        framing = key(1, 3000, 2000, 2000)
        return shot(framing, frames=49, subjects=(boat(*points),), **more)

    return made


def shifted(shot, by):
    keys = tuple(
        replace(k, framing=replace(k.framing, x=k.framing.x + by[0], y=k.framing.y + by[1]))
        for k in shot.keys
    )
    return replace(shot, keys=keys)


def wider(shot, times):
    keys = tuple(
        replace(k, framing=replace(k.framing, width=k.framing.width * times)) for k in shot.keys
    )
    return replace(shot, keys=keys)


AREAS = [
    ("subject-leaves-frame", 1.0),
    ("subject-leaves-action-safe", 0.93),
    ("subject-leaves-title-safe", 0.90),
]
"""Of the frame's width: SMPTE ST 2046-1:2009."""


@pytest.mark.parametrize(("id", "share"), AREAS)
def test_each_area_is_left_at_its_edge_and_not_before(watched, found, id, share):
    edge = 3000 + share * 1000
    assert found(watched((1, edge - 0.01, 2000)), id) == ()
    (finding,) = found(watched((1, edge + 1, 2000)), id)
    # A pixel of the still is 0.96 delivered pixels here.
    assert finding.measured == pytest.approx(0.96)
    assert finding.figures["edge"] == "right"


@pytest.mark.parametrize(("id", "share"), AREAS)
@pytest.mark.parametrize("edge", ["left", "right", "top", "bottom"])
def test_each_edge_is_told_and_both_remedies_bring_it_back(watched, one, found, id, share, edge):
    out = {"left": (-1, 0), "right": (1, 0), "top": (0, -1), "bottom": (0, 1)}[edge]
    x = 3000 + out[0] * (share * 1000 + 5)
    y = 2000 + out[1] * (share * 562.5 + 5)
    shot = watched((1, x, y))
    finding = one(shot, id)
    assert finding.figures["edge"] == edge
    assert found(shifted(shot, finding.figures["shift"]), id) == ()
    assert found(wider(shot, finding.figures["wider"]), id) == ()


def test_the_gravest_area_alone_is_told(watched, found):
    far_out = watched((1, 4500, 2000))
    assert [len(found(far_out, id)) for id, _ in AREAS] == [1, 0, 0]


def test_the_frames_are_those_in_which_it_is_out(watched, one):
    # From x = 3000 at frame 1 to 4800 at frame 49: beyond 4000 from frame 28 on.
    finding = one(watched((1, 3000, 2000), (49, 4800, 2000)), "subject-leaves-frame")
    assert finding.frames == ((28, 49),)
    assert finding.figures["worst_frame"] == 49


def test_a_held_still_holds_the_subject(watched, one):
    finding = one(watched((1, 3000, 2000), (49, 4800, 2000), on=2), "subject-leaves-frame")
    assert finding.frames == ((29, 49),)


def test_a_box_counts_with_its_edges(watched, found):
    assert found(watched((1, 3850, 2000, 100, 100)), "subject-leaves-title-safe") == ()
    assert found(watched((1, 3851, 2000, 100, 100)), "subject-leaves-title-safe") != ()


def test_a_subject_that_needs_a_moving_camera_gets_a_wider_one(shot, key, one, found):
    pan = shot(key(1, 2000, 2000, 2000), key(49, 4000, 2000, 2000))
    stays_behind = replace(pan, subjects=(boat((1, 2000, 2000), (49, 2600, 2000)),))
    finding = one(stays_behind, "subject-leaves-frame")
    assert finding.figures["shift"] is not None
    both = replace(pan, subjects=(boat((1, 2950, 2000), (49, 3050, 2000)),))
    ahead_then_behind = one(both, "subject-leaves-action-safe")
    assert ahead_then_behind.figures["shift"] is None
    mended = wider(both, ahead_then_behind.figures["wider"])
    assert found(mended, "subject-leaves-action-safe") == ()


def test_a_rolled_frame_is_widened_only(shot, key, one, found):
    # 960 px right of the centre is 945 along the axis of a frame rolled by 10 degrees.
    rolled = shot(key(1, 3000, 2000, 2000, roll=10), subjects=(boat((1, 3960, 2000)),), frames=9)
    finding = one(rolled, "subject-leaves-action-safe")
    assert finding.measured == pytest.approx(0.96 * (960 * 0.98481 - 930), abs=0.01)
    assert finding.figures["shift"] is None
    assert found(wider(rolled, finding.figures["wider"]), finding.id) == ()


def test_a_framing_too_tight_for_the_subject_says_how_wide_it_must_be(watched, one, found):
    # Action safe is 93 % of 2000: 1860.
    assert found(watched((1, 3000, 2000, 1860, 100)), "too-tight") == ()
    shot = watched((1, 3000, 2000, 1870, 100))
    finding = one(shot, "too-tight")
    assert finding.limit == pytest.approx(1870 / 0.93, abs=2.5)
    assert found(wider(shot, finding.figures["wider"]), "too-tight") == ()
    assert not any(found(shot, id) for id, _ in AREAS[1:])


def test_a_subject_too_high_is_too_tight_as_well(watched, found):
    assert len(found(watched((1, 3000, 2000, 10, 1060)), "too-tight")) == 1


@pytest.mark.parametrize(
    ("way", "sign", "axis"), [("right", 1, 0), ("left", -1, 0), ("down", 1, 1)]
)
def test_a_traveller_wants_room_in_front_of_it(watched, one, found, way, sign, axis):
    def going(room):
        side = (2000, 1125)[axis]
        at = [3000.0, 2000.0]
        at[axis] += sign * (0.5 - room) * side
        begin = list(at)
        begin[axis] -= sign * 300
        return watched((1, *begin), (49, *at))

    assert found(going(0.41), "lead-room") == ()
    shot = going(0.38)
    finding = one(shot, "lead-room")
    assert finding.figures["way"] == way
    assert finding.measured == pytest.approx(38, abs=1)
    assert found(shifted(shot, finding.figures["shift"]), "lead-room") == ()


def test_a_subject_that_stands_needs_no_lead(watched, found):
    assert found(watched((1, 3890, 2000)), "lead-room") == ()


def test_the_shift_for_a_lead_holds_in_a_rolled_frame(shot, key, one, found):
    across = boat((1, 3500, 2000), (25, 4000, 2080))
    ends = key(1, 3000, 2000, 2000, roll=12), key(25, 3000, 2000, 2000, roll=12)
    rolled = shot(*ends, subjects=(across,))
    right, down = one(rolled, "lead-room").figures["shift"]
    moved = [replace(k.framing, x=k.framing.x + right, y=k.framing.y + down) for k in ends]
    keys = tuple(replace(k, framing=framing) for k, framing in zip(ends, moved, strict=True))
    assert found(replace(rolled, keys=keys), "lead-room") == ()


def test_a_subject_that_has_reached_the_edge_has_no_lead_to_lose(watched, one, found):
    # From 3000 by 2000 px in 50 steps: 40 % of the frame are left at 3200, none at 4000.
    finding = one(watched((1, 3000, 2000), (51, 5000, 2000)), "lead-room")
    assert finding.frames == ((7, 25),)
    assert finding.measured == pytest.approx(2)
    assert found(watched((1, 4300, 2000), (49, 4900, 2000)), "lead-room") == ()


def test_several_subjects_are_told_apart(watched, found):
    both = replace(
        watched((1, 4200, 2000)),
        subjects=(boat((1, 4200, 2000)), boat((1, 1500, 2000), name="gull")),
    )
    told = found(both, "subject-leaves-frame")
    assert [f.figures["subject"] for f in told] == ["boat", "gull"]
    assert "the subject gull" in told[1].what


def test_older_practice_can_be_asked_for(watched, found):
    # 90 % and 80 %: SMPTE RP 8 and RP 13.
    older = Limits(action_safe=90, title_safe=80)
    assert len(found(watched((1, 3890, 2000), limits=older), "subject-leaves-title-safe")) == 1
    assert len(found(watched((1, 3910, 2000), limits=older), "subject-leaves-action-safe")) == 1


def test_a_subject_is_seen_as_the_frame_is_rolled(shot, key, one):
    # 980 px along the frame's own axis: sin and cos of 10 degrees, with y down. Action safe ends
    # at 930, and a pixel of the still is 0.96 delivered pixels.
    x, y = 3000 + 980 * 0.984808, 2000 + 980 * 0.173648
    rolled = shot(key(1, 3000, 2000, 2000, roll=10), subjects=(boat((1, x, y)),), frames=9)
    finding = one(rolled, "subject-leaves-action-safe")
    assert finding.measured == pytest.approx(0.96 * 50, abs=0.01)
    assert finding.figures["edge"] == "right"


def test_which_way_a_subject_travels_is_judged_as_the_frame_is_rolled(shot, key, one):
    # Along the axis of a frame rolled by 60 degrees: 0.5 right, 0.866 down on the still.
    begin, end = ((3000 + 0.5 * far, 2000 + 0.866025 * far) for far in (300, 800))
    rolled = shot(key(1, 3000, 2000, 2000, roll=60), frames=49,
                  subjects=(boat((1, *begin), (49, *end)),))  # fmt: skip
    finding = one(rolled, "lead-room")
    assert finding.figures["way"] == "right"
    # 800 of 2000 px from the middle 10 % of the frame are left; it gets there with the last of
    # 48 steps of 500 / 48 px.
    assert finding.measured == pytest.approx(10 + 100 * 500 / 48 / 2000, abs=0.01)


def test_no_remedy_takes_a_framing_out_of_the_still(shot, key, found):
    # The first key shows the whole still: it can be neither moved nor widened.
    keys = key(1, 3000, 2000, 6000), key(49, 2000, 2000, 2000)
    leaving = shot(*keys, subjects=(boat((1, 3200, 2000), (49, 3400, 2000)),))
    (finding,) = found(leaving, "subject-leaves-frame")
    assert "every" not in finding.remedy
    at = finding.figures["worst_frame"]
    assert f"[2400, 2000] at frame {at}" in finding.remedy
    # Followed as it is told, it is in the frame.
    mended = replace(leaving, keys=(keys[0], key(49, 2400, 2000, 2000)))
    assert found(mended, "subject-leaves-frame") == ()
    assert found(mended, "outside") == ()


def test_room_that_the_still_does_not_have_is_not_asked_for(shot, key, found):
    boats = (boat((1, 2500, 2000), (49, 5800, 2000)),)
    whole = shot(key(1, 3000, 2000, 6000), frames=49, subjects=boats)
    (finding,) = found(whole, "lead-room")
    assert "every" not in finding.remedy
    assert "the still ends there" in finding.remedy


def test_pixels_of_the_frame_are_told_from_those_of_the_still(watched, found):
    (finding,) = found(watched((1, 4100, 2000)), "subject-leaves-frame")
    # 100 px of the still, in a framing of 2000 delivered 1920 wide.
    assert "by 96 px of the frame" in finding.what
    assert "px of the still" in finding.remedy


def test_a_subject_too_far_off_to_widen_to_is_told_without_it(shot, key):
    # Reckoned: the boat is 50,000 px from a framing 2 px wide, so the one 60,000 px wide would have
    # to be 60,000 * 50,000 = 3e9 px wide, and no number of a framing is above 1e9.
    move = key(1, 30_000, 500, 60_000), key(49, 55_000, 500, 2)
    seen = shot(*move, frames=49, subjects=(boat((1, 5_000, 500)),))
    (left,) = (each for each in findings_of(seen) if each.id == "subject-leaves-frame")
    assert "times as wide" not in left.remedy
