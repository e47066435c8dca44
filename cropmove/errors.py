"""What cropmove says when it says no: one root error, split by who must act.

`InputError` is for whoever wrote the shot file or the command, `MoveFault` for whoever planned
the move, `MachineError` for whoever owns the machine. Anything else that is raised is a bug of
ours and keeps its traceback.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from typing import TypeVar

__all__ = [
    "Complaint",
    "Complaints",
    "CropmoveError",
    "InputError",
    "MachineError",
    "MoveFault",
    "all_called",
    "called",
    "complain",
    "is_name",
    "names_in",
    "naming",
    "nearest",
    "numbered",
    "placed",
    "unknown_word",
    "unless_refused",
]


T = TypeVar("T")

_MANY = 12
"""Known words that are all told beside the nearest; of more, the near ones are."""
_NEAR = 0.6
"""How alike two words are, from 0 to 1, that may be meant for each other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """One thing that cannot be: where it stands, what stands there, the rule, and the remedy.

    Examples
    --------
    >>> print(Complaint(where="key 2, width", value="0", rule="a width is above 0",
    ...                 remedy="give pixels of the still, or a share such as \\"50%\\""))
    key 2, width = 0
      rule:   a width is above 0
      remedy: give pixels of the still, or a share such as "50%"
    """

    where: str
    value: str = ""
    rule: str
    remedy: str

    def within(self, place: str) -> Complaint:
        """The same complaint, its place named from further out."""
        place = numbered(place)
        return replace(self, where=f"{place}, {self.where}" if self.where else place)

    def __str__(self) -> str:
        head = f"{self.where} = {self.value}" if self.value else self.where
        return f"{head}\n  rule:   {self.rule}\n  remedy: {self.remedy}"


class CropmoveError(Exception):
    """Anything that cropmove refuses, as a list of complaints.

    The complaints are the positional arguments, so that an error crosses a process whole.
    """

    exit_code = 2

    def __init__(self, *complaints: Complaint) -> None:
        super().__init__(*complaints)
        self.complaints = complaints

    def within(self, place: str) -> CropmoveError:
        """The same error, every complaint placed from further out."""
        return type(self)(*(complaint.within(place) for complaint in self.complaints))

    def __str__(self) -> str:
        return "\n".join(str(complaint) for complaint in self.complaints)


class InputError(CropmoveError):
    """A shot file, a still or a command that cannot be used as it stands."""


class MachineError(CropmoveError):
    """A disk, a permission or a missing part of the machine that stands in the way."""


class MoveFault(CropmoveError):
    """A move that would go wrong on the screen and was not allowed by name."""

    exit_code = 1


def _as_parameter(name: str, value: object) -> str:
    if value is None:
        return name
    return f"{name}=..." if value is ... else f"{name}={value!r}"


_NAMING: ContextVar[Callable[[str, object], str]] = ContextVar("naming", default=_as_parameter)


def called(name: str, value: object = None) -> str:
    """What whoever called calls a parameter, to tell where a fault is and what would mend it.

    Parameters
    ----------
    name : str
        As Python has it.
    value : object, optional
        What might be given; ``...`` for something that only the caller knows.

    Examples
    --------
    >>> called("push_in"), called("push_in", 2), called("out", ...)
    ('push_in', 'push_in=2', 'out=...')
    """
    return _NAMING.get()(name, value)


def all_called(names: Iterable[str]) -> str:
    """Several parameters in a row, each as `called` has it.

    Examples
    --------
    >>> all_called(["seconds", "frames"])
    'seconds, frames'
    """
    return ", ".join(map(called, names))


@contextmanager
def naming(words: Callable[[str, object], str]) -> Iterator[None]:
    """Name parameters, inside the block, as some other caller than Python knows them.

    Examples
    --------
    >>> with naming(lambda name, value: f"the box {name}"):
    ...     called("out")
    'the box out'
    """
    before = _NAMING.set(words)
    try:
        yield
    finally:
        _NAMING.reset(before)


def complain(where: str, value: object, rule: str, remedy: str) -> InputError:
    """An `InputError` of one complaint, ready to raise.

    Examples
    --------
    >>> complain("fps", 0, "a rate is above 0", "write fps = 24").complaints[0].value
    '0'
    """
    text = _cut(numbered(value), 300) if isinstance(value, str) else _shown(value)
    return InputError(Complaint(where=where, value=text, rule=rule, remedy=remedy))


def _shown(value: object) -> str:
    try:
        return _cut(repr(value), 60)
    except ValueError:  # Python writes no number of more than 4300 digits
        return "a number of thousands of digits"


def _cut(text: str, longest: int) -> str:
    return text if len(text) <= longest else text[: longest - 3] + "..."


def numbered(text: str) -> str:
    r"""A text on one line: what breaks a line or turns the writing round is told by its number.

    A terminal would obey such signs, and no page may hold them (XML 1.0, section 2.2).

    Examples
    --------
    >>> numbered("a\tb\x1b[31m") == "a\\tb\\x1b[31m"
    True
    """
    return _SHAPELESS.sub(lambda sign: sign[0].encode("unicode_escape").decode(), text)


_SHAPELESS = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")


def is_name(name: object) -> bool:
    """Whether a thing can be called so: by a text on one line that is not blank.

    Examples
    --------
    >>> is_name("boat"), is_name(" "), is_name("a\\nb"), is_name(7)
    (True, False, False, False)
    """
    return isinstance(name, str) and bool(name.strip()) and numbered(name) == name


def names_in(given: str | Iterable[str]) -> tuple[str, ...]:
    """Names, where one may be given alone: a text is a name, and not a row of letters.

    Examples
    --------
    >>> names_in("boat"), names_in(["boat", "lift"])
    (('boat',), ('boat', 'lift'))
    """
    return (given,) if isinstance(given, str) else tuple(given)


def nearest(word: str, known: Iterable[str], *, likeness: float = _NEAR) -> str | None:
    """The known word that is nearest in spelling, or None where none is near.

    Parameters
    ----------
    word : str
    known : iterable of str
    likeness : float
        From which it counts as near: 1 is the same word.

    Examples
    --------
    >>> nearest("widht", ["width", "centre"])
    'width'
    >>> nearest("zebra", ["width", "centre"]) is None
    True
    """
    close = get_close_matches(word.lower(), list(known), n=1, cutoff=likeness)
    return close[0] if close else None


def unknown_word(where: str, word: str, known: Iterable[str], what: str) -> InputError:
    """An `InputError` for a word that is none of the known ones, naming the nearest.

    Examples
    --------
    >>> print(unknown_word("key 2, ease", "smoth", ["even", "smooth"], "an ease"))
    key 2, ease = smoth
      rule:   an ease is one of: even, smooth
      remedy: did you mean "smooth"?
    """
    words = list(known)
    if not words:
        return complain(
            where, word, f"{what} is meant, and there is none", "leave it out, or add it"
        )
    close = nearest(word, words)
    remedy = f'did you mean "{close}"?' if close else f'write one of them, such as "{words[0]}"'
    shown = words
    if close and len(words) > _MANY:
        near = get_close_matches(word.lower(), words, n=3, cutoff=_NEAR)
        shown = [*near, f"… ({len(words) - len(near)} more)"]
    return complain(where, word, f"{what} is one of: {', '.join(shown)}", remedy)


@contextmanager
def placed(place: str) -> Iterator[None]:
    """Say of everything refused inside the block that it stands at `place`.

    Examples
    --------
    >>> try:
    ...     with placed("quay.toml"):
    ...         raise complain("fps", 0, "a rate is above 0", "write fps = 24")
    ... except InputError as error:
    ...     error.complaints[0].where
    'quay.toml, fps'
    """
    try:
        yield
    except InputError as error:
        raise error.within(place) from None


def unless_refused(make: Callable[[], T]) -> T | None:
    """What is made, for trying whether it can be; None where it is refused.

    Examples
    --------
    >>> def refused():
    ...     raise complain("fps", 0, "a rate is above 0", "write fps = 24")
    >>> unless_refused(refused) is None, unless_refused(lambda: 24)
    (True, 24)
    """
    try:
        return make()
    except InputError:
        return None


@dataclass(slots=True)
class Complaints:
    """A collector: goes on past each complaint, so that a file's faults are told all at once.

    Examples
    --------
    >>> found = Complaints()
    >>> with found.at("key 1"):
    ...     raise complain("width", 0, "a width is above 0", "make it wider")
    >>> found.all[0].where
    'key 1, width'
    """

    all: list[Complaint] = field(default_factory=list)

    @contextmanager
    def at(self, place: str = "") -> Iterator[None]:
        """Collect what is refused inside the block, placed at `place`."""
        try:
            yield
        except InputError as error:
            found = error.within(place) if place else error
            self.all += found.complaints

    def settle(self, place: str = "") -> None:
        """Raise all that was collected as one `InputError`; do nothing where there is none."""
        if self.all:
            error = InputError(*self.all)
            raise error.within(place) if place else error
