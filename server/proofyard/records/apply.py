"""The one door: every change of what was seen goes through `apply`, from a phone's queue and from a form alike.

In one transaction: has this operation been taken before? then its first answer again; else check, merge field by
field against what others changed since, write the row, and the revision with the operation. A refused operation stores nothing.
"""

import json
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import cache, lru_cache
from typing import Any

from sqlalchemy import bindparam, insert, literal, select, update
from sqlmodel import Session

from proofyard.records.book import Revision, next_seq
from proofyard.records.clashes import keep_both, settle
from proofyard.records.columns import field_name, meanings
from proofyard.records.ids import is_id, new_id
from proofyard.records.nouns import TABLES
from proofyard.records.operations import ACTIONS, Answer, Operation, Stood, refused
from proofyard.records.packed import pack_row, short_id, unpack, unpack_asked
from proofyard.records.prepared import Prepared, run_together
from proofyard.records.rules import before_write, check, links_lead_nowhere, make_what_follows
from proofyard.records.typed_values import Problem, Taken, missing, take
from proofyard.records.unseen_signs import unseen_in
from proofyard.storage import Storage

# Built once, and on the tables themselves: every save runs these, and building them took longer than running them.
_NEW_REVISION = Prepared(insert(Revision.__table__))
_TAKEN = Revision.__table__
KNOWN = ("asked", "changes", "action", "status", "noun", "record_id", "rev", "seq", "base_rev")
_OF_AN_OPERATION = (
    *("op_id", "device_id", "noun", "record_id", "reason"),
    *("device_seq", "base_rev", "t_device", "clock_offset_ms", "clock_error_ms"),
)
_SAID = json.JSONEncoder(ensure_ascii=False).encode  # `json.dumps` makes one each time
ANY_NOUN = "archer"  # whose table is asked where an operation names none that there is


@cache
def _there(noun: str) -> Prepared:
    """What the book took under an operation's id, and the record as it stands: one row, of nothing where there is neither."""
    table, one = TABLES[noun].__table__, select(literal(1).label("one")).subquery()
    known = (_TAKEN.c[name].label(f"op_{name}") for name in KNOWN)
    both = one.outerjoin(_TAKEN, _TAKEN.c.op_id == bindparam("op_id")).outerjoin(table, table.c.id == bindparam("record_id"))
    return Prepared(select(*known, *table.c).select_from(both))


@lru_cache(maxsize=400)  # phones name fields as they like
def _new_of(noun: str, columns: tuple[str, ...]) -> Prepared:
    return Prepared(insert(TABLES[noun].__table__), columns)


@lru_cache(maxsize=400)  # phones name fields as they like
def _change_of(noun: str, columns: tuple[str, ...]) -> Prepared:
    table = TABLES[noun].__table__
    return Prepared(update(table).where(table.c.id == bindparam("the_record")), columns)  # no column of any noun is called so


class _NothingNew(Exception):
    """There is nothing to commit, and nobody need look."""


class NotTaken(Exception):
    """A form's operations, of which at least one was refused, so that none was stored."""

    def __init__(self, answers: Sequence[Answer]) -> None:
        super().__init__("not taken")
        self.answers = tuple(answers)

    @property
    def problems(self) -> list[Problem]:
        return [problem for answer in self.answers for problem in answer.problems]


def apply_each(storage: Storage, operations: Sequence[Operation]) -> list[Answer]:
    """A phone's queue: each stands for itself, so that one bad one never blocks the rest.

    One that is refused has written nothing (whatever a write brings with it comes after every check), so none needs a savepoint.
    """
    return apply_those(storage, lambda: operations)


def apply_those(storage: Storage, those: Callable[[], Sequence[Operation]]) -> list[Answer]:
    """The same, of operations that are asked for once the book is ours: so whoever came while others wrote is among them."""
    answers: list[Answer] = []
    with suppress(_NothingNew), storage.write() as session:
        answers += [apply(session, op) for op in those()]
        if not any(answer.taken and not answer.again for answer in answers):
            raise _NothingNew
    return answers


def apply_all(storage: Storage, operations: Sequence[Operation]) -> list[Answer]:
    """A form: all of it, or nothing.

    Refuses
        NotTaken  with every answer; nothing was stored
    """
    with storage.write() as session:
        answers = [apply(session, op) for op in operations]
        if not all(answer.taken for answer in answers):
            raise NotTaken(answers)
    return answers


def apply(session: Session, op: Operation, *, found: Mapping[str, Any] | None = None, stood: Stood | None = None) -> Answer:
    """Take one operation inside a write transaction that the caller commits.

    found  columns that nobody types, such as a photo's checksum: the server itself found them out
    stood  of a record that comes in as it stood in another book; its values were checked, and are not read again
    """
    fault = _malformed(op)
    there = _there(op.noun if op.noun in TABLES else ANY_NOUN).first(session, {"op_id": short_id(op.op_id), "record_id": op.record_id})
    if there.op_asked is not None:
        body, answer = _taken_before(op, there)
        if body != op.canonical().decode() and not op.is_said_again(body):
            return refused(op, Problem("", "This id was used for something else. Make a new one."))
        return Answer.from_json(answer)
    if fault:
        return refused(op, fault)
    row = {name: value for name, value in there._asdict().items() if not name.startswith("op_")} if there.id is not None else None
    return _put(session, op, row, found or {}, stood) if op.action == "put" else _void(session, op, row, stood)


def _taken_before(op: Operation, there: Any) -> tuple[str, str]:
    """What was asked under the operation's id, and the answer."""
    row = {"op_id": op.op_id, **{name: getattr(there, f"op_{name}") for name in KNOWN}}
    return unpack_asked(row["asked"], row, changes=unpack(row["changes"]))


def _malformed(op: Operation) -> Problem | None:
    if op.noun not in TABLES:
        return Problem("", f"The book keeps no “{op.noun[:40]}”.")
    if op.action not in ACTIONS:
        return Problem("", f"“{op.action[:40]}” can’t be done to a record.")
    if not (is_id(op.op_id) and is_id(op.record_id)):
        return Problem("", "An id is not in the form of a UUID.")
    unseen = unseen_in(op.reason or "")
    return Problem("reason", unseen) if unseen else None


def _put(session: Session, op: Operation, row: dict[str, Any] | None, found: Mapping[str, Any], stood: Stood | None) -> Answer:
    table = TABLES[op.noun]
    taken = take(table, op.body, row) if stood is None else Taken(dict(stood.values), dict(stood.typed))
    problems = list(taken.problems)
    if row is None and stood is None:
        problems += missing(table, op.body)
    if problems:
        return refused(op, *problems)
    clashing = _merge(session, op, row, taken) if row else {}
    values, told = before_write(session, op, row, {**taken.values, **found}) if stood is None else (taken.values, [])
    taken.warnings += told
    problems = check(session, op, row, values) if stood is None else links_lead_nowhere(session, op, values)
    if problems:
        return refused(op, *problems)
    if stood is None:
        make_what_follows(session, op, {**(row or {}), **values})
    return _store(session, op, row=row, taken=taken, values=values, clashing=clashing, at=stood.at if stood else None)


def _merge(session: Session, op: Operation, row: dict[str, Any], taken: Taken) -> dict[str, Any]:
    """Take out of `taken` what somebody else said otherwise since `base_rev`; return it."""
    if op.base_rev >= row["rev"]:
        return {}
    since = session.execute(
        select(Revision.changes, Revision.device_id, Revision.device_seq)
        .where(Revision.noun == op.noun, Revision.record_id == op.record_id, Revision.rev > op.base_rev)
        .order_by(Revision.rev)
    )
    others: dict[str, bool] = {}  # field -> whether the last word on it is another's
    for changes, device_id, count in since:
        # What this phone said before, by its own count, its person had in sight: that is no second opinion.
        mine = device_id == op.device_id and count is not None and op.device_seq is not None and count < op.device_seq
        others |= dict.fromkeys(json.loads(changes), not mine)
    clashing, known = {}, meanings(TABLES[op.noun])
    for column in list(taken.values):
        name = field_name(column)
        # A field that others left empty is not a second opinion: it is filled.
        if others.get(name) and row[column] is not None and row[column] != taken.values[column]:
            value = taken.values.pop(column)
            if not known[name][1].once:  # an end that two phones close, or a visit that both end, is over since the first
                clashing[column] = value
    return clashing


def _store(
    session: Session,
    op: Operation,
    *,
    row: dict[str, Any] | None,
    taken: Taken,
    values: dict[str, Any],
    clashing: dict[str, Any],
    at: int | None,
) -> Answer:
    old = row or {}
    rev = old.get("rev", 0) + 1
    words = json.loads(row["typed"]) if row else {}
    changes = {}
    for column, value in values.items():
        name = field_name(column)
        if row is None or old.get(column) != value:
            changes[name] = [old.get(column), value, words.get(name), taken.typed.get(name)]
        if name in taken.typed and column not in clashing:
            words[name] = taken.typed[name]
    said = {**values, "rev": rev, "typed": _SAID(words)}
    if row is None:
        said = {"id": op.record_id, "voided_rev": None, **said}
        write = (_new_of(op.noun, tuple(sorted(said))), said)
    else:
        write = _change(op, said)
    status = "clash" if clashing else "merged" if row and op.base_rev < row["rev"] else "applied"
    clash_ids = {column: new_id() for column in clashing}
    clashes = tuple(clash_ids.values())
    answer = _write_down(session, op, write, rev=rev, changes=changes, status=status, warnings=taken.warnings, clashes=clashes, at=at)
    if clashing:
        keep_both(session, op, old=old, clashing=clashing, taken=taken, ids=clash_ids)
    if row is not None:
        settle(session, op, taken.typed.keys() - {field_name(column) for column in clashing})
    return answer


def _change(op: Operation, said: dict[str, Any]) -> tuple[Prepared, dict[str, Any]]:
    return _change_of(op.noun, tuple(sorted(said))), {**said, "the_record": op.record_id}


def _void(session: Session, op: Operation, row: dict[str, Any] | None, stood: Stood | None) -> Answer:
    if row is None:
        return refused(op, Problem("", "The book has no such record (yet). It may still be on another phone."))
    if not (op.reason or "").strip():
        return refused(op, Problem("reason", "Enter the reason in a few words, for example: wrong arrow picked."))
    problems = check(session, op, row, {}) if stood is None else []
    if problems:
        return refused(op, *problems)
    rev = row["rev"] + 1
    voided = rev if op.action == "void" else None
    write = _change(op, {"rev": rev, "voided_rev": voided})
    changes = {"voided": [row["voided_rev"], voided, None, None]}
    return _write_down(session, op, write, rev=rev, changes=changes, status="applied", at=stood.at if stood else None)


def _write_down(
    session: Session,
    op: Operation,
    write: tuple[Prepared, Mapping[str, Any]],
    *,
    rev: int,
    changes: dict[str, Any],
    status: str,
    warnings: Sequence[Problem] = (),
    clashes: tuple[str, ...] = (),
    at: int | None = None,
) -> Answer:
    """The record itself, and the revision that was made, with the operation and its answer: the notebook."""
    now, seq = time.time_ns() // 1_000_000 if at is None else at, next_seq(session)
    action = op.action if op.action != "put" else "make" if rev == 1 else "change"
    answer = Answer(op.op_id, status, op.record_id, rev=rev, seq=seq, warnings=tuple(warnings), clashes=clashes)
    text, what = _SAID(answer.as_json()), _SAID(changes)
    made: dict[str, Any] = {name: getattr(op, name) for name in _OF_AN_OPERATION}
    made |= {"seq": seq, "rev": rev, "action": action, "status": status, "at": now}
    changed, asked = pack_row(what, op.canonical().decode(), text, made)
    packed = {"op_id": short_id(op.op_id), "changes": changed, "asked": asked}
    run_together(session, [write, (_NEW_REVISION, made | packed)])
    return answer
