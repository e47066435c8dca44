"""Words made to fit: smaller as far as they can still be read, and cut short beyond that."""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["fit"]

_FINER = 0.5
"""Points from one size to the next smaller one."""


def fit(
    text: str, size: float, wide: float, width_of: Callable[[str, float], float], *, least: float
) -> tuple[str, float]:
    """Words no wider than so many millimetres, and the size that they are set in.

    Parameters
    ----------
    text : str
    size, least : float
        Points: as it is wanted, and the smallest that it may become.
    wide : float
        Millimetres.
    width_of : callable
        ``width_of(text, size)``: millimetres.

    Returns
    -------
    (str, float)
        The words, cut short where even the smallest size is too large, and points.

    Examples
    --------
    >>> square = lambda text, size: len(text) * size
    >>> fit("kettle", 10, 60, square, least=8), fit("kettle", 10, 50, square, least=8)
    (('kettle', 10), ('kettle', 8))
    >>> fit("kettle", 10, 40, square, least=8)
    ('kett…', 8)
    """
    while width_of(text, size) > wide and size > least:
        size = max(least, size - _FINER)
    if width_of(text, size) <= wide:
        return text, size
    while text and width_of(f"{text}…", size) > wide:
        text = text[:-1].rstrip()
    return f"{text}…", size
