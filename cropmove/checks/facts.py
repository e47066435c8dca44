"""What the checks look at, worked out once and shared."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cropmove.checks.finding import Finding, Level, frames_text, runs_of
from cropmove.checks.looks import Looks
from cropmove.geometry import Floats, Size
from cropmove.limits import Limits
from cropmove.move.course import Course, corner_moves
from cropmove.move.framing import in_frame
from cropmove.move.key import Leg, written_out
from cropmove.move.subject import Subject
from cropmove.rig.layers import Layer, Sight
from cropmove.rig.working import Table
from cropmove.shot import Shot
from cropmove.stills.header import Header
from cropmove.stills.read import read_header

__all__ = ["Check", "Facts", "LegFacts"]

AT_REST = 1e-9
"""Frame widths: a step below this is arithmetic, not movement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LegFacts:
    """One leg on which the camera moves, as far as the shot shows it.

    Parameters
    ----------
    number : int
        Its place in `Move.legs`, from 0.
    leg : Leg
    frames : (n,) int array
        The frames its steps lead to.
    steps : (n,) array
        In frame widths, at the corner that moves most.
    sideways, up_down : (n,) array
        The part of the step that goes sideways, and the part that goes up or down, likewise.
    """

    number: int
    leg: Leg
    frames: NDArray[np.int64]
    steps: Floats
    sideways: Floats
    up_down: Floats

    @property
    def peak(self) -> float:
        """The largest step."""
        return float(self.steps.max())

    @property
    def fastest_frame(self) -> int:
        """The frame that the largest step leads to."""
        return int(self.frames[np.argmax(self.steps)])

    @property
    def is_whole(self) -> bool:
        """Whether the shot shows it to its end."""
        return len(self.steps) == self.leg.steps


class Facts:
    """A shot and what follows from it.

    Parameters
    ----------
    shot : Shot
    batch : iterable of str
        The names of the other shots that are delivered with it.
    folder : Path, optional
        Where its frames will go, to ask how much room is there.
    looks : Looks, optional
        What was seen in the stills' pixels; None where nobody looked.
    """

    def __init__(
        self,
        shot: Shot,
        *,
        batch: Iterable[str] = (),
        folder: Path | None = None,
        looks: Looks | None = None,
    ) -> None:
        self.shot = shot
        self.batch = tuple(batch)
        self.folder = folder
        self.looks = looks

    @property
    def limits(self) -> Limits:
        """What the shot is judged by."""
        return self.shot.limits

    def stills_named(self, numbers: Iterable[int]) -> str:
        """Stills by their place in the shot, and the names that their files have on the disk.

        The two numbers differ where the camera did not begin at 1, or one was left out.
        """
        runs = runs_of(numbers)
        refs = self.shot.stills.refs
        ends = [dict.fromkeys((refs[a - 1].name, refs[b - 1].name)) for a, b in runs]
        files = [" to ".join(names) for names in ends]
        shown = files if len(files) <= 3 else [*files[:2], f"… {files[-1]}"]
        return f"{frames_text(runs, 'still')} ({', '.join(shown)})"

    @cached_property
    def course(self) -> Course:
        """The framing of every frame."""
        return self.shot.course()

    @cached_property
    def opened(self) -> Floats:
        """What the shutter sees while it is open for each frame: as `Course.opened`."""
        return self.course.opened(self.shot.delivery.shutter)

    @cached_property
    def table(self) -> Table:
        """Where everything that is moved by hand stands."""
        return self.shot.marks()

    @cached_property
    def sights(self) -> tuple[Sight, ...]:
        """What the layers do on the screen while things are moved by hand."""
        return self.shot.sights()

    @cached_property
    def focus_sights(self) -> tuple[Sight, ...]:
        """The layers and the subject, where the lens has a stop to be in focus by."""
        lens = self.shot.lens
        if lens is None or lens.stop is None:
            return ()
        if any(layer.distance == lens.distance for layer in self.shot.layers):
            return self.sights
        carried = tuple(m.name for m in self.table.moved if m.rig.motion.mover == "subject")
        subject = Layer(name="the subject", distance=lens.distance, moves_with=carried)
        return self.shot.sights(subject)

    @cached_property
    def headers(self) -> tuple[Header, ...]:
        """What each still's file says of it."""
        return tuple(read_header(still) for still in self.shot.stills.refs)

    @cached_property
    def usual_size(self) -> Size:
        """The upright size that most of the stills have."""
        return Counter(header.size for header in self.headers).most_common(1)[0][0]

    @cached_property
    def steps(self) -> Floats:
        """The course's steps in frame widths."""
        return self.course.step / self.course.delivery.width

    @cached_property
    def moving(self) -> NDArray[np.bool_]:
        """Whether the camera moves into each frame."""
        return np.asarray(self.steps > AT_REST)

    @cached_property
    def corner_moves(self) -> Floats:
        """(n - 1, 4, 2) steps of what stands in the corners, in frame widths."""
        return corner_moves(self.course.rows, self.course.delivery.shape)

    @cached_property
    def legs(self) -> tuple[LegFacts, ...]:
        """Every leg that moves; where a stop is on every frame, all of them in a row as one."""
        parts = np.abs(self.corner_moves).max(axis=1)
        sideways, up_down = (np.concatenate([[0.0], parts[:, axis]]) for axis in (0, 1))
        legs, made = self.course.move.legs, []
        numbers = {leg.start.frame: number for number, leg in enumerate(legs)}
        moves = [*(leg for leg in legs if leg.steps > 1), *written_out(legs)]
        for leg in sorted(moves, key=lambda leg: leg.start.frame):
            part = slice(leg.start.frame, min(leg.end.frame, len(self.course)))
            if not self.moving[part].any():
                continue
            made.append(
                LegFacts(
                    number=numbers[leg.start.frame],
                    leg=leg,
                    frames=self.course.frame[part],
                    steps=self.steps[part],
                    sideways=sideways[part],
                    up_down=up_down[part],
                )
            )
        return tuple(made)

    def boxes_in_frame(self, subject: Subject) -> Floats:
        """(n, 4, 2) corners of a subject's box, from the frame's centre: ±0.5 is the edge."""
        course = self.course
        boxes = subject.boxes(len(course), self.shot.on)
        seen = in_frame(course.rows[:, None], boxes)
        return np.asarray(seen / np.array([1.0, course.delivery.shape]))

    def frames_of_stills(self, stills: Iterable[int]) -> NDArray[np.int64]:
        """The frames that show any of these stills, counted from 1."""
        return self.course.frame[np.isin(self.course.still, list(stills))]

    def scale_at(self, still: int) -> float:
        """The largest scale at which a still is shown; 0 where it is not shown."""
        shown = self.course.scale[self.course.still == still]
        return float(shown.max()) if len(shown) else 0.0


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
    limits : tuple of str
        The names of the limits it judges by.
    reads_pixels : bool
        Whether it needs the stills' pixels: it is asked only where somebody has looked at them.
    is_final : bool
        Whether nothing can come of a render where its fault is allowed.
    """

    id: str
    title: str
    level: Level
    reason: str
    source: str
    find: Callable[[Facts], Iterable[Finding]]
    limits: tuple[str, ...] = ()
    reads_pixels: bool = False
    is_final: bool = False
