"""Charts of more shots than can be seen one by one: each shot is in one bar or mark, and the chart says so."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence

import pytest
from proofyard.charts.binned import MOST_MARKS, Ranges
from proofyard.charts.blunt_by_energy import BluntMark, draw_blunt
from proofyard.charts.depth_by_energy import DepthGroup, depth_by_energy
from proofyard.charts.figure import Figure, Group
from proofyard.charts.outcome_by_energy import draw_outcome_by_energy
from proofyard.charts.outcome_words import BandShare, ShotMark, outcome_text
from proofyard.charts.scale import LinearScale
from proofyard.records.trial import OUTCOMES

WORDS = list(OUTCOMES.values())
NO_BANDS: Sequence[BandShare] = ()


def shots(count: int, seed: int = 1) -> list[ShotMark]:
    draw, made = random.Random(seed), []
    for n in range(count):
        low = draw.randrange(6)
        high = min(5, low + draw.choice((0, 0, 0, 1)))
        depth = draw.uniform(0.0, 0.06) if high >= 4 and draw.random() < 0.7 else None
        made.append(ShotMark(f"A{n}", f"/shots/{n}", draw.gauss(80, 15), 2.0, low, high, depth_m=depth, at_least=draw.random() < 0.3))
    return made


def groups_with_words(drawn: Figure) -> list[Group]:
    return [one for one in drawn.each() if isinstance(one, Group) and one.words]


@pytest.mark.parametrize("seed", range(3))
def test_the_bars_hold_every_shot_once_and_the_chart_says_how_many(seed: int) -> None:
    some = shots(MOST_MARKS + 701, seed)
    drawn = draw_outcome_by_energy("Leaf", some, NO_BANDS, outcome_words=WORDS)
    (table,) = drawn.more
    assert sum(int(row[0]) for row in table.rows) == len(some)
    assert len(groups_with_words(drawn)) == len(table.rows) < len(some) / 3
    # Counted here again from the shots themselves, range by range as the table names it.
    again: Counter[tuple[str, str]] = Counter()
    for row in table.rows:
        low, high = map(float, row[1].split(" to "))
        inside = [one for one in some if low <= one.energy_j < high and one.outcome(WORDS) == row[2]]
        again[row[1], row[2]] += len(inside)
    assert again == Counter({(row[1], row[2]): int(row[0]) for row in table.rows})
    assert f"each of the {len(some)} shots is in one" in drawn.words and drawn.key in drawn.words
    assert outcome_text(3, 4, WORDS) in {row[2] for row in table.rows}, "one that may be either has a bar of its own"


def test_up_to_the_limit_every_shot_is_drawn_by_itself() -> None:
    drawn = draw_outcome_by_energy("Leaf", shots(MOST_MARKS), NO_BANDS, outcome_words=WORDS)
    assert len(groups_with_words(drawn)) == MOST_MARKS and not drawn.key
    deep = depth_by_energy("Heads", [DepthGroup("Leaf", shots(MOST_MARKS))], outcome_words=WORDS)
    assert len(groups_with_words(deep)) == MOST_MARKS and "Too many" not in deep.words


def test_a_higher_bar_holds_more_and_none_leaves_its_row_or_lies_on_another() -> None:
    drawn = draw_outcome_by_energy("Leaf", shots(900), NO_BANDS, outcome_words=WORDS)
    bars = [(one.marks[0], int(one.words.split(": ")[1].split(" ")[0])) for one in groups_with_words(drawn)]
    boxes = [(bar.x, bar.y, bar.x + bar.width, bar.y + bar.height, count) for bar, count in bars]
    for n, (left, top, right, bottom, count) in enumerate(boxes):
        for left_2, top_2, right_2, bottom_2, count_2 in boxes[n + 1 :]:
            assert right <= left_2 or right_2 <= left or bottom <= top_2 + 0.11 or bottom_2 <= top + 0.11
            if count > count_2 > 1:
                assert bottom - top >= bottom_2 - top_2 - 0.11


def test_depths_of_many_shots_are_counted_cell_by_cell() -> None:
    some = {"Leaf": shots(400, 3), "Needle": shots(500, 4)}
    drawn = depth_by_energy("Heads", [DepthGroup(name, marks) for name, marks in some.items()], outcome_words=WORDS)
    for name, marks in some.items():
        assert sum(int(row[1]) for row in drawn.rows if row[0] == name) == len(marks)
    in_marks = sum(int(one.words.split(": ")[-1].split(" ")[0]) for one in groups_with_words(drawn))
    assert in_marks == 900 and "each of the 900 shots is in one" in drawn.words and "each of the 900 shots" in drawn.key


def test_many_blunt_impacts_are_one_line_a_range_from_the_least_to_the_most() -> None:
    draw = random.Random(2)
    marks = []
    for n in range(500):
        least = draw.uniform(1, 4)
        marks.append(BluntMark(f"/shots/{n}", f"A{n}", draw.uniform(20, 140), least, least + draw.uniform(0, 5), False))
    drawn = draw_blunt(marks, unit="J", title="Blunt", words="500 shots.")
    lines = groups_with_words(drawn)
    assert sum(int(one.words.split(": ")[1].split(" ")[0]) for one in lines) == 500 and len(lines) < 60
    assert "each of the 500 shots is in one" in drawn.words


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (37.2, 118.4), (99.9, 100.0), (0.0, 3e5)])
def test_ranges_cover_the_axis_without_gaps(low: float, high: float) -> None:
    ranges = Ranges.of(LinearScale(low, high, 0.0, 300.0))
    assert ranges.ends(ranges.first)[0] <= low + 1e-9 and ranges.ends(ranges.last)[1] >= high - 1e-9
    assert ranges.last - ranges.first < 60
    assert ranges.at(low - 5) == ranges.first and ranges.at(high + 5) == ranges.last
