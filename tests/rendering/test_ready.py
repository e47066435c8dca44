"""What is compiled is announced before it is, once, and for each format by itself."""

from __future__ import annotations

import os
import subprocess
import sys

import numpy as np
import pytest

from cropmove.errors import MachineError
from cropmove.formats import Encoding
from cropmove.picture import ready as engine
from cropmove.rendering import ready


@pytest.fixture
def noted(monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    """A machine on which nothing was noted to be compiled yet, though all is."""
    marker = engine._marker
    monkeypatch.setattr(engine, "_marker", lambda *about: tmp_path / marker(*about).name)


@pytest.mark.usefixtures("noted")
@pytest.mark.parametrize("format", ["png", "tiff", "jpeg", "mp4"])
def test_a_first_run_is_announced_and_a_second_is_not(format: str) -> None:
    pytest.importorskip("av")
    said: list[str] = []
    ready.make_ready(Encoding(format=format), said.append)
    assert said == [ready.FIRST_RUN]
    ready.make_ready(Encoding(format=format), said.append)
    assert len(said) == 1


@pytest.mark.usefixtures("noted")
def test_another_format_and_depth_are_compiled_for_anew() -> None:
    said: list[str] = []
    ready.make_ready(Encoding(format="png"), said.append)
    ready.make_ready(Encoding(format="tiff", depth=16), said.append)
    assert said == [ready.FIRST_RUN, ready.FIRST_IN_FORMAT]
    ready.make_ready(Encoding(format="jpeg"), said.append)
    ready.make_ready(say=said.append)
    assert len(said) == 2


@pytest.mark.usefixtures("noted")
def test_a_changed_source_is_compiled_anew(monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    said: list[str] = []
    ready.make_ready(say=said.append)
    changed = tmp_path / "sums.py"
    changed.write_text("# another version")
    monkeypatch.setattr(engine.sums, "__file__", str(changed))
    ready.make_ready(say=said.append)
    assert len(said) == 2


@pytest.mark.usefixtures("noted")
def test_what_only_rolled_frames_need_is_compiled_and_later_left_where_it_is(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rolled: list[bool] = []
    monkeypatch.setattr(engine, "resample_rolled", lambda *_, **__: rolled.append(True))
    ready.make_ready(rolled=False)
    assert len(rolled) == 1
    ready.make_ready(rolled=False)
    assert len(rolled) == 1
    ready.make_ready(rolled=True)
    assert len(rolled) == 2


@pytest.mark.parametrize("depth", [8, 10])
def test_movie_frames_of_all_sizes_and_grey_ones_find_their_loops_ready(depth: int) -> None:
    pytest.importorskip("av")
    from cropmove.rendering.encode.movie import video_frame
    from cropmove.rendering.encode.ycbcr import fill_planes

    encoding = Encoding(format="mp4", depth=depth)
    ready.make_ready(encoding)
    known = set(fill_planes.signatures)
    for shape in ((1080, 1920, 3), (36, 1998, 3), (36, 62, 1)):
        video_frame(np.zeros(shape, encoding.dtype), encoding)
    assert set(fill_planes.signatures) == known


def test_where_nothing_can_be_kept_all_is_compiled_in_each_run() -> None:
    script = (
        "from cropmove.picture import compiling, ready, straight\n"
        "from cropmove.rendering.encode import literals, rows, ycbcr\n"
        "from cropmove.stills import ycbcr as movies\n"
        "ready.note_compiled()\n"
        "found = straight.taps(0.0, 1.0, 4, 8, 2, literals.np.ones(9), 4.0, 1.0, 1.0)\n"
        "print(compiling.KEPT, ready.is_compiled(), len(found.firsts))\n"
    )
    # numba's environment variables: a way of finding folders that finds none for a plain file.
    nowhere = os.environ | {"NUMBA_CACHE_LOCATOR_CLASSES": "IPythonCacheLocator"}
    done = subprocess.run(
        [sys.executable, "-c", script], env=nowhere, capture_output=True, text=True, check=False
    )
    assert (done.stdout, done.stderr) == ("False False 8\n", "")


@pytest.mark.usefixtures("noted")
def test_that_nothing_can_be_kept_is_told_in_each_run(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (engine.compiling, ready):
        monkeypatch.setattr(module, "KEPT", False)
    said: list[str] = []
    for _ in range(2):
        ready.make_ready(say=said.append)
    assert said == [ready.EACH_RUN] * 2


def test_a_disk_that_is_too_full_for_what_is_compiled_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def full(**_: object) -> None:
        raise OSError(28, "No space left on device")  # ENOSPC; numba passes it on

    monkeypatch.setattr(ready, "warm_up", full)
    with pytest.raises(MachineError) as told:
        ready.make_ready()
    assert str(engine.kept_in()) in str(told.value)
