"""The way: straight on the screen between two keys, a smooth curve through more."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from cropmove.geometry import Size
from cropmove.move.course import Move, corner_steps
from cropmove.move.ease import EASES
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.move.path import Curve, Straight, route_through, screen_rates

HD = Size(1920, 1080)
FAR = Framing(x=2000, y=1500, width=4000)
NEAR = Framing(x=3000, y=1000, width=2000)

framings = st.builds(
    Framing,
    x=st.floats(500, 5500),
    y=st.floats(500, 3500),
    width=st.floats(500, 6000),
    roll=st.just(0.0) | st.floats(-90, 90),
)
level = st.builds(
    Framing, x=st.floats(500, 5500), y=st.floats(500, 3500), width=st.floats(500, 6000)
)


def seen(rows: np.ndarray, point: tuple[float, float]) -> np.ndarray:
    """Where a point of the set stands on the screen in each row, in delivered pixels."""
    return np.array([Framing.from_row(row).to_frame(np.array(point), HD) for row in rows])


def bow(track: np.ndarray) -> float:
    """How far a track leaves the straight line between its ends."""
    along = track[-1] - track[0]
    length = np.hypot(*along)
    if length < 1e-9:
        return float(np.hypot(*(track - track[0]).T).max())
    off = track - track[0]
    return float(np.abs(off[:, 0] * along[1] - off[:, 1] * along[0]).max() / length)


# --- straight -----------------------------------------------------------------------------------


def test_a_constant_rate_zoom_has_the_handbooks_widths() -> None:
    # w_i = w0 (w1 / w0)^(i / N): constant rate, for a camera at constant speed looks slow on a
    # large field and fast on a small one (Salt 1977). 4000 to 2000 in 24 steps, computed.
    width = Straight(FAR, NEAR).at(np.arange(25) / 24)[:, 2]
    assert width[[6, 12, 18]] == pytest.approx([3363.5857, 2828.4271, 2378.4142], abs=5e-5)
    assert width[1:] / width[:-1] == pytest.approx(0.97153194, abs=5e-9)


def test_its_centre_is_linear_in_width() -> None:
    # Straight on screen <=> centre linear in width; progress of the centre at 1/4, 1/2, 3/4 of a
    # constant-rate zoom to twice as near, computed.
    rows = Straight(FAR, NEAR).at(np.array([0.25, 0.5, 0.75]))
    assert (rows[:, 0] - 2000) / 1000 == pytest.approx([0.318207, 0.585786, 0.810793], abs=5e-7)
    assert (rows[:, 0] - 2000) / 1000 == pytest.approx((rows[:, 2] - 4000) / -2000, rel=1e-12)


def test_one_point_of_the_plane_stands_still_on_the_screen() -> None:
    # P = (c0 w1 - c1 w0) / (w1 - w0) = (4000, 500), at (0.5, -0.25) frame widths; computed.
    track = seen(Straight(FAR, NEAR).at(np.linspace(0, 1, 25)), (4000, 500))
    assert (track - [960, 540]) / 1920 == pytest.approx(np.array([[0.5, -0.25]] * 25), abs=1e-12)


@pytest.mark.parametrize("point", [(2500, 1800), (2500, 1000), (3500, 1100), (0, 0), (6000, 4000)])
def test_every_point_crosses_the_screen_in_a_straight_line(point: tuple[float, float]) -> None:
    assert bow(seen(Straight(FAR, NEAR).at(np.linspace(0, 1, 49)), point)) < 1e-9


def test_a_centre_linear_in_time_would_bow_by_sixteen_pixels() -> None:
    # The control of the test above: 16.35 px at 1920 for the point (2500, 1800), computed.
    rows = Straight(FAR, NEAR).at(np.linspace(0, 1, 4801))
    share = np.linspace(0, 1, 4801)
    rows[:, 0], rows[:, 1] = 2000 + 1000 * share, 1500 - 500 * share
    assert bow(seen(rows, (2500, 1800))) == pytest.approx(16.35, abs=0.005)


@given(level, level, st.tuples(st.floats(0, 6000), st.floats(0, 4000)))
def test_no_straight_move_bows_any_point(
    start: Framing, end: Framing, point: tuple[float, float]
) -> None:
    track = seen(Straight(start, end).at(np.linspace(0, 1, 33)), point)
    # Pixels; float64 keeps 1e-9 of the several ten thousand that a far point can stand off.
    assert bow(track) < 1e-9 * max(1, np.abs(track).max() / 1000)


@given(level, level)
def test_a_straight_move_changes_the_screen_at_an_even_rate(start: Framing, end: Framing) -> None:
    assume(start != end)
    way = Straight(start, end)
    at = np.linspace(0, 1, 17)
    rates = screen_rates(way.at(at), way.slopes(at), HD.shape)
    assert rates == pytest.approx(rates[0], rel=1e-6)
    assert way.travel(HD.shape) == pytest.approx(rates[0], rel=1e-6)


@given(framings, framings)
def test_the_slopes_are_what_the_rows_do(start: Framing, end: Framing) -> None:
    way = Straight(start, end)
    h = 1e-5
    at = np.array([0.1, 0.5, 0.8])
    measured = (way.at(at + h) - way.at(at - h)) / (2 * h)
    assert way.slopes(at) == pytest.approx(measured, rel=1e-6, abs=1e-4)


@given(framings, st.floats(1e-15, 1e-9), st.floats(-1, 1))
def test_the_tiniest_zoom_is_stable(start: Framing, growth: float, across: float) -> None:
    end = Framing(x=start.x + across, y=start.y, width=start.width * (1 + growth), roll=start.roll)
    rows = Straight(start, end).at(np.linspace(0, 1, 101))
    assert np.isfinite(rows).all()
    assert rows[:, 0] == pytest.approx(np.linspace(start.x, end.x, 101), abs=1e-8)
    assert np.abs(rows[:, 2] - start.width).max() <= start.width * growth * 1.001 + 1e-11


@given(framings, framings)
def test_a_straight_move_ends_where_it_should_and_stays_between(
    start: Framing, end: Framing
) -> None:
    rows = Straight(start, end).at(np.linspace(0, 1, 65))
    assert rows[0] == pytest.approx(start.to_row(), rel=1e-13)
    assert rows[-1] == pytest.approx(end.to_row(), rel=1e-13, abs=1e-9)
    low, high = np.minimum(start.to_row(), end.to_row()), np.maximum(start.to_row(), end.to_row())
    assert (rows >= low - 1e-8).all()
    assert (rows <= high + 1e-8).all()


# --- screen rates -------------------------------------------------------------------------------


@given(framings, framings, st.floats(0.05, 0.95))
def test_a_screen_rate_is_the_limit_of_small_steps(start: Framing, end: Framing, at: float) -> None:
    way, h = Straight(start, end), 1e-6
    rows = way.at(np.array([at - h, at + h]))
    measured = corner_steps(rows, HD)[0] / HD.width / (2 * h)
    rate = screen_rates(way.at(np.array([at])), way.slopes(np.array([at])), HD.shape)[0]
    assert rate == pytest.approx(measured, rel=1e-4, abs=1e-6)


@pytest.mark.parametrize(
    ("width", "x", "roll"),
    [(3000, 2600, 30), (5200, 1700, -25), (2500, 2100, 170), (900, 3500, -360)],
)
def test_the_travel_of_a_move_that_rolls_is_its_whole_integral(
    width: float, x: float, roll: float
) -> None:
    # Beside a roll, which corner is the fastest changes on the way. Reference: QUADPACK, by scipy,
    # over forty equal parts, so that none of those changes is passed over.
    way = Straight(FAR, Framing(x=x, y=1800, width=width, roll=roll))

    def rate(at: float) -> float:
        one = np.array([at])
        return float(screen_rates(way.at(one), way.slopes(one), HD.shape)[0])

    parts = (quad(rate, n / 40, (n + 1) / 40, epsabs=1e-12)[0] for n in range(40))
    assert way.travel(HD.shape) == pytest.approx(sum(parts), rel=2e-7)


# --- through passed keys ------------------------------------------------------------------------


def move_through(stops: list[Framing], frames: list[int], ease: str = "even") -> Move:
    """A leg that passes all but its first and last framing."""
    last = len(stops) - 1
    keys = tuple(
        Key(frame=f, framing=framing, stop=n in (0, last), ease=EASES[ease] if n == last else None)
        for n, (f, framing) in enumerate(zip(frames, stops, strict=True))
    )
    return Move(keys, HD)


ways = st.lists(framings, min_size=3, max_size=6)


@given(ways, st.data())
def test_passed_keys_are_met_to_the_last_bit_at_their_frames(
    stops: list[Framing], data: st.DataObject
) -> None:
    gaps = data.draw(st.lists(st.integers(1, 40), min_size=len(stops) - 1, max_size=len(stops) - 1))
    frames = np.cumsum([1, *gaps])
    rows = move_through(stops, frames.tolist()).at(frames.astype(float))
    assert [Framing.from_row(row) for row in rows] == stops


@given(ways)
def test_the_curve_comes_to_its_keys_from_both_sides(stops: list[Framing]) -> None:
    frames = [1 + 12 * n for n in range(len(stops))]
    move = move_through(stops, frames)
    for frame, framing in zip(frames[1:-1], stops[1:-1], strict=True):
        beside = move.at(np.array([frame - 1e-6, frame + 1e-6]))
        assert np.abs(beside - framing.to_row()).max() < 0.1


@given(ways)
def test_between_two_keys_no_framing_is_tighter_than_both_nor_wider(stops: list[Framing]) -> None:
    frames = [1 + 12 * n for n in range(len(stops))]
    move = move_through(stops, frames)
    for (f, a), (_, b) in pairwise(zip(frames, stops, strict=True)):
        widths = move.at(f + np.linspace(0, 12, 97))[:, 2]
        low, high = sorted((a.width, b.width))
        assert (widths >= low * (1 - 1e-9)).all()
        assert (widths <= high * (1 + 1e-9)).all()


@given(ways)
def test_the_centre_swings_wide_of_its_keys_by_less_than_a_third_of_the_way_between(
    stops: list[Framing],
) -> None:
    # A cubic of chord h with end slopes of at most 1 leaves its ends' range by at most 2 · 4/27 h;
    # a corner, and so the centre, goes at most one frame width for each frame width of chord.
    frames = [1 + 12 * n for n in range(len(stops))]
    move = move_through(stops, frames)
    for (f, a), (_, b) in pairwise(zip(frames, stops, strict=True)):
        centres = move.at(f + np.linspace(0, 12, 97))[:, :2]
        low, high = np.minimum(a.to_row(), b.to_row())[:2], np.maximum(a.to_row(), b.to_row())[:2]
        most = 8 / 27 * Straight(a, b).travel(HD.shape) * max(a.width, b.width)
        assert (centres >= low - most - 1e-6).all()
        assert (centres <= high + most + 1e-6).all()


def test_where_the_width_is_held_back_the_way_keeps_its_direction() -> None:
    wide, middle = Framing(x=3000, y=2000, width=6000), Framing(x=2600, y=1800, width=2000)
    ways = Straight(wide, middle), Straight(middle, Framing(x=3600, y=1800, width=1950))
    before, after = (way.travel(9 / 16) for way in ways)
    mean = ways[0].slopes(np.array([1.0]))[0] / before + ways[1].slopes(np.array([0.0]))[0] / after
    slope = Curve.through([wide, middle, ways[1].end], 9 / 16).spline(before, 1)
    # At most three times the lesser rise, 50 px over the second chord: Hyman 1983.
    assert slope[2] == pytest.approx(-3 * 50 / after)
    assert slope == pytest.approx(mean * slope[2] / mean[2])


def test_a_corner_is_rounded_without_coming_to_rest() -> None:
    # A pan, then a tilt, through one key that is passed: the camera keeps most of its pace.
    across, corner = Framing(x=1500, y=1200, width=2000), Framing(x=3500, y=1200, width=2000)
    down = Framing(x=3500, y=3200, width=2000)
    move = move_through([across, corner, down], [1, 25, 49], "none")
    steps = corner_steps(move.at(np.arange(1.0, 50)), HD)
    assert steps.min() > 0.6 * steps.mean()
    assert np.abs(np.diff(steps)).max() < 0.1 * steps.mean()


@given(ways)
def test_the_pace_is_continuous_across_passed_keys(stops: list[Framing]) -> None:
    # One-sided speeds at a key, in pixels a frame, from steps of a millionth of a frame. A change
    # of speed is just noticed at about 7 % (De Bruyn & Orban, Vision Research 28(12), 1988); a
    # pace that is continuous has no jump at all, so that a tenth of that is far too much.
    h = 2.0**-20
    frames = [1 + 24 * n for n in range(len(stops))]
    move = move_through(stops, frames)
    mean = corner_steps(move.at(np.arange(1.0, frames[-1] + 1)), HD).mean()
    for frame in frames[1:-1]:
        before, after = corner_steps(move.at(frame + h * np.array([-1, 0, 1])), HD) / h
        # Where the way all but turns back the camera all but rests, on both sides of the key; the
        # pace then falls and rises again within less than h.
        rests = max(before, after) < 0.25 * mean
        assert abs(after - before) < 0.007 * mean + 1e-5 or rests


@pytest.mark.parametrize("ease", ["none", "even", "smooth", "ease"])
@pytest.mark.parametrize("frame", [4, 13, 25, 47])
def test_a_passed_key_on_the_straight_way_at_its_own_time_changes_nothing(
    ease: str, frame: int
) -> None:
    straight = move_through([FAR, NEAR], [1, 49], ease)
    on_the_way = Framing.from_row(straight.at(np.array([float(frame)]))[0])
    through = move_through([FAR, on_the_way, NEAR], [1, frame, 49], ease)
    moments = np.linspace(1, 49, 385)
    assert np.abs(through.at(moments) - straight.at(moments)).max() < 1e-6


@given(level, level, st.floats(0.05, 0.95))
def test_a_framing_on_the_straight_way_leaves_the_way_as_it_is(
    start: Framing, end: Framing, share: float
) -> None:
    straight = Straight(start, end)
    assume(straight.travel(HD.shape) > 0.01)
    on_the_way = Framing.from_row(straight.at(np.array([share]))[0])
    route = route_through([start, on_the_way, end], HD.shape)
    assert route.knots == pytest.approx([0, share, 1], abs=1e-7)
    at = np.linspace(0, 1, 97)
    assert np.abs(route.path.at(at) - straight.at(at)).max() < 1e-4


@given(st.floats(-30, 30), st.floats(1500, 4500), st.floats(0.5, 2), st.floats(0.05, 0.95))
def test_a_framing_on_a_straight_way_that_rolls_keeps_the_whole_pace(
    roll: float, x: float, growth: float, share: float
) -> None:
    # docs/mathematics.md: keys that stand on one straight move change nothing about the way.
    end = replace(FAR, x=x, y=1800, width=FAR.width / growth, roll=roll)
    straight = Straight(FAR, end)
    assume(straight.travel(HD.shape) > 0.01)
    on_the_way = Framing.from_row(straight.at(np.array([share]))[0])
    route = route_through([FAR, on_the_way, end], HD.shape)
    assert route.ease_through == pytest.approx(1, abs=1e-9)


def test_a_curve_is_travelled_at_an_even_rate_on_the_screen() -> None:
    stops = [
        FAR,
        Framing(x=2600, y=1800, width=2500, roll=5),
        NEAR,
        Framing(x=4000, y=900, width=2600),
    ]
    curve = Curve.through(stops, HD.shape)
    steps = corner_steps(curve.at(np.linspace(0, 1, 2001)), HD)
    assert steps == pytest.approx(steps.mean(), rel=2e-3)


def test_the_camera_comes_to_rest_where_the_way_turns_back() -> None:
    move = move_through([FAR, NEAR, FAR], [1, 25, 49], "none")
    steps = corner_steps(move.at(np.arange(1.0, 50)), HD)
    h = 1e-3
    at_turn = corner_steps(move.at(25 + h * np.array([-1.0, 0, 1])), HD) / h
    assert at_turn.max() < 0.01 * steps.max()
    rows = move.at(np.linspace(1, 49, 97))
    assert rows == pytest.approx(rows[::-1], rel=1e-9, abs=1e-9)


def test_a_repeated_framing_is_waited_at() -> None:
    move = move_through([FAR, NEAR, NEAR, FAR], [1, 17, 33, 49])
    waiting = move.at(np.linspace(17, 33, 65))
    assert np.abs(waiting - NEAR.to_row()).max() < 1e-9


def test_a_repeated_framing_at_the_start_is_waited_at_too() -> None:
    move = move_through([FAR, FAR, NEAR], [1, 13, 49])
    assert np.abs(move.at(np.linspace(1, 13, 25)) - FAR.to_row()).max() < 1e-9
    assert move.at(np.array([31.0]))[0, 2] < 4000


@given(st.integers(-3, 3), st.sampled_from(["x", "y", "width"]), st.integers(1, 3))
def test_keys_that_differ_by_next_to_nothing_are_one_place(
    ulps: int, name: str, place: int
) -> None:
    middle = Framing(x=3000.1, y=2000.1, width=3000.1)
    row = {n: getattr(middle, n) for n in ("x", "y", "width")}
    row[name] += ulps * np.spacing(row[name])
    stops = [FAR, middle, NEAR]
    stops.insert(place, Framing(**row))
    rows = move_through(stops, [1, 13, 25, 49]).at(np.linspace(1, 49, 97))
    assert np.isfinite(rows).all()


@given(st.lists(st.floats(-400, 400), min_size=3, max_size=5, unique=True))
def test_rolled_keys_are_turned_through_within_their_range(rolls: list[float]) -> None:
    stops = [Framing(x=3000, y=2000, width=3000, roll=roll) for roll in rolls]
    frames = [1 + 10 * n for n in range(len(stops))]
    rows = move_through(stops, frames).at(np.linspace(1, frames[-1], 201))
    assert rows[:, 3].min() >= min(rolls) - 1e-9
    assert rows[:, 3].max() <= max(rolls) + 1e-9
    assert rows[:, :3] == pytest.approx(np.tile([3000, 2000, 3000], (201, 1)), abs=1e-9)
