"""The picture of a what-if: everything stands where it should, and says itself in words and as a table."""

from __future__ import annotations

import re

import pytest

from server.charts.what_if_curve import Asked, Mark, WhatIfCurve, draw_what_if

ENERGIES = [40.0 + 2 * n for n in range(41)]
CHANCES = [(energy / 80) ** 8 / (1 + (energy / 80) ** 8) for energy in ENERGIES]
MARKS = [Mark("A1", "/shots/a", 60.0, False), Mark("A2", "/shots/b", 100.0, True)]
THINNER = Asked("A", "P1 at 1 mm", 60.0, 66.0, 50.0, 78.0, True)
AS_IT_IS = Asked("A", "P1 as it is", 80.0, 80.0, 70.0, None, False)


def draw(*asked: Asked, marks: list[Mark] | None = None, curve: bool = True) -> WhatIfCurve:
    return draw_what_if(
        "P1", MARKS if marks is None else marks, curve=(ENERGIES, CHANCES) if curve else None, asked=asked,
        shot_j=(60.0, 100.0) if curve else None, unit="J", words="Two shots.",
    )  # fmt: skip


def points(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", path)]


def test_shots_stand_above_when_through_and_below_when_held_and_lead_to_themselves() -> None:
    held, through = draw(THINNER).marks
    assert held.y > through.y and held.x < through.x
    assert (held.href, held.words) == ("/shots/a", "A1: 60\N{NO-BREAK SPACE}J, was held") and "got through" in through.words


def test_the_shots_own_curve_is_solid_where_shots_were_and_dashed_beyond() -> None:
    found = draw(THINNER)
    solid = points(found.line)
    assert solid[0][0] == pytest.approx(found.frame.x(60.0), abs=1) and solid[-1][0] == pytest.approx(found.frame.x(100.0), abs=1)
    assert len(found.beyond) == 2
    assert solid == sorted(solid) and [y for _, y in solid] == sorted((y for _, y in solid), reverse=True)


def test_the_moved_curves_pass_the_half_at_the_ends_of_the_bar() -> None:
    found = draw(THINNER)
    (one,) = found.asked
    for path, end in zip(one.curves, (60.0, 66.0), strict=True):
        nearest = min(points(path), key=lambda spot: abs(spot[1] - found.half_y))
        assert nearest[0] == pytest.approx(found.frame.x(end), abs=6)
    assert one.bar == (pytest.approx(found.frame.x(60.0), abs=0.1), pytest.approx(found.frame.x(66.0), abs=0.1))
    assert one.whole[0] < one.bar[0] <= one.bar[1] < one.whole[1]
    assert one.area.endswith("Z")


def test_curves_that_leave_the_picture_are_cut_at_its_side() -> None:
    found = draw(Asked("A", "P1 at 1 mm", 60.0, 95.0, 50.0, 110.0, True))
    (one,) = found.asked
    ends = [x for path in one.curves for x, _ in points(path)]
    assert min(ends) >= found.frame.left - 0.1 and max(ends) <= found.frame.right + 0.1
    assert points(one.curves[1])[-1][0] == pytest.approx(found.frame.right, abs=0.1)  # the other ends inside, where its energies end


def test_an_unbounded_end_goes_to_the_edge_and_is_called_open() -> None:
    (one,) = draw(AS_IT_IS).asked
    assert one.open_high and not one.open_low and one.whole[1] == draw(AS_IT_IS).frame.right
    assert not one.curves and not one.area
    assert draw(AS_IT_IS).rows == (("A: P1 as it is", "80", "80", "70", "not bounded"),)


def test_a_far_off_end_does_not_press_the_rest_together() -> None:
    near, far = draw(THINNER), draw(Asked("A", "P1 at 1 mm", 60.0, 66.0, 50.0, 9000.0, True))
    assert far.frame.x(66.0) - far.frame.x(60.0) == pytest.approx(near.frame.x(66.0) - near.frame.x(60.0), rel=0.5)
    assert far.asked[0].open_high


def test_two_answers_do_not_lie_on_each_other() -> None:
    first, second = draw(THINNER, Asked("B", "P1 at 2 mm", 120.0, 160.0, 100.0, 190.0, True)).asked
    assert abs(first.y - second.y) >= 12 and (first.letter, second.letter) == ("A", "B")


def test_without_shots_only_the_ranges_are_drawn() -> None:
    found = draw(Asked("A", "Bare", 40.0, 118.0, 40.0, 118.0, False), marks=[], curve=False)
    assert not found.line and not found.beyond and not found.marks and found.asked[0].bar[0] < found.asked[0].bar[1]


def test_nothing_asked_is_nothing_to_draw() -> None:
    with pytest.raises(ValueError, match="nothing to draw"):
        draw()


def test_units_are_the_readers() -> None:
    found = draw_what_if("P1", MARKS, curve=None, asked=[THINNER], shot_j=None, unit="ft·lbf", words="")
    assert found.frame.x_name == "Energy, ft·lbf" and found.rows[0][1] == "44" and "74\N{NO-BREAK SPACE}ft·lbf" in found.marks[1].words
