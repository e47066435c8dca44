"""A finished movie as a source of stills: any picture by its place, exactly, and in turn quickly.

Movies are opened once and kept open; workers that ask for neighbouring pictures share one pass
of the decoder.
"""

from __future__ import annotations

import struct
from bisect import bisect_right
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from cropmove.geometry import Orientation
from cropmove.stills.header import ColourTags, Header
from cropmove.stills.opening import damaged, decoding, opening, refused, stored_size
from cropmove.stills.pyav import pyav

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["close_movies", "count_pictures", "header", "pixels"]

_OPEN_AT_ONCE = 4
_KEPT_PICTURES = 4
"""Decoded pictures kept, so that workers may ask a little out of turn; each is megabytes."""
_READ_ON = 12
"""Pictures ahead that are reached sooner by decoding on than by a jump."""
_TURNED = {
    (1, 0, 0, 1): 1, (-1, 0, 0, 1): 2, (-1, 0, 0, -1): 3, (1, 0, 0, -1): 4,
    (0, 1, 1, 0): 5, (0, 1, -1, 0): 6, (0, -1, -1, 0): 7, (0, -1, 1, 0): 8,
}  # fmt: skip
"""EXIF orientation by a movie's matrix a, b, c, d: x' = ax + cy, y' = bx + dy (ISO/IEC 14496-12,
6.2.2)."""
_AS_STORED = (1, 0, 0, 0, 1, 0, 0, 0, 1)
_UNSPECIFIED = 2


@dataclass(slots=True)
class _Movie:
    """An open movie, and the pictures last decoded from it."""

    path: Path
    container: Any
    stream: Any
    times: list[int]
    keys: list[int]
    frames: Any = None
    next_index: int = 0
    facts: Header | None = None
    kept: OrderedDict[int, Any] = field(default_factory=OrderedDict)
    lock: Lock = field(default_factory=Lock)

    def picture(self, index: int) -> Any:
        """The frame at `index`; decoded under a lock, converted by the caller outside it."""
        if not 0 <= index < len(self.times):
            raise refused(self.path, f"it holds {len(self.times)} pictures", "ask for one of them")
        with self.lock:
            if index not in self.kept:
                self._decode_to(index)
            return self.kept[index]

    def _decode_to(self, index: int) -> None:
        failures = (pyav().FFmpegError, ValueError)
        try:
            if self.frames is None or not 0 <= index - self.next_index < _READ_ON:
                self._jump(index)
            for frame in self.frames:
                at = self._place(frame.pts)
                self._keep(at, frame)
                if at >= index:
                    break
        except failures as error:
            self.frames = None
            raise damaged(self.path, f"picture {index + 1}: {error}") from error
        if index not in self.kept or self.kept[index].is_corrupt:
            self.frames = None
            raise damaged(self.path, f"picture {index + 1} cannot be decoded")

    def _jump(self, index: int) -> None:
        # From the last picture at or before it that stands alone.
        key = self.keys[max(bisect_right(self.keys, self.times[index]) - 1, 0)]
        self.container.seek(key, stream=self.stream, backward=True, any_frame=False)
        self.frames = self.container.decode(self.stream)

    def _place(self, time: int) -> int:
        at = bisect_right(self.times, time) - 1
        return at if at >= 0 and self.times[at] == time else -1

    def _keep(self, at: int, frame: Any) -> None:
        if at >= 0:
            self.next_index = at + 1
            self.kept[at] = frame
            self.kept.move_to_end(at)
        while len(self.kept) > _KEPT_PICTURES:
            self.kept.popitem(last=False)


_open: OrderedDict[tuple[Path, int, int], _Movie] = OrderedDict()
_open_lock = Lock()


def _movie(path: Path) -> _Movie:
    """The movie, opened now or before; anew where the file has changed."""
    with opening(path):
        status = path.stat()
    mark = (path, status.st_mtime_ns, status.st_size)
    with _open_lock:
        if mark not in _open:
            _open[mark] = _opened(path)
        _open.move_to_end(mark)
        while len(_open) > _OPEN_AT_ONCE:
            _open.popitem(last=False)
        return _open[mark]


def close_movies() -> None:
    """Close every movie that reading has opened."""
    with _open_lock:
        for movie in _open.values():
            movie.container.close()
        _open.clear()


def _opened(path: Path) -> _Movie:
    av = pyav()
    try:
        with opening(path):
            # What it is called, in letters of whatever code, is nothing to us.
            container = av.open(str(path), metadata_errors="replace")
        if not container.streams.video:
            raise refused(path, "a movie of stills holds pictures; this one has none", "name one")
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        times, keys = _index(container, stream)
    except av.FFmpegError as error:
        raise damaged(path, str(error)) from error
    if not times:
        raise damaged(path, "it holds no pictures")
    if not keys:
        raise damaged(path, "no picture of it stands alone")
    return _Movie(path=path, container=container, stream=stream, times=times, keys=keys)


def _index(container: Any, stream: Any) -> tuple[list[int], list[int]]:
    """When each picture is shown, in order, and those from which decoding can start."""
    # QuickTime's index is whole. Others list a picture here and there, and pictures that lean on
    # later ones are stored out of turn: then the times stand in the packets only.
    entries = [entry for entry in stream.index_entries if not entry.is_discard]
    is_quicktime = "mov" in container.format.name.split(",")
    if is_quicktime and entries and all(entry.is_keyframe for entry in entries):
        times = sorted(entry.timestamp for entry in entries)
        return times, times
    # A movie that was cut without being packed anew begins with pictures that are not shown: those
    # after them lean on them.
    packets = [packet for packet in container.demux(stream) if packet.pts is not None]
    times = sorted(packet.pts for packet in packets if not packet.is_discard)
    return times, sorted(packet.pts for packet in packets if packet.is_keyframe)


def count_pictures(path: Path) -> int:
    """How many pictures the movie holds.

    Raises
    ------
    InputError
        Where it is no movie, or is damaged.
    MachineError
        Where PyAV is not installed.
    """
    return len(_movie(path).times)


def header(path: Path) -> Header:
    """What a movie says about its pictures."""
    movie = _movie(path)
    if movie.facts is None:
        movie.facts = _facts(path, movie)
    return movie.facts


def _facts(path: Path, movie: _Movie) -> Header:
    frame = movie.picture(0)
    _refuse_what_is_not_read(path, movie, frame)
    return Header(
        kind="movie",
        stored=stored_size(path, frame.width, frame.height),
        orientation=_orientation(path, frame),
        channels=_channels(frame.format),
        depth=8 if _bits(frame.format) == 8 else 16,
        tags=ColourTags(
            primaries=_stated(frame.color_primaries), transfer=_stated(frame.color_trc)
        ),
    )


def _orientation(path: Path, frame: Any) -> Orientation:
    """How a movie asks to be turned and mirrored."""
    with decoding(path, ValueError, struct.error):
        told = frame.side_data.get("DISPLAYMATRIX")
        a, b, _, c, d, *_ = struct.unpack("=9i", bytes(told)) if told else _AS_STORED
    if not any((a, b, c, d)):
        return Orientation()  # nothing can be shown so: it says nothing
    across, down = max(abs(a), abs(b), 1), max(abs(c), abs(d), 1)
    matrix = (round(a / across), round(b / across), round(c / down), round(d / down))
    if matrix not in _TURNED:
        rule = "a movie of stills stands upright, or is turned by quarters; this one stands aslant"
        raise refused(path, rule, "export it upright, and roll the camera")
    return Orientation(_TURNED[matrix])


def _stated(code: Any) -> int | None:
    return None if int(code) in (0, _UNSPECIFIED) else int(code)


def _refuse_what_is_not_read(path: Path, movie: _Movie, frame: Any) -> None:
    shape = movie.stream.sample_aspect_ratio
    if shape is not None and shape not in (0, 1):
        rule = f"a movie of stills has square pixels; this one's are {shape}"
        raise refused(path, rule, "export it with square pixels")
    if max(_shared(frame)) > 2:
        rule = "a movie of stills keeps colour for every pixel, or every second one each way; "
        raise refused(path, f"{rule}this one's is coarser", "export it as 4:2:0, 4:2:2 or 4:4:4")
    if frame.interlaced_frame:
        rule = "a movie of stills is progressive; this one is interlaced"
        raise refused(path, rule, "export it as progressive")


def _shared(frame: Any) -> tuple[int, int]:
    """Pixels across and down that share a colour."""
    if frame.format.is_rgb or len(frame.planes) < 3:
        return 1, 1
    colour = frame.planes[1]
    return -(-frame.width // colour.width), -(-frame.height // colour.height)


def _bits(layout: Any) -> int:
    return max(int(component.bits) for component in layout.components)


def _channels(layout: Any) -> int:
    if _is_grey(layout):
        return 1
    return 4 if any(component.is_alpha for component in layout.components) else 3


def _is_grey(layout: Any) -> bool:
    return len([c for c in layout.components if not c.is_alpha]) == 1 and not layout.has_palette


def pixels(path: Path, index: int, facts: Header) -> NDArray[Any]:
    """The picture at `index`, (H, W, C): uint8 from 8 bits, and from more uint16, full range."""
    frame = _movie(path).picture(index)
    if (frame.width, frame.height) != (facts.stored.width, facts.stored.height):
        raise damaged(path, f"picture {index + 1} is of another size")
    from cropmove.stills import planes

    return planes.rgb(frame, path)
