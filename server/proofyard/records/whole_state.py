"""The whole book as it stands: every record of every noun, who wrote it down and when, why it was crossed out, what is undecided."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import UniqueConstraint, select
from sqlmodel import Session

from proofyard.records.book import Clash, Device, Revision
from proofyard.records.columns import Noun
from proofyard.records.nouns import TABLES

AT_ONCE = 2_000  # records


@dataclass
class Moments:
    """Of one record, UTC milliseconds. `changed_at`: of its last correction, or of its last return from being crossed out."""

    made_at: int
    written_by: str | None
    clock_offset_ms: int | None
    clock_error_ms: int | None
    changed_at: int | None = None
    crossed_out_at: int | None = None
    crossed_out_because: str | None = None


@dataclass(frozen=True)
class OpenClash:
    """A field of which two people said different things. `offered`: what the second said, as stored and as typed."""

    noun: str
    record_id: str
    field: str
    offered: list[Any]
    offered_at: int
    written_by: str | None


@dataclass(frozen=True)
class WholeState:
    """Rows by noun in the order of their ids, crossed-out ones too; letters of devices by their ids."""

    rows: Mapping[str, list[dict[str, Any]]]
    moments: Mapping[tuple[str, str], Moments]
    clashes: tuple[OpenClash, ...]
    letters: Mapping[str, str]


def whole_state(session: Session) -> WholeState:
    """Everything, in a statement a noun and three more."""
    letters = letters_of(session)
    rows = {}
    for noun, table in TABLES.items():
        columns = table.__table__
        found = session.execute(select(columns).order_by(columns.c.id))
        names = tuple(found.keys())
        rows[noun] = [dict(zip(names, row, strict=True)) for row in found]
    return WholeState(rows, _moments(session, letters), _clashes(session, letters), letters)


@dataclass(frozen=True)
class Piece:
    """Some records of one noun in the order of their ids, with their moments by id."""

    rows: list[dict[str, Any]]
    moments: Mapping[str, Moments]


def letters_of(session: Session) -> dict[str, str]:
    """Letters of devices by their ids."""
    return {row.id: row.letter for row in session.execute(select(Device.id, Device.letter)) if row.letter is not None}


def pieces_of(session: Session, noun: str, letters: Mapping[str, str]) -> Iterator[Piece]:
    """All records of a noun, some at a time: a book of many seasons stands in no memory whole."""
    columns, last = TABLES[noun].__table__, ""
    while True:
        found = session.execute(select(columns).where(columns.c.id > last).order_by(columns.c.id).limit(AT_ONCE))
        names = tuple(found.keys())
        rows = [dict(zip(names, row, strict=True)) for row in found]
        if rows:
            between = Revision.record_id.between(rows[0]["id"], rows[-1]["id"])
            moments = _moments(session, letters, Revision.noun == noun, between)
            yield Piece(rows, {record_id: one for (_, record_id), one in moments.items()})
            last = rows[-1]["id"]
        if len(rows) < AT_ONCE:
            return


def clashes_of(session: Session, letters: Mapping[str, str]) -> tuple[OpenClash, ...]:
    """What nobody has decided yet."""
    return _clashes(session, letters)


def _moments(session: Session, letters: Mapping[str, str], *wanted: Any) -> dict[tuple[str, str], Moments]:
    """Of all records, or of those that meet these conditions."""
    columns = (Revision.noun, Revision.record_id, Revision.action, Revision.at, Revision.device_id, Revision.reason)
    query = select(*columns, Revision.clock_offset_ms, Revision.clock_error_ms).order_by(Revision.seq)
    query = query.where(*(wanted or (Revision.noun.in_(TABLES),)))
    found: dict[tuple[str, str], Moments] = {}
    for noun, record_id, action, at, device_id, reason, offset, error in session.execute(query):
        one = found.get((noun, record_id))
        if one is None:
            found[(noun, record_id)] = Moments(at, letters.get(device_id), offset, error)
        elif action == "void":
            one.crossed_out_at, one.crossed_out_because = at, reason
        else:
            one.changed_at = at if one.changed_at is None else max(at, one.changed_at)
    return found


def _clashes(session: Session, letters: Mapping[str, str]) -> tuple[OpenClash, ...]:
    query = (
        select(Clash.noun, Clash.record_id, Clash.field, Clash.offered, Revision.at, Revision.device_id)
        .join(Revision, Revision.op_id == Clash.op_id)
        .where(Clash.settled_op_id.is_(None))
    )
    found = [OpenClash(row[0], row[1], row[2], json.loads(row[3]), row[4], letters.get(row[5])) for row in session.execute(query)]
    return tuple(sorted(found, key=lambda one: (one.noun, one.record_id, one.field, one.offered_at, json.dumps(one.offered))))


def unique_columns(table: type[Noun]) -> tuple[tuple[str, ...], ...]:
    """The columns that no two records of a noun may share all of."""
    found = (one for one in table.__table__.constraints if isinstance(one, UniqueConstraint))
    return tuple(sorted(tuple(column.name for column in one.columns) for one in found))


def noun_named_by(noun: str | None, table: type[Noun], column: str) -> str | None:
    """The noun that a link names: as its meaning says (`noun`), else as its foreign key does."""
    if noun is not None or column == "photo_id":
        return noun or "photo"
    return next((key.column.table.name for key in table.__table__.c[column].foreign_keys), None)
