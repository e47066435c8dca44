"""The chart: steps, scales, phases, limits and findings, where they belong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropmove.checks.finding import Finding, Level
from cropmove.move.ease import ease_named
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.sheets import chart as drawing
from cropmove.sheets.chart import Limit, chart, nice_steps, phases
from cropmove.shot import Shot

SEVEN = Limit(value=1920 / 168, name="seven-second rule")


def _finding(id: str, level: Level, *frames: tuple[int, int]) -> Finding:
    return Finding(id=id, level=level, frames=frames, what="what is wrong", remedy="what to do")


def _axes(drawn) -> tuple[float, float]:
    """Where frames 10 and 20 are marked, in millimetres."""
    ten, twenty = (
        max((place for words, place in drawn.texts if words == frame), key=lambda place: place[1])
        for frame in ("10", "20")
    )
    return ten[0], twenty[0]


def test_the_steps_are_drawn_as_the_course_has_them(push_in: Shot, a4: tuple, drawn) -> None:
    course = push_in.course()
    chart(push_in, course, (), (SEVEN,), a4)
    stairs = drawn.by_pen(drawing.STEP)[0]
    heights = stairs[0, 1] - stairs[::2, 1]
    expected = course.step[1:] - course.step[1]
    ratio = np.ptp(heights) / np.ptp(expected)
    assert heights == pytest.approx(expected * ratio, abs=1e-6)
    ten, twenty = _axes(drawn)
    # The step into frame 11 runs from frame 10 to frame 11.
    assert stairs[18:20, 0] == pytest.approx([ten, ten + (twenty - ten) / 10])


def test_the_scale_is_drawn_against_its_limit(push_in: Shot, a4: tuple, drawn) -> None:
    course = push_in.course()
    chart(push_in, course, (), (), a4)
    curve = drawn.by_pen(drawing.SCALE)[0]
    limit = next(line for line, pen in drawn.lines if pen == drawing.LIMIT)
    ground = limit[0, 1] + (curve[0, 1] - limit[0, 1]) / (1 - course.scale[0])
    heights = (ground - curve[:, 1]) / (ground - limit[0, 1])
    assert heights == pytest.approx(course.scale, abs=1e-9)
    assert f"{course.scale[-1]:.3f}" in drawn.words()


def test_the_seven_second_rule_lies_at_its_published_number(
    push_in: Shot, a4: tuple, drawn
) -> None:
    """11.4286 px on 1920: 7 s to cross at 24 a second (cinematographers' tradition)."""
    chart(push_in, push_in.course(), (), (SEVEN,), a4)
    assert "11.43 px" in drawn.words()


def test_a_limit_far_above_is_named_but_does_not_flatten_the_curve(
    shot_of: Callable[..., Shot], a4: tuple, drawn
) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=3000, y=2000, width=3000)),
        Key(frame=49, framing=Framing(x=3050, y=2000, width=3000)),
    )
    course = shot.course()
    chart(shot, course, (), (SEVEN,), a4)
    stairs = drawn.by_pen(drawing.STEP)[0]
    assert np.ptp(stairs[:, 1]) > 20
    assert any("far above" in words for words in drawn.words())


def test_findings_are_pinned_to_their_frames(push_in: Shot, a4: tuple, drawn) -> None:
    found = (
        _finding("enlarged", Level.FAULT, (10, 20)),
        _finding("pace", Level.CAUTION, (1, 1), (30, 31)),
    )
    chart(push_in, push_in.course(), found, (), a4)
    ten, twenty = _axes(drawn)
    frame = (twenty - ten) / 10
    bars = [points for points, pen in drawn.lines if pen.width in (2.6, 1.6) and len(points) == 2]
    assert bars[0][:, 0] == pytest.approx([ten - frame / 2, twenty + frame / 2])
    assert [np.ptp(bar[:, 0]) for bar in bars[1:]] == pytest.approx([frame, 2 * frame])
    assert {"enlarged", "pace", "fault", "caution"} <= drawn.words()


def test_graver_findings_are_drawn_thicker() -> None:
    thick = [drawing._PIN[level][1] for level in (Level.NOTE, Level.CAUTION, Level.FAULT)]
    assert thick == sorted(set(thick))


def test_findings_about_the_whole_shot_are_named(push_in: Shot, a4: tuple, drawn) -> None:
    chart(push_in, push_in.course(), (_finding("spare-stills", Level.NOTE),), (), a4)
    assert "about the whole shot: note: spare-stills" in drawn.words()


def test_findings_there_is_no_room_to_pin_are_not_about_the_whole_shot(
    push_in: Shot, a4: tuple, drawn
) -> None:
    ids = ["pace", "strobing", "zip-pan", "jolt", "pulsing", "softening", "no-hold", "outside"]
    found = [_finding(id, Level.NOTE, (3, 9)) for id in [*ids, "enlarged"]]
    chart(push_in, push_in.course(), [*found, _finding("spare-stills", Level.NOTE)], (), a4)
    told = "about the whole shot: note: spare-stills; about some frames too: note: enlarged"
    assert told in drawn.words()


def test_nothing_to_mend_is_said(push_in: Shot, a4: tuple, drawn) -> None:
    chart(push_in, push_in.course(), (), (), a4)
    assert "the checks find nothing to mend" in drawn.words()


def test_ease_and_cruise_are_marked(push_in: Shot, a4: tuple, drawn) -> None:
    chart(push_in, push_in.course(), (), (), a4)
    assert {"ease in 8", "cruise", "ease out 14"} <= drawn.words()


@pytest.mark.parametrize("frames", [2, 3, 7, 48, 480, 5000])
def test_it_holds_shots_of_every_length(
    shot_of: Callable[..., Shot], a4: tuple, drawn, inside, frames: int
) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=3000, y=2000, width=5000)),
        Key(frame=frames, framing=Framing(x=2600, y=1800, width=2500)),
    )
    found = [_finding(f"check-{n}", Level.CAUTION, (1, 2)) for n in range(12)]
    chart(shot, shot.course(), found, (SEVEN,), a4).png(dpi=50)
    assert inside(drawn) == []


def test_a_single_frame_has_a_chart_too(shot_of: Callable[..., Shot], a4: tuple, drawn) -> None:
    shot = shot_of(Key(frame=1, framing=Framing(x=3000, y=2000, width=5000)))
    chart(shot, shot.course(), (), (SEVEN,), a4).png(dpi=50)
    assert "no step" in drawn.words()


def test_phases_cover_the_shot_without_a_gap(shot_of: Callable[..., Shot]) -> None:
    wide, tight = Framing(x=3000, y=2000, width=5000), Framing(x=2600, y=1800, width=2500)
    shot = shot_of(
        Key(frame=5, framing=wide),
        Key(frame=30, framing=tight, ease_in=6, ease_out=9),
        Key(frame=40, framing=tight),
        Key(frame=60, framing=wide, ease=ease_named("ease-in-out")),
        frames=70,
    )
    found = phases(shot, shot.course())
    assert [phase.kind for phase in found] == [
        "hold", "ease", "cruise", "ease", "hold", "ease", "hold",
    ]  # fmt: skip
    assert found[0].first == 1
    assert found[-1].last == 70
    assert all(a.last == b.first for a, b in pairwise(found))


def test_phases_end_with_a_shot_that_is_cut_short(push_in: Shot) -> None:
    shot = replace(push_in, frames=20)
    assert phases(shot, shot.course())[-1].last <= 20


@given(st.floats(1e-6, 1e6))
def test_ticks_are_few_and_cover_the_range(most: float) -> None:
    ticks = nice_steps(most)
    assert 2 <= len(ticks) <= 9
    assert ticks[0] == 0
    assert ticks[-1] >= most * (1 - 1e-9)


def test_a_key_passed_is_marked_unless_the_shot_ends_before_it(
    push_in: Shot, a4: tuple, drawn
) -> None:
    passed = Key(frame=40, framing=Framing(x=2400, y=1800, width=2900), stop=False)
    whole = replace(push_in, keys=(push_in.keys[0], passed, push_in.keys[1]))
    for shot in (replace(whole, frames=37), whole):
        drawn.texts.clear()
        chart(shot, shot.course(), (), (SEVEN,), a4)
        assert ("key passed, 40" in drawn.words()) == (shot.length > 40)
