"""The guide to arrow damage worked again: each of its figures follows from the functions, and it leaves none out.

Its lives are those of an independent computation (test_weight_life_and_measures.py names it).
"""

from __future__ import annotations

import csv
from pathlib import Path

from proofyard.pages.home.guide import read_page
from proofyard.settings import data_folder
from proofyard.statistics.head_life import HeadLife, shots_a_head_lasts
from proofyard.statistics.odds_within_levels import Odds, odds_interval, odds_within_levels
from proofyard.statistics.shares import Interval, exact_interval

PAGE = data_folder("static") / "guide" / "arrow-damage.md"
TEXT = PAGE.read_text(encoding="utf-8")
HELD = Path(__file__).resolve().parents[1] / "bench" / "weight_and_life.csv"


def tables() -> list[list[tuple[str, ...]]]:
    return [[tuple(row) for row in block.rows] for block in read_page(PAGE).blocks if block.sort == "table"]


def test_each_life_follows() -> None:
    for counts, lasts, low, high in tables()[0][1:]:
        ended, _, shots = counts.partition(" of ")
        found = shots_a_head_lasts(int(ended), int(shots))
        assert isinstance(found, HeadLife) and found.lasts is not None and found.high is not None
        assert (lasts, low) == (f"{found.lasts:.1f}", f"{found.low:.2f}")
        assert high in (f"{found.high:.2f}", f"{found.high:.1f}")


def test_the_one_side_follows() -> None:
    ((shots, least),) = tables()[1][1:]
    found = shots_a_head_lasts(0, int(shots))
    assert isinstance(found, HeadLife) and f"{found.low:.1f}" == least
    assert f"or {100 / found.low:.2f} %" in TEXT


def test_the_chance_of_the_first_follows() -> None:
    found = exact_interval(5, 34)
    assert isinstance(found, Interval)
    assert f"{100 * found.low:.2f} to {100 * found.high:.1f} %" in TEXT


def test_the_odds_of_two_heads_follow() -> None:
    """10/34 against 1/36: 14.11 (2.162 to 327.4) by an independent computation, exact conditional odds ratio with mid-P ends."""
    ((mine, theirs, ratio, low, high),) = tables()[2][1:]
    counts = [int(number) for text in (mine, theirs) for number in text.split(" of ")]
    found = odds_within_levels([(counts[0], counts[1], counts[2], counts[3])])
    assert isinstance(found, Odds) and found.ratio is not None
    ends = odds_interval(found, level=0.95)
    assert ends[0] is not None and ends[1] is not None
    assert (f"{found.ratio:.2f}", f"{ends[0]:.3f}", f"{ends[1]:.1f}") == (ratio, low, high)


def test_no_share_of_the_bench_is_left_unchecked() -> None:
    with HELD.open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["what"] == "shots that a head lasts"]
    told = sum(int(row["told"]) for row in rows)
    assert f"in {100 * sum(float(row['holds']) * int(row['told']) for row in rows) / told:.1f} %" in TEXT


def test_no_figure_of_a_table_is_left_unchecked() -> None:
    assert [len(table) for table in tables()] == [3, 2, 2], "a new row needs a test of its own"
