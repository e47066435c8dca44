"""Several shots, one after another."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

from cropmove.errors import CropmoveError, called, complain
from cropmove.jobs.frames import Progress, Rendered, render
from cropmove.shotfile import load

__all__ = ["Result", "Watch", "render_batch", "several"]


class Watch(Protocol):
    """Who is told how a batch goes."""

    def begin(self, path: Path) -> None:
        """Another shot begins."""
        ...

    def progress(self, at: Progress) -> None:
        """So many of its frames are done."""
        ...

    def say(self, text: str) -> None:
        """Something that a person waiting would want to know."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """How one shot of a batch ended: rendered, or refused, or stopped in the middle."""

    path: Path
    rendered: Rendered | None = None
    error: CropmoveError | None = None

    @property
    def exit_code(self) -> int:
        """0 done, 1 a fault in the move, 2 something that could not be used."""
        if self.error is not None:
            return self.error.exit_code
        return 2 if self.rendered and self.rendered.trouble else 0


def render_batch(
    paths: Iterable[Path],
    *,
    out: Path | None = None,
    frames: str | None = None,
    overwrite: bool = False,
    allow: str | Iterable[str] = (),
    workers: int | None = None,
    watch: Watch | None = None,
) -> tuple[Result, ...]:
    """Render several shots; a bad one does not stop the others.

    Parameters
    ----------
    paths : iterable of Path
        Shot files.
    out : Path, optional
        One folder for all frames; NAME_frames beside each shot file where it is not given.
    frames : str, optional
        Such as "10-20".
    overwrite, allow, workers
        As for `render`.
    watch : Watch, optional

    Raises
    ------
    InputError
        Where two shots would give their frames the same names.
    """
    from cropmove.rendering.orders import frame_numbers

    def one(path: Path) -> Result:
        try:
            shot = load(path)
        except CropmoveError as error:
            return Result(path=path, error=error)
        try:
            done = render(
                shot,
                out=out or path.parent / f"{path.stem}_frames",
                frames=None if frames is None else frame_numbers(frames, shot.length),
                overwrite=overwrite,
                allow=allow,
                workers=workers,
                progress=watch.progress if watch else None,
                say=watch.say if watch else None,
            )
        except CropmoveError as error:
            # A shot file that cannot be read names itself; what comes later does not.
            return Result(path=path, error=error.within(str(path)))
        trouble = tuple(complaint.within(str(path)) for complaint in done.trouble)
        return Result(path=path, rendered=replace(done, trouble=trouble))

    results = []
    for path in _distinct(several(paths), out):
        if watch:
            watch.begin(path)
        results.append(one(path))
    return tuple(results)


def _distinct(paths: tuple[Path, ...], out: Path | None) -> tuple[Path, ...]:
    names = [path.stem for path in paths]
    twice = next((name for name in names if names.count(name) > 1), None)
    if out is not None and twice:
        rule = "shots that share a folder have different names"
        raise complain(called("out"), str(out), rule, f"two are called {twice}: leave it out")
    return paths


def several(paths: Iterable[Path]) -> tuple[Path, ...]:
    """Shot files to be worked on one after another.

    Raises
    ------
    InputError
        Where there is none, or one is named twice.
    """
    all_of = tuple(paths)
    if not all_of:
        raise complain("SHOT", "", "there is at least one shot file", "name one, NAME.toml")
    for path in all_of:
        if all_of.count(path) > 1:
            raise complain("SHOT", str(path), "a shot is named once", "take one of them out")
    return all_of
