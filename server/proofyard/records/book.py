"""The book itself, the revisions with the operations that asked for them, and what two people said differently."""

from typing import Any

from sqlalchemy import Index, Integer, LargeBinary, Text, UniqueConstraint, and_, case, select
from sqlmodel import Field as Column
from sqlmodel import Session, SQLModel

from proofyard.records.packed import PackedText, ShortId
from proofyard.records.prepared import Prepared

STRICT = {"sqlite_strict": True}


class Book(SQLModel, table=True):
    """One row. `epoch` changes when a backup is restored, so that phones offer again what it may lack."""

    __tablename__ = "book"
    __table_args__ = (STRICT,)
    book_id: str = Column(primary_key=True, sa_type=Text)
    epoch: str = Column(sa_type=Text)
    demo: int = Column(default=0, sa_type=Integer)
    made_at: int = Column(sa_type=Integer)
    address: str | None = Column(default=None, sa_type=Text)


class Revision(SQLModel, table=True):
    """One change of one record, at once the notebook and the change feed, with the operation that asked for it.

    Of a change that no operation asked for (the laptop's own), all from `op_id` on is empty. `asked` is what was asked, as
    `Operation.canonical` says it, and the answer: the same operation again gets the same answer. It is packed beside the
    rest of the row (packed.py).
    """

    __tablename__ = "revision"
    __table_args__ = ({"sqlite_strict": True, "sqlite_autoincrement": True},)
    seq: int | None = Column(default=None, primary_key=True, sa_type=Integer)
    device_id: str | None = Column(default=None, foreign_key="device.id", sa_type=Text)
    noun: str = Column(sa_type=Text)
    record_id: str = Column(sa_type=Text)
    rev: int = Column(sa_type=Integer)
    action: str = Column(sa_type=Text)
    reason: str | None = Column(default=None, sa_type=Text)
    changes: str = Column(sa_type=PackedText)
    at: int = Column(sa_type=Integer)
    op_id: str | None = Column(default=None, sa_type=ShortId)
    device_seq: int | None = Column(default=None, sa_type=Integer)
    base_rev: int | None = Column(default=None, sa_type=Integer)
    t_device: int | None = Column(default=None, sa_type=Integer)
    clock_offset_ms: int | None = Column(default=None, sa_type=Integer)
    clock_error_ms: int | None = Column(default=None, sa_type=Integer)
    status: str | None = Column(default=None, sa_type=Text)
    asked: bytes | None = Column(default=None, sa_type=LargeBinary)


_TOLD = Revision.__table__.c
Index("uq_revision_record_rev", _TOLD.noun, _TOLD.record_id, _TOLD.rev, unique=True)
Index("uq_revision_op_id", _TOLD.op_id, unique=True)
_COUNTED = _TOLD.device_seq.is_not(None)
Index("uq_revision_device_seq", _TOLD.device_id, _TOLD.device_seq, unique=True, sqlite_where=_COUNTED, postgresql_where=_COUNTED)


def revision_of(noun: str, record_id: Any) -> Any:
    """What joins a record to its first revision.

    The noun is said as if it hung on the record, whose id is never empty, which SQLite can't know: else it may begin at all that
    the notebook says of that noun.
    """
    hangs_on_it = Revision.noun == case((record_id != "", noun))
    return and_(hangs_on_it, Revision.record_id == record_id, Revision.rev == 1)


_LAST_SEQ = Prepared(select(Revision.__table__.c.seq).order_by(Revision.__table__.c.seq.desc()).limit(1))

_LAST = "number of the last revision"


def next_seq(session: Session) -> int:
    """The number of the next revision, for whoever writes now.

    One writes at a time, so the highest number so far plus one is free; no revision is ever taken away, so none is given twice.
    """
    known: int | None = session.info.get(_LAST)  # of what this very transaction has written
    if known is None:
        last = _LAST_SEQ.first(session, {})
        known = last.seq if last else 0
    session.info[_LAST] = known + 1
    return known + 1


class Clash(SQLModel, table=True):
    """Two said different things of one field. The first stands, the other waits here until a person decides."""

    __tablename__ = "clash"
    __table_args__ = (STRICT,)
    id: str = Column(primary_key=True, sa_type=Text)
    op_id: str = Column(foreign_key="revision.op_id", index=True, sa_type=ShortId)
    noun: str = Column(sa_type=Text)
    record_id: str = Column(index=True, sa_type=Text)
    field: str = Column(sa_type=Text)
    stands: str = Column(sa_type=Text)
    offered: str = Column(sa_type=Text)
    stands_op_id: str | None = Column(default=None, foreign_key="revision.op_id", sa_type=ShortId)
    settled_op_id: str | None = Column(default=None, foreign_key="revision.op_id", sa_type=ShortId)


class Device(SQLModel, table=True):
    """A phone or laptop that asked to join, or a program with a token. Its letter begins the labels of the shots it records."""

    __tablename__ = "device"
    __table_args__ = (UniqueConstraint("letter", name="uq_device_letter"), STRICT)
    id: str = Column(primary_key=True, sa_type=Text)
    letter: str | None = Column(default=None, sa_type=Text)
    call_name: str = Column(sa_type=Text)
    role: str = Column(sa_type=Text)  # asking, owner, archer, viewer, out
    words: str | None = Column(default=None, sa_type=Text)
    session_hash: bytes | None = Column(default=None, unique=True, sa_type=LargeBinary)
    agent: str = Column(default="", sa_type=Text)
    trial_id: str | None = Column(default=None, foreign_key="trial.id", sa_type=Text)
    expires_at: int | None = Column(default=None, sa_type=Integer)
    asked_at: int = Column(sa_type=Integer)
    let_in_at: int | None = Column(default=None, sa_type=Integer)
    heard_at: int | None = Column(default=None, sa_type=Integer)
    removed_at: int | None = Column(default=None, sa_type=Integer)
    removed_why: str | None = Column(default=None, sa_type=Text)
    kind: str = Column(default="phone", sa_type=Text)  # phone (or laptop), program
