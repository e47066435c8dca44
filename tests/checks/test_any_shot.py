"""Laws that hold for whatever shot is checked."""

import json
from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from cropmove.checks.registry import CHECKS, findings_of
from cropmove.geometry import Size
from cropmove.move.ease import EASES
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.move.subject import Point, Subject
from cropmove.shot import Delivery, Shot, Stills

STILL = Size(6000, 4000)

framings = st.builds(
    Framing,
    x=st.floats(0, 6000),
    y=st.floats(0, 4000),
    width=st.floats(500, 6000),
    roll=st.sampled_from([0.0, 0.0, 3.5, -90.0]),
)
points = st.builds(
    Point,
    frame=st.just(1),
    x=st.floats(0, 6000),
    y=st.floats(0, 4000),
    width=st.floats(0, 3000),
    height=st.floats(0, 3000),
)


@st.composite
def shots(draw, fewest=1, most=5, lengths=st.none() | st.integers(1, 200)):  # noqa: B008
    frames = sorted(draw(st.sets(st.integers(1, 150), min_size=fewest, max_size=most)))
    keys = []
    for number, frame in enumerate(frames):
        ends = number in (0, len(frames) - 1)
        stop = ends or draw(st.booleans())
        ease = EASES[draw(st.sampled_from(["even", "smooth", "none"]))] if stop and number else None
        keys.append(Key(frame=frame, framing=draw(framings), stop=stop, ease=ease))
    found = [replace(draw(points), frame=f) for f in draw(st.sets(st.integers(1, 150), max_size=3))]
    found.sort(key=lambda point: point.frame)
    rates = [Fraction(24), Fraction(12), Fraction(24000, 1001), Fraction(60)]
    return Shot(
        name="any",
        stills=Stills(size=STILL),
        delivery=Delivery(
            size=draw(st.sampled_from([Size(1920, 1080), Size(999, 1001)])),
            kernel=draw(st.sampled_from([None, "crisp", "plain"])),
        ),
        keys=tuple(keys),
        on=draw(st.integers(1, 3)),
        fps=draw(st.sampled_from(rates)),
        frames=draw(lengths),
        subjects=(Subject(points=tuple(found)),) if found else (),
    )


@settings(deadline=None, max_examples=40)
@given(shots())
def test_every_finding_is_whole_and_inside_the_shot(shot):
    for finding in findings_of(shot):
        assert finding.level <= CHECKS[finding.id].level
        json.dumps(finding.to_json(), allow_nan=False)
        for first, last in finding.frames:
            assert 1 <= first <= last <= shot.length


def shifted(shot, by):
    return replace(
        shot,
        keys=tuple(
            replace(k, framing=replace(k.framing, x=k.framing.x + by[0], y=k.framing.y + by[1]))
            for k in shot.keys
        ),
    )


def wider(shot, times):
    return replace(
        shot,
        keys=tuple(
            replace(k, framing=replace(k.framing, width=k.framing.width * times)) for k in shot.keys
        ),
    )


@settings(deadline=None, max_examples=40)
@given(shots())
def test_a_subject_s_remedies_keep_it_in_whatever_the_move(shot):
    for finding in findings_of(shot):
        if not finding.id.startswith("subject-leaves") and finding.id != "too-tight":
            continue
        figures = finding.figures
        mended = [wider(shot, figures["wider"])]
        mended += [shifted(shot, figures["shift"])] if figures.get("shift") else []
        for one in mended:
            assert finding.id not in {f.id for f in findings_of(one)}


@settings(deadline=None, max_examples=30)
@given(shots(fewest=2, most=2, lengths=st.none()))
def test_more_steps_slow_any_straight_leg_down_enough(shot):
    for finding in findings_of(shot):
        if finding.id not in ("pace", "strobing", "zip-pan") or finding.figures["steps"] is None:
            continue
        last = replace(shot.keys[1], frame=shot.keys[0].frame + finding.figures["steps"])
        mended = replace(shot, keys=(shot.keys[0], last))
        assert finding.id not in {f.id for f in findings_of(mended)}
