"""The rows of a shooting list: a still each, with what to mind."""

import pytest
from by_hand import a_rig, a_table

from cropmove.rig.rig import Stop
from cropmove.sheets.shooting_list.rows import rows_of


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
