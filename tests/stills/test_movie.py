from __future__ import annotations

import struct
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from cropmove.errors import InputError, MachineError
from cropmove.geometry import Orientation, Size
from cropmove.picture.light import SRGB
from cropmove.stills.find import StillRef, find_stills
from cropmove.stills.movie import close_movies
from cropmove.stills.profile import transfer_of
from cropmove.stills.read import read_header, read_pixels

COUNT, WIDTH, HEIGHT = 30, 96, 64
CODECS = {
    "H.264": ("libx264", "yuv420p", {"crf": "4", "bf": "3", "g": "12"}),
    "H.264 10 bit": ("libx264", "yuv420p10le", {"crf": "4", "bf": "3", "g": "12"}),
    "ProRes": ("prores_ks", "yuv422p10le", {}),
    "ProRes 4444": ("prores_ks", "yuv444p10le", {}),
    "FFV1": ("ffv1", "yuv444p", {}),
    "grey FFV1": ("ffv1", "gray", {}),
    "Motion JPEG": ("mjpeg", "yuvj422p", {"q": "1"}),
    "RGB": ("png", "rgb24", {}),
}


def level(index: int) -> int:
    """Every picture of the test's movies is of one grey, which tells which it is."""
    return 40 + 4 * index


def write(path: Path, codec: str, layout: str, options: dict[str, str], **more: Any) -> Path:
    """A movie written by the library's own conversion, not by ours."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=Fraction(24), options=options)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, layout
        if "title" in more:
            container.metadata["title"] = more["title"]
        if "turn" in more:
            stream.set_display_rotation(more["turn"])
        context = stream.codec_context
        context.colorspace = context.color_primaries = context.color_trc = 1
        context.color_range = 2 if layout in ("yuvj422p", "gray") else 1
        for index in range(COUNT):
            grey = np.full((HEIGHT, WIDTH, 3), level(index), np.uint8)
            frame = av.VideoFrame.from_ndarray(grey, "rgb24").reformat(
                format=layout,
                dst_colorspace=1,
                src_color_range=2,
                dst_color_range=context.color_range,
            )
            frame.pts, frame.time_base = index, Fraction(1, 24)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return path


@pytest.fixture(scope="module", params=CODECS.values(), ids=CODECS)
def stills(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[StillRef, ...]]:
    codec, layout, options = request.param
    suffix = ".mkv" if codec in ("ffv1", "mjpeg") else ".mov"
    path = write(tmp_path_factory.mktemp("movie") / f"scene{suffix}", codec, layout, options)
    yield find_stills(path.name, path.parent)
    close_movies()


def seen(still: StillRef) -> float:
    pixels = read_pixels(still)
    return float(pixels.mean() / np.iinfo(pixels.dtype).max * 255)


def test_every_picture_is_a_still_with_its_name(stills: tuple[StillRef, ...]) -> None:
    assert len(stills) == COUNT
    assert [still.index for still in stills] == list(range(COUNT))
    assert stills[11].name.endswith("[12]")


def test_pictures_come_in_turn_and_right(stills: tuple[StillRef, ...]) -> None:
    close_movies()
    wrong = [s.index for s in stills if abs(seen(s) - level(s.index)) > 1.6]
    assert wrong == []


def test_pictures_come_out_of_turn_and_right(stills: tuple[StillRef, ...]) -> None:
    close_movies()
    order = np.random.default_rng(1).permutation(COUNT)
    wrong = [i for i in order if abs(seen(stills[i]) - level(int(i))) > 1.6]
    assert wrong == []


def test_workers_share_a_movie(stills: tuple[StillRef, ...]) -> None:
    close_movies()
    with ThreadPoolExecutor(8) as pool:
        levels = list(pool.map(seen, stills))
    assert np.abs(np.array(levels) - [level(s.index) for s in stills]).max() <= 1.6


def test_the_header_tells_size_and_depth(stills: tuple[StillRef, ...]) -> None:
    header = read_header(stills[0])
    pixels = read_pixels(stills[0], header)
    assert header.size == Size(WIDTH, HEIGHT)
    assert pixels.shape == (HEIGHT, WIDTH, header.channels)
    assert pixels.dtype == (np.uint8 if header.depth == 8 else np.uint16)
    assert transfer_of(header) == SRGB


def patches(seed: int) -> NDArray[np.uint8]:
    colours = np.random.default_rng(seed).integers(0, 256, (4, 6, 3)).astype(np.uint8)
    return colours.repeat(16, axis=0).repeat(16, axis=1)


@pytest.mark.parametrize(("matrix", "size"), [(1, 1), (6, 1), (9, 1), (0, 1)])
def test_colours_are_read_by_the_matrix_the_movie_names(
    matrix: int, size: int, tmp_path: Path
) -> None:
    # 0 names none: small pictures are then BT.601, as everybody takes them.
    path = tmp_path / "scene.mkv"
    wanted = patches(matrix)
    true_matrix = {0: 5, 6: 5}.get(matrix, matrix)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=24)
        stream.width, stream.height, stream.pix_fmt = 96, 64, "yuv444p"
        stream.codec_context.colorspace = matrix or 2
        stream.codec_context.color_range = 1
        frame = av.VideoFrame.from_ndarray(wanted, "rgb24").reformat(
            format="yuv444p", dst_colorspace=true_matrix, src_color_range=2, dst_color_range=1
        )
        frame.colorspace = matrix or 2
        container.mux(stream.encode(frame))
        container.mux(stream.encode())
    (still,) = find_stills("scene.mkv", tmp_path)
    assert np.abs(read_pixels(still).astype(int) - wanted).max() <= 3


@pytest.mark.parametrize(("turn", "code"), [(-90, 6), (90, 8), (180, 3)])
def test_a_movie_taken_upright_stands_upright(turn: int, code: int, tmp_path: Path) -> None:
    # -90 asks the player to turn the picture clockwise, which is what orientation 6 asks for.
    path = write(tmp_path / "scene.mov", "prores_ks", "yuv422p10le", {}, turn=turn)
    header = read_header(find_stills(path.name, tmp_path)[0])
    assert header.orientation == Orientation(code)


def with_matrix(path: Path, matrix: tuple[float, ...]) -> Path:
    """The movie with other numbers a, b, c, d in its track's header (ISO/IEC 14496-12, 8.3.2)."""
    content = bytearray(path.read_bytes())
    at = content.index(b"tkhd") + 44  # version 0, whose times have 32 bits
    a, b, c, d = (round(number * 65_536) for number in matrix)
    struct.pack_into(">9i", content, at, a, b, 0, c, d, 0, 0, 0, 1 << 30)
    path.write_bytes(content)
    return path


MATRICES = [(a, 0, 0, d) for a in (1, -1) for d in (1, -1)]
MATRICES += [(0, b, c, 0) for b in (1, -1) for c in (1, -1)]


@pytest.mark.parametrize("matrix", MATRICES)
def test_a_movie_is_turned_and_mirrored_as_its_matrix_says(
    matrix: tuple[int, ...], tmp_path: Path
) -> None:
    path = with_matrix(write(tmp_path / "a.mov", "prores_ks", "yuv422p10le", {}), matrix)
    # A point (x, y) is shown at (ax + cy, bx + dy): ISO/IEC 14496-12, 6.2.2.
    stored = np.array([[0, 1, 2], [3, 4, 5]])
    y, x = np.indices(stored.shape)
    a, b, c, d = matrix
    across, down = a * x + c * y, b * x + d * y
    shown = np.empty((np.ptp(down) + 1, np.ptp(across) + 1), int)
    shown[down - down.min(), across - across.min()] = stored
    turned = read_header(find_stills(path.name, tmp_path)[0]).orientation
    assert np.array_equal(turned.upright(stored), shown)


def test_a_movie_that_stands_aslant_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "scene.mov", "prores_ks", "yuv422p10le", {})
    first = find_stills(with_matrix(path, (0.8, 0.6, -0.6, 0.8)).name, tmp_path)[0]
    with pytest.raises(InputError, match=r"aslant(.|\n)*export it upright"):
        read_header(first)


def test_a_matrix_of_nothing_says_nothing(tmp_path: Path) -> None:
    path = write(tmp_path / "scene.mov", "prores_ks", "yuv422p10le", {})
    first = find_stills(with_matrix(path, (0, 0, 0, 0)).name, tmp_path)[0]
    assert read_header(first).orientation == Orientation()


@pytest.mark.parametrize("cut", [5, 17])
def test_a_movie_cut_without_being_packed_anew_begins_where_it_was_cut(
    cut: int, tmp_path: Path
) -> None:
    # An edit list leaves out the first pictures, on which the next ones lean: ISO/IEC 14496-12,
    # 8.6.6. Its version is 0, its one entry a duration and a time in the media.
    path = write(tmp_path / "scene.mp4", *CODECS["H.264"])
    with av.open(str(path)) as container:
        ticks = cut / 24 / container.streams.video[0].time_base
    content = bytearray(path.read_bytes())
    at = content.index(b"elst") + 12
    duration, begin = struct.unpack_from(">Ii", content, at)
    left = round(duration * (COUNT - cut) / COUNT)
    struct.pack_into(">Ii", content, at, left, begin + round(ticks))
    path.write_bytes(content)
    stills = find_stills("scene.mp4", tmp_path)
    assert len(stills) == COUNT - cut
    wrong = [s.index for s in stills[::-3] if abs(seen(s) - level(s.index + cut)) > 1.6]
    assert wrong == []


@pytest.mark.parametrize("layout", ["yuv411p", "yuv410p"])
def test_colours_coarser_than_every_second_pixel_are_refused(layout: str, tmp_path: Path) -> None:
    write(tmp_path / "scene.mkv", "ffv1", layout, {})
    (first, *_) = find_stills("scene.mkv", tmp_path)
    with pytest.raises(InputError, match=r"coarser(.|\n)*4:2:0, 4:2:2 or 4:4:4"):
        read_header(first)


@pytest.mark.parametrize("layout", ["yuv440p", "yuv422p"])
def test_colours_of_every_second_pixel_are_read(layout: str, tmp_path: Path) -> None:
    write(tmp_path / "scene.mkv", "ffv1", layout, {})
    still = find_stills("scene.mkv", tmp_path)[7]
    assert seen(still) == pytest.approx(level(7), abs=1)


def test_a_cut_off_movie_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "scene.mov", "prores_ks", "yuv422p10le", {})
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(InputError, match="damaged or cut off"):
        find_stills("scene.mov", tmp_path)


def test_a_movie_may_be_called_in_letters_of_any_code(tmp_path: Path) -> None:
    path = write(tmp_path / "scene.mov", "prores_ks", "yuv422p10le", {}, title="café")
    content = path.read_bytes()
    assert content.count("é".encode()) == 1
    path.write_bytes(content.replace("é".encode(), "é ".encode("latin-1")))
    assert seen(find_stills("scene.mov", tmp_path)[5]) == pytest.approx(level(5), abs=1.6)


def test_a_movie_of_which_no_picture_stands_alone_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "scene.mp4", "libx264", "yuv420p", {"x264-params": "keyint=99"})
    content = bytearray(path.read_bytes())
    # The table of pictures that stand alone, 'stss' (ISO/IEC 14496-12, 8.6.2): after its name
    # a version, a count and the numbers, of 4 bytes each.
    at = content.index(b"stss") + 12
    content[at : at + 4] = struct.pack(">I", 9_999)
    path.write_bytes(content)
    with pytest.raises(InputError, match="damaged or cut off"):
        read_header(find_stills("scene.mp4", tmp_path)[0])


def test_a_movie_changed_on_disk_is_opened_anew(tmp_path: Path) -> None:
    path = write(tmp_path / "scene.mkv", "ffv1", "yuv444p", {})
    still = find_stills(path.name, tmp_path)[5]
    assert abs(seen(still) - level(5)) < 1.6
    write(path, "ffv1", "gray", {})
    assert read_pixels(still).shape[2] == 1


def test_a_picture_beyond_the_last_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "scene.mkv", "ffv1", "gray", {})
    with pytest.raises(InputError, match=f"it holds {COUNT} pictures"):
        read_pixels(StillRef(path=path, index=COUNT, in_movie=True))


def test_without_the_library_the_install_command_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "scene.mov").write_bytes(b"x")
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(MachineError, match=r'pip install "cropmove\[movie\]"'):
        find_stills("scene.mov", tmp_path)
