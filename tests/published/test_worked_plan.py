"""The guide to planning worked again: its figures follow from the functions. Its simulated table: tests/bench."""

from __future__ import annotations

from proofyard.quantities.reason import CantTell
from proofyard.settings import data_folder
from proofyard.statistics.planning import shots_all_alike, shots_for_difference, shots_for_width, what_these_settle

TEXT = (data_folder("static") / "guide" / "planning.md").read_text(encoding="utf-8")


def rows(section: str) -> list[list[str]]:
    part = TEXT.split(f"## {section}\n")[1].split("\n## ")[0]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in part.splitlines() if line.startswith("|")]


def shots(found: object) -> str:
    assert not isinstance(found, CantTell)
    return str(found.shots)


def test_each_answer_of_the_worked_plan_follows() -> None:
    five = what_these_settle(5)
    assert five.apart is not None
    worked = [
        f"{100 * five.width_half:.0f} points wide",
        f"{100 * five.none_below:.0f} %",
        f"{100 * five.apart:.0f} %",
        shots(shots_for_difference(0.9, 0.3)),
        shots(shots_for_difference(0.9, 0.5)),
        shots(shots_for_width(0.5, 0.4)),
        str(shots_all_alike(0.05)),
    ]
    assert [row[1] for row in rows("How many are enough")[2:]] == worked
