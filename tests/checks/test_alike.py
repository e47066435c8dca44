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


def test_a_profile_is_not_to_be_had_from_a_still_that_has_none(photographed, one, found):
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()

    def save(number):
        return {"icc_profile": srgb} if number == 3 else {}

    finding = one(photographed([GREY] * 5, save=save, suffix="jpg"), "profile-differs")
    assert finding.remedy == (
        "save still 3 anew turned to sRGB and without a profile, as still_0001.jpg is"
    )
    assert found(photographed([GREY] * 5, suffix="jpg"), "profile-differs") == ()


def test_every_still_is_told_its_own_factor(photographed, one):
    # Twice and four times the sensitivity: half and a quarter of the light (ISO 12232).
    def save(number):
        return {"exif": settings(iso={2: 200, 5: 400}.get(number, 100))}

    finding = one(photographed([GREY] * 6, save=save, suffix="jpg"), "exposure-differs")
    assert finding.figures["multiply"] == {"2": 0.5, "5": 0.25}
    assert (
        "multiply the light of still 2 (still_0002.jpg) by 0.500, still 5 (still_0005.jpg) by 0.250"
        in finding.remedy
    )
    alike = one(exposed(photographed, (3, 4), iso=200), "exposure-differs")
    assert "multiply their light by 0.500" in alike.remedy


def test_no_factor_is_told_where_not_every_still_has_one(photographed, one):
    def save(number):
        odd = {2: {"iso": 200}, 5: {"f_number": None}}.get(number, {})
        given = {TIME: (1, 4), F_NUMBER: 11.0, ISO: 100} | {
            {"iso": ISO, "f_number": F_NUMBER}[name]: value for name, value in odd.items()
        }
        exif = Image.Exif()
        exif.get_ifd(EXIF).update({tag: value for tag, value in given.items() if value})
        return {"exif": exif.tobytes()}

    finding = one(photographed([GREY] * 6, save=save, suffix="jpg"), "exposure-differs")
    assert finding.figures["stills"] == [2, 5]
    assert "multiply" not in finding.remedy


def test_other_settings_of_the_same_light_ask_for_no_factor(photographed, one):
    # A stop more of time, a stop less of sensitivity.
    finding = one(exposed(photographed, (3,), time=(1, 2), iso=50), "exposure-differs")
    assert "multiply" not in finding.remedy
