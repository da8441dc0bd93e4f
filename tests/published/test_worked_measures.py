"""The guide to measures worked again: each of its figures follows from the functions, and it leaves none out.

The five heads and their correlations are those of an independent computation (test_weight_life_and_measures.py names it).
"""

from __future__ import annotations

import math

from proofyard.pages.home.guide import read_page
from proofyard.settings import data_folder
from proofyard.statistics.which_measure import MeasuresFound, measures_by_correlation

PAGE = data_folder("static") / "guide" / "measures.md"
TEXT = PAGE.read_text(encoding="utf-8")


def tables() -> list[list[tuple[str, ...]]]:
    return [[tuple(row) for row in block.rows] for block in read_page(PAGE).blocks if block.sort == "table"]


def test_the_correlations_and_the_chance_follow() -> None:
    heads = tables()[1][1:]
    energies = [math.log(float(row[1])) for row in heads]
    first, second = ([float(row[place]) for row in heads] for place in (2, 3))
    both = measures_by_correlation({"first": first, "second": second}, energies)
    alone = measures_by_correlation({"first": first}, energies)
    assert isinstance(both, MeasuresFound) and isinstance(alone, MeasuresFound) and alone.found[0].p is not None
    printed = [f"{one.strength or 0:.4f}" for one in both.found]
    assert f"The correlations are {printed[0]} and {printed[1]}." in TEXT
    assert f"1 of 120 is {alone.found[0].p:.5f}" in TEXT


def test_no_order_by_luck_is_left_unchecked() -> None:
    for heads, orders, chance in tables()[0][1:]:
        assert int(orders) == math.factorial(int(heads))
        assert f"{200 / int(orders):.1f}" == chance
    assert [len(table) for table in tables()] == [4, 6], "a new row needs a test of its own"
