"""Stills: too few, too many, a number missing, a copy, of another size, none yet."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from cropmove import jobs
from cropmove.checks.facts import Check, Facts
from cropmove.checks.finding import Finding, Level
from cropmove.checks.stills import (
    NOT_PHOTOGRAPHED,
    NUMBER_MISSING,
    SPARE_STILLS,
    STILLS_DIFFER,
    STRANGE_NAME,
    TOO_FEW_STILLS,
)
from cropmove.shot import Shot

SHOT = """\
[shot]
stills = "harbour"
on = {on}
[delivery]
size = [320, 240]
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "100%"
[[key]]
frame = {last}
width = "60%"
"""


@pytest.fixture
def shot(tmp_path: Path) -> Callable[[int, int], Shot]:
    def load(last: int, on: int = 1, text: str = SHOT) -> Shot:
        file = tmp_path / "quay.toml"
        file.write_text(text.format(last=last, on=on))
        return jobs.load(file)

    return load


def found(check: Check, shot: Shot) -> list[Finding]:
    return list(check.find(Facts(shot)))


@pytest.mark.parametrize(("on", "last"), [(1, 4), (2, 8), (3, 12), (2, 7)])
def test_as_many_stills_as_the_frames_need_are_enough(
    photograph: Callable[..., Path], shot: Callable[..., Shot], on: int, last: int
) -> None:
    photograph(count=4)
    assert found(TOO_FEW_STILLS, shot(last, on)) == []


@pytest.mark.parametrize(("on", "last", "held"), [(1, 5, "ones"), (2, 9, "twos"), (5, 21, "5s")])
def test_one_frame_more_is_a_fault_and_its_remedies_mend_it(
    photograph: Callable[..., Path], shot: Callable[..., Shot], on: int, last: int, held: str
) -> None:
    photograph(count=4)
    (fault,) = found(TOO_FEW_STILLS, shot(last, on))
    assert fault.level is Level.FAULT
    assert (fault.measured, fault.limit) == (4, 5)
    assert fault.frames == ((last, last),)
    assert f"on {held}" in fault.what
    match = re.fullmatch(
        r"photograph (\d+) more, or end the move and the shot on frame (\d+)", fault.remedy
    )
    assert match
    assert int(match[2]) == fault.figures["last_frame_with_a_still"] == 4 * on
    assert found(TOO_FEW_STILLS, shot(int(match[2]), on)) == []
    photograph(count=int(match[1]), first=5)
    assert found(TOO_FEW_STILLS, shot(last, on)) == []


def test_one_still_serves_every_frame(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    photograph(count=1)
    made = shot(49, 2)
    assert made.course().still.tolist() == [1] * 49
    assert found(TOO_FEW_STILLS, made) == found(SPARE_STILLS, made) == []


def test_stills_left_over_are_a_note_and_the_length_that_uses_them_mends_it(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    photograph(count=6)
    short = replace(shot(4), frames=4)
    (note,) = found(SPARE_STILLS, short)
    assert (note.level, note.measured, note.limit) == (Level.NOTE, 6, 4)
    assert found(SPARE_STILLS, replace(short, frames=6)) == []
    assert found(SPARE_STILLS, replace(short, frames=None)) == []


def test_a_number_missing_among_the_stills_is_a_caution(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    folder = photograph(count=6)
    assert found(NUMBER_MISSING, shot(4)) == []
    gone = folder / "harbour_0003.jpg"
    kept = gone.read_bytes()
    gone.unlink()
    (caution,) = found(NUMBER_MISSING, shot(4))
    assert caution.level is Level.CAUTION
    assert caution.figures["numbers"] == [[3, 3]]
    assert "number 3" in caution.what
    gone.write_bytes(kept)
    assert found(NUMBER_MISSING, shot(4)) == []


@pytest.mark.parametrize("name", [
    "harbour_0003 (1).jpg", "harbour_0003 copy.jpg", "harbour_0003-edited.jpg", "harbour_03.jpg",
])  # fmt: skip
def test_a_copy_that_lies_among_the_stills_is_a_caution(
    photograph: Callable[..., Path], shot: Callable[..., Shot], name: str
) -> None:
    folder = photograph(count=6)
    assert found(STRANGE_NAME, shot(6)) == []
    (folder / name).write_bytes((folder / "harbour_0003.jpg").read_bytes())
    (caution,) = found(STRANGE_NAME, shot(6))
    assert caution.level is Level.CAUTION
    (still,) = caution.figures["stills"]
    assert still in (3, 4)
    assert caution.frames == ((still, still),)
    assert "harbour_" in caution.remedy


def test_a_still_of_another_size_is_a_fault_in_its_frames(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    folder = photograph(count=4)
    assert found(STILLS_DIFFER, shot(8, 2)) == []
    Image.new("RGB", (640, 481)).save(folder / "harbour_0003.jpg")
    (fault,) = found(STILLS_DIFFER, shot(8, 2))
    assert fault.level is Level.FAULT
    assert fault.frames == ((5, 6),)
    assert fault.figures == {"stills": [3], "usual_size": [640, 480]}
    assert "harbour_0003.jpg is 640 x 481" in fault.what


def test_a_turned_still_is_told_from_one_of_another_size(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    photograph(count=4)
    photograph(count=1, first=2, orientation=6)
    (fault,) = found(STILLS_DIFFER, shot(4))
    assert "(turned)" in fault.what
    assert "upright" in fault.remedy


def test_odd_stills_are_named_as_their_files_are_and_each_gets_its_own_remedy(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    # A camera that did not begin at 1: still 2 is number 12.
    folder = photograph(count=6, first=11)
    photograph(count=1, first=12, orientation=6)
    Image.new("RGB", (320, 240)).save(folder / "harbour_0014.jpg")
    (fault,) = found(STILLS_DIFFER, shot(6))
    assert "harbour_0012.jpg is 480 x 640 (turned)" in fault.what
    assert "harbour_0014.jpg is 320 x 240," in fault.what
    assert "turn still 2 (harbour_0012.jpg) upright" in fault.remedy
    assert "bring still 4 (harbour_0014.jpg) to 640 x 480" in fault.remedy


def test_many_stills_are_named_in_short(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    photograph(count=9, first=11)
    named = Facts(shot(9)).stills_named
    assert named([1, 2, 3]) == "stills 1-3 (harbour_0011.jpg to harbour_0013.jpg)"
    assert named([1, 3, 5, 7]) == (
        "stills 1, 3, 5, 7 (harbour_0011.jpg, harbour_0013.jpg, … harbour_0017.jpg)"
    )


def test_stills_that_are_all_turned_alike_are_alike(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    photograph(count=4, orientation=6)
    made = shot(4)
    assert (made.stills.size.width, made.stills.size.height) == (480, 640)
    assert found(STILLS_DIFFER, made) == []


def test_a_planned_shot_says_how_many_stills_it_wants(shot: Callable[..., Shot]) -> None:
    text = SHOT.replace("[shot]", "[shot]\nstill_size = [640, 480]")
    planned = shot(9, 2, text)
    (note,) = found(NOT_PHOTOGRAPHED, planned)
    assert note.level is Level.NOTE
    assert note.remedy == "photograph 5 stills"
    assert found(TOO_FEW_STILLS, planned) == []
    rig_alone = replace(planned, stills=replace(planned.stills, source=""))
    assert found(NOT_PHOTOGRAPHED, rig_alone) == []


def test_the_usual_size_is_that_of_most_stills_not_of_the_first(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    folder = photograph(count=4)
    Image.new("RGB", (640, 481)).save(folder / "harbour_0001.jpg")
    (fault,) = found(STILLS_DIFFER, shot(4))
    assert fault.figures == {"stills": [1], "usual_size": [640, 480]}


EASED = SHOT + "ease_in = 3\nease_out = 3\n"


def test_a_move_that_cannot_be_made_shorter_is_told_to_be_cut_off(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    # Eases of 3 + 3 frames have no room in 4, so that no end of the move is told that is refused.
    photograph(count=5)
    needy = shot(9, 1, EASED)
    (fault,) = found(TOO_FEW_STILLS, needy)
    told = re.fullmatch(
        r"photograph 4 more, or write frames = (\d+) under \[shot\], which cuts the move off",
        fault.remedy,
    )
    assert told, fault.remedy
    assert found(TOO_FEW_STILLS, replace(needy, frames=int(told[1]))) == []


def test_frames_beyond_the_move_are_told_as_such(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    photograph(count=5)
    needy = replace(shot(4), frames=9)
    (fault,) = found(TOO_FEW_STILLS, needy)
    assert fault.remedy == "photograph 4 more, or write frames = 5 under [shot]"
    assert found(TOO_FEW_STILLS, replace(needy, frames=5)) == []


def test_a_length_that_uses_all_stills_asks_for_no_more_of_them(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    # Without frames the shot would last to its last key, beyond the stills.
    photograph(count=6)
    short = replace(shot(900), frames=4)
    (note,) = found(SPARE_STILLS, short)
    assert note.remedy == "none needed; frames = 6 to use them all"
    longer = replace(short, frames=6)
    assert found(SPARE_STILLS, longer) == found(TOO_FEW_STILLS, longer) == []


def test_a_jerk_that_is_cut_off_now_is_told_with_the_length_that_shows_it(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    photograph(count=6)
    hard = SHOT + 'ease = "none"\n'
    (note,) = found(SPARE_STILLS, replace(shot(6, 1, hard), frames=4))
    assert "with frames = 6 all are used, and what is cut off now has to be mended" in note.remedy


def test_a_copy_taken_out_of_a_shot_that_needs_it_shortens_the_shot(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    folder = photograph(count=6)
    copy = folder / "harbour_0003 (1).jpg"
    copy.write_bytes((folder / "harbour_0003.jpg").read_bytes())
    (caution,) = found(STRANGE_NAME, shot(7))
    ends = re.search(r"and end the move and the shot on frame (\d+)", caution.remedy)
    assert ends, caution.remedy
    copy.unlink()
    assert found(TOO_FEW_STILLS, shot(7))
    assert found(TOO_FEW_STILLS, shot(int(ends[1]))) == []


def test_a_strange_name_whose_number_is_missing_is_given_that_number(
    photograph: Callable[..., Path], shot: Callable[..., Shot]
) -> None:
    folder = photograph(count=6)
    strange = folder / "harbour_0004-edited.jpg"
    (folder / "harbour_0004.jpg").rename(strange)
    (caution,) = found(STRANGE_NAME, shot(6))
    assert caution.remedy == (
        "give still 4 (harbour_0004-edited.jpg) the number 4, which is missing among the rest"
    )
    strange.rename(folder / "harbour_0004.jpg")
    assert found(STRANGE_NAME, shot(6)) == found(NUMBER_MISSING, shot(6)) == []
