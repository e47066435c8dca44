"""The preview's frames: each point where the table says, to half a pixel of the preview."""

from __future__ import annotations

import csv
import io
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction

import numpy as np
import pytest

from cropmove.geometry import Size
from cropmove.jobs import table
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.move.subject import Point, Subject
from cropmove.previews.burnt import Marks
from cropmove.previews.compare import otherwise, played
from cropmove.previews.frames import Reel, preview_frames, reduction, row_of
from cropmove.previews.source import Source
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import StillRef

STILL = (6000, 4000)
DOT = (2750.0, 1930.0)
HD = Size(1920, 1080)


def _shot(path, delivery: Size = HD, frames: int = 13) -> Shot:
    wide, tight = Framing(x=3050, y=2010, width=5800), Framing(x=2600, y=1800, width=1950)
    still = StillRef(path=path)
    return Shot(
        name="quay",
        stills=Stills(source=path.name, refs=(still,), size=Size(*STILL)),
        delivery=Delivery(size=delivery),
        keys=(Key(frame=1, framing=wide), Key(frame=frames, framing=tight)),
    )


def _frames(reel: Reel) -> list[np.ndarray]:
    with ThreadPoolExecutor(2) as pool:
        return list(preview_frames(reel, pool, 2))


def _reel(shot: Shot, width: int = 960, marks: Marks | None = None) -> Reel:
    row = row_of(Source(shot=shot, course=shot.course()), width=width)
    return Reel(rows=(row,), fps=shot.fps, marks=marks or Marks())


@pytest.mark.parametrize("delivery", [Size(1920, 1080), Size(2048, 858), Size(1998, 1080)])
def test_a_dot_on_a_large_still_is_where_the_table_says(spot, found, delivery: Size) -> None:
    shot = _shot(spot("dot.jpg", STILL, DOT, 24.0), delivery)
    reel = _reel(shot)
    assert reduction(reel.rows[0]) < 1
    size = reel.size
    for row, frame in zip(csv.DictReader(io.StringIO(table(shot))), _frames(reel), strict=True):
        scale = size.width / float(row["width"])
        expected = (
            (DOT[0] - float(row["centre_x"])) * scale + size.width / 2,
            (DOT[1] - float(row["centre_y"])) * scale + size.height / 2,
        )
        frame[-60:, :260] = 0  # where it says that it is a preview
        assert found(frame) == pytest.approx(expected, abs=0.5)


def test_every_frame_says_that_it_is_a_preview(spot) -> None:
    shot = _shot(spot("dot.jpg", (600, 400), (300.0, 200.0), 5.0))
    small = Shot(
        name="quay",
        stills=Stills(refs=shot.stills.refs, size=Size(600, 400)),
        delivery=Delivery(size=Size(320, 180)),
        keys=(Key(frame=1, framing=Framing(x=300, y=200, width=500)),),
        frames=3,
    )
    for frame in _frames(_reel(small, 320)):
        assert (frame[150:, :80].max(axis=2) > 120).sum() > 20


def test_marks_are_drawn_only_where_they_are_asked_for(spot) -> None:
    shot = _shot(spot("dot.jpg", STILL, DOT, 24.0), frames=2)
    boat = Subject(points=(Point(frame=1, x=2600, y=1900, width=700, height=500),))
    shot = Shot(name="quay", stills=shot.stills, delivery=shot.delivery, keys=shot.keys,
                subjects=(boat,))  # fmt: skip
    plain = _frames(_reel(shot))[0].astype(int)
    for marks in (Marks(number=True), Marks(safe=True), Marks(subject=True)):
        marked = _frames(_reel(shot, marks=marks))[0].astype(int)
        assert (np.abs(marked - plain).max(axis=2) > 60).sum() > 100, marks


def test_a_subjects_box_stands_where_the_framing_shows_it(spot) -> None:
    shot = _shot(spot("dot.jpg", STILL, (10.0, 10.0), 3.0), frames=2)
    boat = Subject(points=(Point(frame=1, x=3050, y=2010, width=1450, height=725),))
    shot = Shot(name="quay", stills=shot.stills, delivery=shot.delivery, keys=shot.keys,
                subjects=(boat,))  # fmt: skip
    frame = _frames(_reel(shot, marks=Marks(subject=True)))[0]
    bright = (frame.min(axis=2) > 200)[:480]
    # Lines, not the letters of its name, which stand above its left end.
    columns, rows = np.nonzero(bright.sum(axis=0) > 60)[0], np.nonzero(bright.sum(axis=1) > 120)[0]
    # A quarter of 5800 px wide, in the middle: 240 of 960 px, and 120 high.
    assert (columns.min(), columns.max()) == pytest.approx((360, 600), abs=2)
    assert (rows.min(), rows.max()) == pytest.approx((210, 330), abs=2)
    name = bright[185:208, 362:430]
    assert 50 < name.sum() < 600


def test_a_frame_without_a_still_has_the_box_and_says_so(tmp_path) -> None:
    boat = Subject(points=(Point(frame=1, x=3000, y=2000, width=1500, height=750),))
    shot = Shot(
        name="quay",
        stills=Stills(source="later/*.jpg", size=Size(*STILL)),
        delivery=Delivery(size=Size(1920, 1080)),
        keys=(Key(frame=1, framing=Framing(x=3000, y=2000, width=6000)),),
        subjects=(boat,),
        frames=2,
    )
    frame = _frames(_reel(shot))[0]
    tags = (np.abs(frame[505:535].astype(int) - 214).max(axis=2) > 60).any(axis=0)
    assert tags[:300].sum() > 150  # "preview, not photographed yet" is long
    assert frame[270, 360].min() > 230  # the left side of the box
    assert frame[270, 357].max() < 180  # and its dark rim


def test_two_rows_stand_one_above_the_other(spot, found) -> None:
    shot = _shot(spot("dot.jpg", STILL, DOT, 24.0))
    versions = [played(shot), otherwise(shot, "ease=none")]
    rows = tuple(
        row_of(Source(shot=v.shot, course=v.course), width=480, label=v.label) for v in versions
    )
    reel = Reel(rows=rows, fps=shot.fps)
    assert reel.size == Size(480, 270 * 2 + 4)
    frame = _frames(reel)[3]
    for top, version in ((0, versions[0]), (274, versions[1])):
        shown = frame[top + 40 : top + 230]
        x, y = version.course[4].to_frame(np.array(DOT), shot.delivery.size) / 4
        assert found(shown) == pytest.approx((x, y - 40), abs=0.5)


def test_twelve_against_twenty_four_play_as_long(spot) -> None:
    shot = _shot(spot("dot.jpg", (600, 400), (300.0, 200.0), 5.0), frames=25)
    other = otherwise(shot, "fps=12")
    rows = tuple(row_of(Source(shot=s, course=c), width=160) for s, c in
                 ((shot, shot.course()), (other.shot, other.course)))  # fmt: skip
    reel = Reel(rows=rows, fps=Fraction(24))
    assert reel.length == 25


def test_a_reduced_still_is_never_much_too_small(spot) -> None:
    shot = _shot(spot("dot.jpg", (600, 400), (300.0, 200.0), 5.0))
    for width in (160, 480, 960, 1920):
        row = row_of(Source(shot=shot, course=shot.course()), width=width)
        needed = min(1.0, row.size.width / 1950)
        assert needed * 0.65 <= reduction(row) <= max(1 / 8, min(1.0, needed * 2))


def test_a_preview_of_every_second_still_says_so(spot) -> None:
    from cropmove.previews.thinned import thinned

    reel = _reel(_shot(spot("dot.jpg", STILL, DOT, 24.0), frames=2))
    plain, fewer = (_frames(r)[0].astype(int) for r in (reel, thinned(reel, 2)))
    changed = (np.abs(fewer - plain).max(axis=2) > 40).any(axis=0)
    assert changed[:300].sum() > 100  # the words are longer
    assert not changed[300:].any()


def test_rows_that_are_compared_decode_each_still_once(spot, monkeypatch) -> None:
    from cropmove.previews import small

    read, pixels = [], small._pixels
    monkeypatch.setattr(small, "_pixels", lambda *a: read.append(a[0]) or pixels(*a))
    shot = _shot(spot("dot.jpg", STILL, DOT, 24.0), frames=3)
    rows = tuple(
        row_of(Source(shot=v.shot, course=v.course), width=480, label=v.label)
        for v in (played(shot), otherwise(shot, "ease=none"))
    )
    _frames(Reel(rows=rows, fps=shot.fps))
    assert len(read) == 1
