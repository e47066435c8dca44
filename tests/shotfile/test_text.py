"""Text to shot and back: what is wrong is told at once, what is the user's stays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import Complaint, InputError
from cropmove.geometry import Size
from cropmove.move.ease import EASES, cubic_bezier
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.shot import Delivery, Shot, Stills
from cropmove.shotfile import WORDS, dumps, loads
from cropmove.stills.find import StillRef

BIG = Size(6000, 4000)


def survey(source: str, planned: Size | None) -> Stills:
    """Stands in for looking on the disk: every source that is named is there, 6000 x 4000."""
    if not source:
        return Stills(size=planned)
    refs = tuple(StillRef(path=f"{source}/{n}.jpg") for n in range(24))
    return Stills(source=source, refs=refs, size=BIG)


def read(text: str) -> Shot:
    return loads(text, name="quay", survey=survey)


def faults(text: str) -> tuple[Complaint, ...]:
    with pytest.raises(InputError) as refused:
        read(text)
    for complaint in refused.value.complaints:
        assert complaint.rule
        assert complaint.remedy
    return refused.value.complaints


def places(text: str) -> list[str]:
    return [complaint.where for complaint in faults(text)]


HEAD = """\
[shot]
stills = "harbour"

[delivery]
size = "hd"

"""
FIRST = """\
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "100%"
"""
WHOLE = """\
# The harbour at dawn
[shot]
stills = "harbour"      # the good take
fps = 24
on   = 2

[delivery]
size = "hd"
max_scale = 1.0   # never enlarge

# where it begins
[[key]]
time = "0 s"
centre = ["50%", "50%"]
width = "100%"

[[key]]   # the boat
time   = "1 s"
centre = [ "60%", 1800.5 ]
stop   = false

[[key]]
frame = 49
width = "50%"
roll = 2.5
ease = "smooth"
ease_in = "0.5 s"
ease_out = 20
"""


# --- reading ------------------------------------------------------------------------------------


def test_a_file_is_read_into_plain_numbers() -> None:
    shot = read(WHOLE)
    assert (shot.name, shot.on, shot.fps, shot.frames) == ("quay", 2, 24, None)
    assert shot.delivery == Delivery(size=Size(1920, 1080))
    assert shot.keys == (
        Key(frame=1, framing=Framing(x=3000, y=2000, width=6000)),
        Key(frame=25, framing=Framing(x=3600, y=1800.5, width=6000), stop=False),
        Key(
            frame=49,
            framing=Framing(x=3600, y=1800.5, width=3000, roll=2.5),
            ease=EASES["smooth"],
            ease_in=12,
            ease_out=20,
        ),
    )


def test_what_a_key_leaves_out_it_takes_from_the_key_before() -> None:
    shot = read(HEAD + FIRST + "roll = 3\n[[key]]\nframe = 9\nwidth = 5000\n[[key]]\nframe = 20\n")
    assert shot.keys[1].framing == Framing(x=3000, y=2000, width=5000, roll=3)
    assert shot.keys[2].framing == shot.keys[1].framing


def test_the_delivery_is_a_named_raster_or_a_pair() -> None:
    for written in ('"hd"', "[1920, 1080]", '"HD"'):
        assert read(HEAD.replace('"hd"', written) + FIRST).delivery.size == Size(1920, 1080)
    assert read(HEAD.replace("hd", "flat 2k") + FIRST).delivery.size == Size(1998, 1080)


@pytest.mark.parametrize(
    ("written", "fps"),
    [("24", 24), ('"24000/1001"', Fraction(24000, 1001)), ("23.976", Fraction(24000, 1001)),
     ("12.5", Fraction(25, 2))],
)  # fmt: skip
def test_a_rate_is_exact(written: str, fps: Fraction) -> None:
    assert read(HEAD.replace("[shot]", f"[shot]\nfps = {written}") + FIRST).fps == fps


def test_a_length_of_the_shot_may_be_in_seconds() -> None:
    assert read(HEAD.replace("[shot]", '[shot]\nframes = "2.5 s"') + FIRST).length == 60


def test_a_shot_without_stills_is_a_whole_shot() -> None:
    shot = read('[delivery]\nsize = "hd"\n[[key]]\nframe = 1\ncentre = [0, 0]\nwidth = 9\n')
    assert shot.stills == Stills()
    assert shot.course()[1].width == 9


def test_shares_of_stills_to_come_are_shares_of_their_planned_size() -> None:
    shot = read('[shot]\nstill_size = [5000, 3000]\n[delivery]\nsize = "hd"\n' + FIRST)
    assert shot.keys[0].framing == Framing(x=2500, y=1500, width=5000)


# --- what is wrong ------------------------------------------------------------------------------


def test_all_faults_of_a_file_are_told_at_once_where_they_stand() -> None:
    text = """\
[shot]
stills = 5
fps = 0
on = 0
frames = 0
holds = 1
[delivery]
size = [1, 100000]
depth = "eight"
max_scale = 0
quality = 0
format = "jpeg"
[[key]]
frame = 0
centre = [nan, 1]
width = 0
ease = "smoth"
[[key]]
frame = 9
time = "1 s"
widht = 3000
[[key]]
frame = 12
roll = "left"
ease_in = -1
stop = "no"
[lense]
"""
    # An unknown word stands in its table, an unknown table in the file: it is read as the nearest.
    assert sorted(places(text)) == sorted(
        [
            "", "shot", "shot, stills", "shot, fps", "shot, on", "shot, frames",
            "delivery, size", "delivery, depth", "delivery, max_scale", "delivery, quality",
            "key 1, centre", "key 1, width", "key 1, frame", "key 1, ease",
            "key 2", "key 2, frame", "key 3, roll", "key 3, ease_in", "key 3, stop",
            "lens, distance",
        ]
    )  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "where", "value", "remedy"),
    [
        ("width =", "# width =", "key 1, width", "", "add width"),
        ('[delivery]\nsize = "hd"\n', "", "delivery", "", "add [delivery]"),
        ('"100%"', "0", "key 1, width", "0.0", "pixels of the still"),
        ('"100%"', "-5", "key 1, width", "-5.0", "pixels of the still"),
        ('"100%"', "nan", "key 1, width", "nan", "ordinary number"),
        ('"100%"', "inf", "key 1, width", "inf", "ordinary number"),
        ('"100%"', '"wide"', "key 1, width", "wide", "such as"),
        ('"100%"', "true", "key 1, width", "True", "such as"),
        ('["50%", "50%"]', "[3000]", "key 1, centre", "[3000]", "[1810.5, 902.0]"),
        ('["50%", "50%"]', "3000", "key 1, centre", "3000", "[1810.5, 902.0]"),
        ('["50%", "50%"]', '["x", 3]', "key 1, centre", "x", "such as"),
        ("frame = 1", "frame = 0", "key 1, frame", "0", "first frame of a shot is 1"),
        ("frame = 1", "frame = 1.0", "key 1, frame", "1.0", "whole number"),
        ("frame = 1", "frame = 9999999", "key 1, frame", "9999999", "earlier frame"),
        ("frame = 1", 'time = "soon"', "key 1, time", "soon", "0.5 s"),
        ("frame = 1", "", "key 1, frame", "", "write frame = 49"),
        ("frame = 1", "frame = 1\nease = 'even'", "key 1, ease", "", "ends the leg"),
        ("frame = 1", "frame = 1\nstop = false", "key 1, stop", "false", "take it out"),
        ("[shot]", "[shot]\nfps = 0", "shot, fps", "0", "fps = 24"),
        ("[shot]", "[shot]\nfps = 'fast'", "shot, fps", "fast", "fps = 24"),
        ("[shot]", "[shot]\nfps = 2020-01-01", "shot, fps", "datetime.date(2020, 1, 1)", "fps ="),
        ("[shot]", "[shot]\non = 1.5", "shot, on", "1.5", "whole number"),
        ("[shot]", "[shot]\non = -2", "shot, on", "-2", "on = 2 for twos"),
        ("[shot]", "[shot]\nframes = -3", "shot, frames", "-3", "12"),
        ("[shot]", "[shot]\nframes = 2000000", "shot, frames", "2000000", "leave it out"),
        ('"hd"', '"hdd"', "delivery, size", "hdd", 'did you mean "hd"'),
        ('"hd"', "[1, 100000]", "delivery, size", "1 x 100000", "width and height"),
        ('"hd"', "[0, 1080]", "delivery, size", "0 x 1080", "width and height"),
        ('"hd"', "[1920.5, 1080]", "delivery, size", "1920.5", "whole number"),
        ('"hd"', "[1920]", "delivery, size", "[1920]", "[1920, 1080]"),
        ('"hd"', '"hd"\nmax_scale = nan', "delivery, max_scale", "nan", "max_scale = 1.0"),
        ('"hd"', '"hd"\nformat = "jpeg"\nquality = 101', "delivery, quality", "101", "95"),
    ],
)
def test_a_fault_has_its_place_value_rule_and_remedy(
    old: str, new: str, where: str, value: str, remedy: str
) -> None:
    text = (HEAD + FIRST).replace(old, new, 1)
    (complaint,) = [c for c in faults(text) if c.where == where]
    assert complaint.value == value
    assert remedy in complaint.remedy


@pytest.mark.parametrize(
    ("text", "where", "near"),
    [
        (HEAD + FIRST + "widht = 5\n", "key 1", "width"),
        (HEAD + FIRST + "center = 5\n", "key 1", "centre"),
        (HEAD.replace("stills", "still") + FIRST, "shot", "stills"),
        (HEAD.replace("size", "sise") + FIRST, "delivery", "size"),
        (HEAD + FIRST + "[shots]\n", "", "shot"),
        (HEAD + FIRST + "[[kee]]\n", "", "key"),
        (HEAD + FIRST + "[[key]]\nframe = 9\nease = 'evn'\n", "key 2, ease", "even"),
    ],
)
def test_an_unknown_word_is_refused_with_the_nearest_known_one(
    text: str, where: str, near: str
) -> None:
    hits = [c for c in faults(text) if f'did you mean "{near}"?' in c.remedy]
    assert len(hits) == 1
    assert hits[0].where.startswith(where)


def test_two_keys_on_one_frame_are_refused_by_their_numbers() -> None:
    (complaint,) = faults(HEAD + FIRST + "[[key]]\nframe = 1\n")
    assert complaint.where == "key 2, frame"
    assert "key 1 is on 1 too" in complaint.rule


def test_a_frame_and_a_time_together_are_refused() -> None:
    assert places(HEAD + FIRST + "time = '1 s'\n") == ["key 1, frame"]


@pytest.mark.parametrize(
    "text",
    [
        "", "[shot]\n", "key = 5\n" + HEAD, HEAD + "[key]\nframe = 1\n", HEAD + "key = []\n",
        "shot = 3\n[delivery]\nsize = 'hd'\n" + FIRST, "delivery = 3\n" + FIRST,
        "key = [1, 2]\n" + HEAD, "[[shot]]\n[[delivery]]\n" + FIRST,
    ],
)  # fmt: skip
def test_what_is_no_shot_is_refused_in_words(text: str) -> None:
    assert faults(text)


@pytest.mark.parametrize(
    "text",
    ["[shot", "= 5", "[shot]\non = 1\non = 2\n", HEAD + "[delivery]\n", "\0", "[shot]\nfps = 24 25",
     "[shot]\nstills = 'a", HEAD + FIRST + "width = " + "9" * 5000],
)  # fmt: skip
def test_what_is_no_toml_is_refused_once_with_its_line(text: str) -> None:
    (complaint,) = faults(text)
    assert "TOML" in complaint.rule
    assert "line" in complaint.rule


@pytest.mark.parametrize(("text", "line"), [
    ("[shot]\non = 1\non = 2\n[delivery]\n", 3),
    ("[shot]\non = 1\n\n[shot]\non = 2\n\n\n[delivery]\n", 4),
    ("[key]\nframe = 1\n[[key]]\nframe = 2\n\n\n\n", 3),
    ("[[key]]\nframe = 1\n[key]\nframe = 2\n\n\n\n", 3),
    ("shot.on = 2\n[shot]\non = 2\n\n\n", 2),
])  # fmt: skip
def test_what_stands_twice_is_told_where_it_stands_again(text: str, line: int) -> None:
    (complaint,) = faults(text)
    assert f"(at line {line}," in complaint.rule
    assert complaint.rule.count("line") == 1
    assert "keep one of them" in complaint.remedy


def test_a_key_is_told_to_be_written_between_two_brackets() -> None:
    for text in (HEAD + FIRST.replace("[[key]]", "[key]"), "key = [5]\n" + HEAD):
        first = next(c for c in faults(text) if c.where.startswith("key"))
        assert first.remedy.startswith("write [[key]]")
    assert faults("shot = 5\n" + FIRST)[0].remedy.startswith("write [shot]")


def test_an_empty_word_is_not_told_to_be_put_between_quotes() -> None:
    first = faults((HEAD + FIRST).replace('"harbour"', '""'))[0]
    assert first.where == "shot, stills"
    assert "quotes" not in first.remedy


@pytest.mark.parametrize(("text", "where"), [
    (HEAD + FIRST + "roll = " + "9" * 400, "key 1, roll"),
    (HEAD + "shutter = " + "9" * 400 + "\n" + FIRST, "delivery, shutter"),
    (HEAD + FIRST.replace('"100%"', "0x" + "f" * 5000), "key 1, width"),
    (HEAD + FIRST + "ease_in = [0x" + "f" * 5000 + "]", "key 1, ease_in"),
])  # fmt: skip
def test_a_number_larger_than_any_is_refused_where_it_stands(text: str, where: str) -> None:
    assert where in places(text)


def test_missing_stills_are_one_fault_and_no_share_is_blamed_for_them() -> None:
    def nothing_there(source: str, planned: Size | None) -> Stills:
        raise InputError(Complaint(where="", value=source, rule="exists", remedy="check it"))

    with pytest.raises(InputError) as refused:
        loads(HEAD + FIRST + "[[key]]\nframe = 9\nwidth = '50%'\n", name="q", survey=nothing_there)
    assert [c.where for c in refused.value.complaints] == ["shot, stills"]


def test_a_refused_first_key_is_not_blamed_on_those_that_lean_on_it() -> None:
    text = HEAD + FIRST.replace('"100%"', "0") + "[[key]]\nframe = 9\n[[key]]\nframe = 12\n"
    assert places(text) == ["key 1, width"]


def test_a_share_without_a_still_is_refused_with_the_way_out() -> None:
    complaints = faults('[delivery]\nsize = "hd"\n' + FIRST)
    assert [c.where for c in complaints] == ["key 1, centre", "key 1, width"]
    assert all("still_size" in c.remedy for c in complaints)


@given(st.integers(0, len(WHOLE) - 1), st.sampled_from('\0\n"[]=.#%x9-'), st.booleans())
def test_a_damaged_file_is_read_or_refused_but_never_crashes(
    place: int, letter: str, insert: bool
) -> None:
    damaged = WHOLE[:place] + letter + WHOLE[place + (not insert) :]
    try:
        read(damaged).course()
    except InputError as error:
        assert all(c.rule and c.remedy for c in error.complaints)  # noqa: PT017


# --- writing back -------------------------------------------------------------------------------


def test_a_shot_that_has_not_changed_is_written_back_byte_for_byte() -> None:
    for text in (WHOLE, HEAD + FIRST, WHOLE.replace("\n", "\r\n"), WHOLE + "\n\n# the end"):
        assert dumps(read(text), like=text) == text


def changed(text: str, **more: object) -> tuple[str, Shot]:
    """A text after a change of its shot; checked to read back as that shot."""
    shot = replace(read(text), **more)
    written = dumps(shot, like=text)
    assert read(written) == shot
    return written, shot


def lines_that_differ(before: str, after: str) -> tuple[list[str], list[str]]:
    old, new = before.splitlines(), after.splitlines()
    return [x for x in old if x not in new], [x for x in new if x not in old]


def test_a_change_touches_its_own_line_and_no_other() -> None:
    written, _ = changed(WHOLE, on=3)
    assert lines_that_differ(WHOLE, written) == (["on   = 2"], ["on   = 3"])


def test_a_changed_value_keeps_its_comment() -> None:
    written, _ = changed(WHOLE, delivery=Delivery(size=Size(1920, 1080), max_scale=1.5))
    assert "max_scale = 1.5   # never enlarge" in written.splitlines()


def test_new_words_are_added_and_defaults_taken_out() -> None:
    written, _ = changed(WHOLE, on=1, frames=60)
    assert lines_that_differ(WHOLE, written) == (["on   = 2"], ["frames = 60"])


def test_a_new_word_does_not_come_between_a_comment_and_what_it_speaks_of() -> None:
    written, _ = changed(WHOLE, delivery=Delivery(size=Size(1920, 1080), depth=16), frames=60)
    assert "\n\n# where it begins\n[[key]]\n" in written
    assert "\ndepth = 16\n\n" in written
    assert "\nframes = 60\n\n[delivery]" in written


def test_seconds_that_are_taken_out_under_another_rate_are_gone() -> None:
    text = WHOLE.replace("[shot]", '[shot]\nframes = "3 s"')
    keys = list(read(WHOLE).keys)
    keys[2] = replace(keys[2], ease_in=None, ease=None)
    changed(text, fps=Fraction(25), frames=None, keys=tuple(keys))


def test_moving_one_key_leaves_the_wording_of_the_others() -> None:
    keys = list(read(WHOLE).keys)
    keys[1] = replace(keys[1], framing=Framing(x=3700, y=1800.5, width=6000))
    keys[2] = replace(keys[2], framing=replace(keys[2].framing, x=3700))
    written, _ = changed(WHOLE, keys=tuple(keys))
    assert lines_that_differ(WHOLE, written) == (
        ['centre = [ "60%", 1800.5 ]'], ["centre = [3700, 1800.5]"]
    )  # fmt: skip


def test_a_key_that_others_take_from_can_change_alone() -> None:
    keys = list(read(WHOLE).keys)
    keys[0] = replace(keys[0], framing=replace(keys[0].framing, width=5000))
    written, shot = changed(WHOLE, keys=tuple(keys))
    assert shot.keys[1].framing.width == 6000  # what it took from the first it now says itself
    assert "[[key]]   # the boat" in written


def test_a_timed_key_that_moves_is_pinned_by_its_frame() -> None:
    keys = list(read(WHOLE).keys)
    keys[1] = replace(keys[1], frame=30)
    written, _ = changed(WHOLE, keys=tuple(keys))
    assert lines_that_differ(WHOLE, written) == (['time   = "1 s"'], ["frame = 30"])


def test_keys_can_be_taken_out_and_put_in_and_the_others_keep_their_comments() -> None:
    keys = read(WHOLE).keys
    fewer, _ = changed(WHOLE, keys=(keys[0], keys[2]))
    assert "# the good take" in fewer
    assert '"0.5 s"' in fewer
    extra = Key(frame=60, framing=Framing(x=3000, y=2000, width=6000))
    more, _ = changed(WHOLE, keys=(*keys, extra))
    assert more.startswith(WHOLE)
    between = Key(frame=12, framing=Framing(x=3000, y=2000, width=5500), stop=False)
    put_in, _ = changed(WHOLE, keys=(keys[0], between, *keys[1:]))
    assert lines_that_differ(WHOLE, put_in)[0] == []


def test_keys_can_be_added_to_a_text_that_does_not_end_its_last_line() -> None:
    extra = Key(frame=60, framing=Framing(x=3000, y=2000, width=6000))
    changed(WHOLE.rstrip(), keys=(*read(WHOLE).keys, extra))


def test_comments_stay_in_their_order_when_keys_come_first() -> None:
    text = FIRST + "# ending\n[[key]]\nframe = 9\n" + "# what is asked\n" + HEAD
    keys = read(text).keys
    for some in (keys[:1], (keys[0], replace(keys[1], frame=5), replace(keys[1], frame=7))):
        written, _ = changed(text, keys=some)
        assert written.index("# what is asked") < written.index("[delivery]")
    first_gone, _ = changed(text, keys=(replace(keys[1], frame=9),))
    assert first_gone.index("# ending") < first_gone.index("frame = 9")


def test_taking_out_the_key_that_others_take_from_keeps_their_framings() -> None:
    text = HEAD + FIRST + "[[key]]\nframe = 9\nwidth = 3000\n[[key]]\nframe = 20\n"
    keys = read(text).keys
    changed(text, keys=(keys[0], keys[2]))


def test_stills_that_move_are_written_where_they_are() -> None:
    written, _ = changed(WHOLE, stills=survey("harbour two", None))
    assert 'stills = "harbour two"      # the good take' in written


def test_a_planned_size_can_change() -> None:
    text = '[shot]\nstill_size = [6000, 4000] # planned\n[delivery]\nsize = "hd"\n' + FIRST
    written, _ = changed(text, stills=Stills(size=Size(5000, 4000)))
    assert "still_size = [5000, 4000] # planned" in written


@pytest.mark.parametrize("fps", [25, 12, Fraction(24000, 1001), 50])
def test_another_rate_keeps_every_frame_where_it_was(fps: Fraction) -> None:
    text = WHOLE.replace("[shot]", '[shot]\nframes = "3 s"')
    changed(text, fps=Fraction(fps))


@pytest.mark.parametrize(
    "text",
    [
        'key = [{frame = 1, centre = [3, 2], width = 40}, {frame = 5, width = 20}] # short\n'
        "[delivery]\nsize = 'hd'\n",
        "delivery = {size = 'hd'}\nshot = {on = 2}\n" + FIRST.replace("%", "").replace('"', ""),
        "shot.on = 2\ndelivery.size = 'hd'\n" + FIRST.replace("%", "").replace('"', ""),
    ],
)  # fmt: skip
def test_other_ways_to_write_toml_can_be_changed_too(text: str) -> None:
    shot = read(text)
    assert dumps(shot, like=text) == text
    extra = Key(frame=60, framing=Framing(x=3000, y=2000, width=6000))
    changed(text, on=3, fps=Fraction(25))
    changed(text, keys=(*shot.keys, extra))
    changed(text, keys=(replace(shot.keys[0], framing=extra.framing), *shot.keys[1:]))


# --- laws ---------------------------------------------------------------------------------------

numbers = st.floats(-1e5, 1e5) | st.integers(-10, 10000).map(float)
packings = st.fixed_dictionaries(
    {
        "format": st.sampled_from(["png", "tiff"]),
        "depth": st.sampled_from([None, 8, 16]),
        "compression": st.sampled_from(["quick", "small", "none"]),
        "colour": st.sampled_from(["still", "srgb"]),
        "shutter": st.floats(0, 360),
    }
) | st.fixed_dictionaries({"format": st.just("jpeg"), "quality": st.none() | st.integers(1, 100)})
framings = st.builds(
    Framing, x=numbers, y=numbers, width=st.floats(1e-3, 1e5), roll=st.just(0.0) | numbers
)
eases = st.none() | st.sampled_from(list(EASES.values())) | st.builds(
    cubic_bezier, st.floats(0, 1), st.floats(0, 1), st.floats(0, 1), st.floats(0, 1)
)  # fmt: skip


@st.composite
def shots(draw: st.DrawFn) -> Shot:
    frames = sorted(draw(st.sets(st.integers(1, 300), min_size=1, max_size=5)))
    keys = []
    for n, frame in enumerate(frames):
        stop = n in (0, len(frames) - 1) or draw(st.booleans())
        ease = draw(eases) if n and stop else None
        lengths = {}
        if n and stop and (ease is None or ease.has_lengths):
            lengths = {
                "ease_in": draw(st.none() | st.integers(0, 1)),
                "ease_out": draw(st.none() | st.just(0)),
            }
        keys.append(Key(frame=frame, framing=draw(framings), stop=stop, ease=ease, **lengths))
    return Shot(
        name="quay",
        stills=draw(st.sampled_from([Stills(), Stills(size=BIG), survey("a", None), survey("b", None)])),  # noqa: E501
        delivery=Delivery(
            size=Size(draw(st.integers(1, 4096)), draw(st.integers(1, 4096))),
            max_scale=draw(st.floats(0.1, 64)),
            **draw(packings),
        ),
        keys=tuple(keys),
        on=draw(st.integers(1, 4)),
        fps=draw(st.sampled_from([Fraction(24), Fraction(25), Fraction(30000, 1001)])),
        frames=draw(st.none() | st.integers(1, 500)),
    )  # fmt: skip


@given(shots())
def test_any_shot_written_and_read_is_the_same(shot: Shot) -> None:
    assert read(dumps(shot)) == shot


@given(shots(), shots())
def test_any_shot_written_over_any_other_reads_as_itself(shot: Shot, other: Shot) -> None:
    text = dumps(other)
    assert read(dumps(shot, like=text)) == shot


@given(shots())
def test_any_shot_written_over_a_users_own_text_reads_as_itself(shot: Shot) -> None:
    if shot.stills.size is None:  # the text speaks of shares
        shot = replace(shot, stills=Stills(size=BIG))
    written = dumps(shot, like=WHOLE)
    assert read(written) == shot
    assert "# The harbour at dawn" in written


@given(shots())
def test_writing_a_shot_twice_changes_nothing(shot: Shot) -> None:
    text = dumps(shot)
    assert dumps(read(text), like=text) == text


def test_the_words_of_a_file_are_those_that_are_told() -> None:
    assert {"shot", "delivery", "key"} <= set(WORDS)
    assert all(len(set(words)) == len(words) for words in WORDS.values())


def test_a_text_alone_finds_its_stills_in_the_current_folder(
    photograph: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(photograph().parent)
    text = """
    [shot]
    stills = "harbour"
    [delivery]
    size = [320, 240]
    [[key]]
    frame = 1
    centre = ["50%", "50%"]
    width = "100%"
    """
    shot = loads(text, name="quay")
    assert (len(shot.stills), shot.keys[0].framing.width) == (4, 640)
