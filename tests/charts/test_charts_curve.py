"""The curve as a picture: where its parts stand, what is whole and what is dashed, and that words and table say the same."""

from __future__ import annotations

import math
import re

import pytest

from server.charts.curve_by_energy import MARK, CurveMark, draw_curve_by_energy
from server.charts.curve_shape import CurveShape, draw_curve
from server.charts.scale import LinearScale

X, Y = LinearScale(20.0, 80.0, 0.0, 600.0), LinearScale(0.0, 1.0, 100.0, 0.0)


def shape(low: float = 30.0, high: float = 60.0, *, least: float = 20.0, most: float = 80.0, ends: tuple[float | None, float | None] = (38.0, 53.0)) -> CurveShape:
    energies = tuple(sorted({*(least + (most - least) * n / 20 for n in range(21)), low, high}))
    chances = tuple(1 / (1 + math.exp(-8 * math.log(energy / 45))) for energy in energies)
    return CurveShape(
        energies, chances, tuple(one / 2 for one in chances), tuple((1 + one) / 2 for one in chances), (low, high), 45.0, ends
    )


def spots(d: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([-\d.]+) ([-\d.]+)", d)]


def test_the_curve_is_whole_where_it_was_shot_and_dashed_beyond() -> None:
    drawn = draw_curve(shape(), X, Y)
    inside, (before, after) = spots(drawn.inside), (spots(d) for d in drawn.beyond)
    assert (inside[0][0], inside[-1][0]) == (X(30), X(60))
    assert before[0][0] == X(20) and before[-1] == inside[0], "the parts meet"
    assert after[0] == inside[-1] and after[-1][0] == X(80)


def test_a_curve_that_ends_with_the_shots_has_nothing_dashed() -> None:
    assert draw_curve(shape(least=30.0, most=60.0), X, Y).beyond == ()


def test_the_curve_passes_the_middle_at_half_height_and_rises() -> None:
    drawn = draw_curve(shape(), X, Y)
    assert drawn.middle == (X(45), 50.0)
    heights = [y for _, y in spots(drawn.inside)]
    assert heights == sorted(heights, reverse=True)


def test_the_band_holds_the_curve() -> None:
    drawn = draw_curve(shape(), X, Y)
    band = spots(drawn.band)
    half = len(band) // 2
    for (_, upper), (_, curve), (_, lower) in zip(band[:half], spots(drawn.inside), reversed(band[half:]), strict=True):
        assert upper <= curve <= lower


@pytest.mark.parametrize(
    ("ends", "reach", "capped"),
    [
        ((38.0, 53.0), (X(38), X(53)), (True, True)),
        ((None, 53.0), (X(20), X(53)), (False, True)),
        ((38.0, None), (X(38), X(80)), (True, False)),
        ((38.0, 190.0), (X(38), X(80)), (True, False)),
    ],
)
def test_the_bar_ends_in_a_cap_only_where_the_range_ends(
    ends: tuple[float | None, float | None], reach: tuple[float, float], capped: tuple[bool, bool]
) -> None:
    drawn = draw_curve(shape(ends=ends), X, Y)
    assert (drawn.reach, drawn.capped) == (reach, capped)


def test_what_lies_outside_the_picture_is_not_drawn() -> None:
    drawn = draw_curve(shape(), LinearScale(50.0, 80.0, 0.0, 300.0), Y)
    assert drawn.middle is None and drawn.reach is None
    assert all(x >= 0 for x, _ in spots(drawn.inside))


def test_a_curve_out_of_order_is_refused() -> None:
    with pytest.raises(ValueError, match="go up"):
        CurveShape((50.0, 40.0), (0.5, 0.4), (0.1, 0.1), (0.9, 0.9), (40.0, 50.0), 45.0, (None, None))
    with pytest.raises(ValueError, match="as many"):
        CurveShape((50.0,), (0.5, 0.4), (0.1, 0.1), (0.9, 0.9), (40.0, 50.0), 45.0, (None, None))


MARKS = [CurveMark(f"A{n}", f"/shots/{n}", 30.0 + 2 * (n // 3), n > 20) for n in range(40)]


def test_marks_stand_at_their_energy_above_the_curve_or_below_it() -> None:
    drawn = draw_curve_by_energy("Leaf", MARKS, shape(), unit="J", curve_words="Half at 45 J.", range_j=(25.0, 70.0))
    assert len(drawn.through) == 19 and len(drawn.stopped) == 21
    all_at, none_at = drawn.frame.y(1.0), drawn.frame.y(0.0)
    assert all(one.y + MARK < all_at for one in drawn.through)
    assert all(none_at < one.y and one.y + MARK < drawn.frame.bottom for one in drawn.stopped)
    first = next(one for one in drawn.stopped if one.words.startswith("A0:"))
    assert first.x + MARK / 2 == pytest.approx(drawn.frame.x(30.0), abs=0.1)
    assert first.words == "A0: 30\N{NO-BREAK SPACE}J, did not get through" and first.href == "/shots/0"


def test_no_two_marks_of_a_few_lie_on_each_other() -> None:
    few = [CurveMark(f"A{n}", "", 40.0, True) for n in range(4)]
    drawn = draw_curve_by_energy("Leaf", few, None, unit="J", curve_words="", range_j=(25.0, 70.0))
    assert len({one.y for one in drawn.through}) == 4 and drawn.curve is None


def test_words_and_table_say_what_is_drawn() -> None:
    drawn = draw_curve_by_energy("Leaf", MARKS, shape(), unit="J", curve_words="Half at 45 J.", range_j=(25.0, 70.0))
    assert drawn.words == "Leaf, 40 shots, 19 got through. Half at 45 J."
    assert drawn.columns[0] == "Energy, J"
    energies = [float(row[0]) for row in drawn.rows]
    assert energies == sorted(energies) and energies[0] == 30.0 and energies[-1] == 60.0, "none outside those shot"
    assert drawn.rows[0][1] == "4", "(30/45)^8 to 1"


def test_the_table_is_in_the_readers_unit() -> None:
    drawn = draw_curve_by_energy("Leaf", MARKS, shape(), unit="ft·lbf", curve_words="", range_j=(25.0, 70.0))
    assert drawn.columns[0] == "Energy, ft·lbf" and float(drawn.rows[0][0]) == pytest.approx(22.1, abs=0.05), "30 J"
    assert drawn.frame.x_name == "Energy, ft·lbf"
