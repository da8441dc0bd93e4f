"""The what-if of static/guide/what-if.md, worked again: through the book with the page's own shots, every figure of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from proofyard.answers.what_if.answer import Answer
from proofyard.answers.what_if.page import WhatIf, read_what_if
from proofyard.pages.home.guide import read_page
from proofyard.physics.bow_needed import times_the_bow
from proofyard.physics.energy import kinetic_energy_j
from proofyard.physics.flight import energy_at_target_j
from proofyard.quantities.reason import CantTell
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit

AsPrinted = Callable[[float, str], None]
PAGE = read_page(Path(__file__).resolve().parents[2] / "static" / "guide" / "what-if.md")
TABLES = {block.rows[0]: block.rows[1:] for block in PAGE.blocks if block.sort == "table"}
PRINTED = {row[0]: row[1].split(" ")[0] for rows in TABLES.values() for row in rows if len(row) == 2}
SHOTS = next(rows for head, rows in TABLES.items() if head[0] == "Speed, m/s")
WORDS = " ".join("".join(words for words, _ in block.pieces) for block in PAGE.blocks)
# Further from each other than an opened plate spoils, and from the panel's edge.
SPOTS = [(x, y) for x in (-90, 0, 90) for y in (-140, -70, 0, 70)]


@pytest.fixture
def panel(book: Storage) -> tuple[Storage, str]:
    yard = kit.yard(book, form="short_bodkin")
    arrow = kit.arrow(book, "60", form="short_bodkin", masses=("60.0 g", "60.0 g", "60.0 g"))
    for _ in range(3):
        kit.thickness_reading(book, yard.panel.build, "1.20 mm")
    outcome_levels = [(row[0], outcome_level) for row in SHOTS for outcome_level in ["2"] * int(row[2]) + ["4"] * int(row[3])]
    for n, (speed, outcome_level) in enumerate(outcome_levels):
        # An end each: who came first is then known.
        shooting_end = kit.shooting_end(book, yard.setup, begun_at=kit.BEGAN + 600_000 * n)
        shot = kit.shot(book, yard, shooting_end_id=shooting_end, arrow_build=arrow.build, loosed_at=kit.BEGAN + 600_000 * n + 1000)
        kit.shot_speed(book, shot, f"{speed} m/s")
        x, y = SPOTS[n]
        kit.reading(
            book,
            shot,
            outcome_low=outcome_level,
            entry="plate",
            x=f"{x} mm",
            y=f"{y} mm",
            place_known="yes",
            head_fate=["sound"],
            shaft_fate=["sound"],
        )
    return book, yard.panel.build


def asked(panel: tuple[Storage, str], **more: str) -> tuple[WhatIf, Answer]:
    found = read_what_if(panel[0], {"panel": [panel[1]], **{name: [value] for name, value in more.items()}}, reader="metric")
    assert not found.problems
    return found, found.answers[0]


def test_the_fifty_percent_energy_is_that_of_the_page(panel: tuple[Storage, str], as_printed: AsPrinted) -> None:
    found, _ = asked(panel)
    basis = found.basis
    assert basis is not None and basis.of == "panel" and basis.point is not None
    assert len(basis.shots) == 10 and basis.hits == 5
    for row in SHOTS:
        as_printed(kinetic_energy_j(0.060, float(row[0])), row[1])
    as_printed(basis.point.energy_j, PRINTED["50 % energy"])
    assert basis.point.low_j is not None and basis.point.high_j is not None
    as_printed(basis.point.low_j, PRINTED["From, 95 %"])
    as_printed(basis.point.high_j, PRINTED["to, 95 %"])
    assert basis.point.low_j * basis.point.high_j == pytest.approx(72.0**2, rel=1e-3)


def test_the_thinner_plate_is_that_of_the_page(panel: tuple[Storage, str], as_printed: AsPrinted) -> None:
    _, answer = asked(panel, thickness="1.0 mm", energy="72 J")
    for line in answer.changes[0].lines:
        assert line.low is not None
        as_printed(line.low, PRINTED[line.words])
        assert line.counted == (line.words in ("Arrows at plates, 1 to 3 mm", "Pushing a hole open in thin sheet"))
    ends = (answer.rules_low_j, answer.rules_high_j, answer.low_j, answer.high_j)
    words = ("By the rules, from", "By the rules, to", "With the shots’ uncertainty, from", "With the shots’ uncertainty, to")
    for end, printed in zip(ends, words, strict=True):
        assert end is not None
        as_printed(end, PRINTED[printed])
    low, high = (float(PRINTED[words[place]]) for place in (2, 3))
    whole = f"{low:.0f} to {high:.0f}\N{NO-BREAK SPACE}J"
    assert said(answer.finding).endswith(whole) and whole.replace("\N{NO-BREAK SPACE}", " ") in WORDS
    assert answer.rows[0].verdict == "leans_through"
    more = next(one for one in answer.lead if one.code == "what_if_more_through")
    assert (more.parts["more"], more.parts["of"]) == (1, 5) and "had more than 60\N{NO-BREAK SPACE}J" in said(more)


def test_what_gets_through_keeps_what_the_page_says(panel: tuple[Storage, str], as_printed: AsPrinted) -> None:
    _, answer = asked(panel, thickness="1.0 mm", energy="86.4 J")
    row = answer.rows[0]
    assert row.verdict == "through" and row.left_j is not None
    as_printed(row.left_j[0], PRINTED["Left at the least"])
    as_printed(row.left_j[1], PRINTED["Left at the most"])


def test_thinner_and_slanted_is_that_of_the_page(panel: tuple[Storage, str], as_printed: AsPrinted) -> None:
    _, answer = asked(panel, thickness="1.0 mm", angle="30")
    (thin, slant) = answer.changes
    assert thin.low and thin.high and slant.low and slant.high and answer.rules_low_j and answer.rules_high_j
    as_printed(thin.low * slant.low, PRINTED["Least factor of both"])
    as_printed(thin.high * slant.high, PRINTED["Greatest factor of both"])
    as_printed(answer.rules_low_j, PRINTED["Slanted, from"])
    as_printed(answer.rules_high_j, PRINTED["Slanted, to"])


def test_the_bow_is_that_of_the_page(panel: tuple[Storage, str], as_printed: AsPrinted) -> None:
    _, answer = asked(panel, thickness="1.6 mm")
    assert answer.rules_low_j and answer.rules_high_j
    leaves = kinetic_energy_j(0.060, 52.0)
    kept = energy_at_target_j(1.0, 12.0, drag_per_m=0.0014)
    assert kept == pytest.approx(math.exp(-2 * 0.0014 * 12))
    as_printed(leaves, PRINTED["Energy of the arrow as it leaves"])
    as_printed(kept, PRINTED["Share that reaches the plate"])
    as_printed(answer.rules_low_j, PRINTED["50 % energy at 1.6 mm, from"])
    as_printed(answer.rules_high_j, PRINTED["50 % energy at 1.6 mm, to"])
    needed = answer.rules_low_j / kept, answer.rules_high_j / kept
    as_printed(needed[0], PRINTED["Needed as it leaves, from"])
    as_printed(needed[1], PRINTED["Needed as it leaves, to"])
    least, most = times_the_bow(needed[0], leaves, arrow_kg=0.060), times_the_bow(needed[1], leaves, arrow_kg=0.060, virtual_kg=0.012)
    assert not isinstance(least, CantTell) and not isinstance(most, CantTell)
    as_printed(least, PRINTED["Times as strong, limbs as quick as now"])
    as_printed(most, PRINTED["Times as strong, limbs heavier in proportion"])
    said = next(words for block in PAGE.blocks for words, _ in block.pieces if "would be marked" in words)
    assert f"{82 * least:.0f} to {82 * most:.0f} lb" in said


@pytest.mark.parametrize("box", [{"steel_quality": "hardened"}, {"steel": "40 to 50 HRC"}])
def test_hardened_steel_is_that_of_the_page_whichever_box_is_filled(
    panel: tuple[Storage, str], as_printed: AsPrinted, box: dict[str, str]
) -> None:
    """1250, 1760, 385 and 465 MPa: ASTM E140 with SAE J417, and DIN 50150, as the page says; 1.5 as quoted of Williams."""
    _, answer = asked(panel, steel_now="mild_steel", **box)
    by_strength, by_sort = answer.changes[0].lines
    assert by_strength.low is not None and by_strength.high is not None and (by_sort.low, by_sort.high) == (1.5, 1.5)
    as_printed(by_strength.low, PRINTED["Times by strength, from"])
    as_printed(by_strength.high, PRINTED["Times by strength, to"])
    as_printed(1250 / 465, PRINTED["Times by strength, from"])
    as_printed(1760 / 385, PRINTED["Times by strength, to"])
    assert answer.low_j is not None and answer.high_j is not None
    as_printed(answer.low_j, PRINTED["Hardened, 1.2 mm, from"])
    as_printed(answer.high_j, PRINTED["Hardened, 1.2 mm, to"])
