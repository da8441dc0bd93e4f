"""Figures of the guide agree with each other, whatever our formulas say: the reader works them again from the page.

That the app gives the same figures is tested in tests/published/test_worked_shot.py and test_worked_comparison.py.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from proofyard.pages.home.guide import read_page

GUIDE = Path(__file__).resolve().parents[2] / "static" / "guide"


def tables(name: str) -> list[tuple[tuple[str, ...], list[tuple[str, ...]]]]:
    return [
        (tuple(block.rows[0]), [tuple(row) for row in block.rows[1:]]) for block in read_page(GUIDE / name).blocks if block.sort == "table"
    ]


OF_SHOT, OF_TRIALS = tables("worked-shot.md"), tables("trial-comparison.md")
# Label -> the figure as the page prints it, its unit cut off.
SHOT = {row[0]: row[1].split(" ")[0] for _, rows in OF_SHOT for row in rows if len(row) == 2}
CAUSES = [row for head, rows in OF_SHOT if head[0] == "Cause" for row in rows]
TRIALS = {row[0]: row[1].removesuffix(" J") for head, rows in OF_TRIALS for row in rows if len(row) == 2 and head[0] != "Thing"}
SHOTS_OF = [next(rows for head, rows in OF_TRIALS if head[0] == first) for first in ("First, shot", "Second, shot")]


def test_the_worked_shot_adds_up() -> None:
    """From its own printed figures, without our formulas: squares of the causes, and energy from speed and mass."""
    causes = [float(row[1]) for row in CAUSES]
    assert math.hypot(*causes) == pytest.approx(float(SHOT["Standard uncertainty at the target"]), abs=0.0006)
    mass, speed = float(SHOT["Mean mass"]) / 1000, float(SHOT["Speed at the target"])
    assert mass * speed**2 / 2 == pytest.approx(float(SHOT["Energy at the target"]), abs=0.006)
    left = math.exp(-12 * float(SHOT["Loss a metre, k"]))
    assert left == pytest.approx(0.98608, abs=0.00001)
    assert float(SHOT["Speed at the chronograph"]) * left == pytest.approx(speed, abs=0.001)


def tail_of_all(odds: float, *, above: bool) -> float:
    """Half of the chance of five, and all of what lies further, of six dealt to six and six."""
    told = {t: math.comb(6, t) * math.comb(6, 6 - t) * odds**t for t in range(7)}
    return (sum(told[t] for t in told if (t > 5 if above else t < 5)) + told[5] / 2) / sum(told.values())


def test_the_comparison_of_two_trials_adds_up() -> None:
    """From its own printed figures, without our formulas: the ends of the shares by Wilson's sum, the odds by every way to deal."""
    z = 1.959964
    figures = {name: float(words.replace("−", "-")) for name, words in TRIALS.items() if " of " not in words}
    for (hits, shots), low, high in (
        ((5, 6), "Low end of the first share (Wilson)", "High end of the first share (Wilson)"),
        ((1, 6), "Low end of the second share (Wilson)", "High end of the second share (Wilson)"),
        ((1, 4), "Low end of that share (Wilson)", "High end of that share (Wilson)"),
    ):
        middle, half = hits + z * z / 2, z * math.sqrt(hits * (shots - hits) / shots + z * z / 4)
        assert (middle - half) / (shots + z * z) == pytest.approx(figures[low], abs=0.00006)
        assert (middle + half) / (shots + z * z) == pytest.approx(figures[high], abs=0.00006)
    for second, name in ((6, ""), (4, ", archer A")):
        # Six of all got through, five of them in the first trial: every way to deal them, and the odds at which a tail is 2.5 %.
        ways = {t: math.comb(6, t) * math.comb(second, 6 - t) for t in range(6 - second, 7)}

        def tail(odds: float, *, above: bool, ways: dict[int, int] = ways) -> float:
            told = {t: count * odds**t for t, count in ways.items()}
            further = sum(told[t] for t in told if (t > 5 if above else t < 5))
            return (further + told[5] / 2) / sum(told.values())

        ratio = figures[f"Ratio of the odds{name}"]
        mean = sum(t * count * ratio**t for t, count in ways.items()) / sum(count * ratio**t for t, count in ways.items())
        assert mean == pytest.approx(5, abs=0.0005)
        assert tail(figures[f"Low end of the ratio{name}"], above=True) == pytest.approx(0.025, abs=0.0001)
        assert tail(figures[f"High end of the ratio{name}"], above=False) == pytest.approx(0.025, abs=0.0001)
        assert 2 * tail(1, above=True) == pytest.approx(figures[f"p by itself{name}"], abs=0.00006)
    assert tail_of_all(figures["Low end, looks paid for"], above=True) == pytest.approx(0.0079, abs=0.0001)
    assert tail_of_all(figures["High end, looks paid for"], above=False) == pytest.approx(0.0079, abs=0.0001)
    assert sum(int(row[3]) >= 4 for row in SHOTS_OF[0]) == 5 and sum(int(row[3]) >= 4 for row in SHOTS_OF[1]) == 1
