"""The page of comparisons: groups, its one finding, ranks within levels, each refusal. Pairs: views/test_pair_comparison.py."""

from __future__ import annotations

from dataclasses import replace

import pytest
from proofyard.answers.compare.groups import ShotGroup, compare_groups, confounders_of
from proofyard.answers.compare.page import CompareFindings, comparison_of
from proofyard.answers.compare.ranks import by_depth, by_ranks, outcome_level_bounds
from proofyard.answers.compare.told import told_of
from proofyard.quantities.reason import CantTell, because
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.statistics.comparing_by_ranks import compare_depths
from proofyard.views.axes import Band
from proofyard.views.comparable import KINDS
from proofyard.views.pair_comparison import Pair, pair_families, pair_told
from proofyard.views.settings import Through
from proofyard.wording.reasons.said import said

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.pairs_for_tests import AT_THE_CHRONOGRAPH, book_of, fixed_levels, made
from tests.results_for_tests import Filled, book, filled, filled_once, loosed  # noqa: F401


@pytest.fixture
def one(loosed: Loosed) -> LoosedShot:
    """A fair shot with the long needle bodkin at plate, which the made-up ones are copies of."""
    return next(shot for shot in loosed.shots if shot.fact.label == "A1")


def pair_of(loosed: Loosed, *shots: list[LoosedShot]) -> Pair:
    (family,) = pair_families(book_of(loosed, *shots), AT_THE_CHRONOGRAPH)
    (pair,) = family.pairs
    return pair


def test_energy_is_not_taken_for_the_head(loosed: Loosed, one: LoosedShot) -> None:
    """The needle was shot mostly at the strong level, the leaf mostly at the weak one; within each they are alike."""
    pair = pair_of(
        loosed, made(one, "needle", [(50.0, "1")] * 2 + [(70.0, "5")] * 8), made(one, "leaf", [(50.0, "1")] * 8 + [(70.0, "5")] * 2)
    )
    found = by_ranks(pair, outcome_level_bounds)
    assert not isinstance(found, CantTell) and found.p_value == 1.0 and found.higher_share == 0.5


def test_depth_by_ranks_at_one_level_is_mann_and_whitneys(loosed: Loosed, one: LoosedShot) -> None:
    """Four against four, wholly apart: 2 of 70 ways, 0.0286; the same p as compare_depths gives."""
    ours, theirs = [0.012, 0.020, 0.025, 0.031], [0.005, 0.006, 0.008, 0.011]
    sides = [
        [shot for depth in depths for shot in made(one, form, [(60.0, "4")], depth_m=depth)]
        for form, depths in (("needle", ours), ("leaf", theirs))
    ]
    pair = pair_of(loosed, *sides)
    found, direct = by_depth(pair), compare_depths(ours, theirs)
    assert not isinstance(found, CantTell) and not isinstance(direct, CantTell)
    assert found.p_value == pytest.approx(2 / 70) == pytest.approx(direct.p_value)
    told = [said(reason) for reason in told_of(pair, kind=KINDS["form"], through=Through())]
    assert any("exploratory" in words and "uncorrected" in words for words in told)


def test_a_tip_that_is_not_behind_is_the_least_deep_of_all(loosed: Loosed, one: LoosedShot) -> None:
    behind = [shot for depth in (0.004, 0.005, None, 0.01) for shot in made(one, "needle", [(60.0, "4")], depth_m=depth)]
    depth = by_depth(pair_of(loosed, behind, made(one, "leaf", [(60.0, "2")] * 4)))
    # The one behind that nobody measured is still deeper than what is not behind.
    assert not isinstance(depth, CantTell) and depth.higher_share == 1.0


def test_depth_says_nothing_while_nothing_is_behind_or_measured(loosed: Loosed, one: LoosedShot) -> None:
    none = by_depth(pair_of(loosed, made(one, "needle", [(60.0, "2")] * 4), made(one, "leaf", [(60.0, "3")] * 4)))
    assert isinstance(none, CantTell) and none.reason.code == "no_point_through_in_either"
    unmeasured = by_depth(pair_of(loosed, made(one, "needle", [(60.0, "4")] * 4), made(one, "leaf", [(60.0, "3")] * 4)))
    assert isinstance(unmeasured, CantTell) and unmeasured.reason.code == "no_depth_measured"


def test_a_level_whose_energies_differ_says_who_had_more(loosed: Loosed, one: LoosedShot) -> None:
    pair = pair_of(loosed, made(one, "needle", [(62.9, "4")] * 4), made(one, "leaf", [(60.0, "2")] * 4))
    told = " ".join(said(reason) for reason in told_of(pair, kind=KINDS["form"], through=Through()))
    assert "The long needle bodkin had 4.7\N{NO-BREAK SPACE}% more energy than the leaf" in told
    assert isinstance(by_ranks(pair, outcome_level_bounds), CantTell)


def test_what_goes_together_with_the_groups_is_said(loosed: Loosed, one: LoosedShot) -> None:
    pair = pair_of(loosed, fixed_levels(one, "needle", "244445555", archer="Wren"), fixed_levels(one, "leaf", "222224244", archer="Tallow"))
    assert confounders_of(pair, KINDS["form"]) == ("archer",)


@pytest.mark.parametrize(("groups", "reason"), [(0, "no_group_counted"), (1, "only_one_group_counted")])
def test_one_group_has_nothing_to_be_compared_with(one: LoosedShot, loosed: Loosed, groups: int, reason: str) -> None:
    pair = pair_of(loosed, fixed_levels(one, "needle", "244445555"), fixed_levels(one, "leaf", "222224244"))
    some = [ShotGroup(pair.first.row, pair.first.shots), ShotGroup(pair.second.row, ())][1 - groups :]
    found = compare_groups(some, bands=(Band(40, 60),), families=(), method="mid-p")
    assert isinstance(found, CantTell) and found.reason.code == reason


# The page's findings, on the filled book


def page(loosed: Loosed, **query: object) -> CompareFindings:
    return comparison_of(loosed, {name: [value] if isinstance(value, str) else value for name, value in query.items()})


def test_the_groups_counts_are_those_of_the_results_page(loosed: Loosed) -> None:
    """The same hand count as in test_results: one-piece plate, bands at 70, 90, 110 J."""
    found = page(loosed, construction="plate", edges="70, 90, 110, 130")
    assert found.comparison is not None
    counts = {group.key: [cell.tally.words for cell in group.cells] for group in found.comparison.groups}
    assert counts["needle"] == ["1 of 5", "6 of 8", "5 of 5"] and counts["barbed"] == ["0 of 3", "0 of 5", "0 of 5"]
    assert found.counted + sum(row.count for row in found.left_out) == found.loosed


def test_every_group_says_what_of_it_counts_and_what_does_not(loosed: Loosed, filled: Filled) -> None:
    found = page(loosed, by="panel", of=[filled.panels[name].panel for name in ("P1", "P5", "L1")])
    counts = {one.row.words: one.counts for one in found.groups}
    assert counts["P5"] == because("group_counted", counted=0, loosed=1, apart=("1 fairness undecided (not tested)",))
    assert counts["L1"] == because("group_counted", counted=0, loosed=1, apart=("1 through a gap",))


def test_nothing_read_and_all_on_damaged_spots_are_said_so(loosed: Loosed) -> None:
    blind = [replace(shot, fact=replace(shot.fact, hit=None, outcome_low=None)) for shot in loosed.shots]
    found = page(replace(loosed, shots=tuple(blind)))
    assert found.finding.title == because("nothing_to_compare", why=because("no_group_counted"))
    assert all("unread" in said(one) for one in found.finding.more)
    worn = [replace(shot, fair=replace(shot.fair, answer="not_fair", sort="near")) if shot.fair else shot for shot in loosed.shots]
    assert any("not fair" in said(one) for one in page(replace(loosed, shots=tuple(worn))).finding.more)


def test_wrong_answers_get_a_sentence_and_the_rest_is_kept(loosed: Loosed) -> None:
    found = page(loosed, by="colour", of="needle", edges="low", construction="plate")
    assert set(found.compare.problems) == {"by", "of"} and set(found.asked.problems) == {"edges"}
    assert found.settings.only == {"construction": "plate"} and found.compare.kind.key == "form"
    assert page(loosed, of=["needle", "dragon"]).compare.problems["of"].startswith("One that you ticked")


def test_more_groups_than_questions_can_bear_are_cut_by_number_alone(loosed: Loosed) -> None:
    found = page(loosed, by="head")
    assert len(found.compare.groups) == 5 and found.compare.unpicked == len(found.compare.offered) - 5
    every = [row.key for row in found.compare.offered]
    assert "6" not in page(loosed, by="head", of=every[:5]).compare.problems.get("of", "")
    assert page(loosed, by="head", of=every[:6]).compare.problems["of"].startswith("Tick 5 at most")


def test_the_finding_is_a_pair_that_is_shown_or_says_that_none_is(loosed: Loosed, one: LoosedShot) -> None:
    shown = book_of(loosed, fixed_levels(one, "needle", "255555555") * 2, fixed_levels(one, "leaf", "222222224") * 2)
    found = page(shown, at="chronograph")
    (family,) = found.comparison.families if found.comparison else ()
    assert found.finding.title == pair_told(family.pairs[0]) and family.pairs[0].shown
    alike = book_of(loosed, fixed_levels(one, "needle", "222444455"), fixed_levels(one, "leaf", "222444455"))
    assert page(alike, at="chronograph").finding.title.code == "no_difference_between"
    apart = book_of(loosed, made(one, "needle", [(60.0, "2")] * 3), made(one, "leaf", [(90.0, "4")] * 3))
    assert page(apart, at="chronograph").finding.title == because("not_at_equal_energy")
    few = book_of(loosed, made(one, "needle", [(60.0, "4")] * 2), made(one, "leaf", [(60.0, "2")] * 2))
    assert page(few, at="chronograph").finding.title == because("too_few_whatever_their_outcomes")


def test_pairs_beside_the_reference_are_shown_on_asking_only(loosed: Loosed) -> None:
    plain = page(loosed, construction="plate")
    picked = page(loosed, construction="plate", of=["leaf", "barbed"])
    assert plain.families and not plain.families[0].more
    assert [line.pair for line in picked.families[0].more] == ["Leaf against barbed broadhead"] and not picked.families[0].lines


def test_energies_chosen_by_the_outcomes_are_told_by_level_or_not_at_all(loosed: Loosed) -> None:
    for trial in loosed.trials.values():
        trial.next_shot_rule = "up_and_down"
    by_level = page(loosed, construction="plate", edges="70, 90, 110, 130")
    assert by_level.to_check[0].kind == "chosen_energies" and by_level.finding.title.code != "no_totals"
    assert page(loosed, construction="plate", edges="0").finding.title == because("no_totals")


def test_what_the_tool_minds_stands_beside_the_comparison(loosed: Loosed) -> None:
    """The barbed broadhead of one bow were all one arrow's, and every shot of the day was Wren's or without an energy."""
    kinds = {caveat.kind for caveat in page(loosed, construction="plate").to_check}
    assert kinds, "a hundred shots of a dozen arrows on a few panels without anything to mind"
    assert not {caveat.kind for caveat in page(loosed, by="panel").to_check} & {"one_panel", "head_and_panel"}
