"""`cropmove marks` as a person meets it."""

import csv
import io
import json
import os
import sys
from xml.etree import ElementTree

import pypdfium2
import pytest
import typer
from PIL import Image
from rich.console import ScreenContext

from cropmove.cli.follow import Follower, huge, opening, pressed, screen, step_through
from cropmove.cli.marks_text import cautions_text
from cropmove.rig.cautions import DEFERS, cautions_for
from cropmove.sheets.shooting_list.rows import rows_of
from cropmove.shotfile import load

SHOT = """\
[shot]
frames = 97
on = 2

[lens]
focal_length = 50
distance = 800
stop = 11

[[rig]]
name = "boat"
moves = "subject sideways"
start = 0
end = 240
ease_in = 12
ease_out = 20

[[rig]]
name = "pan arm"
moves = "camera pan"
start = 0
end = 30
radius = 400

[[layer]]
name = "reeds"
distance = 300
size = [200, 100]
"""


@pytest.fixture
def quay(tmp_path):
    path = tmp_path / "quay.toml"
    path.write_text(SHOT)
    return path


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (
            # Animation-stand practice: 12 ft in 2 s at 24 is 3 in a frame (Salt 1977).
            ("--travel", "12 ft", "--seconds", "2", "--ease", "none"),
            "2 s at 24 for 144 in: 48 steps, frames 1 to 49; 3 in a frame throughout\n",
        ),
        (
            ("--travel", "300", "--frames", "60", "--ease-in", "10", "--ease-out", "10"),
            "2.5 s at 24 for 300 mm: 60 steps, frames 1 to 61; 6 mm a frame at the cruise, "
            "0.545 first and 0.545 last (even, ease in 10, ease out 10)\n",
        ),
        (
            ("--rule", "300", "--step", "6", "--ease-in", "10", "--ease-out", "10"),
            "a rule of 300 mm at 6 mm a step: 60 steps, 2.5 s at 24, frames 1 to 61, "
            "travel 300 mm (even, ease in 10, ease out 10)\n",
        ),
        (
            ("--travel", "300", "--seconds", "2.5", "--smallest", "0.5"),
            "2.5 s at 24 for 300 mm: 60 steps, frames 1 to 61; 6.122 mm a frame at the cruise, "
            "0.51 first and 0.51 last (even, ease in 11, ease out 11); no longer ease has steps "
            "of 0.5 mm or more\n",
        ),
        (
            ("--travel", "12 ft", "--seconds", "2", "--ease", "none", "--on", "2"),
            "2 s at 24 for 144 in: on twos 24 steps in 25 stills, frames 1 to 49; 6 in a still "
            "throughout\n",
        ),
        (
            ("--travel", "30 deg", "--frames", "48", "--ease", "none"),
            "2 s at 24 for 30 deg: 48 steps, frames 1 to 49; 0.625 deg a frame throughout\n",
        ),
    ],
)
def test_the_stopwatch_answers_in_one_line_before_there_is_a_file(command, words, answer):
    said = command("marks", *words)
    assert (said.code, said.out, said.err) == (0, answer, "")


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ((), "--travel"), (("--travel", "300"), "--seconds"), (("--travel", "far"), "--travel"),
        (("--rule", "30 deg", "--step", "6"), "--step"),
        (("--travel", "300", "--seconds", "2", "--fps", "0"), "--fps"),
        (("--travel", "300", "--seconds", "2", "--ease", "smoth"), "--ease"),
        (("--rule", "300", "--step", "6", "--seconds", "2"), "--seconds"),
        (("--rule", "300", "--step", "6", "--travel", "9"), "--travel"),
        (("--travel", "300", "--seconds", "2", "--step", "6"), "--step"),
        (("--travel", "9", "--frames", "48", "--smallest", "1", "--ease-in", "8"), "--ease-in"),
    ],
)  # fmt: skip
def test_what_the_stopwatch_cannot_answer_is_refused(command, words, place):
    said = command("marks", *words)
    assert said.code == 2
    assert said.out == ""
    assert said.err.startswith(f"cropmove: {place}")
    assert "->" in said.err


def test_the_table_has_a_row_a_still(command, quay):
    said = command("marks", quay)
    assert said.code == 0
    lines = said.out.splitlines()
    assert lines[0].split()[:2] == ["still", "frames"]
    assert lines[49].split()[:3] == ["49", "97", "240.0"]
    assert "uneven-steps" in said.out
    assert "layer-sweeps" in said.out


@pytest.mark.parametrize("columns", [40, 60, 80])
def test_what_stands_under_the_table_fits_the_terminal_and_stands_apart(
    quay, command, monkeypatch, columns
):
    monkeypatch.setenv("COLUMNS", str(columns))
    lines = command("marks", quay).out.splitlines()
    under = lines[lines.index("") :]
    assert max(map(len, under)) <= columns
    (finding, *_) = [n for n, line in enumerate(under) if line.startswith(("  CAUT", "  NOTE"))]
    assert under[finding - 1] == ""


def test_there_may_be_a_mark_for_every_frame_although_stills_are_held(command, quay):
    lines = command("marks", quay, "--ones").out.splitlines()
    assert lines[97].split()[:2] == ["97", "240.0"]
    assert "by-hand-on-twos" not in command("marks", quay, "--ones").out
    assert "by-hand-on-twos" in command("marks", quay).out


def test_csv_and_json_go_to_stdout(command, quay):
    rows = list(csv.DictReader(io.StringIO(command("marks", quay, "--csv").out)))
    assert len(rows) == 97
    data = json.loads(command("marks", quay, "--json", "--rig", "boat").out)
    assert [rig["name"] for rig in data["rigs"]] == ["boat"]


def test_tapes_and_lists_are_written_and_never_over_what_is_there(command, quay, tmp_path):
    said = command("marks", quay, "--tape", "tape.pdf", "--list", "list.pdf")
    assert said.code == 0
    assert said.out.split() == ["tape.pdf", "list.pdf"]
    assert len(pypdfium2.PdfDocument(tmp_path / "tape.pdf")) == 2
    again = command("marks", quay, "--tape", "tape.pdf")
    assert again.code == 2
    assert "--overwrite" in again.err
    assert command("marks", quay, "--tape", "tape.pdf", "--overwrite").code == 0


def test_svg_is_a_file_a_page(command, quay, tmp_path):
    said = command("marks", quay, "--tape", "tape.svg", "--paper", "letter")
    assert said.out.split() == ["tape.1.svg", "tape.2.svg"]
    for name in said.out.split():
        assert ElementTree.parse(tmp_path / name).getroot().get("width") == "279.4mm"


def test_a_page_that_is_there_keeps_the_others_from_being_written(command, quay, tmp_path):
    (tmp_path / "tape.2.svg").write_text("mine")
    said = command("marks", quay, "--tape", "tape.svg", "--paper", "letter")
    assert said.code == 2
    assert "tape.2.svg" in said.err
    assert (tmp_path / "tape.2.svg").read_text() == "mine"
    assert not (tmp_path / "tape.1.svg").exists()


@pytest.mark.parametrize("name", ["list.csv", "list.json"])
def test_the_list_is_written_as_data_too(command, quay, tmp_path, name):
    assert command("marks", quay, "--list", name).code == 0
    option = "--csv" if name.endswith("csv") else "--json"
    assert (tmp_path / name).read_text("utf-8") == command("marks", quay, option).out


@pytest.mark.skipif(sys.platform != "linux", reason="names of any bytes are Linux's")
def test_a_name_that_is_no_text_stops_no_print(command, quay, tmp_path):
    odd = quay.rename(quay.with_name(os.fsdecode(b"caf\xe9.toml")))
    for word, name in (
        ("--tape", "a.pdf"), ("--tape", "b.svg"), ("--list", "c.pdf"), ("--list", "d.svg"),
        ("--list", "e.csv"), ("--list", "f.json"),
    ):  # fmt: skip
        assert command("marks", odd, word, tmp_path / "out" / name).code == 0
    assert "\\udce9" in (tmp_path / "out" / "f.json").read_text("utf-8")


def test_two_prints_into_one_link_to_itself_are_refused(command, quay, tmp_path):
    (tmp_path / "loop").symlink_to("loop")
    file = tmp_path / "loop" / "a.pdf"
    said = command("marks", quay, "--tape", file, "--list", file)
    assert said.code == 2
    assert "goes into that file too" in said.err


def test_layers_are_told_and_drawn(command, quay, tmp_path):
    said = command("marks", quay, "--layers")
    assert "reeds" in said.out
    assert "strobes" in said.out
    assert len(command("marks", quay, "--layers", "--csv").out.splitlines()) == 50
    assert command("marks", quay, "--boxes", "boxes.png").code == 0
    with Image.open(tmp_path / "boxes.png") as drawn:
        assert drawn.size[0] > 1000


def test_boxes_are_drawn_over_a_test_still(command, quay, tmp_path):
    Image.new("RGB", (600, 400), (200, 30, 30)).save(tmp_path / "test.jpg")
    text = SHOT.replace("frames = 97", "frames = 97\nstill_size = [600, 400]")
    quay.write_text(text)
    said = command("marks", quay, "--boxes", "boxes.png", "--still", "test.jpg")
    assert said.code == 0, said.err
    with Image.open(tmp_path / "boxes.png") as drawn:
        red, green, blue = drawn.convert("RGB").getpixel((600, 900))
    assert red > green + 40
    assert red > blue + 40


def test_the_twin_is_a_shot_that_previews_the_rig(command, quay, tmp_path):
    assert command("marks", quay, "--twin", "preview.toml").code == 0
    twin = load(tmp_path / "preview.toml")
    assert twin.length == 97
    assert not twin.rigs
    # On twos the arm stands for two frames.
    course = twin.course()
    assert course[1] == course[2]
    assert course[96].x == pytest.approx(course[95].x)
    assert course[97].x > course[1].x


def test_the_twin_is_of_the_things_that_are_named_and_on_ones_where_that_is_asked(
    command, quay, tmp_path
):
    arm = ("--rig", "pan arm", "--twin", "arm.toml")
    assert command("marks", quay, "--ones", *arm).code == 0
    course = load(tmp_path / "arm.toml").course()
    assert course[96].x > course[95].x
    boat = ("--rig", "boat", "--twin", "boat.toml")
    assert command("marks", quay, *boat).code == 0
    # Computed: 240 mm of the 576 mm that 50 mm on 36 mm takes in at 800 mm are 800 of 1920 px.
    places = load(tmp_path / "boat.toml").course().rows[:, 0]
    assert places[-1] - places[0] == pytest.approx(-800)


def test_papers_and_things_that_are_not_there_are_refused(command, quay):
    assert "is one of: a4, letter" in command("marks", quay, "--tape", "t.pdf", "--paper", "a5").err
    assert "boat, pan arm" in command("marks", quay, "--rig", "boot").err
    assert "written as .pdf or .svg" in command("marks", quay, "--tape", "tape.png").err
    assert command("marks", quay, "--travel", "300").code == 2


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--list", "notes.toml"), "--list = notes.toml"),
        (("--list", "sheet.pdf"), "--tape goes into that file too"),
        (("--boxes", "boxes.txt"), "end the name in .png"),
        (("--twin", "old.toml"), "write over it unasked"),
    ],
)
def test_what_is_refused_is_refused_before_anything_is_written(
    command, quay, tmp_path, words, told
):
    (tmp_path / "old.toml").write_text("mine")
    before = set(tmp_path.iterdir())
    tape = ("--tape", "sheet.pdf")
    option, name = words
    said = command("marks", quay, *tape, option, name)
    assert said.code == 2
    assert told in said.err.replace(str(tmp_path) + "/", "")
    assert set(tmp_path.iterdir()) == before
    assert (tmp_path / "old.toml").read_text() == "mine"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--travel", "300", "--seconds", "2", "--tape", "t.pdf"), "only the stopwatch"),
        (("--travel", "300", "--seconds", "2", "--rig", "boat"), "only the stopwatch"),
    ],
)
def test_the_stopwatch_prints_nothing_for_the_set(command, tmp_path, words, told):
    said = command("marks", *words)
    assert (said.code, told in said.err) == (2, True)
    assert not (tmp_path / "t.pdf").exists()


def test_what_a_shot_file_says_itself_is_not_said_beside_it(command, quay):
    assert "leave the shot file out" in command("marks", quay, "--fps", "12").err
    assert "say --csv" in command("marks", quay, "--layers", "--json").err


def test_a_shot_without_rigs_says_how_to_add_one(command, tmp_path):
    (tmp_path / "plain.toml").write_text(
        '[shot]\nstill_size = [6000, 4000]\n[delivery]\nsize = "hd"\n'
        '[[key]]\nframe = 1\ncentre = ["50%", "50%"]\nwidth = "100%"\n'
    )
    said = command("marks", "plain.toml")
    assert said.code == 2
    assert "[[rig]]" in said.err


def test_following_needs_a_terminal(command, quay):
    said = command("marks", quay, "--follow")
    assert said.code == 2
    assert "--list" in said.err


@pytest.fixture
def follower(quay):
    return Follower(
        title="quay",
        names=("boat (mm)", "pan arm (mm)"),
        rows=rows_of(load(quay).marks()),
        at=20,
    )


def test_a_key_goes_on_back_or_away(follower):
    assert pressed(follower, " ").at == 21
    assert pressed(follower, "\x1b[C").at == 21
    assert pressed(follower, "b").at == 19
    assert pressed(follower, "x").at == 20
    assert pressed(follower, "q") is None
    assert follower.moved(-99).at == 0
    assert pressed(follower.moved(99), " ").at == 48


def test_the_screen_shows_the_reading_huge_with_those_beside_it(follower):
    shown = screen(follower, 80, 24)
    assert "still 21 of 49" in shown
    assert "frames 41-42" in shown
    for line in huge(follower.rows[20].cells[0].reading):
        assert line.rstrip() in shown
    assert f"before {follower.rows[19].cells[0].reading}" in shown
    assert f"next {follower.rows[21].cells[0].reading}" in shown


@pytest.mark.parametrize("height", [8, 14, 24, 50])
def test_the_screen_fits_the_window(follower, height):
    assert len(screen(follower, 80, height).splitlines()) <= max(height, 6)
    assert "pan arm" in screen(follower, 80, height)


def test_every_sign_of_a_reading_has_a_huge_figure():
    for sign in "0123456789.+/− ":
        assert len(huge(sign)) == 5
        assert any("█" in line for line in huge(sign)) or sign == " "
    shapes = {tuple(huge(figure)) for figure in "0123456789"}
    assert len(shapes) == 10


@pytest.mark.parametrize(
    ("rule", "step", "answer"),
    [
        # 12 in at 0.25 in are 48 steps at the cruise; two ramps of 10 take 10 steps more. An inch
        # is 25.4 mm (international yard and pound agreement, 1959).
        ("12 in", "6.35", "a rule of 12 in at 0.25 in a step: 58 steps, "),
        ("304.8", "0.25 in", "a rule of 304.8 mm at 6.35 mm a step: 58 steps, "),
    ],
)
def test_a_rule_and_a_step_may_be_given_in_different_units(command, rule, step, answer):
    words = ("--rule", rule, "--step", step, "--ease-in", "10", "--ease-out", "10")
    assert command("marks", *words).out.startswith(answer)


def test_a_twin_in_another_folder_finds_the_stills(command, quay, tmp_path, photograph):
    stills = photograph()
    quay.write_text(SHOT.replace("[shot]", '[shot]\nstills = "harbour"'))
    (tmp_path / "twins").mkdir()
    said = command("marks", quay, "--twin", "twins/preview.toml")
    assert said.code == 0, said.err
    twin = load(tmp_path / "twins" / "preview.toml")
    assert twin.stills.source == "../harbour"
    assert [still.path.resolve() for still in twin.stills.refs] == sorted(stills.iterdir())


def test_the_shot_to_render_what_a_rig_photographed(command, quay, tmp_path, photograph):
    photograph()
    head = SHOT.split("[[rig]]")[0].replace("[shot]", '[shot]\nstills = "harbour"')
    keys = (
        f"[[key]]\nframe = {at}\ncentre = [24, {down}]\nwidth = 20\n"
        for at, down in ((1, 10), (97, 20))
    )
    rig = '[[rig]]\nname = "lift"\nmoves = "camera up"\nfollows = "keys"\n'
    quay.write_text("".join((head, '[delivery]\nsize = "hd"\n', *keys, rig)))
    (tmp_path / "crops").mkdir()
    said = command("marks", quay, "--crop", "crops/crop.toml", "--rig", "lift")
    assert said.code == 0, said.err
    assert said.out == "crops/crop.toml\n"
    crop = load(tmp_path / "crops" / "crop.toml")
    assert (crop.stills.source, crop.rigs, crop.length) == ("../harbour", (), 97)
    assert len(crop.keys) == 1
    assert "write over it unasked" in command("marks", quay, "--crop", "crops/crop.toml").err


def test_in_a_low_window_what_stands_gives_up_its_huge_figures_first(tmp_path):
    rigs = ("a", 0, 48), ("b", 5, 5), ("c", 0, 48)
    (tmp_path / "three.toml").write_text(SHOT.split("[[rig]]")[0] + "".join(
        f'[[rig]]\nname = "{name}"\nmoves = "subject up"\nstart = {start}\nend = {end}\n'
        for name, start, end in rigs
    ))  # fmt: skip
    rows = rows_of(load(tmp_path / "three.toml").marks())
    follower = Follower(title="quay", names=tuple("abc"), rows=rows, at=20)

    def tall(height):
        lines = screen(follower, 80, height).splitlines()
        told = [(n, line[0]) for n, line in enumerate(lines) if "before" in line]
        return [name for n, name in told if "█" in lines[n + 2]]

    # A thing's figures take 8 lines and the others' 1 each; the head takes 2 and the foot 2.
    assert [tall(height) for height in (28, 27, 20, 13)] == [["a", "b", "c"], ["a", "c"], ["a"], []]


@pytest.mark.parametrize(
    ("words", "partner"),
    [
        (("--from", "3"), "--follow"),
        (("--straight",), "--tape"),
        (("--still", "test.jpg"), "--boxes or --twin"),
    ],
)
def test_an_option_that_says_nothing_alone_names_its_partner(command, quay, words, partner):
    said = command("marks", quay, *words)
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith(f"cropmove: {words[0]}\n")
    assert f"say {partner} too" in said.err


def test_the_stopwatch_says_how_a_longest_step_is_asked_for(command):
    said = command("marks", "--travel", "300", "--step", "6")
    assert "say --rule 300 --step 6" in " ".join(said.err.split())
    assert command("marks", "--rule", "300", "--step", "6").code == 0


def every_caution(path):
    return [*cautions_for(rig for rig in load(path).rigs), DEFERS]


def test_the_cautions_stand_once_before_the_table_and_not_in_it(command, quay):
    said = command("marks", quay)
    told = " ".join(said.err.split())
    assert told == " ".join(["Before you start", *every_caution(quay)])
    assert said.out.split()[0] == "still"
    assert not any(caution[:12] in said.out for caution in every_caution(quay))


@pytest.mark.parametrize("columns", [40, 60, 80])
def test_the_cautions_fit_the_terminal(quay, command, monkeypatch, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    assert max(map(len, command("marks", quay).err.splitlines())) <= columns


def test_only_what_is_shown_asks_for_its_cautions(command, quay):
    both, boat = (command("marks", quay, *words).err for words in ((), ("--rig", "boat")))
    assert "A raised or heavy camera" in both  # the pan arm carries it
    assert "A raised or heavy camera" not in boat


@pytest.mark.parametrize(
    "words",
    [("--csv",), ("--json",), ("--layers", "--csv"), ("--list", "list.csv")],
)
def test_who_reads_data_meets_no_word_beside_it(command, quay, words):
    assert command("marks", quay, *words).err == ""


@pytest.mark.parametrize("height", [5, 10, 24])
def test_stepping_through_begins_with_every_caution_a_window_at_a_time(quay, height):
    told = cautions_text(load(quay).marks())
    windows = opening(told, height)
    assert all(len(window.splitlines()) <= height for window in windows)
    assert all("q: leave" in window.splitlines()[-1] for window in windows)
    lines = [line for window in windows for line in window.splitlines()[:-2]]
    assert " ".join(" ".join(lines).split()) == " ".join(["Before you start", *every_caution(quay)])


def test_the_cautions_are_seen_before_the_first_setting_and_at_no_still(quay, monkeypatch):
    seen = stepped(quay, monkeypatch, "x", " ", " ", "b", "q")
    first, *settings = seen
    assert "Lamps get hot" in first
    assert "still 1 of 49" not in first
    # A key that leads nowhere does not pass them over.
    assert [text.split("   ")[1] for text in settings] == [
        "still 1 of 49", "still 2 of 49", "still 1 of 49",
    ]  # fmt: skip
    assert not any("Lamps" in text for text in settings)


def test_whoever_leaves_at_the_cautions_has_set_nothing(quay, monkeypatch, capsys):
    assert len(stepped(quay, monkeypatch, "q")) == 1
    assert "left at still 1;" in capsys.readouterr().out


def stepped(path, monkeypatch, *keys):
    """What a terminal shows, window by window, to somebody who presses these keys."""
    seen, pressing = [], iter(keys)
    monkeypatch.setattr(ScreenContext, "update", lambda _, text: seen.append(str(text)))
    monkeypatch.setattr(typer, "getchar", lambda: next(pressing))
    for stream in (sys.stdin, sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True)
    step_through(load(path).marks(), "quay")
    return seen
