"""Garment and backing are part of a panel type: panels before one sort of them are no evidence of panels before another."""

from __future__ import annotations

from dataclasses import replace

import pytest
from proofyard.answers.compare.groups import confounders_of
from proofyard.answers.compare.page import comparison_of
from proofyard.answers.results.page import results_of
from proofyard.answers.what_if.page import WhatIf, read_what_if
from proofyard.exchange.fetched import fetch
from proofyard.exchange.shots_csv import COLUMNS, shots_table
from proofyard.pages.frame.forms import controls_of
from proofyard.pages.results.page import view_fields
from proofyard.quantities.reason import because
from proofyard.records.shot_facts import Behind, LayerBehind, ShotFact, shot_facts
from proofyard.shots.loosed import Loosed, load_loosed
from proofyard.storage import Storage
from proofyard.views.comparable import KINDS
from proofyard.views.counted import ask
from proofyard.views.pair_comparison import pair_families
from proofyard.views.panel_type import backing_of, garment_of, panel_alone_of, panel_type_of
from proofyard.views.settings import ViewSettings
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit
from tests.trials_for_tests import Two, plain_shots, shoot, yard_of_two

CLAY = {"role": "backing", "material": "clay", "thickness": "90 mm"}
LINEN = {"role": "garment", "material": "Quilted linen ", "thickness": "9 mm"}
WOOL = {"role": "garment", "material": "wool", "thickness": "2.5 mm"}
OVER_LINEN, OVER_WOOL = "plate-1.2-over-9_mm_quilted_linen", "plate-1.2-over-2_5_mm_wool"


def stand_of(book: Storage, *layers: dict[str, str]) -> str:
    made = kit.stand(book)
    # Typed from the back to the front: their place says the order.
    for place, layer in reversed([*enumerate(layers, start=1)]):
        kit.put(book, "stand_layer", {"stand": made, "place": str(place), **layer})
    return made


@pytest.fixture
def two(book: Storage) -> Two:
    """P1, 1.2 mm, over linen and then over wool; P2, 1.6 mm, over linen alone; clay behind all."""
    yard = yard_of_two(book)
    linen, wool = stand_of(book, LINEN, CLAY), stand_of(book, WOOL, CLAY)
    shoot(book, yard, plain_shots(yard.wren, "454444"), stand=linen)
    shoot(book, yard, plain_shots(yard.wren, "333233"), stand=wool, day="2026-10-11", spot=6)
    shoot(book, yard, plain_shots(yard.wren, "333333"), stand=linen, day="2026-10-12", panel=yard.thicker)
    return yard


def facts_of(book: Storage) -> list[ShotFact]:
    with book.read() as session:
        return shot_facts(session)


def loosed_of(book: Storage) -> Loosed:
    with book.read() as session:
        return load_loosed(session)


def test_a_shot_knows_the_layers_behind_its_panel_from_the_front_in_the_case_that_two_people_would_share(book: Storage) -> None:
    yard = yard_of_two(book)
    shoot(book, yard, stand=stand_of(book, LINEN, WOOL, {"role": "witness", "material": "paper"}, CLAY))
    fact = facts_of(book)[0]
    assert fact.behind.garment == (LayerBehind("quilted linen", 0.009), LayerBehind("wool", 0.0025))
    assert fact.behind.backing == (LayerBehind("clay", 0.09),)
    assert garment_of(fact) == (
        "9_mm_quilted_linen_and_2_5_mm_wool",
        "9\N{NO-BREAK SPACE}mm quilted linen and 2.5\N{NO-BREAK SPACE}mm wool",
    )
    assert backing_of(fact) == ("90_mm_clay", "90\N{NO-BREAK SPACE}mm clay")


def test_what_all_panels_of_a_sort_share_is_not_named_and_what_differs_is(book: Storage, two: Two) -> None:
    named = dict.fromkeys(panel_type_of(fact) for fact in facts_of(book))
    plate = "1.2\N{NO-BREAK SPACE}mm one-piece plate"
    assert list(named) == [
        (OVER_LINEN, f"{plate} over 9\N{NO-BREAK SPACE}mm quilted linen"),
        (OVER_WOOL, f"{plate} over 2.5\N{NO-BREAK SPACE}mm wool"),
        ("plate-1.6", "1.6\N{NO-BREAK SPACE}mm one-piece plate"),
    ]
    assert {panel_alone_of(fact)[0] for fact in facts_of(book)} == {"plate-1.2", "plate-1.6"}


def test_a_shot_knows_that_garments_differ_whichever_shots_are_asked_for(book: Storage, two: Two) -> None:
    day = facts_of(book)[0]
    with book.read() as session:
        alone = shot_facts(session, trial_id=day.trial_id)
    assert {panel_type_of(fact)[0] for fact in alone} == {OVER_LINEN}


def test_no_layer_recorded_is_a_sort_of_its_own_and_a_crossed_out_layer_is_none(book: Storage) -> None:
    yard = yard_of_two(book)
    stand = kit.stand(book)
    wrong = kit.put(book, "stand_layer", {"stand": stand, "place": "1", **LINEN})
    kit.void(book, "stand_layer", wrong, "never hung there")
    shoot(book, yard, stand=stand)
    assert {panel_type_of(fact)[0] for fact in facts_of(book)} == {"plate-1.2"}
    shoot(book, yard, stand=stand_of(book, CLAY), day="2026-10-11", spot=6)
    assert {panel_type_of(fact) for fact in facts_of(book)} == {
        ("plate-1.2-before-not_recorded", "1.2\N{NO-BREAK SPACE}mm one-piece plate with no backing recorded"),
        ("plate-1.2-before-90_mm_clay", "1.2\N{NO-BREAK SPACE}mm one-piece plate in front of 90\N{NO-BREAK SPACE}mm clay"),
    }


def test_a_set_up_on_no_stand_has_no_layers(book: Storage) -> None:
    yard = kit.yard(book)
    bare = kit.setup(book, yard.session, yard.panel.build)
    kit.shot(book, yard, shooting_end_id=kit.shooting_end(book, bare))
    (fact,) = facts_of(book)
    assert (
        fact.stand_id is None
        and fact.behind.garment == fact.behind.backing == ()
        and not fact.behind.garment_differs
        and not fact.behind.backing_differs
    )


def test_two_long_names_that_begin_alike_are_two_keys(book: Storage, two: Two) -> None:
    long = "linen of very many layers sewn in lines by hand, as the "
    fact = facts_of(book)[0]
    keys = {garment_of(replace(fact, behind=Behind(garment=(LayerBehind(long + end, None),))))[0] for end in ("first", "second")}
    assert len(keys) == 2 and all(len(key) < 60 for key in keys)


def test_results_show_one_garment_at_a_time_and_both_can_be_picked(book: Storage, two: Two) -> None:
    shots = loosed_of(book)
    found = results_of(shots, {}, one_type=True)
    assert list(found.types) == [OVER_WOOL, OVER_LINEN, "plate-1.6"] and found.counted == 6
    assert results_of(shots, {"panel_type": [OVER_WOOL]}).counted == 6
    by_garment = results_of(shots, {"garment": ["2_5_mm_wool"], "panel_type": [OVER_WOOL]})
    assert by_garment.counted == 6 and "over 2.5\N{NO-BREAK SPACE}mm wool" in by_garment.showing


def test_a_garment_is_asked_about_only_where_there_is_a_choice(book: Storage, two: Two) -> None:
    found = ask(loosed_of(book), {})
    names = [one.name for one in view_fields(controls_of(found))["filters"]]
    assert "garment" in names and "backing" not in names, "clay is behind all"


def test_heads_over_one_garment_are_no_family_with_heads_over_another(book: Storage, two: Two) -> None:
    keys = {family.key for family in pair_families(loosed_of(book), ViewSettings(at="chronograph"))}
    assert keys == {OVER_LINEN, OVER_WOOL, "plate-1.6"}


def test_garments_are_compared_behind_one_panel_type_with_one_head(book: Storage, two: Two) -> None:
    (family,) = (one for one in pair_families(loosed_of(book), ViewSettings(at="chronograph"), kind=KINDS["garment"]) if one.pairs)
    assert family.key == "needle+plate-1.2" and family.on == "Long needle bodkin, 1.2\N{NO-BREAK SPACE}mm one-piece plate"
    (pair,) = family.pairs
    assert {side.row.key for side in (pair.first, pair.second)} == {"9_mm_quilted_linen", "2_5_mm_wool"}
    assert {side.hits for side in (pair.first, pair.second)} == {6, 0}
    page = comparison_of(loosed_of(book), {"by": ["garment"]})
    assert [line.pair for one in page.families for line in one.lines] and page.panel_types == ()
    assert "wool" in said(page.finding.title) and "quilted linen" in said(page.finding.title)


def test_a_panel_over_two_garments_is_two_groups_and_what_goes_together_with_the_panels_is_said(book: Storage, two: Two) -> None:
    (family,) = pair_families(loosed_of(book), ViewSettings(at="chronograph"), kind=KINDS["panel"])
    linen, wool = "P1 over 9\N{NO-BREAK SPACE}mm quilted linen", "P1 over 2.5\N{NO-BREAK SPACE}mm wool"
    assert {side.row.words for side in family.sides} == {linen, wool, "P2"}
    by_names = {frozenset((pair.first.row.words, pair.second.row.words)): pair for pair in (*family.pairs, *family.beyond)}
    assert "garment behind" in confounders_of(by_names[frozenset((wool, "P2"))], KINDS["panel"])
    assert "garment behind" not in confounders_of(by_names[frozenset((linen, "P2"))], KINDS["panel"]), "P2 hung over linen too"


def what_if(book: Storage, panel: str, **asked: str) -> WhatIf:
    return read_what_if(book, {"panel": [panel], **{name: [value] for name, value in asked.items()}}, reader="metric")


def test_a_what_if_starts_from_shots_over_one_garment_and_says_which(book: Storage, two: Two) -> None:
    found = what_if(book, two.panel.build, basis="panel")
    assert list(found.types) == [OVER_LINEN, OVER_WOOL] and found.basis is not None and len(found.basis.shots) == 6
    wool = what_if(book, two.panel.build, basis="panel", panel_type=OVER_WOOL)
    assert wool.basis is not None and wool.basis.hits == 0 and found.basis.hits == 6
    words = {key: panel for key, panel in found.types.items()}
    told = because("what_if_behind", panel="P1", taken=words[OVER_WOOL], others=(words[OVER_LINEN],))
    assert told in wool.rests_on and "not those at 1.2\N{NO-BREAK SPACE}mm one-piece plate over" in said(told)


def test_a_what_if_refuses_a_garment_that_never_was_there(book: Storage, two: Two) -> None:
    assert "panel_type" in what_if(book, two.panel.build, panel_type="plate-1.2-over-silk").problems
    assert "panel_type" not in what_if(book, two.thicker.build).problems


def test_shots_csv_says_what_lay_behind_and_the_panel_type(book: Storage, two: Two) -> None:
    names = [column.name for column in COLUMNS]
    rows = [dict(zip(names, row, strict=True)) for row in shots_table(fetch(book)).rows]
    first = rows[0]
    assert (first["garment"], first["garment_thickness_m"]) == ("quilted linen", 0.009)
    assert (first["backing"], first["backing_thickness_m"]) == ("clay", 0.09)
    assert {row["panel_type_key"] for row in rows} == {OVER_LINEN, OVER_WOOL, "plate-1.6"}
    assert first["panel_type"] == "1.2\N{NO-BREAK SPACE}mm one-piece plate over 9\N{NO-BREAK SPACE}mm quilted linen"
