"""Marks of moves given outright, against the handbooks' worked moves; rounding, resets, slack."""

import numpy as np
import pytest
from by_hand import a_rig, a_table
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.move.ease import Ease
from cropmove.rig.rig import Stop

# Animation-stand practice (Salt, Basic Animation Stand Techniques, 1977): cruise v = D / (N - a/2 -
# b/2), odd-number ramp step k = v (2k - 1) / 2a; the numbers are computed from that.
ODD_RAMP = [0.3, 0.9, 1.5, 2.1, 2.7, 3.3, 3.9, 4.5, 5.1, 5.7]


def test_a_fairing_of_ten_grows_by_odd_numbers(rig, table):
    boat = rig("boat", "subject sideways", start=0, end=300, ease="odd", ease_in=10, ease_out=10)
    marks = table(boat, frames=61)["boat"]
    assert marks.exact_step[1:11] == pytest.approx(ODD_RAMP)
    assert marks.exact_step[11:51] == pytest.approx(6.0)
    assert marks.exact[10] == pytest.approx(30)
    assert marks.reading[-1] == 300


def test_uneven_fairings_come_where_the_worked_move_does(rig, table):
    slow = rig("slider", "camera sideways", start=0, end=500, ease="odd", ease_in=8, ease_out=16)
    exact = table(slow, frames=49)["slider"].exact
    worked = {1: 0.8681, 4: 13.8889, 8: 55.5556, 24: 277.7778, 32: 388.8889, 47: 499.566}
    assert exact[list(worked)] == pytest.approx(list(worked.values()), abs=5e-4)


@pytest.mark.parametrize(
    ("travel", "frames", "ease_in", "steps"),
    [
        # Whole-number moves of the drawn-animation handbooks: 1..6, 4 x 7, 6..1 is 70 in 16 steps.
        (70, 16, 6, [1, 2, 3, 4, 5, 6, 7, 7, 7, 7, 6, 5, 4, 3, 2, 1]),
        (114, 24, 5, [1, 2, 3, 4, 5, *[6] * 14, 5, 4, 3, 2, 1]),
    ],
)
def test_evenly_growing_steps_come_out_whole(rig, table, travel, frames, ease_in, steps):
    it = rig(
        "it", "subject up", start=0, end=travel, ease="even", ease_in=ease_in, ease_out=ease_in
    )
    assert table(it, frames=frames + 1)["it"].exact_step[1:] == pytest.approx(steps)


def test_the_phases_are_told_step_by_step(rig, table):
    boat = rig("boat", "subject sideways", start=0, end=300, ease_in=10, ease_out=5)
    phase = table(boat, frames=61)["boat"].phase
    assert phase[0] == "start"
    assert phase[1:11] == ("ease in",) * 10
    assert phase[11:56] == ("cruise",) * 45
    assert phase[56:] == ("ease out",) * 5


def test_on_twos_marks_are_made_once_a_still_and_end_where_they_should(rig, table):
    boat = rig("boat", "subject sideways", start=0, end=240)
    marks = table(boat, frames=48, on=2)["boat"]
    assert len(marks) == 24
    assert marks.reading[[0, -1]].tolist() == [0, 240]


def test_a_hold_keeps_its_mark(rig, table):
    stops = (Stop(1, 0.0), Stop(13, 60.0), Stop(25, 60.0), Stop(37, 20.0))
    marks = table(rig("boat", "subject sideways", stops=stops), frames=40)["boat"]
    assert set(marks.count[12:25].tolist()) == {120}
    assert marks.phase[13:25] == ("hold",) * 12
    assert marks.reading[36:].tolist() == [20.0] * 4


def test_half_a_millimetre_makes_a_five_millimetre_step_uneven_by_a_tenth(rig, table):
    # Computed: neighbouring steps differ by one division, 0.5 of 5 mm.
    even = rig("it", "subject sideways", start=0, end=48 * 5.125, ease="none")
    marks = table(even, frames=49)["it"]
    assert marks.unevenness * marks.cruise == pytest.approx(0.5)
    assert marks.unevenness == pytest.approx(0.1, abs=0.003)


@given(
    end=st.floats(20, 900),
    rule=st.floats(60, 300),
    start=st.floats(0, 50),
    way=st.sampled_from(["there", "back"]),
)
def test_a_rule_laid_anew_reads_the_same_places(end, rule, start, way):
    ends = {"start": start, "end": end} if way == "there" else {"start": end, "end": start}
    marks = a_table(a_rig("it", "subject sideways", rule=rule, **ends), frames=61)["it"]
    if marks.step_beyond_rule:
        return
    read, longest = marks.read * 0.5, rule
    assert read.min() >= 0
    assert read.max() <= longest + 1e-9
    # Between resets the rule lies still; at one, the same place has two readings.
    shift, by_still = marks.read[0] - marks.count[0], {r.still: r for r in marks.resets}
    for still, count in enumerate(marks.count.tolist(), start=1):
        assert marks.read[still - 1] == count + shift
        if still in by_still:
            assert by_still[still].before == count + shift
            shift = by_still[still].after - count


def test_a_rule_that_is_long_enough_is_never_moved(rig, table):
    marks = table(rig("it", "subject sideways", start=0, end=300, rule=300))["it"]
    assert marks.resets == ()
    assert (marks.read == marks.count).all()


def test_slack_is_taken_up_from_one_side(rig, table):
    stops = (Stop(1, 0.0), Stop(13, 60.0), Stop(25, 0.0))
    there_and_back = rig("it", "subject sideways", stops=stops, backlash=0.8, approach="below")
    marks = table(there_and_back, frames=25)["it"]
    assert marks.overshoots.tolist()[0] == 14
    falling = np.flatnonzero(np.diff(marks.count) < 0) + 2
    assert marks.overshoots.tolist() == falling.tolist()
    # Past the mark by twice the slack at least, on the side from which it is approached.
    assert marks.read[13] * 0.5 - marks.past(14) * 0.5 >= 1.5
    assert not len(
        table(rig("it", "subject sideways", start=0, end=60, backlash=1.0))["it"].overshoots
    )


@given(
    out=st.floats(30, 280),
    backlash=st.floats(0.1, 6),
    rule=st.floats(60, 300),
    approach=st.sampled_from(["below", "above"]),
)
def test_what_is_gone_past_is_on_the_rule_too(out, backlash, rule, approach):
    stops = (Stop(1, 0.0), Stop(25, out), Stop(49, 0.0))
    words = {"stops": stops, "rule": rule, "backlash": backlash, "approach": approach}
    marks = a_table(a_rig("it", "subject up", **words), frames=49)["it"]
    assert not marks.step_beyond_rule
    for still in marks.overshoots.tolist():
        assert 0 <= marks.past(still) * 0.5 <= rule


def test_a_step_that_is_read_longer_than_its_rule_is_beyond_it(rig, table):
    # 10.3 mm are within a rule of 10.3; read to half a millimetre some are 10.5.
    it = rig("it", "subject up", start=0, end=48 * 10.3, ease="none", rule=10.3)
    marks = table(it)["it"]
    assert marks.step_beyond_rule
    assert marks.longest_reach == 10.5


def test_the_longest_eases_are_the_longest_whose_steps_can_be_set(rig, table):
    def least(ease_in, ease_out):
        it = rig("it", "subject sideways", start=0, end=60, ease_in=ease_in, ease_out=ease_out)
        return abs(table(it, frames=49)["it"].exact_step[1:]).min()

    slow = rig("it", "subject sideways", start=0, end=60, ease_in=16, ease_out=24)
    marks = table(slow, frames=49)["it"]
    assert len(marks.too_small)
    ease_in, ease_out = marks.longest_eases(marks.legs[0])
    assert least(ease_in, ease_out) >= 0.5 - 1e-9
    assert least(ease_in + 1, ease_out) < 0.5 or least(ease_in, ease_out + 1) < 0.5
    even = rig("it", "subject sideways", start=0, end=60, ease="ease-in-out")
    assert table(even)["it"].longest_eases(table(even)["it"].legs[0]) is None


@given(st.floats(-500, 500), st.floats(-500, 500), st.integers(5, 200), st.integers(1, 4))
def test_every_mark_is_within_half_a_division_of_its_place(start, end, frames, on):
    marks = a_table(a_rig("it", "camera up", start=start, end=end), frames=frames, on=on)["it"]
    assert abs(marks.residue).max() <= 0.25 + 1e-6
    assert marks.place[-1] == end
    assert marks.place[0] == start


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ({}, ""),
        ({"start": 0, "end": 1, "follows": "keys"}, "end, follows"),
        ({"end": 1}, "start"),
        ({"start": 0, "end": 1, "name": "keys"}, "name"),
        ({"start": 0, "end": 1, "rule": -1}, "rule"),
        ({"start": 0, "end": 1, "approach": "left"}, "approach"),
        ({"start": 0, "end": 1, "backlash": -1}, "backlash"),
        ({"start": 0, "end": 1, "ratio": 0}, "ratio"),
        ({"follows": "it"}, "follows"),
        ({"follows": "keys", "ease_in": 8}, "ease"),
        ({"stops": (Stop(9, 0.0), Stop(1, 5.0))}, "at"),
        ({"stops": (Stop(1, 0.0), Stop(9, 5.0), Stop(9, 0.0))}, "at"),
        ({"stops": (Stop(1, 0.0), Stop(9, 5.0)), "ease_out": 9}, "ease_in + ease_out"),
    ],
)
def test_a_rig_that_cannot_be_is_refused(rig, words, place):
    with pytest.raises(InputError) as refused:
        rig(words.pop("name", "it"), "camera sideways", **words)
    assert refused.value.complaints[0].where == place


def test_the_longest_eases_of_a_long_move_take_few_tries(rig, table, monkeypatch):
    # Eases of 700 and 1,100 frames that are shortened frame by frame ask for 1,800 tries.
    slow = rig("it", "subject sideways", start=0, end=4000)
    marks = table(slow, frames=4001)["it"]
    tries, progress = [], Ease.progress

    def counted(*given):
        tries.append(given)
        return progress(*given)

    monkeypatch.setattr(Ease, "progress", counted)
    ease_in, ease_out = marks.longest_eases(marks.legs[0])
    assert 0 < ease_in < 10
    assert 0 < ease_out < 10
    assert len(tries) < 100
