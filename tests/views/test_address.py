"""One schema for what a page is asked through its address: it reads, says what is wrong, and writes the same back."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.pages.frame.forms import controls_of
from proofyard.views.address import Amount, AsTyped, Choice, Free, Reading, Several, Tick, Unusable, Written, address

FAIR = Choice(name="fair", label="Fair hits", choices={"fair": "Fair only", "any": "Any"}, default="fair")
WIDTH = Amount(name="width", label="Width", kind="panel_size", fits=lambda width: width < 1, outside="Enter less than 1 m.", warns=True)
HEADS = Several(name="head", label="Head", choices={"needle": "Needle", "leaf": "Leaf"}, wrong="No shot has that head.")
POOL = Tick(name="pool", label="Pool")
PANEL = Free(name="panel", label="Panel")
ROWS = Written(name="rows", default=16, reader=lambda text: int(text) if text.isdecimal() else Unusable("Enter a number, for example 16."))


def asked(**query: list[str] | str) -> tuple[AsTyped, tuple[object, ...]]:
    reading = Reading({name: [value] if isinstance(value, str) else value for name, value in query.items()})
    values = (reading.one(FAIR), reading.one(WIDTH), reading.many(HEADS), reading.one(POOL), reading.one(PANEL), reading.one(ROWS))
    return AsTyped(**reading.as_typed()), values


def test_nothing_typed_is_every_default_and_an_address_without_settings() -> None:
    found, values = asked()
    assert values == ("fair", None, (), False, "", 16)
    assert not found.problems and address("/page", found.pairs()) == "/page"


def test_each_kind_is_read_and_written_back_as_it_was_typed() -> None:
    found, values = asked(fair="any", width="10 in", head=["leaf", "needle"], pool="yes", panel="a b&c", rows="24")
    assert values == ("any", pytest.approx(0.254), ("needle", "leaf"), True, "a b&c", 24)
    again = parse_qs(urlsplit(address("/page", found.pairs())).query)
    assert again == {"fair": ["any"], "width": ["10 in"], "head": ["leaf", "needle"], "pool": ["yes"], "panel": ["a b&c"], "rows": ["24"]}


def test_a_default_that_was_typed_is_left_out_of_the_address() -> None:
    found, _ = asked(fair="fair", panel="")
    assert found.pairs() == []


@pytest.mark.parametrize(
    ("name", "typed", "said", "still"),
    [
        ("fair", "perhaps", "“perhaps” is not one of the choices. Pick one; until then it shows “Fair only”.", "fair"),
        ("width", "wide", "mm", "wide"),
        ("width", "2 m", "Enter less than 1 m.", "2 m"),
        ("rows", "many", "Enter a number, for example 16.", "many"),
    ],
)
def test_what_cannot_be_used_is_said_beside_its_control_and_the_default_holds(name: str, typed: str, said: str, still: str) -> None:
    found, values = asked(**{name: typed, "panel": "M1"})
    assert list(found.problems) == [name] and said in found.problems[name]
    assert values == ("fair", None, (), False, "M1", 16), "the rest is kept"
    control = controls_of(found)[name]
    assert control.state.error == found.problems[name] and control.state.typed == still


def test_of_several_those_that_are_choices_hold_and_all_that_were_ticked_stay_ticked() -> None:
    found, values = asked(head=["leaf", "spoon", "leaf", " "])
    assert values[2] == ("leaf",) and found.problems == {"head": "No shot has that head."}
    assert controls_of(found)["head"].state.typed == ("leaf", "spoon")


def test_a_control_shows_the_answers_the_unit_and_what_is_unusual() -> None:
    found, _ = asked(width="15 mm", fair="any")
    controls = controls_of(found, choices={"panel": {"M1": "Mail 1"}})
    assert [one.words for one in controls["fair"].options] == ["Fair only", "Any"] and controls["fair"].state.typed == "any"
    assert (controls["width"].unit, controls["width"].unit_words) == ("mm", "in millimetres") and controls["width"].state.warning
    assert not controls_of(asked(width="300 mm")[0])["width"].state.warning
    assert [one.value for one in controls["panel"].options] == ["M1"]
    reading = Reading({})
    reading.one(Amount(name="angle", kind="angle"))
    angle = controls_of(AsTyped(**reading.as_typed()))["angle"]
    assert (angle.unit, angle.unit_words) == ("°", "in degrees")


def test_a_problem_found_later_stands_beside_the_control_too() -> None:
    found, _ = asked(panel="M9")
    assert controls_of(found, {"panel": "None of these shots hit that panel."})["panel"].state.error


def test_what_bears_on_nothing_is_kept_and_not_read() -> None:
    reading = Reading({"width": ["nonsense"]})
    assert reading.unread(WIDTH) is None and not reading.problems and reading.typed == {"width": "nonsense"}


def test_what_was_typed_last_counts() -> None:
    assert asked(rows=["3", "24"])[1][5] == 24


def test_the_same_setting_serves_twice_under_another_name() -> None:
    reading = Reading({"width": ["20 mm"], "b_width": ["30 mm"]})
    assert (reading.one(WIDTH), reading.one(replace(WIDTH, name="b_width"))) == (0.020, 0.030)


@given(st.dictionaries(st.sampled_from(["fair", "width", "head", "pool", "panel", "rows"]), st.text(max_size=60)))
def test_an_address_asks_the_same_again_whatever_was_typed(typed: dict[str, str]) -> None:
    found, values = asked(**typed)
    again, same = asked(**parse_qs(urlsplit(address("/page", found.pairs())).query, keep_blank_values=True))
    assert same == values and set(again.problems) <= set(found.problems)
