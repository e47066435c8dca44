"""The shooting list as CSV and JSON."""

import csv
import io
import json

from by_hand import a_rig, a_table

from cropmove.sheets.shooting_list.data import list_csv, list_json


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
