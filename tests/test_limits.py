"""Limits are data: each has a value, a range, a unit, a reason and a source."""

from dataclasses import fields

import numpy as np
import pytest

from cropmove.errors import InputError
from cropmove.limits import LIMITS, Limits


def test_every_limit_is_described_and_no_others():
    assert list(LIMITS) == [field.name for field in fields(Limits)]


@pytest.mark.parametrize("name", LIMITS)
def test_a_limit_is_printable_and_its_usual_value_in_range(name):
    limit = LIMITS[name]
    assert limit.low <= limit.value <= limit.high
    assert limit.unit
    assert limit.reason.endswith(".")
    assert limit.source
    assert getattr(Limits(), name) == limit.value


@pytest.mark.parametrize("name", LIMITS)
def test_each_can_be_changed_within_its_range_only(name):
    limit = LIMITS[name]
    assert Limits.of({name: limit.low}).changed() == {name: limit.low}
    assert getattr(Limits.of({name: limit.high}), name) == limit.high
    for value in (limit.low - 1, limit.high + 1, float("nan"), "7", True):
        with pytest.raises(InputError, match=name):
            Limits.of({name: value})


def test_all_bad_values_are_told_at_once():
    with pytest.raises(InputError) as error:
        Limits(crossing=0, hold=-1)
    assert [c.where for c in error.value.complaints] == ["crossing", "hold"]


def test_the_traditions_are_the_usual_values():
    # Seven seconds: cinematographers' tradition. 0.1 in and 0.25 in on a field 12 in wide:
    # drawn-animation handbooks. 7 %: De Bruyn & Orban, Vision Research 28(12), 1988.
    limits = Limits()
    assert limits.crossing == 7
    assert limits.strobing == pytest.approx(100 * 0.1 / 12, abs=5e-4)
    assert limits.zip_pan == pytest.approx(100 * 0.25 / 12, abs=5e-4)
    assert limits.just_noticed == 7


def test_the_safe_areas_are_those_of_the_standards_of_today() -> None:
    """SMPTE ST 2046-1:2009 has 93 % and 90 %; EBU R 95 leaves out 3.5 % and 5 % at each edge."""
    assert (Limits().action_safe, Limits().title_safe) == (93, 90)
    assert (Limits().action_safe, Limits().title_safe) == (100 - 2 * 3.5, 100 - 2 * 5)


@pytest.mark.parametrize("kind", [np.int64, np.float32, np.float64])
def test_a_limit_may_come_from_an_array(kind: type) -> None:
    # Python, numbers.Real: the abstract base class that numpy's numbers are registered with.
    assert repr(Limits(crossing=kind(5))) == repr(Limits(crossing=5))
