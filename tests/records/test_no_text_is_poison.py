"""Whatever stands in a field, of whatever kind, reading it ends in values or in sentences: never in an exception."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.quantities import KINDS
from proofyard.records.bow import Bow
from proofyard.records.columns import meanings
from proofyard.records.instrument import HardnessReading
from proofyard.records.nouns import TABLES
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.typed_values import take

# Numerals that are digits to `str.isdigit` and no number to `int`, signs, ends of what integers and floats hold,
# containers, and texts that mean something to some other reader.
ODD: tuple[Any, ...] = (
    "①",
    "²",
    "٣",
    "--5",
    "-",
    "+",
    "- 3 C",
    "1e999",
    "0x10",
    "nan",
    "inf",
    "-0",
    "≥",
    "≥ 20",
    "≤ 3",
    "@",
    "110@31",
    "110@",
    "@31",
    "null",
    "[]",
    "[1]",
    "{}",
    "true",
    "\0",
    "\u202e5",
    "\ud800",
    "5\n",
    " ",
    "",
    "9" * 400,
    "1/0",
    "½½",
    "HV",
    "52 HRC",
    "2026-02-30",
    "0000-00-00",
    "９９",
    0,
    -1,
    1 << 70,
    10**4999,
    1.5,
    float("nan"),
    float("inf"),
    True,
    False,
    None,
    [],
    ["plate"],
    ["①"],
    [""],
    ["x"] * 60,
)
FIELDS = [(noun, name) for noun, table in TABLES.items() for name in meanings(table)]
texts = st.text(st.characters(codec=None), max_size=50) | st.sampled_from(ODD)
values = texts | st.integers() | st.floats() | st.booleans() | st.none() | st.lists(st.text(max_size=20), max_size=4)


def taken_or_told(table: Any, body: Any, now: Any = None) -> Any:
    """Read it, and see that each field is either taken or told of, once, in a sentence that can be sent on."""
    taken = take(table, body, now)
    told = [problem.field for problem in taken.problems]
    assert all(problem.sentence.strip() for problem in taken.problems)
    json.dumps([problem.sentence for problem in taken.problems]).encode()
    assert {*body} <= {*told, *taken.typed}, body
    assert len(told) == len({*told}), told
    return taken


@pytest.mark.parametrize("noun", TABLES)
def test_no_odd_text_in_any_field_is_more_than_a_sentence(noun: Any) -> None:
    for name in meanings(TABLES[noun]):
        for value in ODD:
            taken_or_told(TABLES[noun], {name: value})


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_no_body_of_any_fields_is_more_than_sentences(data: st.DataObject) -> None:
    table = TABLES[data.draw(st.sampled_from(sorted(map(str, TABLES))))]
    names = st.sampled_from(sorted(meanings(table)))
    body = data.draw(st.dictionaries(names, values, max_size=6))
    now = {column: None for column, _ in meanings(table).values()}
    taken_or_told(table, body, data.draw(st.sampled_from([None, now])))


@pytest.mark.parametrize("bound", ["about", "①", ["equal"], ["equal", "at_least"], 5, True, "\u202e"])
@pytest.mark.parametrize("depth", ["12 mm", "≥ 12 mm", "12", 12, ""])
def test_a_good_depth_with_a_bad_bound_is_told_of_its_bound(bound: Any, depth: Any) -> None:
    taken = taken_or_told(ShotReading, {"depth": depth, "depth_bound": bound})
    assert [problem.field for problem in taken.problems] == ["depth_bound"]


@pytest.mark.parametrize("value", ["①", "²", "--5", "-5", "٣", "1.5", "5 5", "9" * 400, pytest.param(10**4999, id="5000 digits"), -1])
def test_a_moment_takes_plain_digits_and_nothing_that_only_looks_like_them(value: Any) -> None:
    taken = taken_or_told(Shot, {"loosed_at": value})
    assert [problem.field for problem in taken.problems] == ["loosed_at"]


def test_a_moment_as_text_is_still_a_moment() -> None:
    assert take(Shot, {"loosed_at": " 1792836000000 "}).values == {"loosed_at": 1_792_836_000_000}


@pytest.mark.parametrize("draw", [31, 31.0, "31 in"])
def test_a_draw_that_came_as_a_number_is_in_the_unit_of_its_field_like_one_that_was_typed(draw: Any) -> None:
    """31 beside "110@31" was compared as 31 metres."""
    taken = take(Bow, {"marked_weight": "110@31", "marked_draw": draw})
    assert not taken.problems and taken.values["marked_draw_m"] == pytest.approx(0.7874)


@pytest.mark.parametrize("draw", [[], ["31"], True, float("nan")])
def test_a_draw_that_is_no_text_is_told_of_in_its_own_box(draw: Any) -> None:
    taken = taken_or_told(Bow, {"marked_weight": "110@31", "marked_draw": draw})
    assert {problem.field for problem in taken.problems} <= {"marked_draw"}


@pytest.mark.parametrize("scale", ["①", ["HV"], 5, True])
def test_a_hardness_with_a_bad_scale_is_told_of_its_scale(scale: Any) -> None:
    taken = taken_or_told(HardnessReading, {"value": "180 HV", "scale": scale})
    assert "scale" in {problem.field for problem in taken.problems}


def test_the_list_of_odd_texts_meets_every_kind_of_field() -> None:
    kinds = {meaning.value for noun, name in FIELDS for _, meaning in [meanings(TABLES[noun])[name]]}
    assert kinds == {"words", "lines", "quantity", "choice", "several", "link", "whole", "yes_no", "day", "moment"}
    assert len(KINDS) > 20
