"""How long a search takes beside one plain FTS5 query on the same documents, and what a save pays for being found.

python -m tests.bench.search [shots] [folder outside the repository, where the multiplied book is kept for the next run]

The plain query asks for the best 20 by rank, nothing else: no counts by noun, no line of each. Each figure is a median of processor
time, search and plain query in turn. A save pays nothing, since the index takes in changes when somebody searches: it is measured all
the same, by the clock, beside saves without an index.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from proofyard.access.seats import hash_of, new_token
from proofyard.answers.find.index import SearchIndex, asked_for
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.records.apply import apply_all
from proofyard.records.ids import new_id
from proofyard.records.operations import Operation
from proofyard.records.shot import Shot
from proofyard.records.shot_facts import shot_facts
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage
from sqlalchemy import func, select

from seed_demo import fill
from tests.bench.multiplied import multiply
from tests.pages.test_find_page import QUERIES, poorly_answered

# What somebody types, and what the plain query is asked for, which knows of no typing errors.
TYPED = {one: one for one in ("A40", "bodkin split plate", "bodkin", "lime-kiln", "needle perforated", "over the top", "Wren P5")}
TYPED |= {"bodkn": "bodkin", "brodhed": "broadhead"}
ROUNDS = 7


@dataclass(frozen=True)
class Measured:
    """Milliseconds. searched, plain: by what was typed; seen: the same, by a viewer of one trial; saved, saved_alone: a note, with
    somebody searching after each and without. poor: recall and precision of the questions that were not answered well.
    """

    shots: int
    made_s: float
    searched: dict[str, float]
    plain: dict[str, float]
    seen: dict[str, float]
    poor: dict[str, tuple[float, float]]
    taken_in: float
    saved: float
    saved_alone: float

    @property
    def ratio(self) -> float:
        """Of a search to the plain query for the same: the worst of them."""
        return max(self.searched[typed] / self.plain[typed] for typed in TYPED)


def _ms(act: Callable[[], object], clock: Callable[[], float] = time.process_time) -> float:
    began = clock()
    act()
    return (clock() - began) * 1000


def measure(shots: int = 151, *, rounds: int = ROUNDS, keep: Path | None = None) -> Measured:
    """keep: where multiplied books are kept and looked for, by their number of shots; it is measured on a copy."""
    folder = Path(tempfile.mkdtemp())
    try:
        kept = keep / f"{shots}-shots.db" if keep else None
        if kept and kept.exists():
            shutil.copyfile(kept, folder / BOOK_FILE)
        else:
            with closing(open_book(folder)) as book:
                fill(book)
            multiply(folder / BOOK_FILE, shots)
            if kept:
                kept.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(folder / BOOK_FILE, kept)
        with closing(Storage(folder / BOOK_FILE)) as book:
            return _measured(book, rounds)
    finally:
        shutil.rmtree(folder)


def _measured(book: Storage, rounds: int) -> Measured:
    with book.read() as session:
        shots = session.execute(select(func.count()).select_from(Shot)).scalar_one()
    index = SearchIndex(book)
    made = _ms(lambda: index.find("x")) / 1000
    kept = index._kept
    assert kept is not None

    def plain(typed: str) -> object:
        query = "SELECT title, line FROM found WHERE found MATCH ? ORDER BY rank LIMIT 20"
        return kept.execute(query, (" ".join(asked_for(TYPED[typed])),)).fetchall()

    with book.read() as session:
        facts = shot_facts(session)
    poor = poorly_answered(index, facts)
    shot = next(fact for fact in facts if fact.label == "A40")
    took: dict[str, dict[str, list[float]]] = {typed: {"searched": [], "plain": [], "seen": []} for typed in TYPED}
    for typed in [*TYPED] * rounds:
        took[typed]["plain"].append(_ms(partial(plain, typed)))
        took[typed]["searched"].append(_ms(partial(index.find, typed)))
        took[typed]["seen"].append(_ms(partial(index.find, typed, only_trial=shot.trial_id)))
    searched, beside, seen = ({typed: statistics.median(took[typed][what]) for typed in TYPED} for what in ("searched", "plain", "seen"))
    with book.write() as session:
        who = devices.add_device(session, call_name="Rook", role="archer", session_hash=hash_of(new_token())).id

    def save(text: str) -> object:
        one = Operation(
            op_id=new_id(), device_id=who, action="put", noun="shot", record_id=shot.shot_id, base_rev=10**6, body={"note": text}
        )
        return apply_all(book, [one])

    alone, saved, taken = [], [], []
    for turn in range(rounds * 3):
        alone.append(_ms(partial(save, f"a remark {turn}"), time.perf_counter))
        index.find("remark")
        saved.append(_ms(partial(save, f"another {turn}"), time.perf_counter))
        taken.append(_ms(lambda: index.find("another")))
    return Measured(shots, made, searched, beside, seen, poor, *(statistics.median(one) for one in (taken, saved, alone)))


if __name__ == "__main__":
    found = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000, keep=Path(sys.argv[2]) if len(sys.argv) > 2 else None)
    print(f"{found.shots} shots: made in {found.made_s:.2f} s; at worst {found.ratio:.1f} times the plain query")
    print(f"{len(QUERIES) - len(found.poor)} of {len(QUERIES)} questions answered well; not: {found.poor}")
    for typed in TYPED:
        print(
            f"  {typed:20} {found.searched[typed]:8.2f} ms   plain {found.plain[typed]:8.2f} ms   of one trial {found.seen[typed]:8.2f} ms"
        )
    print(f"a save {found.saved:.2f} ms, without an index {found.saved_alone:.2f} ms; the search after it {found.taken_in:.1f} ms")
