"""Which shots a phone recorded, as the book has them: what a phone compares with at the end of a day."""

from collections.abc import Iterable, Sequence

from sqlalchemy import select
from sqlmodel import Session

from proofyard.records.book import Device
from proofyard.records.shot import Shot
from proofyard.records.trial import Setup, ShootingEnd

MOST_IDS = 400  # in one statement


def recorded_by(session: Session, device_id: str, session_id: str | None = None) -> dict[str, str]:
    """Shot id -> label, crossed-out ones too, of one phone; of one day of it if that is named."""
    query = select(Shot.id, Shot.label).where(Shot.recorded_by == device_id).order_by(Shot.id)
    if session_id is not None:
        query = (
            query.join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
            .join(Setup, Setup.id == ShootingEnd.setup_id)
            .where(Setup.session_id == session_id)
        )
    return {row[0]: row[1] for row in session.execute(query)}


def in_the_book(session: Session, ids: Sequence[str]) -> set[str]:
    """Those of some ids that are shots of this book, whoever recorded them."""
    found: set[str] = set()
    for start in range(0, len(ids), MOST_IDS):
        found |= set(session.execute(select(Shot.id).where(Shot.id.in_(ids[start : start + MOST_IDS]))).scalars())
    return found


def labels_among(session: Session, labels: Iterable[str]) -> set[str]:
    """Those of these labels that a shot has, crossed-out ones too."""
    wanted = sorted(set(labels))
    return set(session.execute(select(Shot.label).where(Shot.label.in_(wanted))).scalars()) if wanted else set()


def phones_that_log(session: Session) -> Sequence[Device]:
    """The phones that are in to log, by letter. The owner's laptop is none, nor a program: what they send is in the book at once."""
    query = select(Device).where(Device.role == "archer", Device.kind == "phone").order_by(Device.letter)
    return session.execute(query).scalars().all()
