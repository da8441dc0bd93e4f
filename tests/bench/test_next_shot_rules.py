"""The simulated table of the guide to planning says what it must, and its benchmark runs."""

from __future__ import annotations

import math
import re

import pytest
from proofyard.settings import data_folder

from tests.bench import next_shot_rules as bench

TEXT = (data_folder("static") / "guide" / "planning.md").read_text(encoding="utf-8")


def rows(section: str) -> list[list[str]]:
    part = TEXT.split(f"## {section}\n")[1].split("\n## ")[0]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in part.splitlines() if line.startswith("|")]


@pytest.fixture(scope="module")
def simulated() -> list[list[str]]:
    return [row for row in rows("How near 20 shots come, by simulation") if row[0] in ("4", "8", "16") and len(row) == 10]


def test_the_simulated_table_has_every_cell_and_holds_what_is_asked_of_the_rule(simulated: list[list[str]]) -> None:
    """Error of the 50 % energy: at most 0.75 of that of fixed levels, at most 1.05 of up and down's; its interval holds 0.92 and more."""
    assert [(float(r[0]), float(r[1]), r[2]) for r in simulated] == list(bench.CELLS)
    levels, up_and_down, narrow = (math.exp(math.fsum(math.log(float(row[at])) for row in simulated) / 12) for at in (3, 4, 5))
    assert narrow <= 0.75 * levels and narrow <= 1.05 * up_and_down
    assert min(float(row[6]) for row in simulated) >= 0.92
    said = re.search(r"The error of smallest interval is ([\d.]+) of that of fixed levels and ([\d.]+) of that of up and down", TEXT)
    assert said is not None
    assert (float(said[1]), float(said[2])) == (pytest.approx(narrow / levels, abs=0.01), pytest.approx(narrow / up_and_down, abs=0.015))


def test_the_rule_bounds_the_fifty_percent_energy_more_often_than_up_and_down_and_comes_no_nearer(simulated: list[list[str]]) -> None:
    assert all(float(row[7]) < float(row[9]) for row in simulated)
    assert "is not a nearer point" in TEXT


def test_where_the_rule_is_weak_the_guide_says_so(simulated: list[list[str]]) -> None:
    weakest = min(simulated, key=lambda row: float(row[8]))
    assert weakest[0] == "4" and float(weakest[8]) < 0.92
    assert "Where the curve rises slowly (slope 4) the bounded ones hold less often than they say" in TEXT


def test_the_simulation_runs_with_few_runs_and_prints_the_guides_table() -> None:
    found = bench.measure(1)
    assert set(found) == set(bench.CELLS) and all(tally.runs == 1 for tallies in found.values() for tally in tallies.values())
    text = bench.as_guide(found, found, bench.stopped_at(3.0, 1, most=8), 1)
    assert sum(line.startswith(("| 4 |", "| 8 |", "| 16 |")) for line in text.splitlines()) == 12 + 3
    assert "The error of smallest interval is" in text


def test_fixed_levels_shoot_each_energy_as_often_and_all_rules_shoot_twenty() -> None:
    import numpy as np

    yard = bench.yard_of((8.0, 38.0, "good"))
    for rule, shoot in bench.WAYS.items():
        energies, through = shoot(yard, np.random.default_rng(3))
        assert len(energies) == len(through) == bench.SHOTS, rule


@pytest.mark.long
def test_with_fixed_lots_the_rule_beats_fixed_levels_and_keeps_near_up_and_down() -> None:
    """A modest run: only the direction is asked for, with room for chance."""
    found = bench.measure(60)
    levels, up_and_down, narrow = (bench.overall(found, rule) for rule in bench.RULES)
    assert narrow <= 0.75 * levels
    assert narrow <= 1.15 * up_and_down
    assert math.fsum(tallies["narrow"].coverage for tallies in found.values()) / len(found) >= 0.90
