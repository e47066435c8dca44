"""The same shot otherwise."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from by_hand import a_rig
from hypothesis import given
from hypothesis import strategies as st

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.move.subject import Point, Subject
from cropmove.previews.compare import otherwise, playing_rate, shown_at
from cropmove.rig.rig import Stop
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import StillRef

WIDE, TIGHT = Framing(x=3000, y=2000, width=5000), Framing(x=2500, y=1800, width=2500)


def _shot(on: int = 1, stills: int = 48, frames: int = 48) -> Shot:
    refs = tuple(StillRef(path=Path(f"still_{n}.jpg"), number=n) for n in range(1, stills + 1))
    return Shot(
        name="quay",
        stills=Stills(source="still_*.jpg", refs=refs, size=Size(6000, 4000)),
        delivery=Delivery(size=Size(1920, 1080)),
        keys=(
            Key(frame=1, framing=WIDE),
            Key(frame=48, framing=TIGHT, ease_in=12, ease_out=24),
        ),
        on=on,
        frames=frames,
        subjects=(Subject(points=(Point(frame=1, x=0, y=0), Point(frame=25, x=240, y=0))),),
    )


def test_half_the_rate_keeps_the_seconds_and_the_ends() -> None:
    other = otherwise(_shot(), "fps=12")
    assert other.shot.fps == 12
    assert len(other.course) == 24
    assert other.course[1] == WIDE
    assert other.shot.keys[-1].frame == 25 - 0  # round(47 / 2) + 1, ties to even
    assert (other.shot.keys[-1].ease_in, other.shot.keys[-1].ease_out) == (6, 12)
    assert other.label == "fps 12"


def test_at_half_the_rate_each_frame_shows_the_still_of_its_moment() -> None:
    other = otherwise(_shot(), "fps=12")
    assert other.course.still.tolist() == list(range(1, 48, 2))


def test_at_half_the_rate_twos_become_ones() -> None:
    other = otherwise(_shot(on=2, stills=24), "fps=12")
    assert other.shot.on == 1
    assert other.course.still.tolist() == list(range(1, 25))


def test_subjects_keep_their_seconds() -> None:
    other = otherwise(_shot(), "fps=12")
    assert [point.frame for point in other.shot.subjects[0].points] == [1, 13]


def test_what_is_moved_by_hand_keeps_its_seconds() -> None:
    stops = (Stop(1, 0.0), Stop(25, 100.0), Stop(47, 300.0))
    boat = a_rig("boat", "subject sideways", stops=stops, ease_in=9, ease_out=13)
    shot = replace(_shot(), rigs=(boat,))
    (other,) = otherwise(shot, "fps=12").shot.rigs
    assert [(stop.frame, stop.place) for stop in other.stops] == [(1, 0), (13, 100), (24, 300)]
    # 4.5 and 6.5 frames: ties go to the even one (NIST Handbook 44, 10.3).
    assert (other.ease_in, other.ease_out) == (4, 6)
    faster = otherwise(shot, "fps=48").shot
    assert faster.marks()["boat"].place[-1] == 300


def test_eases_of_what_is_moved_by_hand_are_cut_to_fit() -> None:
    stops = (Stop(1, 0.0), Stop(8, 100.0), Stop(23, 300.0))
    boat = a_rig("boat", "subject sideways", stops=stops, ease_in=3, ease_out=4)
    (other,) = otherwise(replace(_shot(), rigs=(boat,)), "fps=12").shot.rigs
    assert [stop.frame for stop in other.stops] == [1, 5, 12]
    assert (other.ease_in, other.ease_out) == (2, 2)


def test_a_short_rest_of_what_is_moved_by_hand_cuts_no_ease() -> None:
    stops = (Stop(1, 0.0), Stop(25, 100.0), Stop(29, 100.0), Stop(47, 300.0))
    boat = a_rig("boat", "subject sideways", stops=stops, ease_in=2, ease_out=12)
    (other,) = otherwise(replace(_shot(), rigs=(boat,)), "fps=12").shot.rigs
    assert (other.ease_in, other.ease_out) == (1, 6)


def test_two_marks_that_fall_on_one_frame_are_refused() -> None:
    boat = a_rig("boat", "subject up", stops=(Stop(1, 0.0), Stop(2, 1.0), Stop(9, 5.0)))
    with pytest.raises(
        InputError, match=r"two frames of boat fall on one frame(.|\n)*nearer to 24"
    ):
        otherwise(replace(_shot(), rigs=(boat,)), "fps=6")


def test_held_longer_shows_every_other_still_and_the_same_move() -> None:
    other = otherwise(_shot(), "on=2")
    assert other.course.still[:6].tolist() == [1, 1, 3, 3, 5, 5]
    assert (other.course.rows == _shot().course().rows).all()


def test_another_ease_changes_the_pace_and_nothing_else() -> None:
    shot = _shot()
    other = otherwise(shot, "ease=smooth, ease_out=30")
    assert other.shot.keys[-1].ease is not None
    assert other.shot.keys[-1].ease.name == "smooth"
    assert other.shot.keys[-1].ease_out == 30
    assert other.course[1] == shot.course()[1]
    assert other.course[48] == shot.course()[48]
    assert np.abs(other.course.rows - shot.course().rows).max() > 1


def test_a_curve_may_have_its_commas() -> None:
    other = otherwise(_shot(), "ease=cubic-bezier(0.25, 0, 0.75, 1)")
    assert other.shot.keys[-1].ease_in is None
    assert other.shot.keys[-1].ease is not None
    assert other.shot.keys[-1].ease.curve == (0.25, 0.0, 0.75, 1.0)


def test_a_hold_has_no_eases_to_compare() -> None:
    plain = _shot()
    held = replace(plain, keys=(replace(plain.keys[0]), Key(frame=4, framing=WIDE), plain.keys[1]))
    other = otherwise(held, "ease=smooth, ease_out=20")
    assert [key.ease_out for key in other.shot.keys] == [None, None, 20]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("12", "other.toml"),
        ("fsp=12", 'did you mean "fps"?'),
        ("ease=smoth", 'did you mean "smooth"?'),
        ("fps=0", "fps = 24"),
        ("fps=fast", "fps = 24"),
        ("ease_in=90", "would fit"),
        ("fps=0.001", "nearer to 24"),
        ("on=0", "on = 1"),
        ("on=x", "on = 2"),
        ("on=0.5 s", "held for a whole number of frames"),
        ("ease=", "fps=12"),
    ],
)
def test_what_cannot_be_compared_is_refused_with_a_remedy(text: str, told: str) -> None:
    with pytest.raises(InputError) as refused:
        otherwise(_shot(), text)
    assert told in str(refused.value)
    assert refused.value.complaints[0].where.startswith("compare")


def test_a_shot_is_not_compared_with_one_that_lasts_very_much_longer() -> None:
    """A single frame at 0.001 frames a second stands for a quarter of an hour."""
    held = replace(_shot(), keys=(Key(frame=1, framing=WIDE),))
    with pytest.raises(InputError, match=r"lasts 2 s: not one frame(.|\n)*with 0\.5 or more"):
        otherwise(held, "fps=0.001")
    assert len(otherwise(held, "fps=0.5").course) == 1


def test_there_are_no_stills_between_those_on_twos() -> None:
    with pytest.raises(InputError, match="none in between"):
        otherwise(_shot(on=2, stills=24), "on=1")


@pytest.mark.parametrize(
    ("rates", "together"),
    [
        ([24, 12], 24),
        ([24, 30], 120),
        ([25, 24], 25),
        ([Fraction(24000, 1001), 24], 24),
        ([Fraction(30000, 1001), Fraction(15000, 1001)], Fraction(30000, 1001)),
        ([24], 24),
        ([24, 1000], 120),
        ([240], 120),
    ],
)
def test_two_rates_play_together(rates: list, together: object) -> None:
    assert playing_rate([Fraction(rate) for rate in rates]) == together


@given(
    length=st.integers(1, 300),
    fps=st.fractions(1, 120, max_denominator=1001),
    playing=st.fractions(1, 120, max_denominator=1001),
)
def test_each_played_moment_shows_the_frame_of_its_time(
    length: int, fps: Fraction, playing: Fraction
) -> None:
    for played, frame in enumerate(shown_at(length, fps, playing, 40)):
        seconds = played / playing
        assert frame == length or (frame - 1) / fps <= seconds < frame / fps


def test_an_ease_that_rounding_makes_too_long_gives_up_that_frame() -> None:
    # 5 steps with eases of 2 and 3 frames; at half the rate 2 steps with 1 and 2, one too many.
    keys = (Key(frame=1, framing=WIDE), Key(frame=6, framing=TIGHT, ease_in=2, ease_out=3))
    last = otherwise(replace(_shot(frames=6), keys=keys), "fps=12").shot.keys[-1]
    assert (last.frame, last.ease_in, last.ease_out) == (3, 1, 1)
