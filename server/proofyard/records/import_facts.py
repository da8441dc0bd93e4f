"""Batches that came in from spreadsheets, what they made, who else uses that; and the kit that a sheet's names may mean."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, Head
from proofyard.records.book import Revision
from proofyard.records.bow import Bow
from proofyard.records.columns import meanings
from proofyard.records.import_batch import ImportBatch, ImportedRecord
from proofyard.records.kit_facts import builds
from proofyard.records.nouns import TABLES
from proofyard.records.panel import Panel
from proofyard.records.speed import Combination
from proofyard.records.trial import Session as Day
from proofyard.records.whole_state import noun_named_by

MOST_IDS = 400  # in one statement
# What stays in the book while something outside the batch uses it. A shot goes with its batch, whoever read it since.
MAY_STAY = (
    "trial",
    "session",
    "setup",
    "shooting_end",
    "archer",
    "bow",
    "bow_build",
    "head",
    "arrow",
    "arrow_build",
    "panel",
    "panel_build",
)


@dataclass(frozen=True)
class BatchFact:
    """A batch, and when and by whom it was brought in."""

    batch: ImportBatch
    at: int
    device_id: str | None


@dataclass(frozen=True)
class MadeFact:
    """One record of a batch as it stands."""

    noun: str
    record_id: str
    sheet_row: int | None
    rev: int
    voided: bool


def batches(session: Session, batch_id: str | None = None) -> list[BatchFact]:
    """All, the newest first; or the one that is named."""
    made = (Revision.noun == "import_batch") & (Revision.record_id == ImportBatch.id) & (Revision.rev == 1)
    query = select(ImportBatch, Revision.at, Revision.device_id).join(Revision, made).order_by(Revision.seq.desc())
    if batch_id is not None:
        query = query.where(ImportBatch.id == batch_id)
    return [BatchFact(row[0], row[1], row[2]) for row in session.execute(query)]


def answers_kept(session: Session, holds: str, headings: str) -> str | None:
    """What was said of the newest sheet with these headings, unless that batch was crossed out."""
    query = (
        select(ImportBatch.answers)
        .where(ImportBatch.holds == holds, ImportBatch.headings == headings, ImportBatch.voided_rev.is_(None))
        .order_by(ImportBatch.id.desc())
        .limit(1)
    )
    return session.execute(query).scalar()


def made_by(session: Session, batch_id: str) -> list[MadeFact]:
    """The records of a batch, in the order that they were made."""
    links = session.execute(
        select(ImportedRecord.noun, ImportedRecord.record_id, ImportedRecord.sheet_row)
        .where(ImportedRecord.import_batch_id == batch_id)
        .order_by(ImportedRecord.id)
    ).all()
    states: dict[tuple[str, str], tuple[int, bool]] = {}
    for noun in {link.noun for link in links}:
        table = TABLES[noun].__table__
        for some in _in_pieces([link.record_id for link in links if link.noun == noun]):
            for row in session.execute(select(table.c.id, table.c.rev, table.c.voided_rev).where(table.c.id.in_(some))):
                states[(noun, row.id)] = (row.rev, row.voided_rev is not None)
    return [
        MadeFact(link.noun, link.record_id, link.sheet_row, *states[(link.noun, link.record_id)])
        for link in links
        if (link.noun, link.record_id) in states
    ]


def voided_with(session: Session, batch_id: str, made: Sequence[MadeFact]) -> list[MadeFact]:
    """Those that were crossed out when the batch was: their lines in the notebook stand right before its own."""
    batch = session.get(ImportBatch, batch_id)
    if batch is None or batch.voided_rev is None:
        return []
    own = session.execute(
        select(Revision.seq, Revision.reason).where(
            Revision.noun == "import_batch", Revision.record_id == batch_id, Revision.rev == batch.voided_rev
        )
    ).one()
    wanted = {(one.noun, one.record_id): one for one in made if one.voided}
    lines = session.execute(
        select(Revision.noun, Revision.record_id, Revision.action)
        .where(Revision.seq < own.seq, Revision.seq >= own.seq - len(made), Revision.reason == own.reason, Revision.action == "void")
        .order_by(Revision.seq.desc())
    )
    return [wanted[(line.noun, line.record_id)] for line in lines if (line.noun, line.record_id) in wanted]


def used_elsewhere(session: Session, made: Sequence[MadeFact]) -> set[tuple[str, str]]:
    """Records of a batch that something outside it stands on, and what these stand on themselves."""
    inside = {(one.noun, one.record_id) for one in made}
    ids = {one.record_id for one in made}
    kept = set[tuple[str, str]]()
    for noun, table in TABLES.items():
        if table in (Combination, ImportBatch, ImportedRecord):
            continue  # a combination follows from shots and says nothing of its own
        for column, target in _links_to(table):
            kept |= _named_from_outside(session, noun, column, target, inside=inside, ids=ids)
    waiting = list(kept)
    while waiting:
        noun, record_id = waiting.pop()
        row = session.get(TABLES[noun], record_id)
        for column, target in _links_to(TABLES[noun]):
            named = (str(target or getattr(row, "noun", "")), str(getattr(row, column)))
            if named in inside and named not in kept:
                kept.add(named)
                waiting.append(named)
    return kept


def _links_to(table: type[Any]) -> list[tuple[str, str | None]]:
    """(column, noun) of a noun's links to what may stay; None where the row itself says which noun."""
    found = [
        (column, noun_named_by(meaning.noun, table, column)) for column, meaning in meanings(table).values() if meaning.value == "link"
    ]
    return [(column, target) for column, target in found if target is None or target in MAY_STAY]


def _named_from_outside(
    session: Session, noun: str, column: str, target: str | None, *, inside: set[tuple[str, str]], ids: set[str]
) -> set[tuple[str, str]]:
    table = TABLES[noun].__table__
    wanted = sorted(ids if target is None else {record_id for kind, record_id in inside if kind == target})
    which = table.c.noun if target is None and "noun" in table.c else None
    if target is None and which is None:
        return set()
    found = set[tuple[str, str]]()
    for some in _in_pieces(wanted):
        columns = [table.c.id, table.c[column].label("named"), *([which.label("kind")] if which is not None else [])]
        for row in session.execute(select(*columns).where(table.c[column].in_(some), table.c.voided_rev.is_(None))):
            named = (str(target or row.kind), str(row.named))
            if (noun, row.id) not in inside and named in inside and named[0] in MAY_STAY:
                found.add(named)
    return found


def _in_pieces(ids: Sequence[str]) -> list[Sequence[str]]:
    return [ids[start : start + MOST_IDS] for start in range(0, len(ids), MOST_IDS)]


@dataclass(frozen=True)
class KnownKit:
    """Names in small letters -> ids: archers and heads themselves, of bows, arrows and panels the newest build."""

    archer: Mapping[str, str]
    head: Mapping[str, str]
    bow: Mapping[str, str]
    arrow: Mapping[str, str]
    panel: Mapping[str, str]
    construction: Mapping[str, str | None]


def known_kit(session: Session) -> KnownKit:
    """What is in the book and not crossed out, retired or not."""
    newest: dict[str, str] = {}
    for one in builds(session):
        newest.setdefault(one.of_id, one.build_id)  # the newest of each stands first

    def named(table: type[Any], name: str, *, built: bool) -> dict[str, str]:
        rows = session.execute(select(table.id, getattr(table, name)).where(table.voided_rev.is_(None))).all()
        return {row[1].casefold(): newest[row[0]] if built else row[0] for row in rows if not built or row[0] in newest}

    panels = session.execute(select(Panel.name, Panel.construction).where(Panel.voided_rev.is_(None)))
    return KnownKit(
        archer=named(Archer, "call_name", built=False),
        head=named(Head, "name", built=False),
        bow=named(Bow, "name", built=True),
        arrow=named(Arrow, "tag", built=True),
        panel=named(Panel, "name", built=True),
        construction={row[0].casefold(): row[1] for row in panels},
    )


def days_of(session: Session, batch_id: str) -> list[tuple[str, str, str]]:
    """(session, trial, day) of the days that a batch made."""
    query = (
        select(Day.id, Day.trial_id, Day.day)
        .join(ImportedRecord, (ImportedRecord.noun == "session") & (ImportedRecord.record_id == Day.id))
        .where(ImportedRecord.import_batch_id == batch_id)
        .order_by(Day.day)
    )
    return [(row[0], row[1], row[2]) for row in session.execute(query)]
