"""One pair, one answer: the family that a pair pays with, its reference, and what makes no difference to it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from proofyard.quantities.reason import because
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.views.comparable import KINDS
from proofyard.views.pair_comparison import Pair, PairFamily, pair_families, pair_notes, pair_told, pair_verdict, reference_told
from proofyard.views.settings import ViewSettings
from proofyard.wording.reasons.said import said

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.pairs_for_tests import AT_THE_CHRONOGRAPH, book_of, fixed_levels, made
from tests.results_for_tests import book, filled, filled_once, loosed  # noqa: F401


@pytest.fixture
def one(loosed: Loosed) -> LoosedShot:
    """A fair shot with the long needle bodkin at plate, which the made-up ones are copies of."""
    for trial in loosed.trials.values():
        trial.varied, trial.question, trial.stop_rule, trial.stop_shots = "head form", "What gets through?", "shots", 1
    return next(shot for shot in loosed.shots if shot.fact.label == "A1")


def family_of(loosed: Loosed, settings: ViewSettings = AT_THE_CHRONOGRAPH, kind: str = "form") -> PairFamily:
    (found,) = pair_families(loosed, settings, kind=KINDS[kind])
    return found


def only(family: PairFamily) -> Pair:
    (pair,) = family.pairs
    return pair


NEEDLE, LEAF, BARBED = "244445555", "222224244", "222222224"


def three(loosed: Loosed, one: LoosedShot) -> Loosed:
    return book_of(loosed, fixed_levels(one, "needle", NEEDLE), fixed_levels(one, "leaf", LEAF), fixed_levels(one, "barbed", BARBED)[:8])


def test_two_heads_over_the_same_levels_are_compared_by_the_curve(loosed: Loosed, one: LoosedShot) -> None:
    pair = only(family_of(book_of(loosed, fixed_levels(one, "needle", NEEDLE), fixed_levels(one, "leaf", LEAF))))
    assert pair.found.way == "curve" and pair.found.ratio is not None and pair.found.ratio > 1
    assert pair.verdict == "first" and pair.shown and "The leaf needs " in said(pair_told(pair)) and said(pair_told(pair)).endswith("shown")
    assert said(pair_verdict(pair)) == "Shown: the long needle bodkin gets through more easily"


def test_a_pair_has_one_answer_whoever_else_is_shown_and_however_a_page_draws_it(loosed: Loosed, one: LoosedShot) -> None:
    shots = three(loosed, one)
    answers = set()
    for settings in (
        AT_THE_CHRONOGRAPH,
        replace(AT_THE_CHRONOGRAPH, heads=("needle", "leaf")),
        replace(AT_THE_CHRONOGRAPH, edges=(70.0, 90.0)),
        replace(AT_THE_CHRONOGRAPH, axis="energy", rows="form", method="wilson", alike="0.5"),
    ):
        pair = family_of(shots, settings).pair("leaf", "needle")
        assert pair is not None
        answers.add((pair_told(pair), pair.verdict))
    assert len(answers) == 1


def test_the_head_shot_most_is_the_reference_and_the_others_share_the_correction(loosed: Loosed, one: LoosedShot) -> None:
    shots = book_of(loosed, fixed_levels(one, "leaf", LEAF), fixed_levels(one, "needle", NEEDLE) * 2, fixed_levels(one, "barbed", BARBED))
    family = family_of(shots)
    assert family.reference == "needle"
    assert [pair.key for pair in family.pairs] == ["needle~leaf", "needle~barbed"]
    levels = [pair.corrected.level for pair in family.pairs if pair.corrected]
    assert levels == pytest.approx([0.975, 0.975])
    assert reference_told(family).parts["shots"] == 18


def test_a_pair_beside_the_reference_pays_for_all_pairs_there_are(loosed: Loosed, one: LoosedShot) -> None:
    shots = book_of(loosed, fixed_levels(one, "leaf", LEAF), fixed_levels(one, "needle", NEEDLE) * 2, fixed_levels(one, "barbed", BARBED))
    (beyond,) = family_of(shots).beyond
    assert beyond.key == "leaf~barbed" and beyond.beyond and beyond.questions == 3
    assert beyond.corrected is not None and beyond.corrected.level == pytest.approx(1 - 0.05 / 3)


def test_the_pair_that_the_trial_names_is_judged_first_at_four_in_a_hundred(loosed: Loosed, one: LoosedShot) -> None:
    for trial in loosed.trials.values():
        trial.question = "Is the barbed head worse than the leaf?"
    family = family_of(three(loosed, one))
    assert family.declared.pair == ("leaf", "barbed") and family.reference == "leaf"
    named, other = family.pairs
    assert named.named and named.corrected and named.corrected.level == pytest.approx(0.96)
    assert other.corrected and other.corrected.level == pytest.approx(0.975 if named.shown else 0.99)


def test_once_the_named_pair_is_shown_the_others_share_all_of_it(loosed: Loosed, one: LoosedShot) -> None:
    for trial in loosed.trials.values():
        trial.question = "Is the barbed head worse than the needle?"
    shots = book_of(
        loosed, fixed_levels(one, "needle", "255555555") * 2, fixed_levels(one, "leaf", LEAF), fixed_levels(one, "barbed", "222222224") * 2
    )
    named, other = family_of(shots).pairs
    assert named.named and named.shown and other.corrected and other.corrected.level == pytest.approx(0.95)


def test_two_heads_picked_out_of_four_were_not_named_and_two_alone_were(loosed: Loosed, one: LoosedShot) -> None:
    two = book_of(loosed, fixed_levels(one, "needle", NEEDLE), fixed_levels(one, "leaf", LEAF))
    assert family_of(two).declared.reason.code == "trial_shot_these"
    elsewhere = fixed_levels(one, "barbed", BARBED, construction="mail", thickness_m=None)
    families = pair_families(book_of(loosed, two.shots, elsewhere), AT_THE_CHRONOGRAPH)
    assert {family.key: family.declared.reason.code for family in families}["plate-1.6"] == "trial_names_no_two"
    for varied, code in (("bow", "trial_varies_other"), (None, "trial_does_not_say")):
        for trial in loosed.trials.values():
            trial.varied = varied
        assert family_of(two).declared.reason.code == code
    mixed = book_of(
        loosed,
        fixed_levels(one, "needle", NEEDLE),
        fixed_levels(one, "leaf", LEAF, trial_id=next(t for t in loosed.trials if t != one.fact.trial_id)),
    )
    assert family_of(mixed).declared.reason == because("of_several_trials", trials=2)


def test_looks_on_the_way_pay_until_a_number_set_beforehand_is_reached(loosed: Loosed, one: LoosedShot) -> None:
    shots = book_of(loosed, fixed_levels(one, "needle", NEEDLE), fixed_levels(one, "leaf", LEAF))
    (trial,) = [loosed.trials[one.fact.trial_id]]
    levels = {}
    for number, state in ((18, "open"), (19, "open"), (19, "closed"), (None, "open")):
        trial.stop_shots, trial.state = number, state
        pair = only(family_of(shots))
        assert pair.corrected is not None
        levels[number, state] = (pair.looks, round(pair.corrected.level, 4))
    assert levels == {
        (18, "open"): ("set", 0.95),
        (19, "open"): ("before", 0.997),
        (19, "closed"): ("not set", 0.9842),
        (None, "open"): ("not set", 0.9842),
    }


def test_panel_types_are_families_of_their_own(loosed: Loosed, one: LoosedShot) -> None:
    plate = book_of(loosed, fixed_levels(one, "needle", NEEDLE), fixed_levels(one, "leaf", LEAF))
    mail = [
        *fixed_levels(one, "needle", LEAF, construction="mail", thickness_m=None),
        *fixed_levels(one, "leaf", LEAF, construction="mail", thickness_m=None),
    ]
    alone = pair_told(only(family_of(plate)))
    families = {family.key: family for family in pair_families(book_of(loosed, plate.shots, mail), AT_THE_CHRONOGRAPH)}
    assert len(families) == 2 and pair_told(only(families["plate-1.6"])) == alone


def test_panels_days_and_trials_are_compared_with_one_head_alone(loosed: Loosed, one: LoosedShot) -> None:
    other_trial = next(key for key in loosed.trials if key != one.fact.trial_id)
    for kind, fact in (
        ("panel", {"panel_id": "other", "panel_name": "Other", "thickness_m": 0.002}),
        ("session", {"session_id": "other", "day": "2026-10-18"}),
        ("trial", {"trial_id": other_trial, "question": "Another?", "construction": "mail", "thickness_m": None}),
    ):
        shots = book_of(
            loosed, fixed_levels(one, "needle", NEEDLE), fixed_levels(one, "needle", LEAF, **fact), fixed_levels(one, "leaf", LEAF)
        )
        families = {family.key.partition("+")[0]: family for family in pair_families(shots, AT_THE_CHRONOGRAPH, kind=KINDS[kind])}
        assert only(families["needle"]).found.way == "curve"
        assert not families["leaf"].pairs and families["leaf"].levels is None


def test_a_combination_that_shot_both_widens_nothing(loosed: Loosed, one: LoosedShot) -> None:
    """Own uncertainties of two heads' combinations join; where one combination shot both panels they cancel."""
    heads = only(family_of(book_of(loosed, fixed_levels(one, "needle", NEEDLE), fixed_levels(one, "leaf", LEAF))))
    shots = book_of(loosed, fixed_levels(one, "needle", NEEDLE), fixed_levels(one, "needle", LEAF, panel_id="other", panel_name="Other"))
    panels = only(family_of(shots, kind="panel"))
    assert panels.found.own_relative == 0 <= heads.found.own_relative


def test_few_shots_at_one_energy_are_compared_within_the_level(loosed: Loosed, one: LoosedShot) -> None:
    shots = book_of(loosed, made(one, "needle", [(60.0, "4")] * 4), made(one, "leaf", [(60.5, "2")] * 4))
    pair = only(family_of(shots))
    assert pair.found.way == "levels" and pair.found.p_value == pytest.approx(1 / 70) and pair.verdict == "first"
    assert "the odds of the long needle bodkin to get through are at least" in said(pair_told(pair))


def test_energies_that_do_not_meet_compare_nothing(loosed: Loosed, one: LoosedShot) -> None:
    pair = only(family_of(book_of(loosed, made(one, "needle", [(60.0, "2")] * 4), made(one, "leaf", [(90.0, "4")] * 4))))
    assert pair.verdict == "apart" and not pair.shown
    less = only(family_of(book_of(loosed, made(one, "needle", [(60.0, "4")] * 4), made(one, "leaf", [(90.0, "2")] * 4))))
    assert less.verdict == "first" and "had less energy" in said(pair_told(less))


def test_undecided_shots_are_left_out_and_said(loosed: Loosed, one: LoosedShot) -> None:
    pair = only(family_of(book_of(loosed, fixed_levels(one, "needle", "2o4445555"), fixed_levels(one, "leaf", LEAF))))
    assert len(pair.first.shots) + len(pair.second.shots) == 17
    assert because("pair_undecided", shots=1) in pair_notes(pair)


def test_energies_chosen_by_the_outcomes_are_paid_for(loosed: Loosed, one: LoosedShot) -> None:
    plain = only(family_of(book_of(loosed, fixed_levels(one, "needle", NEEDLE), fixed_levels(one, "leaf", LEAF))))
    chosen = {"next_shot_rule": "up_and_down"}
    pays = only(family_of(book_of(loosed, fixed_levels(one, "needle", NEEDLE, **chosen), fixed_levels(one, "leaf", LEAF, **chosen))))
    assert pays.chosen and not plain.chosen and because("pair_of_chosen_energies") in pair_notes(pays)
    assert plain.raw and pays.raw and (pays.raw.low or 0) < (plain.raw.low or 0)
