"""The look of the sheets: inks that everybody can read, lines that differ without colour."""

from __future__ import annotations

import itertools

import colour
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from written import overlapping, words_on

from cropmove.geometry import Size
from cropmove.move.framing import Framing
from cropmove.move.key import Key
from cropmove.sheets import chart, overview, style
from cropmove.sheets.sheet import Pen, Type, text_width
from cropmove.shot import Delivery, Shot


def _rgb(ink: str) -> np.ndarray:
    return np.array([int(ink[i : i + 2], 16) / 255 for i in (1, 3, 5)])


@pytest.mark.parametrize("ink", [style.INK, style.SOFT, style.RUST, style.TEAL])
def test_words_stand_out_from_the_paper(ink: str) -> None:
    """W3C WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for text."""
    luminance = colour.models.eotf_sRGB(_rgb(ink)) @ np.array([0.2126, 0.7152, 0.0722])
    assert 1.05 / (luminance + 0.05) >= 4.5


@pytest.mark.filterwarnings("ignore:.*shift paradigm:Warning")
@pytest.mark.parametrize("kind", ["Protanomaly", "Deuteranomaly", "Tritanomaly"])
def test_the_two_colours_stay_apart_for_the_colour_blind(kind: str) -> None:
    """Machado et al. 2009 at full severity, as colour-science has it; CIE 2000 above 20 is plain.

    The threshold is common practice, no source.
    """
    matrix = colour.matrix_cvd_Machado2009(kind, 1.0)

    def seen(ink: str) -> np.ndarray:
        light = np.clip(matrix @ colour.models.eotf_sRGB(_rgb(ink)), 0, 1)
        return np.asarray(colour.XYZ_to_Lab(colour.RGB_to_XYZ(light, "sRGB")))

    assert colour.delta_E(seen(style.RUST), seen(style.TEAL), method="CIE 2000") > 20


def _without_colour(pen: Pen) -> tuple[float, tuple[float, ...]]:
    return pen.width, pen.dash


@pytest.mark.parametrize(
    "pens",
    [
        [overview.FIRST, overview.LAST, overview.KEY, overview.BETWEEN, overview.CLOSEST],
        [overview.ACTION, overview.TITLED, overview.SUBJECT_WAY, overview.WAY],
        [chart.STEP, chart.SCALE, chart.LIMIT],
    ],
)
def test_lines_that_mean_different_things_differ_without_their_colour(pens: list[Pen]) -> None:
    for one, other in itertools.combinations(pens, 2):
        assert _without_colour(one) != _without_colour(other)


@given(
    text=st.lists(st.text("abcxyzÅé09·×", min_size=1, max_size=9), max_size=20),
    width=st.floats(20, 90),
)
def test_wrapped_lines_keep_all_words_and_the_width(text: list[str], width: float) -> None:
    type = Type(size=7.5, colour=style.INK)
    lines = style.wrapped(" ".join(text), type, width)
    assert " ".join(lines).split() == " ".join(text).split()
    for line in lines:
        assert text_width(line, type) <= width or " " not in line


@given(st.floats(1, 9000), st.floats(1, 9000))
def test_what_is_fitted_keeps_its_shape_and_fills_one_way(width: float, height: float) -> None:
    room = (10.0, 20.0, 110.0, 80.0)
    left, top, right, bottom = style.fitted(width, height, room)
    assert (right - left) / (bottom - top) == pytest.approx(width / height)
    assert right <= 110 + 1e-9
    assert bottom <= 80 + 1e-9
    assert right == pytest.approx(110) or bottom == pytest.approx(80)


def test_a_long_name_stays_on_the_paper_and_off_the_sheets_kind() -> None:
    key = Key(frame=1, framing=Framing(x=3000, y=2000, width=3840))
    for letters in (10, 60, 75, 120, 240):
        shot = Shot(name="W" * letters, delivery=Delivery(size=Size(1920, 1080)), keys=(key,))
        sheet = style.begin(shot, "contact sheet", (297.0, 210.0))
        assert overlapping(sheet) == []
        assert max(box[2] for _, box in words_on(sheet)) < 297 - style.MARGIN + 0.5
