"""Stills read, whatever their kind: their headers, and their pixels, exact in every depth."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from cropmove.geometry import Size
from cropmove.stills.find import StillRef
from cropmove.stills.header import Header
from cropmove.stills.kinds import kind_of
from cropmove.stills.opening import damaged, opening

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["read_header", "read_pixels", "read_small", "room_for"]

_DTYPES: dict[int, np.dtype[Any]] = {
    8: np.dtype(np.uint8),
    16: np.dtype(np.uint16),
    32: np.dtype(np.float32),
}


def read_header(still: StillRef) -> Header:
    """The still's header; cheap, no pixel is decoded, and cheaper while the file stays as it is.

    Raises
    ------
    InputError
        Where the file is no picture, is damaged, or is of a kind that is not read.
    MachineError
        Where the system does not let it be read.
    """
    with opening(still.path):
        facts = still.path.stat()
    return _header_as_of(still, facts.st_mtime_ns, facts.st_size)


@lru_cache(maxsize=1024)
def _header_as_of(still: StillRef, changed: int, size: int) -> Header:
    """The header of a file that changed last at that time and had that size."""
    from cropmove.stills.managed import settled

    return settled(_header(still), still.path)


def _header(still: StillRef) -> Header:
    match kind_of(still.path).name:
        case "jpeg":
            from cropmove.stills import jpeg

            return jpeg.header(still.path)
        case "png":
            from cropmove.stills import png

            return png.header(still.path)
        case "tiff":
            from cropmove.stills import tiff

            return tiff.header(still.path)
        case "exr":
            from cropmove.stills import exr

            return exr.header(still.path)
        case "raw":
            from cropmove.stills import raw

            return raw.header(still.path)
        case _:
            from cropmove.stills import movie

            return movie.header(still.path)


def read_pixels(
    still: StillRef,
    header: Header | None = None,
    *,
    out: NDArray[Any] | None = None,
    rows: int | None = None,
) -> NDArray[Any]:
    """The still's pixels as stored: (H, W, C), C-contiguous, its orientation not applied.

    Parameters
    ----------
    still
        Which one.
    header
        Its header, where it is at hand already.
    out
        An array to read into, as `room_for` gives it; used where its type fits and it has room.
    rows
        How many stored rows, from the uppermost on, are needed. There may be more: reading fewer
        than all is worth while in a JPEG only, and not safe before it was read whole once.

    Returns
    -------
    array of uint8, uint16 or float32
        C is 1 grey, 2 grey and alpha, 3 RGB, 4 RGB and alpha. Alpha is straight: colours are
        not multiplied by it. Floats are linear light.

    Raises
    ------
    InputError
        Where the file is damaged or cut off; it is never filled up with grey in silence.
    """
    facts = header or read_header(still)
    shape, dtype = _shape(facts), _DTYPES[facts.depth]
    target = out[: shape[0]] if out is not None and _has_room(out, facts) else None
    pixels = _decoded(still, facts, target, rows)
    enough = {shape[0], rows} if facts.kind == "jpeg" else {shape[0]}
    count, over = divmod(pixels.size, shape[1] * shape[2])
    if over or count not in enough or pixels.dtype != dtype:
        raise damaged(still.path, f"its pixels do not fill {facts.stored}")
    in_rows = np.ascontiguousarray(pixels).reshape(count, *shape[1:])
    return _in_known_light(in_rows, still, facts)


def room_for(header: Header, spare: NDArray[Any] | None = None) -> NDArray[Any]:
    """An array of any content that a whole still can be read into: `spare`, where it will do."""
    if spare is not None and _has_room(spare, header):
        return spare
    return np.empty(_shape(header), _DTYPES[header.depth])


def _shape(facts: Header) -> tuple[int, int, int]:
    return facts.stored.height, facts.stored.width, facts.channels


def _has_room(out: NDArray[Any], facts: Header) -> bool:
    height, *row = _shape(facts)
    fits = out.shape[1:] == tuple(row) and out.shape[0] >= height
    fits = fits and out.dtype == _DTYPES[facts.depth]
    return fits and out.flags.c_contiguous and out.flags.writeable


def _in_known_light(pixels: NDArray[Any], still: StillRef, facts: Header) -> NDArray[Any]:
    if facts.converted_from is None and facts.depth != 32:
        return pixels
    from cropmove.stills.managed import as_light, converted

    return as_light(converted(pixels, facts, still.path), facts)


def _decoded(
    still: StillRef, facts: Header, out: NDArray[Any] | None, rows: int | None
) -> NDArray[Any]:
    match facts.kind:
        case "jpeg":
            from cropmove.stills import jpeg

            return jpeg.pixels(still.path, facts, out, rows)
        case "png":
            from cropmove.stills import png

            return png.pixels(still.path, facts, out)
        case "tiff":
            from cropmove.stills import tiff

            return tiff.pixels(still.path, facts, out)
        case "exr":
            from cropmove.stills import exr

            return exr.pixels(still.path, facts)
        case "raw":
            from cropmove.stills import raw

            return raw.pixels(still.path)
        case _:
            from cropmove.stills import movie

            return movie.pixels(still.path, still.index, facts)


def read_small(still: StillRef, header: Header, at_least: Size) -> NDArray[Any]:
    """The still for a preview: as stored, at least `at_least` (stored width and height).

    A JPEG is decoded at ½, ¼ or ⅛ and the like; other kinds are read whole.
    """
    if header.kind != "jpeg":
        return read_pixels(still, header)
    from cropmove.stills import jpeg

    return _in_known_light(jpeg.small(still.path, header, at_least), still, header)
