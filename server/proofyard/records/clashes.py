"""Two said different things of one field: both are kept until a person who saw both decides."""

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import insert, select, update
from sqlmodel import Session

from proofyard.records.book import Clash, Revision
from proofyard.records.columns import field_name
from proofyard.records.operations import Operation
from proofyard.records.typed_values import Taken


def keep_both(
    session: Session, op: Operation, *, old: Mapping[str, Any], clashing: Mapping[str, Any], taken: Taken, ids: Mapping[str, str]
) -> None:
    """Write down what `op` offers beside what stands. `ids`: column -> the clash's id."""
    words = json.loads(old.get("typed", "{}"))
    for column, offered in clashing.items():
        name = field_name(column)
        session.execute(
            insert(Clash).values(
                id=ids[column],
                op_id=op.op_id,
                noun=op.noun,
                record_id=op.record_id,
                field=name,
                stands=json.dumps([old[column], words.get(name)], ensure_ascii=False),
                offered=json.dumps([offered, taken.typed.get(name)], ensure_ascii=False),
                stands_op_id=_last_to_say(session, op, name),
                settled_op_id=None,
            )
        )


def settle(session: Session, op: Operation, names: set[str]) -> None:
    """An operation that names a field, by somebody who had seen the clash in it, decides that clash."""
    seen = select(Revision.op_id).where(Revision.noun == op.noun, Revision.record_id == op.record_id, Revision.rev <= op.base_rev)
    session.execute(
        update(Clash)
        .where(Clash.noun == op.noun, Clash.record_id == op.record_id, Clash.settled_op_id.is_(None))
        .where(Clash.field.in_(sorted(names)), Clash.op_id.in_(seen))
        .values(settled_op_id=op.op_id)
        .execution_options(synchronize_session=False)
    )


def _last_to_say(session: Session, op: Operation, name: str) -> str | None:
    rows = session.execute(
        select(Revision.op_id, Revision.changes)
        .where(Revision.noun == op.noun, Revision.record_id == op.record_id, Revision.op_id != op.op_id)
        .order_by(Revision.rev.desc())
    )
    return next((row.op_id for row in rows if name in json.loads(row.changes)), None)
