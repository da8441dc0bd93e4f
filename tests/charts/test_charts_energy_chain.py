"""The drawing of one range from the bow to the armour: the band runs down all rows, each bar stands where its energies are."""

from __future__ import annotations

import pytest
from proofyard.charts.energy_chain import LEFT, RIGHT, EnergyRow, draw_energy_chain
from proofyard.charts.figure import Figure

from tests.charts.marks_of import dots, having, rects, said

WAY = EnergyRow("At 30 m", "118 J", "118 J (101 to 139)", 118.0, 101.0, 139.0, way=True)
NEEDLE = EnergyRow("Needle", "30 % or more", "83 %", 98.0, 77.0, 139.0, heading="Plate", href="/fifty-percent")
OPEN = EnergyRow("Leaf", "20 % or more", "not bounded", 90.0, 40.0, None, heading="Plate")
NONE = EnergyRow("Barbed", "not known", "not known", None, None, None, heading="Plate")


def draw(*rows: EnergyRow) -> Figure:
    return draw_energy_chain(
        "Chain", rows, band_j=(101.0, 118.0, 139.0), unit="J", words="So it is.", columns=("Head", "Share"), table=[("Needle", "83 %")]
    )


def test_the_band_stands_at_the_energys_ends_and_runs_down_all_rows() -> None:
    figure = draw(WAY, NEEDLE, OPEN, NONE)
    assert figure.x is not None
    (band,) = rects(figure, "chart__band")
    assert (band.x, band.x + band.width) == pytest.approx((figure.x(101.0), figure.x(139.0)), abs=0.2)
    assert band.y == 0 and band.height > max(dot.y for dot in dots(figure))


def test_a_dot_stands_at_each_50_percent_energy_and_none_where_there_is_none() -> None:
    figure = draw(WAY, NEEDLE, OPEN, NONE)
    assert figure.x is not None
    assert [dot.x for dot in dots(figure)] == pytest.approx([figure.x(98.0), figure.x(90.0)], abs=0.1)
    assert len(said(figure)) == 4 and said(figure)[1].href == "/fifty-percent"
    assert "Plate, Barbed: not known" in said(figure)[3].words


def test_an_open_side_runs_to_the_edge_and_everything_stays_inside() -> None:
    figure = draw(WAY, OPEN)
    lines = [mark.d for mark in having(figure, "chart__axis") if hasattr(mark, "d")]
    assert any(f"L{RIGHT:g} " in d for d in lines)
    assert all(LEFT <= dot.x <= RIGHT for dot in dots(figure))


def test_nothing_to_draw_is_refused() -> None:
    with pytest.raises(ValueError):
        draw()
