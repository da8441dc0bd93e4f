"""What a person typed or picked -> what a column holds, and what a text says of the fields beside it."""

from typing import Any

import pytest
from proofyard.quantities import KINDS, from_si
from proofyard.records.bow import Bow
from proofyard.records.columns import meanings
from proofyard.records.instrument import HardnessReading, Instrument, Reading
from proofyard.records.nouns import TABLES
from proofyard.records.panel import Panel
from proofyard.records.shot import ShotReading
from proofyard.records.typed_values import HARDNESS_KINDS, take, unusual


def sentences(taken: Any) -> Any:
    return {problem.field: problem.sentence for problem in taken.problems}


@pytest.mark.parametrize("noun", TABLES)
def test_every_kind_that_a_column_names_is_known(noun: Any) -> None:
    for name, (_, meaning) in meanings(TABLES[noun]).items():
        if meaning.value == "quantity":
            kinds = [meaning.kind] if isinstance(meaning.kind, str) else list(meaning.kind[1].values())
            assert kinds and all(kind in KINDS or kind in HARDNESS_KINDS for kind in kinds), (noun, name, kinds)


@pytest.mark.parametrize("noun", TABLES)
def test_no_two_columns_of_a_table_share_a_field_name(noun: Any) -> None:
    columns = [column.name for column in TABLES[noun].__table__.columns if "field" in column.info]
    assert sorted(column for column, _ in meanings(TABLES[noun]).values()) == sorted(columns)


@pytest.mark.parametrize("text", ["≥ 20", ">= 20 mm", "> 2 cm", "≥20mm"])
def test_a_depth_of_at_least_says_so_in_the_field_beside_it(text: str) -> None:
    taken = take(ShotReading, {"depth": text})
    assert taken.values == {"depth_m": pytest.approx(0.020), "depth_bound": "at_least"}
    assert taken.typed["depth"] == text


def test_a_plain_depth_is_as_read_unless_the_person_picked_at_least() -> None:
    assert take(ShotReading, {"depth": "20"}).values["depth_bound"] == "equal"
    assert take(ShotReading, {"depth": "20", "depth_bound": "at_least"}).values["depth_bound"] == "at_least"
    assert take(ShotReading, {"depth": "25"}, {"depth_m": 0.02, "depth_bound": "at_least"}).values["depth_bound"] == "equal"


def test_a_sign_in_the_text_wins_over_what_was_picked_before() -> None:
    assert take(ShotReading, {"depth": "≥ 20", "depth_bound": "equal"}).values["depth_bound"] == "at_least"


def test_an_emptied_depth_takes_its_bound_along() -> None:
    assert take(ShotReading, {"depth": ""}).values == {"depth_m": None, "depth_bound": None}


def test_a_back_face_has_no_bound_and_refuses_the_sign() -> None:
    assert "limit" in sentences(take(ShotReading, {"back_face": "≥ 20"}))["back_face"]


@pytest.mark.parametrize("more", [{}, {"marked_draw": ""}])
def test_a_marking_fills_the_draw_if_that_is_empty(more: Any) -> None:
    taken = take(Bow, {"marked_weight": "110@31", **more})
    assert from_si(taken.values["marked_weight_n"], "lbf") == pytest.approx(110)
    assert from_si(taken.values["marked_draw_m"], "in") == pytest.approx(31)
    assert taken.typed == {"marked_weight": "110@31", "marked_draw": "31"}


def test_a_weight_alone_leaves_the_draw_alone() -> None:
    assert "marked_draw_m" not in take(Bow, {"marked_weight": "110 lb"}, {"marked_draw_m": 0.7}).values


def test_a_marking_that_differs_from_the_draw_beside_it_is_refused() -> None:
    said = sentences(take(Bow, {"marked_weight": "110@31", "marked_draw": "28"}))
    assert said == {"marked_weight": "“110@31” and the draw beside it (28\u00a0in) differ. Make them agree, or clear one."}
    assert "marked_weight" in sentences(take(Bow, {"marked_weight": "110@31"}, {"marked_draw_m": 0.7112}))
    agree = take(Bow, {"marked_weight": "110@31", "marked_draw": "31 in"})
    assert not agree.problems and agree.typed["marked_draw"] == "31 in"


def test_a_hardness_brings_its_scale() -> None:
    taken = take(HardnessReading, {"value": "180 HV"})
    assert taken.values == {"value": 180.0, "scale": "HV"}
    assert take(HardnessReading, {"value": "180 HB"}).values["scale"] == "HBW"
    assert take(HardnessReading, {"value": "52", "scale": "HRC"}).values == {"value": 52.0, "scale": "HRC"}


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ({"value": "12 HRC"}, "HRC starts at 20. Type it as HV, for example 180 HV."),
        ({"value": "12", "scale": "HRC"}, "HRC starts at 20. Type it as HV, for example 180 HV."),
        ({"value": "180"}, "says no scale"),
        ({"value": "180 HV", "scale": "HRC"}, "“180 HV” says HV, and the scale picked is HRC. Make them agree."),
        ({"value": "180 m"}, "not a hardness scale"),
    ],
)
def test_a_hardness_that_no_scale_holds_is_refused_by_the_field(body: Any, says: str) -> None:
    assert says in sentences(take(HardnessReading, body))["value"]


def test_a_scale_that_is_changed_alone_must_still_hold_the_value() -> None:
    stands = {"value": 180.0, "scale": "HV"}
    assert sentences(take(HardnessReading, {"scale": "HRC"}, stands)) == {"scale": "HRC ends at 70. Type it as HV, for example 780 HV."}
    assert not take(HardnessReading, {"scale": "HBW"}, stands).problems


def test_picks_are_read_in_hrc_and_nothing_else() -> None:
    assert take(HardnessReading, {"slides": "45", "bites": "50 HRC"}).values == {"slides_hrc": 45.0, "bites_hrc": 50.0}
    assert "stamped" in sentences(take(HardnessReading, {"bites": "500 HV"}))["bites"]
    assert "HRC starts at 20" in sentences(take(HardnessReading, {"bites": "5"}))["bites"]


def test_an_instruments_accuracy_takes_the_unit_of_what_it_reads() -> None:
    assert take(Instrument, {"sort": "scale", "accuracy": "0.1 g"}).values["accuracy_si"] == pytest.approx(1e-4)
    assert take(Instrument, {"sort": "chronograph", "accuracy": "0.3"}).values["accuracy_si"] == pytest.approx(0.3)
    assert not take(Instrument, {"sort": "scale", "accuracy": "0.1 g"}).warnings
    assert "First choose what it is" in sentences(take(Instrument, {"accuracy": "0.1 g"}))["accuracy"]
    # The sort may have been said before.
    assert take(Instrument, {"accuracy": "0.1"}, {"sort": "scale"}).values["accuracy_si"] == pytest.approx(1e-4)


@pytest.mark.parametrize(
    ("typed", "says"),
    [("1,234", "could be"), ("72.4 m", "is a length"), ("16 ga", "gauge"), ("9e99", "exponent"), ("__import__('os')", "“")],
)
def test_what_can_not_be_a_mass_says_what_was_found(typed: str, says: str) -> None:
    problem = sentences(take(Reading, {"noun": "arrow_build", "measured": "mass", "value": typed}))["value"]
    assert says in problem


def test_every_fault_of_a_body_is_said_at_once() -> None:
    said = sentences(take(Panel, {"name": "", "construction": "tin", "width": "4 kg", "rows": "many", "colour": "red"}))
    assert set(said) == {"name", "construction", "width", "rows", "colour"}


def test_what_is_unusual_is_kept_and_still_said_when_it_is_looked_at_again() -> None:
    taken = take(Bow, {"name": "Old", "marked_weight": "300@31"})
    assert taken.values["marked_weight_n"] == pytest.approx(1334.466, abs=0.01)
    row = Bow(id="x", rev=1, typed='{"marked_weight": "300@31"}', name="Old", **{k: v for k, v in taken.values.items() if k != "name"})
    assert [(p.field, p.sentence) for p in unusual(row)] == [(p.field, p.sentence) for p in taken.warnings] != []
    assert unusual(Bow(id="y", rev=1, typed='{"marked_weight": "110"}', name="New", marked_weight_n=489.3)) == []
