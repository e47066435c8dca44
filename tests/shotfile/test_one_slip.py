"""One slip in a shot file is one complaint, and each further slip is told beside it.

The files are the demo's and one that holds every word; what is done to them is invented.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from cropmove.errors import Complaint, InputError
from cropmove.geometry import Size
from cropmove.shot import Stills
from cropmove.shotfile import WORDS, loads, survey_of

DEMO = Path(__file__).parents[2] / "demo_frames"
EVERY_WORD = """\
[shot]
still_size = [6000, 4000]
stills = "night"
on = 2
fps = 25
frames = "2 s"
[delivery]
size = "hd"
format = "tiff"
depth = 16
max_scale = 1.2
kernel = "crisp"
compression = "small"
colour = "srgb"
shutter = 180
[limits]
crossing = 5
[lens]
focal_length = 45
sensor = [36, 24]
distance = 920
close_focus = true
stop = 16
focus = 900
blur = 0.03
pupil = 10
[[key]]
time = "0 s"
centre = ["50%", "50%"]
width = "80%"
roll = 1
[[key]]
frame = 20
centre = ["52%", "50%"]
stop = false
[[key]]
frame = 50
width = "75%"
ease = "smooth"
ease_in = 10
ease_out = "0.6 s"
[[subject]]
name = "ferry"
time = "0 s"
centre = ["50%", "50%"]
size = ["10%", "10%"]
[[subject]]
name = "ferry"
frame = 40
centre = ["55%", "50%"]
[[rig]]
name = "slider"
moves = "camera sideways"
follows = "keys"
rule = 300
track = 900
backlash = 0.5
division = 0.5
approach = "above"
[[rig]]
name = "boat"
moves = "subject sideways"
start = 20
end = 315
unit = "mm"
reverse = true
smallest = 0.5
every = "10 s"
hand = 30
[[rig]]
name = "arm"
moves = "camera pan"
at = [[1, 0], [30, 12], [48, 20]]
radius = "16 in"
unit = "in"
ease = "smooth"
ease_in = 4
ease_out = 6
[[rig]]
name = "crank"
moves = "camera up"
start = 0
end = 30
thread = 1.25
parts = 20
[[rig]]
name = "rider"
moves = "subject up"
instead_of = "crank"
ratio = 0.5
[[layer]]
name = "stage"
distance = 540
centre = [-163, 102]
size = [106, 83]
moves_with = "boat"
"""
FILES = {path.name: path.read_text() for path in sorted(DEMO.glob("*.toml"))}
FILES["every word"] = EVERY_WORD
WRONG = ("{a = 1}", "2026-01-01", "[[]]")


def complaints(text: str) -> tuple[Complaint, ...]:
    try:
        loads(text, name="quay", survey=survey_of(DEMO))
    except InputError as error:
        return error.complaints
    return ()


def slips(text: str) -> Iterator[tuple[str, str, bool]]:
    """Lines and what they become: a letter left out, doubled or in another's place; no such type.

    With them whether the slip is one of spelling.
    """
    for line in dict.fromkeys(text.splitlines()):
        found = re.match(r"(\[\[?|)(\w+)(\]\]?| = )(.*)", line)
        if not found:
            continue
        before, word, after, rest = found.groups()
        wrong = [word[:-1], word[0] + word[1:2] * 2 + word[2:], word[:-2] + word[-1] + word[-2]]
        for other in wrong if len(word) > 2 else ():
            if other != word:
                yield line, before + other + after + rest, True
        if not before:
            yield from ((line, f"{word} = {value}", False) for value in WRONG)


@pytest.mark.parametrize("name", FILES)
def test_one_slip_is_one_complaint(name: str) -> None:
    text = FILES[name]
    assert complaints(text) == ()
    for line, slip, is_spelling in slips(text):
        told = complaints(text.replace(f"{line}\n", f"{slip}\n", 1))
        assert len(told) == 1, (line, slip, told)
        assert not is_spelling or told[0].remedy.startswith("did you mean"), (slip, told)


def test_that_file_says_every_word_that_goes_with_the_others() -> None:
    said = set(re.findall(r"^(\w+) = ", EVERY_WORD, re.MULTILINE))
    words = {word for kind, words in WORDS.items() for word in words if kind != "limits"}
    assert words - said == {"angle", "quality", "stands_for"}


@pytest.mark.parametrize("kind", ["shot", "delivery", "lens"])
def test_a_table_in_two_pairs_of_brackets_is_told_once(kind: str) -> None:
    (told,) = complaints(EVERY_WORD.replace(f"[{kind}]\n", f"[[{kind}]]\n"))
    assert (told.where, told.remedy) == (kind, f"write [{kind}], then one word a line")


@pytest.mark.parametrize("kind", ["key", "rig", "layer", "subject"])
def test_a_table_in_one_pair_of_brackets_is_told_once(kind: str) -> None:
    tables = re.split(r"^(?=\[)", EVERY_WORD, flags=re.MULTILINE)
    of_kind = [table for table in tables if table.startswith(f"[[{kind}]]")]
    left = [table for table in tables if table not in of_kind[1:]]
    text = "".join(left).replace(f"[[{kind}]]", f"[{kind}]")
    (told,) = complaints(text)
    assert told.where == kind


def test_further_slips_are_told_beside_it() -> None:
    slips = {
        "stills =": "stils =", "[delivery]": "[deliveyr]", "max_scale = 1.2": "max_scale = 0",
        "[[rig]]\nname": "[[rigg]]\nname", 'width = "80%"': "widht = -3", "on = 2": "onn = 0",
    }  # fmt: skip
    text = EVERY_WORD
    for right, wrong in slips.items():
        text = text.replace(right, wrong, 1)
    told = sorted((c.where, c.value) for c in complaints(text))
    assert told == [
        ("", "deliveyr"), ("", "rigg"), ("delivery, max_scale", "0.0"), ("key 1", "widht"),
        ("key 1, width", "-3.0"), ("shot", "onn"), ("shot", "stils"), ("shot, on", "0"),
    ]  # fmt: skip


def test_a_value_is_not_blamed_for_a_word_that_is_perhaps_another() -> None:
    # As like to "ease_in" as to "ease": what it was to be nobody knows.
    (told,) = complaints(EVERY_WORD.replace('ease = "smooth"', 'easing = "smooth"', 1))
    assert told.value == "easing"


def test_what_follows_a_thing_that_is_refused_is_not_blamed_with_it() -> None:
    (told,) = complaints(EVERY_WORD.replace("end = 30\n", "end = 30\nease_in = 3\n"))
    assert told.where == 'shot, rig "crank", ease'


def test_a_stand_in_for_refused_stills_has_a_size() -> None:
    one = '[delivery]\nsize = "hd"\n[[key]]\nframe = 1\ncentre = ["50%", "50%"]\nwidth = "100%"\n'
    still = next(iter(sorted((DEMO / "harbour").glob("*.jpg"))))
    for slip in (f'stils = "{still}"', "stills = 3", 'still_size = "big"', "still_sze = [6, 4]"):
        assert len(complaints(f"[shot]\n{slip}\n{one}")) == 1, slip
    assert loads(one, name="x", survey=lambda *_: Stills(size=Size(60, 40))).keys
