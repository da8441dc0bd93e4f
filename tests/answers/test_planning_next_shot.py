"""The next shot by a trial's rule: from read, fair, settled shots alone, head by head, with why and when to stop."""

from __future__ import annotations

from dataclasses import replace

import pytest
from proofyard.answers.planning.next_shot import NextShot
from proofyard.answers.planning.next_shot_read import read_next_shot
from proofyard.quantities.reason import Reason, because
from proofyard.records import arrows_at_the_range
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit


class Range:
    """A needle with a weak and a strong bow, a short bodkin with the strong one; shots at places that are fair."""

    def __init__(self, book: Storage) -> None:
        self.book = book
        self.yard = kit.yard(book)
        self.strong = kit.bow(book, "Strong", marked_weight="140 lbf")
        self.stout = kit.arrow(book, form="short_bodkin")
        self.shots = 0
        for bow, arrow, speed in (
            (self.yard.bow, self.yard.arrow, "45"),
            (self.strong, self.yard.arrow, "52"),
            (self.strong, self.stout, "52"),
        ):
            kit.speeds(book, kit.Combination(bow.build, arrow.build, self.yard.archer), speed, speed)

    def shoot(self, outcome_level: str | None, *, strong: bool = False, stout: bool = False, **more: str) -> str:
        place = self.shots
        self.shots += 1
        arrow = self.stout if stout else self.yard.arrow
        shot = kit.shot(self.book, self.yard, arrow_build=arrow.build, bow_build=(self.strong if strong or stout else self.yard.bow).build)
        if outcome_level is not None:
            kit.reading(
                self.book,
                shot,
                outcome_low=outcome_level,
                x=f"{-100 + 65 * (place % 4)} mm",
                y=f"{-140 + 65 * (place // 4)} mm",
                entry="plate",
                **more,
            )
        kit.checked_sound(self.book, arrow.build)
        return shot

    def rule(self, **rule: str) -> NextShot:
        row = kit.row(self.book, "trial", self.yard.trial)
        kit.put(self.book, "trial", rule, record_id=self.yard.trial, base_rev=row.rev)
        return self.now()

    def now(self) -> NextShot:
        with self.book.read() as session:
            read = read_next_shot(session, self.yard.trial, reader="metric")
        assert read is not None
        return read.found


def code_of(found: NextShot) -> str:
    """Of what the rule made of the last shot."""
    why = found.why.parts["why"] if found.why else None
    assert isinstance(why, Reason)
    return why.code


@pytest.fixture
def shooting(book: Storage) -> Range:
    return Range(book)


def test_heads_take_turns_and_each_goes_up_or_down_by_its_own_last(shooting: Range) -> None:
    shooting.shoot("2")
    found = shooting.rule(next_shot_rule="up_and_down")
    # The short bodkin has none yet, so it is its turn.
    assert found.best is not None and found.best.hand.fact.form == "short_bodkin"
    assert said(found.plainly) == "up-and-down method: the first shot with the short bodkin"
    shooting.shoot("2", stout=True)
    shooting.shoot("2", stout=True)
    found = shooting.now()
    assert found.best is not None and found.best.hand.fact.form == "needle"
    assert found.best.hand.fact.bow_build_id == shooting.strong.build and code_of(found) == "more_after_held"
    assert said(found.plainly).endswith("the last shot with the long needle bodkin was stopped, so this one is to have more energy")
    shooting.shoot("4", strong=True)
    shooting.shoot("4", stout=True)
    found = shooting.now()
    assert (
        found.best is not None and found.best.hand.fact.bow_build_id == shooting.yard.bow.build and code_of(found) == "less_after_through"
    )
    assert said(found.plainly).endswith("went through, so this one is to have less energy")


def test_of_many_arrows_in_use_those_that_phones_are_told_of_are_chosen_from_and_the_page_says_so(
    shooting: Range, monkeypatch: pytest.MonkeyPatch
) -> None:
    shooting.shoot("2", stout=True)
    shooting.shoot("2", stout=True)
    few = shooting.rule(next_shot_rule="up_and_down")
    assert few.best is not None and few.best.hand.fact.form == "needle", "the needle has none yet, so it is its turn"
    kit.arrow(shooting.book, "9", form="leaf")
    for name, most in (("MOST_ARROWS", 2), ("NEWEST_BUILDS", 1)):
        monkeypatch.setattr(arrows_at_the_range, name, most)
    many = shooting.now()
    # Neither built last nor shot at the panel: no phone at the range knows of the needle now.
    assert many.best is not None and many.best.hand.fact.form == "short_bodkin"
    assert [one.code for one in many.left_out] == ["chosen_of_many_arrows"] and "chosen_of_many_arrows" not in [
        r.code for r in few.left_out
    ]
    kit.put(shooting.book, "trial_uses", {"trial": shooting.yard.trial, "noun": "arrow", "record": shooting.yard.arrow.arrow})
    used = shooting.now()
    assert used.best == few.best and used.why == few.why and used.heads == few.heads


def test_with_the_weak_bow_away_no_stronger_shot_is_offered_after_one_that_got_through(shooting: Range) -> None:
    for _ in range(2):
        shooting.shoot("2", stout=True)
    shooting.shoot("4")
    row = kit.row(shooting.book, "bow", shooting.yard.bow.bow)
    kit.put(shooting.book, "bow", {"retired": "yes"}, record_id=row.id, base_rev=row.rev)
    found = shooting.rule(next_shot_rule="up_and_down")
    # The needle's turn, but only the strong bow is left: the short bodkin, which was stopped, may go on.
    assert found.best is not None and found.best.hand.fact.form == "short_bodkin" and code_of(found) == "same_energy_again"
    row = kit.row(shooting.book, "arrow", shooting.stout.arrow)
    kit.put(shooting.book, "arrow", {"retired": "yes"}, record_id=row.id, base_rev=row.rev)
    found = shooting.now()
    assert found.best is None
    assert found.why is not None and found.why.code == "none_at_hand_after_last" and code_of(found) == "all_on_the_wrong_side"


def test_what_is_unread_unfair_by_a_gap_or_between_two_outcome_levels_moves_nothing(shooting: Range) -> None:
    for _ in range(2):
        shooting.shoot("2")
        shooting.shoot("2", stout=True)
    before = shooting.rule(next_shot_rule="up_and_down")
    shooting.shoot("4", outcome_high="4", fair_overrule="not_fair", fair_reason="clipped a lace")
    shooting.shoot("3", outcome_high="4")
    after = shooting.now()
    assert after.heads == before.heads and after.best is not None and before.best is not None
    assert after.best.hand == before.best.hand and after.after == before.after + 2
    shooting.shoot(None)
    waiting = shooting.now().waiting
    assert waiting is not None and waiting.code == "unread_so_unknown"


def test_the_narrowing_rule_gives_why_how_much_and_others(shooting: Range) -> None:
    shooting.shoot("2")
    shooting.shoot("4", strong=True)
    found = shooting.rule(next_shot_rule="smallest_interval")
    assert found.best is not None and found.best.gain is not None
    assert found.best.gain.code == "expected_to_narrow" and found.why is not None
    assert said(found.plainly).startswith("smallest interval: this shot should tell most about the 50")
    assert (found.why.code, found.why.parts["shots"]) == ("where_it_lies", 0) and found.others
    # The head in most uncertainty comes first: the short bodkin was never shot.
    assert found.best.hand.fact.form == "short_bodkin"


def test_a_dear_change_of_bow_keeps_the_bow_in_hand(shooting: Range) -> None:
    for _ in range(3):
        shooting.shoot("2", stout=True)
    shooting.shoot("2")
    free = shooting.rule(next_shot_rule="smallest_interval")
    dear = shooting.rule(bow_change_costs="50")
    assert free.best is not None and dear.best is not None
    assert free.best.hand.fact.bow_build_id == shooting.strong.build
    assert dear.best.hand.fact.bow_build_id == shooting.yard.bow.build


def test_it_stops_after_so_many_shots_that_count(shooting: Range) -> None:
    shooting.shoot("2")
    found = shooting.rule(next_shot_rule="up_and_down", stop_rule="shots", stop_shots="2")
    assert not found.stop and found.stop_why == because("planned_shots_left", left=1, planned=2) and found.best is not None
    shooting.shoot("4", stout=True)
    found = shooting.now()
    assert found.stop and found.best is None and found.why == because("enough_so_stop", why=found.stop_why)


def test_a_closed_trial_and_one_without_a_rule_choose_nothing(shooting: Range) -> None:
    assert shooting.now().best is None and shooting.now().rule == "none"
    shooting.rule(next_shot_rule="up_and_down", state="closed")
    assert shooting.now().why == because("trial_closed_no_next")


def test_what_lay_behind_is_part_of_the_armour_that_the_next_shot_meets(shooting: Range) -> None:
    """Three shots over nothing, then the same panel over quilted linen: at first none counts there, then those shot there alone."""
    book, yard = shooting.book, shooting.yard
    for _ in range(3):
        shooting.shoot("2")
    assert [told.parts["shots"] for words, told in shooting.now().heads if words == "Long needle bodkin"] == [3]
    padded = kit.stand(book)
    kit.put(book, "stand_layer", {"stand": padded, "place": "1", "role": "garment", "material": "quilted linen"})
    setup = kit.setup(book, yard.session, yard.panel.build, stand_id=padded)
    assert dict(shooting.now().heads)["Long needle bodkin"] == because("none_counts_yet")
    shooting.yard = replace(yard, setup=setup, shooting_end=kit.shooting_end(book, setup))
    shooting.shoot("2", strong=True)
    assert [told.parts["shots"] for words, told in shooting.now().heads if words == "Long needle bodkin"] == [1]


def test_nothing_set_up_is_nothing_to_choose(book: Storage) -> None:
    trial = kit.trial(book)
    with book.read() as session:
        assert read_next_shot(session, trial, reader="metric") is None
