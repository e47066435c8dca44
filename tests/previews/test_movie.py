"""A preview as a file."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from io import BytesIO
from pathlib import Path

import av
import numpy as np
import pytest
from PIL import Image

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.previews.frames import Reel, row_of
from cropmove.previews.movie import movie_suffix, play
from cropmove.previews.source import Source
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import StillRef


def _reel(path: Path, fps: Fraction = Fraction(24), frames: int = 7) -> Reel:
    shot = Shot(
        name="quay",
        stills=Stills(source=path.name, refs=(StillRef(path=path),), size=Size(600, 400)),
        delivery=Delivery(size=Size(320, 180)),
        keys=(
            Key(frame=1, framing=Framing(x=300, y=200, width=560)),
            Key(frame=frames, framing=Framing(x=280, y=190, width=330)),
        ),
        fps=fps,
    )
    return Reel(rows=(row_of(Source(shot=shot, course=shot.course()), width=320),), fps=fps)


def test_a_movie_has_every_frame_at_its_rate(spot) -> None:
    reel = _reel(spot("dot.jpg", (600, 400), (300.0, 200.0), 12.0), Fraction(24000, 1001))
    movie = av.open(BytesIO(play(reel, ".mp4", 2)))
    stream = movie.streams.video[0]
    assert (stream.width, stream.height) == (320, 180)
    assert stream.average_rate == Fraction(24000, 1001)
    assert len(list(movie.decode(video=0))) == 7


def test_a_delivery_far_taller_than_wide_can_be_seen(spot) -> None:
    reel = _reel(spot("dot.jpg", (600, 400), (300.0, 200.0), 12.0), frames=2)
    (row,) = reel.rows
    shot = replace(row.source.shot, delivery=Delivery(size=Size(100, 30_000)))
    tall = row_of(Source(shot=shot, course=shot.course()), width=960)
    movie = av.open(BytesIO(play(replace(reel, rows=(tall, tall)), ".mp4", 1)))
    assert len(list(movie.decode(video=0))) == 2


def test_a_dot_in_the_movie_is_where_the_framing_puts_it(spot, found) -> None:
    reel = _reel(spot("dot.jpg", (600, 400), (300.0, 200.0), 12.0))
    course = reel.rows[0].source.course
    movie = av.open(BytesIO(play(reel, ".mp4", 2)))
    for number, frame in enumerate(movie.decode(video=0), start=1):
        shown = frame.to_ndarray(format="rgb24")
        shown[150:, :90] = 0
        expected = course[number].to_frame(np.array([300.0, 200.0]), course.delivery)
        assert found(shown, 70.0) == pytest.approx(expected, abs=0.5)


def test_the_movies_colours_are_the_frames(spot) -> None:
    """Tagged BT.709, narrow range (ITU-T H.273), and decoded by it to within a few codes."""
    path = spot("plain.png", (600, 400), (-500.0, -500.0), 1.0)
    Image.new("RGB", (600, 400), (190, 90, 40)).save(path)
    frame = next(av.open(BytesIO(play(_reel(path), ".mp4", 2))).decode(video=0))
    assert (frame.colorspace, frame.color_range) == (1, 1)
    shown = frame.reformat(format="rgb24", src_colorspace="ITU709").to_ndarray()
    assert shown[20, 160].astype(int) == pytest.approx([190, 90, 40], abs=4)


def test_a_moving_picture_has_every_frame_and_lasts_as_long(spot) -> None:
    reel = _reel(spot("dot.jpg", (600, 400), (300.0, 200.0), 12.0), frames=25)
    picture = Image.open(BytesIO(play(reel, ".webp", 2)))
    lasting = 0
    for frame in range(picture.n_frames):
        picture.seek(frame)
        picture.load()
        lasting += picture.info["duration"]
    assert lasting == round(25 * 1000 / 24)


def test_the_movie_library_is_not_needed(monkeypatch: pytest.MonkeyPatch) -> None:
    assert movie_suffix() == ".mp4"
    monkeypatch.setattr("cropmove.previews.movie.find_spec", lambda name: None)
    assert movie_suffix() == ".webp"


def test_progress_is_told_before_the_first_frame_and_frame_by_frame(spot) -> None:
    told: list[tuple[int, int]] = []
    reel = _reel(spot("dot.jpg", (600, 400), (300.0, 200.0), 12.0))
    play(reel, ".mp4", 2, lambda done, total: told.append((done, total)))
    assert told == [(n, 7) for n in range(8)]


def test_a_damaged_still_is_named(tmp_path: Path, spot) -> None:
    path = spot("dot.jpg", (600, 400), (300.0, 200.0), 12.0)
    reel = _reel(path)
    path.write_bytes(path.read_bytes()[:900])
    with pytest.raises(InputError, match=r"dot\.jpg"):
        play(reel, ".mp4", 2)
