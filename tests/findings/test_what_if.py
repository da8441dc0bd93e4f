"""What-ifs: what they start from, which rules speak, what they refuse, and that a thicker plate never needs less."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, event

from server.findings.what_if.answer import Answer
from server.findings.what_if.ask import read_hardness_range, what_if_asked
from server.findings.what_if.page import WhatIf, read_what_if
from server.findings.what_if.words import VERDICTS, joules_range, verdict_of, verdict_words
from server.physics.hardness import StrengthRange
from server.storage import Storage
from tests import kit_for_tests as kit

# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once  # noqa: F401


def ask(book: Storage, panel: str, *, only_trial: str | None = None, reader: str = "metric", **more: str) -> WhatIf:
    return read_what_if(book, {"panel": [panel], **{name: [value] for name, value in more.items()}}, reader=reader, only_trial=only_trial)


def one(found: WhatIf) -> Answer:
    assert len(found.answers) == 1
    return found.answers[0]


def low_high(answer: Answer) -> tuple[float, float]:
    assert answer.rules_low_j is not None and answer.rules_high_j is not None
    return answer.rules_low_j, answer.rules_high_j


# What it starts from


def test_without_a_panel_it_asks_for_one(book: Storage, filled: Filled) -> None:
    found = read_what_if(book, {}, reader="metric")
    assert found.armour is None and not found.answers and not found.problems
    assert set(found.panels) == {panel.build for panel in filled.panels.values()}
    assert "no shots" in found.panels[filled.panels["P5"].build] or "shot" in found.panels[filled.panels["P5"].build]


def test_a_panel_that_is_not_there_is_said_beside_the_field(book: Storage, filled: Filled) -> None:
    assert ask(book, "nothing").problems == {"panel": "The book has no such panel. Pick one from the list."}


def test_a_panels_own_id_means_its_newest_build(book: Storage, filled: Filled) -> None:
    newer = kit.put(book, "panel_build", {"panel": filled.panels["P1"].panel, "number": "2", "work": "beaten_flat"})
    found = ask(book, filled.panels["P1"].panel)
    assert found.armour is not None and found.armour.build.id == newer


def test_where_one_panel_does_not_place_the_half_all_of_its_sort_do_and_it_is_said(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["P3"].build)
    assert found.basis is not None and found.basis.of == "sort" and len(found.basis.names) > 1
    assert any("P3 alone doesn’t place it" in words for words in found.basis_words)
    alone = ask(book, filled.panels["P3"].build, basis="panel")
    assert alone.basis is not None and alone.basis.of == "panel" and len(alone.basis.shots) < len(found.basis.shots)


def test_the_answer_without_a_change_is_the_half_itself(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["P1"].build, basis="sort")
    answer = one(found)
    assert found.basis is not None and found.basis.point is not None
    assert low_high(answer) == (found.basis.point.energy_j, found.basis.point.energy_j)
    assert (answer.low_j, answer.high_j) == (found.basis.point.low_j, found.basis.point.high_j)
    assert not answer.changed and "as it is: half get through" in answer.title_words


def test_mixed_heads_are_said_to_be_mixed_and_one_head_is_not(book: Storage, filled: Filled) -> None:
    mixed = one(ask(book, filled.panels["P1"].build, basis="sort", thickness="1.4 mm"))
    alone = one(ask(book, filled.panels["P1"].build, basis="sort", thickness="1.4 mm", head="needle"))
    assert any("forms are mixed" in words for words in mixed.minds)
    assert not any("forms are mixed" in words for words in alone.minds)


def test_a_viewer_of_one_trial_sees_only_its_panels_and_bows(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["M1"].build, only_trial=filled.other_trial)
    assert set(found.panels) == {filled.panels["M1"].build}
    other = ask(book, filled.panels["P1"].build, only_trial=filled.other_trial)
    assert other.armour is None and "panel" in other.problems
    whole, scoped = one(ask(book, filled.panels["M1"].build)), one(found)
    assert sum(row.shots for row in scoped.rows) < sum(row.shots for row in whole.rows)


# Where there is no 50 % energy


def test_without_shots_printed_rules_stand_in_and_are_said_to(book: Storage) -> None:
    panel = kit.panel(book, "Bare", thickness="1.25 mm")
    found = ask(book, panel.build)
    answer = one(found)
    assert any("nothing was shot at it yet" in words for words in found.basis_words)
    assert answer.printed is not None and "printed rules alone" in answer.lead[-1]
    # 55 J x 1.25^1.6 with the factors from 0.5 to 1.5, since nobody said which steel.
    assert low_high(answer) == (pytest.approx(39.30, abs=0.01), pytest.approx(117.90, abs=0.01))
    hardened = one(ask(book, panel.build, steel_now="hardened"))
    assert low_high(hardened) == (pytest.approx(117.90, abs=0.01), pytest.approx(117.90, abs=0.01))
    assert any("one rule alone" in words for words in hardened.minds)


def test_printed_rules_speak_of_the_changed_plate_itself(book: Storage) -> None:
    panel = kit.panel(book, "Bare", thickness="1.6 mm")
    changed = one(ask(book, panel.build, thickness="1.25 mm", steel_now="mild_steel", steel_sort="hardened"))
    assert low_high(changed)[0] == pytest.approx(117.90, abs=0.01)
    assert not changed.changes


def test_formulas_for_missiles_are_shown_and_never_counted(book: Storage) -> None:
    answer = one(ask(book, kit.panel(book, "Bare", thickness="1.2 mm").build, steel_now="mild_steel"))
    assert answer.printed is not None
    missiles = [line for line in answer.printed.lines if not line.counted]
    assert len(missiles) == 2 and all(line.low is not None and "not counted" in line.note for line in missiles)
    assert low_high(answer)[1] < max(line.high or 0 for line in missiles)


def test_mail_and_cloth_without_shots_have_what_was_printed(book: Storage) -> None:
    mail = one(ask(book, kit.panel(book, "Rings", construction="mail", ring_wire="1.4 mm").build))
    padded = one(ask(book, kit.panel(book, "Rings 2", construction="mail", cloth_layers="16").build))
    cloth = one(ask(book, kit.panel(book, "Cloth", construction="textile", cloth_layers="24").build))
    assert low_high(mail) == (80.0, 120.0) and low_high(padded) == (100.0, 120.0) and low_high(cloth) == (75.0, 75.0)


@pytest.mark.parametrize(
    ("made", "said"),
    [
        ({"construction": "plate"}, "a plate whose thickness nobody measured"),
        ({"construction": "textile"}, "8 to 32 layers"),
        ({"construction": "textile", "cloth_layers": "40"}, "8 to 32 layers"),
        ({"construction": "other"}, "no printed rule is known"),
    ],
)  # fmt: skip
def test_no_half_and_no_model_is_no_answer_with_the_reason(book: Storage, made: dict[str, str], said: str) -> None:
    answer = one(ask(book, kit.panel(book, "Bare", **made).build))
    assert not answer.told and answer.title_words == "It can’t be told"
    assert said in " ".join(answer.lead)


# Rules, each inside its range


def test_thickness_has_four_rules_of_which_two_count(book: Storage, filled: Filled) -> None:
    (change,) = one(ask(book, filled.panels["P1"].build, basis="sort", thickness="1.2 mm")).changes
    assert [line.counted for line in change.lines] == [True, True, False, False]
    assert change.low == pytest.approx((1.2 / 1.6) ** 1.6) and change.high == pytest.approx(1.2 / 1.6)
    assert not change.outside and not change.alone


def test_beyond_what_was_tried_the_answer_is_marked_an_extrapolation(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="sort", thickness="0.7 mm"))
    assert answer.changes[0].outside and any("extrapolation" in words for words in answer.minds)


def test_outside_all_rules_it_refuses_and_says_the_range(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="sort", thickness="8 mm"))
    assert not answer.told and "0.5 to 6\N{NO-BREAK SPACE}mm" in " ".join(answer.lead)


def test_a_rule_that_ends_at_45_degrees_is_silent_above_and_the_others_are_marked(book: Storage, filled: Filled) -> None:
    (change,) = one(ask(book, filled.panels["P1"].build, basis="sort", angle="50°")).changes
    assert [line.low is None for line in change.lines] == [True, False, False, False]
    assert "0 to 45" in change.lines[0].note and change.outside


def test_a_plates_unknown_hardness_is_a_refusal_in_words(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="sort", steel="180 to 200 HV"))
    assert not answer.told and "nobody tried the hardness of this plate" in " ".join(answer.lead)


def test_an_open_bracket_of_hardness_gives_no_factor(book: Storage, filled: Filled) -> None:
    kit.put(book, "hardness_reading", {"noun": "panel_build", "record": filled.panels["P1"].build, "bites": "40"})
    answer = one(ask(book, filled.panels["P1"].build, basis="sort", steel="180 to 200 HV"))
    assert not answer.told and "open at one end" in " ".join(answer.lead)


def test_a_stronger_steel_is_an_interval_from_an_interval(book: Storage, filled: Filled) -> None:
    kit.put(book, "hardness_reading", {"noun": "panel_build", "record": filled.panels["P1"].build, "value": "120 HV", "scale": "HV"})
    (change,) = one(ask(book, filled.panels["P1"].build, basis="sort", steel="180 to 200 HV")).changes
    assert change.low is not None and change.high is not None and 1.2 < change.low < change.high < 2.0
    assert change.alone


def test_sorts_of_steel_want_the_sort_that_it_is_now(book: Storage, filled: Filled) -> None:
    without = one(ask(book, filled.panels["P1"].build, basis="sort", steel_sort="hardened"))
    assert not without.told and "which sort its steel is now" in " ".join(without.lead)
    (change,) = one(ask(book, filled.panels["P1"].build, basis="sort", steel_sort="hardened", steel_now="mild_steel")).changes
    assert (change.low, change.high) == (1.5, 1.5)


def test_two_layers_lie_between_twice_and_one_thick_plate(book: Storage, filled: Filled) -> None:
    (change,) = one(ask(book, filled.panels["P1"].build, basis="sort", layers="2")).changes
    assert (change.low, change.high) == (2.0, pytest.approx(2**1.6))
    (mail,) = one(ask(book, filled.panels["M1"].build, basis="model", layers="2")).changes
    assert (mail.low, mail.high) == (2.0, 2.0)


def test_changes_multiply_least_with_least(book: Storage, filled: Filled) -> None:
    both = one(ask(book, filled.panels["P1"].build, basis="sort", layers="2", angle="30"))
    start = one(ask(book, filled.panels["P1"].build, basis="sort"))
    assert low_high(both)[0] == pytest.approx(low_high(start)[0] * 2 * 1.1547, rel=1e-4)
    assert low_high(both)[1] == pytest.approx(low_high(start)[1] * 2**1.6 * 4 / 3, rel=1e-4)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(thinner=st.integers(5, 59), thicker=st.integers(5, 59), angle=st.integers(0, 44))
def test_a_thicker_or_more_slanted_plate_never_needs_less(book: Storage, filled: Filled, thinner: int, thicker: int, angle: int) -> None:
    small, great = sorted((thinner, thicker))
    panel = filled.panels["P1"].build
    less, more = (one(ask(book, panel, basis="sort", thickness=f"{tenths / 10} mm", angle=str(slant))) for tenths, slant in ((small, 0), (great, angle)))
    assert low_high(less)[0] <= low_high(more)[0] * (1 + 1e-9) and low_high(less)[1] <= low_high(more)[1] * (1 + 1e-9)
    assert less.low_j is not None and more.low_j is not None and less.low_j <= more.low_j * (1 + 1e-9)
    for answer in (less, more):
        low, high = low_high(answer)
        assert low <= high and answer.low_j is not None and answer.low_j <= low and (answer.high_j is None or answer.high_j >= high)


def test_own_panels_of_the_thickness_asked_about_stand_beside_the_rules(book: Storage, filled: Filled) -> None:
    thin = kit.panel(book, "Thin", thickness="1.2 mm")
    answer = one(ask(book, thin.build, thickness="1.6 mm", steel_now="mild_steel"))
    said = [words for words in answer.lead if words.startswith("You have shot at")]
    assert len(said) == 1 and "4 panels of that thickness (P1, P2, P3, P4)" in said[0] and "disagree with that" in said[0]
    assert not any("You have shot" in words for words in one(ask(book, thin.build, thickness="1.6 mm", angle="20")).lead)
    assert not any("You have shot" in words for words in one(ask(book, thin.build, thickness="1.4 mm")).lead)


# Bows, distance, two side by side


def test_further_off_every_bow_brings_less_and_the_armour_is_the_same(book: Storage, filled: Filled) -> None:
    arrows = kit.row(book, "arrow", filled.arrows["needle", "Yew bow"].arrow)
    kit.put(book, "arrow", {"diameter": "9.5 mm"}, record_id=arrows.id, base_rev=arrows.rev)
    near, far = (one(ask(book, filled.panels["P1"].build, basis="sort", head="needle", distance=words)) for words in ("14 m", "60 m"))
    assert low_high(near) == low_high(far)
    brought = {row.words: row.mean_j for row in far.rows}
    assert brought and all(brought[row.words] < row.mean_j for row in near.rows)
    # Bows whose arrows have no diameter written down are left out, and that is said.
    assert len(near.rows) == 1 and any("Left out" in words and "Elm bow" in words and "Yew bow" not in words for words in near.minds)


def test_a_stronger_plate_asks_for_a_stronger_bow(book: Storage, filled: Filled) -> None:
    same, thicker = (dict(one(ask(book, filled.panels["P1"].build, basis="sort", thickness=words)).needed) for words in ("1.6 mm", "2 mm"))
    assert any("times as strong" in words for words in thicker.values())
    assert sum("gives that already" in words for words in same.values()) >= sum("gives that already" in words for words in thicker.values())


def test_two_are_answered_side_by_side_each_by_its_own_changes(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["P1"].build, basis="sort", thickness="1.2 mm", b_thickness="2 mm", b_angle="20")
    assert [answer.letter for answer in found.answers] == ["A", "B"]
    first, second = found.answers
    assert low_high(first)[1] < low_high(second)[0]
    assert len(first.changes) == 1 and len(second.changes) == 2
    assert found.picture is not None and len(found.picture.asked) == 2


def test_a_typed_energy_stands_beside_the_bows(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="sort", energy="500 J"))
    assert answer.rows[0].words == "The energy that you typed" and answer.rows[0].verdict.key == "through"
    assert answer.rows[0].left_j is not None and answer.rows[0].left_j[0] == pytest.approx(500 - low_high(answer)[1])


def test_through_may_mean_another_rung(book: Storage, filled: Filled) -> None:
    behind, opened = (ask(book, filled.panels["P1"].build, basis="sort", through=rung).basis for rung in ("4", "3"))
    assert behind is not None and opened is not None and opened.hits > behind.hits


# What was typed


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("thickness", "1 furlong", "not a unit known here"), ("thickness", "16 ga", "millimetres"), ("layers", "9", "From 1 to 4"), ("layers", "two", "number"),
        ("steel", "180 HV", "not an interval"), ("steel", "180 to 180 HV", "never one figure"), ("steel", "190 to 170 HV", "From the softer end"),
        ("steel", "170 HV to 50 HRC", "Both ends on one scale"), ("steel", "60 to 80 HRB", "No table leads from HRB"), ("steel", "soft to hard", ""),
        ("wire", "1.4 mm", "Nobody has a rule for the rings’ wire"), ("angle", "95°", ""), ("steel_sort", "glass", "Pick one from the list"),
        ("head", "spoon", "Pick one from the list"), ("basis", "guess", "Pick one from the list"), ("through", "depth", "Pick one from the list"), ("energy", "much", ""),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_said_beside_its_field_and_never_answered(book: Storage, filled: Filled, name: str, typed: str, said: str) -> None:
    found = ask(book, filled.panels["P1"].build, **{"basis": "sort", name: typed})
    assert set(found.problems) == {name} and said in found.problems[name]
    assert found.asked.typed[name] in (typed, "")
    if name in found.asked.first.typed:
        assert not found.answers


def test_a_wrong_second_leaves_the_first_answered(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["P1"].build, basis="sort", thickness="1.2 mm", b_thickness="thin")
    assert [answer.letter for answer in found.answers] == ["A"] and "b_thickness" in found.problems


@pytest.mark.parametrize(
    ("typed", "low", "high"),
    [("170 to 190 HV", 545e6, 610e6), ("170-190 HV", 545e6, 610e6), ("40–50 HRC", 1250e6, 1760e6), ("500 to 600 MPa", 500e6, 600e6), ("40 HRC to 50 HRC", 1250e6, 1760e6)],
)  # fmt: skip
def test_a_hardness_is_read_from_where_to_where(typed: str, low: float, high: float) -> None:
    found = read_hardness_range(typed)
    assert not isinstance(found, str) and found[1] == StrengthRange(pytest.approx(low, rel=0.01), pytest.approx(high, rel=0.01))


def test_the_address_holds_all_that_was_typed() -> None:
    typed = {"panel": ["x"], "thickness": ["1,2 mm"], "b_angle": ["30"], "head": ["needle"]}
    asked = what_if_asked(typed)
    assert asked.address() == "/what-if?panel=x&head=needle&thickness=1%2C2+mm&b_angle=30"
    assert len(asked.whats) == 2


# In words


@pytest.mark.parametrize(
    ("energy", "whole", "key"),
    [(30, (40, 90), "held"), (45, (40, 90), "leans_held"), (60, (40, 90), "open"), (80, (40, 90), "leans_through"), (95, (40, 90), "through"),
     (1000, (40, None), "leans_through"), (1, (None, 90), "leans_held")],
)  # fmt: skip
def test_only_outside_the_whole_range_is_anything_said(energy: float, whole: tuple[float | None, float | None], key: str) -> None:
    assert verdict_of(energy, (50, 70), whole=whole).key == key


def test_bows_of_one_verdict_share_a_sentence() -> None:
    words = verdict_words([("Elm bow", VERDICTS["held"]), ("Yew bow", VERDICTS["held"]), ("Ash bow", VERDICTS["through"]), ("Ash bow", VERDICTS["through"])])
    assert words == ("With Ash bow more shots would get through than be held.", "With Elm bow and Yew bow more shots would be held than get through.")


def test_ranges_are_whole_joules_in_the_readers_unit() -> None:
    assert joules_range(65.4, 72.8, reader="metric") == "65 to 73\N{NO-BREAK SPACE}J"
    assert joules_range(71.9, 72.1, reader="metric") == "72\N{NO-BREAK SPACE}J"
    assert joules_range(63.1, None, reader="metric") == "63\N{NO-BREAK SPACE}J or more"
    assert joules_range(None, 90.0, reader="archery") == "66\N{NO-BREAK SPACE}ft·lbf or less"


def test_no_more_statements_than_twelve_whatever_is_asked(book: Storage, filled: Filled) -> None:
    counted: list[str] = []

    def count(*args: object) -> None:
        counted.append(str(args[2]))

    event.listen(Engine, "before_cursor_execute", count)
    try:
        ask(book, filled.panels["P1"].build, thickness="1.2 mm", b_steel="180 to 200 HV", distance="30 m")
    finally:
        event.remove(Engine, "before_cursor_execute", count)
    asked = [text for text in counted if not text.upper().startswith(("BEGIN", "PRAGMA"))]
    assert 0 < len(asked) <= 11
