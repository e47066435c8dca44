"""Safe areas: how much of the frame is seen on every screen, as data with their sources."""

from __future__ import annotations

from dataclasses import dataclass

from cropmove.errors import unknown_word
from cropmove.geometry import Size

__all__ = ["SAFE_AREAS", "SafeArea", "inner_box", "safe_area_named"]

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeArea:
    """One standard's safe areas, centred in the frame, as shares of its width and height.

    Parameters
    ----------
    name : str
    action : float
        Where action should stay.
    title : float
        Where what must be read should stay.
    source : str
    """

    name: str
    action: float
    title: float
    source: str

    def action_box(self, frame: Size) -> Box:
        """Left, top, right and bottom of the action-safe area, in delivered pixels.

        Examples
        --------
        >>> [round(side, 6) for side in SAFE_AREAS["r 95"].action_box(Size(1920, 1080))]
        [67.2, 37.8, 1852.8, 1042.2]
        """
        return inner_box(self.action, frame)

    def title_box(self, frame: Size) -> Box:
        """Left, top, right and bottom of the title-safe area, in delivered pixels."""
        return inner_box(self.title, frame)


def inner_box(share: float, frame: Size) -> Box:
    """The box in the middle of a frame that takes a share of its width and of its height.

    Returns
    -------
    left, top, right, bottom
        Delivered pixels from the frame's top-left corner.
    """
    across, down = frame.width * (1 - share) / 2, frame.height * (1 - share) / 2
    return across, down, frame.width - across, frame.height - down


def _from_margins(*, name: str, action: float, title: float, source: str) -> SafeArea:
    """A standard that counts what is left out at each edge."""
    return SafeArea(name=name, action=1 - 2 * action, title=1 - 2 * title, source=source)


SAFE_AREAS: dict[str, SafeArea] = {
    entry.name: entry
    for entry in (
        SafeArea(name="st 2046-1", action=0.93, title=0.90, source="SMPTE ST 2046-1:2009"),
        _from_margins(
            name="r 95",
            action=0.035,
            title=0.05,
            source="EBU R 95: 3.5 % and 5 % left out at each edge",
        ),
        SafeArea(
            name="older practice",
            action=0.90,
            title=0.80,
            source="SMPTE RP 8 and RP 13, from the days of curved screens",
        ),
    )
}
"""Every standard, the one that holds today first. The first two are the same rectangles."""


def safe_area_named(name: str) -> SafeArea:
    """The safe areas of that standard.

    Raises
    ------
    InputError
        Where there is none; the nearest is named.
    """
    if name not in SAFE_AREAS:
        raise unknown_word("safe", name, SAFE_AREAS, "a standard of safe areas")
    return SAFE_AREAS[name]
