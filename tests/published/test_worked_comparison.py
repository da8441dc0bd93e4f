"""The guide's comparison of two trials, worked again: through the book with the page's own readings, every figure and finding of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from statistics import fmean, stdev

import pytest

from server.findings.comparison.kinds import KINDS
from server.findings.comparison.levels import level_pair
from server.findings.trials_compared.page import TrialComparison, read_trial_comparison
from server.pages.guide import read_page
from server.statistics.shares import wilson_interval
from server.storage import Storage
from tests import kit_for_tests as kit
from tests.trials_for_tests import Shot, Two, shoot, yard_of_two

AsPrinted = Callable[[float, str], None]
PAGE = read_page(Path(__file__).resolve().parents[2] / "static" / "guide" / "comparing-trials.md")
TABLES = {block.rows[0][0]: block.rows[1:] for block in PAGE.blocks if block.sort == "table"}
SHOTS = (TABLES["First, shot"], TABLES["Second, shot"])
# Label -> what the page prints beside it, the unit cut off; counts keep their words.
PRINTED = {row[0]: row[1].removesuffix(" J") for head, rows in TABLES.items() for row in rows if len(row) == 2 and head != "Thing"}
WORDS = " ".join(words for block in PAGE.blocks for words, _ in block.pieces)


def compared(book: Storage, trials: tuple[str, str], *, alike: str = "") -> TrialComparison:
    query = {"trial": list(trials), "at": ["chronograph"], "edges": ["70, 90"], "alike": [alike]}
    with book.read() as session:
        return read_trial_comparison(session, query, reader="metric")


@pytest.fixture
def worked(book: Storage) -> tuple[Storage, Two, tuple[str, str]]:
    """Both trials as the page has them, typed as a person would."""
    two = yard_of_two(book)
    who = {"Wren": two.wren, "Tallow": two.tallow}
    first, second = ([Shot(who[row[1]], f"{row[2]} m/s", row[3]) for row in rows] for rows in SHOTS)
    before = shoot(book, two, first, question="Does the long needle get behind 1.2 mm plate?")
    reground = kit.new_arrow_build(book, two.arrow, masses=())
    for mass in ("59.9 g", "60.0 g", "59.9 g"):
        kit.mass_reading(book, reground.build, mass, instrument=two.scale)
    after = shoot(
        book, two, second, question="And behind 1.6 mm?", day="2026-10-17", panel=two.thicker, arrow_build=reground.build, follows=before,
        weather={"temperature": "6 °C", "weather": "damp"},
    )  # fmt: skip
    return book, two, (before, after)


def test_what_changed_is_what_the_page_says(worked: tuple[Storage, Two, tuple[str, str]]) -> None:
    found = compared(worked[0], worked[2])
    assert found.title == "Changed for every shot: the sort of panel, the arrows themselves and the day with its weather"
    assert found.between[0].some == ("who loosed",) and found.between[0].alike == (6, 4)
    status = {row.key: row.status for row in found.rows}
    page = {row[0].partition(":")[0]: row[1] for row in TABLES["Thing"]}
    for label, keys in {"Sort of panel": ("sort",), "Arrow": ("arrow",), "Day and weather": ("day", "weather"), "Loosed by": ("archer",)}.items():
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
        mine = [shot.impact.energy_at_chronograph_j.value for shot in column.counted.counted]  # type: ignore[union-attr]
        for value, row in zip(mine, rows, strict=True):
            as_printed(value, row[4])
        energies.append([value for value, row in zip(mine, rows, strict=True) if row[1] == "Wren"])
    for values, which in zip(energies, ("first", "second"), strict=True):
        as_printed(fmean(values), PRINTED[f"Mean energy, {which} trial"])
        as_printed(stdev(values), PRINTED[f"Scatter of the single shots, {which} trial"])
    apart = fmean(energies[0]) - fmean(energies[1])
    doubt = math.hypot(*(stdev(values) / math.sqrt(len(values)) for values in energies))
    as_printed(apart, PRINTED["Difference of the two means"])
    as_printed(doubt, PRINTED["Standard uncertainty of that difference"])
    assert apart < 2 * doubt
    (row,) = [row for row in found.rows if row.key == f"energy-{two.bow.build}-{two.wren}"]
    assert row.status == "same" and "well within twice that" in WORDS


def test_the_counts_and_how_far_they_lie_apart_are_those_of_the_page(worked: tuple[Storage, Two, tuple[str, str]], as_printed: AsPrinted) -> None:
    book, _, trials = worked
    found = compared(book, trials)
    cells = found.results.heads[0].bands[0].cells  # type: ignore[union-attr]
    assert [cell.tally.words for cell in cells] == [PRINTED["Behind, first trial"], PRINTED["Behind, second trial"]]
    means = [cell.energy.mean for cell in cells]  # type: ignore[union-attr]
    as_printed(means[0].value - means[1].value, "0.51")
    for mean, printed in zip(means, ("0.488", "0.487"), strict=True):
        as_printed(mean.standard_uncertainty or 0, printed)
    assert "0.51 J for all shots" in WORDS and "0.488² + 0.487² = 0.69 J" in WORDS
    for (hits, shots), which in (((5, 6), "first"), ((1, 6), "second")):
        interval = wilson_interval(hits, shots)
        as_printed(interval.low, PRINTED[f"Low end of the {which} share (Wilson)"])  # type: ignore[union-attr]
        as_printed(interval.high, PRINTED[f"High end of the {which} share (Wilson)"])  # type: ignore[union-attr]
    gap = level_pair(*cells, kind=KINDS["trial"], level=0.95).gap
    assert gap is not None
    as_printed(gap.difference_low, PRINTED["Difference of the shares"])
    as_printed(gap.low, PRINTED["Low end of the difference"])
    as_printed(gap.high, PRINTED["High end of the difference"])
    assert found.results.heads[0].bands[0].said == ("Trial 1 against Trial 2: 67 points more; the true difference may be from 11 to 86 points more (95\u00a0%).",)  # type: ignore[union-attr]
    assert "67 points of a hundred more" in WORDS and "from 11 to 86" in WORDS


def test_like_with_like_is_as_open_as_the_page_says(worked: tuple[Storage, Two, tuple[str, str]], as_printed: AsPrinted) -> None:
    book, _, trials = worked
    found = compared(book, trials, alike="yes")
    cells = found.results.heads[0].bands[0].cells  # type: ignore[union-attr]
    assert cells[1].tally.words == PRINTED["Behind, second trial, Wren"]
    interval = wilson_interval(1, 4)
    as_printed(interval.low, PRINTED["Low end of that share (Wilson)"])  # type: ignore[union-attr]
    as_printed(interval.high, PRINTED["High end of that share (Wilson)"])  # type: ignore[union-attr]
    gap = level_pair(*cells, kind=KINDS["trial"], level=0.95).gap
    assert gap is not None
    as_printed(gap.difference_low, PRINTED["Difference of the shares, Wren"])
    as_printed(gap.low, PRINTED["Low end of the difference, Wren"].replace("−", "-"))
    as_printed(gap.high, PRINTED["High end of the difference, Wren"])
    assert "from 2 points less to 83 more" in WORDS


def test_the_page_adds_up_by_itself() -> None:
    """From its own printed figures, without our formulas: the ends of the shares by Wilson's sum, the difference by squares."""
    z = 1.959964
    figures = {name: float(words.replace("−", "-")) for name, words in PRINTED.items() if " of " not in words}
    for (hits, shots), low, high in (
        ((5, 6), "Low end of the first share (Wilson)", "High end of the first share (Wilson)"),
        ((1, 6), "Low end of the second share (Wilson)", "High end of the second share (Wilson)"),
        ((1, 4), "Low end of that share (Wilson)", "High end of that share (Wilson)"),
    ):
        middle, half = hits + z * z / 2, z * math.sqrt(hits * (shots - hits) / shots + z * z / 4)
        assert (middle - half) / (shots + z * z) == pytest.approx(figures[low], abs=0.00006)
        assert (middle + half) / (shots + z * z) == pytest.approx(figures[high], abs=0.00006)
    for shots, low, high, name in (
        (6, "Low end of the second share (Wilson)", "High end of the second share (Wilson)", ""),
        (4, "Low end of that share (Wilson)", "High end of that share (Wilson)", ", Wren"),
    ):
        apart = 5 / 6 - 1 / shots
        assert apart == pytest.approx(figures[f"Difference of the shares{name}"], abs=0.00006)
        least = apart - math.hypot(5 / 6 - figures["Low end of the first share (Wilson)"], figures[high] - 1 / shots)
        most = apart + math.hypot(figures["High end of the first share (Wilson)"] - 5 / 6, 1 / shots - figures[low])
        assert least == pytest.approx(figures[f"Low end of the difference{name}"], abs=0.0002)
        assert most == pytest.approx(figures[f"High end of the difference{name}"], abs=0.0002)
    assert sum(int(row[3]) >= 4 for row in SHOTS[0]) == 5 and sum(int(row[3]) >= 4 for row in SHOTS[1]) == 1


def test_no_figure_of_a_table_is_left_unchecked() -> None:
    source = Path(__file__).read_text(encoding="utf-8")
    plain = {label.replace("first trial", "{which} trial").replace("second trial", "{which} trial").replace("the first share", "the {which} share").replace("the second share", "the {which} share") for label in PRINTED}
    unchecked = [label for label in plain if label not in source and label.replace("{which}", "first") not in source and label.replace("{which}", "second") not in source]
    assert unchecked == []
