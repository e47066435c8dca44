"""Stills of another profile or exposure, as their files tell."""

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image, ImageCms

GREY = np.full((40, 60, 3), 128, dtype=np.uint8)

TIME, F_NUMBER, ISO, EXIF = 33434, 33437, 34855, 34665


def settings(time=(1, 4), f_number=11.0, iso=100):
    exif = Image.Exif()
    # Tags 33434, 33437 and 34855: CIPA DC-008 (Exif), 4.6.5.
    exif.get_ifd(EXIF).update({TIME: time, F_NUMBER: f_number, ISO: iso})
    return exif.tobytes()


def exposed(photographed, odd, count=6, **settings_of_odd):
    def save(number):
        return {"exif": settings(**(settings_of_odd if number in odd else {}))}

    return photographed([GREY] * count, save=save, suffix="jpg")


def test_stills_exposed_alike_are_let_be(photographed, found):
    assert found(exposed(photographed, ()), "exposure-differs") == ()
    assert found(photographed([GREY] * 3, suffix="jpg"), "exposure-differs") == ()


@pytest.mark.parametrize(
    ("change", "stops"),
    [
        # One stop is a factor of two in light: exposure time × sensitivity ÷ f-number²
        # (ISO 12232 and the definition of the f-number).
        ({"time": (1, 8)}, -1),
        ({"iso": 400}, 2),
        ({"f_number": 5.5}, 2),
        ({"time": (1, 5)}, np.log2(4 / 5)),
    ],
)
def test_another_exposure_is_told_in_stops(photographed, one, change, stops):
    finding = one(exposed(photographed, (3, 4), **change), "exposure-differs")
    assert finding.figures["stills"] == [3, 4]
    assert finding.figures["stops"]["3"] == pytest.approx(stops)
    assert finding.measured == pytest.approx(abs(stops))
    assert finding.frames == ((3, 4),)


def test_photographed_anew_as_the_remedy_says_they_are_alike(photographed, one, found):
    finding = one(exposed(photographed, (3,), iso=200), "exposure-differs")
    assert "1/4 s f/11 ISO 100" in finding.remedy
    assert "multiply its light by 0.500" in finding.remedy
    assert found(exposed(photographed, (3,)), "exposure-differs") == ()


def profiled(photographed, odd):
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()

    def save(number):
        return {} if number in odd else {"icc_profile": srgb}

    return photographed([GREY] * 5, save=save, suffix="jpg")


def test_another_profile_is_told_and_the_same_is_not(photographed, one, found):
    finding = one(profiled(photographed, (2, 5)), "profile-differs")
    assert finding.figures == {"stills": [2, 5], "like": 1}
    assert finding.frames == ((2, 2), (5, 5))
    assert found(profiled(photographed, ()), "profile-differs") == ()


def test_a_held_still_counts_for_all_its_frames(photographed, one):
    shot = replace(profiled(photographed, (2,)), on=2)
    assert one(shot, "profile-differs").frames == ((3, 4),)
