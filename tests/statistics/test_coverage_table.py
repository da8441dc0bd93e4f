"""The table of the guide: how often the range of the 50 % point holds the true one. Its figures, and whether they still follow."""

from __future__ import annotations

import pytest

from tests.bench.coverage_of_the_half import cell
from tests.make_coverage_table import GUIDE, TABLES, figures, filled_in, table

# Least and most that the range may hold the true point, by number of shots; what is open counts as holding it.
WANTED = {"10": (0.94, 1.00), "20": (0.93, 0.995), "40": (0.93, 0.99)}


def test_the_guide_holds_the_figures_that_were_simulated() -> None:
    text = GUIDE.read_text(encoding="utf-8")
    assert filled_in(text, figures()) == text, "run tests/make_coverage_table.py"
    for name in TABLES:
        assert table(name, figures()).count("\n") == 1 + 9, "three sizes, three slopes"


def test_with_energies_set_beforehand_the_range_holds_as_often_as_it_should() -> None:
    even = [one for one in figures() if one["energies"] == "even"]
    assert len(even) == 9 and all(int(one["runs"]) >= 1000 for one in even)
    for one in even:
        low, high = WANTED[one["shots"]]
        assert low <= float(one["coverage"]) <= high, one
        assert float(one["bounded coverage"]) >= 0.93, one


def test_where_it_is_weak_the_guide_says_so_with_its_own_figure() -> None:
    weak = min(figures(), key=lambda one: float(one["bounded coverage"]))
    assert (weak["energies"], weak["shots"], weak["slope"]) == ("up and down", "10", "4")
    assert f"{100 * float(weak['bounded coverage']):.0f} in 100 at ten shots and a slope of 4" in GUIDE.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("way", "shots", "slope"), [("even", 10, 16), pytest.param("up and down", 10, 8, marks=pytest.mark.long)]
)
def test_a_corner_of_the_table_comes_out_again(way: str, shots: int, slope: int) -> None:
    """All runs of one cell, from the same lots: a curve that is fitted in another way shows here."""
    stored = next(one for one in figures() if (one["energies"], one["shots"], one["slope"]) == (way, str(shots), str(slope)))
    ours, plain = cell(shots, slope, runs=int(stored["runs"]), seed=100 * shots + slope, way=way)
    for column, found in (
        ("coverage", ours.coverage), ("unbounded", ours.unbounded), ("bounded coverage", ours.bounded_coverage),
        ("median width", ours.median_width), ("plain coverage", plain.coverage), ("plain unbounded", plain.unbounded),
        ("plain bounded coverage", plain.bounded_coverage), ("plain median width", plain.median_width),
    ):  # fmt: skip
        # The last digit of a float may tip a run or two.
        assert found == pytest.approx(float(stored[column]), abs=0.004), column
