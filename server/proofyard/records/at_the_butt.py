"""Who went forward to the butt and is not back yet."""

from collections.abc import Iterable
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from proofyard.records.book import Device, Revision, revision_of
from proofyard.records.range_facts import as_record
from proofyard.records.trial import ButtVisit


def at_the_butt(session: Session, session_ids: Iterable[str]) -> list[dict[str, Any]]:
    """Who went forward and is not back yet, of these days: each with the letter and call name of the phone that said so."""
    table = ButtVisit.__table__
    rows = session.execute(
        select(table, Device.letter, Device.call_name)
        .join(Revision, revision_of("butt_visit", table.c.id))
        .join(Device, Device.id == Revision.device_id, isouter=True)
        .where(table.c.session_id.in_(list(session_ids)), table.c.voided_rev.is_(None), table.c.back_at.is_(None))
        .order_by(table.c.id)
    ).mappings()
    return [as_record("butt_visit", row) | {"letter": row["letter"], "who": row["call_name"] or "somebody"} for row in rows]
