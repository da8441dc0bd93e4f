"""The search index: SQLite's FTS5 over the book's documents, kept by the process that answers searches, never in the book.

A search first takes in what the notebook has more than the index, so a save pays nothing for it. Thrown away it is made again, and
nothing that is found changes.
"""

import calendar
import difflib
import re
import threading
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from proofyard import book_file
from proofyard.records.notebook import changes_since, latest_seq
from proofyard.records.photo_facts import shots_with_photos
from proofyard.records.search_documents import Document, changed_shots, documents, other_documents
from proofyard.records.search_words import MOST_WORDS, words_in
from proofyard.storage import Session, Storage

STARRED = 3  # letters from which on a word may go on: "bodk" finds bodkin, "A4" never A40
SHOTS_ALONE = frozenset({"shot", "shot_reading", "shooting_end", "speed_reading", "speed_series", "combination", "butt_visit"})
MOST_CHANGES = 400  # beyond these the whole is made again
NEAR_ENOUGH = 0.7
_DAY = re.compile(r"(0?[1-9]|[12][0-9]|3[01])")
_MONTHS = tuple(name.lower() for name in calendar.month_name[1:])
# What filters and counts stands beside the words: a search reads it for every match, and the words only of those that it shows.
_MAKE = """
CREATE VIRTUAL TABLE found USING fts5(title, names, words, page UNINDEXED, line UNINDEXED,
    tokenize='unicode61 remove_diacritics 2', prefix='2 3');
INSERT INTO found (found, rank) VALUES ('rank', 'bm25(10.0, 3.0, 4.0)');
CREATE VIRTUAL TABLE vocabulary USING fts5vocab(found, 'row');
CREATE TABLE place (number INTEGER PRIMARY KEY, noun TEXT, record_id TEXT, title TEXT, trials TEXT, UNIQUE (noun, record_id)) STRICT;
CREATE INDEX place_of_title ON place (title);
"""
_SHOWN = "SELECT number, noun, record_id, page, found.title, line FROM place JOIN found ON found.rowid = number WHERE number IN ({})"


@dataclass(frozen=True)
class Match:
    """One document that was found."""

    noun: str
    record_id: str
    page: str
    title: str
    line: str


@dataclass(frozen=True)
class Matches:
    """The best of them, and how many there are of each noun. `meant`: what was looked for instead, where nothing was as typed."""

    best: tuple[Match, ...]
    counts: dict[str, int]
    meant: str = ""


def asked_for(typed: str) -> list[str]:
    """What FTS5 is asked for: each word quoted, so that nothing typed is taken for its own language.

    >>> asked_for('bodk spl 2026-10-17 A4 "-x')
    ['"bodk"*', '"spl"*', '"2026 10 17"', '"a4"', '"x"']

    A day and its month go together, as documents spell them: apart, the 10 of "2026-10-17" would do for 10 October.
    >>> asked_for("wren 07 Oct 3 x")
    ['"wren"*', '"7 oct"*', '"3"', '"x"']
    """
    parts = [words for one in typed.split() if (words := words_in(one))]
    asked: list[str] = []
    for before, words in zip([(), *parts], parts, strict=False):
        if len(before) == len(words) == 1 and _DAY.fullmatch(before[0]) and _is_month(words[0]):
            asked[-1] = f'"{int(before[0])} {words[0]}"*'
        else:
            asked.append(_quoted(words))
    return asked[:MOST_WORDS]


def _is_month(word: str) -> bool:
    return len(word) >= STARRED and any(month.startswith(word) for month in _MONTHS)


def _quoted(words: Sequence[str]) -> str:
    goes_on = len(words) == 1 and words[0].isalpha() and len(words[0]) >= STARRED
    return f'"{" ".join(words)}"' + ("*" if goes_on else "")


class SearchIndex:
    """Of one book. Any thread may ask; one is answered at a time."""

    def __init__(self, storage: Storage) -> None:
        self._storage = storage
        self._lock = threading.Lock()
        self._kept: Any = None
        self._seq = -1
        self._known: set[str] = set()  # every word, once somebody mistyped one
        self._others: dict[tuple[str, str], Document] = {}  # all but the shots', as they were put in
        self._seen: set[tuple[str, str]] = set()  # trial and panel or arrow that its viewers may see

    def find(self, typed: str, *, noun: str = "", only_trial: str | None = None, most: int = 50, after: int = 0) -> Matches:
        """What best fits what was typed. noun: of these alone; only_trial: as far as a viewer of that trial may see."""
        with self._lock:
            kept = self._brought_up_to_date()
            parts = asked_for(typed)
            if not parts:
                return Matches((), {})
            found = self._matching(kept, parts, noun=noun, only_trial=only_trial, most=most, after=after)
            if found.counts:
                return found
            meant = self._meant(kept, parts, typed)
            if meant is None:
                return found
            again = self._matching(kept, asked_for(meant), noun=noun, only_trial=only_trial, most=most, after=after)
            return Matches(again.best, again.counts, meant) if again.counts else found

    def make_ready(self) -> None:
        """Make it, or bring it up to date, so that the first who searches need not wait."""
        with self._lock:
            self._brought_up_to_date()

    def forget(self) -> None:
        """Throw it away: the next search makes it again."""
        with self._lock:
            if self._kept is not None:
                self._kept.close()
            self._kept, self._seq = None, -1

    def _matching(self, kept: Any, parts: Sequence[str], *, noun: str, only_trial: str | None, most: int, after: int) -> Matches:
        typed = " ".join(part.strip('"*') for part in parts)
        asked = {"parts": " ".join(parts), "trial": only_trial or "", "noun": noun, "typed": typed, "most": after + most}
        seen = " AND instr(trials, :trial)" if only_trial else ""
        within = "FROM found JOIN place ON number = found.rowid WHERE found MATCH :parts"
        counts = dict(kept.execute(f"SELECT noun, count(*) {within}{seen} GROUP BY noun", asked).fetchall())
        if not (counts.get(noun) if noun else counts):
            return Matches((), counts)
        wanted = f"{seen} AND noun = :noun" if noun else seen
        within = f"{within}{wanted}" if wanted else "FROM found WHERE found MATCH :parts"
        # What is called just that comes first: A4 before the photos and the hits that speak of it. It holds all that was typed, so the
        # words aren't asked again: FTS5 would look for them once for each of these.
        named = _numbers(kept, f"SELECT number FROM place WHERE title = :typed{wanted} ORDER BY number LIMIT :most", asked)
        by_rank = f"SELECT found.rowid {within} ORDER BY rank LIMIT :most"
        ranked = _numbers(kept, by_rank, asked) if len(named) < after + most else []
        first = set(named)
        best = [*named, *(number for number in ranked if number not in first)][after : after + most]
        rows = kept.execute(_SHOWN.format(",".join(map(str, best)))).fetchall()
        by_number = {row[0]: Match(*row[1:]) for row in rows}
        return Matches(tuple(by_number[number] for number in best), counts)

    def _meant(self, kept: Any, parts: Sequence[str], typed: str) -> str | None:
        """The same with each word that stands nowhere replaced by the one of the book that looks most like it."""
        words, changed = [], False
        for word in (word for one in typed.split() for word in words_in(one)):
            if _stands(kept, word):
                words.append(word)
                continue
            # Read once, it is half of what such a search takes. A word that has left the book since is passed over.
            self._known = self._known or {term for (term,) in kept.execute("SELECT term FROM vocabulary") if term.isalpha()}
            near = difflib.get_close_matches(word, sorted(self._known), n=3, cutoff=NEAR_ENOUGH)
            found = next((one for one in near if _stands(kept, one)), None)
            changed = changed or found is not None
            words.append(found or word)
        return " ".join(words) if changed else None

    def _put(self, fresh: Sequence[Document]) -> None:
        _put(self._kept, fresh)
        if self._known:
            self._known.update(word for one in fresh for word in words_in(f"{one.title} {one.names} {one.words}") if word.isalpha())

    def _brought_up_to_date(self) -> Any:
        with self._storage.read() as session:
            now = latest_seq(session)
            if self._kept is None:
                self._make(session)
            elif now > self._seq:
                self._take_in(session, changes_since(session, self._seq, most=MOST_CHANGES + 1))
        self._seq = now
        return self._kept

    def _make(self, session: Session) -> None:
        every = list(documents(session))
        if self._kept is not None:
            self._kept.close()
            self._kept = None
        kept = book_file.passing()
        kept.executescript(_MAKE)
        _put(kept, [one for one in every if one.noun == "shot"])
        self._kept, self._others, self._known = kept, {}, set()
        self._put_others([one for one in every if one.noun != "shot"])

    def _take_in(self, session: Session, changes: Sequence[tuple[int, str, str, int, str]]) -> None:
        if len(changes) > MOST_CHANGES:
            self._make(session)
            return
        fresh = changed_shots(session, {(noun, record_id) for _, noun, record_id, _, _ in changes})
        self._put(fresh)
        if self._bear_on_others(session, changes, fresh):
            self._put_others(list(other_documents(session)))

    def _bear_on_others(self, session: Session, changes: Iterable[tuple[int, str, str, int, str]], fresh: Iterable[Document]) -> bool:
        """Whether anything but shots says something else after these: a shot more at a panel that its trial has shot before does not."""
        if any(noun not in SHOTS_ALONE or action not in ("make", "change") for _, noun, _, _, action in changes):
            return True
        seen = {(trial, one) for document in fresh for trial in document.trials for one in document.opens}
        return not seen <= self._seen or not shots_with_photos(session).isdisjoint(document.record_id for document in fresh)

    def _put_others(self, every: Sequence[Document]) -> None:
        """Those that say something else than before, and none that is gone."""
        now = {(one.noun, one.record_id): one for one in every}
        for noun, record_id in self._others.keys() - now.keys():
            number = self._kept.execute("DELETE FROM place WHERE noun = ? AND record_id = ? RETURNING number", (noun, record_id)).fetchall()
            self._kept.execute("DELETE FROM found WHERE rowid = ?", number[0])
        self._put([one for key, one in now.items() if self._others.get(key) != one])
        self._others = now
        self._seen = {(trial, one.record_id) for one in every for trial in one.trials if one.noun in ("panel", "arrow")}


def _stands(kept: Any, word: str) -> bool:
    """Whether a word of the book begins so."""
    return kept.execute("SELECT 1 FROM vocabulary WHERE term >= ? AND term < ? LIMIT 1", (word, word + "\U0010ffff")).fetchone() is not None


def _numbers(kept: Any, statement: str, asked: Mapping[str, object]) -> list[int]:
    return [number for (number,) in kept.execute(statement, asked).fetchall()]


def _put(kept: Any, fresh: Iterable[Document]) -> None:
    """Each in the place of what stood for it."""
    kept.execute("BEGIN")
    for one in fresh:
        number = kept.execute(
            "INSERT INTO place (noun, record_id, title, trials) VALUES (?, ?, ?, ?) "
            "ON CONFLICT (noun, record_id) DO UPDATE SET title = excluded.title, trials = excluded.trials RETURNING number",
            (one.noun, one.record_id, " ".join(words_in(one.title)), " ".join(one.trials)),
        ).fetchone()[0]
        kept.execute(
            "INSERT OR REPLACE INTO found (rowid, title, names, words, page, line) VALUES (?, ?, ?, ?, ?, ?)",
            (number, one.title, one.names, one.words, one.page, one.line),
        )
    kept.execute("COMMIT")
