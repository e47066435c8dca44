"""Tags that keep out of each other's way."""

from __future__ import annotations

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from cropmove.sheets.labels import Labels
from cropmove.sheets.sheet import Sheet, Type

TYPE = Type(size=7, colour="#17242c")
PLACES = st.lists(st.tuples(st.floats(0, 100), st.floats(0, 60)), max_size=30)


@settings(max_examples=15)
@given(PLACES)
def test_no_two_tags_overlap_and_none_leaves_its_room(places: list[tuple[float, float]]) -> None:
    labels = Labels(Sheet(100, 60, title="tags"), within=(0, 0, 100, 60))
    for number, place in enumerate(places):
        labels.put(place, str(number), TYPE)
    boxes = [box for box, *_ in labels._tags]
    for a, b in itertools.combinations(boxes, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
    assert all(b[0] >= 0 and b[1] >= 0 and b[2] <= 100 and b[3] <= 60 for b in boxes)


def test_a_tag_that_must_be_there_is_there_even_where_it_is_crowded() -> None:
    labels = Labels(Sheet(100, 60, title="tags"), within=(0, 0, 100, 60))
    labels.keep_off((0, 0, 100, 60))
    assert not labels.put((50, 30), "may", TYPE)
    assert labels.put((50, 30), "must", TYPE, must=True)


def test_a_tag_takes_the_first_free_side() -> None:
    labels = Labels(Sheet(100, 60, title="tags"), within=(0, 0, 100, 60))
    labels.keep_off((50, 30, 100, 60))
    labels.put((50, 30), "here", TYPE, sides=("right below", "left above"))
    ((box, *_),) = labels._tags
    assert box[2] == 50
    assert box[3] == 30
