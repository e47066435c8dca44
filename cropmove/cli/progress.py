"""How far the work is: a line that moves on a terminal, plain lines elsewhere."""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from cropmove.cli.shown import error_text, folded, moving_line, named
from cropmove.errors import InputError
from cropmove.units import count_text

if TYPE_CHECKING:
    from cropmove.jobs import Progress, Result

__all__ = ["Teller"]

STOPPED = 128
"""The exit code of a program that was stopped is so much above the signal's number."""

STOPS = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
"""Ctrl-C, a system that shuts down, a window that is closed: each leaves nothing half-written."""

EVERY = 5.0
"""Seconds between plain lines."""

_STOPPED = (
    "stopped: what is there is whole; the same command makes the rest, a movie from its start"
)


class Teller:
    """Tells of one shot after another on stderr; says nothing but errors where it is quiet.

    A stop is remembered: where Python meets it while it tidies up, it is passed over with a
    warning, and only what is told next can end the work. Whatever ends the work ends the line, so
    that an error has one of its own.

    Parameters
    ----------
    quiet : bool
    stopped : str
        What is said where the user stops it.
    """

    def __init__(self, *, quiet: bool = False, stopped: str = _STOPPED) -> None:
        self.quiet = quiet
        self.moving = sys.stderr.isatty() and not quiet
        self._told_at_stop = stopped
        self._name = ""
        self._line_open = False
        self._last = time.monotonic()
        self._stopped_by = 0
        self._before: dict[int, Any] = {}

    def __enter__(self) -> Teller:
        if threading.current_thread() is threading.main_thread():
            for stop in STOPS:
                if signal.getsignal(stop) in (signal.default_int_handler, signal.SIG_DFL):
                    self._before[stop] = signal.signal(stop, self._stop)
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: Any) -> None:
        for stop, before in self._before.items():
            signal.signal(stop, before)
        if kind is KeyboardInterrupt:
            with suppress(OSError):  # the window may be closed
                self.say(self._told_at_stop)
            sys.exit(STOPPED + (self._stopped_by or signal.SIGINT))
        self._close_line()

    def _stop(self, by: int, _: object) -> None:
        self._stopped_by = by
        raise KeyboardInterrupt

    def say(self, text: str) -> None:
        """One line."""
        if not self.quiet:
            self._close_line()
            typer.echo(text, err=True)

    def begin(self, path: Path) -> None:
        """Another shot begins."""
        self._name, self._last = path.name, time.monotonic()

    def progress(self, at: Progress) -> None:
        """So many frames are done."""
        left = f", {_clock(at.left)} left" if at.left is not None and at.done < at.total else ""
        text = f"{at.done} of {at.total} frames, {at.rate:.1f} frames/s{left}"
        self._tell(f"{self._name}: {text}", is_last=at.done == at.total)

    def looked(self, path: Path, done: int, total: int) -> None:
        """So many stills of a shot are looked at."""
        self._tell(f"{path.name}: looked at {done} of {total} stills", is_last=done == total)
        if done == total:
            self._close_line()

    def _tell(self, text: str, *, is_last: bool) -> None:
        if self._stopped_by:
            raise KeyboardInterrupt
        if self.moving:
            typer.echo(moving_line(text), err=True, nl=False)
            self._line_open = True
        elif not self.quiet and (is_last or time.monotonic() - self._last >= EVERY):
            self._last = time.monotonic()
            typer.echo(text, err=True)

    def _close_line(self) -> None:
        if self._line_open:
            typer.echo("", err=True)
            self._line_open = False

    def summary(self, results: Sequence[Result]) -> None:
        """How it ended, shot by shot."""
        for result in results:
            self._one(result)
        if len(results) > 1 and not self.quiet:
            bad = [str(result.path) for result in results if result.exit_code]
            told = f"{len(results) - len(bad)} of {len(results)} shots are done"
            typer.echo(folded(f"{told}; not {named(bad)}" if bad else told), err=True)

    def _one(self, result: Result) -> None:
        if result.error is not None:
            typer.echo(error_text(result.error), err=True)
        if result.rendered is None:
            return
        done = result.rendered
        if done.trouble:
            typer.echo(error_text(InputError(*done.trouble)), err=True)
        if self.quiet:
            return
        parts = [f"{count_text(done.made, 'frame')} made" if done.made else "nothing to do"]
        if done.kept:
            parts.append(f"{done.kept} {'was' if done.kept == 1 else 'were'} up to date")
        if done.without_still:
            parts.append(
                f"{done.without_still} {'has' if done.without_still == 1 else 'have'} no still"
            )
        rate = f" ({done.made / done.seconds:.1f} frames/s)" if done.made and done.seconds else ""
        typer.echo(f"{result.path}: {', '.join(parts)}{rate}\n  {done.out}", err=True)
        if done.beyond:
            of = f"{count_text(len(done.beyond), 'frame')} of a longer version"
            told = f"{of} still there: {named(done.beyond, 1)}; take them away before you deliver"
            typer.echo(folded(told, first=2, later=4), err=True)


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
