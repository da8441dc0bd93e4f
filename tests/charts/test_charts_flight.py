"""The drawing of a flight: it goes down, its band holds the line, and it says itself in words."""

from __future__ import annotations

import pytest
from proofyard.charts.flight import BOTTOM, LEFT, RIGHT, TOP, Along, draw_flight
from proofyard.quantities import Uncertain

from tests.charts.marks_of import having, paths, texts

FLIGHT = [Along(2.0, Uncertain(100.2, 1.2)), Along(8.0, Uncertain(99.2, 1.3)), Along(14.0, Uncertain(98.3, 1.4))]


def test_the_line_falls_from_chronograph_to_panel_inside_its_band() -> None:
    drawn = draw_flight("A8", FLIGHT, reader="metric", air_words="")
    (line,), (band,) = paths(drawn, "chart__path"), paths(drawn, "chart__band")
    assert [x for x, _ in line] == [LEFT, pytest.approx((LEFT + RIGHT) / 2), RIGHT]
    heights = [y for _, y in line]
    assert heights == sorted(heights)
    upper, lower = band[:3], band[:2:-1]
    for (x, y), (x_up, up), (x_low, low) in zip(line, upper, lower, strict=True):
        assert x == x_up == x_low and up < y < low
    assert min(y for _, y in band) == pytest.approx(TOP, abs=0.1) and max(y for _, y in band) == pytest.approx(BOTTOM, abs=0.1)


def test_it_says_itself_in_the_readers_units() -> None:
    drawn = draw_flight("A8", FLIGHT, reader="metric", air_words="12 m of air.")
    said = drawn.words.replace("\N{NO-BREAK SPACE}", " ")
    assert said == (
        "From 100.2 J ± 1.2 at the chronograph, 2 m from the bow, to 98.3 J ± 1.4 at the panel, 14 m from it. 12 m of air. "
        "The band is one standard uncertainty either way."
    )
    assert "12 m of air: −1.9 J" in [one.text.replace("\N{NO-BREAK SPACE}", " ") for one in texts(drawn)]
    assert "ft·lbf" in draw_flight("A8", FLIGHT, reader="archery", air_words="").words


def test_without_an_uncertainty_there_is_no_band_and_that_is_said() -> None:
    plain = [Along(one.at_m, Uncertain(one.energy.value, None)) for one in FLIGHT]
    drawn = draw_flight("A8", plain, reader="metric", air_words="")
    assert having(drawn, "chart__band") == [] and "The uncertainty is not known" in drawn.words


def test_a_loss_of_next_to_nothing_is_drawn_as_next_to_level() -> None:
    flat = [Along(0.0, Uncertain(100.0, None)), Along(1.0, Uncertain(99.999, None))]
    ((_, left), (_, right)) = paths(draw_flight("A8", flat, reader="metric", air_words=""), "chart__path")[0]
    assert abs(left - right) < 1


@pytest.mark.parametrize("along", [FLIGHT[:1], [], list(reversed(FLIGHT)), [FLIGHT[0], FLIGHT[0]]])
def test_a_flight_goes_somewhere(along: list[Along]) -> None:
    with pytest.raises(ValueError, match="two places"):
        draw_flight("A8", along, reader="metric", air_words="")
