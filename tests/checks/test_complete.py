"""Every check has a shot that passes and one that fails, and a place in the documentation."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from by_hand import a_rig
from PIL import Image, ImageCms

from cropmove.checks import delivery as delivery_checks
from cropmove.checks.finding import Finding, Level
from cropmove.checks.page import page
from cropmove.checks.registry import CHECKS, findings_of
from cropmove.geometry import Size
from cropmove.limits import LIMITS
from cropmove.move.subject import Point, Subject
from cropmove.rig.optics import Lens
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import StillRef

PAGE = Path(__file__).parents[2] / "docs" / "checks.md"
GREY = np.full((32, 48, 3), 128, dtype=np.uint8)


RIGS = tuple(f"cropmove.checks.{file}" for file in ("layers", "rig", "steps"))
HERE = [id for id, check in CHECKS.items() if check.find.__module__ not in RIGS]
"""Checks of a rig need a shot with one: their own tests have it."""


class Cases:
    """For each check a shot that fails and one that passes by a little, as (shot, options)."""

    def __init__(self, key, shot, pan, photographed, folder, monkeypatch) -> None:
        self.key, self.shot, self.pan = key, shot, pan
        self.photographed, self.folder, self.monkeypatch = photographed, folder, monkeypatch

    def of(self, id: str, fails: bool) -> tuple[Shot, dict]:
        made = getattr(self, id.replace("-", "_"))(fails)
        return made if isinstance(made, tuple) else (made, {})

    # the framing in the still

    def outside(self, fails):
        return self.shot(self.key(1, 2999 if fails else 3000, 2000, 6000))

    def enlarged(self, fails):
        return self.shot(self.key(1, 3000, 2000, 1919 if fails else 1920))

    # pace

    def pace(self, fails):
        return self.pan(0.61 if fails else 0.59, 100, ease="none")

    def strobing(self, fails):
        return self.pan(0.84 if fails else 0.83, 100, ease="none")

    def zip_pan(self, fails):
        return self.pan(0.21 if fails else 0.208, 10, ease="none")

    # rate

    def low_rate(self, fails):
        return self.pan(0.1, 48, fps=Fraction(23 if fails else 24))

    def on_twos(self, fails):
        frames = range(1, 25, 2)
        pairs = [(f, f) for f in frames] + ([(f + 1, f) for f in frames] if fails else [])
        return self.shot(*(self.key(f, 2000 + 6 * at, 2000, 3000) for f, at in sorted(pairs)))

    # ease

    def hard_start(self, fails):
        return self.pan(0.2, 48, ease_in=1 if fails else 2, ease_out=10)

    def hard_stop(self, fails):
        return self.pan(0.2, 48, ease_in=1, ease_out=1 if fails else 2)

    def short_ease_out(self, fails):
        return self.pan(0.2, 48, ease_in=10, ease_out=9 if fails else 10)

    def jolt(self, fails):
        far = 300 / (0.9 if fails else 0.96)
        return self.shot(
            self.key(1, 1500, 1500, 3000),
            self.key(25, 1800, 1500, 3000, ease_in=8, ease_out=0),
            self.key(49, 1800 + far, 1500, 3000, ease_in=0, ease_out=8),
        )

    def slow_end(self, fails):
        return self.pan(0.000024 * 100 if fails else 0.000026 * 100, 100, ease="none")

    def no_hold(self, fails):
        return self.pan(0.1, 48, frames=53 if fails else 54)

    def key_unreached(self, fails):
        return self.pan(0.1, 48, frames=48 if fails else 49)

    # picture

    def pulsing(self, fails):
        shot = self.pan(0.1, 48, width=1920)
        kernel = "crisp" if fails else "steady"
        return replace(shot, delivery=replace(shot.delivery, kernel=kernel))

    def softening(self, fails):
        last = 1920 if fails else 2360
        return self.shot(self.key(1, 3000, 2000, 6000), self.key(241, 3000, 2000, last))

    # subject: the frame spans 2000 to 4000

    def _subject(self, x, width=0, fast=0):
        points = (
            Point(frame=1, x=x - fast, y=2000, width=width),
            Point(frame=25, x=x, y=2000, width=width),
        )
        subjects = (Subject(points=points),)
        return self.shot(self.key(1, 3000, 2000, 2000), subjects=subjects, frames=25)

    def too_tight(self, fails):
        return self._subject(3000, width=1861 if fails else 1859)

    def subject_leaves_frame(self, fails):
        return self._subject(4001 if fails else 3999)

    def subject_leaves_action_safe(self, fails):
        return self._subject(3931 if fails else 3929)

    def subject_leaves_title_safe(self, fails):
        return self._subject(3901 if fails else 3899)

    def lead_room(self, fails):
        return self._subject(3230, fast=300 if fails else 90)

    # stills

    def _refs(self, *numbers):
        refs = tuple(StillRef(path=Path(f"s{n:03}.jpg"), number=n) for n in numbers)
        return Stills(source=".", refs=refs, size=Size(6000, 4000))

    def too_few_stills(self, fails):
        return self.photographed([GREY] * 4, on=2, frames=9 if fails else 8)

    def stills_differ(self, fails):
        taller = np.vstack([GREY, GREY]) if fails else GREY
        return self.photographed([GREY, GREY, taller])

    def number_missing(self, fails):
        shot = self.photographed([GREY] * 4)
        refs = tuple(r for r in shot.stills.refs if r.number != 3) if fails else shot.stills.refs
        return replace(shot, stills=replace(shot.stills, refs=refs), frames=len(refs))

    def strange_name(self, fails):
        shot = self.photographed([GREY] * 4)
        third = shot.stills.refs[2]
        copy = third.path.with_name("still_0003 (1).png" if fails else "still_0005.png")
        third.path.rename(copy)
        refs = [
            replace(still, path=copy) if still is third else still for still in shot.stills.refs
        ]
        return replace(shot, stills=replace(shot.stills, refs=tuple(refs)))

    def spare_stills(self, fails):
        return self.photographed([GREY] * 4, frames=3 if fails else 4)

    def not_photographed(self, fails):
        planned = Stills(source="quay/*.jpg" if fails else "", size=Size(6000, 4000))
        return self.shot(self.key(1, 3000, 2000, 4000), stills=planned, frames=9)

    def profile_differs(self, fails):
        srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        odd = (2,) if fails else ()
        return self.photographed(
            [GREY] * 3, save=lambda n: {} if n in odd else {"icc_profile": srgb}, suffix="jpg"
        )

    def exposure_differs(self, fails):
        def save(number):
            exif = Image.Exif()
            iso = 125 if fails and number == 2 else 100
            exif.get_ifd(34665).update({33434: (1, 4), 33437: 11.0, 34855: iso})
            return {"exif": exif.tobytes()}

        return self.photographed([GREY] * 3, save=save, suffix="jpg")

    def still_again(self, fails):
        shades = (90, 110, 130, 110 if fails else 150)
        return self.photographed([np.full_like(GREY, v) for v in shades]), {"stills": True}

    def flicker(self, fails):
        # One code of 128 in sRGB is 1.8 % of the light; two are 3.6 %.
        shades = (128, 128, 130 if fails else 129, 128, 128)
        return self.photographed([np.full_like(GREY, v) for v in shades]), {"stills": True}

    def bump(self, fails):
        noise = np.random.default_rng(2).integers(0, 255, (96, 144, 3))
        soft = sum(np.roll(noise, (r, c), (0, 1)) for r in range(4) for c in range(4)) / 16
        moved = [np.roll(soft, 1 if fails and n == 3 else 0, axis=1) for n in range(6)]
        return self.photographed(moved), {"stills": True}

    def moved_twice(self, fails):
        noise = np.random.default_rng(2).integers(0, 255, (192, 288, 3))
        soft = sum(np.roll(noise, (r, c), (0, 1)) for r in range(4) for c in range(4)) / 16
        shot = self.photographed([np.roll(soft, -n if fails else 0, axis=1) for n in range(6)])
        keys = self.key(1, 120, 96, 200), self.key(6, 125, 96, 200, ease="none")
        slide = a_rig("slider", "camera sideways", follows="keys")
        lens = Lens(focal_length=50, distance=800)
        return replace(shot, keys=keys, rigs=(slide,), lens=lens), {"stills": True}

    # delivery

    def odd_size(self, fails):
        size = Size(1920, 1081 if fails else 1080)
        return self.pan(0.05, 24, delivery=Delivery(size=size, format="mp4"))

    def alpha_lost(self, fails):
        clear = np.dstack([GREY, GREY[..., 0]]) if fails else GREY
        shot = self.photographed([GREY, clear])
        return replace(shot, delivery=replace(shot.delivery, format="jpeg"))

    def disk_room(self, fails):
        free = SimpleNamespace(free=1_000_000 if fails else 1_000_000_000)
        self.monkeypatch.setattr(delivery_checks.shutil, "disk_usage", lambda path: free)
        return self.pan(0.05, 24), {"folder": self.folder}

    def name_clash(self, fails):
        return self.pan(0.05, 24, name="quay"), {"batch": ("quay" if fails else "pier",)}


@pytest.fixture
def cases(key, shot, pan, photographed, tmp_path, monkeypatch) -> Cases:
    return Cases(key, shot, pan, photographed, tmp_path, monkeypatch)


@pytest.fixture
def told(cases) -> Callable[[str, bool], list[Finding]]:
    def findings(id, fails):
        shot, options = cases.of(id, fails)
        return [finding for finding in findings_of(shot, **options) if finding.id == id]

    return findings


@pytest.mark.parametrize("id", HERE)
def test_one_shot_fails_and_says_all_that_a_finding_says(told, id):
    findings = told(id, True)
    assert findings
    for finding in findings:
        assert finding.level <= CHECKS[id].level
        assert finding.what
        assert finding.remedy
        assert finding.unit
        assert finding.measured is not None
        assert finding.limit is not None
        json.dumps(finding.to_json(), allow_nan=False)
        assert any(sign.isdigit() for sign in finding.remedy) or finding.level is Level.NOTE


@pytest.mark.parametrize("id", HERE)
def test_another_shot_passes_by_a_little(told, id):
    assert told(id, False) == []


def test_there_are_cases_for_the_checks_and_for_no_others():
    cases = {name for name in vars(Cases) if not name.startswith("_")} - {"of"}
    assert cases == {id.replace("-", "_") for id in HERE}


def test_every_limit_is_judged_by_and_none_is_made_up():
    used = {name for check in CHECKS.values() for name in check.limits}
    assert used == set(LIMITS)


@pytest.mark.parametrize("id", CHECKS)
def test_every_check_says_why_it_is_asked_and_who_says_so(id):
    check = CHECKS[id]
    assert check.id == id
    assert check.title
    assert check.reason.endswith(".")
    assert check.source


def test_the_page_is_what_the_checks_say():
    rule = "run: python -m cropmove.checks.page > docs/checks.md"
    assert PAGE.read_text(encoding="utf-8") == page(), rule


def test_the_page_has_every_check_and_no_others():
    headings = re.findall(r"^### (.+)$", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    assert headings == list(CHECKS)


def test_findings_come_gravest_first(pan):
    shot = pan(0.9, 100, ease="none", delivery=Delivery(size=Size(1919, 1080), format="mp4"))
    levels = [finding.level for finding in findings_of(shot)]
    assert levels == sorted(levels, reverse=True)
    assert len(set(levels)) == 3
