"""Strips printed and measured: every tick at its angle, bent or straight."""

import numpy as np
import pytest
from by_hand import a_rig
from printed import darkness_along, nearest, strokes
from taped import CLOSE, apart, made, measured, on_page

from cropmove.rig.pose import CAMERA_WAYS, Poses
from cropmove.sheets.tape.places import along_of


def clockwise(moves):
    """1 where what is moved turns clockwise about its pivot, seen from above, and else -1."""
    if moves == "set turn":
        return 1  # by its definition
    way = np.zeros((1, len(CAMERA_WAYS)))
    way[0, CAMERA_WAYS.index(moves.split()[1])] = 1.0
    there = Poses.of(way, distance=800)
    # To the right and ahead of the pivot: the camera's own, or the subject that it goes round.
    right, _, ahead = there.axes[0, :, 2] if moves == "camera pan" else [0, 0, 800] - there.at[0]
    return 1 if right * ahead > 0 else -1


@pytest.mark.parametrize("reverse", [False, True])
@pytest.mark.parametrize(
    ("moves", "radius", "end"),
    [("camera pan", 400, 15), ("set turn", 200, 130), ("camera arc", 300, 30)],
)
def test_a_template_is_bent_to_its_radius_with_every_tick_at_its_angle(moves, radius, end, reverse):
    it = a_rig("it", moves, start=0, end=end, radius=radius, ease_in=6, ease_out=10,
               reverse=reverse)  # fmt: skip
    hand = -clockwise(moves) if reverse else clockwise(moves)
    marks, pages, pieces = made(it)
    seen = 0
    for piece in pieces:
        page = pages[piece.page - 1]
        # Ticks are radial: at 3 mm outside the edge they stand at the same angles.
        ticks = measured(page, piece, radius, hand)
        for mark in apart(along_of(marks)):
            if piece.start <= mark < piece.end:
                assert nearest(ticks, mark) == pytest.approx(mark, abs=CLOSE)
                seen += 1
        # And the edge itself is as far from the pivot as the radius says, all along.
        for place in np.linspace(piece.start, piece.end, 7)[1:-1]:
            deep = np.arange(-1, 0.9, 0.005)
            points = np.array([on_page(piece, place + 0.3, d, radius) for d in deep])
            (edge,) = strokes(darkness_along(page, points), deep)
            assert edge == pytest.approx(0, abs=CLOSE)
    assert seen == len(apart(along_of(marks)))


def test_a_straight_tape_for_a_rim_is_as_long_as_the_arc():
    board = a_rig("board", "set turn", start=0, end=45, radius=300)
    _, pages, pieces = made(board, bent=False)
    # Computed: 45 degrees of a radius of 300 mm are 235.6194 mm along it.
    ends = measured(pages[0], pieces[0])
    assert ends[-1] - ends[0] == pytest.approx(235.6194, abs=CLOSE)
