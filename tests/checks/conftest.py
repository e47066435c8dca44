"""Planned shots and written stills for the checks' tests."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from cropmove.checks.finding import Finding
from cropmove.checks.registry import findings_of
from cropmove.geometry import Size
from cropmove.move.ease import ease_named
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.shot import Delivery, Shot, Stills
from cropmove.stills.find import find_stills
from cropmove.stills.read import read_header

HD = Size(1920, 1080)


def a_key(frame: int, x: float, y: float, width: float, *, roll: float = 0, **more: Any) -> Key:
    if isinstance(more.get("ease"), str):
        more["ease"] = ease_named(more["ease"])
    return Key(frame=frame, framing=Framing(x=x, y=y, width=width, roll=roll), **more)


def a_shot(*keys: Key, fps: Any = 24, **more: Any) -> Shot:
    """A shot in a still of 6000 x 4000 that need not be there."""
    more.setdefault("delivery", Delivery(size=HD))
    more.setdefault("stills", Stills(size=Size(6000, 4000)))
    return Shot(name=more.pop("name", "quay"), keys=keys, fps=Fraction(fps), **more)


def a_pan(share: float, steps: int, *, width: float = 3000, **more: Any) -> Shot:
    """A pan to the right by a share of the frame's width, in so many steps from frame 1."""
    ease = {name: more.pop(name) for name in ("ease", "ease_in", "ease_out") if name in more}
    start = a_key(1, 1500, 2000, width)
    return a_shot(start, a_key(1 + steps, 1500 + share * width, 2000, width, **ease), **more)


def only(shot: Shot, id: str, **options: Any) -> tuple[Finding, ...]:
    """What one check finds."""
    return tuple(finding for finding in findings_of(shot, **options) if finding.id == id)


@pytest.fixture
def key() -> Callable[..., Key]:
    return a_key


@pytest.fixture
def shot() -> Callable[..., Shot]:
    return a_shot


@pytest.fixture
def pan() -> Callable[..., Shot]:
    return a_pan


@pytest.fixture
def found() -> Callable[..., tuple[Finding, ...]]:
    return only


@pytest.fixture
def one() -> Callable[..., Finding]:
    """The only finding of a check."""

    def finding(shot: Shot, id: str, **options: Any) -> Finding:
        (the_one,) = only(shot, id, **options)
        return the_one

    return finding


@pytest.fixture
def relengthened() -> Callable[[Shot, int, int], Shot]:
    """A shot whose leg, counted from 1, takes another number of steps; it has only stops."""

    def made(shot: Shot, leg: int, steps: int) -> Shot:
        keys = list(shot.keys)
        late = steps - (keys[leg].frame - keys[leg - 1].frame)
        keys[leg:] = [replace(key, frame=key.frame + late) for key in keys[leg:]]
        return replace(shot, keys=tuple(keys))

    return made


@pytest.fixture
def eased() -> Callable[..., Shot]:
    """A shot whose leg, counted from 1, has another ease."""

    def made(shot: Shot, leg: int, **ease: Any) -> Shot:
        if isinstance(ease.get("ease"), str):
            ease["ease"] = ease_named(ease["ease"])
        keys = list(shot.keys)
        keys[leg] = replace(keys[leg], **ease)
        return replace(shot, keys=tuple(keys))

    return made


@pytest.fixture
def photographed(tmp_path: Path) -> Callable[..., Shot]:
    """A locked-off shot of pictures that are written to files, (H, W, 3) of 8 bits."""

    def made(pictures: Any, *, save: Any = None, suffix: str = "png", **more: Any) -> Shot:
        folder = tmp_path / f"stills{len(list(tmp_path.iterdir()))}"
        folder.mkdir()
        for number, picture in enumerate(pictures, start=1):
            options = save(number) if save else {}
            name = folder / f"still_{number:04}.{suffix}"
            Image.fromarray(np.asarray(picture, dtype=np.uint8)).save(name, **options)
        refs = find_stills(".", folder)
        size = read_header(refs[0]).size
        stills = Stills(source=".", refs=refs, size=size)
        hold = a_key(1, size.width / 2, size.height / 2, size.width)
        shape = Size(size.width // 2 * 2, size.width // 2 * 2 * size.height // size.width)
        more.setdefault("delivery", Delivery(size=shape))
        return a_shot(hold, stills=stills, **more)

    return made
