"""The delivered files: frames, or one movie of them all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from fractions import Fraction
from functools import partial
from hashlib import blake2b

from cropmove.rendering.encode import Encoding
from cropmove.rendering.look import Look
from cropmove.rendering.made import Made
from cropmove.rendering.orders import Order
from cropmove.rendering.sequence import (
    Desk,
    Outcome,
    Piece,
    drawn,
    in_order,
    profile_for,
    write,
)
from cropmove.stills.read import read_header

__all__ = ["movie_inputs", "to_files", "to_movie"]


def to_files(
    pieces: Sequence[Piece],
    *,
    desk: Desk,
    look: Look,
    encoding: Encoding,
    made: Made,
    pool: Executor,
    workers: int,
) -> Iterator[Outcome]:
    """Make frames into files, and tell of each piece of the work as it ends."""
    work = partial(write, desk=desk, look=look, encoding=encoding, made=made)
    return in_order(work, pieces, pool, workers)


def to_movie(
    pieces: Sequence[Piece],
    *,
    file: str,
    fps: Fraction,
    desk: Desk,
    look: Look,
    encoding: Encoding,
    made: Made,
    pool: Executor,
    workers: int,
) -> Iterator[Outcome]:
    """Make all frames into one movie. It gets its name when it is finished, or never.

    Raises
    ------
    InputError
        Where a still cannot be read, or the movie cannot hold such frames.
    """
    from cropmove.rendering.encode.movie import MovieWriter

    orders = [order for piece in pieces for order in piece.orders]
    work = partial(drawn, desk=desk, look=look)
    profile = profile_for(read_header(orders[0].still), look)
    dressed = replace(encoding, profile=profile)
    with (
        made.writing(file, movie_inputs(orders, fps)) as part,
        MovieWriter(part, look.delivery, fps, dressed) as movie,
    ):
        for pictures in in_order(work, pieces, pool, workers):
            for picture in pictures:
                movie.add(picture)
            yield Outcome(written=len(pictures))
        movie.finish()


def movie_inputs(orders: Sequence[Order], fps: Fraction) -> str:
    """The fingerprint of all that a movie is made from."""
    parts = "".join(order.inputs for order in orders) + str(fps)
    return blake2b(parts.encode(), digest_size=16).hexdigest()
