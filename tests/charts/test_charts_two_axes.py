"""Force against draw and speed against mass: every mark at its own numbers, in the reader's units, told in words."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.charts.axes import BOTTOM, LEFT, RIGHT, TOP, Frame, frame_of
from proofyard.charts.figure import TEXT, Figure, Group
from proofyard.charts.force_draw import draw_force_draw
from proofyard.charts.speed_by_mass import ArrowMark, FitPoint, draw_speed_by_mass
from proofyard.charts.text_room import text_width
from proofyard.quantities import Uncertain, from_si, to_si

from tests.charts.marks_of import dots, having, paths, said, texts

DRAWS = [0.16, 0.30, 0.45, 0.60, 0.75]
FORCES = [0.0, 150.0, 260.0, 360.0, 480.0]


def curve(**more: Any) -> Any:
    given = {"draw_unit": "mm", "force_unit": "N", "energy_words": "It stores 90 J.", **more}
    return draw_force_draw("Ash bow", DRAWS, FORCES, **given)


@pytest.mark.parametrize(("draw_unit", "force_unit"), [("mm", "N"), ("in", "lbf")])
def test_a_point_stands_at_its_draw_and_force_whatever_the_units(draw_unit: str, force_unit: str) -> None:
    drawn = curve(draw_unit=draw_unit, force_unit=force_unit)
    for point, draw, force in zip(dots(drawn), DRAWS, FORCES, strict=True):
        assert drawn.x.back(point.x) == pytest.approx(draw, abs=0.001)
        assert drawn.y.back(point.y) == pytest.approx(force, abs=2)
    ticks = [one for one in texts(drawn) if one.anchor == "middle"]
    assert len(ticks) > 2
    for tick in ticks:
        assert from_si(drawn.x.back(tick.x), draw_unit) == pytest.approx(float(tick.text), rel=0.01)


def test_the_area_ends_at_the_draw_that_is_asked_for_and_stands_on_no_force() -> None:
    drawn = curve(up_to_m=0.70)
    (corners,), (upright,) = paths(drawn, "chart__band"), paths(drawn, "chart__upto")
    *_, top, right, left = corners
    assert max(x for x, _ in corners) == pytest.approx(drawn.x(0.70), abs=0.1) and upright[0][0] == right[0] == top[0]
    assert left[1] == right[1] == pytest.approx(drawn.y(0), abs=0.1) and left[0] == corners[0][0]
    # 360 + 120 x 10/15 = 440 N at 0.70 m, straight between the points
    assert drawn.y.back(top[1]) == pytest.approx(440, abs=2)
    whole = curve()
    assert having(whole, "chart__upto") == [] and max(x for x, _ in paths(whole, "chart__band")[0]) == dots(whole)[-1].x
    assert "vertical line" in drawn.key and "vertical line" not in whole.key


def test_the_curve_is_told_in_words_and_as_a_table() -> None:
    drawn = curve(rest_taken=True)
    assert "5 points" in drawn.words and "It stores 90 J." in drawn.words
    assert drawn.rows[0] == ("160", "0", "brace height, no force") and drawn.rows[-1] == ("750", "480", "read")
    assert [bool(having(point, "chart__dot--open")) for point in said(drawn)] == [True, False, False, False, False]


def test_a_curve_of_one_point_is_no_curve() -> None:
    with pytest.raises(ValueError, match="two points"):
        draw_force_draw("x", [0.1], [0.0], draw_unit="mm", force_unit="N", energy_words="")


ARROWS = [
    ArrowMark("Arrow 1", "/combinations/1", 0.045, Uncertain(58.0, 0.4, 5.0, 4), 4),
    ArrowMark("Arrow 2", "/combinations/2", 0.060, Uncertain(52.0, None, None, 1), 1),
]
FIT = [FitPoint(m / 1000, 90 - 0.7 * m, 0.5, 45 <= m <= 60) for m in range(36, 73, 3)]


def arrows_of(drawn: Figure) -> list[Group]:
    return [one for one in said(drawn) if one.href]


def bars(one: Group) -> list[list[float]]:
    return [[y for _, y in bar] for bar in paths(one, "chart__axis")]


def speeds(arrows: Any = ARROWS, fit: Any = FIT, **more: Any) -> Any:
    return draw_speed_by_mass("Ash bow", arrows, fit, **{"mass_unit": "g", "speed_unit": "m/s", "fit_words": "K is 12 g.", **more})


def test_arrows_stand_at_their_mass_and_speed_with_their_uncertainty_as_a_bar() -> None:
    drawn = speeds()
    first, second = arrows_of(drawn)
    assert drawn.x.back(dots(first)[0].x) == pytest.approx(0.045, abs=2e-5)
    assert drawn.y.back(dots(first)[0].y) == pytest.approx(58.0, abs=0.1)
    assert [drawn.y.back(y) for y in bars(first)[0]] == pytest.approx([58.4, 57.6], abs=0.1)
    assert bars(second) == [] and "1 reading" in second.words and "±" not in second.words
    assert (first.href, second.href) == ("/combinations/1", "/combinations/2")


def test_the_line_is_whole_inside_what_was_shot_and_parted_from_it_outside() -> None:
    drawn = speeds()
    (line,), (before, after) = paths(drawn, "chart__trace"), paths(drawn, "chart__beyond")
    assert drawn.x.back(line[0][0]) == pytest.approx(0.045, abs=1e-4)
    assert drawn.x.back(line[-1][0]) == pytest.approx(0.060, abs=1e-4)
    assert before[-1] == line[0] and after[0] == line[-1]
    assert before[0][0] < line[0][0] and after[-1][0] > line[-1][0]
    assert having(drawn, "chart__band") and "The line is" in drawn.key


def test_without_a_line_the_arrows_are_still_drawn_and_the_reason_is_told() -> None:
    drawn = speeds(fit=[], fit_words="The arrows are too alike.")
    assert [having(drawn, look) for look in ("chart__trace", "chart__beyond", "chart__band")] == [[], [], []] and len(arrows_of(drawn)) == 2
    assert "The arrows are too alike." in drawn.words and "The line is" not in drawn.key


def test_the_arrow_that_is_asked_about_says_whether_it_is_inside() -> None:
    inside = speeds(asked=(0.05, Uncertain(55.0, 0.5), True))
    outside = speeds(asked=(0.08, Uncertain(35.0, 2.0), False))
    assert "inside the masses" in said(inside)[-1].words and having(inside, "chart__asked--outside") == []
    assert "outside the masses" in said(outside)[-1].words
    (diamond,) = having(outside, "chart__asked--outside")
    x, y = (float(one) for one in diamond.d[1:].split("l")[0].split())
    assert LEFT <= x + 7 <= RIGHT and TOP <= y <= BOTTOM


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="without an arrow"):
        speeds(arrows=[])


def apart(frame: Frame) -> bool:
    spans = [(at - text_width(text, TEXT) / 2, at + text_width(text, TEXT) / 2) for text, at in frame.x_ticks]
    return all(a[1] <= b[0] for a, b in itertools.pairwise(spans))


@given(
    st.lists(st.floats(0.005, 0.5), min_size=1, max_size=12),
    st.lists(st.floats(0.1, 150.0), min_size=1, max_size=12),
    st.sampled_from([("g", "m/s"), ("gr", "ft/s")]),
)
def test_every_value_lies_in_the_frame_and_no_number_touches_another(masses: Any, values: Any, units: Any) -> None:
    frame = frame_of(masses, values, x_name="Mass", y_name="Speed", x_unit=units[0], y_unit=units[1])
    for mass in masses:
        assert LEFT - 0.1 <= frame.x(mass) <= RIGHT + 0.1
    for value in values:
        assert TOP - 0.1 <= frame.y(value) <= BOTTOM + 0.1
    assert frame.x_ticks and len(frame.y_ticks) >= 2 and apart(frame)
    assert all(math.isfinite(at) for _, at in (*frame.x_ticks, *frame.y_ticks))


def test_axes_name_their_units() -> None:
    frame = frame_of([0.05, 0.06], [50.0, 55.0], x_name="Arrow mass", y_name="Speed", x_unit="gr", y_unit="ft/s")
    assert {"Arrow mass, gr", "Speed, ft/s"} <= {one.text for one in texts(frame.axes())}
    assert (frame.x_name, frame.y_name) == ("Arrow mass, gr", "Speed, ft/s")
    assert frame.x(to_si(800, "gr")) < frame.x(to_si(900, "gr"))
