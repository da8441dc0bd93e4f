"""The close of a day: is everything on the phones in the book, what is missing where, what is not read yet."""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.recorded import in_the_book, labels_among, phones_that_log, recorded_by
from proofyard.records.shot_facts import ShotFact
from proofyard.storage import Session
from proofyard.wording.when import today

_LABEL = re.compile(r"([A-Z]{1,2})([0-9]{1,6})", re.ASCII)


@dataclass(frozen=True)
class Compared:
    """A phone's shots against the book's. agrees: the same ones; None while only counts can be told and they differ.

    lacks      ids that the phone has and the book hasn't
    book_only  labels that the book has of this phone and the phone hasn't
    """

    in_book: int
    agrees: bool | None
    lacks: tuple[str, ...]
    book_only: tuple[str, ...]
    gaps: tuple[str, ...]


def xor_of(ids: Iterable[str]) -> str:
    """All ids laid over each other, as 32 digits: the same ids give the same, in whatever order.

    >>> xor_of(["00000000-0000-0000-0000-000000000005", "00000000-0000-0000-0000-000000000003"])
    '00000000000000000000000000000006'
    """
    whole = 0
    for one in ids:
        whole ^= int(one.replace("-", ""), 16)
    return f"{whole:032x}"


def compare(
    session: Session, device_id: str, *, session_id: str | None = None, count: int, xor: str, ids: Sequence[str] | None = None
) -> Compared:
    """What a phone holds, laid beside what the book has of it. Two statements, and one for each 400 ids."""
    book = recorded_by(session, device_id, session_id)
    gaps = gaps_in(book.values(), labels_known=set(book.values()))
    if ids is None:
        same = count == len(book) and xor == xor_of(book)
        return Compared(len(book), True if same else None, (), (), gaps)
    held = set(ids)
    lacks = tuple(sorted(held - in_the_book(session, sorted(held))))
    book_only = tuple(label for shot_id, label in book.items() if shot_id not in held)
    return Compared(len(book), not lacks and not book_only, lacks, book_only, gaps)


def gaps_in(labels: Iterable[str], *, labels_known: Collection[str]) -> tuple[str, ...]:
    """Labels that a phone must have given between its first and last of these, and that are nowhere in the book.

    >>> gaps_in(["A12", "A13", "A16", "B2"], labels_known=["A12", "A13", "A14", "A16", "B2"])
    ('A15',)
    """
    numbers: dict[str, list[int]] = {}
    for label in labels:
        found = _LABEL.fullmatch(label)
        if found:
            numbers.setdefault(found.group(1), []).append(int(found.group(2)))
    known = set(labels_known)
    # A slip that typed A70000 for A7 must not make a list of seventy thousand.
    spans = {letter: range(min(some), min(max(some), min(some) + 5000)) for letter, some in sorted(numbers.items())}
    return tuple(f"{letter}{n}" for letter, span in spans.items() for n in span if f"{letter}{n}" not in known)


@dataclass(frozen=True)
class Word:
    """What a phone said last, as it is taken from wherever that is kept. Times are UTC ms."""

    at: int
    unsent: int
    photos_unsent: int
    needs: int
    agrees: bool | None
    lacks: int


@dataclass(frozen=True)
class PhoneIn:
    """One phone. `need`: something of it is not in the book, or nobody knows."""

    letter: str
    name: str
    holds: Reason
    need: bool


@dataclass(frozen=True)
class CloseOfDay:
    """Whether everything is in the book. `today`: the phones can still be asked. `unread`: labels."""

    session_id: str
    heading: Reason
    today: bool
    phones: tuple[PhoneIn, ...]
    missing: Reason | None
    unread: tuple[str, ...]

    @property
    def done(self) -> bool:
        return not self.missing and not self.unread and not any(phone.need for phone in self.phones)


def close_of_day(session: Session, session_id: str, *, day: str, facts: Sequence[ShotFact], words: Mapping[str, Word]) -> CloseOfDay:
    """Two statements. facts: the session's shots, crossed-out ones too; words: device id -> what that phone said last."""
    devices = phones_that_log(session)
    is_today = day == today()
    recorded = [fact.label for fact in facts]
    unseen = gaps_in(recorded, labels_known=recorded)
    elsewhere = labels_among(session, unseen)
    gaps = tuple(label for label in unseen if label not in elsewhere)
    counts = {device.letter: sum(fact.recorder_letter == device.letter for fact in facts) for device in devices}
    phones = tuple(_phone(d.letter or "?", d.call_name, counts[d.letter], words.get(d.id)) for d in devices) if is_today else ()
    unread = tuple(fact.label for fact in facts if not fact.voided and fact.unread)
    heading = because(
        "session_close",
        waiting=tuple(phone.letter for phone in phones if phone.need),
        phones=len(phones),
        gaps=len(gaps),
        unread=len(unread),
        today=is_today,
    )
    return CloseOfDay(session_id, heading, is_today, phones, because("session_missing", labels=gaps) if gaps else None, unread)


def _phone(letter: str, name: str, in_book: int, word: Word | None) -> PhoneIn:
    if word is None:
        return PhoneIn(letter, name, because("session_silent_phone", in_book=in_book), True)
    alone = max(word.unsent, word.lacks)
    holds = because(
        "session_phone", in_book=in_book, alone=alone, photos=word.photos_unsent, needs=word.needs, agrees=word.agrees, at=word.at
    )
    return PhoneIn(letter, name, holds, bool(alone or word.photos_unsent or word.needs or word.agrees is None))
