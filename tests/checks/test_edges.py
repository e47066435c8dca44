"""Framings outside the still: which edge, by how much, and what would do."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.transform import EuclideanTransform

from cropmove.checks.edges import OUTSIDE
from cropmove.checks.facts import Facts
from cropmove.checks.finding import Finding, Level
from cropmove.geometry import Size
from cropmove.move.ease import EASES
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.shot import Delivery, Shot, Stills

HD, BIG = Size(1920, 1080), Size(6000, 4000)


def shot_of(*framings: Framing) -> Shot:
    keys = tuple(Key(frame=1 + 24 * n, framing=framing) for n, framing in enumerate(framings))
    return Shot(name="quay", stills=Stills(size=BIG), delivery=Delivery(size=HD), keys=keys)


def found(*framings: Framing) -> dict[str, Finding]:
    findings = list(OUTSIDE.find(Facts(shot_of(*framings))))
    assert all(finding.level is Level.FAULT for finding in findings)
    return {finding.figures["edge"]: finding for finding in findings}


WIDEST = Framing(x=3000, y=2000, width=6000)
TOUCHING = {  # each touches one edge
    "left": Framing(x=960, y=2000, width=1920),
    "right": Framing(x=5040, y=2000, width=1920),
    "top": Framing(x=3000, y=540, width=1920),
    "bottom": Framing(x=3000, y=3460, width=1920),
}
OUTWARD = {"left": (-1, 0), "right": (1, 0), "top": (0, -1), "bottom": (0, 1)}


def moved(framing: Framing, edge: str, by: float) -> Framing:
    dx, dy = OUTWARD[edge]
    return replace(framing, x=framing.x + dx * by, y=framing.y + dy * by)


@pytest.mark.parametrize("edge", TOUCHING)
def test_a_framing_that_touches_an_edge_is_inside(edge: str) -> None:
    assert found(WIDEST) == found(TOUCHING[edge]) == {}


@pytest.mark.parametrize("edge", TOUCHING)
@pytest.mark.parametrize("by", [0.00001, 0.04, 3, 1234.56])
def test_a_framing_beyond_it_is_a_fault_there_and_nowhere_else(edge: str, by: float) -> None:
    faults = found(moved(TOUCHING[edge], edge, by))
    assert list(faults) == [edge]
    assert faults[edge].measured == pytest.approx(by, abs=1e-9)
    assert faults[edge].limit == 0
    assert f"at the {edge} by" in faults[edge].what
    assert " 0 px" not in faults[edge].what


def test_it_says_the_first_and_the_worst_frame() -> None:
    faults = found(WIDEST, moved(TOUCHING["left"], "left", 100), WIDEST)
    figures = faults["left"].figures
    assert figures["worst_frame"] == 25
    assert figures["first_frame"] == faults["left"].frames[0][0]
    assert faults["left"].frames[-1][1] > 25


@pytest.mark.parametrize("roll", [5, -30, 90, 179])
@pytest.mark.parametrize("edge", TOUCHING)
def test_a_rolled_corner_beyond_an_edge_is_found_as_skimage_finds_it(
    edge: str, roll: float
) -> None:
    # An independent library: scikit-image's EuclideanTransform; angles clockwise, y runs down.
    framing = replace(TOUCHING[edge], roll=roll)
    half = np.array([(-960, -540), (960, -540), (960, 540), (-960, 540)], dtype=float)
    turned = EuclideanTransform(rotation=np.deg2rad(roll), translation=(framing.x, framing.y))(half)
    (x0, y0), (x1, y1) = turned.min(axis=0), turned.max(axis=0)
    wanted = {"left": -x0, "top": -y0, "right": x1 - 6000, "bottom": y1 - 4000}
    faults = found(framing)
    assert {e: f.measured for e, f in faults.items()} == pytest.approx(
        {e: by for e, by in wanted.items() if by > 1e-6}
    )


def by_moving(fault: Finding) -> float | None:
    match = re.search(r"move the centre ([\d.]+) px (left|right|up|down)", fault.remedy)
    if not match:
        return None
    inward = {"left": "right", "right": "left", "top": "down", "bottom": "up"}
    assert match[2] == inward[fault.figures["edge"]]
    return float(match[1])


def by_narrowing(fault: Finding) -> float | None:
    match = re.search(r"make the width there at most ([\d.]+) px", fault.remedy)
    return float(match[1]) if match else None


framings = st.builds(
    Framing,
    x=st.floats(-500, 6500),
    y=st.floats(-500, 4500),
    width=st.floats(100, 6500) | st.just(6000.0),
    roll=st.just(0.0) | st.floats(-180, 180),
)


@given(framings)
def test_moving_the_centre_as_it_says_mends_that_edge_and_breaks_no_other(framing: Framing) -> None:
    before = found(framing)
    for edge, fault in before.items():
        by = by_moving(fault)
        if by is not None:
            after = found(moved(framing, edge, -by))
            assert edge not in after
            assert set(after) <= set(before)


@given(framings)
def test_narrowing_as_it_says_mends_that_edge(framing: Framing) -> None:
    for edge, fault in found(framing).items():
        width = by_narrowing(fault)
        if width:
            assert edge not in found(replace(framing, width=width))
            assert width > fault.figures["fitting_width"] - 0.1001


@given(framings)
def test_every_fault_has_a_remedy(framing: Framing) -> None:
    for fault in found(framing).values():
        assert by_moving(fault) or by_narrowing(fault) or "bring the centre back" in fault.remedy
        assert by_narrowing(fault) != 0.0


def sees(shot: Shot, *, frame: int, beyond: float) -> bool:
    """Whether what the shutter's moments show of a still reaches so far beyond its right edge."""
    framings = shot.course().exposed(frame, shot.delivery.shutter)
    return max(one.corners(HD)[:, 0].max() for one in framings) > 6000 + beyond


@pytest.mark.parametrize("shutter", [0, 90, 180, 360])
def test_what_the_open_shutter_sees_beyond_an_edge_is_told(shutter: float) -> None:
    # An even pan of 100 px a frame, which is left off in its middle: frame 11 touches the edge,
    # and its shutter stays open for shutter / 720 of a frame after it (angle / 360 of a turn, half
    # of it before and half after).
    pan = tuple(
        Key(frame=frame, framing=Framing(x=5040 + 100 * (frame - 11), y=2000, width=1920),
            ease=ease) for frame, ease in ((1, None), (21, EASES["none"]))
    )  # fmt: skip
    shot = Shot(name="quay", stills=Stills(size=BIG), keys=pan, frames=11,
                delivery=Delivery(size=HD, shutter=shutter))  # fmt: skip
    faults = list(OUTSIDE.find(Facts(shot)))
    assert bool(faults) == sees(shot, frame=11, beyond=1e-6) == (shutter > 0)
    for fault in faults:
        assert fault.frames == ((11, 11),)
        assert fault.measured == pytest.approx(100 * shutter / 720)
        assert "while its shutter is open" in fault.what


def test_no_side_of_a_cut_is_seen_through_the_open_shutter_of_the_other() -> None:
    inside, beyond = TOUCHING["right"], moved(TOUCHING["right"], "right", 500)
    keys = tuple(Key(frame=f, framing=one) for f, one in ((1, inside), (12, inside), (13, beyond)))
    shot = Shot(name="quay", stills=Stills(size=BIG), keys=keys, frames=12,
                delivery=Delivery(size=HD, shutter=360))  # fmt: skip
    assert list(OUTSIDE.find(Facts(shot))) == []


def test_a_shot_whose_still_is_not_known_is_not_judged() -> None:
    shot = replace(shot_of(Framing(x=-5000, y=0, width=1920)), stills=Stills())
    assert list(OUTSIDE.find(Facts(shot))) == []


def followed(shot: Shot, fault: Finding, way: str) -> Shot | None:
    """The shot as one half of a remedy words it; None where it does not."""
    words = fault.remedy.split(", or make the width")
    told = words[0] if way == "move" else fault.remedy[len(words[0]) :]
    numbers = {int(f): float(n) for n, f in re.findall(r"([\d.]+) px on frame (\d+)", told)}
    if not numbers and (match := re.search(r"([\d.]+) px(?: \w+)? there|most ([\d.]+) px", told)):
        numbers = {fault.figures["worst_frame"]: float(match[1] or match[2])}
    if not numbers:
        return None

    def changed(key: Key) -> Framing:
        if key.frame not in numbers:
            return key.framing
        if way == "width":
            return replace(key.framing, width=numbers[key.frame])
        return moved(key.framing, fault.figures["edge"], -numbers[key.frame])

    return replace(shot, keys=tuple(replace(k, framing=changed(k)) for k in shot.keys))


def edges_left(shot: Shot) -> set[str]:
    return {finding.figures["edge"] for finding in OUTSIDE.find(Facts(shot))}


@pytest.mark.parametrize("way", ["move", "width"])
@pytest.mark.parametrize("edge", TOUCHING)
def test_a_remedy_mends_every_key_that_leaves_by_an_edge_at_once(edge: str, way: str) -> None:
    # The worst of them, the same held on, and one that is out by less.
    out = [moved(TOUCHING[edge], edge, by) for by in (0, 200, 200, 71.3)]
    shot = shot_of(*out)
    (fault,) = OUTSIDE.find(Facts(shot))
    mended = followed(shot, fault, way)
    assert mended is not None
    assert edges_left(mended) == set()
    # A key that was inside stays as it was.
    assert mended.keys[0] == shot.keys[0]


@pytest.mark.parametrize("way", ["move", "width"])
@pytest.mark.parametrize("edge", TOUCHING)
def test_a_way_that_swings_out_between_two_keys_is_mended_at_those(edge: str, way: str) -> None:
    x, y = OUTWARD[edge]
    inner = [replace(WIDEST, width=1920, x=3000 - 700 * x, y=2000 - 700 * y)]
    between = [moved(replace(TOUCHING[edge]), edge, -2)] * 2
    along = (0, 1) if x else (1, 0)
    spread = [
        replace(f, x=f.x + along[0] * by, y=f.y + along[1] * by)
        for f, by in zip([*inner, *between, *inner], (-900, -500, 500, 900), strict=True)
    ]
    shot = shot_of(*spread)
    passed = tuple(replace(key, stop=key in (shot.keys[0], shot.keys[-1])) for key in shot.keys)
    shot = replace(shot, keys=passed)
    (fault,) = OUTSIDE.find(Facts(shot))
    assert fault.figures["worst_frame"] not in {key.frame for key in shot.keys}
    mended = followed(shot, fault, way)
    assert mended is not None
    assert edges_left(mended) == set()


def test_of_many_keys_the_first_are_told_and_all_are_under_the_figures() -> None:
    shot = shot_of(*(moved(TOUCHING["left"], "left", by) for by in (10, 20, 30, 40, 50, 60)))
    (fault,) = OUTSIDE.find(Facts(shot))
    assert "6 keys, all under its figures" in fault.remedy
    assert fault.figures["move"] == {str(1 + 24 * n): 10.0 * (n + 1) for n in range(6)}
