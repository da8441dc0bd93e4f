"""Phones and laptops that asked to join: who they are, what they may do, and that it was written down.

A device is no observation, so it has no operation; each change is a line in the notebook all the same.
Times are UTC milliseconds.
"""

import json
import time
from collections.abc import Sequence

from sqlalchemy import func, insert, select, update
from sqlmodel import Session

from proofyard.records import nouns  # noqa: F401  a device is linked to a trial: that table must be known too
from proofyard.records.book import Book, Device, Revision, next_seq
from proofyard.records.ids import new_id

LAPTOP = "Laptop"  # what the owner's own is called until somebody calls it otherwise


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def the_book(session: Session) -> Book | None:
    return session.execute(select(Book)).scalar()


def make_book(session: Session, *, demo: bool = False) -> Book:
    """The one row that names this book, made when it is first opened."""
    book = the_book(session)
    if book is None:
        session.execute(insert(Book).values(book_id=new_id(), epoch=new_id(), demo=int(demo), made_at=now_ms(), address=None))
        book = the_book(session)
    assert book is not None
    return book


def named_by_package(session: Session, book_id: str, *, demo: bool) -> None:
    """A book that comes from a package goes on under the id that packages give it, and stays invented if it was."""
    session.execute(update(Book).values(book_id=book_id, demo=int(demo)))


def keep_address(session: Session, address: str) -> None:
    """Where phones that log come to, host and port: compared with this laptop's addresses at the next start."""
    session.execute(update(Book).values(address=address))


def add_device(
    session: Session,
    *,
    call_name: str,
    role: str,
    words: str | None = None,
    session_hash: bytes | None = None,
    agent: str = "",
    trial_id: str | None = None,
    expires_at: int | None = None,
    kind: str = "phone",
    by: str | None = None,
) -> Device:
    """A device that asks to join, the owner's own, or a program (`kind`) that the owner let in (`by`)."""
    device = Device(
        id=new_id(),
        call_name=call_name,
        role=role,
        words=words,
        session_hash=session_hash,
        agent=agent[:200],
        trial_id=trial_id,
        expires_at=expires_at,
        asked_at=now_ms(),
        kind=kind,
    )
    if role in ("owner", "archer", "viewer"):
        device.let_in_at = now_ms()
    if role in ("owner", "archer"):
        device.letter = _free_letter(session)
    session.add(device)
    session.flush()
    _write_down(session, device, "make", {"role": [None, role, None, role]}, by=by)
    return device


def add_recorder(session: Session, letter: str) -> Device:
    """A phone or laptop of another book, by its letter: it wrote records that come in, and never comes in itself.

    Refuses
        ValueError  a device of this book has that letter
    """
    if session.execute(select(Device.id).where(Device.letter == letter)).first():
        raise ValueError(f"The letter {letter} is given in this book.")
    device = Device(id=new_id(), letter=letter, call_name=f"Phone {letter}", role="out", asked_at=now_ms(), removed_at=now_ms())
    session.add(device)
    session.flush()
    _write_down(session, device, "make", {"role": [None, "out", None, "out"]})
    return device


def change_role(session: Session, device: Device, role: str, *, why: str | None = None, by: str | None = None) -> Device:
    """Let in, or removed. A device that records shots gets a letter and keeps it."""
    before, device.role = device.role, role
    if role == "out":
        device.removed_at, device.removed_why, device.session_hash = now_ms(), why, None
    else:
        device.let_in_at = device.let_in_at or now_ms()
        device.words = None
    if role in ("owner", "archer") and device.letter is None:
        device.letter = _free_letter(session)
    session.add(device)
    session.flush()
    _write_down(session, device, "change", {"role": [before, role, before, role]}, why=why, by=by)
    return device


def _write_down(
    session: Session, device: Device, action: str, changes: dict[str, list[str | None]], why: str | None = None, by: str | None = None
) -> None:
    rev = session.execute(
        select(func.count()).select_from(Revision).where(Revision.noun == "device", Revision.record_id == device.id)
    ).scalar_one()
    session.execute(
        insert(Revision).values(
            seq=next_seq(session),
            op_id=None,
            device_id=by or device.id,
            noun="device",
            record_id=device.id,
            rev=rev + 1,
            action=action,
            reason=why,
            changes=json.dumps(changes),
            at=now_ms(),
        )
    )


def _free_letter(session: Session) -> str:
    """A to Z, then AA, AB …; a letter is never given twice, since it stands on shots."""
    taken = set(session.execute(select(Device.letter).where(Device.letter.is_not(None))).scalars())
    letters = [chr(65 + i) for i in range(26)]
    for first in ["", *letters]:
        for last in letters:
            if first + last not in taken:
                return first + last
    raise ValueError("All 702 letters are given.")


def device_of_session(session: Session, session_hash: bytes) -> Device | None:
    return session.execute(select(Device).where(Device.session_hash == session_hash)).scalar()


def device(session: Session, device_id: str) -> Device | None:
    return session.get(Device, device_id)


def devices(session: Session, kind: str = "phone") -> Sequence[Device]:
    """All phones, or all programs: those that ask first, then the newest."""
    query = select(Device).where(Device.kind == kind).order_by((Device.role == "asking").desc(), Device.asked_at.desc())
    return session.execute(query).scalars().all()


def heard(session: Session, device_id: str, at: int) -> None:
    session.execute(update(Device).where(Device.id == device_id).values(heard_at=at))
