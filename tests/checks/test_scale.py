"""Enlargement: what passes, what fails by a little, and remedies that do what they say."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cropmove.checks.facts import Facts
from cropmove.checks.finding import Finding, Level
from cropmove.checks.scale import ENLARGED, largest_delivery
from cropmove.geometry import Size
from cropmove.move.ease import EASES
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.shot import Delivery, Shot, Stills

HD = Size(1920, 1080)


def shot_of(*widths: float, size: Size = HD, max_scale: float = 1.0) -> Shot:
    keys = tuple(
        Key(frame=1 + 24 * n, framing=Framing(x=3000, y=2000, width=w))
        for n, w in enumerate(widths)
    )
    delivery = Delivery(size=size, max_scale=max_scale)
    return Shot(name="quay", stills=Stills(size=Size(6000, 4000)), delivery=delivery, keys=keys)


def found(shot: Shot) -> list[Finding]:
    return list(ENLARGED.find(Facts(shot)))


def faults(shot: Shot) -> list[Finding]:
    return [finding for finding in found(shot) if finding.level is Level.FAULT]


def test_a_framing_as_wide_as_the_delivery_is_not_enlarged() -> None:
    # No enlargement means framing width >= delivery width: 6000 x 4000 at 16:9 allows 3.125 times
    # in to HD, 1.5625 times to UHD; computed.
    assert found(shot_of(6000, 6000 / 3.125)) == []
    assert found(shot_of(6000, 6000 / 1.5625, size=Size(3840, 2160))) == []


def test_a_framing_narrower_by_a_hundredth_of_a_pixel_is() -> None:
    (fault,) = found(shot_of(6000, 1919.99))
    assert fault.level is Level.FAULT
    assert fault.measured == pytest.approx(1920 / 1919.99)
    assert fault.limit == 1.0
    assert fault.frames == ((25, 25),)


def test_it_says_the_first_and_the_worst_frame() -> None:
    shot = shot_of(6000, 1500, 6000)
    (fault,) = found(shot)
    enlarged = [n + 1 for n, scale in enumerate(shot.course().scale) if scale > 1]
    assert fault.figures["first_frame"] == enlarged[0]
    assert fault.figures["worst_frame"] == 25
    assert fault.frames == ((enlarged[0], enlarged[-1]),)
    assert fault.figures["closest_width"] == 1920
    assert fault.figures["largest_delivery"] == [1500, 842]


def test_what_max_scale_accepts_is_a_note() -> None:
    (note,) = found(shot_of(1600, max_scale=1.2))
    assert note.level is Level.NOTE
    assert faults(shot_of(1600 - 0.01, max_scale=1.2))


def offered(fault: Finding) -> tuple[float | None, Size, float]:
    """A width, where the still has room for it; a delivery, and a scale to accept."""
    match = re.fullmatch(
        r"(?:keep every framing at least ([\d.]+) px wide, or )?deliver at most (\d+) x (\d+), "
        r"or accept it: max_scale = ([\d.]+)",
        fault.remedy,
    )
    assert match, fault.remedy
    width = float(match[1]) if match[1] else None
    return width, Size(int(match[2]), int(match[3])), float(match[4])


@settings(suppress_health_check=[HealthCheck.filter_too_much])
@given(
    st.floats(40, 6000), st.integers(16, 4096), st.integers(16, 2160), st.floats(0.3, 3).map(abs)
)
def test_each_of_its_remedies_mends_it(width: float, w: int, h: int, max_scale: float) -> None:
    shot = shot_of(width, size=Size(w, h), max_scale=max_scale)
    for fault in faults(shot):
        closest, largest, accepted = offered(fault)
        has_room = w / max_scale < 5999 and h / max_scale < 3999
        assert closest is not None or not has_room
        if closest is not None:
            assert faults(shot_of(closest, size=Size(w, h), max_scale=max_scale)) == []
            assert closest - w / max_scale < 0.002  # and no wider than it must be
        assert faults(shot_of(width, size=largest, max_scale=max_scale)) == []
        if accepted <= 64:
            assert faults(shot_of(width, size=Size(w, h), max_scale=accepted)) == []


def test_the_sentence_never_says_enlarged_one_time() -> None:
    (fault,) = faults(shot_of(1919.999))
    assert "enlarged 1.001 times" in fault.what


@pytest.mark.parametrize("shutter", [0, 90, 180, 360])
def test_what_the_open_shutter_sees_enlarged_is_told(shutter: float) -> None:
    # A push in of 4 times in 20 steps at a constant rate, left off half way, at native scale: its
    # shutter stays open for shutter / 720 of a frame more, and in a frame the width falls by
    # 4 ** (1 / 20), computed.
    wide, tight = (Framing(x=3000, y=2000, width=width) for width in (3840, 960))
    keys = Key(frame=1, framing=wide), Key(frame=21, framing=tight, ease=EASES["none"])
    shot = Shot(name="quay", stills=Stills(size=Size(6000, 4000)), keys=keys, frames=11,
                delivery=Delivery(size=HD, shutter=shutter))  # fmt: skip
    seen = [one.scale(HD) for one in shot.course().exposed(11, shutter)]
    assert bool(faults(shot)) == (max(seen) > 1 + 1e-9) == (shutter > 0)
    for fault in faults(shot):
        assert fault.frames == ((11, 11),)
        assert fault.measured == pytest.approx(4 ** (shutter / 720 / 20))
        assert "at frame 11" in fault.what
        assert "not in its middle but while its shutter is open" in fault.what
        closest, largest, accepted = offered(fault)
        nearest = replace(keys[1], framing=replace(tight, width=closest))
        for mended in (
            replace(shot, keys=(keys[0], nearest)),
            replace(shot, delivery=replace(shot.delivery, size=largest)),
            replace(shot, delivery=replace(shot.delivery, max_scale=accepted)),
        ):
            assert faults(mended) == []


@pytest.mark.parametrize(
    ("width", "size"), [(1600, (1600, 900)), (1601.9, (1600, 900)), (3, (2, 1))]
)
def test_the_largest_delivery_is_in_even_pixels(width: float, size: tuple[int, int]) -> None:
    assert largest_delivery(width, HD, 1.0) == Size(*size)


@pytest.mark.parametrize(
    ("size", "largest"),
    [(HD, (65536, 36864)), (Size(1080, 1920), (36864, 65536)), (Size(1, 65536), (2, 65536))],
)
def test_the_largest_delivery_is_one_that_there_is(size: Size, largest: tuple[int, int]) -> None:
    assert largest_delivery(100_000, size, 64) == Size(*largest)
    assert found(shot_of(0.9 * size.width, size=size, max_scale=64))[0].level is Level.NOTE


def test_the_finding_is_in_its_json_whole(one: Callable[..., Finding]) -> None:
    fault = one(shot_of(1500), "enlarged")
    assert fault.to_json() == {
        "id": "enlarged",
        "level": "fault",
        "frames": [[1, 1]],
        "measured": 1.28,
        "limit": 1.0,
        "unit": fault.unit,
        "what": fault.what,
        "remedy": fault.remedy,
        "figures": dict(fault.figures),
    }
    assert replace(fault) == fault
