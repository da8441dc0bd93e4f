"""The table of kinds keeps its own promises."""

from dataclasses import replace
from typing import Any

import pytest
from proofyard.quantities import KINDS, UNITS_FOR_READER, Read, read, si_unit_of
from proofyard.quantities.spellings import MEASURES, SPELLINGS, entry_units, measured_by

EVERY = pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))

NEEDED = [
    "arrow_mass",
    "head_mass",
    "panel_mass",
    "hung_mass",
    "string_mass",
    "arrow_speed",
    "draw_weight",
    "draw_length",
    "arrow_length",
    "head_length",
    "edge_length",
    "thickness",
    "small_length",
    "brace_height",
    "shaft_diameter",
    "panel_size",
    "place",
    "depth",
    "gap",
    "distance",
    "bounce_distance",
    "temperature",
    "humidity",
    "pressure",
    "angle",
    "share",
    "energy",
    "count",
]


@pytest.mark.parametrize("name", NEEDED)
def test_a_field_that_an_archer_fills_has_a_kind(name: Any) -> None:
    assert KINDS[name].name == name


def test_the_table_of_kinds_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        KINDS["arrow_mass"] = KINDS["head_mass"]
    with pytest.raises(TypeError):
        KINDS["arrow_mass"].entry_units.any_case["stone"] = "kg"


def test_a_kind_can_stand_in_a_set() -> None:
    assert len(set(KINDS.values())) == len(KINDS)


@EVERY
def test_every_unit_of_a_field_measures_what_the_field_asks_for(kind: Any) -> None:
    for unit in kind.entry_units.units:
        assert si_unit_of(unit) == kind.si_unit
    assert set(kind.entry_units.exact.values()) | set(kind.entry_units.any_case.values()) == set(kind.entry_units.units)
    assert kind.whole or kind.unit in kind.entry_units.units
    assert kind.whole or kind.asks == MEASURES[kind.si_unit]


@EVERY
def test_every_example_can_be_typed_as_it_stands_and_warns_of_nothing(kind: Any) -> None:
    for example in kind.example.split(" or "):
        result = read(example, kind)
        assert isinstance(result, Read), result
        assert result.warnings == ()


@EVERY
def test_two_examples_say_about_the_same_in_two_units(kind: Any) -> None:
    values = [read(example, kind).value_si for example in kind.example.split(" or ")]
    if kind.name not in {"place", "angle"} and not kind.name.endswith("_accuracy"):  # these show a sign, or two steps
        assert max(values) == pytest.approx(min(values), rel=0.05)


@EVERY
def test_every_kind_has_a_unit_for_each_reader(kind: Any) -> None:
    for units in UNITS_FOR_READER.values():
        assert si_unit_of(units[kind.shown_as]) == kind.si_unit


def test_both_readers_have_a_unit_for_the_same_things() -> None:
    metric, archery = UNITS_FOR_READER["metric"], UNITS_FOR_READER["archery"]
    assert metric.keys() == archery.keys()
    assert all(si_unit_of(metric[name]) == si_unit_of(archery[name]) for name in metric)


def test_a_plausible_range_outside_the_possible_one_is_a_slip_in_the_table() -> None:
    with pytest.raises(ValueError, match="arrow_mass"):
        replace(KINDS["arrow_mass"], plausible=(0.001, 0.1))


def test_no_spelling_means_two_units_in_the_same_field() -> None:
    seen = [(spelling, row.unit) for row in SPELLINGS for spelling in (*row.exact, *row.any_case)]
    assert len({spelling for spelling, _ in seen}) == len(seen)


def test_any_case_spellings_stand_in_small_letters() -> None:
    assert all(s == s.lower() for row in SPELLINGS for s in row.any_case)


@pytest.mark.parametrize(
    ("spelling", "unit"), [("m", "m"), ("M", None), ("mm", "mm"), ("MM", "mm"), ("Mm", None), ("Inches", "in"), ("FT", "ft"), ("YD", None)]
)
def test_case_counts_only_where_it_changes_the_unit(spelling: str, unit: str | None) -> None:
    assert KINDS["arrow_length"].entry_units.find(spelling) == unit


@pytest.mark.parametrize("spelling", ["G", "M", "Mm", "Ms", "n", "k", "j"])
def test_a_letter_whose_case_matters_is_not_guessed(spelling: str) -> None:
    assert entry_units(row.unit for row in SPELLINGS).find(spelling) is None


@pytest.mark.parametrize(
    ("spelling", "measure"), [("yd", "a length"), ("HRC", "a hardness"), ("#", "a force"), ("lb", "a mass"), ("qq", None)]
)
def test_a_unit_in_the_wrong_field_is_known_for_what_it_is(spelling: str, measure: str | None) -> None:
    assert measured_by(spelling) == measure


def test_no_kind_is_named_with_a_typewriters_apostrophe() -> None:
    assert [one.name for one in KINDS.values() if "'" in one.words or "'" in one.asks] == []
