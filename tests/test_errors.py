"""What cropmove says when it says no."""

from __future__ import annotations

import pickle

import pytest

from cropmove.errors import (
    Complaint,
    Complaints,
    CropmoveError,
    InputError,
    MachineError,
    MoveFault,
    complain,
    nearest,
    placed,
    unknown_word,
)

ONE = Complaint(where="width", value="0", rule="a width is above 0", remedy="make it wider")
TWO = Complaint(where="fps", rule="a rate is above 0", remedy="write fps = 24")


@pytest.mark.parametrize("kind", [InputError, MachineError, MoveFault])
def test_an_error_crosses_a_process_whole(kind: type[CropmoveError]) -> None:
    error = pickle.loads(pickle.dumps(kind(ONE, TWO)))
    assert type(error) is kind
    assert error.complaints == (ONE, TWO)
    assert str(error) == str(kind(ONE, TWO))


def test_the_exit_code_says_who_must_act() -> None:
    assert (InputError.exit_code, MachineError.exit_code, MoveFault.exit_code) == (2, 2, 1)


def test_a_complaint_says_where_what_why_and_what_to_do() -> None:
    assert str(ONE) == "width = 0\n  rule:   a width is above 0\n  remedy: make it wider"
    assert str(TWO).splitlines()[0] == "fps"


def test_a_place_is_named_from_outside_in() -> None:
    error = InputError(ONE, TWO).within("key 2").within("quay.toml")
    assert [c.where for c in error.complaints] == [
        "quay.toml, key 2, width",
        "quay.toml, key 2, fps",
    ]
    assert type(MoveFault(ONE).within("x")) is MoveFault
    assert Complaint(where="", rule="r", remedy="m").within("key 1").where == "key 1"


def test_a_long_value_is_shown_short() -> None:
    value = complain("x", list(range(1000)), "r", "m").complaints[0].value
    assert len(value) == 60
    assert value.endswith("...")
    assert len(complain("x", "n" * 5000, "r", "m").complaints[0].value) == 300


def test_a_number_that_python_does_not_write_is_told_all_the_same() -> None:
    for value in (16**5000, [16**5000]):
        assert "digits" in str(complain("x", value, "r", "m"))


def test_the_nearest_word_is_near_or_none() -> None:
    assert nearest("CENTER", ["centre", "width"]) == "centre"
    assert nearest("zebra", ["centre", "width"]) is None
    assert nearest("width", []) is None


def test_an_unknown_word_gets_an_example_where_none_is_near() -> None:
    (complaint,) = unknown_word("key 1", "zebra", ["even", "odd"], "an ease").complaints
    assert complaint.remedy == 'write one of them, such as "even"'


def test_a_place_is_said_of_input_alone() -> None:
    with pytest.raises(InputError) as refused, placed("quay.toml"):
        raise InputError(ONE)
    assert refused.value.complaints[0].where == "quay.toml, width"
    with pytest.raises(MachineError) as failed, placed("quay.toml"):
        raise MachineError(ONE)
    assert failed.value.complaints == (ONE,)


def test_complaints_are_collected_and_raised_as_one() -> None:
    found = Complaints()
    with found.at("key 1"):
        raise InputError(ONE)
    with found.at():
        raise InputError(TWO)
    with pytest.raises(InputError) as refused:
        found.settle("quay.toml")
    assert [c.where for c in refused.value.complaints] == [
        "quay.toml, key 1, width",
        "quay.toml, fps",
    ]


def test_nothing_collected_raises_nothing() -> None:
    found = Complaints()
    with found.at("key 1"):
        pass
    assert found.settle() is None
    assert found.all == []


def test_a_bug_is_not_collected() -> None:
    with pytest.raises(ZeroDivisionError), Complaints().at("key 1"):
        raise ZeroDivisionError
