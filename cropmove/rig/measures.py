"""Names for lengths on the set, and readings as they stand on a rule, an arc or a handle."""

from __future__ import annotations

import re
from fractions import Fraction
from math import floor, log10

from cropmove.errors import complain
from cropmove.geometry import finite, hold_finite

__all__ = [
    "FARTHEST",
    "MM_PER_INCH",
    "decimals_of",
    "hold_measured",
    "inches_text",
    "measured",
    "millimetres",
    "number_text",
    "refuse_none",
    "rounded_down",
    "rounded_up",
    "turns_text",
]

MM_PER_INCH = 25.4
"""Exactly: the international inch (NIST SP 811, appendix B)."""

LEAST, MOST = 1e-6, 1e15
"""Millimetres, degrees, seconds or times: a nanometre, and further off than the sun. No set has
anything beyond these, and what is worked out from them stays a number."""

_NOTHING = 1e-12
"""In a remedy, where figures are told to ten decimals, less than this is nothing."""

FARTHEST = 1e6
"""Millimetres or degrees: a kilometre off, nothing that a hand moves is further."""

_UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, '"': MM_PER_INCH, "ft": 304.8}
_LENGTH = re.compile(
    r"\s*([+-]?)(?=[\d.])(\d{1,15}\.?\d{0,30}|\.\d{1,30})?(?!/)"
    r"(?:(?:(?<=\d)\s+|(?<![\d.]))(\d{1,3})/([1-9]\d{0,2}))?\s*(mm|cm|m|in|ft|\")\s*"
)


def millimetres(value: object, unit: str = "mm") -> float:
    """A length on the set in millimetres, from a number or from words such as "12 in".

    Parameters
    ----------
    value : number or str
        A plain number is in `unit`; words bring their own: mm, cm, m, in, ft; "3 5/32 in" too.
    unit : "mm" or "in"

    Raises
    ------
    InputError
        Where it is neither.

    Examples
    --------
    >>> millimetres(250), millimetres("30 cm"), millimetres(2, "in"), millimetres("3 1/2 in")
    (250.0, 300.0, 50.8, 88.9)
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return finite("", value) * _UNITS[unit]
    match = _LENGTH.fullmatch(value) if isinstance(value, str) else None
    if not match:
        rule = "a length on the set is a number, or a number with mm, cm, m, in or ft"
        raise complain("", value, rule, 'write, say, 250 or "12 in"')
    sign, number, over, under, unit_ = match.groups()
    exact = Fraction(number or 0) + (Fraction(int(over), int(under)) if over else 0)
    return round(float(exact) * _UNITS[unit_], 12) * (-1.0 if sign == "-" else 1.0)


def measured(where: str, value: float) -> float:
    """The value as a float; an `InputError` where it is no number that a set could have.

    Examples
    --------
    >>> measured("distance", 800)
    800.0
    """
    number = finite(where, value)
    if abs(number) > MOST:
        rule = f"a number here is at most {MOST:,.0f} either way"
        raise complain(where, value, rule, "give it as measured")
    return number


def hold_measured(thing: object, *names: str) -> None:
    """See to it that a frozen thing's numbers of these names, where given, are `measured` ones.

    Raises
    ------
    InputError
        With the name of the first that is not.
    """
    hold_finite(thing, *names, number=measured)


def refuse_none(thing: object, *names: str, remedy: str) -> None:
    """Refuse a thing whose numbers of these names, where given, are not above 0.

    Raises
    ------
    InputError
        With the name of the first that is not, or is closer to 0 than anything on a set.
    """
    for name in names:
        value = getattr(thing, name)
        if value is not None and value < LEAST:
            rule = "this is above 0" if value <= 0 else f"this is at least {LEAST:f}"
            raise complain(name, value, rule, remedy.format(name=name))


def decimals_of(division: float, most: int = 4) -> int:
    """How many decimals show every reading of a scale divided so finely.

    Examples
    --------
    >>> decimals_of(0.5), decimals_of(0.25), decimals_of(1), decimals_of(1 / 3)
    (1, 2, 0, 4)
    """
    for places in range(most):
        if abs(round(division, places) - division) < 1e-9 * max(1.0, division):
            return places
    return most


def number_text(value: float, places: int) -> str:
    """A number with so many decimals, its minus a true one and never on a zero.

    Examples
    --------
    >>> number_text(-12.5, 1), number_text(-0.0, 1)
    ('−12.5', '0.0')
    """
    text = f"{abs(value):.{places}f}"
    return f"−{text}" if value < 0 and float(text) else text


def inches_text(value: Fraction) -> str:
    """Inches as they stand on a rule divided into halves, quarters and so on.

    Examples
    --------
    >>> inches_text(Fraction(101, 32)), inches_text(Fraction(-1, 4)), inches_text(Fraction(3))
    ('3 5/32', '−1/4', '3')
    """
    sign, value = ("−" if value < 0 else ""), abs(value)
    number, rest = divmod(value, 1)
    shown = [f"{number}"] * bool(number or not rest) + [f"{rest}"] * bool(rest)
    return sign + " ".join(shown)


def turns_text(count: int, parts: int) -> str:
    """So many parts of a turn as turns of a handle and parts.

    Examples
    --------
    >>> turns_text(65, 20), turns_text(-5, 20), turns_text(40, 20)
    ('3 + 5/20', '−5/20', '2')
    """
    sign = "−" if count < 0 else ""
    turns, rest = divmod(abs(count), parts)
    shown = [f"{turns}"] * bool(turns or not rest) + [f"{rest}/{parts}"] * bool(rest)
    return sign + " + ".join(shown)


def rounded_up(value: float, digits: int = 2) -> float:
    """The value, or a little more, with so many figures that count: for remedies.

    Examples
    --------
    >>> rounded_up(257.3), rounded_up(0.0312), rounded_up(300)
    (260.0, 0.032, 300.0)
    """
    if value < _NOTHING:
        return 0.0
    unit = 10.0 ** (floor(log10(value)) - digits + 1)
    return round(-floor(-value / unit + 1e-9) * unit, 10)


def rounded_down(value: float, digits: int = 2) -> float:
    """The value, or a little less, with so many figures that count: for remedies.

    Examples
    --------
    >>> rounded_down(257.3), rounded_down(0.0312)
    (250.0, 0.031)
    """
    if value < _NOTHING:
        return 0.0
    unit = 10.0 ** (floor(log10(value)) - digits + 1)
    return round(floor(value / unit + 1e-9) * unit, 10)
