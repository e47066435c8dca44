"""Every check has a name, a reason and a source; findings come gravest first."""

from __future__ import annotations

import json
import re
from collections.abc import Callable

import pytest

from cropmove.checks.finding import Finding, Level, frames_text, runs_of
from cropmove.checks.registry import CHECKS, STOPPING, check_named, faults_left, findings_of
from cropmove.errors import InputError
from cropmove.shot import Shot


def test_every_check_is_filed_under_its_id_and_says_what_why_and_who() -> None:
    for id, check in CHECKS.items():
        assert check.id == id
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", id)
        assert check.title
        assert check.reason.endswith((".", "!"))
        assert check.source
        assert check_named(id) is check


def test_the_first_family_is_there() -> None:
    assert {
        "outside", "enlarged", "too-few-stills", "stills-differ", "number-missing",
        "strange-name", "spare-stills", "not-photographed",
    } <= set(CHECKS)  # fmt: skip


def test_an_unknown_check_is_refused_with_the_nearest() -> None:
    with pytest.raises(InputError, match='did you mean "enlarged"'):
        check_named("enlargd")


def test_of_many_checks_only_those_near_the_word_are_listed() -> None:
    with pytest.raises(InputError) as refused:
        check_named("zpi-pan")
    (complaint,) = refused.value.complaints
    assert complaint.rule == f"a check is one of: zip-pan, … ({len(CHECKS) - 1} more)"
    with pytest.raises(InputError, match=", ".join(CHECKS)):
        check_named("xyzzy")


def test_findings_come_gravest_first(key: Callable[..., object], shot: Callable[..., Shot]) -> None:
    found = findings_of(shot(key(1, 0, 0, 1500), key(25, 6000, 4000, 1500)))
    levels = [finding.level for finding in found]
    assert levels == sorted(levels, reverse=True)
    assert {"outside", "enlarged"} <= {finding.id for finding in found}


def test_no_finding_is_graver_than_its_check(
    key: Callable[..., object], shot: Callable[..., Shot]
) -> None:
    for finding in findings_of(shot(key(1, 0, 0, 1500), key(25, 6000, 4000, 1500))):
        assert finding.level <= CHECKS[finding.id].level


def test_json_is_the_whole_finding(key: Callable[..., object], shot: Callable[..., Shot]) -> None:
    for finding in findings_of(shot(key(1, 0, 0, 1500), key(25, 6000, 4000, 1500))):
        told = json.loads(json.dumps(finding.to_json(), allow_nan=False))
        assert set(told) == set(Finding.__dataclass_fields__)
        again = Finding(
            **told
            | {
                "level": Level[told["level"].upper()],
                "frames": tuple(map(tuple, told["frames"])),
            }
        )
        assert again == finding


def a_finding(id: str, level: Level) -> Finding:
    return Finding(id=id, level=level, what="w", remedy="r")


def test_faults_are_left_but_for_those_allowed_by_name() -> None:
    all_of = [
        a_finding("outside", Level.FAULT),
        a_finding("enlarged", Level.FAULT),
        a_finding("number-missing", Level.CAUTION),
        a_finding("spare-stills", Level.NOTE),
    ]
    assert [f.id for f in faults_left(all_of)] == ["outside", "enlarged"]
    assert [f.id for f in faults_left(all_of, ["outside"])] == ["enlarged"]
    assert faults_left(all_of, ["outside", "enlarged"]) == ()


def test_a_render_asks_just_the_checks_that_can_stop_it(
    key: Callable[..., object], shot: Callable[..., Shot]
) -> None:
    # What is moved by hand has no part in a picture: a rail too short does not keep it from a file.
    assert {check.id for check in STOPPING} == {
        "outside", "enlarged", "too-few-stills", "stills-differ", "odd-size", "alpha-lost",
    }  # fmt: skip
    jumps_off = shot(key(1, 3000, 2000, width=1000), key(4, 6000, 2000, width=1000))
    asked = findings_of(jumps_off, checks=STOPPING)
    assert asked == tuple(f for f in findings_of(jumps_off) if f.level is Level.FAULT)
    assert {f.id for f in asked} == {"outside", "enlarged"}


def test_allowing_what_is_no_check_is_refused() -> None:
    with pytest.raises(InputError, match='did you mean "outside"'):
        faults_left([], ["outsid"])


@pytest.mark.parametrize(
    ("numbers", "runs"),
    [([], ()), ([5], ((5, 5),)), ([1, 2, 4, 5, 6, 9], ((1, 2), (4, 6), (9, 9)))],
)
def test_numbers_are_told_as_runs(numbers: list[int], runs: tuple[tuple[int, int], ...]) -> None:
    assert runs_of(numbers) == runs


def test_many_runs_are_told_shortly() -> None:
    runs = [(n, n) for n in range(1, 40, 2)]
    assert frames_text(runs) == "frames 1, 3, 5, 7, 9, … 39"
    assert frames_text([(3, 3)], "number") == "number 3"


def test_findings_can_be_gathered_in_a_set() -> None:
    def finding(frame: int) -> Finding:
        return Finding(id="jolt", level=Level.NOTE, what="", remedy="", figures={"frame": frame})

    assert len({finding(1), finding(1), finding(2)}) == 2
