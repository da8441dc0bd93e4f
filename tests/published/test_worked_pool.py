"""The guide to groups pooled worked again: each of its figures follows from the functions.

The functions themselves are held against statsmodels in test_weight_life_and_measures.py.
"""

from __future__ import annotations

import math

from proofyard.pages.home.guide import read_page
from proofyard.settings import data_folder
from proofyard.statistics.several_groups import OverGroups, over_groups_with_ends

PAGE = data_folder("static") / "guide" / "pool.md"
TEXT = PAGE.read_text(encoding="utf-8")


def tables() -> list[list[tuple[str, ...]]]:
    return [[tuple(row) for row in block.rows] for block in read_page(PAGE).blocks if block.sort == "table"]


def test_the_page_of_groups_follows() -> None:
    groups = [tuple(float(cell) for cell in row[1:]) for row in tables()[0][1:]]
    for _, low, high, error in groups:
        assert f"{math.log(high / low) / (2 * 1.959964 * math.sqrt(1.2)):.4f}" == f"{error:.4f}"
    found = over_groups_with_ends([one[:3] for one in groups], limit_factor=1.2)
    assert isinstance(found, OverGroups)
    assert [f"{one:.1f}" for one in (found.value, found.low, found.high)] == list(tables()[1][1][1:])
    assert f"Here that is {found.between:.4f}" in TEXT and f"that of {found.value:.1f} J" in TEXT
    assert f"about {100 * found.between:.0f} % apart" in TEXT
    one_factor_each = over_groups_with_ends([one[:3] for one in groups], limit_factor=[1.2] * 3)
    assert one_factor_each == found
