"""What several tests share: how Hypothesis runs, small stills, and the command line."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import imagecodecs
import platformdirs
import pytest
import simplejpeg
from hypothesis import settings
from PIL import Image

import cropmove

settings.register_profile("ci", derandomize=True, deadline=None, database=None, max_examples=40)
settings.register_profile("desk", deadline=None, max_examples=40)
settings.load_profile("ci" if os.environ.get("CI") else "desk")

Photograph = Callable[..., Path]


@pytest.fixture(scope="session")
def session_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A folder for what can be made again, in place of the user's: other processes use it too."""
    folder = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        # What Linux and, in platformdirs, macOS go by (XDG Base Directory Specification).
        patch.setenv("XDG_CACHE_HOME", str(folder))
        yield folder


@pytest.fixture(autouse=True)
def own_cache(session_cache: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Each test begins with nothing that is remembered, and never meets what the user's runs do."""
    folder = session_cache / uuid4().hex

    def given(name: str, *_: object, **__: object) -> Path:
        return folder / name

    monkeypatch.setattr(platformdirs, "user_cache_path", given)
    return folder / "cropmove"


@pytest.fixture
def photograph(tmp_path: Path) -> Photograph:
    """Makes a folder of small numbered stills; says where it is."""

    def make(
        folder: str = "harbour",
        count: int = 4,
        size: tuple[int, int] = (640, 480),
        *,
        first: int = 1,
        suffix: str = ".jpg",
        orientation: int | None = None,
    ) -> Path:
        where = tmp_path / folder
        where.mkdir(exist_ok=True)
        exif = Image.Exif()
        if orientation:
            exif[274] = orientation
        for number in range(first, first + count):
            picture = Image.new("RGB", size, (90 + number % 100, 80, 70))
            picture.save(where / f"{folder}_{number:04d}{suffix}", exif=exif)
        return where

    return make


@dataclass(frozen=True)
class Said:
    """What the command line answered."""

    code: int
    out: str
    err: str


Command = Callable[..., Said]


@pytest.fixture
def command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Command:
    """Runs the command line in a folder of its own, as the console script does."""
    from cropmove.cli import main

    monkeypatch.chdir(tmp_path)

    def run(*words: object) -> Said:
        monkeypatch.setattr(sys, "argv", ["cropmove", *map(str, words)])
        code: object = 0
        try:
            main()
        except SystemExit as end:
            code = end.code or 0
        out, err = capsys.readouterr()
        assert isinstance(code, int)
        return Said(code, out, err)

    return run


@pytest.fixture
def wide() -> cropmove.Framing:
    """The widest framing of a still of 6000 x 4000 at 16:9."""
    return cropmove.Framing(x=3000, y=2000, width=6000)


@pytest.fixture
def decoded(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many rows each decoding of a JPEG gave, in order."""
    seen: list[int] = []

    def noting(decode: Any) -> Any:
        def decoding(*args: Any, **options: Any) -> Any:
            pixels = decode(*args, **options)
            seen.append(pixels.shape[0])
            return pixels

        return decoding

    for module, name in ((simplejpeg, "decode_jpeg"), (imagecodecs, "jpeg8_decode")):
        monkeypatch.setattr(module, name, noting(getattr(module, name)))
    return seen
