"""[limits]: what the checks judge by, for this shot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cropmove.errors import Complaints
from cropmove.limits import LIMITS, Limits
from cropmove.shotfile.reader import Reader, real
from cropmove.units import written

__all__ = ["LIMIT_WORDS", "limit_words", "read_limits"]

LIMIT_WORDS = tuple(LIMITS)


def read_limits(data: Mapping[str, Any], found: Complaints) -> Limits:
    """What [limits] says; the usual limits where it is refused, for reading on."""
    table = Reader(data.get("limits", {}), "limits", LIMIT_WORDS, found)
    with found.at("limits"):
        return Limits.of({name: table.take(name, real, LIMITS[name].value) for name in LIMITS})
    return Limits()


def limit_words(limits: Limits) -> dict[str, int | float]:
    """What [limits] would say."""
    return {name: written(value) for name, value in limits.changed().items()}
