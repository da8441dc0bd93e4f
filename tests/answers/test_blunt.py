"""Blunt impact behind armour: what each ending leaves open, what is missing and said so, backings, prints, and a criterion that is always
outside its data."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest
from proofyard.answers.blunt.ask import blunt_asked
from proofyard.answers.blunt.backing import backing_told
from proofyard.answers.blunt.criterion import CriterionFound
from proofyard.answers.blunt.page import BluntAnswer, BluntRow, read_blunt
from proofyard.answers.blunt.shared import SharedImpact
from proofyard.physics.panel_impact import ENDINGS
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.kit_between import stands_built
from proofyard.records.listing import belonging
from proofyard.records.stand import BackingCheck
from proofyard.storage import Storage
from proofyard.wording.reasons.blunt import ENDINGS as ENDING_WORDS
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit
from tests.statements_for_tests import statements


def hung(
    book: Storage,
    *,
    construction: str = "plate",
    mass: str | None = "2 kg",
    held: str = "hung",
    hung_mass: str | None = "1 kg",
    gap: str | None = "40 mm",
    **panel: Any,
) -> kit.Yard:
    """A yard whose panel is weighed, in a stand whose hung mass is known unless told otherwise."""
    yard = kit.yard(book)
    arrow = kit.arrow(book, masses=(), diameter="9.5 mm")
    kit.mass_reading(book, arrow.build, "70.0 g", instrument=kit.scale(book, accuracy="0.1 g", accuracy_means="limit"))
    made = kit.panel(book, construction=construction, **({"mass": mass} if mass else {}), **panel)
    stand = kit.stand(book, held=held, gap=gap, **({"hung_mass": hung_mass} if hung_mass else {}))
    setup = kit.setup(
        book, yard.session, made.build, stand_id=stand, distance="12 m", chronograph=kit.chronograph(book), chronograph_at="12 m"
    )
    return kit.Yard(yard.archer, yard.bow, arrow, made, stand, yard.trial, yard.session, setup, kit.shooting_end(book, setup))


def shot_at(
    book: Storage, yard: kit.Yard, *, speed: str | None = "50 m/s", outcome: str = "2", x: str = "0 mm", y: str = "0 mm", **reading: Any
) -> str:
    shot = kit.shot(book, yard)
    if speed:
        kit.shot_speed(book, shot, speed)
    return kit.reading(book, shot, outcome_low=outcome, x=x, y=y, **reading)


def ask(book: Storage, *, only_trial: str | None = None, **query: str) -> BluntAnswer:
    return read_blunt(book, {name: [value] for name, value in query.items()}, reader="metric", only_trial=only_trial)


def one(book: Storage, shot: str, **query: str) -> BluntRow:
    return next(row for row in ask(book, shot=shot, **query).rows if row.fact.shot_id == shot)


def shared(row: BluntRow) -> SharedImpact:
    assert isinstance(row.shared, SharedImpact), row.shared
    return row.shared


def reason(row: BluntRow) -> Reason:
    assert isinstance(row.shared, CantTell)
    return row.shared.reason


def missing(row: BluntRow) -> list[str]:
    """The codes of all that is missing."""
    found = reason(row).parts["missing"]
    assert reason(row).code == "blunt_missing" and isinstance(found, tuple)
    return [one.code.removeprefix("blunt_") for one in found if isinstance(one, Reason)]


def codes(reasons: Iterable[Reason]) -> list[str]:
    return [one.code.removeprefix("blunt_") for one in reasons]


# How it ended


def test_every_ending_of_the_formula_has_its_words() -> None:
    assert set(ENDING_WORDS) == set(ENDINGS) | {"read", "bounced_length"}


@pytest.mark.parametrize(
    ("did", "outcome", "ending"),
    [
        ("stuck_armour", "3", "stood"),
        ("dropped", "2", "dropped"),
        ("bounced", "1", "bounced"),
        ("broke_up", "2", "held"),
        ("glanced", "1", "unknown"),
        (None, "0", "held"),
        ("stuck_backing", "3", "passed"),
    ],
)
def test_what_the_arrow_did_says_between_which_ends_the_impact_lies(book: Storage, did: str | None, outcome: str, ending: str) -> None:
    yard = hung(book)
    row = one(book, shot_at(book, yard, outcome=outcome, **({"arrow_did": did} if did else {})))
    assert shared(row).ending == ending


def test_an_arrow_that_stayed_in_the_middle_is_shared_out_by_the_masses_alone(book: Storage) -> None:
    """70 g at 50 m/s on 2 kg, and on 3 kg with what hangs along: 3.5^2/(2 x 2.07) and 3.5^2/(2 x 3.07)."""
    impact = shared(one(book, shot_at(book, hung(book), outcome="3", arrow_did="stuck_armour")))
    assert impact.energy_j[1].value == pytest.approx(3.5**2 / (2 * 2.07))
    assert impact.energy_j[0].value == pytest.approx(3.5**2 / (2 * 3.07))
    assert impact.momentum_kg_m_s[0].value == impact.momentum_kg_m_s[1].value == pytest.approx(3.5)
    u = impact.momentum_u
    assert u is not None and impact.energy_j[0].standard_uncertainty == pytest.approx(2 * u * impact.energy_j[0].value)


def test_hit_off_its_middle_less_of_a_plate_moves_and_more_energy_goes_on(book: Storage) -> None:
    yard = hung(book)
    middle = shared(one(book, shot_at(book, yard, outcome="3", arrow_did="stuck_armour")))
    corner = shared(one(book, shot_at(book, yard, outcome="3", x="120 mm", y="150 mm", arrow_did="stuck_armour")))
    assert corner.least_kg < middle.least_kg == 2.0 and corner.turning and not middle.turning
    assert corner.energy_j[1].value > middle.energy_j[1].value
    assert corner.energy_j[0].value == pytest.approx(middle.energy_j[0].value)


def test_a_heavier_frame_leaves_less(book: Storage) -> None:
    light = shared(one(book, shot_at(book, hung(book, hung_mass="1 kg"), arrow_did="dropped")))
    heavy = shared(one(book, shot_at(book, hung(book, hung_mass="30 kg"), arrow_did="dropped")))
    assert heavy.energy_j[0].value < light.energy_j[0].value and heavy.energy_j[1].value == pytest.approx(light.energy_j[1].value)


def test_a_place_that_nobody_read_counts_as_the_whole_panel(book: Storage) -> None:
    yard = hung(book)
    shot = kit.shot(book, yard)
    kit.shot_speed(book, shot, "50 m/s")
    kit.reading(book, shot, outcome_low="2", place_known="no")
    assert shared(one(book, shot)).least_kg == 2.0


@pytest.mark.parametrize("construction", ["mail", "textile", "scale", "lamellar"])
def test_armour_that_is_not_rigid_has_no_upper_end(book: Storage, construction: str) -> None:
    row = one(book, shot_at(book, hung(book, construction=construction), arrow_did="dropped"))
    assert shared(row).open_above and isinstance(row.criterion, CriterionFound) and row.criterion.high is None
    assert row.passed.parts["open_above"] is True and row.ranks.parts["high"] is None


def test_a_speed_afterwards_closes_the_momentum_and_narrows_the_energy(book: Storage) -> None:
    """70 g at 50 m/s, back at 4 m/s: 0.070 x 54 on 2 kg, and on 3 kg."""
    shot = shot_at(book, hung(book), arrow_did="bounced")
    wide, read = shared(one(book, shot)), shared(one(book, shot, after="4 m/s"))
    assert read.ending == "read" and read.momentum_kg_m_s[0].value == read.momentum_kg_m_s[1].value == pytest.approx(0.070 * 54)
    assert read.energy_j[1].value == pytest.approx((0.070 * 54) ** 2 / 4) and read.energy_j[0].value == pytest.approx((0.070 * 54) ** 2 / 6)
    assert wide.energy_j[0].value < read.energy_j[0].value < read.energy_j[1].value < wide.energy_j[1].value


def test_a_speed_afterwards_that_cannot_be_is_said(book: Storage) -> None:
    yard = hung(book)
    bounced, stood = shot_at(book, yard, arrow_did="bounced"), shot_at(book, yard, outcome="3", arrow_did="stuck_armour")
    assert reason(one(book, bounced, after="49.9 m/s")) == because("blunt_too_fast")
    assert "after" in ask(book, shot=stood, after="4 m/s").problems and "after" in ask(book, trial=yard.trial, after="4 m/s").problems
    assert "after" in ask(book, shot=bounced, after="fast").problems


# A bounce whose length was read


def test_a_bounce_whose_length_was_read_is_not_reckoned_as_if_nothing_was_lost(book: Storage) -> None:
    """70 g at 50 m/s on 0.75 kg would bounce with four times what it leaves together; 1.1 m away leave room for 6.4 m/s at most, taken a
    tenth longer and from 0.5 m high."""
    yard = hung(book, mass="0.75 kg", hung_mass="0.25 kg")
    far, unread = shot_at(book, yard, arrow_did="bounced", bounced="1.1 m"), shot_at(book, yard, arrow_did="bounced")
    read, wide = shared(one(book, far)), shared(one(book, unread))
    assert wide.energy_j[1].value == pytest.approx(4 * 0.75 * (0.070 * 50 / 0.82) ** 2 / 2)
    assert read.ending == "bounced_length" and read.bounce is not None and read.bounce.fastest_m_s == pytest.approx(6.391, abs=1e-3)
    assert read.momentum_kg_m_s[1].value == pytest.approx(0.070 * 56.391, rel=1e-4)
    assert read.energy_j[1].value == pytest.approx((0.070 * 56.391) ** 2 / 1.5, rel=1e-4) and read.energy_j[0].value == pytest.approx(
        wide.energy_j[0].value
    )


def test_a_typed_height_bounds_it_closer_and_a_speed_that_was_read_counts_before_it(book: Storage) -> None:
    shot = shot_at(book, hung(book), arrow_did="bounced", bounced="1.1 m")
    wide, near, read = (
        shared(one(book, shot)),
        shared(one(book, shot, height="1.2 m")),
        shared(one(book, shot, height="1.2 m", after="2 m/s")),
    )
    assert (
        near.energy_j[1].value < wide.energy_j[1].value
        and near.bounce is not None
        and near.bounce.fastest_m_s == pytest.approx(2.863, abs=1e-3)
    )
    assert read.ending == "read" and read.momentum_kg_m_s[1].value == pytest.approx(0.070 * 52)
    told = ask(book, shot=shot, height="1.2 m").picked
    assert told is not None and told.ending is not None and told.ending.parts["ending"] == "bounced_length"
    bounce = told.ending.parts["bounce"]
    assert isinstance(bounce, Reason) and bounce.parts["length_m"] == pytest.approx(1.1) and bounce.parts["fall_typed"] is True
    assert [step.words for step in told.steps][:3] == [
        "Momentum at the target",
        "Speed of the bounce, at most",
        "Momentum that the panel took, at least",
    ]
    assert "bounce_limits" in codes(told.cautions)
    assert "height" in ask(book, shot=shot, height="0 m").problems and "height" in ask(book, shot=shot, height="high").problems


def test_a_bounce_too_long_for_its_fall_stays_wide_and_asks_for_the_height(book: Storage) -> None:
    shot = shot_at(book, hung(book), arrow_did="bounced", bounced="2.4 m")
    impact, told = shared(one(book, shot)), ask(book, shot=shot).picked
    assert impact.ending == "bounced" and told is not None and "Enter the height of the spot" in said(told.ending) and told.bounced
    assert shared(one(book, shot, height="1.3 m")).ending == "bounced_length"


def test_at_an_angle_an_arrow_may_leave_more_steeply_so_less_is_bound(book: Storage) -> None:
    yard = hung(book)
    square, slanted = (
        shared(one(book, shot_at(book, yard, arrow_did="bounced", bounced="0.5 m", **more))) for more in ({}, {"angle": "8°"})
    )
    assert square.bounce is not None and slanted.bounce is not None
    assert (
        square.bounce.fastest_m_s is not None
        and slanted.bounce.fastest_m_s is not None
        and square.bounce.fastest_m_s < slanted.bounce.fastest_m_s
    )


@pytest.mark.parametrize(
    ("did", "ending"), [("glanced", "unknown"), ("broke_up", "held"), ("dropped", "dropped"), (None, "bounced_length")]
)
def test_a_length_bounds_only_an_arrow_that_came_back(book: Storage, did: str | None, ending: str) -> None:
    shot = shot_at(book, hung(book), outcome="1", bounced="1 m", **({"arrow_did": did} if did else {}))
    assert shared(one(book, shot)).ending == ending


# The typical one, then all


def test_the_page_gives_the_middle_shot_with_its_own_range_then_the_envelope_momentum_before_energy(book: Storage) -> None:
    yard = hung(book)
    shot_at(book, yard, speed="40 m/s", outcome="3", arrow_did="stuck_armour")
    middle = shot_at(book, yard, speed="50 m/s", outcome="3", arrow_did="stuck_armour")
    shot_at(book, yard, speed="52 m/s", arrow_did="bounced")
    found = ask(book, trial=yard.trial)
    label = next(row.fact.label for row in found.rows if row.fact.shot_id == middle)
    assert said(found.finding).replace("\N{NO-BREAK SPACE}", " ") == f"In a typical shot, {label}, the panel took 3.5 kg·m/s and 2 to 3 J"
    words = said(found.envelope).replace("\N{NO-BREAK SPACE}", " ")
    assert words.startswith("In all 3 shots that did not get through, the panel took 2.8 to 7.1 kg·m/s and 1.3 to 12 J.")
    assert "the middle one by momentum" in words
    assert "For 1 of them the speed of the arrow afterwards is not recorded" in words
    told = ask(book, shot=middle)
    heading = said(told.finding)
    assert told.envelope is None and heading.index("kg·m/s") < heading.index("J")
    assert ask(book, trial=hung(book).trial).finding == because("blunt_no_hits")


# What is missing


def test_without_the_panels_mass_it_cannot_be_told(book: Storage) -> None:
    assert missing(one(book, shot_at(book, hung(book, mass=None)))) == ["no_panel_mass"]


def test_without_the_hung_mass_it_cannot_be_told_and_nothing_is_an_answer(book: Storage) -> None:
    assert missing(one(book, shot_at(book, hung(book, hung_mass=None)))) == ["no_hung_mass"]
    nothing = shared(one(book, shot_at(book, hung(book, hung_mass="0 kg"), outcome="3", arrow_did="stuck_armour")))
    assert nothing.range.known and nothing.most_kg == 2.0


def test_without_an_energy_it_cannot_be_told(book: Storage) -> None:
    yard = hung(book)
    row = one(book, shot_at(book, yard, speed=None))
    assert missing(row) == ["no_energy"] and row.impact.at_target is None
    assert codes((row.took, row.passed, row.ranks)) == ["not_known"] * 3


@pytest.mark.parametrize("held", ["clamped", "tied", "worn_form"])
def test_a_panel_that_is_held_fast_is_not_free_and_that_is_the_reason(book: Storage, held: str) -> None:
    assert missing(one(book, shot_at(book, hung(book, held=held)))) == ["not_free"]


def test_a_panel_that_hangs_against_its_backing_is_not_free(book: Storage) -> None:
    assert missing(one(book, shot_at(book, hung(book, gap="0 mm")))) == ["on_backing"]


@pytest.mark.parametrize(("hit", "words"), [("missed", "missed"), ("partial", "clipped"), ("spoiled", "spoiled"), (None, "not read")])
def test_a_shot_that_left_no_impact_says_why(book: Storage, hit: str | None, words: str) -> None:
    yard = hung(book)
    shot = kit.shot(book, yard)
    kit.shot_speed(book, shot, "50 m/s")
    if hit:
        kit.reading(book, shot, hit=hit)
    told = ask(book, shot=shot).picked
    assert told is not None and told.why_not == because("blunt_no_hit", hit=hit) and not told.steps
    assert words in said(told.why_not)


def test_a_slanting_impact_and_an_unknown_gap_are_things_to_check(book: Storage) -> None:
    yard = hung(book, gap=None)
    told = ask(book, shot=shot_at(book, yard, angle="30", arrow_did="dropped")).picked
    assert told is not None and any(
        "30° from square" in words or "30\N{NO-BREAK SPACE}° from square" in words for words in map(said, told.cautions)
    )
    assert {"slanted", "no_gap"} <= set(codes(told.cautions))


def test_all_that_is_missing_is_said_at_once(book: Storage) -> None:
    row = one(book, shot_at(book, hung(book, mass=None, hung_mass=None), speed=None))
    assert missing(row) == ["no_energy", "no_panel_mass", "no_hung_mass"] and said(reason(row)).count(".") >= 3


def test_a_set_up_without_a_stand_says_so(book: Storage) -> None:
    yard = kit.yard(book)
    setup = kit.setup(book, yard.session, yard.panel.build)
    shot = kit.shot(book, yard, shooting_end_id=kit.shooting_end(book, setup))
    kit.reading(book, shot, outcome_low="2")
    assert "no_stand" in missing(one(book, shot))


# Which shots


def test_shots_that_came_through_missed_or_wait_are_in_no_row_and_are_counted(book: Storage) -> None:
    yard = hung(book)
    shot_at(book, yard, outcome="2")
    shot_at(book, yard, outcome="4")
    shot_at(book, yard, outcome="5")
    kit.read_shot(book, yard, hit="missed")
    kit.shot(book, yard)
    kit.shot(book, yard, purpose="sighter")
    found = ask(book, trial=yard.trial)
    assert (len(found.rows), found.through, found.unread) == (1, 2, 1)


def test_three_or_four_stays_in_and_says_rear_check(book: Storage) -> None:
    yard = hung(book)
    shot = shot_at(book, yard, outcome="3", outcome_high="4", rear_check="yes", arrow_did="stuck_armour")
    found = ask(book, shot=shot)
    assert len(found.rows) == 1 and found.picked is not None and "maybe_through" in codes(found.picked.cautions)
    assert isinstance(found.rows[0].criterion, CriterionFound) and found.rows[0].criterion.maybe_through


def test_a_shot_that_came_through_has_its_momentum_and_no_criterion(book: Storage) -> None:
    yard = hung(book)
    found = ask(book, shot=shot_at(book, yard, outcome="4", depth="12 mm", arrow_did="stuck_armour"))
    assert found.picked is not None and found.picked.no_criterion == because("blunt_got_through") and found.picked.criterion is None
    assert found.picked.steps and "was_through" in codes(found.picked.cautions)


def test_a_scoped_viewer_sees_one_trial_whatever_is_asked(book: Storage) -> None:
    mine, other = hung(book), hung(book)
    shot_at(book, mine)
    shot = shot_at(book, other)
    found = ask(book, trial=other.trial, only_trial=mine.trial)
    assert "trial" in found.problems and set(found.trials) == {mine.trial}
    assert all(row.fact.trial_id == mine.trial for row in ask(book, shot=shot, only_trial=mine.trial).rows)
    assert ask(book, shot=shot, only_trial=mine.trial).problems == {"shot": "That shot is not among these."}


def test_a_panel_alone_can_be_asked_and_one_that_is_not_there_is_said(book: Storage) -> None:
    yard = hung(book)
    shot_at(book, yard)
    assert len(ask(book, panel=yard.panel.build).rows) == 1
    assert "panel" in ask(book, trial=yard.trial, panel="nothing").problems
    assert "panel" in ask(book, panel="nothing").problems


def test_without_a_question_it_asks_which_trial(book: Storage) -> None:
    yard = hung(book)
    found = ask(book)
    assert not found.asked_for and not found.rows and not found.trials, "nothing was shot in it yet"
    shot_at(book, yard)
    assert set(ask(book).trials) == {yard.trial}


def test_statements_stay_few_however_many_shots(book: Storage) -> None:
    yard = hung(book)
    for _ in range(3):
        shot_at(book, yard)
    with statements(book) as said:
        few = (ask(book, trial=yard.trial), len(said))[1]
        for _ in range(5):
            shot_at(book, yard)
        said.clear()
        ask(book, trial=yard.trial)
    assert len(said) == few <= 10


# The criterion


def test_every_input_of_a_hung_panel_lies_outside_and_each_is_said(book: Storage) -> None:
    found = one(book, shot_at(book, hung(book), arrow_did="dropped")).criterion
    assert isinstance(found, CriterionFound)
    assert [outside.words for outside in found.outside] == ["speed of what strikes the body", "its width"]
    told = ask(book, shot=shot_at(book, hung(book), arrow_did="dropped")).picked
    assert told is not None
    words = said(told.criterion)
    assert (
        words.count("illustrative, outside validated range") == 2
        and "does not mean that nobody would be hurt" in words
        and "no published limit to compare it with was found" in words
        and "0.37" not in words  # a figure that nobody could look up stands on no page
    )


def test_a_typed_width_narrows_the_criterion_and_a_slighter_wall_raises_it(book: Storage) -> None:
    shot = shot_at(book, hung(book), arrow_did="dropped")
    wide, narrow = one(book, shot).criterion, one(book, shot, width="60 mm").criterion
    woman = one(book, shot, width="60 mm", body="woman").criterion
    assert isinstance(wide, CriterionFound) and isinstance(narrow, CriterionFound) and isinstance(woman, CriterionFound)
    assert wide.low is not None and wide.high is not None and narrow.low is not None and narrow.high is not None and woman.low is not None
    assert wide.low < narrow.low <= narrow.high < wide.high and woman.low > narrow.low
    assert narrow.width_typed and not wide.width_typed


def test_without_the_panels_size_a_width_has_to_be_typed(book: Storage) -> None:
    yard = hung(book)
    kit.put(book, "panel", {"width": None}, record_id=yard.panel.panel, base_rev=1)
    found = one(book, shot_at(book, yard, arrow_did="dropped"))
    assert isinstance(found.criterion, CantTell) and found.criterion.reason == because("blunt_no_width")
    assert isinstance(one(book, found.fact.shot_id, width="60 mm").criterion, CriterionFound)


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("body_mass", "300 kg", "for adults"),
        ("body_mass", "heavy", "heavy"),
        ("width", "1 mm", "mm"),
        ("width", "2 m", "wider than a chest"),
        ("body", "child", "Pick one"),
    ],
)
def test_what_cannot_be_used_is_said_and_what_was_typed_stays(name: str, typed: str, words: str) -> None:
    asked = blunt_asked({name: [typed]})
    assert words in asked.problems[name] and (name == "body" or asked.typed[name] == typed)
    assert asked.body_kg == 75.0 and asked.width_m is None and asked.body == "man"


# The backing


def told_of(book: Storage, stand: str) -> Any:
    with book.read() as session:
        return backing_told(stands_built(session, [stand])[stand], belonging(session, BackingCheck, "stand_id", stand))


def check(book: Storage, stand: str, **more: str) -> None:
    body = {
        "drop_mass": "1.043 kg",
        "drop_across": "63.5 mm",
        "drop_height": "2 m",
        "drops": "5",
        "found": "19 mm",
        "temperature": "35 °C",
        **more,
    }
    kit.put(book, "backing_check", {"stand": stand, "at": kit.BEGAN, **{name: value for name, value in body.items() if value}})


def test_a_stand_without_a_backing_keeps_no_print(book: Storage) -> None:
    assert told_of(book, kit.stand(book)).behind == because("blunt_no_backing")


def test_a_backing_that_nobody_checked_says_so(book: Storage) -> None:
    stand = kit.stand(book)
    kit.put(book, "stand_layer", {"stand": stand, "place": "1", "role": "backing", "material": "clay", "thickness": "90 mm"})
    told = told_of(book, stand)
    assert "clay, 90" in said(told.behind) and told.missing == because("blunt_no_check") and not told.checks


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({}, "within 17 to 21"),
        ({"found": "24 mm"}, "outside 17 to 21"),
        ({"drop_mass": "2 kg"}, "Not done like the standard’s check (1.043"),
        ({"drops": "1"}, "mean of 5"),
        ({"drop_height": "1 m"}, "from 2\N{NO-BREAK SPACE}m"),
        ({"drop_across": ""}, "63.5"),
        ({"found": ""}, "No depth is recorded"),
    ],
)
def test_a_check_is_laid_beside_the_printed_one_only_if_it_was_done_like_it(book: Storage, more: dict[str, str], words: str) -> None:
    stand = kit.stand(book)
    check(book, stand, **more)
    told = told_of(book, stand).checks[0]
    assert words in said(told.beside) and (told.beside.code == "blunt_beside") is ("borrowed" in said(told.beside))


def test_a_check_tells_the_energy_of_its_drop_and_whether_it_was_warm(book: Storage) -> None:
    stand = kit.stand(book)
    check(book, stand)
    done = said(told_of(book, stand).checks[0].done)
    assert "so 20.5" in done and "35" in done
    check(book, stand, temperature="")
    assert any("its temperature not recorded" in said(one.done) for one in told_of(book, stand).checks)


def test_a_print_stands_with_the_borrowed_figure_and_what_it_was_made_for(book: Storage) -> None:
    yard = hung(book)
    found = ask(book, shot=shot_at(book, yard, back_face="9 mm", arrow_did="dropped"))
    assert found.picked is not None and found.prints == 1
    words = said(found.picked.back_face)
    assert "back-face depth is 9" in words and "borrowed" in words and "no backing that keeps a print" in words
    without = ask(book, shot=shot_at(book, yard)).picked
    assert without is not None and without.back_face == because("blunt_no_back_face", backing=False)
