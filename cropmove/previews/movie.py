"""A preview as one file: a movie where the library for it is there, else a moving picture."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from importlib.util import find_spec
from io import BytesIO
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.previews.frames import Reel, preview_frames
from cropmove.previews.kept import Kept
from cropmove.stills.pyav import pyav

__all__ = ["FALLBACK_BYTES", "movie_suffix", "play"]

Frame = NDArray[np.uint8]

FALLBACK_BYTES = 400_000_000
"""Memory that a moving picture's frames may take: they are all needed at once."""


def movie_suffix() -> str:
    """What a preview's file ends with on this machine: .mp4, or .webp without PyAV."""
    return ".mp4" if find_spec("av") else ".webp"


def play(
    reel: Reel,
    suffix: str,
    workers: int,
    progress: Callable[[int, int], None] | None = None,
    kept: Kept | None = None,
) -> bytes:
    """The preview as the bytes of a file.

    Parameters
    ----------
    reel : Reel
    suffix : str
        ".mp4" or ".webp"; see `movie_suffix`.
    workers : int
    progress : callable, optional
        Called with frames done and frames in all; with 0 before the first is begun.
    kept : Kept, optional
        Where small stills are taken from, and kept.

    Raises
    ------
    InputError
        Where a still cannot be read.
    """
    with ThreadPoolExecutor(workers) as pool:
        frames = _counted(preview_frames(reel, pool, workers, kept), reel.length, progress)
        return _movie(reel, frames) if suffix == ".mp4" else _moving_picture(reel, frames)


def _counted(
    frames: Iterator[Frame], total: int, progress: Callable[[int, int], None] | None
) -> Iterator[Frame]:
    tell = progress or (lambda _done, _total: None)
    tell(0, total)
    for done, frame in enumerate(frames, start=1):
        yield frame
        tell(done, total)


_QUICK = {"preset": "ultrafast", "crf": "18"}
"""A delivery is packed with care, which takes longer than all else that a preview needs."""
_BT709, _NARROW = 1, 1
"""ITU-T H.273's number for BT.709 in all three tables; FFmpeg's for narrow range."""


def _movie(reel: Reel, frames: Iterator[Frame]) -> bytes:
    """H.264 in MP4, tagged BT.709."""
    file = BytesIO()
    av = pyav()
    with av.open(file, "w", format="mp4") as container:
        stream = container.add_stream("libx264", rate=reel.fps, options=_QUICK)
        stream.width, stream.height, stream.pix_fmt = reel.size.width, reel.size.height, "yuv420p"
        stream.time_base = stream.codec_context.time_base = 1 / reel.fps
        _tag(stream.codec_context)
        for number, pixels in enumerate(frames):
            frame = av.VideoFrame.from_ndarray(pixels, format="rgb24").reformat(
                format="yuv420p", dst_colorspace="ITU709", dst_color_range="MPEG"
            )
            frame.pts, frame.time_base = number, 1 / reel.fps
            _tag(frame)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return file.getvalue()


def _tag(held: Any) -> None:
    held.color_range = _NARROW
    held.color_primaries = held.color_trc = held.colorspace = _BT709


def _moving_picture(reel: Reel, frames: Iterator[Frame]) -> bytes:
    """An animated WebP, which every browser plays over and over."""
    from PIL import Image

    first, *rest = (Image.fromarray(frame) for frame in frames)
    # Whole milliseconds whose sum keeps up with the rate.
    ends = [round(1000 * n / reel.fps) for n in range(reel.length + 1)]
    lasting = [b - a for a, b in pairwise(ends)]
    file = BytesIO()
    first.save(
        file, "WEBP", save_all=True, append_images=rest, duration=lasting,
        loop=0, quality=80, method=0, minimize_size=False,
    )  # fmt: skip
    return file.getvalue()
