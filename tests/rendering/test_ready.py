"""What is compiled is announced before it is, once, and for each format by itself."""

from __future__ import annotations

import numpy as np
import pytest

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
    assert len(said) == 2
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
