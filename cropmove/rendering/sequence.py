"""A shot's frames, made by workers: each still decoded once, memory bounded by the workers."""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from itertools import chain, groupby
from threading import Lock, local
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from cropmove.errors import CropmoveError, InputError
from cropmove.move.framing import Framing
from cropmove.picture.light import SRGB
from cropmove.rendering.encode import Encoding, in_pieces
from cropmove.rendering.frame import LINEAR_DEPTH, frames_of
from cropmove.rendering.look import Look
from cropmove.rendering.made import Made
from cropmove.rendering.needed import Needed, needed_for
from cropmove.rendering.orders import Order
from cropmove.scratch import Scratch
from cropmove.stills.find import StillRef
from cropmove.stills.header import Header
from cropmove.stills.profile import profile_of, to_srgb, transfer_of
from cropmove.stills.read import read_header, read_pixels, room_for

__all__ = ["Desk", "Outcome", "Piece", "drawn", "in_order", "pieces_of", "profile_for", "write"]

_MOST_FRAMES = 4
"""Frames in a piece of work, at most: a stop is answered after so many."""

T = TypeVar("T")


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


def in_order(
    work: Callable[[Piece], T], pieces: Iterable[Piece], pool: Executor, workers: int
) -> Iterator[T]:
    """The results of pieces done by a pool, in the order of the pieces.

    Only a piece or two for each worker are handed out at a time, so memory does not grow with the
    shot. When the caller stops asking, pieces that are not begun are dropped.
    """
    waiting: deque[Future[T]] = deque()
    try:
        for piece in pieces:
            waiting.append(pool.submit(work, piece))
            if len(waiting) > workers + 1:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        for future in waiting:
            future.cancel()


def write(piece: Piece, *, desk: Desk, look: Look, encoding: Encoding, made: Made) -> Outcome:
    """Make a piece's frames into files.

    A still that cannot be read spoils its own frames only, and is told of. What the machine
    refuses (a full disk) is raised.
    """
    written = 0
    try:
        header = read_header(piece.still)
        dressed = replace(encoding, profile=profile_for(header, look))
        scratch = desk.scratch()
        for order, picture in _drawn(piece, header, desk, look, scratch):
            made.write(order.file, order.inputs, *in_pieces(picture, dressed, scratch))
            written += 1
    except InputError as error:
        return Outcome(written=written, error=error)
    return Outcome(written=written)


def drawn(piece: Piece, *, desk: Desk, look: Look) -> list[NDArray[Any]]:
    """A piece's frames as arrays."""
    return [picture for _, picture in _drawn(piece, read_header(piece.still), desk, look)]


def _drawn(
    piece: Piece, header: Header, desk: Desk, look: Look, scratch: Scratch | None = None
) -> Iterator[tuple[Order, NDArray[Any]]]:
    """Each order with its picture, which with `scratch` is good until the next."""
    turns = _turns_to_srgb(header, look)
    with desk.still(piece.still, header) as pixels:
        pictures = frames_of(
            pixels,
            [order.framings for order in piece.orders],
            look,
            orientation=header.orientation,
            stored=header.stored,
            transfer=SRGB if header.depth == LINEAR_DEPTH else transfer_of(header),
            coded=SRGB if turns else None,
            to_srgb=to_srgb(header) if turns else None,
            scratch=scratch,
        )
        yield from zip(piece.orders, pictures, strict=True)


def profile_for(header: Header, look: Look) -> bytes | None:
    """The profile that frames of a still carry; None for sRGB."""
    return None if _turns_to_srgb(header, look) else profile_of(header)


def _turns_to_srgb(header: Header, look: Look) -> bool:
    """Whether frames are sRGB: as is asked for, and where linear light is put into codes."""
    is_coded = header.depth == LINEAR_DEPTH and look.depth != LINEAR_DEPTH
    return look.colour == "srgb" or is_coded


@dataclass(slots=True)
class _OnDesk:
    uses: int
    lock: Lock = field(default_factory=Lock)
    pixels: NDArray[Any] | None = None
    memory: NDArray[Any] | None = None
    """Where the pixels lie, which has room for the whole still."""


class Desk:
    """Where decoded stills lie while pieces need them; their memory is used again for the next.

    Workers in other processes get an empty desk of their own for each piece.

    Parameters
    ----------
    uses : mapping
        How many pieces need each still.
    needed : mapping, optional
        What part of each still they need; all of those that are not in it.
    """

    def __init__(
        self, uses: Mapping[StillRef, int], needed: Mapping[StillRef, Needed] | None = None
    ) -> None:
        self._uses = uses
        self._needed = needed or {}
        self._guard = Lock()
        self._on_desk: dict[StillRef, _OnDesk] = {}
        self._spare: list[NDArray[Any]] = []
        self._own = local()

    @classmethod
    def for_pieces(cls, pieces: Sequence[Piece], look: Look) -> Desk:
        """A desk on which each still lies until the last of the pieces that need it."""
        framings: dict[StillRef, list[Framing]] = defaultdict(list)
        for order in chain.from_iterable(piece.orders for piece in pieces):
            framings[order.still] += order.framings
        needed = {still: needed_for(seen, look) for still, seen in framings.items()}
        return cls(Counter(piece.still for piece in pieces), needed)

    def __reduce__(self) -> tuple[Callable[..., Desk], tuple[Mapping[StillRef, Any], ...]]:
        return Desk, (self._uses, self._needed)

    @contextmanager
    def still(self, ref: StillRef, header: Header) -> Iterator[NDArray[Any]]:
        """The pixels of a still, decoded by the first who asks and dropped by the last.

        They go down to the last row that any piece needs.
        """
        place = self._place(ref)
        try:
            yield self._pixels(place, ref, header)
        finally:
            with self._guard:
                place.uses -= 1
                if not place.uses:
                    self._on_desk.pop(ref, None)
                    if place.memory is not None:
                        self._spare.append(place.memory)

    def read_ahead(self, ref: StillRef) -> None:
        """Put a still on the desk; what its file says no to is told to whoever needs it."""
        with suppress(CropmoveError):
            self._pixels(self._place(ref), ref, read_header(ref))

    def _place(self, ref: StillRef) -> _OnDesk:
        with self._guard:
            return self._on_desk.setdefault(ref, _OnDesk(self._uses[ref]))

    def _pixels(self, place: _OnDesk, ref: StillRef, header: Header) -> NDArray[Any]:
        with place.lock:
            if place.pixels is None:
                rows = self._needed[ref].rows(header) if ref in self._needed else None
                # Room for the whole still even where less is read: the next may need more of it.
                room = room_for(header, self._take_spare())
                place.pixels = read_pixels(ref, header, out=room, rows=rows)
                is_used = np.may_share_memory(place.pixels, room)
                place.memory = room if is_used else place.pixels
            return place.pixels

    def scratch(self) -> Scratch:
        """The calling worker's own."""
        if not hasattr(self._own, "scratch"):
            self._own.scratch = Scratch()
        own: Scratch = self._own.scratch
        return own

    def _take_spare(self) -> NDArray[Any] | None:
        with self._guard:
            return self._spare.pop() if self._spare else None
