"""The guide: ticks where the lens sees the point, numbers beside them, true to size."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from io import BytesIO

import numpy as np
import pytest
from PIL import Image
from written import words_on

from cropmove.geometry import Size
from cropmove.move.ease import ease_named
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.move.subject import Point, Subject
from cropmove.sheets.guide import guide_on, guide_over, guide_sheet, guide_table, ways_of
from cropmove.sheets.paper import PAPERS
from cropmove.sheets.sheet import POINT, Type, text_width
from cropmove.sheets.style import MARGIN
from cropmove.shot import Delivery, Shot

Make = Callable[..., Shot]


def _pan(shot_of: Make, distance: float, frames: int, ease: str, ramps: tuple[int, int]) -> Shot:
    """A pan at native scale, so that a pixel of the still is a pixel of the screen."""
    left = Framing(x=2000, y=2000, width=1920)
    right = Framing(x=2000 + distance, y=2000, width=1920)
    return shot_of(
        Key(frame=1, framing=left),
        Key(
            frame=frames + 1, framing=right, ease=ease_named(ease),
            ease_in=ramps[0], ease_out=ramps[1],
        ),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("ease", "steps"),
    [
        ("odd", [0.3, 0.9, 1.5, 2.1, 2.7, 3.3, 3.9, 4.5, 5.1, 5.7]),
        (
            "raised-cosine",
            [0.0491, 0.3380, 0.8874, 1.6436, 2.5326, 3.4674, 4.3564, 5.1126, 5.6620, 5.9509],
        ),
    ],
)
def test_the_steps_on_paper_are_the_handbooks(shot_of: Make, ease: str, steps: list[float]) -> None:
    """D = 300, N = 60, ramps of 10: animation-stand fairing (Salt 1977), computed.

    One pixel is made one millimetre.
    """
    shot = _pan(shot_of, 300, 60, ease, (10, 10))
    course = shot.course()
    ways = ways_of(shot, course, {"dot": (2500, 2000)})
    rows = list(csv.DictReader(io.StringIO(guide_table(course, ways, width=1920))))
    on_paper = -np.diff([float(row["x_mm"]) for row in rows])
    assert on_paper[:10] == pytest.approx(steps, abs=1.1e-3)
    assert on_paper[10:50] == pytest.approx(np.full(40, 6.0), abs=1.1e-3)


def test_ticks_are_drawn_where_the_table_says(shot_of: Make, a4: tuple, drawn) -> None:
    shot = _pan(shot_of, 400, 24, "smooth", (8, 8))
    course = shot.course()
    ways = ways_of(shot, course, {"dot": (2300, 2100)})
    guide_sheet(shot, course, ways, 240, a4)
    ticks = next(t for t in drawn.ticks if len(t) == 25)
    rows = list(csv.DictReader(io.StringIO(guide_table(course, ways, width=240))))
    expected = [(float(row["x_mm"]), float(row["y_mm"])) for row in rows]
    corner = ticks.mean(axis=1) - np.array(expected)
    assert np.ptp(corner, axis=0) == pytest.approx([0, 0], abs=2e-3)
    assert corner[0] == pytest.approx([(297 - 240) / 2, 0 + corner[0][1]], abs=2e-3)


def test_every_frame_has_its_number_where_there_is_room(shot_of: Make, a4: tuple, drawn) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=2000, y=2000, width=1920)),
        Key(frame=48, framing=Framing(x=3400, y=2000, width=1920), ease=ease_named("none")),
    )
    course = shot.course()
    guide_sheet(shot, course, ways_of(shot, course, {"dot": (2950, 2000)}), 240, a4)
    assert {str(frame) for frame in range(1, 49)} <= drawn.words()


def test_the_first_and_the_last_frame_are_numbered_however_slow(
    push_in: Shot, a4: tuple, drawn
) -> None:
    course = push_in.course()
    guide_sheet(push_in, course, ways_of(push_in, course, {"dot": (2400, 1800)}), 240, a4)
    assert {"1", "49", "10", "20", "30", "dot"} <= drawn.words()


def test_it_is_as_wide_on_paper_as_stated(push_in: Shot, a4: tuple, drawn) -> None:
    course = push_in.course()
    ways = ways_of(push_in, course, {})
    for width in (120.0, 240.0, 597.0):
        drawn.lines.clear()
        sheet = guide_sheet(push_in, course, ways, width, a4)
        boxes = [points for points, _ in drawn.lines if len(points) == 4]
        frame = next(box for box in boxes if np.ptp(box[:, 0]) == pytest.approx(width))
        assert np.ptp(frame[:, 1]) == pytest.approx(width * 9 / 16)
        assert sheet.width >= width + 28
        assert sheet.height >= frame[:, 1].max() + 14


def test_a_ruler_of_a_hundred_millimetres_is_printed(push_in: Shot, a4: tuple, drawn) -> None:
    course = push_in.course()
    guide_sheet(push_in, course, ways_of(push_in, course, {}), 240, a4)
    zero, hundred = drawn.at("0"), drawn.at("100 mm")
    assert hundred[0] - zero[0] == pytest.approx(100)
    assert hundred[1] == zero[1]


@pytest.mark.parametrize("size", [Size(1920, 1080), Size(2048, 858), Size(1998, 1080)])
def test_the_overlay_has_the_deliverys_size_and_is_clear(shot_of: Make, size: Size) -> None:
    left, right = Framing(x=2500, y=2000, width=4000), Framing(x=3000, y=2000, width=3000)
    shot = shot_of(
        Key(frame=1, framing=left), Key(frame=25, framing=right), delivery=Delivery(size=size)
    )
    course = shot.course()
    sheet, dpi = guide_over(shot, course, ways_of(shot, course, {"dot": (2700, 1900)}))
    picture = Image.open(BytesIO(sheet.png(dpi, clear=True)))
    assert picture.size == (size.width, size.height)
    alpha = np.asarray(picture)[..., 3]
    assert [alpha[0, 0], alpha[-1, -1]] == [0, 0]
    assert alpha.max() == 255


def test_the_overlay_shows_the_point_at_its_pixel(shot_of: Make) -> None:
    """A point that stays: its tick is at the pixel that the framing gives."""
    framing = Framing(x=3000, y=2000, width=3840)
    shot = shot_of(Key(frame=1, framing=framing))
    course = shot.course()
    sheet, dpi = guide_over(shot, course, ways_of(shot, course, {"d": (3600, 2300)}))
    picture = np.asarray(Image.open(BytesIO(sheet.png(dpi, clear=True)))).astype(int)
    near = picture[690 - 8 : 690 + 8, 1260 - 8 : 1260 + 8]  # (3600 - 3000) / 2 + 960, and so on
    dark = (near[..., 3] > 200) & (near[..., 0] < 100)
    rows, columns = np.nonzero(dark)
    assert columns.mean() + 1260 - 8 + 0.5 == pytest.approx(1260, abs=0.6)
    assert rows.mean() + 690 - 8 + 0.5 == pytest.approx(690, abs=0.6)


@pytest.mark.parametrize(
    ("distance", "told"), [(0, "it stays"), (0.04, "it keeps within 0.04 px"), (1.2, "1.2 px")]
)
def test_a_way_too_short_to_draw_is_not_said_to_stay(
    shot_of: Make, a4: tuple, distance: float, told: str
) -> None:
    """A pan at native scale: the point goes as many pixels as the framing does."""
    shot = _pan(shot_of, distance, 24, "even", (4, 8))
    course = shot.course()
    sheet = guide_sheet(shot, course, ways_of(shot, course, {"dot": (2500, 2000)}), 240, a4)
    (words,) = [words for words, _ in words_on(sheet) if words.startswith("dot")]
    assert words.endswith(told)


def test_subjects_are_guided_without_being_asked_for(push_in: Shot) -> None:
    from dataclasses import replace

    boat = Subject(
        name="boat", points=(Point(frame=1, x=2000, y=1500), Point(frame=49, x=2500, y=1500))
    )
    shot = replace(push_in, subjects=(boat,))
    course = shot.course()
    ways = ways_of(shot, course, {"dot": (1, 1)})
    assert list(ways) == ["dot", "boat"]
    assert ways["boat"][48] == pytest.approx(
        course[49].to_frame(np.array([2500.0, 1500.0]), course.delivery)
    )


def test_what_is_out_of_frame_is_said(shot_of: Make, a4: tuple, drawn) -> None:
    shot = shot_of(
        Key(frame=1, framing=Framing(x=2000, y=2000, width=1920)),
        Key(frame=25, framing=Framing(x=3000, y=2000, width=1920), ease=ease_named("none")),
    )
    course = shot.course()
    ways = ways_of(shot, course, {"leaves": (1500, 2000), "never": (10, 10)})
    guide_sheet(shot, course, ways, 240, a4)
    words = " / ".join(sorted(drawn.words()))
    seen = (ways["leaves"][:, 0] >= 0).sum()
    assert f"leaves: seen in frames 1-{seen}" in words
    assert "never: never in frame" in words


def test_nothing_is_written_beyond_the_margins(push_in: Shot, a4: tuple, drawn, inside) -> None:
    course = push_in.course()
    ways = ways_of(push_in, course, {"corner": (150, 420), "other corner": (5800, 3500)})
    guide_sheet(push_in, course, ways, 240, a4)
    assert inside(drawn) == []


def test_ways_are_told_apart_without_colour(push_in: Shot, a4: tuple, drawn) -> None:
    course = push_in.course()
    ways = ways_of(push_in, course, {"a": (2000, 1500), "b": (2200, 1600), "c": (2400, 1700)})
    guide_sheet(push_in, course, ways, 240, a4)
    dashes = [pen.dash for points, pen in drawn.lines if len(points) == len(course)]
    assert len(dashes) == len(set(dashes)) == 3


def _frame_in(drawn) -> np.ndarray:
    boxes = (points for points, _ in drawn.lines if len(points) == 4)
    return next(box for box in boxes if np.ptp(box[:, 0]) == pytest.approx(240))


def _numbers(drawn, type_size: float = 6.0) -> list[tuple[float, float, float, float]]:
    """Left, top, right, bottom of every number that is written."""
    type = Type(size=type_size, colour="#000000")
    return [
        (x, y - type_size * POINT * 0.72, x + text_width(text, type), y)
        for text, (x, y) in drawn.texts
        if text.isdecimal()
    ]


def test_no_number_lies_on_the_frames_edge(shot_of: Make, a4: tuple, drawn) -> None:
    """Two points go out at the left, one of them along the upper edge."""
    shot = shot_of(
        Key(frame=1, framing=Framing(x=2000, y=2000, width=1920)),
        Key(frame=49, framing=Framing(x=2500, y=2040, width=1920), ease=ease_named("none")),
    )
    course = shot.course()
    points = {"out": (1400, 2200), "along": (2300, 1480)}
    guide_sheet(shot, course, ways_of(shot, course, points), 240, a4)
    frame = _frame_in(drawn)
    (left, top), (right, bottom) = frame.min(axis=0), frame.max(axis=0)
    numbers = [box for box in _numbers(drawn) if box[1] < bottom + 5]  # under it lies the ruler
    assert len(numbers) > 40
    for x0, y0, x1, y1 in numbers:
        assert not any(x0 < x < x1 for x in (left, right))
        assert not any(y0 < y < y1 for y in (top, bottom))


def test_what_is_never_in_frame_is_said_inside_it_line_under_line(
    shot_of: Make, a4: tuple, drawn
) -> None:
    shot = shot_of(Key(frame=1, framing=Framing(x=3000, y=2000, width=1920)))
    course = shot.course()
    ways = ways_of(shot, course, {"lamp": (10, 10), "post": (20, 20), "moon": (5990, 10)})
    guide_sheet(shot, course, ways, 240, a4)
    frame = _frame_in(drawn)
    said = [(x, y) for text, (x, y) in drawn.texts if text.endswith("never in frame")]
    assert len(said) == 3
    assert all((place > frame.min(axis=0)).all() for place in np.array(said))
    assert np.diff(sorted(y for _, y in said)).min() > 8 * 25.4 / 72


@pytest.mark.parametrize("size", [Size(32, 18), Size(64, 36), Size(320, 180)])
def test_a_small_delivery_has_an_overlay_too(shot_of: Make, size: Size) -> None:
    framing = Framing(x=2500, y=2000, width=4000)
    shot = shot_of(Key(frame=1, framing=framing), delivery=Delivery(size=size))
    course = shot.course()
    sheet, dpi = guide_over(shot, course, ways_of(shot, course, {}))
    assert Image.open(BytesIO(sheet.png(dpi, clear=True))).size == (size.width, size.height)


@pytest.mark.parametrize("size", [(16, 9), (4, 3), (1, 1), (9, 16), (64, 27)])
@pytest.mark.parametrize("paper", list(PAPERS))
def test_a_guide_whose_width_nobody_says_fits_on_the_paper(
    shot_of: Make, size: tuple[int, int], paper: str
) -> None:
    """ISO 216 and ANSI/ASME Y14.1: the sheet is one of theirs, and no side of it larger."""
    left, right = Framing(x=2500, y=2000, width=1500), Framing(x=3000, y=2000, width=1500)
    shot = shot_of(
        Key(frame=1, framing=left), Key(frame=25, framing=right),
        delivery=Delivery(size=Size(*(120 * side for side in size))),
    )  # fmt: skip
    course, lying = shot.course(), (PAPERS[paper].height, PAPERS[paper].width)
    width, on = guide_on(lying, course.delivery.shape)
    sheet = guide_sheet(shot, course, ways_of(shot, course, {}), width, on)
    assert sorted((sheet.width, sheet.height)) == sorted(lying)
    assert width > 0.6 * min(240, lying[1] / course.delivery.shape)


@pytest.mark.parametrize("width", [20, 100, 130, 240])
def test_what_is_said_of_a_guide_stays_on_the_paper(push_in: Shot, a4: tuple, width: float) -> None:
    course = push_in.course()
    for paper in (a4, a4[::-1]):
        sheet = guide_sheet(push_in, course, ways_of(push_in, course, {}), width, paper)
        (box,) = [box for words, box in words_on(sheet) if "print at 100 %" in words]
        assert box[2] < sheet.width - MARGIN + 0.5
