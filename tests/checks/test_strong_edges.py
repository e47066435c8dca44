"""Strong edges, in pictures that are drawn finely and made smaller as a lens would."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter
from skimage.color import rgb2lab

from cropmove.checks.strong_edges import Search, View, edges_of_still, edges_of_view, lightness
from cropmove.geometry import Size
from cropmove.picture.light import SRGB, decode

SIZE = Size(720, 480)
WHOLE = (360.0, 240.0, 720.0, 0.0)


def search(*rows, **more):
    views = {1: tuple(View(number, row) for number, row in enumerate(rows, start=1))}
    usual = {"shape": 2 / 3, "within": 0.00833, "contrast": 25, "length": 0.15}
    return Search(views=views, **usual | more)


def luminance_for(lightness_value):
    # CIE 1976 L*, turned round; holds above L* 8.
    return ((lightness_value + 16) / 116) ** 3


def drawn(is_dark, light=70.0, dark=30.0, soft=0.6):
    """Dark where `is_dark(x, y)`, in pixels of the picture; drawn four times as fine."""
    y, x = (np.mgrid[: 4 * SIZE.height, : 4 * SIZE.width] + 0.5) / 4
    values = np.where(is_dark(x, y), luminance_for(dark), luminance_for(light))
    fine = gaussian_filter(values, 4 * soft)
    means = fine.reshape(SIZE.height, 4, SIZE.width, 4).mean(axis=(1, 3))
    return means.astype(np.float32)


def seen(picture, *rows, **more):
    return edges_of_still(picture, SIZE, 1, search(*(rows or (WHOLE,)), **more))


def test_lightness_is_that_of_an_independent_library():
    # scikit-image's rgb2lab, which takes sRGB (IEC 61966-2-1) to CIE 1976 L*a*b*.
    codes = np.linspace(0, 1, 101)
    greys = np.repeat(codes[:, None], 3, axis=1)
    assert lightness(decode(codes, SRGB)) == pytest.approx(rgb2lab(greys)[:, 0], abs=0.02)


@pytest.mark.parametrize("x", [200.0, 333.3, 501.7])
def test_an_upright_edge_is_found_where_it_stands_and_as_strong_as_it_is(x):
    edges = seen(drawn(lambda u, v: (u > x) & (v > 100)))[1]
    (edge,) = [edge for edge in edges if edge.way == "upright"]
    (x0, y0), (x1, y1) = edge.on_still(np.array(WHOLE))
    assert (x0, x1) == pytest.approx((x, x), abs=0.35)
    assert (y0, y1) == pytest.approx((100, 480), abs=6)
    assert edge.contrast == pytest.approx(40, abs=1)
    assert edge.length == pytest.approx(380 / 480, abs=0.02)


def test_a_level_edge_is_told_as_level():
    edges = seen(drawn(lambda u, v: v > 300))[1]
    assert [edge.way for edge in edges] == ["level"]
    assert edges[0].on_still(np.array(WHOLE))[:, 1] == pytest.approx((300, 300), abs=0.35)


def test_a_post_has_two_edges():
    edges = seen(drawn(lambda u, v: (abs(u - 300) < 20) & (v > 200)))[1]
    upright = sorted(edge.ends[0, 0] * 720 + 360 for edge in edges if edge.way == "upright")
    assert upright == pytest.approx([280, 320], abs=0.35)


@pytest.mark.parametrize(("contrast", "there"), [(24, 0), (27, 1)])
def test_what_is_fainter_than_the_limit_is_let_be(contrast, there):
    picture = drawn(lambda u, v: u > 300, light=50 + contrast / 2, dark=50 - contrast / 2)
    assert len(seen(picture)[1]) == there


@pytest.mark.parametrize(("tall", "there"), [(60, 0), (84, 2)])
def test_what_is_shorter_than_the_limit_is_let_be(tall, there):
    # 15 % of 480 is 72.
    picture = drawn(lambda u, v: (abs(u - 300) < 10) & (abs(v - 250) < tall / 2))
    assert len(seen(picture)[1]) == there


@pytest.mark.parametrize(("soft", "there"), [(1.0, 1), (8.0, 0)])
def test_a_soft_shade_is_no_edge(soft, there):
    assert len(seen(drawn(lambda u, v: u > 300, soft=soft))[1]) == there


@pytest.mark.parametrize(
    ("lean", "ways"), [(0, {"upright"}), (25, {"upright"}), (30, set()), (45, set())]
)
def test_an_edge_may_lean_a_little(lean, ways):
    # To an across of half its along: the arctangent of 0.5 is 26.6 degrees.
    slope = np.tan(np.deg2rad(lean))
    edges = seen(drawn(lambda u, v: u - 360 > (v - 240) * slope))[1]
    assert {edge.way for edge in edges} == ways


@pytest.mark.parametrize(("slope", "there"), [(0.3, 1), (1.0, 0)])
def test_an_edge_that_goes_to_and_fro_is_as_upright_as_its_parts(slope, there):
    # Parts of 16 px, which lean by 17 or by 45 degrees, one way and the other in turn.
    edges = seen(drawn(lambda u, v: u - 360 > slope * abs(v % 32 - 16), light=90, dark=20))[1]
    assert len([edge for edge in edges if edge.way == "upright"]) == there


def test_grain_and_fine_texture_are_no_edges():
    noise = np.random.default_rng(5).normal(0, 0.05, (480, 720))
    brush = gaussian_filter(np.random.default_rng(6).normal(0, 1, (480, 720)), (4, 1.5))
    textured = 0.3 + noise + 0.1 * brush / brush.std()
    assert seen(textured.clip(0, 1).astype(np.float32))[1] == ()


def test_an_edge_that_leans_on_the_still_is_upright_in_a_frame_that_rolls_with_it():
    angle = np.deg2rad(40)
    picture = drawn(lambda u, v: (u - 360) * np.cos(angle) + (v - 240) * np.sin(angle) > 0)
    rolled = (360.0, 240.0, 400.0, 40.0)
    found = seen(picture, (360.0, 240.0, 400.0, 0.0), rolled)
    assert found[1] == ()
    (edge,) = found[2]
    assert edge.way == "upright"
    # Both ends lie on the line that was drawn.
    offsets = edge.on_still(np.array(rolled)) - (360, 240)
    assert offsets @ (np.cos(angle), np.sin(angle)) == pytest.approx((0, 0), abs=0.35)


def test_only_what_the_frame_shows_is_found():
    picture = drawn(lambda u, v: u > 300)
    found = seen(picture, (200.0, 240.0, 180.0, 0.0), (300.0, 240.0, 180.0, 0.0))
    assert found[1] == ()
    assert len(found[2]) == 1


def test_a_step_across_the_edge_is_told_in_frame_widths():
    (edge,) = seen(drawn(lambda u, v: u > 300))[1]
    before, row = np.array([360.0, 240, 720, 0]), np.array([367.2, 247.2, 720, 0])
    assert edge.step(before, row) == pytest.approx(0.01)
    # The same place, nearer: what is at a share of the frame from the centre goes outward.
    (x, _), _ = edge.ends
    assert edge.step(before, np.array([360.0, 240, 360, 0])) == pytest.approx(abs(x) / 2)


def test_a_frame_of_a_few_pixels_has_no_edges():
    assert list(edges_of_view(np.zeros((8, 12), dtype=np.float32), search())) == []
