"""Safe areas of the standards."""

import pytest

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.move.safe import SAFE_AREAS, safe_area_named

HD = Size(1920, 1080)


def sides(box):
    left, top, right, bottom = box
    return right - left, bottom - top


@pytest.mark.parametrize(
    ("name", "action", "title"),
    [
        # Sides in pixels of 1920 x 1080, computed from the published shares: SMPTE ST 2046-1:2009
        # 93 % and 90 %; EBU R 95 3.5 % and 5 % at each edge; SMPTE RP 8 and RP 13 90 % and 80 %.
        ("st 2046-1", (1785.6, 1004.4), (1728, 972)),
        ("r 95", (1785.6, 1004.4), (1728, 972)),
        ("older practice", (1728, 972), (1536, 864)),
    ],
)
def test_the_areas_have_the_published_sides(name, action, title):
    area = SAFE_AREAS[name]
    assert sides(area.action_box(HD)) == pytest.approx(action)
    assert sides(area.title_box(HD)) == pytest.approx(title)


def test_the_margins_are_the_published_ones():
    # EBU R 95 on 1920 x 1080: 67.2 and 37.8, 96 and 54.
    assert SAFE_AREAS["r 95"].action_box(HD)[:2] == pytest.approx((67.2, 37.8))
    assert SAFE_AREAS["r 95"].title_box(HD)[:2] == pytest.approx((96, 54))


@pytest.mark.parametrize("size", [HD, Size(3840, 2160), Size(1998, 1080), Size(720, 576)])
def test_the_two_standards_of_today_agree(size):
    smpte, ebu = SAFE_AREAS["st 2046-1"], SAFE_AREAS["r 95"]
    assert smpte.action_box(size) == pytest.approx(ebu.action_box(size))
    assert smpte.title_box(size) == pytest.approx(ebu.title_box(size))


def test_the_usual_limits_are_the_standards():
    from cropmove.limits import Limits

    today = SAFE_AREAS["st 2046-1"]
    assert (Limits().action_safe, Limits().title_safe) == (today.action * 100, today.title * 100)


def test_an_unknown_standard_names_the_nearest():
    with pytest.raises(InputError, match="r 95"):
        safe_area_named("r 59")
