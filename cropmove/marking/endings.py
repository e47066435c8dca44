"""What the names of files for the set may end in."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from cropmove.errors import InputError, complain

__all__ = ["PAPER", "PICTURE", "wrong_ending"]

PAPER = (".pdf", ".svg")


PICTURE = (".png", ".svg", ".pdf")


def wrong_ending(option: str, file: Path, endings: Sequence[str]) -> InputError:
    """The refusal of a name that ends in something else."""
    rule = f"that is written as {', '.join(endings[:-1])} or {endings[-1]}"
    return complain(option, str(file), rule, f"end the name in {endings[0]}")
