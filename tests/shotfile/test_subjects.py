"""[[subject]] and [limits] in a shot file, there and back."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.limits import LIMITS, Limits
from cropmove.move.subject import Point, Subject
from cropmove.shot import Stills
from cropmove.shotfile import dumps, loads

HEAD = """\
[shot]
still_size = [6000, 4000]
[delivery]
size = "hd"
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "100%"
"""


def read(more, head=HEAD):
    return loads(head + more, name="quay", survey=lambda source, size: Stills(size=size))


def test_points_of_one_name_are_one_subject():
    shot = read("""
        [[subject]]
        name = "boat"
        frame = 1
        centre = ["10%", 200]
        size = [400, "10%"]
        [[subject]]
        name = "gull"
        frame = 5
        centre = [10, 20]
        [[subject]]
        name = "boat"
        time = "1 s"
        centre = [2000, 300]
    """)
    boat, gull = shot.subjects
    assert boat.points == (
        Point(frame=1, x=600, y=200, width=400, height=400),
        Point(frame=25, x=2000, y=300, width=400, height=400),
    )
    assert gull == Subject(name="gull", points=(Point(frame=5, x=10, y=20),))


def test_a_subject_needs_no_name():
    (subject,) = read("[[subject]]\nframe = 1\ncentre = [1, 2]\n").subjects
    assert subject.name == "subject"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[[subject]]\ncentre = [1, 2]", "subject 1, frame"),
        ("[[subject]]\nframe = 1", "subject 1, centre"),
        ("[[subject]]\nframe = 1\ntime = 2\ncentre = [1, 2]", "subject 1, frame"),
        ("[[subject]]\nframe = 0\ncentre = [1, 2]", "subject 1, frame"),
        ("[[subject]]\nframe = 1\ncenter = [1, 2]", 'did you mean "centre"'),
        ("[[subject]]\nframe = 1\ncentre = [1, 2]\nsize = [-1, 2]", "subject 1, size"),
        ("[[subject]]\nframe = 1\ncentre = [nan, 2]", "subject 1, centre"),
        ("[subject]\nframe = 1", "[[subject]]"),
        (
            "[[subject]]\nframe = 9\ncentre = [1, 2]\n[[subject]]\nframe = 9\ncentre = [1, 2]",
            "point 2, frame",
        ),
        ("[limits]\ncrosing = 7", 'did you mean "crossing"'),
        ("[limits]\ncrossing = 0", "limits, crossing"),
        ("[limits]\ncrossing = '7 s'", "limits, crossing"),
    ],
)
def test_what_cannot_be_is_refused_where_it_stands(text, says):
    with pytest.raises(InputError) as error:
        read(text)
    assert says in str(error.value)


def test_all_faults_are_told_at_once():
    with pytest.raises(InputError) as error:
        read("[[subject]]\nframe = 0\ncentre = 5\n[limits]\nhold = -1\nswing = 101\n")
    assert len(error.value.complaints) >= 3


def test_limits_are_read_and_the_rest_stay_usual():
    limits = read("[limits]\ncrossing = 5\ntitle_safe = 80.5\n").limits
    assert limits.changed() == {"crossing": 5, "title_safe": 80.5}


place = st.integers(-2000, 12000).map(lambda n: n / 2)
side = st.integers(0, 800).map(lambda n: n / 2)


@st.composite
def subject(draw, name):
    frames = sorted(draw(st.sets(st.integers(1, 99), min_size=1, max_size=4)))
    points = [
        Point(frame=f, x=draw(place), y=draw(place), width=draw(side), height=draw(side))
        for f in frames
    ]
    return Subject(name=name, points=tuple(points))


subjects = st.one_of(
    st.just(()),
    st.tuples(subject("subject")),
    st.tuples(subject("boat"), subject("gull")),
    st.tuples(subject("gull"), subject("subject"), subject("boat")),
)
limits = st.dictionaries(st.sampled_from(sorted(LIMITS)), st.floats(0, 1)).map(
    lambda shares: Limits.of(
        {n: LIMITS[n].low + s * (LIMITS[n].high - LIMITS[n].low) for n, s in shares.items()}
    )
)


@given(subjects, limits)
def test_what_is_written_reads_back(subjects, limits):
    shot = replace(read(""), subjects=subjects, limits=limits)
    assert read(dumps(shot), head="") == shot


@given(subjects, subjects, limits)
def test_what_is_written_over_another_file_reads_back(before, after, limits):
    text = dumps(replace(read(""), subjects=before))
    shot = replace(read(""), subjects=after, limits=limits)
    assert read(dumps(shot, like=text), head="") == shot


TEXT = (
    HEAD
    + """
[[subject]]  # as she sets out
frame = 1
centre = ["10%", "50%"]

[[subject]]
time = "2 s"   # and moors
centre = ["60%", "50%"]

[limits]
hold = 12  # the editor asks for it
"""
)


def test_nothing_changed_nothing_written():
    assert dumps(read(TEXT, head=""), like=TEXT) == TEXT


def test_comments_stay_with_the_points_that_stay():
    shot = read(TEXT, head="")
    (boat,) = shot.subjects
    moved = replace(boat.points[1], y=1990.0)
    changed = replace(shot, subjects=(replace(boat, points=(boat.points[0], moved)),))
    written = dumps(changed, like=TEXT)
    assert "# as she sets out" in written
    assert '["10%", "50%"]' in written
    assert "# the editor asks for it" in written
    assert read(written, head="") == changed


def test_at_another_rate_a_time_is_written_as_the_frame_it_was():
    shot = replace(read(TEXT, head=""), fps=Fraction(25))
    assert read(dumps(shot, like=TEXT), head="") == shot


def test_a_list_on_one_line_is_written_anew():
    text = "subject = [{frame = 1, centre = [1, 2]}]\n" + HEAD
    shot = read(text, head="")
    points = (*shot.subjects[0].points, Point(frame=9, x=3, y=4))
    grown = replace(shot, subjects=(Subject(points=points),))
    assert read(dumps(grown, like=text), head="") == grown
