"""The guide to protection for weight worked again: each of its figures follows from the functions, and it leaves none out.

Its figures are those of an independent computation (test_weight_life_and_measures.py names it).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from proofyard.pages.home.guide import read_page
from proofyard.settings import data_folder
from proofyard.statistics.energy_for_weight import EnergyEnds, EnergyForExtraWeight, Weight, energy_for_extra_weight, energy_for_weight

PAGE = data_folder("static") / "guide" / "protection.md"
TEXT = PAGE.read_text(encoding="utf-8")
HELD = Path(__file__).resolve().parents[1] / "bench" / "weight_and_life.csv"


def tables() -> list[list[tuple[str, ...]]]:
    return [[tuple(row) for row in block.rows] for block in read_page(PAGE).blocks if block.sort == "table"]


def panels() -> dict[str, tuple[EnergyEnds, Weight]]:
    """The two of the first table, as the page gives them."""
    made = {}
    for name, *figures in tables()[0][1:]:
        energy, low, high, weight, u = (float(one) for one in figures)
        made[name] = EnergyEnds(energy, low, high), Weight(weight, u)
    return made


def test_energy_for_weight_follows() -> None:
    for name, *figures in tables()[1][1:]:
        energy, weight = panels()[name]
        found = energy_for_weight(energy, weight)
        assert [f"{one:.3f}" for one in (found.value, found.low or 0, found.high or 0)] == figures, name


def test_the_difference_follows_and_is_not_shown() -> None:
    light, heavy = panels().values()
    extra = Weight(heavy[1].kg_m2 - light[1].kg_m2, 0.36)
    found = energy_for_extra_weight(light[0], heavy[0], extra=extra)
    assert isinstance(found, EnergyForExtraWeight) and not found.shown
    printed = [row[1].removesuffix(" J").replace("−", "-") for row in tables()[2][1:]]
    assert printed == [f"{one:.1f}" for one in (found.difference_j, found.difference_low_j, found.difference_high_j)]


def test_an_extra_kilogram_follows() -> None:
    found = energy_for_extra_weight(EnergyEnds(60, 55, 66), EnergyEnds(95, 88, 104), extra=Weight(4.3, 0.36))
    assert isinstance(found, EnergyForExtraWeight)
    assert [row[1] for row in tables()[3][1:]] == [f"{one:.3f}" for one in (found.value, found.low, found.high)]
    assert f"The difference is {found.difference_j:.0f} J, from {found.difference_low_j:.1f} to {found.difference_high_j:.1f} J" in TEXT
    assert "60 J (55 to 66) and 95 J (88 to 104), and the heavier weighs 4.3 kg/m² more, with a standard uncertainty of 0.36" in TEXT


def test_no_step_by_hand_is_left_unchecked() -> None:
    import math

    down, of_weight = math.log(75.4 / 63.0), 1.96 * 0.2 / 13.6
    for figure in (f"{down:.4f}", f"{of_weight:.4f}", f"{math.hypot(down, of_weight):.4f}", f"{math.hypot(18.9, 14.9):.2f}"):
        assert figure in TEXT, figure


@pytest.mark.parametrize(("kind", "words"), [("energy for weight", "held the true value in {} %"), ("energy for extra weight", "in {} %.")])
def test_no_share_of_the_bench_is_left_unchecked(kind: str, words: str) -> None:
    with HELD.open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["what"] == kind]
    told = sum(int(row["told"]) for row in rows)
    held = sum(float(row["holds"]) * int(row["told"]) for row in rows)
    assert words.format(f"{100 * held / told:.1f}") in TEXT


def test_no_figure_of_a_table_is_left_unchecked() -> None:
    assert [len(table) for table in tables()] == [3, 3, 4, 4], "a new row needs a test of its own"
