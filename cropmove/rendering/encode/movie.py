"""Movies: H.264 in MP4 and ProRes 422 HQ in MOV, tagged BT.709.

The frames' code values go in unchanged and are tagged as BT.709 in primaries, transfer and
matrix, narrow range. sRGB has BT.709's primaries and white, and an sRGB frame and a BT.709 movie
are looked at on the same screens: the frames look alike, which is what a delivery is checked by.
Turning the values through the two standards' curves would make the movie darker than its frames.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import errorcode
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import complain
from cropmove.formats import Encoding
from cropmove.geometry import Size
from cropmove.stills.profile import profile_name, same_profile
from cropmove.stills.pyav import pyav

__all__ = ["MovieWriter"]

_BT709, _NARROW = 1, 1
"""ITU-T H.273's number for BT.709 in all three tables; FFmpeg's for narrow range."""

_LOOKING = {"crf": "10", "preset": "fast", "x264-params": "chroma-qp-offset=-6"}
"""So fine that flat colours come back within two codes of 8 bits."""

_CODECS: dict[tuple[str, int], tuple[str, str, dict[str, str]]] = {
    ("mp4", 8): ("libx264", "yuv420p", _LOOKING),
    ("mp4", 10): ("libx264", "yuv420p10le", _LOOKING),
    ("mov", 10): ("prores", "yuv422p10le", {"profile": "3", "vendor": "apl0"}),
}
"""Codec, layout of the planes and options, by format and depth."""


class MovieWriter:
    """Writes one movie, frame by frame; what it leaves behind is finished or gone.

    Parameters
    ----------
    path
        Where to write: a temporary name; the caller moves it into place afterwards.
    size
        Width and height, both even.
    fps
        Frames a second, exactly.
    encoding
        A movie format and its settings.

    Raises
    ------
    InputError
        Where the size is odd, or the pixels are in another space than sRGB.
    MachineError
        Where PyAV is not installed.
    OSError
        Where the disk does not take the file, here or later. Who gives it its name tells of that.

    Examples
    --------
    >>> import numpy as np, tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "part"
    ...     with MovieWriter(path, Size(64, 36), Fraction(24), Encoding(format="mp4")) as movie:
    ...         movie.add(np.zeros((36, 64, 3), np.uint8))
    ...         movie.finish()
    ...     path.exists()
    True
    """

    def __init__(self, path: Path, size: Size, fps: Fraction, encoding: Encoding) -> None:
        _refuse_odd(size, encoding)
        _refuse_other_colour(encoding)
        self._path, self._size, self._encoding, self._tick = path, size, encoding, 1 / fps
        self._count = 0
        self._is_finished = False
        codec, layout, options = _CODECS[encoding.format.name, encoding.depth]
        with _disk():
            path.touch()  # the library would not say before the first frame that it cannot
            self._container = pyav().open(
                str(path), "w", format=encoding.format.name, options={"movflags": "+faststart"}
            )
        self._stream = self._container.add_stream(codec, rate=fps, options=options)
        self._set_up(layout)

    def _set_up(self, layout: str) -> None:
        stream, context = self._stream, self._stream.codec_context
        stream.width, stream.height, stream.pix_fmt = (*_pair(self._size), layout)
        stream.time_base = context.time_base = self._tick
        stream.thread_type = "AUTO"
        context.color_range = _NARROW
        context.color_primaries = context.color_trc = context.colorspace = _BT709

    def __enter__(self) -> Self:
        return self

    def add(self, pixels: NDArray[Any]) -> None:
        """Append a frame: (H, W, 3) of ``encoding.dtype``, or (H, W, 1), which is grey."""
        self._check(pixels)
        frame = video_frame(pixels, self._encoding)
        frame.pts, frame.time_base = self._count, self._tick
        frame.color_range = _NARROW
        frame.color_primaries = frame.color_trc = frame.colorspace = _BT709
        self._count += 1
        with _disk():
            self._container.mux(self._stream.encode(frame))

    def _check(self, pixels: NDArray[Any]) -> None:
        width, height = _pair(self._size)
        if pixels.ndim == 3:
            self._encoding.format.check_alpha(pixels.shape[2])
        fits = pixels.shape in ((height, width, 3), (height, width, 1))
        if not fits or str(pixels.dtype) != self._encoding.dtype:
            raise ValueError(
                f"this movie takes {width} x {height} frames of {self._encoding.dtype}, "
                f"not {pixels.shape} of {pixels.dtype}"
            )

    def finish(self) -> None:
        """Write what is still in the encoder, and close the file."""
        with _disk():
            self._container.mux(self._stream.encode())
            self._container.close()
        self._is_finished = True

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._is_finished:
            return
        with suppress(Exception):  # what it cannot write no longer matters
            self._container.close()
        self._path.unlink(missing_ok=True)


def _pair(size: Size) -> tuple[int, int]:
    return size.width, size.height


def _refuse_odd(size: Size, encoding: Encoding) -> None:
    if size.width % 2 or size.height % 2:
        even = Size(size.width + size.width % 2, size.height + size.height % 2)
        rule = f"{encoding.format.name} holds pictures of even width and height"
        raise complain("size", str(size), rule, f"write size = [{even.width}, {even.height}]")


def _refuse_other_colour(encoding: Encoding) -> None:
    if not same_profile(encoding.profile, None):
        rule = "a movie holds BT.709 colours, which are sRGB's; the stills are in another space"
        value = profile_name(encoding.profile)
        raise complain("colour", value, rule, 'write colour = "srgb", which converts them')


def video_frame(pixels: NDArray[Any], encoding: Encoding) -> Any:
    """A picture, (H, W, 3 or 1) of ``encoding.dtype``, in the planes of a movie's frame."""
    from cropmove.rendering.encode.ycbcr import fill_planes

    height, width = pixels.shape[:2]
    layout = _CODECS[encoding.format.name, encoding.depth][1]
    frame = pyav().VideoFrame(width, height, layout)
    kind = np.dtype(np.uint8 if encoding.depth == 8 else np.uint16)
    # Whole rows, padding and all, and no views: compiled loops take every such picture alike.
    luma, blue, red = (
        np.frombuffer(p, kind).reshape(p.height, p.line_size // kind.itemsize) for p in frame.planes
    )
    colours = pixels if pixels.shape[2] == 3 else np.repeat(pixels, 3, axis=2)
    fill_planes(colours, luma, blue, red, encoding.depth, "420" in layout)
    return frame


@contextmanager
def _disk() -> Iterator[None]:
    """Turn the library's failures to write into the system's."""
    try:
        yield
    except pyav().FFmpegError as error:
        if error.errno not in errorcode:  # a number of the library's own
            raise OSError(error.strerror) from error
        raise OSError(error.errno, error.strerror) from error
