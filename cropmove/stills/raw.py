"""Camera raw stills, developed plainly and all alike: the camera's white balance, sRGB, 16 bits.

No brightness is chosen from a picture's content, which would flicker from still to still.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropmove.errors import Complaint, MachineError
from cropmove.geometry import Orientation
from cropmove.stills.header import Exposure, Header
from cropmove.stills.opening import damaged, opening, refused, stored_size

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["header", "pixels"]

_TURNED = {0: 1, 3: 3, 5: 8, 6: 6}
"""EXIF orientation by LibRaw's flip: none, half a turn, left and right by a quarter."""
_SRGB_CURVE = (2.4, 12.92)
"""Power and slope of the toe: IEC 61966-2-1."""


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    try:
        import rawpy
    except ImportError as error:
        rule = "camera raw stills need the rawpy library, which is not installed"
        remedy = 'install it: pip install "cropmove[raw]"'
        raise MachineError(Complaint(where=str(path), rule=rule, remedy=remedy)) from error
    with opening(path), path.open("rb") as file:
        try:
            with rawpy.imread(file) as raw:
                yield raw
        except rawpy.LibRawFileUnsupportedError as error:
            rule = "a camera raw still is whole, and of a camera that the rawpy library knows"
            remedy = "copy it anew, update rawpy, or turn it into DNG or TIFF"
            raise refused(path, f"{rule}; this one is not, or is no raw file", remedy) from error
        except rawpy.LibRawError as error:
            reason = error.args[0] if error.args else "it cannot be read"
            text = reason.decode() if isinstance(reason, bytes) else str(reason)
            raise damaged(path, text) from error


def header(path: Path) -> Header:
    """What a raw file says about itself; its sensor data stay packed."""
    with _opened(path) as raw:
        sizes = raw.sizes
        return Header(
            kind="raw",
            stored=stored_size(path, sizes.width, sizes.height),
            orientation=Orientation(_TURNED.get(sizes.flip, 1)),
            channels=3,
            depth=16,
            captured=_exposure(raw),
        )


def _exposure(raw: Any) -> Exposure:
    """LibRaw gives 0 where the file says nothing."""
    said = raw.other
    return Exposure(
        time=Fraction(said.shutter_speed).limit_denominator(100_000) or None,
        f_number=round(float(said.aperture), 2) or None,
        iso=round(said.iso_speed) or None,
    )


def pixels(path: Path) -> NDArray[Any]:
    """The picture developed, (H, W, 3) of 16 bits in sRGB, not turned."""
    with _opened(path) as raw:
        developed: NDArray[Any] = raw.postprocess(
            output_bps=16,
            gamma=_SRGB_CURVE,
            no_auto_bright=True,
            use_camera_wb=True,
            user_flip=0,
        )
    return developed
