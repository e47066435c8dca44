"""Shots: plain values, whole or refused; how long they are."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import StillRef

HD = Delivery(size=Size(1920, 1080))
WIDE = Framing(x=3000, y=2000, width=6000)


def stills(count: int) -> Stills:
    refs = tuple(StillRef(path=Path(f"{n}.jpg")) for n in range(count))
    return Stills(source="harbour", refs=refs, size=Size(6000, 4000))


def shot(last: int = 49, **more: object) -> Shot:
    keys = (Key(frame=1, framing=WIDE), Key(frame=last, framing=WIDE))
    return Shot(**{"name": "quay", "delivery": HD, "keys": keys} | more)


@pytest.mark.parametrize(
    ("count", "on", "last", "frames", "length"),
    [
        (0, 1, 49, None, 49),  # up to the last key
        (24, 2, 49, None, 49),
        (24, 2, 40, None, 48),  # up to the last frame of the last still
        (24, 1, 12, None, 24),
        (1, 2, 30, None, 30),  # one still serves all
        (24, 2, 49, 10, 10),  # as long as is said
        (24, 2, 20, 100, 100),
    ],
)
def test_a_shot_is_as_long_as_it_says_or_as_its_keys_and_stills_last(
    count: int, on: int, last: int, frames: int | None, length: int
) -> None:
    made = shot(last, stills=stills(count), on=on, frames=frames)
    assert made.length == length
    assert len(made.course()) == length


def test_its_course_holds_each_still_for_on_frames() -> None:
    assert shot(6, stills=stills(3), on=2).course().still.tolist() == [1, 1, 2, 2, 3, 3]
    assert shot(6, stills=stills(1), on=2).course().still.tolist() == [1] * 6


def test_the_rate_is_made_exact() -> None:
    assert shot(fps=23.976).fps == Fraction(24000, 1001)
    assert shot(fps=25).fps == Fraction(25)
    assert isinstance(shot(fps=25).fps, Fraction)


def test_all_that_is_out_of_range_is_told_at_once() -> None:
    with pytest.raises(InputError) as refused:
        shot(1, on=0, fps=0, frames=0)
    assert [c.where for c in refused.value.complaints] == ["on", "fps", "frames", "key 2, frame"]


@pytest.mark.parametrize("bad", [0, -1, 1.5, 10**9])
def test_each_still_is_held_for_a_whole_number_of_frames(bad: object) -> None:
    with pytest.raises(InputError, match="from 1"):
        shot(on=bad)


def test_a_shot_has_a_key() -> None:
    with pytest.raises(InputError, match="at least one key"):
        shot(keys=())


@pytest.mark.parametrize("bad", [0, -1, float("nan"), 65])
def test_the_largest_scale_is_within_reason(bad: float) -> None:
    with pytest.raises(InputError) as refused:
        Delivery(size=Size(2, 2), max_scale=bad)
    assert refused.value.complaints[0].where == "max_scale"


def test_all_faults_of_a_delivery_are_told_at_once() -> None:
    with pytest.raises(InputError) as refused:
        Delivery(size=Size(2, 2), max_scale=0, quality=0)
    assert [c.where for c in refused.value.complaints][:2] == ["max_scale", "quality"]
