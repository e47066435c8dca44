"""``cropmove marks --follow``: the shooting list in a terminal, a key a still, in huge figures."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import typer

from cropmove.errors import complain

if TYPE_CHECKING:
    from cropmove.rig.working import Table
    from cropmove.sheets.shooting_list.rows import Row

__all__ = ["Follower", "huge", "opening", "pressed", "screen", "step_through"]

# Five rows a figure; each part of a figure is drawn two columns wide, so that it is not narrow.
_FIGURES: dict[str, tuple[str, ...]] = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", " ##", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", " # ", " # ", " # "),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    ".": (" ", " ", " ", " ", "#"),
    "/": ("  #", "  #", " # ", "#  ", "#  "),
    "+": ("   ", " # ", "###", " # ", "   "),
    "−": ("   ", "   ", "###", "   ", "   "),
    " ": (" ", " ", " ", " ", " "),
}
_FORWARD = ("\r", "\n", " ", "n", "\x1b[C", "\x1b[B", "\xe0M", "\xe0P")
_BACK = ("b", "p", "\x7f", "\x08", "\x1b[D", "\x1b[A", "\xe0K", "\xe0H")
_LEAVE = ("q", "Q", "\x1b", "\x03", "\x04")


def huge(text: str) -> list[str]:
    """A reading in figures five lines high.

    Examples
    --------
    >>> print("\\n".join(line.rstrip() for line in huge("1.5")))
      ██        ██████
    ████        ██
      ██        ██████
      ██            ██
    ██████  ██  ██████
    """
    shapes = [_FIGURES.get(sign, _FIGURES[" "]) for sign in text]
    return [
        "  ".join(shape[line].replace("#", "██").replace(" ", "  ") for shape in shapes)
        for line in range(5)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Follower:
    """Where somebody is in the list.

    Parameters
    ----------
    title : str
    names : tuple of str
        Each thing with its unit.
    rows : sequence of Row
    at : int
        The row, from 0.
    """

    title: str
    names: tuple[str, ...]
    rows: Sequence[Row]
    at: int = 0

    def moved(self, by: int) -> Follower:
        """So many rows on, as far as there are any."""
        return replace(self, at=min(max(self.at + by, 0), len(self.rows) - 1))


def pressed(follower: Follower, key: str) -> Follower | None:
    """Where a key leads; None where it leaves."""
    if key in _LEAVE:
        return None
    return follower.moved((key in _FORWARD) - (key in _BACK))


def screen(follower: Follower, width: int = 80, height: int = 24) -> str:
    """What is shown: the still, each thing's reading in huge figures, and those beside it.

    Where there are too many things for the window, only the readings of those that move are huge.
    """
    row = follower.rows[follower.at]
    first, last = row.frames
    shown = f"frame {first}" if first == last else f"frames {first}-{last}"
    foot = ["", *(f"  ! {note}" for note in row.notes)]
    foot += ["space or right: next    left: back    q: leave"]
    head = [f"{follower.title}   still {row.still} of {len(follower.rows)}   {shown}", ""]
    room = height - len(head) - len(foot)
    blocks = [_block(follower, number, width) for number in range(len(follower.names))]
    while sum(map(len, blocks)) > room and any(len(block) > 1 for block in blocks):
        # What stands still needs no figures to be read from afar; then the last of the others.
        tall = [n for n, block in enumerate(blocks) if len(block) > 1]
        least = max(tall, key=lambda n: (row.cells[n].repeats, n))
        blocks[least] = [_line(follower, least)]
    return "\n".join([*head, *(line for block in blocks for line in block), *foot])


def _block(follower: Follower, number: int, width: int) -> list[str]:
    reading = follower.rows[follower.at].cells[number].reading
    figures = huge(reading)
    if max(len(line) for line in figures) > width - 2:
        figures = [reading]
    return [_line(follower, number), "", *(f"  {line}".rstrip() for line in figures), ""]


def _line(follower: Follower, number: int) -> str:
    """A thing in a line: its reading, its step, and the readings before and after."""
    at, cell = follower.at, follower.rows[follower.at].cells[number]
    what = "as before" if cell.repeats and at else cell.phase
    parts = [follower.names[number], cell.reading, f"{cell.step} {what}".strip()]
    for told, place in (("before", at - 1), ("next", at + 1)):
        if 0 <= place < len(follower.rows):
            parts.append(f"{told} {follower.rows[place].cells[number].reading}")
    return "   ".join(parts)


def opening(told: str, height: int = 24) -> list[str]:
    """What is told before the first setting, a window at a time.

    Examples
    --------
    >>> print(*opening("Lamps get hot.\\nLeads trip.", height=3), sep="\\n--\\n")
    Lamps get hot.
    <BLANKLINE>
    space or right: next    q: leave
    --
    Leads trip.
    <BLANKLINE>
    space or right: next    q: leave
    """
    lines, foot = told.splitlines(), ["", "space or right: next    q: leave"]
    room = max(height - len(foot), 1)
    return ["\n".join([*lines[n : n + room], *foot]) for n in range(0, len(lines), room)]


def step_through(table: Table, title: str, begin: int = 1) -> None:
    """Tell the cautions, then step through the list until somebody leaves.

    Raises
    ------
    InputError
        Where there is no terminal, or no such still.
    """
    from cropmove.cli.marks_text import cautions_text
    from cropmove.sheets.shooting_list.rows import rows_of

    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        rule = "stepping through a list needs a terminal"
        raise complain("--follow", "", rule, "print it instead: --list NAME.pdf")
    rows = rows_of(table)
    if not 1 <= begin <= len(rows):
        rule = f"stills are numbered from 1 to {len(rows)}"
        raise complain("--from", begin, rule, "give one of them")
    names = tuple(f"{m.name} ({m.rig.motion.name}, {m.rig.scale.unit})" for m in table.moved)
    follower = Follower(title=title, names=names, rows=rows, at=begin - 1)
    left = _show(follower, cautions_text(table), typer.getchar)
    typer.echo(f"left at still {left.rows[left.at].still}; go on with --from {left.at + 1}")


def _show(follower: Follower, told: str, key: Callable[[], str]) -> Follower:
    from rich.console import Console
    from rich.text import Text

    def asked() -> str:
        try:
            return key()
        except (KeyboardInterrupt, EOFError):
            return _LEAVE[0]

    console = Console()
    with console.screen() as shown:
        for window in opening(told, console.height):
            shown.update(Text(window))
            while (pressed_now := asked()) not in _FORWARD:
                if pressed_now in _LEAVE:
                    return follower
        while True:
            shown.update(Text(screen(follower, console.width, console.height)))
            following = pressed(follower, asked())
            if following is None:
                return follower
            follower = following
