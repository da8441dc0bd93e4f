"""The end of a day: are both phones in, what is missing where, what is not read yet."""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from server.findings.shot_lines import is_unread
from server.findings.when import clock_words, today
from server.records.recorded import in_the_book, labels_of, phones_that_log, recorded_by
from server.records.shot_facts import ShotFact
from server.storage import Session

MOST_TOLD = 12
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
    pictures_unsent: int
    needs: int
    agrees: bool | None
    lacks: int


@dataclass(frozen=True)
class PhoneIn:
    """One phone in words; `need`: something of it is not in the book, or nobody knows."""

    letter: str
    name: str
    words: str
    need: bool


@dataclass(frozen=True)
class CloseOfDay:
    """Whether all is in. `today`: the phones can still be asked."""

    session_id: str
    heading: str
    today: bool
    phones: tuple[PhoneIn, ...]
    gaps: str
    unread: str
    done: bool


def close_of_day(session: Session, session_id: str, *, day: str, facts: Sequence[ShotFact], words: Mapping[str, Word]) -> CloseOfDay:
    """Two statements. facts: the session's shots, struck ones too; words: device id -> what that phone said last."""
    devices = phones_that_log(session)
    is_today = day == today()
    recorded = [fact.label for fact in facts]
    gaps = gaps_in(recorded, labels_known=labels_of(session, {fact.recorder_letter for fact in facts if fact.recorder_letter}) | set(recorded))
    counts = {device.letter: sum(fact.recorder_letter == device.letter for fact in facts) for device in devices}
    phones = tuple(_phone(d.letter or "?", d.call_name, counts[d.letter], words.get(d.id)) for d in devices) if is_today else ()
    unread = [fact.label for fact in facts if not fact.struck and is_unread(fact)]
    done = not gaps and not unread and not any(phone.need for phone in phones)
    return CloseOfDay(session_id, _heading(phones, gaps, unread, is_today=is_today), is_today, phones, _gaps_words(gaps), _listed(unread), done)


def _heading(phones: Sequence[PhoneIn], gaps: Sequence[str], unread: Sequence[str], *, is_today: bool) -> str:
    waiting = [phone.letter for phone in phones if phone.need]
    if waiting:
        return f"Not all is in yet: look at phone {' and '.join(waiting)}"
    start = {0: "", 1: "The phone is in", 2: "Both phones are in"}.get(len(phones), f"All {len(phones)} phones are in")
    if gaps:
        return f"{start + ', but' if start else ''} {len(gaps)} label{'s are' if len(gaps) > 1 else ' is'} missing".strip().capitalize()
    if unread:
        shots = f"{len(unread)} shot{'s are' if len(unread) > 1 else ' is'} not read yet"
        return f"{start}; {shots}" if start else shots[0].upper() + shots[1:]
    return start + (", and all is read" if start else "") or ("No phone is in to log" if is_today else "Nothing is missing, and all is read")


def _phone(letter: str, name: str, in_book: int, word: Word | None) -> PhoneIn:
    has = f"{in_book} shot{'' if in_book == 1 else 's'} of this day in the book"
    if word is None:
        return PhoneIn(letter, name, f"{has}. It has not said what it holds since the laptop was started: open Range on it.", True)
    only = []
    if word.unsent or word.lacks:
        n = max(word.unsent, word.lacks)
        only.append(f"{n} on that phone only")
    if word.pictures_unsent:
        only.append(f"{word.pictures_unsent} picture{'' if word.pictures_unsent == 1 else 's'} on that phone only")
    if word.needs:
        only.append(f"{word.needs} need{'s' if word.needs == 1 else ''} a person there")
    if only:
        return PhoneIn(letter, name, f"{has}; {', '.join(only)}, at {clock_words(word.at)}.", True)
    if word.agrees is None:
        return PhoneIn(letter, name, f"{has}; its own count is another, at {clock_words(word.at)}. Leave Range open on it.", True)
    return PhoneIn(letter, name, f"{has}, nothing waits on it, at {clock_words(word.at)}.", False)


def _listed(labels: Sequence[str]) -> str:
    more = f" and {len(labels) - MOST_TOLD} more" if len(labels) > MOST_TOLD else ""
    return ", ".join(labels[:MOST_TOLD]) + more


def _gaps_words(gaps: Sequence[str]) -> str:
    if not gaps:
        return ""
    one = len(gaps) == 1
    return (
        f"{_listed(gaps)} {'is' if one else 'are'} not in the book, though labels before and after {'it' if one else 'them'} are. "
        f"Look on {'that phone' if len({g.rstrip('0123456789') for g in gaps}) == 1 else 'those phones'} under “needs you”, and at what was written on paper."
    )
