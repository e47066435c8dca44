"""The shooting list: rows, CSV, JSON and paper."""

import csv
import io
import json

import pypdfium2
import pytest
from by_hand import a_rig, a_table
from written import overlapping, words_on

from cropmove.rig.rig import Stop
from cropmove.sheets.paper import PAPERS, pdf, text_width
from cropmove.sheets.shooting_list import list_csv, list_json, list_pages, rows_of


@pytest.fixture
def both():
    boat = a_rig("boat", "subject sideways", start=0, end=240, ease_in=12, ease_out=20)
    slider = a_rig("slider", "camera sideways", follows="boat", ratio=0.9, rule=150, start=5)
    return a_table(boat, slider, frames=97, on=2)


def test_there_is_a_row_a_still_with_its_frames(both):
    rows = rows_of(both)
    assert [row.still for row in rows] == list(range(1, 50))
    assert rows[0].frames == (1, 2)
    assert rows[-1].frames == (97, 97)
    assert rows[0].notes == ("start",)
    assert "end" in rows[-1].notes


def test_readings_are_those_of_the_marks(both):
    for number, marks in enumerate(both.moved):
        cells = [row.cells[number] for row in rows_of(both)]
        readings = [float(cell.reading) for cell in cells]
        assert readings == pytest.approx(marks.read * 0.5)
        # Steps are what the thing moves by, also where its rule was shifted.
        steps = [float(cell.step.replace("−", "-") or 0) for cell in cells]
        assert steps == pytest.approx(marks.step)


def test_a_reset_is_told_on_its_still(both):
    (reset, *_) = both["slider"].resets
    (note,) = [n for n in rows_of(both)[reset.still - 1].notes if "shift" in n]
    assert note.startswith("slider: ")
    assert note.endswith(both["slider"].rig.scale.text(reset.after))


def test_an_overshoot_says_how_far(both):
    stops = (Stop(1, 0.0), Stop(9, 60.0), Stop(17, 0.0))
    back = a_rig("it", "subject up", stops=stops, backlash=1.0, approach="below")
    row = rows_of(a_table(back, frames=17))[9]
    assert row.notes[0].startswith("past it to ")
    past = float(row.notes[0].split("to ")[1].split(",")[0])
    assert past < float(row.cells[0].reading)


def test_csv_has_a_row_a_frame_and_says_what_repeats(both):
    rows = list(csv.DictReader(io.StringIO(list_csv(both))))
    assert [int(row["frame"]) for row in rows] == list(range(1, 98))
    assert {row["moves"] for row in rows[1::2]} == {"hold"}
    assert float(rows[-1]["boat reading"]) == 240
    assert float(rows[10]["boat exact"]) == both["boat"].exact[5]
    assert "−" not in list_csv(both)


def test_csv_tells_inches_in_inches():
    # An inch is 25.4 mm (NIST SP 811).
    table = a_table(a_rig("it", "camera up", start=0, end=254, inches=True), frames=2)
    last = list(csv.DictReader(io.StringIO(list_csv(table))))[-1]
    assert (last["it reading"], float(last["it exact"])) == ("10", 10.0)


def test_json_is_complete_and_plain(both):
    data = json.loads(json.dumps(list_json(both, "quay")))
    assert len(data["stills"]) == 49
    slider = data["rigs"][1]
    assert slider["reading"] == both["slider"].reading.tolist()
    assert slider["resets"]
    assert any("Local codes" in text for text in data["cautions"])


@pytest.mark.parametrize("paper", list(PAPERS))
def test_every_still_is_on_paper_once_in_order_beside_its_reading(both, paper):
    pages = list_pages(both, PAPERS[paper], title="quay")
    words = [
        (item.text, item.size)
        for page in pages
        for item in page.items
        if hasattr(item, "text") and item.size == 14 and not item.bold
    ]
    assert [text for text, _ in words] == [str(n) for n in range(1, 50)]
    document = pypdfium2.PdfDocument(pdf(pages, "list"))
    text = "".join(page.get_textpage().get_text_range() for page in document)
    assert text.count("240.0") >= 1
    assert "Before you start" in text


def test_the_points_of_readings_stand_under_one_another():
    """Decimal points in a line: common practice, no source."""
    table = a_table(a_rig("boat", "subject sideways", start=-5, end=240), frames=97, on=2)
    readings = {row.cells[0].reading for row in rows_of(table)}
    assert {len(reading) for reading in readings} == {3, 4, 5}
    ends = [
        box[2]
        for page in list_pages(table, PAPERS["a4"], title="quay")
        for words, box in words_on(pdf([page], "list"))
        if words in readings
    ]
    assert len(ends) >= 49
    assert max(ends) - min(ends) < 0.5


def test_fractions_are_read_from_the_left():
    table = a_table(a_rig("dolly", "camera in", start=0, end=400, inches=True), frames=97, on=2)
    readings = {row.cells[0].reading for row in rows_of(table)}
    assert any("/" in reading for reading in readings)
    starts = [
        item.at[0]
        for page in list_pages(table, PAPERS["a4"], title="quay")
        for item in page.items
        if getattr(item, "bold", False) and item.text in readings
    ]
    assert len(set(starts)) == 1


def test_readings_are_big_enough_for_an_arm_s_length(both):
    # 15 points and more for figures read at 70 cm: common practice, no source.
    figures = [
        item.size
        for page in list_pages(both, PAPERS["a4"], title="quay")
        for item in page.items
        if getattr(item, "bold", False) and item.text.replace(".", "").isdigit()
    ]
    assert min(figures) >= 15


def test_nothing_on_a_page_stands_beyond_its_margins_or_over_another_row():
    things = [a_rig(f"thing {n}", "subject up", start=0, end=100 + n) for n in range(8)]
    pages = list_pages(a_table(*things, frames=60), PAPERS["letter"], title="quay")
    for page in pages:
        for item in page.items:
            for x, y in getattr(item, "points", [getattr(item, "at", (0, 0))]):
                assert 11 < x < page.width - 11
                assert 11 < y < page.height - 7


def test_the_frames_of_a_still_stand_between_its_number_and_the_first_reading(both):
    (page, *_) = list_pages(both, PAPERS["a4"], title="quay")
    words = [item for item in page.items if hasattr(item, "text")]
    still, frames = (next(w for w in words if w.text == text) for text in ("2", "3–4"))
    reading = next(w for w in words if w.at[1] == pytest.approx(frames.at[1], abs=2) and w.bold)
    assert still.at[0] < frames.at[0]
    assert frames.at[0] + text_width(frames.text, frames.size) < reading.at[0]


def test_inches_and_turns_are_as_big_as_millimetres_all_down_a_column():
    # 15 points and more for figures read at 70 cm: common practice, no source.
    for rig in (
        a_rig("dolly", "camera in", start=0, end=4000, inches=True),
        a_rig("lift", "camera up", start=0, end=50, thread=1.25),
    ):
        table = a_table(rig, frames=241, on=2)
        readings = {row.cells[0].reading for row in rows_of(table)}
        sizes = {
            item.size
            for page in list_pages(table, PAPERS["a4"], title="quay")
            for item in page.items
            if getattr(item, "bold", False) and item.text in readings
        }
        assert len(sizes) == 1
        assert min(sizes) >= 15


LONG = "A kettle that would not boil before the guests arrived, second attempt with the blue cup"


@pytest.mark.parametrize("count", [1, 3, 7])
def test_long_names_stay_on_the_page_and_apart(count):
    names = [f"{n} chipped cup from grandma's old cupboard" for n in range(count)]
    things = [a_rig(name[:40], "subject up", start=0, end=100) for name in names]
    pages = list_pages(a_table(*things, frames=60), PAPERS["a4"], title=LONG)
    printed = pdf(pages, "list")
    for number, page in enumerate(pages):
        assert overlapping(printed, number) == []
        assert max(box[2] for _, box in words_on(printed, number)) < page.width - 11.5
        assert min(box[0] for _, box in words_on(printed, number)) > 11.5
