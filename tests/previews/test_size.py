"""How large a preview is."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cropmove.geometry import Size
from cropmove.previews.size import preview_size

SIZES = st.builds(Size, st.integers(320, 8192), st.integers(180, 8192))


@given(SIZES, st.integers(64, 3840))
def test_it_is_even_and_never_larger_than_the_delivery(delivery: Size, width: int) -> None:
    size = preview_size(delivery, width)
    assert size.width % 2 == size.height % 2 == 0
    assert size.width <= delivery.width
    assert size.width <= width + 2


@given(SIZES, st.integers(200, 3840))
def test_its_shape_is_the_deliverys_to_within_a_pixel_of_height(delivery: Size, width: int) -> None:
    size = preview_size(delivery, width)
    assert abs(size.height - size.width * delivery.shape) <= 1 or size.height == 2


def test_the_usual_one_is_a_quarter_of_hd() -> None:
    assert preview_size(Size(1920, 1080)) == Size(960, 540)


@given(st.builds(Size, st.integers(1, 65_536), st.integers(1, 65_536)), st.integers(64, 3840))
def test_a_movie_holds_two_of_whatever_shape(delivery: Size, width: int) -> None:
    """H.264's encoder takes 16,384 pixels a side."""
    size = preview_size(delivery, width)
    assert 2 <= size.height <= 3840
    assert 2 <= size.width <= max(2, width + 2)
