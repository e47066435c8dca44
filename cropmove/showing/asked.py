"""What is asked for in words: frames, points, a test still."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from cropmove.errors import Complaints, called, complain
from cropmove.shot import Shot, Stills
from cropmove.units import length, number_or_text

if TYPE_CHECKING:
    from cropmove.stills.find import StillRef

__all__ = ["frames_named", "on_still", "points_named", "still_named"]


def frames_named(text: str | None, shot: Shot) -> tuple[int, ...] | None:
    """Frames from a text such as "1,10-20"; None where there is none."""
    from cropmove.rendering.orders import frame_numbers

    return None if text is None else frame_numbers(text, shot.length)


def points_named(texts: Iterable[str], shot: Shot) -> dict[str, tuple[float, float]]:
    """Points of the set from texts such as "dot=1200,50%".

    Raises
    ------
    InputError
        With every text that is none.

    Examples
    --------
    >>> from cropmove.geometry import Size
    >>> from cropmove.move.framing import Framing
    >>> from cropmove.move.key import Key
    >>> from cropmove.shot import Delivery, Stills
    >>> key = Key(frame=1, framing=Framing(x=3000, y=2000, width=3840))
    >>> shot = Shot(name="quay", delivery=Delivery(size=Size(1920, 1080)), keys=(key,),
    ...             stills=Stills(size=Size(6000, 4000)))
    >>> points_named(["dot on the buoy=1200,50%"], shot)
    {'dot on the buoy': (1200.0, 2000.0)}
    """
    found, points = Complaints(), {}
    for text in texts:
        with found.at(called("points")):
            name, point = _point(text, shot)
            points[name] = point
    found.settle()
    return points


def _point(text: str, shot: Shot) -> tuple[str, tuple[float, float]]:
    name, _, place = text.rpartition("=")
    sides = [side.strip() for side in place.split(",")]
    if not name.strip() or len(sides) != 2:
        rule = "a point has a name and a place on the still, across and down"
        raise complain("", text, rule, 'write, say, "dot=1200,50%"')
    across, down = map(number_or_text, sides)
    return name.strip(), _spot((across, down), shot)


def _spot(place: tuple[float | str, float | str], shot: Shot) -> tuple[float, float]:
    """A place on the still in pixels, from pixels or shares of it."""
    size = shot.stills.size
    across, down = place
    return length(across, size.width if size else None), length(down, size.height if size else None)


def on_still(
    points: Mapping[str, tuple[float | str, float | str]], shot: Shot
) -> dict[str, tuple[float, float]]:
    """Points of the set in pixels of the still, from pixels or shares of it.

    Raises
    ------
    InputError
        With all that is no place.
    """
    found, there = Complaints(), {}
    for name, place in points.items():
        with found.at(f"{called('points')}, {name}"):
            if isinstance(place, str) or len(place) != 2:
                rule = "a point has a place on the still, across and down"
                raise complain("", place, rule, 'give, say, (1200, "50%")')
            there[name] = _spot(place, shot)
    found.settle()
    return there


def still_named(still: str | Path | None) -> StillRef | None:
    """The test still to show in place of those to come, where one is given."""
    if still is None:
        return None
    return Stills.found(still).refs[0]
