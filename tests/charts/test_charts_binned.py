"""Charts of more shots than can be seen one by one: each shot is in one bar or mark, and the chart says so."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Sequence

import pytest
from proofyard.charts.binned import MOST_MARKS, Ranges
from proofyard.charts.blunt_by_energy import BluntMark, draw_blunt
from proofyard.charts.depth_by_energy import DepthGroup, depth_by_energy
from proofyard.charts.figure import Figure, Group, Path, Rect, each
from proofyard.charts.hits_in_order import hits_in_order
from proofyard.charts.outcome_by_energy import draw_outcome_by_energy
from proofyard.charts.outcome_words import BandShare, Hit, ShotMark, outcome_text
from proofyard.charts.panel_drawing import draw_panel, small_panel
from proofyard.charts.scale import LinearScale
from proofyard.charts.speed_by_mass import ArrowMark, draw_speed_by_mass
from proofyard.charts.speeds_in_order import SpeedLine, SpeedMark, SpeedStrip, speeds_in_order
from proofyard.quantities import Uncertain
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


def hits(count: int, seed: int = 1) -> list[Hit]:
    draw, made = random.Random(seed), []
    for n in range(1, count + 1):
        low = draw.choice((None, *range(6)))
        high = None if low is None else min(5, low + draw.choice((0, 0, 0, 1)))
        x, y = (None, None) if draw.random() < 0.05 else (draw.gauss(0, 0.08), draw.gauss(0, 0.1))
        fair = draw.choice(("fair", "not_fair", "not_known", ""))
        made.append(Hit(n, f"A{n}", x, y, low, high, f"/shots/{n}", clipped=low is None and draw.random() < 0.5, fair=fair))
    return made


def count_in(one: Group) -> int:
    """How many its words say that it holds."""
    found = re.search(r": (\d+) (?:hit|reading|arrow)s?\b", one.words)
    assert found, one.words
    return int(found[1])


@pytest.mark.parametrize("seed", range(3))
def test_many_hits_in_order_are_squares_that_hold_each_once(seed: int) -> None:
    some = hits(MOST_MARKS + 500, seed)
    drawn = hits_in_order("P3", some, outcome_words=WORDS)
    squares = groups_with_words(drawn)
    assert sum(map(count_in, squares)) == sum(int(row[0]) for row in drawn.rows) == len(some) and len(squares) < len(some) / 3
    for row in {(row[1], row[2]) for row in drawn.rows}:
        first, last = map(int, row[0].split(" to "))
        here = [one for one in some if first <= one.order <= last and one.outcome(WORDS) == row[1]]
        assert sum(int(other[0]) for other in drawn.rows if (other[1], other[2]) == row) == len(here)
        (square,) = (one for one in squares if one.words.startswith(f"hits {row[0]}, {row[1]}: "))
        assert count_in(square) == len(here)
        for fair, words in (("fair", "fair"), ("not_fair", "not fair"), ("not_known", "fairness undecided")):
            if of := sum(one.fair == fair for one in here):
                assert f"{of} {words}" in square.words
    assert f"each of the {len(some)} hits is in one" in drawn.words and f"each of the {len(some)} hits" in drawn.key
    assert drawn.height < hits_in_order("P3", some[:MOST_MARKS], outcome_words=WORDS).height


@pytest.mark.parametrize("seed", range(3))
def test_a_panel_of_many_hits_holds_each_in_the_square_where_it_was(seed: int) -> None:
    some = hits(MOST_MARKS + 500, seed)
    drawn = draw_panel("P3", "rectangle", width_m=0.4, height_m=0.5, outcome_words=WORDS, hits=some)
    placed = [one for one in some if one.x_m is not None]
    squares = groups_with_words(drawn)
    assert sum(map(count_in, squares)) == len(placed) < len(some) == sum(int(row[0]) for row in drawn.rows)
    again: Counter[tuple[str, str]] = Counter()
    for one in some:
        inside = "place not known"
        for row in drawn.rows:
            if one.x_m is not None and one.y_m is not None and row[1] != inside:
                ends = [float(end.replace("\N{MINUS SIGN}", "-")) for end in re.findall(r"[\N{MINUS SIGN}\d.]+", row[1])]
                if ends[0] <= 1000 * one.x_m < ends[1] and ends[2] <= 1000 * one.y_m < ends[3]:
                    inside = row[1]
                    break
        again[inside, one.outcome(WORDS)] += 1
    assert again == Counter({(row[1], row[2]): int(row[0]) for row in drawn.rows})
    assert f"each of the {len(placed)} placed hits is in one" in drawn.words and drawn.key in drawn.words
    for square in squares:
        *strips, whole = [strip for strip in each(square.marks) if isinstance(strip, Rect)]
        assert whole.width == whole.height == pytest.approx(sum(strip.width for strip in strips), abs=0.5), "a square, cut by outcome"
    small = small_panel("P3", "rectangle", width_m=0.4, height_m=0.5, outcome_words=WORDS, hits=some)
    assert len(small.marks) == 1 + sum(len(square.marks) for square in squares) and small.words.startswith(f"{len(placed)} hits")


def test_many_speeds_in_order_are_counted_by_ranges_and_the_means_joined() -> None:
    draw, lines, order = random.Random(5), [], 0
    for name, speed in (("arrow 1", 52.0), ("arrow 2", 55.0)):
        marks = []
        for _ in range(260):
            order += 1
            marks.append(SpeedMark(order, f"A{order}", draw.gauss(speed, 0.6), "misread" if draw.random() < 0.05 else ""))
        lines.append(SpeedLine(name, marks))
    drawn = speeds_in_order("Yew", [SpeedStrip("", lines)])
    marks_ = groups_with_words(drawn)
    assert sum(map(count_in, marks_)) == sum(int(row[1]) for row in drawn.rows) == 520 and len(marks_) < 200
    for row in drawn.rows:
        first, last = map(int, row[0].split(" to "))
        low, high = map(float, row[3].split(" to "))
        (of,) = (one for one in lines if one.words == row[2])
        here = [
            one for one in of.marks if first <= one.order <= last and low <= one.speed_m_s < high and bool(one.left_out) == (row[4] == "no")
        ]
        assert len(here) == int(row[1])
    runs = [one for one in drawn.each() if isinstance(one, Path) and one.look == "chart__run"]
    assert len(runs) == 2 and "arrow 1: " in drawn.words and "each of the 520 readings is in one" in drawn.words
    whole = speeds_in_order("Yew", [SpeedStrip("", [SpeedLine(f"arrow {n}", of.marks[n::7]) for of in lines for n in range(7)])])
    assert not [one for one in whole.each() if isinstance(one, Path) and one.look == "chart__run"]
    assert "Too many bows, arrows and archers" in whole.key and sum(map(count_in, groups_with_words(whole))) == 520


def test_many_arrows_of_a_bow_are_counted_by_mass_and_speed() -> None:
    draw = random.Random(6)
    arrows = [
        ArrowMark(f"Arrow {n}", f"/combinations/{n}", draw.uniform(0.04, 0.08), Uncertain(draw.gauss(52, 2), 0.3, 5, 4), 4)
        for n in range(700)
    ]
    drawn = draw_speed_by_mass("Yew", arrows, (), mass_unit="g", speed_unit="m/s", fit_words="No line.")
    marks = groups_with_words(drawn)
    assert sum(map(count_in, marks)) == 700 == sum(int(row[0]) for row in drawn.rows)
    for row in drawn.rows:
        (light, heavy), (slow, fast) = ([float(end) for end in one.split(" to ")] for one in row[1:])
        assert int(row[0]) == sum(light <= 1000 * one.mass_kg < heavy and slow <= one.speed.value < fast for one in arrows)
    assert "each of the 700 arrows is in one" in drawn.words and drawn.words.endswith("No line.") and not drawn.leads_on
    few = draw_speed_by_mass("Yew", arrows[:MOST_MARKS], (), mass_unit="g", speed_unit="m/s", fit_words="No line.")
    assert len(groups_with_words(few)) == MOST_MARKS and not few.columns
