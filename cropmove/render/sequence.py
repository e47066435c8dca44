"""The frames of a shot, made by workers: each still decoded once, memory bounded by the workers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import groupby
from threading import Lock
from typing import Any

from numpy.typing import NDArray

from cropmove.errors import InputError
from cropmove.render.encode import Encoding, encode
from cropmove.render.frame import frame_of
from cropmove.render.look import Look
from cropmove.render.made import Made
from cropmove.render.orders import Order
from cropmove.stills.find import StillRef
from cropmove.stills.header import read_header
from cropmove.stills.profile import profile_of, transfer_of
from cropmove.stills.read import read_pixels

__all__ = ["Outcome", "Piece", "carry_out", "pieces_of"]

_MOST_FRAMES = 4
"""Frames in a piece of work, at most: a stop is answered after so many."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What one worker does in one go: some frames of one still."""

    orders: tuple[Order, ...]

    @property
    def still(self) -> StillRef:
        """The still they share."""
        return self.orders[0].still


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a piece ended: how many frames are written, and what its still's file said no to."""

    written: int
    error: InputError | None = None


def pieces_of(orders: Iterable[Order], most: int = _MOST_FRAMES) -> tuple[Piece, ...]:
    """Orders in pieces of neighbours that share a still, at most `most` frames each."""
    pieces = []
    for _, group in groupby(orders, key=lambda order: order.still):
        of_still = tuple(group)
        pieces += [Piece(of_still[i : i + most]) for i in range(0, len(of_still), most)]
    return tuple(pieces)


def carry_out(
    pieces: Sequence[Piece],
    *,
    look: Look,
    encoding: Encoding,
    made: Made,
    pool: Executor,
    workers: int,
) -> Iterator[Outcome]:
    """Have the pieces done by a pool, and tell of each as it ends.

    A still that cannot be read spoils its own frames only. What the machine refuses (a full disk)
    ends it all. When the caller stops asking, pieces that are not begun are dropped.

    Parameters
    ----------
    pieces : sequence of Piece
    look, encoding : Look, Encoding
    made : Made
    pool : Executor
        Threads, processes, or any other.
    workers : int
        How many pieces the pool does at a time; only so many, and one more, are handed out.
    """
    desk = _Desk(Counter(piece.still for piece in pieces))
    work = partial(_do, desk=desk, look=look, encoding=encoding, made=made)
    waiting: set[Future[Outcome]] = set()
    try:
        for piece in pieces:
            waiting.add(pool.submit(work, piece))
            while len(waiting) > workers:
                done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
                yield from (future.result() for future in done)
        while waiting:
            done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            yield from (future.result() for future in done)
    finally:
        for future in waiting:
            future.cancel()


def _do(piece: Piece, *, desk: _Desk, look: Look, encoding: Encoding, made: Made) -> Outcome:
    written = 0
    try:
        header = read_header(piece.still)
        transfer = transfer_of(header)
        encoding = replace(encoding, profile=profile_of(header))
        with desk.still(piece.still) as pixels:
            for order in piece.orders:
                picture = frame_of(
                    pixels, order.framing, look, orientation=header.orientation, transfer=transfer
                )
                made.write(order.file, order.inputs, encode(picture, encoding))
                written += 1
    except InputError as error:
        return Outcome(written=written, error=error)
    return Outcome(written=written)


@dataclass(slots=True)
class _OnDesk:
    uses: int
    lock: Lock = field(default_factory=Lock)
    pixels: NDArray[Any] | None = None


class _Desk:
    """Where decoded stills lie while pieces need them; their memory is used again for the next.

    Workers in other processes get an empty desk of their own for each piece.
    """

    def __init__(self, uses: Mapping[StillRef, int]) -> None:
        self._uses = uses
        self._guard = Lock()
        self._on_desk: dict[StillRef, _OnDesk] = {}
        self._spare: list[NDArray[Any]] = []

    def __reduce__(self) -> tuple[Callable[..., _Desk], tuple[Mapping[StillRef, int]]]:
        return _Desk, (self._uses,)

    @contextmanager
    def still(self, ref: StillRef) -> Iterator[NDArray[Any]]:
        """The pixels of a still, decoded by the first who asks and dropped by the last."""
        with self._guard:
            place = self._on_desk.setdefault(ref, _OnDesk(self._uses[ref]))
        try:
            with place.lock:
                if place.pixels is None:
                    place.pixels = read_pixels(ref, out=self._take_spare())
            yield place.pixels
        finally:
            with self._guard:
                place.uses -= 1
                if not place.uses:
                    self._on_desk.pop(ref, None)
                    if place.pixels is not None:
                        self._spare.append(place.pixels)

    def _take_spare(self) -> NDArray[Any] | None:
        with self._guard:
            return self._spare.pop() if self._spare else None
