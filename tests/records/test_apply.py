"""The one door: what is taken, what is refused, what happens to the same thing said twice or differently."""

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from proofyard.records import devices
from proofyard.records.apply import NotTaken, apply_all, apply_each
from proofyard.records.book import Clash, Revision
from proofyard.records.ids import new_id
from proofyard.records.listing import count_of
from proofyard.records.notebook import changes_since, latest_seq, open_clashes, revisions_of
from proofyard.records.operations import Operation
from proofyard.records.shot_facts import shot_facts
from proofyard.records.trial import CAUTIONS
from proofyard.storage import Storage
from sqlalchemy import select, text

from tests import kit_for_tests as kit


def op(book: Storage, noun: str, body: dict[str, Any], *, record_id: str | None = None, base_rev: int = 0, **more: Any) -> Operation:
    return Operation(
        op_id=more.pop("op_id", new_id()),
        device_id=kit.recorder(book),
        action=more.pop("action", "put"),
        noun=noun,
        record_id=record_id or new_id(),
        base_rev=base_rev,
        body=body,
        **more,
    )


def test_what_was_typed_stays_beside_what_it_means(book: Storage) -> None:
    bow = kit.put(book, "bow", {"name": "Ashen", "marked_weight": "110 lb", "length": "1,9 m"})
    row = kit.row(book, "bow", bow)
    assert row.marked_weight_n == pytest.approx(110 * 4.4482216152605, rel=1e-12)  # lbf by definition
    assert row.length_m == pytest.approx(1.9)
    assert json.loads(row.typed)["length"] == "1,9 m"


def test_the_same_operation_again_gets_its_first_answer_and_changes_nothing(book: Storage) -> None:
    asked = op(book, "archer", {"call_name": "Wren"})
    first = apply_each(book, [asked])[0]
    again = apply_each(book, [asked, asked])
    assert [a.rev for a in again] == [first.rev, first.rev] and all(a.again for a in again)
    assert (again[0].status, again[0].seq) == (first.status, first.seq)
    with book.read() as session:
        assert len(revisions_of(session, "archer", asked.record_id)) == 1


def test_the_same_on_a_later_revision_is_the_same_again(book: Storage) -> None:
    """The answer to the second was lost; then the phone heard of a third thing, and let the second build on it."""
    asked = op(book, "archer", {"call_name": "Wren"})
    apply_each(book, [asked])
    second = op(book, "archer", {"call_name": "Wren the elder"}, record_id=asked.record_id, base_rev=1)
    first = apply_each(book, [second])[0]
    again = apply_each(book, [replace(second, base_rev=7)])[0]
    assert again.again and (again.status, again.rev, again.seq) == (first.status, first.rev, first.seq)
    assert apply_each(book, [replace(second, base_rev=7, reason="misheard")])[0].status == "refused"
    assert kit.row(book, "archer", asked.record_id).rev == 2


def test_an_id_used_for_something_else_is_refused(book: Storage) -> None:
    asked = op(book, "archer", {"call_name": "Wren"})
    apply_each(book, [asked])
    other = op(book, "archer", {"call_name": "Tallow"}, op_id=asked.op_id, record_id=asked.record_id)
    assert apply_each(book, [other])[0].status == "refused"
    assert kit.row(book, "archer", asked.record_id).call_name == "Wren"


def test_one_bad_operation_never_blocks_the_rest(book: Storage) -> None:
    good, bad, last = (
        op(book, "archer", {"call_name": "Wren"}),
        op(book, "bow", {"name": "X", "marked_weight": "72.4 m"}),
        op(book, "archer", {"call_name": "Tallow"}),
    )
    statuses = [a.status for a in apply_each(book, [good, bad, last])]
    assert statuses == ["applied", "refused", "applied"]
    with book.read() as session:
        assert session.execute(select(Revision.op_id).where(Revision.op_id == bad.op_id)).first() is None


def test_a_form_is_taken_whole_or_not_at_all_with_every_fault_said(book: Storage) -> None:
    good, bad = op(book, "archer", {"call_name": "Wren"}), op(book, "bow", {"name": "", "marked_weight": "fast", "length": "1,234"})
    with pytest.raises(NotTaken) as fault:
        apply_all(book, [good, bad])
    assert {p.field for p in fault.value.problems} == {"name", "marked_weight", "length"}
    assert kit.row(book, "archer", good.record_id) is None


def test_two_people_who_say_different_things_of_one_record_both_stand(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    kit.put(book, "shot_reading", {"hit": "on_panel", "outcome_low": "3"}, record_id=shot)
    answer = kit.ask(book, "shot_reading", {"depth": "12 mm"}, record_id=shot, base_rev=0)
    assert answer.status == "merged"
    row = kit.row(book, "shot_reading", shot)
    assert (row.outcome_low, row.depth_m) == ("3", pytest.approx(0.012))


def test_two_who_say_otherwise_of_one_field_are_both_kept_for_a_person_to_decide(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    kit.put(book, "shot_reading", {"hit": "on_panel", "outcome_low": "3"}, record_id=shot)
    answer = kit.ask(book, "shot_reading", {"outcome_low": "4", "entry": "plate"}, record_id=shot, base_rev=0)
    assert answer.status == "clash" and len(answer.clashes) == 1
    row = kit.row(book, "shot_reading", shot)
    assert (row.outcome_low, row.entry) == ("3", "plate")
    with book.read() as session:
        (clash,) = open_clashes(session)
        assert (clash.field, clash.stands[0], clash.offered[0]) == ("outcome_low", "3", "4")
        held = session.execute(select(Clash)).scalar_one()
        assert held.stands_op_id is not None


def test_a_clash_is_decided_by_somebody_who_saw_it_and_by_nobody_else(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    kit.put(book, "shot_reading", {"hit": "on_panel", "outcome_low": "3"}, record_id=shot)
    kit.ask(book, "shot_reading", {"outcome_low": "4"}, record_id=shot, base_rev=0)

    def still_open() -> int:
        with book.read() as session:
            return len(open_clashes(session))

    kit.ask(book, "shot_reading", {"outcome_low": "3"}, record_id=shot, base_rev=1)  # had not seen the second answer
    assert still_open() == 1
    kit.ask(book, "shot_reading", {"note": "looked again"}, record_id=shot, base_rev=3)  # says nothing of the field
    assert still_open() == 1
    kit.ask(book, "shot_reading", {"outcome_low": "4", "outcome_high": "4"}, record_id=shot, base_rev=4)
    assert still_open() == 0 and kit.row(book, "shot_reading", shot).outcome_low == "4"


def test_whoever_has_just_seen_a_clash_decides_it_and_only_that_one(book: Storage) -> None:
    shot = kit.shot(book, kit.yard(book))
    kit.put(book, "shot_reading", {"hit": "on_panel", "outcome_low": "3", "entry": "plate"}, record_id=shot)
    kit.ask(book, "shot_reading", {"outcome_low": "4", "entry": "ridge"}, record_id=shot, base_rev=0)  # rev 2, two clashes
    kit.ask(book, "shot_reading", {"outcome_low": "4", "outcome_high": "4"}, record_id=shot, base_rev=2)
    with book.read() as session:
        assert [one.field for one in open_clashes(session)] == ["entry"]


def test_a_field_that_others_left_empty_is_no_second_opinion(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    kit.put(book, "shot_reading", {"hit": "on_panel", "outcome_low": "3", "entry": "", "depth": ""}, record_id=shot)
    answer = kit.ask(book, "shot_reading", {"entry": "plate", "depth": "12 mm"}, record_id=shot, base_rev=0)
    assert (answer.status, answer.clashes) == ("merged", ())
    row = kit.row(book, "shot_reading", shot)
    assert (row.entry, row.depth_m) == ("plate", pytest.approx(0.012))


def two_phones(book: Storage) -> tuple[str, str]:
    with book.write() as session:
        return tuple(devices.add_device(session, call_name=name, role="archer").id for name in ("Wren", "Tallow"))  # type: ignore[return-value]


def said_by(book: Storage, phone: str, count: int | None, shot: str, level: str, *, base_rev: int) -> str:
    body = {"outcome_low": level, "outcome_high": level, **({"hit": "on_panel"} if base_rev == 0 else {})}
    asked = Operation(new_id(), phone, "put", "shot_reading", shot, base_rev, body, device_seq=count)
    return apply_each(book, [asked])[0].status


def test_a_phones_own_last_word_is_not_anothers(book: Storage) -> None:
    """Wren corrected herself before the book's answer had come back: both carry the rev that she saw first."""
    shot, (wren, tallow) = kit.shot(book, kit.yard(book)), two_phones(book)
    assert said_by(book, wren, 1, shot, "3", base_rev=0) == "applied"
    assert said_by(book, wren, 2, shot, "4", base_rev=0) == "merged"
    assert kit.row(book, "shot_reading", shot).outcome_low == "4"
    assert said_by(book, tallow, 1, shot, "5", base_rev=0) == "clash", "what Wren said is another's to Tallow"
    assert said_by(book, tallow, 2, shot, "5", base_rev=2) == "merged", "Tallow has seen both now"
    assert said_by(book, wren, 3, shot, "3", base_rev=2) == "clash", "the last word was Tallow's"


def test_of_several_who_spoke_since_the_last_word_decides(book: Storage) -> None:
    yard, (wren, tallow) = kit.yard(book), two_phones(book)
    own_last, anothers_last = kit.shot(book, yard), kit.shot(book, yard)
    assert said_by(book, tallow, 1, own_last, "3", base_rev=0) == "applied"
    assert said_by(book, wren, 1, own_last, "4", base_rev=1) == "applied", "Wren had seen what Tallow said"
    assert said_by(book, wren, 2, own_last, "5", base_rev=0) == "merged"
    assert said_by(book, wren, 3, anothers_last, "3", base_rev=0) == "applied"
    assert said_by(book, tallow, 2, anothers_last, "4", base_rev=1) == "applied"
    assert said_by(book, wren, 4, anothers_last, "5", base_rev=0) == "clash"


def test_what_a_phone_said_later_or_uncounted_is_no_word_that_it_had_in_sight(book: Storage) -> None:
    """An older one that arrives late must not undo the newer; a form has no count to tell by."""
    shot, (wren, _) = kit.shot(book, kit.yard(book)), two_phones(book)
    assert said_by(book, wren, 5, shot, "3", base_rev=0) == "applied"
    assert said_by(book, wren, 4, shot, "4", base_rev=0) == "clash"
    assert said_by(book, wren, None, shot, "4", base_rev=0) == "clash"
    assert kit.row(book, "shot_reading", shot).outcome_low == "3"


@pytest.mark.parametrize("noun", ["shot_reading", "second_reading"])
@pytest.mark.parametrize(
    ("low", "high", "taken"), [("3", "3", True), ("3", "4", True), ("1", "3", False), ("4", "3", False), ("0", "5", False)]
)
def test_two_levels_said_together_are_neighbours(book: Storage, noun: str, low: str, high: str, taken: bool) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    body = {"outcome_low": low, "outcome_high": high}
    of = {"hit": "on_panel"} if noun == "shot_reading" else {"shot": shot, "read_by": yard.archer}
    answer = kit.ask(book, noun, {**of, **body}, record_id=shot if noun == "shot_reading" else None)
    assert answer.taken is taken
    if not taken:
        assert [(p.field, "next to each other" in p.sentence) for p in answer.problems] == [("outcome_high", True)]


def test_a_wider_pair_that_a_book_holds_already_blocks_no_other_correction(book: Storage) -> None:
    shot = kit.read_shot(book, kit.yard(book), outcome_low="1")
    with book.write() as session:
        session.execute(text("UPDATE shot_reading SET outcome_high = '3'"))
    assert kit.ask(book, "shot_reading", {"note": "seen from the side"}, record_id=shot, base_rev=1).taken
    assert not kit.ask(book, "shot_reading", {"outcome_low": "0", "outcome_high": "3"}, record_id=shot, base_rev=2).taken


def test_saying_the_same_as_the_other_is_no_clash(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    kit.put(book, "shot_reading", {"hit": "on_panel", "outcome_low": "3"}, record_id=shot)
    assert kit.ask(book, "shot_reading", {"outcome_low": "3", "hit": "on_panel"}, record_id=shot).status == "merged"


def test_a_closed_trial_takes_no_shot_until_it_is_reopened_with_a_reason(book: Storage) -> None:
    yard = kit.yard(book)
    rev = kit.row(book, "trial", yard.trial).rev
    kit.put(book, "trial", {"state": "closed"}, record_id=yard.trial, base_rev=rev)
    body = {
        "label": "A1",
        "shooting_end": yard.shooting_end,
        "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build,
        "archer": yard.archer,
        "purpose": "counted",
    }
    refused = kit.ask(book, "shot", body)
    assert refused.status == "refused" and "closed" in refused.problems[0].sentence
    rev += 1
    assert kit.ask(book, "trial", {"state": "open"}, record_id=yard.trial, base_rev=rev).status == "refused"
    assert kit.ask(book, "trial", {"state": "open"}, record_id=yard.trial, base_rev=rev, reason="three more").taken
    assert kit.ask(book, "shot", body).taken


def test_no_shot_before_the_cautions_are_ticked(book: Storage) -> None:
    yard = kit.yard(book)
    unticked = kit.session(book, yard.trial, ticked=False)
    shooting_end = kit.shooting_end(book, kit.setup(book, unticked, yard.panel.build))
    body = {
        "label": "A1",
        "shooting_end": shooting_end,
        "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build,
        "archer": yard.archer,
        "purpose": "counted",
    }
    assert "cautions" in kit.ask(book, "shot", body).problems[0].sentence


def test_all_cautions_but_one_open_no_day(book: Storage) -> None:
    yard = kit.yard(book)
    day = kit.session(book, yard.trial, ticked=False)
    for caution in list(CAUTIONS)[:-1]:
        kit.put(book, "caution_tick", {"session": day, "caution": caution, "at": kit.BEGAN})
    end = kit.shooting_end(book, kit.setup(book, day, yard.panel.build))
    body = {"label": "A9", "shooting_end": end, "bow_build": yard.bow.build, "arrow_build": yard.arrow.build, "archer": yard.archer}
    answer = kit.ask(book, "shot", {**body, "purpose": "counted"})
    assert not answer.taken and [one.field for one in answer.problems] == ["shooting_end"]


def test_a_shot_keeps_its_label(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard, label="A7")
    assert kit.ask(book, "shot", {"label": "A8"}, record_id=shot, base_rev=1).problems[0].field == "label"


def test_a_wrong_archer_corrected_moves_the_shot_to_its_combination(book: Storage) -> None:
    yard = kit.yard(book)
    shot, other = kit.shot(book, yard), kit.archer(book, "Tallow")
    kit.put(book, "shot", {"archer": other}, record_id=shot, base_rev=1)
    with book.read() as session:
        (fact,) = shot_facts(session)
    assert fact.archer == "Tallow" and fact.archer_id == other


def test_striking_through_needs_a_reason_and_keeps_the_record(book: Storage) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    assert kit.ask(book, "shot", record_id=shot, action="void", reason=" ").status == "refused"
    kit.void(book, "shot", shot)
    with book.read() as session:
        assert shot_facts(session) == []
        assert [f.voided for f in shot_facts(session, voided=True)] == [True]
    assert kit.ask(book, "shot", record_id=shot, action="unvoid", reason="it was right").taken
    with book.read() as session:
        assert len(shot_facts(session)) == 1


@pytest.mark.parametrize(
    ("noun", "body", "field"),
    [
        ("shot_reading", {"hit": "missed", "outcome_low": "4"}, "hit"),
        ("shot_reading", {"outcome_low": "4", "outcome_high": "3"}, "outcome_high"),
        ("shot_reading", {"x": "10 mm"}, "x"),
        ("shot_reading", {"entry": "lace_hole"}, "entry"),
        ("shot_reading", {"fair_overrule": "fair"}, "fair_reason"),
        ("shot_reading", {"outcome_low": "9"}, "outcome_low"),
        ("shot_reading", {"colour": "red"}, "colour"),
    ],
)
def test_a_reading_that_can_not_be_is_refused_beside_its_field(book: Storage, noun: str, body: dict[str, Any], field: str) -> None:
    yard = kit.yard(book)
    shot = kit.shot(book, yard)
    answer = kit.ask(book, noun, body, record_id=shot)
    assert answer.status == "refused" and answer.problems[0].field == field


def test_a_reading_waits_for_a_shot_that_is_still_on_the_other_phone(book: Storage) -> None:
    kit.yard(book)
    assert "other phone" in kit.ask(book, "shot_reading", {"hit": "missed"}).problems[0].sentence


def test_two_of_one_name_get_names_that_differ(book: Storage) -> None:
    kit.put(book, "arrow", {"tag": "7"})
    assert kit.ask(book, "arrow", {"tag": "7"}).problems[0].field == "tag"


def test_the_change_feed_counts_every_change_once_in_order(book: Storage) -> None:
    with book.read() as session:
        before = latest_seq(session)
    made = [kit.put(book, "archer", {"call_name": name}) for name in ("Wren", "Tallow", "Pip")]
    with book.read() as session:
        since = [c for c in changes_since(session, before) if c[1] == "archer"]
        assert [c[2] for c in since] == made
        assert [c[0] for c in since] == sorted(c[0] for c in since)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    body=st.dictionaries(
        st.text(max_size=8),
        st.one_of(st.none(), st.text(max_size=60), st.integers(), st.booleans(), st.floats(), st.lists(st.text(max_size=5), max_size=3)),
        max_size=4,
    ),
    noun=st.sampled_from(["shot", "shot_reading", "bow", "trial", "reading", "nothing"]),
)
def test_whatever_a_body_holds_the_answer_is_words_and_never_an_error(book: Storage, noun: str, body: dict[str, Any]) -> None:
    answer = apply_each(book, [op(book, noun, {**body, "name": body.get("name", "x")})])[0]
    assert answer.status in ("applied", "refused") and (answer.taken or answer.problems)


def test_a_change_of_nothing_leaves_a_line_but_no_change(book: Storage) -> None:
    archer = kit.put(book, "archer", {"call_name": "Wren"})
    kit.put(book, "archer", {"call_name": "Wren"}, record_id=archer, base_rev=1)
    with book.read() as session:
        assert revisions_of(session, "archer", archer)[0].changes == {}
        assert session.execute(select(Revision.rev).where(Revision.record_id == archer)).scalars().all() == [1, 2]


def test_the_bell_rings_after_the_commit_and_not_for_what_was_refused(book: Storage) -> None:
    heard = []

    def listen() -> None:
        with book.read() as session:
            heard.append(session.execute(text("select count(*) from archer")).scalar_one())

    device = kit.recorder(book)
    book.after_commit(listen)
    with pytest.raises(NotTaken):
        apply_all(book, [Operation(new_id(), device, "put", "archer", new_id(), body={"call_name": ""})])
    assert heard == []
    apply_all(book, [Operation(new_id(), device, "put", "archer", new_id(), body={"call_name": "Wren"})])
    assert heard == [1]


@pytest.mark.parametrize(("noun", "field"), [("butt_visit", "back_at"), ("shooting_end", "at_butt_at")])
def test_what_two_phones_end_at_once_is_over_since_the_first(book: Storage, noun: str, field: str) -> None:
    yard, (wren, tallow) = kit.yard(book), two_phones(book)
    of = {"session": yard.session, "went_at": kit.BEGAN} if noun == "butt_visit" else {"setup": yard.setup, "begun_at": kit.BEGAN}
    record = kit.put(book, noun, of, device=wren)
    assert kit.ask(book, noun, {field: kit.BEGAN + 60_000}, record_id=record, base_rev=1, device=wren).status == "applied"
    late = kit.ask(book, noun, {field: kit.BEGAN + 61_000}, record_id=record, base_rev=1, device=tallow)
    assert (late.status, late.clashes) == ("merged", ())
    assert getattr(kit.row(book, noun, record), field) == kit.BEGAN + 60_000
    with book.read() as session:
        assert open_clashes(session) == []
    # Whoever has seen it may still correct it.
    assert kit.ask(book, noun, {field: kit.BEGAN + 30_000}, record_id=record, base_rev=3, device=tallow).taken
    assert getattr(kit.row(book, noun, record), field) == kit.BEGAN + 30_000


def test_a_refused_shot_leaves_nothing_not_even_a_combination(book: Storage) -> None:
    """Each stands for itself without a savepoint, so whatever a write brings with it must come after every check."""
    yard, other, phone = kit.yard(book), kit.arrow(book), kit.recorder(book)
    of = {"shooting_end": yard.shooting_end, "bow_build": yard.bow.build, "arrow_build": other.build, "archer": yard.archer}
    body = {**of, "label": "A1", "purpose": "counted"}

    def shots_and_combinations() -> tuple[int, int]:
        with book.read() as session:
            return count_of(session, "shot"), count_of(session, "combination")

    before = shots_and_combinations()
    unknown = Operation(new_id(), phone, "put", "shot", new_id(), body={**body, "archer": new_id()})
    closed = Operation(new_id(), phone, "put", "trial", yard.trial, base_rev=9, body={"state": "closed"})
    late = Operation(new_id(), phone, "put", "shot", new_id(), body=body)
    assert [answer.taken for answer in apply_each(book, [unknown, closed, late])] == [False, True, False]
    assert shots_and_combinations() == before
    opened = Operation(new_id(), phone, "put", "trial", yard.trial, base_rev=9, body={"state": "open"}, reason="one more")
    assert [answer.taken for answer in apply_each(book, [opened, replace(late, op_id=new_id())])] == [True, True]
    assert shots_and_combinations() == (before[0] + 1, before[1] + 1)
