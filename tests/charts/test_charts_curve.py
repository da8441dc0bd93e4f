"""The curve as a drawing: where its parts stand, what is whole and what is dashed, and that words and table say the same."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import pytest
from proofyard.charts.axes import RIGHT
from proofyard.charts.curves import MARK, MOST_ONE_BY_ONE, CurveMark, CurveShape, curve_marks, draw_curve_by_energy
from proofyard.charts.figure import Group
from proofyard.charts.scale import LinearScale

from tests.charts.marks_of import dots, ends, having, paths, rects, said, texts

X, Y = LinearScale(20.0, 80.0, 0.0, 600.0), LinearScale(0.0, 1.0, 100.0, 0.0)


def shape(
    low: float = 30.0,
    high: float = 60.0,
    *,
    least: float = 20.0,
    most: float = 80.0,
    ends: tuple[float | None, float | None] = (38.0, 53.0),
) -> CurveShape:
    energies = tuple(sorted({*(least + (most - least) * n / 20 for n in range(21)), low, high}))
    chances = tuple(1 / (1 + math.exp(-8 * math.log(energy / 45))) for energy in energies)
    return CurveShape(
        energies, chances, tuple(one / 2 for one in chances), tuple((1 + one) / 2 for one in chances), (low, high), 45.0, ends
    )


def drawn_curve(shape: CurveShape, x: LinearScale = X) -> Group:
    """All its marks, the band first."""
    under, over = curve_marks(shape, x, Y)
    return Group((*under, *over))


def test_the_curve_is_whole_where_it_was_shot_and_dashed_beyond() -> None:
    drawn = drawn_curve(shape())
    (inside,), (before, after) = paths(drawn, "chart__path"), paths(drawn, "chart__beyond")
    assert (inside[0][0], inside[-1][0]) == (X(30), X(60))
    assert before[0][0] == X(20) and before[-1] == inside[0], "the parts meet"
    assert after[0] == inside[-1] and after[-1][0] == X(80)


def test_a_curve_that_ends_with_the_shots_has_nothing_dashed() -> None:
    assert having(drawn_curve(shape(least=30.0, most=60.0)), "chart__beyond") == []


def test_the_curve_passes_the_middle_at_half_height_and_rises() -> None:
    drawn = drawn_curve(shape())
    assert [(one.x, one.y) for one in dots(drawn)] == [(X(45), 50.0)]
    heights = [y for _, y in paths(drawn, "chart__path")[0]]
    assert heights == sorted(heights, reverse=True)


def test_the_band_holds_the_curve() -> None:
    drawn = drawn_curve(shape())
    band, inside = paths(drawn, "chart__band")[0], paths(drawn, "chart__path")[0]
    half = len(band) // 2
    for (_, upper), (_, curve), (_, lower) in zip(band[:half], inside, reversed(band[half:]), strict=True):
        assert upper <= curve <= lower


@pytest.mark.parametrize(
    ("ends_j", "reach", "caps"),
    [
        ((38.0, 53.0), (X(38), X(53)), [X(38), X(53)]),
        ((None, 53.0), (X(20), X(53)), [X(53)]),
        ((38.0, None), (X(38), X(80)), [X(38)]),
        ((38.0, 190.0), (X(38), X(80)), [X(38)]),
    ],
)
def test_the_bar_ends_in_a_cap_only_where_the_range_ends(
    ends_j: tuple[float | None, float | None], reach: tuple[float, float], caps: list[float]
) -> None:
    drawn = drawn_curve(shape(ends=ends_j))
    assert ends(paths(drawn, "chart__cell")[0]) == reach
    assert [cap[0][0] for cap in paths(drawn, "chart__axis")] == caps


def test_what_lies_outside_the_drawing_is_not_drawn() -> None:
    drawn = drawn_curve(shape(), LinearScale(50.0, 80.0, 0.0, 300.0))
    assert dots(drawn) == [] and having(drawn, "chart__cell") == []
    assert all(x >= 0 for x, _ in paths(drawn, "chart__path")[0])


def test_a_curve_out_of_order_is_refused() -> None:
    with pytest.raises(ValueError, match="go up"):
        CurveShape((50.0, 40.0), (0.5, 0.4), (0.1, 0.1), (0.9, 0.9), (40.0, 50.0), 45.0, (None, None))
    with pytest.raises(ValueError, match="as many"):
        CurveShape((50.0,), (0.5, 0.4), (0.1, 0.1), (0.9, 0.9), (40.0, 50.0), 45.0, (None, None))


MARKS = [CurveMark(f"A{n}", f"/shots/{n}", 30.0 + 2 * (n // 3), n > 20) for n in range(40)]


def sides(drawn: Any) -> tuple[Sequence[Group], Sequence[Group]]:
    """Those through, and those that are not."""
    every = said(drawn)
    return [one for one in every if not having(one, "chart__square--open")], [one for one in every if having(one, "chart__square--open")]


def test_marks_stand_at_their_energy_above_the_curve_or_below_it() -> None:
    drawn = draw_curve_by_energy("Leaf", MARKS, shape(), unit="J", curve_words="Half at 45 J.", range_j=(25.0, 70.0))
    through, stopped = sides(drawn)
    assert len(through) == 19 and len(stopped) == 21
    bottom = next(line[0][1] for line in paths(drawn, "chart__axis") if line[1][0] == RIGHT)
    assert all(rects(one)[0].y + MARK < drawn.y(1.0) for one in through)
    assert all(drawn.y(0.0) < rects(one)[0].y and rects(one)[0].y + MARK < bottom for one in stopped)
    first = next(one for one in stopped if one.words.startswith("A0:"))
    assert rects(first)[0].x + MARK / 2 == pytest.approx(drawn.x(30.0), abs=0.1)
    assert first.words == "A0: 30\N{NO-BREAK SPACE}J, did not get through" and first.href == "/shots/0"


def test_no_two_marks_of_a_few_lie_on_each_other() -> None:
    few = [CurveMark(f"A{n}", "", 40.0, True) for n in range(4)]
    drawn = draw_curve_by_energy("Leaf", few, None, unit="J", curve_words="", range_j=(25.0, 70.0))
    assert len({one.y for one in rects(drawn)}) == 4 and having(drawn, "chart__path") == []


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
    assert "Energy, ft·lbf" in [one.text for one in texts(drawn)]


def test_more_shots_than_can_be_seen_are_bars_and_each_is_counted_once() -> None:
    many = [CurveMark(f"A{n}", f"/shots/{n}", 26.0 + 43.0 * (n * 37 % 700) / 700, n % 3 == 0) for n in range(700)]
    drawn = draw_curve_by_energy("Leaf", many, shape(), unit="J", curve_words="Half at 45 J.", range_j=(25.0, 70.0))
    bars = sides(drawn)
    assert [sum(int(one.words.split(": ")[1].split()[0]) for one in side) for side in bars] == [234, 466]
    assert len(bars[0]) + len(bars[1]) < 60 and not any(one.href for side in bars for one in side)
    for side, through in zip(bars, (True, False), strict=True):
        for one in side:
            low, high = map(float, one.words.split(" J:")[0].split(" to "))
            inside = sum(low <= mark.energy_j < high for mark in many if mark.through is through)
            assert int(one.words.split(": ")[1].split()[0]) == inside, one.words
    assert all(rects(one)[0].y + rects(one)[0].height <= drawn.y(1.0) for one in bars[0])
    assert all(drawn.y(0.0) <= rects(one)[0].y for one in bars[1])
    tallest = max(bars[1], key=lambda one: rects(one)[0].height)
    assert int(tallest.words.split(": ")[1].split()[0]) == max(int(one.words.split(": ")[1].split()[0]) for one in bars[1])
    assert drawn.words.startswith("Leaf, 700 shots, 234 got through. Half at 45 J. Too many to draw one by one")
    assert "700 shots" in drawn.key


def test_up_to_a_hundred_shots_each_has_its_own_mark_and_link() -> None:
    some = [CurveMark(f"A{n}", f"/shots/{n}", 26.0 + 0.4 * n, n % 2 == 0) for n in range(MOST_ONE_BY_ONE + 1)]
    few, many = (
        draw_curve_by_energy("Leaf", marks, shape(), unit="J", curve_words="", range_j=(25.0, 70.0)) for marks in (some[:-1], some)
    )
    assert sorted(one.href for side in sides(few) for one in side) == sorted(one.href for one in some[:-1])
    assert "Too many" not in few.words and "each of the 101 shots is in one" in many.words
