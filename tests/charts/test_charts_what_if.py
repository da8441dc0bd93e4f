"""The drawing of a what-if: everything stands where it should, and says itself in words and as a table."""

from __future__ import annotations

import pytest
from proofyard.charts.axes import LEFT, RIGHT
from proofyard.charts.curves import CurveMark
from proofyard.charts.figure import Figure
from proofyard.charts.what_if_curve import Asked, draw_what_if

from tests.charts.marks_of import ends, having, paths, said, texts

ENERGIES = [40.0 + 2 * n for n in range(41)]
CHANCES = [(energy / 80) ** 8 / (1 + (energy / 80) ** 8) for energy in ENERGIES]
MARKS = [CurveMark("A1", "/shots/a", 60.0, False), CurveMark("A2", "/shots/b", 100.0, True)]
THINNER = Asked("A", "P1 at 1 mm", 60.0, 66.0, 50.0, 78.0, True)
AS_IT_IS = Asked("A", "P1 as it is", 80.0, 80.0, 70.0, None, False)


def draw(*asked: Asked, marks: list[CurveMark] | None = None, curve: bool = True) -> Figure:
    return draw_what_if(
        "P1",
        MARKS if marks is None else marks,
        curve=(ENERGIES, CHANCES) if curve else None,
        asked=asked,
        shot_j=(60.0, 100.0) if curve else None,
        unit="J",
        words="Two shots.",
    )


def bars(found: Figure) -> list[tuple[float, float]]:
    """Each answer's thick bar."""
    return [ends(bar) for bar in paths(found, "chart__bar")]


def wholes(found: Figure) -> list[tuple[float, float, float]]:
    """Each answer's thin bar: from where to where, and its height."""
    level = [line for line in paths(found, "chart__axis")[1:] if line[0][1] == line[1][1]]
    return [(*ends(line), line[0][1]) for line in level]


def caps(found: Figure) -> list[float]:
    """Where a thin bar has an end."""
    heights = {round(height - 5, 1) for *_, height in wholes(found)}
    return [line[0][0] for line in paths(found, "chart__axis") if line[0][1] in heights and line[0][0] == line[1][0]]


def test_shots_stand_above_when_through_and_below_when_held_and_lead_to_themselves() -> None:
    held, through = said(draw(THINNER))
    (held_at,), (through_at,) = paths(held, "chart__stroke"), paths(through, "chart__stroke")
    assert held_at[0][1] > through_at[0][1] and held_at[0][0] < through_at[0][0]
    assert (held.href, held.words) == ("/shots/a", "A1: 60\N{NO-BREAK SPACE}J, was held") and "got through" in through.words


def test_the_shots_own_curve_is_solid_where_shots_were_and_dashed_beyond() -> None:
    found = draw(THINNER)
    (solid,) = paths(found, "chart__trace")
    assert solid[0][0] == pytest.approx(found.x(60.0), abs=1) and solid[-1][0] == pytest.approx(found.x(100.0), abs=1)
    assert len(paths(found, "chart__beyond")) == 2
    assert solid == sorted(solid) and [y for _, y in solid] == sorted((y for _, y in solid), reverse=True)


def test_the_moved_curves_pass_the_fifty_percent_energy_at_the_ends_of_the_bar() -> None:
    found = draw(THINNER)
    moved = paths(found, "chart__moved--a")
    for path, end in zip(moved, (60.0, 66.0), strict=True):
        nearest = min(path, key=lambda spot: abs(spot[1] - found.y(0.5)))
        assert nearest[0] == pytest.approx(found.x(end), abs=6)
    (bar,), (whole,) = bars(found), wholes(found)
    assert bar == (pytest.approx(found.x(60.0), abs=0.1), pytest.approx(found.x(66.0), abs=0.1))
    assert whole[0] < bar[0] <= bar[1] < whole[1] and caps(found) == [whole[0], whole[1]]
    (area,) = having(found, "chart__band")
    assert area.d.endswith("Z") and "Grey: the curve after the change." in found.key


def test_curves_that_leave_the_drawing_are_cut_at_its_side() -> None:
    moved = paths(draw(Asked("A", "P1 at 1 mm", 60.0, 95.0, 50.0, 110.0, True)), "chart__moved")
    low, high = ends(spot for path in moved for spot in path)
    assert low >= LEFT - 0.1 and high <= RIGHT + 0.1
    assert moved[1][-1][0] == pytest.approx(RIGHT, abs=0.1)  # the other ends inside, where its energies end


def test_an_unbounded_end_goes_to_the_edge_and_is_called_open() -> None:
    found = draw(AS_IT_IS)
    ((low, high, _),) = wholes(found)
    assert caps(found) == [low] and high == RIGHT
    assert having(found, "chart__moved") == [] and having(found, "chart__band") == [] and "Grey" not in found.key
    assert found.rows == (("A: P1 as it is", "70", "not bounded", "80", "80"),)


def test_a_far_off_end_does_not_press_the_rest_together() -> None:
    near, far = draw(THINNER), draw(Asked("A", "P1 at 1 mm", 60.0, 66.0, 50.0, 9000.0, True))
    assert far.x(66.0) - far.x(60.0) == pytest.approx(near.x(66.0) - near.x(60.0), rel=0.5)
    assert caps(far) == [wholes(far)[0][0]]


def test_two_answers_do_not_lie_on_each_other() -> None:
    found = draw(THINNER, Asked("B", "P1 at 2 mm", 120.0, 160.0, 100.0, 190.0, True))
    (*_, first), (*_, second) = wholes(found)
    assert abs(first - second) >= 12 and [one.text for one in texts(found, "chart__count")] == ["A", "B"]
    assert texts(draw(THINNER), "chart__count") == [], "one answer needs no letter"


def test_without_shots_only_the_ranges_are_drawn() -> None:
    found = draw(Asked("A", "Bare", 40.0, 118.0, 40.0, 118.0, False), marks=[], curve=False)
    assert having(found, "chart__trace") == [] and having(found, "chart__beyond") == [] and said(found) == []
    assert bars(found)[0][0] < bars(found)[0][1] and "all that is published" in found.key


def test_nothing_asked_is_nothing_to_draw() -> None:
    with pytest.raises(ValueError, match="nothing to draw"):
        draw()


def test_units_are_the_readers() -> None:
    found = draw_what_if("P1", MARKS, curve=None, asked=[THINNER], shot_j=None, unit="ft·lbf", words="")
    assert "Energy, ft·lbf" in [one.text for one in texts(found)]
    assert found.rows[0][3] == "44" and "74\N{NO-BREAK SPACE}ft·lbf" in said(found)[1].words
