"""The chart: steps, scales, phases, limits and findings, where they belong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from written import overlapping, words_on

from cropmove.checks.finding import Finding, Level
from cropmove.move.ease import ease_named
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.sheets import chart as drawing
from cropmove.sheets.chart import Limit, chart, nice_steps, phases
from cropmove.sheets.style import MARGIN
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
    told = "about the whole shot: note: spare-stills · about some frames too: note: enlarged"
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


def test_however_much_is_found_the_last_line_stays_on_the_paper(push_in: Shot, a4: tuple) -> None:
    found = [_finding(f"a-check-with-a-name-{n}", Level.NOTE, (n, n)) for n in range(1, 40)]
    sheet = chart(push_in, push_in.course(), found, (), a4)
    assert max(box[2] for _, box in words_on(sheet)) < a4[0] - MARGIN + 0.5


def test_a_finding_about_one_frame_of_thousands_can_be_seen(
    shot_of: Callable[..., Shot], a4: tuple, drawn
) -> None:
    """Half a millimetre is seen at arm's length: common practice, no source."""
    shot = shot_of(
        Key(frame=1, framing=Framing(x=3000, y=2000, width=5000)),
        Key(frame=2000, framing=Framing(x=2600, y=1800, width=2500)),
    )
    found = (_finding("no-hold", Level.CAUTION, (1, 1), (2000, 2000)),)
    chart(shot, shot.course(), found, (), a4)
    bars = [points for points, pen in drawn.lines if pen.width == 1.6]
    assert [float(np.ptp(bar[:, 0])) >= 0.5 for bar in bars] == [True, True]


def test_keys_passed_one_after_the_other_are_named_beside_each_other(
    shot_of: Callable[..., Shot], a4: tuple
) -> None:
    keys = [Key(frame=1, framing=Framing(x=2000, y=2000, width=3000))]
    keys += [
        Key(frame=2 * n, framing=Framing(x=2000 + 40 * n, y=2000 + n % 2 * 60, width=3000),
            stop=False)
        for n in range(1, 21)
    ]  # fmt: skip
    keys.append(Key(frame=60, framing=Framing(x=3500, y=2000, width=3000)))
    shot = shot_of(*keys)
    assert overlapping(chart(shot, shot.course(), (), (SEVEN,), a4)) == []


def test_a_move_of_a_hundredth_of_a_pixel_has_its_peak_and_its_numbers_apart(
    shot_of: Callable[..., Shot], a4: tuple, drawn
) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=3000, y=2000, width=2400)),
        Key(frame=48, framing=Framing(x=3000.4, y=2000.2, width=2399.6)),
    )
    course = shot.course()
    sheet = chart(shot, course, (), (SEVEN,), a4)
    assert overlapping(sheet) == []
    peak = next(words for words in drawn.words() if words.startswith("peak"))
    assert float(peak.split()[1]) == pytest.approx(float(course.step.max()), rel=0.05)


def test_the_peak_of_an_even_pan_is_told_at_its_beginning(
    shot_of: Callable[..., Shot], a4: tuple, drawn
) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=2000, y=2000, width=2400)),
        Key(frame=24, framing=Framing(x=3000, y=2000.3, width=2400), ease=ease_named("none")),
    )
    assert int(np.argmax(shot.course().step)) != 1  # by the last bit alone
    chart(shot, shot.course(), (), (), a4)
    assert "into frame 2" in drawn.words()


def test_no_line_goes_through_the_first_scale(
    shot_of: Callable[..., Shot], a4: tuple, drawn
) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=3000, y=2000, width=2000)),
        Key(frame=48, framing=Framing(x=3000, y=2000, width=1950)),
    )
    chart(shot, shot.course(), (), (), a4)
    _, foot = drawn.at("0.960")
    limit = next(line for line, pen in drawn.lines if pen == drawing.LIMIT)
    # Figures of 7.5 points; a point is 25.4 / 72 mm (ISO 32000-1).
    assert not foot - 7.5 * 0.73 * 25.4 / 72 < limit[0, 1] < foot


def test_limits_far_above_stand_beside_the_curve_not_on_it(push_in: Shot, a4: tuple) -> None:
    far = Limit(value=4000, name="far off")
    sheet = chart(push_in, push_in.course(), (), (far,), a4)
    (box,) = [box for words, box in words_on(sheet) if "far above" in words]
    assert box[0] > a4[0] - MARGIN - drawing._RIGHT


@pytest.mark.parametrize("frames", [3, 48, 53, 600, 2000, 4999])
def test_the_axis_ends_with_the_last_frame(
    shot_of: Callable[..., Shot], a4: tuple, drawn, frames: int
) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=3000, y=2000, width=5000)),
        Key(frame=frames, framing=Framing(x=2600, y=1800, width=2500)),
    )
    sheet = chart(shot, shot.course(), (), (), a4)
    assert str(frames) in drawn.words()
    assert overlapping(sheet) == []
