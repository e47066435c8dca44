"""How large a preview is: small, even, and of the delivery's shape as nearly as pixels allow."""

from __future__ import annotations

from cropmove.geometry import Size

__all__ = ["WIDTH", "preview_size"]

WIDTH = 960
"""Pixels across, where nobody says."""

TALLEST = 3840
"""Pixels down, at most: what is taller no screen shows, and no movie of two of them holds."""

_SLACK = 16
"""Pixels by which a preview may be narrower than asked for, for a better shape."""


def preview_size(delivery: Size, width: int = WIDTH) -> Size:
    """An even size about so wide, never larger than the delivery, that fits its shape best.

    Movies hold even sizes only. What the rounding cuts off or adds is less than half a pixel at
    top and bottom. A delivery that is far taller than wide is shown narrower than asked for.

    Examples
    --------
    >>> preview_size(Size(1920, 1080)), preview_size(Size(1998, 1080))
    (Size(width=960, height=540), Size(width=962, height=520))
    """
    most = max(2, min(width + 2, delivery.width, int(TALLEST / delivery.shape)) // 2 * 2)
    widths = range(most, max(1, most - _SLACK), -2)

    def off(across: int) -> tuple[float, int]:
        return abs(_even(across * delivery.shape) - across * delivery.shape), abs(across - width)

    best = min(widths, key=off)
    return Size(best, _even(best * delivery.shape))


def _even(value: float) -> int:
    return max(2, min(round(value / 2) * 2, TALLEST))
