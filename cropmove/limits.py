"""The limits that a move is judged by: each with its value, unit, reason and source.

They are data. The user prints them with ``cropmove check --limits`` and changes any of them for
one shot under [limits] in its shot file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from numbers import Real
from typing import Any

from cropmove.errors import Complaints, complain

__all__ = ["LIMITS", "Limit", "Limits"]

PRACTICE = "common practice, no source"
_WIDTH_A_FRAME = "% of the frame's width a frame"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What one limit is.

    Parameters
    ----------
    name : str
        As written in the shot file.
    value : float
        Where the shot file says nothing.
    low, high : float
        The range it may be set to, ends included.
    unit, reason, source : str
    """

    name: str
    value: float
    low: float
    high: float
    unit: str
    reason: str
    source: str


def _limit(
    value: float, unit: str, reason: str, source: str = PRACTICE, *, low: float = 0, high: float
) -> Any:
    about = {"unit": unit, "reason": reason, "source": source, "low": low, "high": high}
    return field(default=value, metadata=about)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The limits that hold for one shot.

    Raises
    ------
    InputError
        Where a value is out of its range.

    Examples
    --------
    >>> Limits(crossing=5).crossing, Limits().title_safe
    (5.0, 90.0)
    """

    crossing: float = _limit(
        7, "s", "The time a detail takes to cross the frame at 24 frames a second and a shutter "
        "of 180 degrees, at the least. At another rate the step stays and the time changes.",
        "cinematographers' tradition: the seven-second rule", low=0.1, high=60,
    )  # fmt: skip
    shutter: float = _limit(
        180, "degrees", "The shutter that a shot without blur is judged by: at 180 by the "
        "seven-second rule as it stands, at 0 twice as strictly. The gap between two blurred "
        "frames is 1 - angle / 360 of a step.", high=350,
    )  # fmt: skip
    strobing: float = _limit(
        0.833, _WIDTH_A_FRAME, "Sideways faster than this, a strong upright edge is seen twice; up "
        "and down, a level one.",
        "drawn-animation handbooks: 0.1 in a frame, on a field 12 in wide", low=0.01, high=100,
    )  # fmt: skip
    strong_contrast: float = _limit(
        25, "of lightness, CIE 1976 L*", "An edge that is fainter does not catch the eye when it "
        "jumps; black beside white is 100. It is measured over one step of the strobing limit: "
        "what rises more gently is a shade, not an edge.", low=1, high=100,
    )  # fmt: skip
    strong_length: float = _limit(
        15, "% of the frame's height", "An edge that is shorter does not catch the eye when it "
        "jumps.", low=1, high=100,
    )  # fmt: skip
    zip_pan: float = _limit(
        2.083, _WIDTH_A_FRAME, "Above this a pan reads as a zip pan, and the eye cannot follow it.",
        "drawn-animation handbooks: 0.25 in a frame, on a field 12 in wide", low=0.01, high=1000,
    )  # fmt: skip
    slowest_rate: float = _limit(
        23.976, "frames a second", "Below this a moving camera is seen to jump.",
        "Whitaker & Halas, Timing for Animation: camera moves go on ones", low=1, high=240,
    )  # fmt: skip
    twos_in_turn: float = _limit(
        4, "times", "How often the camera may move and stand in turn before it counts as moving "
        "on twos.", low=1, high=1000,
    )  # fmt: skip
    hard_step: float = _limit(
        40, "% of the leg's fastest step", "A first or last step above this starts or stops with "
        "a jerk.", low=1, high=100,
    )  # fmt: skip
    jolt: float = _limit(
        5, "times the changes beside it", "A change of step so much larger than those around it "
        "is a jolt.", low=1.1, high=100,
    )  # fmt: skip
    just_noticed: float = _limit(
        7, "% of the speed", "A smaller change of speed is not noticed.",
        "De Bruyn & Orban, Vision Research 28(12), 1988", low=0.1, high=100,
    )  # fmt: skip
    visible_change: float = _limit(
        0.05, _WIDTH_A_FRAME, "A smaller change of step is not judged: about a pixel in 1920.",
        low=0, high=10,
    )  # fmt: skip
    visible_step: float = _limit(
        0.0025, _WIDTH_A_FRAME, "A camera that moves by less looks as if it stood: a twentieth of "
        "a pixel in 1920.", low=0, high=1,
    )  # fmt: skip
    slow_end: float = _limit(
        12, "frames", "How long a move may run on at its end by less than can be seen.", high=1000
    )
    hold: float = _limit(
        6, "frames", "How long the camera should stand at the start and at the end, for the cut.",
        low=0, high=1000,
    )  # fmt: skip
    swing: float = _limit(
        2, "% of the sharpness", "How far sharpness may swing between whole-pixel positions and "
        "those between, while the camera moves.", low=0, high=100,
    )  # fmt: skip
    softening: float = _limit(
        27, "% of the sharpness", "How far fine detail may soften over the move because the still "
        "is reduced less and less.", low=0, high=100,
    )  # fmt: skip
    action_safe: float = _limit(
        93, "% of the frame", "The area where action is seen on every screen.",
        "SMPTE ST 2046-1:2009; EBU R 95", low=10, high=100,
    )  # fmt: skip
    title_safe: float = _limit(
        90, "% of the frame", "The area where what must be read is seen on every screen.",
        "SMPTE ST 2046-1:2009; EBU R 95", low=10, high=100,
    )  # fmt: skip
    lead_room: float = _limit(
        40, "% of the frame", "The room in front of a subject that travels, at the least.",
        low=0, high=90,
    )  # fmt: skip
    travelling: float = _limit(
        5, "% of the frame's width a second", "A subject that moves over the set by less is taken "
        "to stand.", low=0, high=1000,
    )  # fmt: skip
    flicker: float = _limit(
        2, "% of the light", "How far the light may change from one still to the next, where "
        "nothing moves.", low=0.01, high=100,
    )  # fmt: skip
    bump: float = _limit(
        0.05, "% of the frame's width", "How far the whole picture may jump from one still to the "
        "next: about a pixel in 1920.", low=0.01, high=100,
    )  # fmt: skip
    spare_room: float = _limit(
        5, "% of the frames' size", "What should be left on the disk beside the frames.", high=1000
    )

    def __post_init__(self) -> None:
        found = Complaints()
        for name, limit in LIMITS.items():
            with found.at():
                object.__setattr__(self, name, _checked(limit, getattr(self, name)))
        found.settle()

    @classmethod
    def of(cls, values: Mapping[str, float]) -> Limits:
        """The limits with some of them changed, by name."""
        return cls(**values)

    def changed(self) -> dict[str, float]:
        """Those that are not at their usual value, by name."""
        values = {name: float(getattr(self, name)) for name in LIMITS}
        return {name: v for name, v in values.items() if v != LIMITS[name].value}


def _checked(limit: Limit, value: Any) -> float:
    rule = f"{limit.name} is a number from {limit.low:g} to {limit.high:g} ({limit.unit})"
    remedy = f"the usual value is {limit.value:g}"
    is_number = isinstance(value, Real) and not isinstance(value, bool)
    if not is_number or not limit.low <= value <= limit.high:
        raise complain(limit.name, value, rule, remedy)
    return float(value)


def _described(name: str, value: float, about: Mapping[str, Any]) -> Limit:
    return Limit(name=name, value=float(value), **about)


LIMITS: dict[str, Limit] = {
    entry.name: _described(entry.name, entry.default, entry.metadata)
    for entry in fields(Limits)
    if entry.default is not MISSING
}
"""Every limit, in the order in which they are printed."""
