"""Shots: plain values, whole or refused; how long they are."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from by_hand import a_rig

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


def test_a_shot_tells_itself_in_a_line_however_long_it_is() -> None:
    keys = tuple(Key(frame=n, framing=WIDE) for n in range(1, 10_001))
    long = Shot(name="quay", delivery=HD, keys=keys, stills=stills(5000), on=2)
    assert repr(long) == "Shot('quay', 10000 frames at 24 on twos, 5000 stills, 10000 keys)"
    assert repr(long.stills) == "Stills('harbour', 5000 of 6000 x 4000)"
    assert repr(long.course()) == "Course(10000 frames at 24, 1920 x 1080)"
    assert repr(long.move) == "Move(10000 keys, frames 1 to 10000, 1920 x 1080)"
    assert len(repr(long.keys[0])) < 160


def test_what_is_moved_by_hand_tells_itself_in_a_line() -> None:
    table = shot(rigs=(a_rig("boat", "subject sideways", start=0, end=250),)).marks()
    assert repr(table) == "Table(boat: 49 stills)"
    assert repr(table["boat"]) == "Marks('boat', subject sideways, 49 stills, 0.0 to 250.0 mm)"
    assert len(table) == 1


def test_a_copy_of_a_course_is_the_same_and_cannot_be_written_to_either() -> None:
    course = shot().course()
    for again in (pickle.loads(pickle.dumps(course)), copy.copy(course), copy.deepcopy(course)):
        assert np.array_equal(again.rows, course.rows)
        assert np.array_equal(again.step, course.step)
        assert again.move == course.move
        with pytest.raises(ValueError, match="read-only"):
            again.rows[0, 0] = 1


@pytest.mark.parametrize("column", ["place", "moved", "moments", "exact", "count"])
def test_marks_cannot_be_written_to(column: str) -> None:
    marks = shot(rigs=(a_rig("boat", "subject sideways", start=0, end=250),)).marks()["boat"]
    with pytest.raises(ValueError, match="read-only"):
        getattr(marks, column)[0] = 1


def test_stills_are_found_with_their_whole_paths(
    photograph: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = photograph()
    monkeypatch.chdir(folder.parent)
    there = Stills.found("harbour")
    assert there == Stills.found(Path("harbour"), folder.parent)
    assert (there.source, len(there), there.size) == ("harbour", 4, Size(640, 480))
    assert all(ref.path.is_absolute() and ref.path.exists() for ref in there.refs)
    assert Stills.found("to_come", planned=Size(6, 4)) == Stills(source="to_come", size=Size(6, 4))
    with pytest.raises(InputError):
        Stills.found("to_come")


@pytest.mark.parametrize(
    ("words", "where"),
    [
        ({"size": "hd"}, "size"),
        ({"size": (1920, 1080)}, "size"),
        ({"size": Size(1920, 1080), "max_scale": "3"}, "max_scale"),
        ({"size": Size(1920, 1080), "shutter": None}, "shutter"),
    ],
)
def test_a_delivery_of_other_kinds_of_things_is_refused(
    words: dict[str, object], where: str
) -> None:
    with pytest.raises(InputError) as refused:
        Delivery(**words)
    assert [complaint.where for complaint in refused.value.complaints] == [where]


@pytest.mark.parametrize("asked", [slice(1, 3), 1.5, "1"])
def test_a_course_says_that_it_gives_one_frame_at_a_time(asked: object) -> None:
    with pytest.raises(TypeError, match="slice its columns"):
        shot().course()[asked]
