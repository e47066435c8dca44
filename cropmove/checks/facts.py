"""What the checks look at, worked out once and shared."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

from cropmove.checks.finding import Finding, Level
from cropmove.move.course import Course
from cropmove.shot import Shot
from cropmove.stills.header import Header, read_header

__all__ = ["Check", "Facts"]


class Facts:
    """A shot and what follows from it."""

    def __init__(self, shot: Shot) -> None:
        self.shot = shot

    @cached_property
    def course(self) -> Course:
        """The framing of every frame."""
        return self.shot.course()

    @cached_property
    def headers(self) -> tuple[Header, ...]:
        """What each still's file says of it."""
        return tuple(read_header(still) for still in self.shot.stills.refs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A question asked of a shot.

    Parameters
    ----------
    id : str
        Permanent: scripts and `--allow` name it.
    title : str
        The question's subject, in a few words.
    level : Level
        How grave its findings are at the most.
    reason, source : str
        Why it is asked, and who says so ("common practice, no source" where nobody does).
    find : callable
        Facts to findings.
    """

    id: str
    title: str
    level: Level
    reason: str
    source: str
    find: Callable[[Facts], Iterable[Finding]]
