"""Force against draw and speed against mass: every mark at its own numbers, in the reader's units, told in words."""

from __future__ import annotations

import itertools
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.charts.force_draw import draw_force_draw
from server.charts.speed_by_mass import ArrowMark, FitPoint, draw_speed_by_mass
from server.charts.text_room import text_width
from server.charts.two_axes import BOTTOM, LEFT, RIGHT, TICK_SIZE, TOP, Frame, frame_of
from server.quantities import Uncertain, from_si, to_si

DRAWS = [0.16, 0.30, 0.45, 0.60, 0.75]
FORCES = [0.0, 150.0, 260.0, 360.0, 480.0]


def numbers(path: str) -> list[tuple[float, float]]:
    found = [float(one) for one in re.findall(r"-?[\d.]+", path)]
    return list(zip(found[::2], found[1::2], strict=True))


def curve(**more):
    given = {"draw_unit": "mm", "force_unit": "N", "energy_words": "It stores 90 J.", **more}
    return draw_force_draw("Ash bow", DRAWS, FORCES, **given)


@pytest.mark.parametrize(("draw_unit", "force_unit"), [("mm", "N"), ("in", "lbf")])
def test_a_point_stands_at_its_draw_and_force_whatever_the_units(draw_unit: str, force_unit: str) -> None:
    drawn = curve(draw_unit=draw_unit, force_unit=force_unit)
    for point, draw, force in zip(drawn.points, DRAWS, FORCES, strict=True):
        assert drawn.frame.x.back(point.x) == pytest.approx(draw, abs=0.001)
        assert drawn.frame.y.back(point.y) == pytest.approx(force, abs=2)
    for tick in drawn.frame.x_ticks:
        assert from_si(drawn.frame.x.back(tick.at), draw_unit) == pytest.approx(float(tick.text), rel=0.01)


def test_the_area_ends_at_the_draw_that_is_asked_for_and_stands_on_no_force() -> None:
    drawn = curve(up_to_m=0.70)
    corners = numbers(drawn.area)
    assert max(x for x, _ in corners) == pytest.approx(drawn.frame.x(0.70), abs=0.1) and drawn.mark_x == corners[-1][0]
    assert corners[0][1] == corners[-1][1] == pytest.approx(drawn.frame.y(0), abs=0.1)
    # 360 + 120 x 10/15 = 440 N at 0.70 m, straight between the points
    assert drawn.frame.y.back(corners[-2][1]) == pytest.approx(440, abs=2)
    assert curve().mark_x is None and max(x for x, _ in numbers(curve().area)) == curve().points[-1].x


def test_the_curve_is_told_in_words_and_as_a_table() -> None:
    drawn = curve(rest_taken=True)
    assert "5 points" in drawn.words and "It stores 90 J." in drawn.words
    assert drawn.rows[0] == ("160", "0", "brace height, no force") and drawn.rows[-1] == ("750", "480", "read")
    assert [point.taken for point in drawn.points] == [True, False, False, False, False]


def test_a_curve_of_one_point_is_no_curve() -> None:
    with pytest.raises(ValueError, match="two points"):
        draw_force_draw("x", [0.1], [0.0], draw_unit="mm", force_unit="N", energy_words="")


ARROWS = [
    ArrowMark("Arrow 1", "/pairings/1", 0.045, Uncertain(58.0, 0.4, 5.0, 4), 4),
    ArrowMark("Arrow 2", "/pairings/2", 0.060, Uncertain(52.0, None, None, 1), 1),
]
FIT = [FitPoint(m / 1000, 90 - 0.7 * m, 0.5, 45 <= m <= 60) for m in range(36, 73, 3)]


def speeds(arrows=ARROWS, fit=FIT, **more):
    return draw_speed_by_mass("Ash bow", arrows, fit, **{"mass_unit": "g", "speed_unit": "m/s", "fit_words": "K is 12 g.", **more})


def test_arrows_stand_at_their_mass_and_speed_with_their_doubt_as_a_bar() -> None:
    drawn = speeds()
    first, second = drawn.arrows
    assert drawn.frame.x.back(first.x) == pytest.approx(0.045, abs=2e-5)
    assert drawn.frame.y.back(first.y) == pytest.approx(58.0, abs=0.1)
    assert first.bar is not None and [drawn.frame.y.back(y) for y in first.bar] == pytest.approx([58.4, 57.6], abs=0.1)
    assert second.bar is None and "1 reading" in second.words and "±" not in second.words


def test_the_line_is_whole_inside_what_was_shot_and_parted_from_it_outside() -> None:
    drawn = speeds()
    line = numbers(drawn.line)
    assert drawn.frame.x.back(line[0][0]) == pytest.approx(0.045, abs=1e-4)
    assert drawn.frame.x.back(line[-1][0]) == pytest.approx(0.060, abs=1e-4)
    before, after = map(numbers, drawn.beyond)
    assert before[-1] == line[0] and after[0] == line[-1]
    assert before[0][0] < line[0][0] and after[-1][0] > line[-1][0]


def test_without_a_line_the_arrows_are_still_drawn_and_the_reason_is_told() -> None:
    drawn = speeds(fit=[], fit_words="The arrows are too alike.")
    assert drawn.line == "" and drawn.beyond == () and drawn.reach == "" and len(drawn.arrows) == 2
    assert "The arrows are too alike." in drawn.words


def test_the_arrow_that_is_asked_about_says_whether_it_is_inside() -> None:
    inside = speeds(asked=(0.05, Uncertain(55.0, 0.5), True))
    outside = speeds(asked=(0.08, Uncertain(35.0, 2.0), False))
    assert inside.asked_inside and inside.asked is not None and "inside the masses" in inside.asked.words
    assert not outside.asked_inside and outside.asked is not None and "outside the masses" in outside.asked.words
    assert LEFT <= outside.asked.x <= RIGHT and TOP <= outside.asked.y <= BOTTOM


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(ValueError, match="without an arrow"):
        speeds(arrows=[])


def apart(frame: Frame) -> bool:
    spans = [(t.at - text_width(t.text, TICK_SIZE) / 2, t.at + text_width(t.text, TICK_SIZE) / 2) for t in frame.x_ticks]
    return all(a[1] <= b[0] for a, b in itertools.pairwise(spans))


@given(
    st.lists(st.floats(0.005, 0.5), min_size=1, max_size=12), st.lists(st.floats(0.1, 150.0), min_size=1, max_size=12),
    st.sampled_from([("g", "m/s"), ("gr", "ft/s")]),
)  # fmt: skip
def test_every_value_lies_in_the_frame_and_no_number_touches_another(masses, values, units) -> None:
    frame = frame_of(masses, values, x_name="Mass", y_name="Speed", x_unit=units[0], y_unit=units[1])
    for mass in masses:
        assert LEFT - 0.1 <= frame.x(mass) <= RIGHT + 0.1
    for value in values:
        assert TOP - 0.1 <= frame.y(value) <= BOTTOM + 0.1
    assert frame.x_ticks and len(frame.y_ticks) >= 2 and apart(frame)
    assert all(math.isfinite(tick.at) for tick in (*frame.x_ticks, *frame.y_ticks))


def test_axes_name_their_units() -> None:
    frame = frame_of([0.05, 0.06], [50.0, 55.0], x_name="Arrow mass", y_name="Speed", x_unit="gr", y_unit="ft/s")
    assert (frame.x_name, frame.y_name) == ("Arrow mass, gr", "Speed, ft/s")
    assert frame.x(to_si(800, "gr")) < frame.x(to_si(900, "gr"))
