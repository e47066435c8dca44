from __future__ import annotations

import os
import struct
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import imagecodecs
import numpy as np
import pytest
from av.video.reformatter import Interpolation
from numpy.typing import NDArray

from cropmove.errors import InputError, MachineError
from cropmove.geometry import Size
from cropmove.rendering.encode import Encoding
from cropmove.rendering.encode.movie import MovieWriter
from cropmove.rendering.made import Made
from cropmove.stills.find import find_stills
from cropmove.stills.profile import srgb_profile
from cropmove.stills.read import read_pixels

MOVIES = [("mp4", 8), ("mp4", 10), ("mov", 10)]
RATES = [Fraction(24), Fraction(24000, 1001), Fraction(30000, 1001), Fraction(25, 2)]
SIZE = Size(192, 128)
PATCH = 16


def patches(seed: int, depth: int) -> NDArray[Any]:
    kind = np.uint8 if depth == 8 else np.uint16
    full = np.iinfo(kind).max
    shape = (SIZE.height // PATCH, SIZE.width // PATCH, 3)
    colours = np.random.default_rng(seed).integers(0, full + 1, shape).astype(kind)
    return colours.repeat(PATCH, axis=0).repeat(PATCH, axis=1)


def write(path: Path, name: str, depth: int, count: int, fps: Fraction = Fraction(24)) -> Path:
    with MovieWriter(path, SIZE, fps, Encoding(format=name, depth=depth)) as movie:
        for index in range(count):
            movie.add(patches(index, depth))
        movie.finish()
    return path


def middles(pixels: NDArray[Any]) -> NDArray[np.float64]:
    """The mean colours of the patches in codes of 8 bits, away from their edges."""
    scale = 255 / np.iinfo(pixels.dtype).max
    height, width, _ = pixels.shape
    split = pixels.reshape(height // PATCH, PATCH, width // PATCH, PATCH, 3)
    return split[:, 4:-4, :, 4:-4].mean(axis=(1, 3)) * scale


def decoded(path: Path) -> list[NDArray[np.uint8]]:
    """Every picture through the library's own conversion, told what BT.709 is."""
    exact = Interpolation.BICUBIC | Interpolation.ACCURATE_RND | Interpolation.FULL_CHR_H_INT
    told = {"src_colorspace": 1, "src_color_range": 1, "dst_color_range": 2}
    with av.open(str(path)) as container:
        return [
            frame.to_ndarray(format="rgb24", interpolation=exact, **told)
            for frame in container.decode(video=0)
        ]


@pytest.mark.parametrize(("name", "depth"), MOVIES)
def test_colours_come_back_within_two_codes(name: str, depth: int, tmp_path: Path) -> None:
    path = write(tmp_path / f"scene.{name}", name, depth, count=5)
    frames = decoded(path)
    assert len(frames) == 5
    for index, frame in enumerate(frames):
        assert np.abs(middles(frame) - middles(patches(index, depth))).max() <= 2


@pytest.mark.parametrize(("name", "depth"), MOVIES)
def test_our_own_reader_gets_them_back_too(name: str, depth: int, tmp_path: Path) -> None:
    write(tmp_path / f"scene.{name}", name, depth, count=5)
    stills = find_stills(f"scene.{name}", tmp_path)
    assert len(stills) == 5
    for index, still in enumerate(stills):
        assert np.abs(middles(read_pixels(still)) - middles(patches(index, depth))).max() <= 2


@pytest.mark.parametrize(("name", "depth"), MOVIES)
def test_the_file_says_bt709_and_narrow_range(name: str, depth: int, tmp_path: Path) -> None:
    # The colour box: ISO/IEC 14496-12, 12.1.5, "nclx"; QuickTime's "nclc" has no range.
    file = write(tmp_path / "part", name, depth, count=2).read_bytes()
    at = file.index(b"colr") + 4
    assert file[at : at + 4] == (b"nclx" if name == "mp4" else b"nclc")
    assert struct.unpack(">3H", file[at + 4 : at + 10]) == (1, 1, 1)
    if name == "mp4":
        assert file[at + 10] == 0
    with av.open(str(tmp_path / "part")) as container:
        context = container.streams.video[0].codec_context
        assert int(context.color_range) == 1


@pytest.mark.parametrize("fps", RATES, ids=str)
@pytest.mark.parametrize("name", ["mp4", "mov"])
def test_rates_are_exact(name: str, fps: Fraction, tmp_path: Path) -> None:
    depth = 10
    path = write(tmp_path / "part", name, depth, count=24, fps=fps)
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        times = [frame.pts * stream.time_base for frame in container.decode(stream)]
        assert stream.average_rate == fps
    assert times == [index / fps for index in range(24)]


@pytest.mark.parametrize("name", ["mp4", "mov"])
@pytest.mark.parametrize("size", [Size(191, 128), Size(192, 127)])
def test_odd_sizes_are_refused_and_the_next_even_one_told(
    size: Size, name: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=r"size = \[192, 128\]"):
        MovieWriter(tmp_path / "part", size, Fraction(24), Encoding(format=name))
    assert list(tmp_path.iterdir()) == []


def test_colours_of_another_space_are_refused(tmp_path: Path) -> None:
    encoding = Encoding(format="mov", profile=imagecodecs.cms_profile("adobergb"))
    with pytest.raises(InputError, match='colour = "srgb"'):
        MovieWriter(tmp_path / "part", SIZE, Fraction(24), encoding)
    plain = Encoding(format="mov", profile=srgb_profile())
    with MovieWriter(tmp_path / "part", SIZE, Fraction(24), plain) as movie:
        movie.add(patches(0, 10))
        movie.finish()
    assert (tmp_path / "part").exists()


def test_grey_frames_are_grey(tmp_path: Path) -> None:
    with MovieWriter(tmp_path / "part", SIZE, Fraction(24), Encoding(format="mp4")) as movie:
        movie.add(np.full((128, 192, 1), 100, np.uint8))
        movie.finish()
    (frame,) = decoded(tmp_path / "part")
    assert np.abs(frame.astype(int) - 100).max() <= 1


@pytest.mark.parametrize(("name", "depth"), MOVIES)
def test_an_interrupted_movie_leaves_nothing(name: str, depth: int, tmp_path: Path) -> None:
    encoding = Encoding(format=name, depth=depth)

    def interrupted() -> None:
        with MovieWriter(tmp_path / "part", SIZE, Fraction(24), encoding) as movie:
            for index in range(4):
                movie.add(patches(index, depth))
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert list(tmp_path.iterdir()) == []


def test_a_movie_that_was_not_finished_leaves_nothing(tmp_path: Path) -> None:
    with MovieWriter(tmp_path / "part", SIZE, Fraction(24), Encoding(format="mp4")) as movie:
        movie.add(patches(0, 8))
    assert list(tmp_path.iterdir()) == []


def test_alpha_is_refused(tmp_path: Path) -> None:
    movie = MovieWriter(tmp_path / "part", SIZE, Fraction(24), Encoding(format="mp4"))
    with movie, pytest.raises(InputError, match="no alpha channel"):
        movie.add(np.zeros((128, 192, 4), np.uint8))


def test_a_frame_of_another_size_is_our_own_mistake(tmp_path: Path) -> None:
    movie = MovieWriter(tmp_path / "part", SIZE, Fraction(24), Encoding(format="mp4"))
    with movie, pytest.raises(ValueError, match="192 x 128"):
        movie.add(np.zeros((128, 190, 3), np.uint8))


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        MovieWriter(tmp_path / "gone" / "part", SIZE, Fraction(24), Encoding(format="mp4"))


@pytest.mark.skipif(os.name != "posix", reason="limits as POSIX has them")
@pytest.mark.parametrize(("name", "depth"), MOVIES)
def test_a_full_disk_names_the_movie_and_leaves_nothing(
    name: str, depth: int, tmp_path: Path
) -> None:
    import resource

    def written() -> None:
        made = Made(tmp_path / "quay.made.jsonl")
        with (
            made.writing(f"quay.{name}", "") as part,
            MovieWriter(part, SIZE, Fraction(24), Encoding(format=name, depth=depth)) as movie,
        ):
            resource.setrlimit(resource.RLIMIT_FSIZE, (4096, most))
            for index in range(24):
                movie.add(patches(index, depth))
            movie.finish()

    before, most = resource.getrlimit(resource.RLIMIT_FSIZE)
    try:
        with pytest.raises(MachineError) as caught:
            written()
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (before, most))
    assert caught.value.complaints[0].where == str(tmp_path / f"quay.{name}")
    assert "File too large" in caught.value.complaints[0].rule
    assert list(tmp_path.iterdir()) == []


def test_without_the_library_the_install_command_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(MachineError, match=r'pip install "cropmove\[movie\]"'):
        MovieWriter(tmp_path / "part", SIZE, Fraction(24), Encoding(format="mp4"))
