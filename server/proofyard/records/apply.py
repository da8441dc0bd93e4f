"""The one door: every change of what was seen goes through `apply`, from a phone's queue and from a form alike.

In one transaction: has this operation been taken before? then its first answer again; else check, merge field by
field against what others changed since, write row + revision + operation. A refused operation stores nothing.
"""

import json
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from functools import cache
from typing import Any

from sqlalchemy import Insert, Select, bindparam, insert, select, update
from sqlmodel import Session

from proofyard.records.book import Op, Revision, next_seq
from proofyard.records.clashes import keep_both, settle
from proofyard.records.columns import field_name, meanings
from proofyard.records.ids import is_id, new_id
from proofyard.records.nouns import TABLES
from proofyard.records.operations import ACTIONS, Answer, Operation, Stood, refused
from proofyard.records.rules import before_write, check, links_lead_nowhere
from proofyard.records.typed_values import Problem, Taken, missing, take
from proofyard.records.unseen_signs import unseen_in
from proofyard.storage import Storage

# Built once, and on the tables themselves: every save runs these, and building them took longer than running them.
_NEW_OP = insert(Op.__table__)
_NEW_REVISION = insert(Revision.__table__)
_KNOWN_OP = select(Op.__table__.c.body_sha256, Op.__table__.c.body, Op.__table__.c.result).where(Op.__table__.c.op_id == bindparam("op_id"))


@cache
def _row_of(noun: str) -> Select[Any]:
    table = TABLES[noun].__table__
    return select(table).where(table.c.id == bindparam("record_id"))


@cache
def _new_of(noun: str) -> Insert:
    return insert(TABLES[noun].__table__)


class _Undone(Exception):
    """What a refused operation had begun goes no further."""


class NotTaken(Exception):
    """A form's operations, of which at least one was refused, so that none was stored."""

    def __init__(self, answers: Sequence[Answer]) -> None:
        super().__init__("not taken")
        self.answers = tuple(answers)

    @property
    def problems(self) -> list[Problem]:
        return [problem for answer in self.answers for problem in answer.problems]


def apply_each(storage: Storage, operations: Sequence[Operation]) -> list[Answer]:
    """A phone's queue: each stands for itself (a savepoint each), so that one bad one never blocks the rest."""
    if len(operations) == 1:
        return [_apply_alone(storage, operations[0])]
    answers = []
    with storage.write() as session:
        for op in operations:
            savepoint = session.begin_nested()
            answer = apply(session, op)
            if answer.taken:
                savepoint.commit()
            else:
                savepoint.rollback()
            answers.append(answer)
    return answers


def _apply_alone(storage: Storage, op: Operation) -> Answer:
    """One that came alone needs no savepoint: the transaction is its own."""
    with suppress(_Undone), storage.write() as session:
        answer = apply(session, op)
        if not answer.taken:
            raise _Undone
    return answer


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
    before = session.execute(_KNOWN_OP, {"op_id": op.op_id}).first()
    if before:
        if before.body_sha256 != op.fingerprint() and not op.is_said_again(before.body):
            return refused(op, Problem("", "This id was used for something else. Make a new one."))
        return Answer.from_json(before.result)
    fault = _malformed(op)
    if fault:
        return refused(op, fault)
    return _put(session, op, found or {}, stood) if op.action == "put" else _void(session, op, stood)


def _malformed(op: Operation) -> Problem | None:
    if op.noun not in TABLES:
        return Problem("", f"The book keeps no “{op.noun[:40]}”.")
    if op.action not in ACTIONS:
        return Problem("", f"“{op.action[:40]}” can’t be done to a record.")
    if not (is_id(op.op_id) and is_id(op.record_id)):
        return Problem("", "An id is not in the form of a UUID.")
    unseen = unseen_in(op.reason or "")
    return Problem("reason", unseen) if unseen else None


def _row(session: Session, op: Operation) -> dict[str, Any] | None:
    row = session.execute(_row_of(op.noun), {"record_id": op.record_id}).mappings().first()
    return dict(row) if row else None


def _put(session: Session, op: Operation, found: Mapping[str, Any], stood: Stood | None) -> Answer:
    table = TABLES[op.noun]
    row = _row(session, op)
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
    return _store(session, op, row=row, taken=taken, values=values, clashing=clashing, at=stood.at if stood else None)


def _merge(session: Session, op: Operation, row: dict[str, Any], taken: Taken) -> dict[str, Any]:
    """Take out of `taken` what somebody else said otherwise since `base_rev`; return it."""
    if op.base_rev >= row["rev"]:
        return {}
    since = session.execute(
        select(Revision.changes, Revision.device_id, Op.device_seq)
        .join(Op, Op.op_id == Revision.op_id, isouter=True)
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
    table = TABLES[op.noun].__table__
    old = row or {}
    rev = old.get("rev", 0) + 1
    words = json.loads(old.get("typed", "{}"))
    changes = {}
    for column, value in values.items():
        name = field_name(column)
        if row is None or old.get(column) != value:
            changes[name] = [old.get(column), value, words.get(name), taken.typed.get(name)]
        if name in taken.typed and column not in clashing:
            words[name] = taken.typed[name]
    said = {**values, "rev": rev, "typed": json.dumps(words, ensure_ascii=False)}
    if row is None:
        session.execute(_new_of(op.noun), {"id": op.record_id, "voided_rev": None, **said})
    else:
        session.execute(update(table).where(table.c.id == op.record_id).values(**said))
    status = "clash" if clashing else "merged" if row and op.base_rev < row["rev"] else "applied"
    clash_ids = {column: new_id() for column in clashing}
    answer = _write_down(
        session, op, rev=rev, changes=changes, status=status, warnings=taken.warnings, clashes=tuple(clash_ids.values()), at=at
    )
    if clashing:
        keep_both(session, op, old=old, clashing=clashing, taken=taken, ids=clash_ids)
    if row is not None:
        settle(session, op, taken.typed.keys() - {field_name(column) for column in clashing})
    return answer


def _void(session: Session, op: Operation, stood: Stood | None) -> Answer:
    row = _row(session, op)
    if row is None:
        return refused(op, Problem("", "The book has no such record (yet). It may still be on another phone."))
    if not (op.reason or "").strip():
        return refused(op, Problem("reason", "Enter the reason in a few words, for example: wrong arrow picked."))
    problems = check(session, op, row, {}) if stood is None else []
    if problems:
        return refused(op, *problems)
    table = TABLES[op.noun].__table__
    rev = row["rev"] + 1
    voided = rev if op.action == "void" else None
    session.execute(update(table).where(table.c.id == op.record_id).values(rev=rev, voided_rev=voided))
    changes = {"voided": [row["voided_rev"], voided, None, None]}
    return _write_down(session, op, rev=rev, changes=changes, status="applied", at=stood.at if stood else None)


def _write_down(
    session: Session,
    op: Operation,
    *,
    rev: int,
    changes: dict[str, Any],
    status: str,
    warnings: Sequence[Problem] = (),
    clashes: tuple[str, ...] = (),
    at: int | None = None,
) -> Answer:
    """The operation with its answer, and the revision that it made: together they are the notebook."""
    now, seq = time.time_ns() // 1_000_000 if at is None else at, next_seq(session)
    action = op.action if op.action != "put" else "make" if rev == 1 else "change"
    answer = Answer(op.op_id, status, op.record_id, rev=rev, seq=seq, warnings=tuple(warnings), clashes=clashes)
    of = {"op_id": op.op_id, "device_id": op.device_id, "noun": op.noun, "record_id": op.record_id}
    asked = {name: getattr(op, name) for name in ("device_seq", "base_rev", "t_device", "clock_offset_ms", "clock_error_ms")}
    text = json.dumps(answer.as_json(), ensure_ascii=False)
    body = {"body": op.canonical().decode(), "body_sha256": op.fingerprint()}
    session.execute(_NEW_OP, {**of, **asked, **body, "action": op.action, "received": now, "status": status, "result": text})
    what = json.dumps(changes, ensure_ascii=False)
    session.execute(_NEW_REVISION, {**of, "seq": seq, "rev": rev, "action": action, "reason": op.reason, "changes": what, "at": now})
    return answer
