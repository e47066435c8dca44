"""The overview: what is drawn on the still, and where."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO

import numpy as np
import pytest
from PIL import Image
from written import overlapping

from cropmove.limits import Limits
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.move.subject import Point, Subject
from cropmove.sheets import overview as drawing
from cropmove.sheets.overview import even_stride, overview
from cropmove.sheets.style import HEAD, MARGIN
from cropmove.shot import Delivery, Shot

PICTURE = np.full((400, 600, 3), 120, np.uint8)


def _on_still(points: np.ndarray) -> np.ndarray:
    """Millimetres of an overview on A4 of a still 6000 x 4000, back to pixels of the still.

    Worked out by hand: the still is as wide as the room beside the explanations allows.
    """
    across = 297 - 2 * MARGIN - 46 - 7
    return (points - np.array([MARGIN, HEAD])) * 6000 / across


def test_the_first_and_the_last_framing_are_drawn_where_they_are(
    push_in: Shot, a4: tuple, drawn
) -> None:
    course = push_in.course()
    overview(push_in, course, PICTURE, a4)
    for frame, pen in ((1, drawing.FIRST), (49, drawing.LAST)):
        box = drawn.by_pen(pen)[0]
        assert _on_still(box) == pytest.approx(course[frame].corners(course.delivery), abs=1e-6)


def test_a_rolled_framing_is_drawn_rolled(shot_of: Callable[..., Shot], a4: tuple, drawn) -> None:
    shot = shot_of(Key(frame=1, framing=Framing(x=3000, y=2000, width=3000, roll=10)))
    course = shot.course()
    overview(shot, course, PICTURE, a4)
    box = drawn.by_pen(drawing.FIRST)[0]
    edge = box[1] - box[0]
    assert np.degrees(np.arctan2(edge[1], edge[0])) == pytest.approx(10)


def test_the_closest_framing_allowed_is_as_wide_as_the_delivery_over_the_scale(
    push_in: Shot, a4: tuple, drawn
) -> None:
    """1920 pixels at scale 1, 1280 at 1.5: no enlargement means width >= delivery, computed."""
    for scale, width in ((1.0, 1920), (1.5, 1280)):
        drawn.lines.clear()
        delivery = Delivery(size=push_in.delivery.size, max_scale=scale)
        shot = replace(push_in, delivery=delivery)
        overview(shot, shot.course(), PICTURE, a4)
        box = _on_still(drawn.by_pen(drawing.CLOSEST)[0])
        assert np.ptp(box[:, 0]) == pytest.approx(width)
    assert any("1280 px" in words for words in drawn.words())


def test_the_safe_areas_are_those_of_the_standards(push_in: Shot, a4: tuple, drawn) -> None:
    """93 and 90 % of the frame: SMPTE ST 2046-1:2009; EBU R 95."""
    course = push_in.course()
    overview(push_in, course, PICTURE, a4)
    for pen, share in ((drawing.ACTION, 0.93), (drawing.TITLED, 0.90)):
        box = _on_still(drawn.by_pen(pen)[0])
        assert np.ptp(box, axis=0) == pytest.approx([2200 * share, 2200 * share * 9 / 16])
        assert box.mean(axis=0) == pytest.approx([2200, 1700])


def test_the_safe_areas_follow_the_shots_own_limits(push_in: Shot, a4: tuple, drawn) -> None:
    shot = replace(push_in, limits=Limits(action_safe=80))
    overview(shot, shot.course(), PICTURE, a4)
    assert np.ptp(_on_still(drawn.by_pen(drawing.ACTION)[0])[:, 0]) == pytest.approx(1760)
    assert "action safe, 80 % of the" in " ".join(w for w, _ in drawn.texts)


def test_the_way_of_the_centre_has_a_tick_for_each_frame(push_in: Shot, a4: tuple, drawn) -> None:
    course = push_in.course()
    overview(push_in, course, PICTURE, a4)
    ticks = next(t for t in drawn.ticks if len(t) == 49)
    assert _on_still(ticks.mean(axis=1)) == pytest.approx(course.rows[:, :2], abs=1e-6)
    assert {"1", "49"} <= drawn.words()


@pytest.mark.parametrize(
    ("distance", "told"),
    [(0, "it stays"), (3, "it keeps within 3 px"), (0.5, "it keeps within 0.5 px")],
)
def test_a_centre_that_goes_a_little_is_not_said_to_stay(
    shot_of: Callable[..., Shot], a4: tuple, drawn, distance: float, told: str
) -> None:
    wide, tight = (Framing(x=3000 + x, y=2000, width=w) for x, w in ((0, 3000), (distance, 2500)))
    shot = shot_of(Key(frame=1, framing=wide), Key(frame=49, framing=tight))
    overview(shot, shot.course(), PICTURE, a4)
    said = " ".join(words for words, _ in drawn.texts)
    assert f"centre of the framings: {told}" in said


def test_a_passed_key_and_a_stop_are_told_apart(
    shot_of: Callable[..., Shot], a4: tuple, drawn
) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=3000, y=2000, width=5000)),
        Key(frame=20, framing=Framing(x=2500, y=2200, width=4000), stop=False),
        Key(frame=40, framing=Framing(x=2200, y=1700, width=3000)),
        Key(frame=60, framing=Framing(x=3600, y=1500, width=2000)),
    )
    overview(shot, shot.course(), PICTURE, a4)
    assert {"20  key, passed", "40  key", "1  first", "60  last"} <= drawn.words()
    assert len(drawn.by_pen(drawing.KEY)) >= 2


def test_a_subject_is_drawn_at_both_ends_and_named(push_in: Shot, a4: tuple, drawn) -> None:
    boat = Subject(
        name="boat",
        points=(
            Point(frame=1, x=1000, y=1500, width=400, height=200),
            Point(frame=49, x=2500, y=1500, width=400, height=200),
        ),
    )
    shot = replace(push_in, subjects=(boat,))
    overview(shot, shot.course(), PICTURE, a4)
    boxes = [_on_still(box).mean(axis=0) for box in drawn.by_pen(drawing.SUBJECT)[:2]]
    assert boxes == [pytest.approx([1000, 1500]), pytest.approx([2500, 1500])]
    assert {"boat, frame 1", "boat, frame 49"} <= drawn.words()


def test_a_subjects_box_is_told_from_a_framing_without_colour(
    push_in: Shot, a4: tuple, drawn
) -> None:
    boat = Subject(name="boat", points=(Point(frame=1, x=2000, y=1500, width=400, height=200),))
    shot = replace(push_in, subjects=(boat,))
    overview(shot, shot.course(), PICTURE, a4)
    box, *_ = (_on_still(points) for points in drawn.by_pen(drawing.SUBJECT))
    # As wide and as high as it is, with its corners taken off.
    assert np.ptp(box, axis=0) == pytest.approx([400, 200])
    corners = np.array([(1800, 1400), (2200, 1400), (2200, 1600), (1800, 1600)])
    nearest = np.hypot(*(box[:, None] - corners).transpose(2, 0, 1)).min(axis=0)
    assert (nearest > 5).all()
    assert "boat" in drawn.words()


def test_a_framing_that_leaves_the_still_is_shown_beyond_its_edge(
    shot_of: Callable[..., Shot], a4: tuple, drawn, inside
) -> None:
    shot = shot_of(Key(frame=1, framing=Framing(x=500, y=2000, width=4000)))
    overview(shot, shot.course(), PICTURE, a4)
    box = drawn.by_pen(drawing.FIRST)[0]
    assert box[:, 0].min() == pytest.approx(MARGIN)
    assert inside(drawn) == []


def test_a_framing_miles_away_does_not_make_the_still_a_speck(
    shot_of: Callable[..., Shot], a4: tuple
) -> None:
    shot = shot_of(Key(frame=1, framing=Framing(x=1e6, y=2000, width=4000)))
    white = np.full((400, 600, 3), 0, np.uint8)
    sheet = overview(shot, shot.course(), white, a4)
    pixels = np.asarray(Image.open(BytesIO(sheet.png(dpi=50))).convert("L"))
    assert (pixels < 120).mean() > 0.05


def test_a_locked_off_shot_says_so(shot_of: Callable[..., Shot], a4: tuple, drawn) -> None:
    shot = shot_of(Key(frame=1, framing=Framing(x=3000, y=2000, width=3000)), frames=24)
    overview(shot, shot.course(), PICTURE, a4)
    assert "all frames" in drawn.words()
    assert "24  last" not in drawn.words()


def test_every_explanation_stands_beside_a_line_that_is_drawn(
    push_in: Shot, a4: tuple, drawn, inside
) -> None:
    overview(push_in, push_in.course(), PICTURE, a4)
    left = 297 - MARGIN - 46
    samples = [pen for points, pen in drawn.lines if points[0, 0] == pytest.approx(left)]
    assert len(samples) >= 6
    for pen in samples:
        assert len(drawn.by_pen(pen)) >= 2, pen
    assert inside(drawn) == []


@pytest.mark.parametrize("length", [1, 2, 9, 48, 49, 240, 480, 100_000])
def test_few_framings_are_drawn_between_the_ends(length: int) -> None:
    stride = even_stride(length)
    assert length / stride <= 8
    assert stride == 1 or length / (stride - 1) > 4


def test_in_a_crowd_of_keys_no_name_lies_on_another(
    shot_of: Callable[..., Shot], a4: tuple
) -> None:
    keys = [Key(frame=1, framing=Framing(x=2000, y=2000, width=3900))]
    keys += [
        Key(frame=2 * n, framing=Framing(x=2000 + 80 * n, y=2000 + n % 2 * 60, width=3900),
            stop=False)
        for n in range(1, 21)
    ]  # fmt: skip
    keys.append(Key(frame=60, framing=Framing(x=4000, y=2000, width=3900)))
    shot = shot_of(*keys)
    assert overlapping(overview(shot, shot.course(), PICTURE, a4)) == []


def test_a_locked_off_shot_is_explained_by_the_one_framing_that_is_seen(
    shot_of: Callable[..., Shot], a4: tuple, drawn
) -> None:
    framing = Framing(x=3000, y=2000, width=5000)
    shot = shot_of(Key(frame=1, framing=framing), Key(frame=48, framing=framing))
    overview(shot, shot.course(), PICTURE, a4)
    assert {"framing of all frames", "framing"} <= drawn.words()
    assert not any("last framing, frame" in words for words in drawn.words())
    assert drawn.by_pen(drawing.LAST) == []


@pytest.mark.filterwarnings("error")
def test_a_subject_that_is_a_point_is_a_dot_without_a_box(push_in: Shot, a4: tuple, drawn) -> None:
    point = Subject(name="steam", points=(Point(frame=1, x=2000, y=1500),))
    shot = replace(push_in, subjects=(point,))
    overview(shot, shot.course(), PICTURE, a4)
    # One line in its pen is the sample beside the explanation.
    assert len(drawn.by_pen(drawing.SUBJECT)) == 1
    assert "steam" in drawn.words()
