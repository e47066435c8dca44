"""Shots: plain values, whole or refused; how long they are."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.move.subject import Point, Subject
from cropmove.rig.layers import Layer
from cropmove.rig.optics import Lens
from cropmove.shot import Delivery, Shot, Stills
from cropmove.shotfile import dumps
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
    assert shot(fps=np.int64(25)).fps == Fraction(25)


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


def test_a_shot_made_of_lists_is_the_shot_made_of_tuples() -> None:
    boat = Subject(points=[Point(frame=1, x=1, y=2)])
    layer = Layer(name="reeds", distance=700, centre=[1, 2], size=[3, 4], moves_with=[])
    lens = Lens(focal_length=50, distance=800, sensor=[36, 24])
    lists, tuples = (
        Shot(
            name="quay",
            stills=Stills(refs=kind([StillRef(path=Path("1.jpg"))])),
            delivery=HD,
            keys=kind([Key(frame=1, framing=WIDE)]),
            subjects=kind([boat]),
            lens=lens,
            layers=kind([layer]),
        )
        for kind in (list, tuple)
    )
    assert lists == tuples
    assert hash(lists) == hash(tuples)


def test_numbers_may_come_from_an_array_and_are_plain_in_the_shot() -> None:
    delivery = Delivery(
        size=Size(1920, 1080), format="jpeg", quality=np.int64(90), max_scale=np.float32(2),
        shutter=np.int16(180),
    )  # fmt: skip
    made = shot(on=np.int64(2), frames=np.uint8(49), delivery=delivery)
    plain = Delivery(size=Size(1920, 1080), format="jpeg", quality=90, max_scale=2, shutter=180)
    assert repr(made) == repr(shot(on=2, frames=49, delivery=plain))
    assert dumps(made) == dumps(shot(on=2, frames=49, delivery=plain))


@pytest.mark.parametrize("word", ["on", "frames"])
def test_true_is_no_number_of_frames(word: str) -> None:
    with pytest.raises(InputError) as refused:
        shot(**{word: True})
    assert [c.where for c in refused.value.complaints] == [word]


@pytest.mark.parametrize("bad", ["", "reel 1/quay", "../quay", "quay\0", None, 7])
def test_a_shot_has_a_name_that_files_can_be_named_after(bad: object) -> None:
    # POSIX.1-2017, 3.170: a file's name holds neither a slash nor a null character.
    with pytest.raises(InputError) as refused:
        shot(name=bad)
    assert [c.where for c in refused.value.complaints] == ["name"]
    assert shot(name="quay 1 [take 2]\nnew").name
