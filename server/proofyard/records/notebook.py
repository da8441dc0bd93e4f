"""Who changed what, when, from which phone: read from the revisions that `apply` writes."""

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlmodel import Session

from proofyard.records.book import Clash, Device, Revision


@dataclass(frozen=True)
class Line:
    """One revision. `changes`: field -> (before, after, before as typed, after as typed)."""

    seq: int
    noun: str
    record_id: str
    rev: int
    action: str
    reason: str | None
    changes: dict[str, tuple[Any, Any, str | None, str | None]]
    at: int
    who: str
    letter: str | None


@dataclass(frozen=True)
class OpenClash:
    """Two answers to one field: (value, as typed) that stands, (value, as typed) that was offered, and by whom."""

    id: str
    noun: str
    record_id: str
    field: str
    stands: tuple[Any, str | None]
    offered: tuple[Any, str | None]
    offered_by: str
    at: int


_LINE = (
    select(Revision, Device.call_name, Device.letter)
    .join(Device, Device.id == Revision.device_id, isouter=True)
    .execution_options(populate_existing=True)
)


def _line(row: Any) -> Line:
    revision: Revision = row[0]
    changes = {name: tuple(four) for name, four in json.loads(revision.changes).items()}
    return Line(
        seq=revision.seq or 0,
        noun=revision.noun,
        record_id=revision.record_id,
        rev=revision.rev,
        action=revision.action,
        reason=revision.reason,
        changes=changes,
        at=revision.at,
        who=row[1] or "Proofyard",
        letter=row[2],
    )


def revisions_of(session: Session, noun: str, *record_ids: str) -> list[Line]:
    """All that was said of one record, or of these, newest first."""
    return lines_where(session, (Revision.noun == noun) & Revision.record_id.in_(record_ids))


def lines_where(session: Session, condition: Any) -> list[Line]:
    """The lines that a condition on revisions picks, newest first."""
    return [_line(row) for row in session.execute(_LINE.where(condition).order_by(Revision.seq.desc()))]


def lately(session: Session, *, before: int | None = None, most: int = 50) -> list[Line]:
    """The newest lines of the notebook, or those before a number."""
    lines = _LINE.order_by(Revision.seq.desc()).limit(most)
    return [_line(row) for row in session.execute(lines if before is None else lines.where(Revision.seq < before))]


def latest_seq(session: Session) -> int:
    """The number of the last change; 0 in an empty book."""
    return session.execute(select(func.max(Revision.seq))).scalar() or 0


def latest_change(session: Session) -> tuple[int, int | None]:
    """The number of the last change and when it was made; 0 and None in an empty book."""
    row = session.execute(select(Revision.seq, Revision.at).order_by(Revision.seq.desc()).limit(1)).first()
    return (row[0], row[1]) if row else (0, None)


def changes_since(session: Session, seq: int, *, most: int = 500) -> list[tuple[int, str, str, int, str]]:
    """(seq, noun, record id, rev, action) of what came after a number, oldest first."""
    rows = session.execute(
        select(Revision.seq, Revision.noun, Revision.record_id, Revision.rev, Revision.action)
        .where(Revision.seq > seq)
        .order_by(Revision.seq)
        .limit(most)
    )
    return [(row[0], row[1], row[2], row[3], row[4]) for row in rows]


def open_clashes(session: Session) -> list[OpenClash]:
    """What two people said differently and nobody has decided yet, oldest first."""
    # By its record, by which revisions are found: a look for the operation alone, or in their order, goes through the whole notebook.
    of_it = (Revision.op_id == Clash.op_id) & (Revision.noun == Clash.noun) & (Revision.record_id == Clash.record_id)
    rows = session.execute(
        select(Clash, Device.call_name, Revision.at, Revision.seq)
        .join(Revision, of_it)
        .join(Device, Device.id == Revision.device_id, isouter=True)
        .where(Clash.settled_op_id.is_(None))
    )
    return [
        OpenClash(
            id=clash.id,
            noun=clash.noun,
            record_id=clash.record_id,
            field=clash.field,
            stands=tuple(json.loads(clash.stands)),
            offered=tuple(json.loads(clash.offered)),
            offered_by=who or "somebody",
            at=at,
        )
        for clash, who, at, _ in sorted(rows, key=lambda row: row.seq)
    ]
