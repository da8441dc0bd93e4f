"""No two pages disagree on two panels, two stands or two thicknesses: over random books, a claim of the two says of them what /compare
says, and decides by its interval."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from proofyard.answers.claims import energies
from proofyard.answers.claims.energies import EnergyAnswer, judge_energies
from proofyard.answers.claims.energies_told import read_energies
from proofyard.answers.compare.page import comparison_of
from proofyard.records.shot_facts import Behind, LayerBehind
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.statistics.one_comparison import Ends
from proofyard.storage import Storage
from proofyard.views.comparable import KINDS
from proofyard.views.pair_comparison import Pair, pair_ends, pair_families, pair_ratio, pair_told, pair_verdict

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.conftest import copied, opened
from tests.contract.test_one_pair_one_answer import told_in
from tests.pairs_for_tests import book_of, claimed, made
from tests.results_for_tests import Filled, filled, filled_once, loosed  # noqa: F401

LIMIT = 1.1
THICK, THIN = 0.0016, 0.001
PANELS = (("p1", "P1", THICK), ("p2", "P2", THICK), ("p3", "P3", THIN))
STANDS = (("s1", Behind(garment_differs=True)), ("s2", Behind(garment=(LayerBehind("quilted linen", 0.009),), garment_differs=True)))
PLATE = {"construction": "plate", "head_form": "needle", "difference_ratio": LIMIT - 1}
CLAIMS: dict[str, dict[str, Any]] = {
    "panel": {"panel_id": "p1", "than_panel_id": "p2"},
    "stand": {"stand_id": "s2", "than_stand_id": "s1", "thickness_m": THICK},
    "thickness": {"thickness_m": THICK, "than_thickness_m": THIN},
}
BY = {"panel": "panel", "stand": "panel_type", "thickness": "panel_type"}


@pytest.fixture
def book(tmp_path: Path, filled_once: tuple[Path, Filled]) -> Iterator[Storage]:
    """The filled book, for the template of the made-up shots."""
    with closing(opened(copied(filled_once[0], tmp_path / "book"))) as storage:
        yield storage


def armour_book(loosed: Loosed, one: LoosedShot, seed: int) -> Loosed:
    """Three panels of two thicknesses, on one stand or on two with and without a garment; one head or two, three to fourteen shots at each.

    In about half of the books a panel hangs on one stand only, so that each is one group; each holds by a true curve of its own.
    """
    lots = np.random.default_rng(seed)
    slope, both, alone = float(lots.choice([4, 8, 16])), bool(lots.random() < 0.5), int(lots.integers(0, 2))
    levels = np.exp(lots.uniform(math.log(55), math.log(110), int(lots.integers(1, 5))))
    shots = []
    for form in ("needle", "leaf")[: int(lots.integers(1, 3))]:
        for panel_id, name, thick in PANELS:
            for stand_id, behind in STANDS if both else STANDS[alone : alone + 1]:
                middle = 75 * math.exp(float(lots.normal(0.0 if thick == THICK else -0.3, 0.25)))
                count = int(lots.integers(3, 15))
                given = lots.choice(levels, count) * np.exp(lots.normal(0, float(lots.choice([0.0, 0.01, 0.05])), count))
                through = lots.random(count) < 1 / (1 + (given / middle) ** -slope)
                letters = ["o" if lots.random() < 0.02 else "4" if hit else "2" for hit in through]
                on = {"panel_id": panel_id, "panel_name": name, "thickness_m": thick, "stand_id": stand_id, "behind": behind}
                on |= {"arrow_id": f"arrow-{form}", "combination_id": f"combination-{form}"}
                shots.append(made(one, form, list(zip(given.tolist(), letters, strict=True)), **on))
    trial = loosed.trials[one.fact.trial_id]
    trial.varied = str(lots.choice(["panel", "thickness", "bow"]))
    trial.stop_rule, trial.stop_shots = "shots", int(lots.integers(0, 60))
    return book_of(loosed, *shots)


def decided_by(ends: Ends | None, *, turned: bool, way: str) -> str:
    """Of the harder over the easier, by the rule as it stands in words: wholly above the limit yes, wholly below it no. Odds never say yes,
    and no only where the one that should be harder is shown to be easier."""
    if ends is None:
        return "not_yet"
    low, high = ends.low or 0.0, ends.high or math.inf
    if turned:
        low, high = (1 / high if high < math.inf else 0.0), (1 / low if low else math.inf)
    if way != "curve":
        return "no" if high < 1 else "not_yet"
    return "yes" if low > LIMIT else "no" if high < LIMIT else "not_yet"


def faults_of(found: EnergyAnswer, stated: Loosed, form: str, shown: list[tuple[Any, ...]], home: list[Pair]) -> Iterator[str]:
    """What a claim says of its pair that /compare, whose lines `shown` are and whose pairs are at `home`, does not say."""
    mine = found.pair
    assert mine is not None
    there = [pair for pair in home if pair.key == mine.key and pair_told(pair) == pair_told(mine)]
    if not there:
        yield f"{form}: {mine.names} is another pair than on /compare"
        return
    way = mine.found.way
    line = (mine.names, pair_ratio(mine), pair_ends(mine.raw, way=way), pair_ends(mine.corrected, way=way), pair_verdict(mine))
    if line not in shown:
        yield f"{form}: /compare has no line {line}"
    harder = CLAIMS[form]
    first = mine.first.shots[0].shot.fact
    turned = {
        "panel": first.panel_id == harder.get("panel_id"),
        "stand": first.stand_id == harder.get("stand_id"),
        "thickness": first.thickness_m == harder.get("thickness_m"),
    }[form]
    told = decided_by(mine.corrected, turned=turned, way=way)
    if found.verdict not in (told, "not_yet") or (found.verdict != told and not found.read.undecided):
        yield f"{form}: a claim says {found.verdict}, its pair {told}"
    said = set(told_in(read_energies(found.read.fact, stated.shots).title, "pair_told"))
    if said - {pair_told(pair, first=key) for pair in there for key in ("", pair.second.row.key)}:
        yield f"{form}: the claim’s words have another pair"


def claims_that_disagree(loosed: Loosed, *, books: range) -> tuple[list[str], dict[str, int]]:
    """The faults, and how many claims of each form had two groups to compare."""
    one = next(shot for shot in loosed.shots if shot.fact.label == "A1")
    faults: list[str] = []
    asked = dict.fromkeys(CLAIMS, 0)
    for seed in books:
        made_up = armour_book(loosed, one, seed)
        trial = made_up.trials[one.fact.trial_id]
        for form, parts in CLAIMS.items():
            fact = claimed(trial, claim_form=form, **PLATE, **parts)
            stated = replace(made_up, claims={trial.id: fact})
            found = judge_energies(fact, made_up.shots)
            if found.pair is None:
                if found.verdict != "not_yet" or found.why is None:
                    faults.append(f"book {seed}, {form}: {found.verdict} without a pair")
                continue
            asked[form] += 1
            query = {"at": ["chronograph"], "trial": [trial.id], "through": ["4"], "by": [BY[form]]}
            page = comparison_of(stated, query)
            shown = [(line.pair, *line[1:4], line.verdict) for family in page.families for line in (*family.lines, *family.more)]
            families = pair_families(stated, page.settings, kind=KINDS[BY[form]])
            home = [pair for family in families for pair in (*family.pairs, *family.beyond)]
            faults += [f"book {seed}, {fault}" for fault in faults_of(found, stated, form, shown, home)]
    return faults, asked


def test_no_claim_of_armour_disagrees_with_the_page_of_comparisons_over_random_books(loosed: Loosed) -> None:
    """Few, so that they are asked in every run; more beside them."""
    faults, asked = claims_that_disagree(loosed, books=range(3))
    assert faults == [] and min(asked.values()) >= 1, asked


@pytest.mark.slow
def test_nor_over_more_of_them(loosed: Loosed) -> None:
    faults, asked = claims_that_disagree(loosed, books=range(3, 15))
    assert faults == [] and min(asked.values()) >= 3, asked


@pytest.mark.long
def test_no_claim_of_armour_disagrees_with_the_page_of_comparisons_over_a_thousand_random_books(loosed: Loosed) -> None:
    faults, asked = claims_that_disagree(loosed, books=range(1000))
    assert faults == [] and min(asked.values()) >= 300, asked


def test_a_claim_of_armour_that_disagreed_would_be_seen(loosed: Loosed, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(energies, "_verdict", lambda ends, limit: "yes")
    assert claims_that_disagree(loosed, books=range(2))[0]
