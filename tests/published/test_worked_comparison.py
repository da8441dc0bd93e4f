"""The guide's comparison of two trials, worked again: through the book with the page's own readings, every figure and finding of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import fmean, stdev

import pytest
from proofyard.answers.trial_comparison.page import TrialComparison, read_trial_comparison
from proofyard.pages.home.guide import read_page
from proofyard.quantities.reason import because
from proofyard.shots.loosed import Loosed
from proofyard.statistics.shares import wilson_interval
from proofyard.storage import Storage
from proofyard.views.cells import RowGroup
from proofyard.views.comparable import KINDS
from proofyard.views.pair_comparison import Pair, pair_families, pair_told
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit
from tests.trials_for_tests import Shot, Two, shoot, yard_of_two

AsPrinted = Callable[[float, str], None]
PAGE = read_page(Path(__file__).resolve().parents[2] / "static" / "guide" / "trial-comparison.md")
TABLES = {block.rows[0][0]: block.rows[1:] for block in PAGE.blocks if block.sort == "table"}
SHOTS = (TABLES["First, shot"], TABLES["Second, shot"])
# Label -> what the page prints beside it, the unit cut off; counts keep their words.
PRINTED = {row[0]: row[1].removesuffix(" J") for head, rows in TABLES.items() for row in rows if len(row) == 2 and head != "Thing"}
WORDS = " ".join(words for block in PAGE.blocks for words, _ in block.pieces)


def compared(book: Storage, trials: tuple[str, str], *, alike: str = "") -> TrialComparison:
    query = {"trial": list(trials), "at": ["chronograph"], "edges": ["70, 90"], "alike": [alike]}
    with book.read() as session:
        return read_trial_comparison(session, query, reader="metric")


def pair_of_trials(found: TrialComparison) -> Pair:
    """The two trials against each other, as the page has them."""
    shots = tuple(shot for column in found.columns for shot in column.counted.counted)
    names = {column.name.trial.id: column.name.short for column in found.columns}
    kind = replace(KINDS["trial"], group=lambda fact: RowGroup(fact.trial_id, names[fact.trial_id], f"shots of {names[fact.trial_id]}"))
    (family,) = pair_families(Loosed(shots, (), {}), found.asked.settings, kind=kind)
    (pair,) = family.pairs
    assert found.results is not None
    assert pair.first.row.words == "Trial 1" and because("sentence_of_its_own", why=pair_told(pair)) in found.results.heads[0].told
    return pair


@pytest.fixture
def worked(book: Storage) -> tuple[Storage, Two, tuple[str, str]]:
    """Both trials as the page has them, typed as a person would."""
    two = yard_of_two(book)
    who = {"Archer A": two.wren, "Archer B": two.tallow}
    first, second = ([Shot(who[row[1]], f"{row[2]} m/s", row[3]) for row in rows] for rows in SHOTS)
    before = shoot(book, two, first, question="Does the long needle bodkin get behind 1.2 mm plate?")
    reground = kit.new_arrow_build(book, two.arrow, masses=())
    for mass in ("59.9 g", "60.0 g", "59.9 g"):
        kit.mass_reading(book, reground.build, mass, instrument=two.scale)
    after = shoot(
        book,
        two,
        second,
        question="And behind 1.6 mm?",
        day="2026-10-17",
        panel=two.thicker,
        arrow_build=reground.build,
        follows=before,
        weather={"temperature": "6 °C", "weather": "damp"},
    )
    return book, two, (before, after)


def test_what_changed_is_what_the_page_says(worked: tuple[Storage, Two, tuple[str, str]]) -> None:
    found = compared(worked[0], worked[2])
    assert said(found.title) == "Changed for every shot: the panel type, the arrows themselves and the day with its weather"
    assert found.between[0].some == ("who loosed",) and found.between[0].alike == (6, 4)
    status = {row.key: row.status for row in found.rows}
    page = {row[0].partition(":")[0]: row[1] for row in TABLES["Thing"]}
    for label, keys in {
        "Panel type": ("panel_type",),
        "Arrow": ("arrow",),
        "Day and weather": ("day", "weather"),
        "Loosed by": ("archer",),
    }.items():
        assert {f"for {status[key]}{' shot' if status[key] == 'every' else ' shots'}" for key in keys} == {page[label]}
    same = ("form", "bow", "distance", "angle", "stand", "chronograph", "place")
    assert {status[key] for key in same} == {"same"} and page["Head form, bow, distance, angle, stand, chronograph, place"] == "no"
    assert status["hardness"] == "not_known" and "Nobody wrote down how hard the head was" in WORDS
    assert [line.words for line in found.builds] == ["Trial 1: build 1; Trial 2: build 2. Build 2, reground."]


def test_each_shots_energy_and_the_bows_are_those_of_the_page(worked: tuple[Storage, Two, tuple[str, str]], as_printed: AsPrinted) -> None:
    book, two, trials = worked
    found = compared(book, trials)
    energies = []
    for column, rows in zip(found.columns, SHOTS, strict=True):
        mine = [shot.impact.energy_at_chronograph_j.value for shot in column.counted.counted]
        for value, row in zip(mine, rows, strict=True):
            as_printed(value, row[4])
        energies.append([value for value, row in zip(mine, rows, strict=True) if row[1] == "Archer A"])
    for values, which in zip(energies, ("first", "second"), strict=True):
        as_printed(fmean(values), PRINTED[f"Mean energy, {which} trial"])
        as_printed(stdev(values), PRINTED[f"Scatter of the single shots, {which} trial"])
    apart = fmean(energies[0]) - fmean(energies[1])
    uncertainty = math.hypot(*(stdev(values) / math.sqrt(len(values)) for values in energies))
    as_printed(apart, PRINTED["Difference of the two means"])
    as_printed(uncertainty, PRINTED["Standard uncertainty of that difference"])
    assert apart < 2 * uncertainty
    (shown,) = [row for row in found.rows if row.key == f"energy-{two.bow.build}-{two.wren}"]
    assert shown.status == "same" and "well within twice that" in WORDS


def test_the_counts_and_how_far_they_lie_apart_are_those_of_the_page(
    worked: tuple[Storage, Two, tuple[str, str]], as_printed: AsPrinted
) -> None:
    book, _, trials = worked
    found = compared(book, trials)
    cells = found.results.heads[0].bands[0].cells
    assert [cell.tally.words for cell in cells] == [PRINTED["Through, first trial"], PRINTED["Through, second trial"]]
    means = [cell.energy.mean for cell in cells]
    as_printed(means[0].value - means[1].value, "0.51")
    assert "0.51 J for all shots, is 0.6 %" in WORDS and round(100 * (means[0].value / means[1].value - 1), 1) == 0.6
    for (hits, shots), which in (((5, 6), "first"), ((1, 6), "second")):
        interval = wilson_interval(hits, shots)
        as_printed(interval.low, PRINTED[f"Low end of the {which} share (Wilson)"])
        as_printed(interval.high, PRINTED[f"High end of the {which} share (Wilson)"])
    pair = pair_of_trials(found)
    assert pair.found.way == "levels" and pair.raw and pair.corrected
    as_printed(pair.found.ratio or 0, PRINTED["Ratio of the odds"])
    as_printed(pair.raw.low or 0, PRINTED["Low end of the ratio"])
    as_printed(pair.raw.high or 0, PRINTED["High end of the ratio"])
    as_printed(pair.found.p_value or 0, PRINTED["p by itself"])
    as_printed(pair.corrected.low or 0, PRINTED["Low end, looks paid for"])
    as_printed(pair.corrected.high or 0, PRINTED["High end, looks paid for"])
    ways = [math.comb(6, t) * math.comb(6, 6 - t) for t in range(7)]
    assert ways == [1, 36, 225, 400, 225, 36, 1] and sum(ways) == 924 and pair.found.p_value == pytest.approx(38 / 924)
    assert pair.verdict == "not_shown" and "not shown, and not shown to be alike" in said(found.results.heads[0].told[0])


def test_like_with_like_is_as_open_as_the_page_says(worked: tuple[Storage, Two, tuple[str, str]], as_printed: AsPrinted) -> None:
    book, _, trials = worked
    found = compared(book, trials, alike="yes")
    cells = found.results.heads[0].bands[0].cells
    assert cells[1].tally.words == PRINTED["Through, second trial, archer A"]
    interval = wilson_interval(1, 4)
    as_printed(interval.low, PRINTED["Low end of that share (Wilson)"])
    as_printed(interval.high, PRINTED["High end of that share (Wilson)"])
    pair = pair_of_trials(found)
    assert pair.raw
    as_printed(pair.found.ratio or 0, PRINTED["Ratio of the odds, archer A"])
    as_printed(pair.raw.low or 0, PRINTED["Low end of the ratio, archer A"])
    as_printed(pair.raw.high or 0, PRINTED["High end of the ratio, archer A"])
    as_printed(pair.found.p_value or 0, PRINTED["p by itself, archer A"])


def test_no_figure_of_a_table_is_left_unchecked() -> None:
    source = Path(__file__).read_text(encoding="utf-8")
    plain = {
        label.replace("first trial", "{which} trial")
        .replace("second trial", "{which} trial")
        .replace("the first share", "the {which} share")
        .replace("the second share", "the {which} share")
        for label in PRINTED
    }
    unchecked = [
        label
        for label in plain
        if label not in source and label.replace("{which}", "first") not in source and label.replace("{which}", "second") not in source
    ]
    assert unchecked == []
