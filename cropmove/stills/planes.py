"""A decoded movie picture as an array: its planes turned to R'G'B' by its own matrix and range."""

from __future__ import annotations

from pathlib import Path
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.stills.opening import refused
from cropmove.stills.ycbcr import LUMA_SHARES, Coding, to_rgb

__all__ = ["rgb"]

_FULL_RANGE = 2
"""FFmpeg's number for full range, JPEG's."""
_BT709, _BT601 = 1, 6
_TAKING_APART = Lock()
"""The library keeps what it converts a frame with beside that frame, for one thread at a time."""
_HD_LINES = 720
"""Below this an untagged movie is BT.601, from it on BT.709: common practice, no source."""


def rgb(frame: Any, path: Path) -> NDArray[Any]:
    """(H, W, C): uint8 from 8 bits, and from more uint16 over its full range.

    Raises
    ------
    InputError
        Where its matrix is none that is read.
    """
    layout = frame.format
    bits = max(component.bits for component in layout.components)
    is_packed = not layout.is_planar and len(layout.components) > 1
    if layout.is_rgb or layout.has_palette or is_packed:
        return _unpacked(frame, bits)
    planes = [_plane(frame, i, bits) for i in range(len(frame.planes))]
    full = _is_full(frame)
    alpha = [_stretched(planes[-1], bits, True)] if layout.components[-1].is_alpha else []
    if len(planes) - len(alpha) == 1:
        return np.stack([_stretched(planes[0], bits, full), *alpha], axis=-1)
    coding = Coding(bits=bits, shares=_shares(frame, path), is_full=full)
    luma, blue, red = planes[:3]
    colours = to_rgb(luma, blue, red, coding)
    return np.concatenate([colours, alpha[0][..., None]], axis=-1) if alpha else colours


def _is_full(frame: Any) -> bool:
    """Whether values take the full range; untagged grey does, untagged colour does not."""
    layout, stated = frame.format, int(frame.color_range)
    is_grey = layout.name.startswith("gray")
    return layout.name.startswith("yuvj") or stated == _FULL_RANGE or (is_grey and not stated)


def _unpacked(frame: Any, bits: int) -> NDArray[Any]:
    """Movies that hold R'G'B' itself need no matrix: the library takes them apart."""
    alpha = any(component.is_alpha for component in frame.format.components)
    wanted = ("rgba" if alpha else "rgb24") if bits == 8 else ("rgba64le" if alpha else "rgb48le")
    with _TAKING_APART:
        taken: NDArray[Any] = frame.to_ndarray(format=wanted)
    return np.ascontiguousarray(taken)


def _plane(frame: Any, i: int, bits: int) -> NDArray[Any]:
    plane = frame.planes[i]
    kind = np.dtype(np.uint8 if bits == 8 else "<u2")
    values: NDArray[Any] = np.frombuffer(plane, kind)
    return values.reshape(plane.height, plane.line_size // kind.itemsize)[:, : plane.width]


def _stretched(plane: NDArray[Any], bits: int, full: bool) -> NDArray[Any]:
    """A plane of its own, over the full range of 8 or 16 bits."""
    black, scale = Coding(bits=bits, shares=(0, 0), is_full=full).offsets_and_scales()[:2]
    share = np.clip((plane.astype(np.float32) - black) * scale, 0, 1)
    if bits == 8:
        return np.asarray(np.rint(share * 255), np.uint8)
    return np.asarray(np.rint(share * 65535), np.uint16)


def _shares(frame: Any, path: Path) -> tuple[float, float]:
    code = int(frame.colorspace)
    if code in (0, 2):
        code = _BT709 if frame.height >= _HD_LINES else _BT601
    if code not in LUMA_SHARES:
        rule = f"a movie's matrix is a known one of ITU-T H.273, table 4; this one's is {code}"
        raise refused(path, rule, "export it as BT.709")
    return LUMA_SHARES[code]
