"""OpenEXR stills: linear light, half or float, one part of scanlines or tiles."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropmove.errors import Complaint, MachineError
from cropmove.stills.header import ColourTags, Header
from cropmove.stills.opening import decoding, opening, refused, stored_size

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["header", "openexr", "pixels"]

_FAILURES = (RuntimeError, ValueError, TypeError)
_LINEAR, _BT709 = 8, 1
"""ITU-T H.273's numbers; BT.709 primaries are OpenEXR's own default."""
_CHANNELS = {
    frozenset("Y"): "Y",
    frozenset("YA"): "YA",
    frozenset("RGB"): "RGB",
    frozenset("RGBA"): "RGBA",
}


def openexr() -> Any:
    """The OpenEXR library.

    Raises
    ------
    MachineError
        Where it is not installed.
    """
    try:
        import OpenEXR
    except ImportError as error:
        rule = "OpenEXR files need the OpenEXR library, which is not installed"
        remedy = "install it: pip install openexr"
        raise MachineError(Complaint(where="OpenEXR", rule=rule, remedy=remedy)) from error
    return OpenEXR


def header(path: Path) -> Header:
    """What an OpenEXR file says about itself."""
    library = openexr()
    with opening(path), decoding(path, *_FAILURES):
        facts = library.File(str(path), header_only=True).header()
        names = _names(path, facts)
    low, high = facts["dataWindow"]
    width, height = (int(v) for v in high - low + 1)
    _refuse_odd_windows(path, facts)
    return Header(
        kind="exr",
        stored=stored_size(path, width, height),
        channels=len(names),
        depth=32,
        tags=_tags(facts),
    )


def _names(path: Path, facts: dict[str, Any]) -> str:
    """The channels that make up the picture; others, such as depth, are left out."""
    there = {channel.name for channel in facts["channels"]}
    chosen = frozenset(there & set("RGBA")) if there & set("RGB") else frozenset(there & set("YA"))
    if chosen not in _CHANNELS:
        rule = f"an OpenEXR still has R, G and B, or Y; this one has {', '.join(sorted(there))}"
        raise refused(path, rule, "write the picture as plain RGB")
    return _CHANNELS[chosen]


def _refuse_odd_windows(path: Path, facts: dict[str, Any]) -> None:
    data, display = facts["dataWindow"], facts["displayWindow"]
    if any((a != b).any() for a, b in zip(data, display, strict=True)):
        rule = "an OpenEXR still fills its frame: its data window is its display window"
        raise refused(path, rule, "write it anew without a crop or overscan")


def _tags(facts: dict[str, Any]) -> ColourTags:
    chromaticities = facts.get("chromaticities")
    if chromaticities is None:
        return ColourTags(primaries=_BT709, transfer=_LINEAR)
    return ColourTags(transfer=_LINEAR, chromaticities=tuple(map(float, chromaticities)))


def pixels(path: Path, facts: Header) -> NDArray[Any]:
    """Every pixel, (H, W, C) of float32; alpha, which OpenEXR multiplies in, is taken out again."""
    import numpy as np

    from cropmove.stills.tiff import straight

    library = openexr()
    names = {1: "Y", 2: "YA", 3: "RGB", 4: "RGBA"}[facts.channels]
    whole = np.empty((facts.stored.height, facts.stored.width, len(names)), np.float32)
    with opening(path), decoding(path, *_FAILURES, KeyError):
        planes = library.File(str(path), separate_channels=True, num_threads=0).channels()
        for i, name in enumerate(names):
            whole[..., i] = planes[name].pixels
    return straight(whole) if facts.channels in (2, 4) else whole
