"""What-ifs: what they start from, which rules speak, what they refuse, and that a thicker plate never needs less."""

from __future__ import annotations

import re
from collections.abc import Iterable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from proofyard.answers.protection.page import read_protection
from proofyard.answers.what_if.answer import Answer, _bows_would, verdict_of
from proofyard.answers.what_if.ask import read_hardness_range, what_if_asked
from proofyard.answers.what_if.page import WhatIf, read_what_if
from proofyard.physics.hardness import StrengthRange
from proofyard.quantities.reason import Reason, because
from proofyard.records.archer import Archer
from proofyard.records.listing import all_of
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said
from proofyard.wording.reasons.what_if import joules, joules_range

from tests import kit_for_tests as kit
from tests.charts.marks_of import having

# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once  # noqa: F401
from tests.statements_for_tests import statements


def ask(book: Storage, panel: str, *, only_trial: str | None = None, reader: str = "metric", **more: str) -> WhatIf:
    return read_what_if(book, {"panel": [panel], **{name: [value] for name, value in more.items()}}, reader=reader, only_trial=only_trial)


def one(found: WhatIf) -> Answer:
    assert len(found.answers) == 1
    return found.answers[0]


def codes(reasons: Iterable[Reason]) -> list[str]:
    return [one.code.removeprefix("what_if_") for one in reasons]


def part_of(reasons: Iterable[Reason], code: str) -> dict[str, object]:
    """The parts of the one reason of that code."""
    (found,) = (one for one in reasons if one.code == f"what_if_{code}")
    return dict(found.parts)


def why_silent(answer: Answer) -> list[Reason]:
    """Why no rule speaks, of an answer that has none."""
    assert not answer.told and codes(answer.lead) == ["silent"]
    reasons = answer.lead[0].parts["reasons"]
    assert isinstance(reasons, tuple)
    return [one for one in reasons if isinstance(one, Reason)]


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
    assert ask(book, "nothing").problems == {"panel": "That panel is not in the list. Pick one."}


def test_a_panels_own_id_means_its_newest_build(book: Storage, filled: Filled) -> None:
    newer = kit.put(book, "panel_build", {"panel": filled.panels["P1"].panel, "number": "2", "work": "beaten_flat"})
    found = ask(book, filled.panels["P1"].panel)
    assert found.armour is not None and found.armour.build.id == newer


def test_where_one_panel_gives_no_estimate_all_of_its_type_do_and_it_is_said(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["P3"].build)
    assert found.basis is not None and found.basis.of == "panel_type" and len(found.basis.names) > 1
    assert codes(found.rests_on) == ["starts_from", "all_of_its_type"] and part_of(found.rests_on, "all_of_its_type") == {"panel": "P3"}
    alone = ask(book, filled.panels["P3"].build, basis="panel")
    assert alone.basis is not None and alone.basis.of == "panel" and len(alone.basis.shots) < len(found.basis.shots)


def test_the_answer_without_a_change_is_the_fifty_percent_energy_itself(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["P1"].build, basis="panel_type")
    answer = one(found)
    assert found.basis is not None and found.basis.point is not None
    assert low_high(answer) == (found.basis.point.energy_j, found.basis.point.energy_j)
    assert (answer.low_j, answer.high_j) == (found.basis.point.low_j, found.basis.point.high_j)
    assert not answer.changed and answer.finding.parts["of_armour"] is False


def test_mixed_heads_are_said_to_be_mixed_and_one_head_is_not(book: Storage, filled: Filled) -> None:
    mixed = one(ask(book, filled.panels["P1"].build, basis="panel_type", thickness="1.4 mm"))
    alone = one(ask(book, filled.panels["P1"].build, basis="panel_type", thickness="1.4 mm", head="needle"))
    assert "mixed_heads" in codes(mixed.cautions) and "mixed_heads" not in codes(alone.cautions)


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
    assert part_of(found.rests_on, "no_half")["why"] == because("what_if_not_shot_at")
    assert answer.printed is not None and codes(answer.lead)[-1] == "published_alone"
    # 55 J x 1.25^1.6 with the factors from 0.5 to 1.5, since nobody said which steel.
    assert low_high(answer) == (pytest.approx(39.30, abs=0.01), pytest.approx(117.90, abs=0.01))
    hardened = one(ask(book, panel.build, steel_now="hardened"))
    # Hardened: 78.6 J of mild steel times 1.5 by arrows, and in proportion to 1250 to 1760 MPa over 385 to 465 MPa.
    assert low_high(hardened) == (pytest.approx(117.90, abs=0.01), pytest.approx(78.6 * 1760 / 385, abs=0.1))
    mild = one(ask(book, panel.build, steel_now="mild_steel"))
    assert low_high(mild) == (pytest.approx(78.60, abs=0.01), pytest.approx(78.60, abs=0.01))
    assert "one_rule" in codes(mild.cautions)


def test_printed_rules_speak_of_the_changed_plate_itself(book: Storage) -> None:
    panel = kit.panel(book, "Bare", thickness="1.6 mm")
    changed = one(ask(book, panel.build, thickness="1.25 mm", steel_now="mild_steel", steel_quality="hardened"))
    assert low_high(changed)[0] == pytest.approx(117.90, abs=0.01)
    assert not changed.changes


def test_formulas_for_missiles_are_shown_and_never_counted(book: Storage) -> None:
    answer = one(ask(book, kit.panel(book, "Bare", thickness="1.2 mm").build, steel_now="mild_steel"))
    assert answer.printed is not None
    missiles = [line for line in answer.printed.lines if not line.counted]
    assert len(missiles) == 2 and all(line.low is not None and line.note and codes([line.note]) == ["missiles"] for line in missiles)
    assert low_high(answer)[1] < max(line.high or 0 for line in missiles)


def test_mail_and_cloth_without_shots_have_what_was_printed(book: Storage) -> None:
    mail = one(ask(book, kit.panel(book, "Rings", construction="mail", ring_wire="1.4 mm").build))
    padded = one(ask(book, kit.panel(book, "Rings 2", construction="mail", cloth_layers="16").build))
    cloth = one(ask(book, kit.panel(book, "Cloth", construction="textile", cloth_layers="24").build))
    assert low_high(mail) == (80.0, 120.0) and low_high(padded) == (100.0, 120.0) and low_high(cloth) == (75.0, 75.0)


@pytest.mark.parametrize(
    ("made", "code"),
    [
        ({"construction": "plate"}, "plate_unmeasured"),
        ({"construction": "textile"}, "cloth_needs_layers"),
        ({"construction": "textile", "cloth_layers": "40"}, "cloth_needs_layers"),
        ({"construction": "other"}, "nothing_published"),
    ],
)
def test_no_half_and_no_model_is_no_answer_with_the_reason(book: Storage, made: dict[str, str], code: str) -> None:
    answer = one(ask(book, kit.panel(book, "Bare", **made).build))
    assert not answer.told and codes([answer.finding]) == ["no_answer"]
    assert part_of(answer.lead, "no_start")["printed"] == Reason(f"what_if_{code}")


# Rules, each inside its range


def test_thickness_has_four_rules_of_which_two_count(book: Storage, filled: Filled) -> None:
    (change,) = one(ask(book, filled.panels["P1"].build, basis="panel_type", thickness="1.2 mm")).changes
    assert [line.counted for line in change.lines] == [True, True, False, False]
    assert change.low == pytest.approx((1.2 / 1.6) ** 1.6) and change.high == pytest.approx(1.2 / 1.6)
    assert not change.outside and not change.alone


def test_beyond_what_was_tried_the_answer_is_marked_an_extrapolation(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="panel_type", thickness="0.7 mm"))
    assert answer.changes[0].outside and part_of(answer.cautions, "extrapolated") == {"change": answer.changes[0].what}


def test_outside_all_rules_it_refuses_and_says_the_range(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="panel_type", thickness="8 mm"))
    ranges = [one.parts for one in why_silent(answer) if one.code == "what_if_outside"]
    assert any(one["unit"] == "mm" and (one["low"], one["high"]) == pytest.approx((0.5, 6), rel=1e-3) for one in ranges)


def test_a_rule_that_ends_at_45_degrees_is_silent_above_and_the_others_are_marked(book: Storage, filled: Filled) -> None:
    (change,) = one(ask(book, filled.panels["P1"].build, basis="panel_type", angle="50°")).changes
    assert [line.low is None for line in change.lines] == [True, False, False, False]
    note = change.lines[0].note
    assert note is not None and note.parts["high"] == pytest.approx(45) and note.parts["unit"] == "°" and change.outside


def test_a_plates_unknown_hardness_is_a_refusal_in_words(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="panel_type", steel="180 to 200 HV"))
    assert "present_hardness" in codes(why_silent(answer))


def test_an_open_bracket_of_hardness_gives_no_factor(book: Storage, filled: Filled) -> None:
    kit.put(book, "hardness_reading", {"noun": "panel_build", "record": filled.panels["P1"].build, "bites": "40"})
    answer = one(ask(book, filled.panels["P1"].build, basis="panel_type", steel="180 to 200 HV"))
    assert "open at one end" in " ".join(map(said, why_silent(answer)))


def test_a_stronger_steel_is_an_interval_from_an_interval(book: Storage, filled: Filled) -> None:
    kit.put(book, "hardness_reading", {"noun": "panel_build", "record": filled.panels["P1"].build, "value": "120 HV", "scale": "HV"})
    (change,) = one(ask(book, filled.panels["P1"].build, basis="panel_type", steel="180 to 200 HV")).changes
    by_strength, by_sort = change.lines
    assert by_strength.low is not None and by_strength.high is not None and 1.2 < by_strength.low < by_strength.high < 2.0
    kinds = because("what_if_kinds", before=("modern mild steel",), after=("medium-carbon steel, not hardened",), by_hardness=True)
    assert (by_sort.low, by_sort.high) == (1.1, 1.1) and by_sort.note == kinds
    assert (change.low, change.high) == (1.1, by_strength.high) and not change.alone


def test_sorts_of_steel_want_the_sort_that_it_is_now(book: Storage, filled: Filled) -> None:
    without = one(ask(book, filled.panels["P1"].build, basis="panel_type", steel_quality="hardened"))
    assert "enter_steel" in codes(why_silent(without))
    (change,) = one(ask(book, filled.panels["P1"].build, basis="panel_type", steel_quality="hardened", steel_now="mild_steel")).changes
    assert change.low == 1.5 and change.high == pytest.approx(1760 / 385)


# The whole range in the heading, and one answer whichever box is filled


def test_the_heading_carries_the_whole_range_and_the_rules_alone_stand_below(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="panel_type", thickness="1.2 mm"))
    assert (
        answer.low_j is not None
        and answer.high_j is not None
        and answer.low_j < low_high(answer)[0]
        and answer.high_j > low_high(answer)[1]
    )
    assert said(answer.finding).endswith(f" would be {joules_range(answer.low_j, answer.high_j, reader='metric')}")
    alone = part_of(answer.lead, "with_rules")
    assert (alone["rules_low_j"], alone["rules_high_j"]) == low_high(answer)
    assert (alone["low_j"], alone["high_j"]) == (answer.low_j, answer.high_j)


def test_each_heading_of_two_carries_its_own_whole_range(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["P1"].build, basis="panel_type", thickness="1.2 mm", b_thickness="2 mm")
    for answer in found.answers:
        assert (answer.finding.parts["low_j"], answer.finding.parts["high_j"]) == (answer.low_j, answer.high_j)
    assert found.drawing is not None and all(said(answer.finding) in found.drawing.words for answer in found.answers)
    assert [row[1:3] for row in found.drawing.rows] == [(f"{answer.low_j:.0f}", f"{answer.high_j:.0f}") for answer in found.answers]


def test_as_it_is_the_heading_has_the_curves_own_figure_and_its_range(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="panel_type"))
    assert said(answer.finding).endswith(
        f"is {joules(low_high(answer)[0], 'metric')}, {joules_range(answer.low_j, answer.high_j, reader='metric')}"
    )


@pytest.mark.parametrize(
    "box", [{"steel": "40 to 50 HRC"}, {"steel_quality": "hardened"}, {"steel": "40 to 50 HRC", "steel_quality": "hardened"}]
)
@pytest.mark.parametrize("tried", [False, True])
def test_hardened_steel_has_one_answer_whichever_box_is_filled(book: Storage, filled: Filled, box: dict[str, str], tried: bool) -> None:
    """1.5 by arrows, and 1250 to 1760 MPa over 385 to 465 MPa (120 to 145 HV) or over the 385 MPa, a tenth either way, of the plate that
    was tried."""
    if tried:
        kit.put(book, "hardness_reading", {"noun": "panel_build", "record": filled.panels["P1"].build, "value": "120 HV", "scale": "HV"})
    answer = one(ask(book, filled.panels["P1"].build, basis="panel_type", steel_now="mild_steel", **box))
    (change,) = answer.changes
    assert [line.low is None for line in change.lines] == [False, False] and change.low == 1.5
    assert change.high == pytest.approx(1760 / (385 * 0.9) if tried else 1760 / 385, rel=1e-3) and not change.alone
    start = one(ask(book, filled.panels["P1"].build, basis="panel_type"))
    assert start.low_j is not None and answer.low_j == pytest.approx(1.5 * start.low_j) and answer.finding.parts["low_j"] == answer.low_j


def test_without_shots_hardened_spans_both_rules_too(book: Storage) -> None:
    panel = kit.panel(book, "Bare", thickness="1.25 mm")
    sort, typed = (
        one(ask(book, panel.build, steel_now="mild_steel", **more)) for more in ({"steel_quality": "hardened"}, {"steel": "40 to 50 HRC"})
    )
    assert low_high(sort) == pytest.approx(low_high(typed)) and low_high(sort)[1] > 4 * 78.6


def test_of_old_iron_the_strength_says_nothing(book: Storage, filled: Filled) -> None:
    (change,) = one(ask(book, filled.panels["P1"].build, basis="panel_type", steel_now="mild_steel", steel_quality="slaggy_iron")).changes
    assert change.lines[0].low is None and change.lines[0].note == because("what_if_slag") and change.high == 0.5 and change.alone


def test_two_layers_lie_between_twice_and_one_thick_plate(book: Storage, filled: Filled) -> None:
    (change,) = one(ask(book, filled.panels["P1"].build, basis="panel_type", layers="2")).changes
    assert (change.low, change.high) == (2.0, pytest.approx(2**1.6))
    (mail,) = one(ask(book, filled.panels["M1"].build, basis="model", layers="2")).changes
    assert (mail.low, mail.high) == (2.0, 2.0)


def test_changes_multiply_least_with_least(book: Storage, filled: Filled) -> None:
    both = one(ask(book, filled.panels["P1"].build, basis="panel_type", layers="2", angle="30"))
    start = one(ask(book, filled.panels["P1"].build, basis="panel_type"))
    assert low_high(both)[0] == pytest.approx(low_high(start)[0] * 2 * 1.1547, rel=1e-4)
    assert low_high(both)[1] == pytest.approx(low_high(start)[1] * 2**1.6 * 4 / 3, rel=1e-4)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(thinner=st.integers(5, 59), thicker=st.integers(5, 59), angle=st.integers(0, 44))
def test_a_thicker_or_more_slanted_plate_never_needs_less(book: Storage, filled: Filled, thinner: int, thicker: int, angle: int) -> None:
    small, great = sorted((thinner, thicker))
    panel = filled.panels["P1"].build
    less, more = (
        one(ask(book, panel, basis="panel_type", thickness=f"{tenths / 10} mm", angle=str(slant)))
        for tenths, slant in ((small, 0), (great, angle))
    )
    assert low_high(less)[0] <= low_high(more)[0] * (1 + 1e-9) and low_high(less)[1] <= low_high(more)[1] * (1 + 1e-9)
    assert less.low_j is not None and more.low_j is not None and less.low_j <= more.low_j * (1 + 1e-9)
    for answer in (less, more):
        low, high = low_high(answer)
        assert low <= high and answer.low_j is not None and answer.low_j <= low and (answer.high_j is None or answer.high_j >= high)


def test_own_panels_of_the_thickness_asked_about_stand_beside_the_rules(book: Storage, filled: Filled) -> None:
    thin = kit.panel(book, "Thin", thickness="1.2 mm")
    answer = one(ask(book, thin.build, thickness="1.6 mm", steel_now="mild_steel"))
    own = part_of(answer.lead, "own_panels")
    assert own["panels"] == ("P1", "P2", "P3", "P4") and own["apart"] is False
    assert "own_panels" not in codes(one(ask(book, thin.build, thickness="1.6 mm", angle="20")).lead)
    assert "own_panels" not in codes(one(ask(book, thin.build, thickness="1.4 mm")).lead)


# Bows, distance, two side by side


def test_further_off_every_bow_brings_less_and_the_armour_is_the_same(book: Storage, filled: Filled) -> None:
    arrows = kit.row(book, "arrow", filled.arrows["needle", "Yew bow"].arrow)
    kit.put(book, "arrow", {"diameter": "9.5 mm"}, record_id=arrows.id, base_rev=arrows.rev)
    near, far = (one(ask(book, filled.panels["P1"].build, basis="panel_type", head="needle", distance=words)) for words in ("14 m", "60 m"))
    assert low_high(near) == low_high(far)
    brought = {row.bow: row.mean_j for row in far.rows}
    assert brought and all(brought[row.bow] < row.mean_j for row in near.rows)
    # Bows whose arrows have no diameter written down are left out, and that is said.
    left_out = part_of(near.cautions, "left_out")["bows"]
    assert len(near.rows) == 1 and isinstance(left_out, tuple) and any("Elm bow" in str(bow) for bow in left_out)
    assert not any("Yew bow" in str(bow) for bow in left_out)


def test_a_stronger_plate_asks_for_a_stronger_bow(book: Storage, filled: Filled) -> None:
    same, thicker = (
        dict(one(ask(book, filled.panels["P1"].build, basis="panel_type", thickness=words)).needed) for words in ("1.6 mm", "2 mm")
    )
    assert "bow_stronger" in codes(thicker.values())
    assert codes(same.values()).count("bow_enough") >= codes(thicker.values()).count("bow_enough")


def test_the_weight_at_the_archers_draw_is_what_is_made_stronger_and_it_says_by_what_it_is_known(book: Storage, filled: Filled) -> None:
    """As marked without a check; a check at Wren's own draw outranks what is marked on the bow."""

    def stronger() -> Reason:
        needed = dict(one(ask(book, filled.panels["P1"].build, basis="panel_type", thickness="2 mm")).needed)
        return needed["Yew bow, Wren"]

    before = stronger()
    assert before.code == "what_if_bow_stronger" and before.parts["source"] == because("bow_weight_marked")
    archer = next(one.id for one in all_of_archers(book) if one.call_name == "Wren")
    check = {"bow_build": filled.bows["Yew bow"].build, "archer": archer, "weight": "100 lbf", "draw": "30 in"}
    kit.put(book, "bow_check", check)
    now = stronger()
    assert now.parts["source"] == because("bow_weight_at_check", who="Wren")
    assert now.parts["weight_n"] == pytest.approx(100 * 4.4482216152605)
    assert now.parts["low_times"] == before.parts["low_times"], "how many times rests on the shots alone"
    words = said(now).replace("\N{NO-BREAK SPACE}", " ")
    assert "times as strong as its 100 lbf (at Wren’s last check)" in words
    pounds = re.match(r"(\d+) to (\d+) lbf", words)
    assert pounds is not None
    low, high = (float(str(now.parts[name])) for name in ("low_times", "high_times"))
    assert (int(pounds[1]), int(pounds[2])) == (round(100 * max(low, 1)), round(100 * high))


def all_of_archers(book: Storage) -> list[Archer]:
    with book.read() as session:
        return list(all_of(session, Archer))


def test_two_are_answered_side_by_side_each_by_its_own_changes(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["P1"].build, basis="panel_type", thickness="1.2 mm", b_thickness="2 mm", b_angle="20")
    assert [answer.letter for answer in found.answers] == ["A", "B"]
    first, second = found.answers
    assert low_high(first)[1] < low_high(second)[0]
    assert len(first.changes) == 1 and len(second.changes) == 2
    assert found.drawing is not None and len(having(found.drawing, "chart__bar")) == 2


def test_a_typed_energy_stands_beside_the_bows(book: Storage, filled: Filled) -> None:
    answer = one(ask(book, filled.panels["P1"].build, basis="panel_type", energy="500 J"))
    assert answer.rows[0].bow == "The energy you entered" and answer.rows[0].verdict == "through"
    assert answer.rows[0].left_j is not None and answer.rows[0].left_j[0] == pytest.approx(500 - low_high(answer)[1])


def test_through_may_mean_another_outcome_level(book: Storage, filled: Filled) -> None:
    behind, opened = (ask(book, filled.panels["P1"].build, basis="panel_type", through=outcome_level).basis for outcome_level in ("4", "3"))
    assert behind is not None and opened is not None and opened.hits > behind.hits


# What was typed


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("thickness", "1 furlong", "not a unit known here"),
        ("thickness", "16 ga", "millimetres"),
        ("layers", "9", "From 1 to 4"),
        ("layers", "two", "number"),
        ("steel", "180 HV", "not an interval"),
        ("steel", "180 to 180 HV", "never one figure"),
        ("steel", "190 to 170 HV", "From the softer end"),
        ("steel", "170 HV to 50 HRC", "Both ends on one scale"),
        ("steel", "60 to 80 HRB", "No table leads from HRB"),
        ("steel", "soft to hard", ""),
        ("wire", "1.4 mm", "There is no rule for the rings’ wire"),
        ("angle", "95°", ""),
        ("steel_quality", "glass", "Pick one from the list"),
        ("head", "spoon", "Pick one from the list"),
        ("basis", "guess", "Pick one from the list"),
        ("through", "depth", "Pick one from the list"),
        ("energy", "much", ""),
    ],
)
def test_what_cannot_be_used_is_said_beside_its_field_and_never_answered(
    book: Storage, filled: Filled, name: str, typed: str, said: str
) -> None:
    found = ask(book, filled.panels["P1"].build, **{"basis": "panel_type", name: typed})
    assert set(found.problems) == {name} and said in found.problems[name]
    assert found.asked.typed[name] in (typed, "")
    if name in found.asked.first.typed:
        assert not found.answers


def test_a_wrong_second_leaves_the_first_answered(book: Storage, filled: Filled) -> None:
    found = ask(book, filled.panels["P1"].build, basis="panel_type", thickness="1.2 mm", b_thickness="thin")
    assert [answer.letter for answer in found.answers] == ["A"] and "b_thickness" in found.problems


@pytest.mark.parametrize(
    ("typed", "low", "high"),
    [
        ("170 to 190 HV", 545e6, 610e6),
        ("170-190 HV", 545e6, 610e6),
        ("40–50 HRC", 1250e6, 1760e6),
        ("500 to 600 MPa", 500e6, 600e6),
        ("40 HRC to 50 HRC", 1250e6, 1760e6),
    ],
)
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
    [
        (30, (40, 90), "held"),
        (45, (40, 90), "leans_held"),
        (60, (40, 90), "open"),
        (80, (40, 90), "leans_through"),
        (95, (40, 90), "through"),
        (1000, (40, None), "leans_through"),
        (1, (None, 90), "leans_held"),
    ],
)
def test_only_outside_the_whole_range_is_anything_said(energy: float, whole: tuple[float | None, float | None], key: str) -> None:
    assert verdict_of(energy, (50, 70), whole=whole) == key


def test_bows_of_one_verdict_share_a_sentence() -> None:
    reasons = _bows_would([("Elm bow", "held"), ("Yew bow", "held"), ("Ash bow", "through"), ("Ash bow", "through")])
    assert tuple(map(said, reasons)) == (
        "With Ash bow more shots would get through than be stopped.",
        "With Elm bow and Yew bow more shots would be stopped than get through.",
    )


def test_ranges_are_whole_joules_in_the_readers_unit() -> None:
    assert joules_range(65.4, 72.8, reader="metric") == "65 to 73\N{NO-BREAK SPACE}J"
    assert joules_range(71.9, 72.1, reader="metric") == "72\N{NO-BREAK SPACE}J"
    assert joules_range(63.1, None, reader="metric") == "not less than 63\N{NO-BREAK SPACE}J (one-sided, 97.5\N{NO-BREAK SPACE}%)"
    assert joules_range(None, 90.0, reader="archery") == "not more than 66\N{NO-BREAK SPACE}ft·lbf (one-sided, 97.5\N{NO-BREAK SPACE}%)"


def test_no_more_statements_than_twelve_whatever_is_asked(book: Storage, filled: Filled) -> None:
    with statements(book) as asked:
        ask(book, filled.panels["P1"].build, thickness="1.2 mm", b_steel="180 to 200 HV", distance="30 m")
    assert 0 < len(asked) <= 11


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"thickness": "1.6 mm"}, "0.4 mm more is 3.14 kg/m² ± 0.19 more; a square metre now weighs 9.42 kg/m² ± 0.19."),
        ({"thickness": "1.0 mm"}, "0.2 mm less is 1.57 kg/m² ± 0.19 less; a square metre now weighs 9.42 kg/m² ± 0.19."),
        ({"layers": "2"}, "One such layer more is 9.42 kg/m² ± 0.19 more; a square metre now weighs 9.42 kg/m² ± 0.19."),
    ],
)
def test_a_change_says_what_it_weighs(book: Storage, change: dict[str, str], words: str) -> None:
    """0.4 mm of steel: 0.0004 m x 7,850 kg/m³ = 3.14 kg/m², by hand. A nominal 1.2 mm is good to 2 % (common practice, no
    source): 0.024 mm, or 0.19 kg/m²."""
    made = kit.panel(book, "Thin", thickness="1.2 mm")
    found = read_what_if(book, {"panel": [made.build], **{name: [value] for name, value in change.items()}}, reader="metric")
    said_of_it = [said(reason).replace("\N{NO-BREAK SPACE}", " ") for one in found.answers for reason in one.lead]
    assert words in said_of_it


def test_thicker_wire_and_more_cloth_say_what_they_weigh(book: Storage) -> None:
    """Rings of 0.4 g, 300 on a square decimetre: 12 kg/m². Wire half as thick again: half as heavy again. 4 cloths of 250 g/m²."""
    mail = kit.panel(book, "Mail", construction="mail", ring_mass="0.4 g", rings_counted="300", ring_wire="1.2 mm", ring_outer="9 mm")
    rag = kit.panel(book, "Rag", construction="textile", cloth_layers="12", cloth_layer="250 g/m²")
    for build, change, words in (
        (mail.build, {"wire": "1.8 mm"}, "Wire 0.6 mm thicker is 6.00 kg/m² ± 0.19 more; a square metre now weighs 12.0 kg/m² ± 0.4."),
        (rag.build, {"cloths": "16"}, "4 layers of cloth more is 1 kg/m² more; a square metre now weighs 3.00 kg/m² ± 0.09."),
    ):
        found = read_what_if(book, {"panel": [build], **{name: [value] for name, value in change.items()}}, reader="metric")
        said_of_it = [said(reason).replace("\N{NO-BREAK SPACE}", " ") for one in found.answers for reason in one.lead]
        assert any(one.startswith(words) for one in said_of_it), said_of_it


def test_what_cannot_be_weighed_says_nothing(book: Storage) -> None:
    made = kit.panel(book, "Unmeasured", construction="scale", thickness="1 mm")
    found = read_what_if(book, {"panel": [made.build], "thickness": ["1.2 mm"]}, reader="metric")
    assert not any(reason.code == "what_if_weighs" for one in found.answers for reason in one.lead)


def test_a_square_metre_weighs_here_what_energy_for_weight_says(demo_book: Storage) -> None:
    """One figure, two pages: P2's own, by three readings of its thickness."""
    shown = read_protection(demo_book, {}, reader="metric")
    panel = next(one for _, weight in shown.types for one in weight.panels if one.name == "P2")
    found = read_what_if(demo_book, {"panel": [panel.build_id], "thickness": ["1 mm"]}, reader="metric")
    told = next(said(reason) for one in found.answers for reason in one.lead if reason.code == "what_if_weighs")
    assert told.partition("now weighs ")[2].rstrip(".") in said(panel.told)
