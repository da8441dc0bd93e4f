"""The blow behind: what each ending leaves open, what is missing and said so, backings, prints, and a criterion that is always outside its data."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import Engine, event

from server.findings.blow.ask import blow_asked
from server.findings.blow.backing import backing_told
from server.findings.blow.criterion import NO_BLOW, CriterionFound
from server.findings.blow.page import Blow, BlowRow, read_blow
from server.findings.blow.shared import ENDING_WORDS, SharedBlow
from server.findings.blow.table import blow_cells
from server.physics.panel_blow import ENDINGS
from server.physics.ranges import CantTell
from server.records.kit_between import stands_built
from server.records.listing import belonging
from server.records.stand import BackingCheck
from server.storage import Storage
from tests import kit_for_tests as kit


def hung(book: Storage, *, construction: str = "plate", mass: str | None = "2 kg", held: str = "hung", hung_mass: str | None = "1 kg", gap: str | None = "40 mm", **panel: Any) -> kit.Yard:
    """A yard whose panel is weighed, in a stand whose hung mass is known unless told otherwise."""
    yard = kit.yard(book)
    arrow = kit.arrow(book, masses=(), diameter="9.5 mm")
    kit.mass_reading(book, arrow.build, "70.0 g", instrument=kit.scale(book, accuracy="0.1 g", accuracy_means="limit"))
    made = kit.panel(book, construction=construction, **({"mass": mass} if mass else {}), **panel)
    stand = kit.stand(book, held=held, gap=gap, **({"hung_mass": hung_mass} if hung_mass else {}))
    setup = kit.setup(book, yard.session, made.build, stand_id=stand, distance="12 m", chronograph=kit.chronograph(book), chronograph_at="12 m")
    return kit.Yard(yard.archer, yard.bow, arrow, made, stand, yard.trial, yard.session, setup, kit.walk(book, setup))


def struck(book: Storage, yard: kit.Yard, *, speed: str | None = "50 m/s", outcome: str = "2", x: str = "0 mm", y: str = "0 mm", **reading: Any) -> str:
    shot = kit.shot(book, yard)
    if speed:
        kit.shot_speed(book, shot, speed)
    return kit.reading(book, shot, outcome_low=outcome, x=x, y=y, **reading)


def ask(book: Storage, *, only_trial: str | None = None, **query: str) -> Blow:
    return read_blow(book, {name: [value] for name, value in query.items()}, reader="metric", only_trial=only_trial)


def one(book: Storage, shot: str, **query: str) -> BlowRow:
    return next(row for row in ask(book, shot=shot, **query).rows if row.fact.shot_id == shot)


def shared(row: BlowRow) -> SharedBlow:
    assert isinstance(row.shared, SharedBlow), row.shared
    return row.shared


def reason(row: BlowRow) -> str:
    assert isinstance(row.shared, CantTell)
    return row.shared.reason


# How it ended


def test_every_ending_of_the_formula_has_its_words() -> None:
    assert set(ENDING_WORDS) == set(ENDINGS) | {"read"}


@pytest.mark.parametrize(
    ("did", "outcome", "ending"),
    [
        ("stood_armour", "3", "stood"), ("dropped", "2", "dropped"), ("bounced", "1", "bounced"), ("broke_up", "2", "held"), ("glanced", "1", "unknown"),
        (None, "0", "held"), ("stood_backing", "3", "passed"),
    ],
)  # fmt: skip
def test_what_the_arrow_did_says_between_which_ends_the_blow_lies(book: Storage, did: str | None, outcome: str, ending: str) -> None:
    yard = hung(book)
    row = one(book, struck(book, yard, outcome=outcome, **({"arrow_did": did} if did else {})))
    assert shared(row).ending == ending


def test_an_arrow_that_stayed_in_the_middle_is_shared_out_by_the_masses_alone(book: Storage) -> None:
    """70 g at 50 m/s on 2 kg, and on 3 kg with what hangs along: 3.5^2/(2 x 2.07) and 3.5^2/(2 x 3.07)."""
    blow = shared(one(book, struck(book, hung(book), outcome="3", arrow_did="stood_armour")))
    assert blow.energy_j[1].value == pytest.approx(3.5**2 / (2 * 2.07))
    assert blow.energy_j[0].value == pytest.approx(3.5**2 / (2 * 3.07))
    assert blow.momentum_kg_m_s[0].value == blow.momentum_kg_m_s[1].value == pytest.approx(3.5)
    u = blow.momentum_u
    assert u is not None and blow.energy_j[0].standard_uncertainty == pytest.approx(2 * u * blow.energy_j[0].value)


def test_struck_off_its_middle_less_of_a_plate_moves_and_more_energy_goes_on(book: Storage) -> None:
    yard = hung(book)
    middle = shared(one(book, struck(book, yard, outcome="3", arrow_did="stood_armour")))
    corner = shared(one(book, struck(book, yard, outcome="3", x="120 mm", y="150 mm", arrow_did="stood_armour")))
    assert corner.least_kg < middle.least_kg == 2.0 and "off its middle" in corner.least_words
    assert corner.energy_j[1].value > middle.energy_j[1].value
    assert corner.energy_j[0].value == pytest.approx(middle.energy_j[0].value)


def test_a_heavier_frame_leaves_less(book: Storage) -> None:
    light = shared(one(book, struck(book, hung(book, hung_mass="1 kg"), arrow_did="dropped")))
    heavy = shared(one(book, struck(book, hung(book, hung_mass="30 kg"), arrow_did="dropped")))
    assert heavy.energy_j[0].value < light.energy_j[0].value and heavy.energy_j[1].value == pytest.approx(light.energy_j[1].value)


def test_a_place_that_nobody_read_counts_as_the_whole_panel(book: Storage) -> None:
    yard = hung(book)
    shot = kit.shot(book, yard)
    kit.shot_speed(book, shot, "50 m/s")
    kit.reading(book, shot, outcome_low="2", place_known="no")
    assert shared(one(book, shot)).least_kg == 2.0


@pytest.mark.parametrize("construction", ["mail", "textile", "scale", "lamellar"])
def test_armour_that_is_not_rigid_has_no_upper_end(book: Storage, construction: str) -> None:
    row = one(book, struck(book, hung(book, construction=construction), arrow_did="dropped"))
    assert shared(row).open_above and isinstance(row.criterion, CriterionFound) and row.criterion.high is None
    assert blow_cells(row, reader="metric")[5].endswith("or more") and blow_cells(row, reader="metric")[7].endswith("or more")


def test_a_speed_afterwards_closes_the_momentum_and_narrows_the_energy(book: Storage) -> None:
    """70 g at 50 m/s, back at 4 m/s: 0.070 x 54 on 2 kg, and on 3 kg."""
    shot = struck(book, hung(book), arrow_did="bounced")
    wide, read = shared(one(book, shot)), shared(one(book, shot, after="4 m/s"))
    assert read.ending == "read" and read.momentum_kg_m_s[0].value == read.momentum_kg_m_s[1].value == pytest.approx(0.070 * 54)
    assert read.energy_j[1].value == pytest.approx((0.070 * 54) ** 2 / 4) and read.energy_j[0].value == pytest.approx((0.070 * 54) ** 2 / 6)
    assert wide.energy_j[0].value < read.energy_j[0].value < read.energy_j[1].value < wide.energy_j[1].value


def test_a_speed_afterwards_that_cannot_be_is_said(book: Storage) -> None:
    yard = hung(book)
    bounced, stood = struck(book, yard, arrow_did="bounced"), struck(book, yard, outcome="3", arrow_did="stood_armour")
    assert "energy would have to come from nothing" in reason(one(book, bounced, after="49.9 m/s"))
    assert "after" in ask(book, shot=stood, after="4 m/s").problems and "after" in ask(book, trial=yard.trial, after="4 m/s").problems
    assert "after" in ask(book, shot=bounced, after="fast").problems


# What is missing


def test_without_the_panels_mass_it_cannot_be_told(book: Storage) -> None:
    assert reason(one(book, struck(book, hung(book, mass=None)))) .endswith(" was never weighed.")


def test_without_the_hung_mass_it_cannot_be_told_and_nothing_is_an_answer(book: Storage) -> None:
    assert "type 0 kg if nothing does" in reason(one(book, struck(book, hung(book, hung_mass=None))))
    nothing = shared(one(book, struck(book, hung(book, hung_mass="0 kg"), outcome="3", arrow_did="stood_armour")))
    assert nothing.range.known and nothing.most_kg == 2.0


def test_without_an_energy_it_cannot_be_told(book: Storage) -> None:
    yard = hung(book)
    assert reason(one(book, struck(book, yard, speed=None))).rstrip(".") != ""
    cells = blow_cells(one(book, struck(book, yard, speed=None)), reader="metric")
    assert cells[3] == cells[4] == "not known" and cells[5] == cells[7] == "can’t be told"


@pytest.mark.parametrize("held", ["clamped", "tied", "worn_form"])
def test_a_panel_that_is_held_fast_is_not_free_and_that_is_the_reason(book: Storage, held: str) -> None:
    assert "not free" in reason(one(book, struck(book, hung(book, held=held))))


def test_a_panel_that_hangs_against_its_backing_is_not_free(book: Storage) -> None:
    assert "against what stands behind it" in reason(one(book, struck(book, hung(book, gap="0 mm"))))


@pytest.mark.parametrize(("hit", "words"), [("missed", "missed"), ("partial", "clipped"), ("spoiled", "spoiled"), (None, "not read")])
def test_a_shot_that_left_no_blow_says_why(book: Storage, hit: str | None, words: str) -> None:
    yard = hung(book)
    shot = kit.shot(book, yard)
    kit.shot_speed(book, shot, "50 m/s")
    if hit:
        kit.reading(book, shot, hit=hit)
    told = ask(book, shot=shot).picked
    assert told is not None and words in told.why_not and not told.steps


def test_a_slanting_blow_and_an_unknown_gap_are_things_to_mind(book: Storage) -> None:
    yard = hung(book, gap=None)
    told = ask(book, shot=struck(book, yard, angle="30", arrow_did="dropped")).picked
    assert told is not None and any("30° off square" in words or "30\N{NO-BREAK SPACE}° off square" in words for words in told.minds)
    assert any("How far the panel hung" in words for words in told.minds)


def test_all_that_is_missing_is_said_at_once(book: Storage) -> None:
    words = reason(one(book, struck(book, hung(book, mass=None, hung_mass=None), speed=None)))
    assert "never weighed" in words and "What hangs with the panel" in words and words.count(".") >= 3


def test_a_set_up_without_a_stand_says_so(book: Storage) -> None:
    yard = kit.yard(book)
    setup = kit.setup(book, yard.session, yard.panel.build)
    shot = kit.shot(book, yard, walk_id=kit.walk(book, setup))
    kit.reading(book, shot, outcome_low="2")
    assert "Nobody wrote down what the panel stood in" in reason(one(book, shot))


# Which shots


def test_shots_that_came_through_missed_or_wait_are_in_no_row_and_are_counted(book: Storage) -> None:
    yard = hung(book)
    struck(book, yard, outcome="2")
    struck(book, yard, outcome="4")
    struck(book, yard, outcome="5")
    kit.read_shot(book, yard, hit="missed")
    kit.shot(book, yard)
    kit.shot(book, yard, purpose="sighter")
    found = ask(book, trial=yard.trial)
    assert (len(found.rows), found.through, found.unread) == (1, 2, 1)


def test_three_or_four_stays_in_and_says_look_behind(book: Storage) -> None:
    yard = hung(book)
    shot = struck(book, yard, outcome="3", outcome_high="4", look_behind="yes", arrow_did="stood_armour")
    found = ask(book, shot=shot)
    assert len(found.rows) == 1 and found.picked is not None and any("look behind it" in words for words in found.picked.minds)
    assert isinstance(found.rows[0].criterion, CriterionFound) and found.rows[0].criterion.maybe_through


def test_a_shot_that_came_through_has_its_momentum_and_no_criterion(book: Storage) -> None:
    yard = hung(book)
    found = ask(book, shot=struck(book, yard, outcome="4", depth="12 mm", arrow_did="stood_armour"))
    assert found.picked is not None and found.picked.no_criterion == NO_BLOW and found.picked.criterion is None
    assert found.picked.steps and any("came behind" in words for words in found.picked.minds)


def test_a_scoped_viewer_sees_one_trial_whatever_is_asked(book: Storage) -> None:
    mine, other = hung(book), hung(book)
    struck(book, mine)
    shot = struck(book, other)
    found = ask(book, trial=other.trial, only_trial=mine.trial)
    assert "trial" in found.problems and set(found.trials) == {mine.trial}
    assert all(row.fact.trial_id == mine.trial for row in ask(book, shot=shot, only_trial=mine.trial).rows)
    assert ask(book, shot=shot, only_trial=mine.trial).problems == {"shot": "The book has no such shot here."}


def test_a_panel_alone_can_be_asked_and_one_that_is_not_there_is_said(book: Storage) -> None:
    yard = hung(book)
    struck(book, yard)
    assert len(ask(book, panel=yard.panel.build).rows) == 1
    assert "panel" in ask(book, trial=yard.trial, panel="nothing").problems
    assert "panel" in ask(book, panel="nothing").problems


def test_without_a_question_it_asks_which_trial(book: Storage) -> None:
    yard = hung(book)
    found = ask(book)
    assert not found.asked_for and not found.rows and set(found.trials) == {yard.trial}


def test_statements_stay_few_however_many_shots(book: Storage) -> None:
    yard = hung(book)
    for _ in range(3):
        struck(book, yard)
    said: list[str] = []

    def note(_c: object, _cu: object, statement: str, *_: object) -> None:
        if not statement.startswith(("BEGIN", "PRAGMA")):
            said.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    try:
        few = (ask(book, trial=yard.trial), len(said))[1]
        for _ in range(5):
            struck(book, yard)
        said.clear()
        ask(book, trial=yard.trial)
    finally:
        event.remove(Engine, "before_cursor_execute", note)
    assert len(said) == few <= 10


# The criterion


def test_every_input_of_a_hung_panel_lies_outside_and_each_is_said(book: Storage) -> None:
    found = one(book, struck(book, hung(book), arrow_did="dropped")).criterion
    assert isinstance(found, CriterionFound)
    assert [outside.words for outside in found.outside] == ["mass of what strikes the body", "its speed", "its width", "its energy"]
    told = ask(book, shot=struck(book, hung(book), arrow_did="dropped")).picked
    assert told is not None and told.criterion_words.count("illustrative, outside validated range") == 2 and "no promise" in told.criterion_words


def test_a_typed_width_narrows_the_criterion_and_a_slighter_wall_raises_it(book: Storage) -> None:
    shot = struck(book, hung(book), arrow_did="dropped")
    wide, narrow = one(book, shot).criterion, one(book, shot, width="60 mm").criterion
    woman = one(book, shot, width="60 mm", body="woman").criterion
    assert isinstance(wide, CriterionFound) and isinstance(narrow, CriterionFound) and isinstance(woman, CriterionFound)
    assert wide.low is not None and wide.high is not None and narrow.low is not None and narrow.high is not None and woman.low is not None
    assert wide.low < narrow.low <= narrow.high < wide.high and woman.low > narrow.low
    assert "as you typed it" in narrow.width_words


def test_without_the_panels_size_a_width_has_to_be_typed(book: Storage) -> None:
    yard = hung(book)
    kit.put(book, "panel", {"width": None}, record_id=yard.panel.panel, base_rev=1)
    found = one(book, struck(book, yard, arrow_did="dropped"))
    assert isinstance(found.criterion, CantTell) and "type its width" in found.criterion.reason
    assert isinstance(one(book, found.fact.shot_id, width="60 mm").criterion, CriterionFound)


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [("body_mass", "300 kg", "grown bodies"), ("body_mass", "heavy", "heavy"), ("width", "1 mm", "mm"), ("width", "2 m", "wider than a chest"), ("body", "child", "Pick one")],
)
def test_what_cannot_be_used_is_said_and_what_was_typed_stays(name: str, typed: str, words: str) -> None:
    asked = blow_asked({name: [typed]})
    assert words in asked.problems[name] and (name == "body" or asked.typed[name] == typed)
    assert asked.body_kg == 75.0 and asked.width_m is None and asked.body == "man"


# The backing


def told_of(book: Storage, stand: str) -> Any:
    with book.read() as session:
        return backing_told(stands_built(session, [stand])[stand], belonging(session, BackingCheck, "stand_id", stand), reader="metric")


def check(book: Storage, stand: str, **more: str) -> None:
    body = {"drop_mass": "1.043 kg", "drop_across": "63.5 mm", "drop_height": "2 m", "drops": "5", "found": "19 mm", "temperature": "35 °C", **more}
    kit.put(book, "backing_check", {"stand": stand, "at": kit.BEGAN, **{name: value for name, value in body.items() if value}})


def test_a_stand_without_a_backing_keeps_no_print(book: Storage) -> None:
    assert "keeps no" in told_of(book, kit.stand(book)).words or "nothing there keeps a print" in told_of(book, kit.stand(book)).words


def test_a_backing_that_nobody_checked_says_so(book: Storage) -> None:
    stand = kit.stand(book)
    kit.put(book, "stand_layer", {"stand": stand, "place": "1", "role": "backing", "material": "clay", "thickness": "90 mm"})
    told = told_of(book, stand)
    assert "clay, 90" in told.words and "can’t be told" in told.missing and not told.checks


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({}, "within 17 to 21"), ({"found": "24 mm"}, "outside 17 to 21"), ({"drop_mass": "2 kg"}, "Not done as the printed check is (1.043"), ({"drops": "1"}, "mean of 5"),
        ({"drop_height": "1 m"}, "from 2.0"), ({"drop_across": ""}, "63.5"), ({"found": ""}, "Without a depth"),
    ],
)  # fmt: skip
def test_a_check_is_laid_beside_the_printed_one_only_if_it_was_done_like_it(book: Storage, more: dict[str, str], words: str) -> None:
    stand = kit.stand(book)
    check(book, stand, **more)
    told = told_of(book, stand).checks[0]
    assert words in told.beside
    assert ("borrowed" in told.beside) is told.beside.startswith("It lies")


def test_a_check_tells_the_energy_of_its_drop_and_whether_it_was_warm(book: Storage) -> None:
    stand = kit.stand(book)
    check(book, stand)
    assert "so 20.5" in told_of(book, stand).checks[0].words and "35" in told_of(book, stand).checks[0].words
    check(book, stand, temperature="")
    assert any("how warm it was nobody wrote down" in one.words for one in told_of(book, stand).checks)


def test_a_print_stands_with_the_borrowed_figure_and_what_it_was_made_for(book: Storage) -> None:
    yard = hung(book)
    found = ask(book, shot=struck(book, yard, back_face="9 mm", arrow_did="dropped"))
    assert found.picked is not None and found.prints == 1
    assert "pushed in 9" in found.picked.back_face and "borrowed" in found.picked.back_face and "no backing that keeps a print" in found.picked.back_face
    without = ask(book, shot=struck(book, yard)).picked
    assert without is not None and "nobody wrote down" in without.back_face
