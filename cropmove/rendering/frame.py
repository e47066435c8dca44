"""Frames: a still and its framings in, pictures out. Nothing is opened or written here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from itertools import groupby, islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.geometry import UPRIGHT, Floats, Orientation, Size
from cropmove.move.framing import Framing
from cropmove.picture.handed import DEPTHS
from cropmove.picture.kernels import kernel_named
from cropmove.picture.light import SRGB, Transfer
from cropmove.picture.resample import resample, resample_each
from cropmove.picture.roll import resample_rolled
from cropmove.picture.writing import FAINTEST_COVER
from cropmove.rendering.look import COPYING_KERNEL, Look
from cropmove.scratch import Scratch

__all__ = ["LINEAR_DEPTH", "frame_of", "frames_of"]

Picture = NDArray[Any]

LINEAR_DEPTH = 32
"""Bits of a number that stands for light itself."""

_AT_ONCE = 2
"""Framings that are shown in one pass: further ones save less time and take as much memory each."""


def frame_of(
    pixels: Picture,
    framings: Framing | Sequence[Framing],
    look: Look,
    *,
    orientation: Orientation = UPRIGHT,
    stored: Size | None = None,
    transfer: Transfer = SRGB,
    coded: Transfer | None = None,
    to_srgb: Floats | None = None,
    scratch: Scratch | None = None,
) -> Picture:
    """The picture that a framing shows of a still, or several while the shutter is open.

    The still may be stored turned or mirrored: the framing is turned into it, and the small
    frame, not the large still, is turned upright.

    Parameters
    ----------
    pixels : (h, w, c) array
        As stored: uint8 or uint16 codes, or float32 linear light.
    framings : Framing or sequence of Framing
        Of the upright still; several are averaged in linear light.
    look : Look
    orientation : Orientation
    stored : Size, optional
        Of the whole still, where `pixels` are only as many of its rows as are needed.
    transfer : Transfer
        The curve of the still's codes.
    coded : Transfer, optional
        The curve of the frame's codes; the still's where it is not given.
    to_srgb : (3, 3) array, optional
        From the still's linear RGB to sRGB's.
    scratch : Scratch, optional
        Where the picture may lie; it is then good until the next one is made there.

    Returns
    -------
    (height, width, c) array
        Upright and contiguous, of ``look.depth``.

    Examples
    --------
    >>> from cropmove.rendering.look import Look
    >>> grey = np.full((40, 60, 3), 128, np.uint8)
    >>> look = Look(delivery=Size(16, 9), kernel="crisp")
    >>> frame = frame_of(grey, Framing(x=30, y=20, width=32), look)
    >>> frame.shape, int(frame.min()), int(frame.max())
    ((9, 16, 3), 128, 128)
    """
    return next(
        frames_of(
            pixels,
            [framings],
            look,
            orientation=orientation,
            stored=stored,
            transfer=transfer,
            coded=coded,
            to_srgb=to_srgb,
            scratch=scratch,
        )
    )


def frames_of(
    pixels: Picture,
    exposures: Iterable[Framing | Sequence[Framing]],
    look: Look,
    *,
    orientation: Orientation = UPRIGHT,
    stored: Size | None = None,
    transfer: Transfer = SRGB,
    coded: Transfer | None = None,
    to_srgb: Floats | None = None,
    scratch: Scratch | None = None,
) -> Iterator[Picture]:
    """What `frame_of` makes of each of several framings, in less time where they are near by.

    Its parameters are those of `frame_of`. With `scratch` each picture is good until the next.
    """
    exposed = [(shown,) if isinstance(shown, Framing) else tuple(shown) for shown in exposures]
    whole = stored or Size(pixels.shape[1], pixels.shape[0])
    if look.rolled and orientation != UPRIGHT:
        pixels, orientation = np.ascontiguousarray(orientation.upright(pixels)), UPRIGHT
    seen = partial(_seen, pixels, look=look, orientation=orientation, stored=whole,
                   transfer=transfer, scratch=scratch)  # fmt: skip
    curve = coded or transfer
    turns = to_srgb is not None or curve != transfer

    def is_simple(framings: Sequence[Framing]) -> bool:
        return not turns and len(framings) == 1

    # Held frames among blurred ones go the simple way too, or they would not be the same.
    for simple, group in groupby(exposed, key=is_simple):
        if simple:
            yield from seen([framing for (framing,) in group], depth=look.depth)
            continue
        for framings in group:
            # What stands still before or after a move is drawn once.
            runs = [(framing, len(tuple(same))) for framing, same in groupby(framings)]
            each = seen([framing for framing, _ in runs], depth=LINEAR_DEPTH, weighed=True)
            light = _averaged(each, [count for _, count in runs])
            if to_srgb is not None:
                light[..., :3] = light[..., :3] @ to_srgb.T.astype(np.float32)
            is_light = look.depth == LINEAR_DEPTH
            yield light if is_light else _coded(light, curve, look.depth, scratch or Scratch())


def _seen(
    pixels: Picture,
    framings: Sequence[Framing],
    *,
    look: Look,
    orientation: Orientation,
    stored: Size,
    transfer: Transfer,
    depth: int,
    scratch: Scratch | None,
    weighed: bool = False,
) -> Iterator[Picture]:
    """A picture of each framing; with `scratch` it is good until the next.

    `weighed` leaves alpha multiplied in, see `cropmove.picture.resample.resample`.
    """
    size = orientation.upright_size(look.delivery)
    shape = (size.height, size.width, pixels.shape[2])
    coming = iter(framings)
    while some := tuple(islice(coming, 1 if look.rolled else _AT_ONCE)):
        out = (scratch or Scratch()).array("frames", (len(some), *shape), DEPTHS[depth])
        if look.rolled:
            _draw_rolled(pixels, some[0], look, transfer, depth, out[0], weighed)
        else:
            upright = orientation.upright_size(stored)
            resample_each(
                pixels,
                [orientation.stored_box(one.box(look.delivery), upright) for one in some],
                (size.width, size.height),
                kernel=kernel_named(look.kernel),
                transfer=transfer,
                depth=depth,
                out=out,
                weighed=weighed,
            )
        for picture in out:
            yield np.ascontiguousarray(orientation.upright(picture))


def _draw_rolled(
    pixels: Picture,
    framing: Framing,
    look: Look,
    transfer: Transfer,
    depth: int,
    out: Picture,
    weighed: bool,
) -> None:
    resample_rolled(
        pixels,
        (framing.x, framing.y),
        framing.width,
        framing.roll,
        (look.delivery.width, look.delivery.height),
        kernel=kernel_named(look.kernel),
        transfer=transfer,
        depth=depth,
        out=out,
        weighed=weighed,
        rolling=look.rolling,
    )


def _averaged(pictures: Iterator[Picture], times: Sequence[int]) -> Picture:
    """The mean of pictures in linear light, each counted so many times.

    Their colours come multiplied by their alpha, where there is one. Each is added as it comes,
    since the next may lie where it lay.
    """
    mean = next(pictures) * np.float32(times[0])
    for picture, count in zip(pictures, times[1:], strict=True):
        mean += picture if count == 1 else picture * np.float32(count)
    mean /= np.float32(sum(times))
    if mean.shape[2] in (2, 4):
        _divide_out(mean[..., :-1], mean[..., -1:])
    return mean


def _divide_out(colours: Picture, alpha: Picture) -> None:
    """Colours without the alpha multiplied in, black where nothing covers; alpha from 0 to 1.

    What a kernel overshoots by counts in a mean like all else: only the mean is limited.
    """
    covers = alpha > FAINTEST_COVER
    np.divide(colours, alpha, out=colours, where=covers)
    np.multiply(colours, covers, out=colours)
    np.clip(alpha, 0, 1, out=alpha)


def _coded(light: Picture, transfer: Transfer, depth: int, paper: Scratch) -> Picture:
    """Linear light as codes: a copy, pixel for pixel, by the engine that knows how to round."""
    height, width = light.shape[:2]
    return resample(
        light,
        (0.0, 0.0, float(width), float(height)),
        (width, height),
        kernel=kernel_named(COPYING_KERNEL),
        transfer=transfer,
        depth=depth,
        out=paper.array("codes", light.shape, DEPTHS[depth]),
    )
