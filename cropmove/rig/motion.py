"""What can be moved by hand, and which way: one table, with the same names in the shot file."""

from __future__ import annotations

from dataclasses import dataclass

from cropmove.errors import unknown_word

__all__ = ["MOTIONS", "Motion", "motion_named"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """Something that is moved, one way.

    Parameters
    ----------
    name : str
        As written in a shot file: what moves, and its way.
    mover : str
        "camera", "subject", "background" or "set".
    way : str
        "sideways", "up", "in", "pan", "tilt", "roll", "arc" or "turn".
    grows : str
        Which way readings grow.
    angular : bool
        Whether it is measured in degrees; in millimetres otherwise.
    """

    name: str
    mover: str
    way: str
    grows: str
    angular: bool = False

    @property
    def unit(self) -> str:
        """What it is measured in."""
        return "degrees" if self.angular else "mm"


MOTIONS: dict[str, Motion] = {
    entry.name: entry
    for entry in (
        Motion(name="camera sideways", mover="camera", way="sideways", grows="to the right"),
        Motion(name="camera up", mover="camera", way="up", grows="upwards"),
        Motion(name="camera in", mover="camera", way="in", grows="towards the subject"),
        *(
            Motion(name=f"camera {way}", mover="camera", way=way, grows=grows, angular=True)
            for way, grows in (
                ("pan", "to the right"),
                ("tilt", "upwards"),
                ("roll", "clockwise, seen from behind the camera"),
                ("arc", "to the right, round the subject"),
            )
        ),
        *(
            Motion(name=f"{mover} {way}", mover=mover, way=way, grows=grows)
            for mover in ("subject", "background", "set")
            for way, grows in (
                ("sideways", "to the right"),
                ("up", "upwards"),
                ("in", "towards the camera"),
            )
        ),
        *(
            Motion(
                name=f"{mover} turn",
                mover=mover,
                way="turn",
                grows="clockwise, seen from above",
                angular=True,
            )
            for mover in ("subject", "set")
        ),
    )
}
"""Every motion, in the order in which they are told; left and right as the camera sees them."""


def motion_named(name: str) -> Motion:
    """The motion of that name.

    Raises
    ------
    InputError
        Where there is none; the nearest is named.

    Examples
    --------
    >>> motion_named("camera pan").unit
    'degrees'
    """
    if name not in MOTIONS:
        raise unknown_word("", name, MOTIONS, "what moves")
    return MOTIONS[name]
