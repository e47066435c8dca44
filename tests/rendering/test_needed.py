"""How far down a still is needed: the rows above give the frame that the whole still gives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from PIL import Image

from cropmove.geometry import Orientation, Size
from cropmove.move.framing import Framing
from cropmove.picture.kernels import KERNELS
from cropmove.rendering.frame import frame_of
from cropmove.rendering.look import Look
from cropmove.rendering.needed import needed_for
from cropmove.rendering.orders import Order
from cropmove.rendering.sequence import Desk, Piece, drawn
from cropmove.stills.find import StillRef
from cropmove.stills.header import Header

DELIVERY = Size(48, 27)
STORED = Size(240, 320)
NOISE = np.random.default_rng(11).integers(0, 256, (320, 240, 3)).astype(np.uint8)
"""Where every row differs from the next, so that one too few would show."""


def header_of(code: int) -> Header:
    return Header(kind="jpeg", stored=STORED, orientation=Orientation(code), channels=3, depth=8)


def looks(roll: float, kernel: str = "steady", *, rolling: bool = False) -> Look:
    return Look(delivery=DELIVERY, kernel=kernel, rolled=bool(roll) or rolling, rolling=rolling)


def assert_the_same_from_above(framings: Sequence[Framing], look: Look, code: int) -> int:
    """The frame of the needed rows is that of all rows, to the last bit; how many are needed."""
    look = replace(look, depth=32)
    header = header_of(code)
    rows = needed_for(framings, look).rows(header)
    assert 1 <= rows <= STORED.height
    options: dict[str, Any] = {"orientation": header.orientation, "stored": STORED}
    whole = frame_of(NOISE, framings, look, **options)
    above = frame_of(np.ascontiguousarray(NOISE[:rows]), framings, look, **options)
    assert np.array_equal(above, whole)
    return rows


NUMBERS = {
    "x": st.floats(-50, 300),
    "y": st.floats(-400, 380),
    "width": st.floats(2, 1200),
}


@given(code=st.integers(1, 8), kernel=st.sampled_from(sorted(KERNELS)), **NUMBERS)
def test_a_straight_frame(code: int, kernel: str, x: float, y: float, width: float) -> None:
    assert_the_same_from_above((Framing(x=x, y=y, width=width),), looks(0, kernel), code)


@given(
    code=st.sampled_from([1, 1, 1, 3, 6]),
    roll=st.one_of(st.floats(-200, 200), st.sampled_from([0.0, 90.0, 180.0, -90.0])),
    rolling=st.booleans(),
    kernel=st.sampled_from(sorted(KERNELS)),
    **NUMBERS,
)
@example(code=1, roll=3.0, rolling=True, kernel="plain", x=120, y=-300, width=1200)
def test_a_rolled_frame(
    code: int, roll: float, rolling: bool, kernel: str, x: float, y: float, width: float
) -> None:
    framing = Framing(x=x, y=y, width=width, roll=roll)
    assert_the_same_from_above((framing,), looks(roll, kernel, rolling=rolling), code)


@given(code=st.integers(1, 8), moves=st.floats(-40, 40), grows=st.floats(0.5, 2), **NUMBERS)
def test_a_blurred_frame(
    code: int, moves: float, grows: float, x: float, y: float, width: float
) -> None:
    shown = [Framing(x=x, y=y + t * moves, width=width * grows**t) for t in (0, 0.5, 1)]
    assert_the_same_from_above(shown, looks(0), code)


def test_the_widest_of_several_framings_reaches_furthest() -> None:
    tight, wide = Framing(x=120, y=100, width=5), Framing(x=120, y=90, width=280)
    assert_the_same_from_above((tight, wide), looks(0), 1)


@pytest.mark.parametrize(("code", "x", "y"), [
    (1, 60, 40), (2, 60, 40), (3, 60, 280), (4, 60, 280),
    (5, 40, 60), (6, 280, 60), (7, 280, 60), (8, 40, 60),
])  # fmt: skip
def test_no_more_is_asked_for_than_there_is_a_use_for(code: int, x: float, y: float) -> None:
    # The framing looks at the upper part of the stored picture, however that stands.
    reached = 40 + 48 / 2 if code >= 5 else 40 + 27 / 2
    rows = assert_the_same_from_above((Framing(x=x, y=y, width=48),), looks(0), code)
    assert reached < rows < reached + 20
    opposite = Framing(x=240 - x if code < 5 else 320 - x, y=320 - y, width=48)
    if code < 5:
        assert assert_the_same_from_above((opposite,), looks(0), code) > 280


def test_a_rolled_frame_needs_the_rows_down_to_its_lowest_corner() -> None:
    rolled = Framing(x=120, y=80, width=48, roll=30)
    lowest = rolled.corners(DELIVERY)[:, 1].max()
    rows = assert_the_same_from_above((rolled,), looks(30), 1)
    assert lowest < rows < lowest + 30
    assert assert_the_same_from_above((rolled,), looks(30), 6) == STORED.height


def test_where_the_framing_leaves_the_still_all_rows_are_needed() -> None:
    assert assert_the_same_from_above((Framing(x=120, y=310, width=48),), looks(0), 1) == 320


# From files. -----------------------------------------------------------------------------------

KINDS: dict[str, tuple[str, dict[str, Any]]] = {
    "4:2:0": ("RGB", {"subsampling": "4:2:0"}),
    "4:2:2": ("RGB", {"subsampling": "4:2:2"}),
    "4:4:4": ("RGB", {"subsampling": "4:4:4"}),
    "grey": ("L", {}),
    "restarts": ("RGB", {"subsampling": "4:2:0", "restart_marker_rows": 1}),
    "progressive": ("RGB", {"progressive": True}),
}
ABOVE = {
    1: (100, 60), 2: (100, 60), 3: (100, 260), 4: (100, 260),
    5: (60, 100), 6: (260, 100), 7: (260, 100), 8: (60, 100),
}  # fmt: skip
"""Where the upper part of the stored picture is in the upright one."""


def piece_of(path: Path, *shown: tuple[Framing, ...]) -> Piece:
    still = StillRef(path=path)
    orders = [
        Order(frame=n, file=str(n), inputs="", still=still, framings=f) for n, f in enumerate(shown)
    ]
    return Piece(tuple(orders))


def saved(path: Path, mode: str = "RGB", code: int = 1, **options: Any) -> Path:
    exif = Image.Exif()
    exif[274] = code
    picture = Image.fromarray(NOISE).convert(mode)
    picture.save(path, "JPEG", quality=90, exif=exif, **options)
    return path


def twice(piece: Piece, look: Look) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """A piece's frames, of a still that is read for the first time and for the second."""
    first = drawn(piece, desk=Desk.for_pieces([piece], look), look=look)
    return first, drawn(piece, desk=Desk.for_pieces([piece], look), look=look)


@pytest.mark.parametrize(("mode", "options"), KINDS.values(), ids=KINDS)
@pytest.mark.parametrize("code", range(1, 9))
def test_a_still_that_is_not_read_to_its_end_gives_the_same_frames(
    mode: str, options: dict[str, Any], code: int, tmp_path: Path, decoded: list[int]
) -> None:
    x, y = ABOVE[code]
    still = Framing(x=x, y=y, width=60.7)
    blurred = tuple(Framing(x=x, y=y + t, width=48) for t in (-3.3, 0, 3.3))
    piece = piece_of(saved(tmp_path / "a.jpg", mode, code, **options), (still,), blurred)
    for before, after in zip(*twice(piece, looks(0)), strict=True):
        assert np.array_equal(before, after)
    whole, above = decoded
    assert whole == 320
    assert above == 320 if options.get("progressive") else above < 200


@pytest.mark.parametrize("code", [1, 6])
@pytest.mark.parametrize("roll", [8.5, 90.0])
@pytest.mark.parametrize("rolling", [True, False])
def test_a_still_that_is_not_read_to_its_end_gives_the_same_rolled_frames(
    code: int, roll: float, rolling: bool, tmp_path: Path, decoded: list[int]
) -> None:
    x, y = ABOVE[code]
    piece = piece_of(
        saved(tmp_path / "a.jpg", code=code), (Framing(x=x, y=y, width=60.7, roll=roll),)
    )
    for before, after in zip(*twice(piece, looks(roll, rolling=rolling)), strict=True):
        assert np.array_equal(before, after)
    is_turned_whole = code == 6 or (roll == 90 and not rolling)
    assert decoded == [320, 320] if is_turned_whole else decoded[1] < 200


def test_the_lowest_of_all_pieces_of_a_still_counts(tmp_path: Path, decoded: list[int]) -> None:
    path = saved(tmp_path / "a.jpg")
    pieces = [piece_of(path, (Framing(x=100, y=y, width=48),)) for y in (60, 200, 100)]
    look = looks(0)
    first = [drawn(piece, desk=Desk.for_pieces([piece], look), look=look) for piece in pieces]
    decoded.clear()
    desk = Desk.for_pieces(pieces, look)
    again = [drawn(piece, desk=desk, look=look) for piece in pieces]
    assert np.array_equal(first, again)
    (rows,) = decoded
    assert 214 < rows < 270
