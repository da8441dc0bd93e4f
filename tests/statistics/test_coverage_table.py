"""The table of the guide: how often the range of the 50 % point holds the true one. Its figures, and whether they still follow."""

from __future__ import annotations

import pytest
from proofyard.wording.reasons.fifty_percent import ONE_SIDED_MEANS

from tests.bench.coverage_of_fifty_percent import TRUTHS, cell, truth_cell
from tests.make_coverage_table import GUIDE, TABLES, TRUTH_FIGURES, figures, filled_in, table

# Least and most that the range may hold the true point, by number of shots; what is open counts as holding it.
WANTED = {"10": (0.96, 1.00), "20": (0.96, 0.995), "40": (0.96, 0.99)}


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
        assert float(one["bounded coverage"]) >= 0.96, one


def test_where_it_is_weak_the_guide_says_so_with_its_own_figure() -> None:
    weak = min((one for one in figures() if one["bounded coverage"] != "nan"), key=lambda one: float(one["bounded coverage"]))
    assert (weak["energies"], weak["shots"], weak["slope"]) == ("up and down", "20", "4")
    assert f"{100 * float(weak['bounded coverage']):.0f} in 100 at 20 shots and a slope of 4" in GUIDE.read_text(encoding="utf-8")


def test_under_twenty_shots_at_chosen_energies_there_is_no_estimate() -> None:
    few = [one for one in figures() if one["energies"] == "up and down" and one["shots"] == "10"]
    assert len(few) == 3 and all(float(one["not placed"]) == 1 for one in few)


def test_a_corner_of_the_table_comes_out_about_the_same_from_its_first_runs() -> None:
    """A tenth of the runs of one cell, within four standard deviations of so many. All of them come out again with --long."""
    stored = next(one for one in figures() if (one["energies"], one["shots"], one["slope"]) == ("even", "10", "16"))
    runs = int(stored["runs"]) // 10
    ours, plain = cell(10, 16, runs=runs, seed=100 * 10 + 16, way="even")
    for column, found in (
        ("coverage", ours.coverage),
        ("unbounded", ours.unbounded),
        ("plain coverage", plain.coverage),
        ("plain unbounded", plain.unbounded),
    ):
        share = float(stored[column])
        assert found == pytest.approx(share, abs=4 * (share * (1 - share) / runs) ** 0.5), column


@pytest.mark.long
@pytest.mark.parametrize(("way", "shots", "slope"), [("even", 10, 16), ("up and down", 10, 8)])
def test_a_corner_of_the_table_comes_out_again(way: str, shots: int, slope: int) -> None:
    """All runs of one cell, from the same lots: a curve that is fitted in another way shows here."""
    stored = next(one for one in figures() if (one["energies"], one["shots"], one["slope"]) == (way, str(shots), str(slope)))
    ours, plain = cell(shots, slope, runs=int(stored["runs"]), seed=100 * shots + slope, way=way)
    for column, found in (
        ("coverage", ours.coverage),
        ("unbounded", ours.unbounded),
        ("bounded coverage", ours.bounded_coverage),
        ("median width", ours.median_width),
        ("plain coverage", plain.coverage),
        ("plain unbounded", plain.unbounded),
        ("plain bounded coverage", plain.bounded_coverage),
        ("plain median width", plain.median_width),
    ):
        # The last digit of a float may tip a run or two.
        assert found == pytest.approx(float(stored[column]), abs=0.004, nan_ok=True), column


def test_ranges_open_on_one_side_stand_in_a_column_of_their_own_and_the_words_agree_with_it() -> None:
    text = GUIDE.read_text(encoding="utf-8")
    assert all("One side open: holds, %" in table(name, figures()) for name in TABLES)
    off = [one for one in figures(TRUTH_FIGURES) if one["truth"] == "off the middle"]
    held = sum(float(one["one-sided coverage"]) * float(one["one-sided"]) for one in off) / sum(float(one["one-sided"]) for one in off)
    assert len(off) == 6 and held == pytest.approx(0.985, abs=0.01)
    assert "about 98 of 100 cases" in text and "about 98 of 100 cases" in ONE_SIDED_MEANS
    slow = [one for one in figures() if one["energies"] == "even" and one["slope"] == "4" and one["shots"] in ("10", "20")]
    pooled = sum(float(one["one-sided coverage"]) * float(one["one-sided"]) for one in slow) / sum(float(one["one-sided"]) for one in slow)
    assert pooled == pytest.approx(7 / 8, abs=0.03) and "in about 7 of 8" in text and "in about 7 of 8" in ONE_SIDED_MEANS


def test_a_skewed_truth_is_held_less_often_and_misses_on_one_side_as_the_guide_says() -> None:
    skewed = [one for one in figures(TRUTH_FIGURES) if one["truth"] in ("complementary log-log", "its mirror")]
    assert len(skewed) == 2 and "95 to 96 times in 100" in GUIDE.read_text(encoding="utf-8")
    for one in skewed:
        sides = sorted((float(one["too high"]), float(one["too low"])))
        assert 0.95 <= float(one["coverage"]) < 0.965 and sides[1] > 5 * sides[0], one


@pytest.mark.long
@pytest.mark.parametrize(("truth", "shots", "slope"), [TRUTHS[0], TRUTHS[-1]])
def test_a_row_of_the_other_truths_comes_out_again(truth: str, shots: int, slope: int) -> None:
    stored = next(one for one in figures(TRUTH_FIGURES) if (one["truth"], one["shots"], one["slope"]) == (truth, str(shots), str(slope)))
    found = truth_cell(truth, shots, slope, runs=int(stored["runs"]), seed=7000 + 100 * shots + slope)
    assert (found.coverage, found.too_high / found.runs) == pytest.approx((float(stored["coverage"]), float(stored["too high"])), abs=0.004)
