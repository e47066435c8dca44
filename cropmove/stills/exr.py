"""OpenEXR stills: linear light, half or float, the first part that is a picture."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropmove.errors import Complaint, MachineError
from cropmove.stills.header import ColourTags, Header
from cropmove.stills.opening import damaged, decoding, opening, refused, stored_size

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["header", "openexr", "pixels"]

_FAILURES = (RuntimeError, ValueError, TypeError)
_LINEAR, _BT709 = 8, 1
"""ITU-T H.273's numbers; BT.709 primaries are OpenEXR's own default."""
_DIFFERENCES = ("RY", "BY")
"""Beside Y, colour as two differences ("Technical Introduction to OpenEXR", luminance/chroma)."""
_SQUARE = 1e-3
"""What a pixel's shape may be off by, through rounding: 6 pixels of a still 6000 wide."""
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
    with opening(path), decoding(path, *_FAILURES):
        facts, _, names = _picture(path)
    low, high = facts["dataWindow"]
    width, height = (int(v) for v in high - low + 1)
    _refuse_what_is_not_read(path, facts, names)
    return Header(
        kind="exr",
        stored=stored_size(path, width, height),
        channels=len(names),
        depth=32,
        tags=_tags(facts),
    )


def _picture(path: Path) -> tuple[dict[str, Any], int, str]:
    """The first part that holds a picture: its header, its place, the channels that make it up.

    Other channels, such as depth, and other parts are left out.
    """
    parts = [part.header for part in openexr().File(str(path), header_only=True).parts]
    there = [{channel.name for channel in facts["channels"]} for facts in parts]
    for place, names in enumerate(there):
        of_picture = names & set("RGBA") if names & set("RGB") else names & {*"YA", *_DIFFERENCES}
        if frozenset(of_picture) in _CHANNELS:
            return parts[place], place, _CHANNELS[frozenset(of_picture)]
    told = ", ".join(sorted(set().union(*there)))
    rule = f"an OpenEXR still has R, G and B, or Y alone; this one has {told}"
    raise refused(path, rule, "write the picture as plain RGB")


def _refuse_what_is_not_read(path: Path, facts: dict[str, Any], names: str) -> None:
    shared = [
        c for c in facts["channels"] if c.name in names and (c.xSampling, c.ySampling) != (1, 1)
    ]
    if shared:
        rule = "an OpenEXR still has all channels for every pixel; "
        rule += f"this one's {shared[0].name} is coarser"
        raise refused(path, rule, "write the picture as plain RGB")
    shape = float(facts["pixelAspectRatio"])
    if abs(shape - 1) > _SQUARE:
        rule = f"an OpenEXR still has square pixels; this one's are {shape:g} times as wide as high"
        raise refused(path, rule, "write it anew with square pixels")
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
        parts = library.File(str(path), separate_channels=True, num_threads=0).parts
        _, place, _ = _picture(path)
        if place >= len(parts):  # the library leaves out what it cannot read
            raise damaged(path, "its pixels cannot be unpacked")
        planes = parts[place].channels
        for i, name in enumerate(names):
            whole[..., i] = planes[name].pixels
    return straight(whole) if facts.channels in (2, 4) else whole
