"""[lens], [[rig]] and [[layer]] in a shot file, there and back."""

import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import cropmove
from cropmove.errors import Complaints, InputError
from cropmove.rig.motion import MOTIONS
from cropmove.rig.rig import Stop
from cropmove.shot import Stills
from cropmove.shotfile import dumps, loads
from cropmove.shotfile.rig import LAYER_WORDS, LENS_WORDS, RIG_WORDS

ALONE = """\
[shot]
frames = 97
on = 2

[[rig]]
name = "boat"
moves = "subject sideways"   # under the board
start = 0
end = 240
ease_in = "0.5 s"
"""
TWIN = """\
[shot]
still_size = [6000, 4000]
[delivery]
size = "hd"
[[key]]
frame = 1
centre = [1500, 2000]
width = 2400
[[key]]
frame = 49
centre = [4300, 2000]
[lens]
focal_length = 50
distance = 800
[[rig]]
name = "arm"
moves = "camera pan"
follows = "keys"
radius = 400
"""


def read(text):
    return loads(
        text, name="quay", survey=lambda source, size: Stills(source=source, size=size)
    )  # fmt: skip


def complaints(text):
    with pytest.raises(InputError) as refused:
        read(text)
    return refused.value.complaints


def test_a_thing_moved_by_hand_is_a_whole_shot():
    shot = read(ALONE)
    assert shot.length == 97
    assert shot.marks()["boat"].reading[-1] == 240
    assert shot.rigs[0].ease_in == 12
    # The camera sees all there is, throughout.
    assert len(shot.course()) == 97
    assert shot.course()[97].width == 1920


def test_frames_of_its_own_make_the_shot_as_long_as_they_last():
    text = '[[rig]]\nname = "it"\nmoves = "subject up"\nat = [[1, 0], ["1 s", 9], [49, 20]]\n'
    shot = read(text)
    assert shot.length == 49
    assert shot.rigs[0].stops == (Stop(1, 0.0), Stop(25, 9.0), Stop(49, 20.0))


def test_a_digital_move_and_its_twin_stand_in_one_file():
    shot = read(TWIN)
    # atan(1300 / f) + atan(1500 / f), f = 50 mm on 6000 pixels over 36 mm.
    assert shot.marks()["arm"].moved[-1] == pytest.approx(19.0706, abs=1e-4)
    assert shot.lens.focal_length == 50


@pytest.mark.parametrize("text", [ALONE, TWIN])
def test_a_file_written_back_unchanged_is_the_same(text):
    assert dumps(read(text), like=text) == text


@pytest.mark.parametrize("text", [ALONE, TWIN])
def test_a_shot_written_anew_reads_back(text):
    shot = read(text)
    again = read(dumps(shot))
    assert (again.rigs, again.lens, again.layers) == (shot.rigs, shot.lens, shot.layers)
    assert again.marks().marks[0].place == pytest.approx(shot.marks().marks[0].place)


def test_a_change_keeps_the_comments_of_a_rig():
    shot = read(ALONE)
    changed = replace(shot, rigs=(replace(shot.rigs[0], end=300.0),))
    text = dumps(changed, like=ALONE)
    assert "# under the board" in text
    assert 'ease_in = "0.5 s"' in text
    assert read(text).rigs == changed.rigs


def test_another_rate_keeps_the_frames_of_an_ease_in_seconds():
    changed = replace(read(ALONE), fps=Fraction(12))
    text = dumps(changed, like=ALONE)
    assert read(text).rigs[0].ease_in == 12


def test_inches_are_taken_for_all_lengths_of_a_rig():
    shot = read(ALONE.replace("end = 240", 'end = 10\nunit = "in"\nrule = 12\ndistance = "1 m"'))
    rig = shot.rigs[0]
    assert (rig.end, rig.rule, rig.distance) == (254.0, pytest.approx(304.8), 1000.0)
    assert read(dumps(shot)).rigs == shot.rigs


def test_a_lens_and_layers_are_read_with_their_units():
    shot = read(
        ALONE
        + """
        [[rig]]
        name = "hook"
        moves = "subject up"
        start = 0
        end = 30
        [lens]
        angle = 39.6
        sensor = [23.5, 15.6]
        distance = "80 cm"
        stop = 8
        pupil = 42.5
        [[layer]]
        name = "reeds"
        distance = "1 ft"
        size = [200, "10 cm"]
        centre = [-40, 25]
        [[layer]]
        name = "ferry"
        distance = 800
        moves_with = "boat"
        [[layer]]
        name = "crane"
        distance = 700
        moves_with = ["boat", "hook"]
        """
    )
    assert shot.lens.distance == 800
    reeds, ferry, crane = shot.layers
    assert (reeds.distance, reeds.size, reeds.centre) == (304.8, (200, 100), (-40, 25))
    assert (ferry.moves_with, crane.moves_with) == (("boat",), ("boat", "hook"))
    again = read(dumps(shot))
    assert (again.lens, again.layers) == (shot.lens, shot.layers)


def test_all_faults_of_the_rigs_are_told_at_once_with_their_places():
    told = complaints(
        ALONE
        + """
        [[rig]]
        name = "arm"
        moves = "camera pam"
        radios = 400
        start = "far"
        end = 9
        [[rig]]
        moves = "camera up"
        start = 0
        end = 9
        [lens]
        focal_lenth = 50
        [[layer]]
        name = "reeds"
        """
    )
    places = [complaint.where for complaint in told]
    assert 'rig "arm", moves' in places
    assert 'rig "arm", start' in places
    assert "rig 3, name" in places
    assert "lens, distance" in places
    assert "layer 1, distance" in places
    words = {complaint.value: complaint.remedy for complaint in told}
    assert "camera pan" in words["camera pam"]
    assert "radius" in words["radios"]
    assert "focal_length" in words["focal_lenth"]


@pytest.mark.parametrize(
    ("words", "place", "remedy"),
    [
        ("at = [0]", 'rig "boat", at', "[0, 120, 240]"),
        ("at = [[1, 0], [49]]", 'rig "boat", at', "[49, 240]"),
        ('unit = "cm"\nstart = 0\nend = 1', 'rig "boat", unit', 'unit = "in"'),
        ("parts = 9\nstart = 0\nend = 1", 'rig "boat", parts', "thread = 1.25"),
        (
            "thread = 1\ndivision = 0.5\nstart = 0\nend = 1", 'rig "boat", division', "parts = 10",
        ),
        ("follows = 'keys'", 'shot, rig "boat", follows', "[[key]]"),
        ("start = 0\nend = true", 'rig "boat", end', '"12 in"'),
    ],
)  # fmt: skip
def test_a_rig_that_cannot_be_is_refused_where_it_stands(words, place, remedy):
    text = f'[shot]\nframes = 9\n[[rig]]\nname = "boat"\nmoves = "subject up"\n{words}\n'
    (complaint,) = complaints(text)
    assert complaint.where == place
    assert remedy in complaint.remedy


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ("start = nan\nend = 20", "start"),
        ("start = 0\nend = inf", "end"),
        ("start = -1e300\nend = 20", "start"),
        ("start = 1000001\nend = 20", "start"),
        ("at = [[1, 0], [9, nan]]", "at"),
        ("start = 0\nend = 20\nbacklash = nan", "backlash"),
    ],
)
def test_a_place_that_is_nowhere_is_refused(words, place):
    text = f'[shot]\nframes = 9\n[[rig]]\nname = "head"\nmoves = "camera pan"\n{words}\n'
    (complaint,) = complaints(text)
    assert complaint.where == f'rig "head", {place}'


def test_two_layers_of_one_name_are_refused():
    layers = '[[layer]]\nname = "reeds"\ndistance = {}\n'
    (complaint,) = complaints(TWIN + layers.format(400) + layers.format(900))
    assert complaint.where == 'shot, layer "reeds", name'
    assert "a name of its own" in complaint.rule


def test_a_list_in_the_wrong_form_is_refused():
    (complaint, *_) = complaints('[shot]\nframes = 9\n[rig]\nname = "boat"\n')
    assert complaint.where == "rig"
    assert "[[rig]]" in complaint.remedy


lengths = st.floats(-900, 900).map(lambda value: round(value, 3))


@given(
    start=lengths,
    end=lengths,
    moves=st.sampled_from([m.name for m in MOTIONS.values() if not m.angular]),
    unit=st.sampled_from(["mm", "in"]),
    rule=st.floats(100, 900),
    reverse=st.booleans(),
    backlash=st.floats(0, 3),
)
def test_whatever_is_written_reads_back_the_same(start, end, moves, unit, rule, reverse, backlash):
    shot = read(
        f'[shot]\nframes = 49\n[[rig]]\nname = "it"\nmoves = "{moves}"\nstart = {start}\n'
        f'end = {end}\nunit = "{unit}"\nrule = {rule!r}\nreverse = {str(reverse).lower()}\n'
        f"backlash = {backlash!r}\n"
    )
    assert read(dumps(shot)).rigs == shot.rigs


def test_the_tables_of_words_hold_no_word_twice():
    for words in (LENS_WORDS, RIG_WORDS, LAYER_WORDS):
        assert len(set(words)) == len(words)


GUIDE = (Path(__file__).parents[2] / "docs" / "marks.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("table", "words"),
    [("[lens]", LENS_WORDS), ("[[rig]]", RIG_WORDS), ("[[layer]]", LAYER_WORDS)],
)
def test_the_guide_explains_every_word_and_no_others(table, words):
    part = GUIDE.split(f"### {table}")[1].split("\n##")[0]
    rows = re.findall(r"^\| (`.*?`) \|", part, re.MULTILINE)
    told = {word for row in rows for word in re.findall(r"`(\w+)`", row)}
    assert told == set(words)


def test_the_guide_names_every_motion():
    for motion in MOTIONS.values():
        assert f"`{motion.mover}`" in GUIDE
        assert f"`{motion.way}`" in GUIDE or f"`{motion.name}`" in GUIDE


SET = """\
[lens]
focal_length = 45
distance = 920
sensor = [36, 24]
stop = 16
focus = 800
blur = 0.03
pupil = 10
[[rig]]
name = "slider"
moves = "camera sideways"
start = 0
end = 200
rule = 150
track = 400
backlash = 0.5
smallest = 0.5
every = 20
hand = 100
[[rig]]
name = "sky"
moves = "background sideways"
instead_of = "slider"
ratio = 1.5
distance = 1500
stands_for = 30000
thread = 1.25
[[layer]]
name = "reeds"
distance = 400
size = [200, 100]
centre = [-60, 40]
"""
NUMBERS = [line for line in SET.splitlines() if re.search(r"= \[?-?\d", line)]


# All are numbers that TOML can hold, and none is one that a set can have.
@pytest.mark.parametrize("number", ["5e-324", "1e-300", "-1e-300", "1e300", "-1e300", "1e15"])
@pytest.mark.parametrize("line", NUMBERS)
def test_a_number_that_no_set_has_is_refused_or_does_no_harm(line, number):
    word, _, value = line.partition(" = ")
    odd = f"{word} = [{number}, {number}]" if value.startswith("[") else f"{word} = {number}"
    found, told = Complaints(), ""
    with found.at():
        shot = read(f"[shot]\nframes = 24\n{SET.replace(line, odd)}")
        told = " ".join(f"{finding.what} {finding.remedy}" for finding in cropmove.check(shot))
    assert all(re.search(r'lens|rig "|layer', one.where) for one in found.all)
    assert not re.search(r"\b(nan|inf)\b|\d{17}", told)


@pytest.mark.parametrize(
    "name", [r"up\nand down", r"a\u001B[31mb", r"a\u202eb", r"\u0007", "n" * 999]
)
def test_names_stand_on_one_line_and_so_does_what_is_said_of_them(name):
    for text in (
        ALONE.replace("boat", name),
        f'{SET}[[layer]]\nname = "{name}"\ndistance = 9\n'.replace("n" * 999, " "),
        f"[delivery]\nsize = [1920, 1080]\n[[key]]\nframe = 1\ncentre = [3, 2]\nwidth = 9\n"
        f'[[subject]]\nname = "{name}"\nframe = 1\ncentre = [3, 2]\n'.replace("n" * 999, " "),
    ):
        (complaint,) = complaints(text)
        assert "a name" in complaint.rule
        assert "on one line" in complaint.rule
        # XML 1.0, section 2.2, has no character for most of these, and terminals obey them.
        assert all(sign.isprintable() for sign in f"{complaint.where}{complaint.value}")
        assert len(complaint.where) < 100


def test_an_empty_value_is_shown_as_one():
    text = '[delivery]\nsize = ""\n[[key]]\nframe = ""\ncentre = ""\nwidth = ""\n'
    lens = '[lens]\ndistance = ""\nfocal_length = 45\n'
    assert [one.value for one in complaints(text + lens)] == ['""'] * 5


def test_a_number_is_refused_by_the_rule_that_it_breaks():
    for old, new, rule in (
        ("thread = 1.25", "thread = 2e6", "this is at most 1,000,000"),
        ("distance = 400", "distance = 1e20", "a number here is at most 1,000,000,000,000,000"),
        ("hand = 100", "hand = 1e-9", "this is at least 0.000001"),
        ("ratio = 1.5", "ratio = 1e9", "a place is at most 1,000,000 mm or degrees"),
    ):
        (complaint,) = complaints(f"[shot]\nframes = 24\n{SET.replace(old, new)}")
        assert rule in complaint.rule
