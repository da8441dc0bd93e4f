"""How often the intervals of weight, life and several groups hold: the bench runs, and its stored table reaches what was asked."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest

from tests.bench.weight_and_life import HEADINGS, cells, measure, measured

TABLE = Path(__file__).with_name("weight_and_life.csv")
LEAST = 0.94  # of every kind, over its cells


def stored() -> list[dict[str, str]]:
    with TABLE.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_every_cell_is_measured() -> None:
    found = measure(3)
    assert [(one.what, one.of) for one in found] == [(what, of) for what, of, _ in cells()]
    assert all(0 <= one.held <= one.told <= one.runs == 3 for one in found)


def test_the_stored_table_has_every_cell_and_each_kind_holds() -> None:
    rows = stored()
    assert list(rows[0]) == list(HEADINGS)
    assert [(row["what"], row["of"]) for row in rows] == [(what, of) for what, of, _ in cells()]
    for kind in dict.fromkeys(row["what"] for row in rows):
        told = [int(row["told"]) for row in rows if row["what"] == kind]
        held = [float(row["holds"]) * int(row["told"]) for row in rows if row["what"] == kind]
        assert sum(held) / sum(told) >= LEAST, kind


@pytest.mark.long
def test_a_cell_of_each_kind_comes_out_about_the_same_again() -> None:
    """A fifth of the runs, within four standard deviations of so many."""
    rows = stored()
    every = list(cells())
    for kind in dict.fromkeys(row["what"] for row in rows):
        n = next(n for n, (what, _, _) in enumerate(every) if what == kind)
        what, of, run = every[n]
        found = measured(what, of, run, runs=max(1, int(rows[n]["runs"]) // 5), seed=9000 + n)
        holds = float(rows[n]["holds"])
        assert abs(found.holds - holds) <= 4 * math.sqrt(max(holds * (1 - holds), 0.01) / max(1, found.told)) + 0.005, of
