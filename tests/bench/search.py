"""How long a search takes beside one plain FTS5 query on the same documents, and what a save pays for being found.

python -m tests.bench.search [shots]

The plain query asks for the best 20 by rank, nothing else: no counts by noun, no line of each. Each figure is a median. A save pays
nothing, since the index takes in changes when somebody searches: it is measured all the same, beside saves without an index.
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
from proofyard.records.shot_facts import shot_facts
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage

from seed_demo import fill
from tests.bench.multiplied import multiply

TYPED = ("A40", "bodkin split plate", "bodkin", "lime-kiln", "needle perforated", "over the top")
ROUNDS = 7


@dataclass(frozen=True)
class Measured:
    """Milliseconds. searched, plain: by what was typed; saved, saved_alone: a note, with somebody searching after each and without."""

    shots: int
    made_s: float
    searched: dict[str, float]
    plain: dict[str, float]
    taken_in: float
    saved: float
    saved_alone: float

    @property
    def ratio(self) -> float:
        """Of the slowest search to the plain query for the same."""
        return max(self.searched[typed] / self.plain[typed] for typed in TYPED if self.plain[typed] == max(self.plain.values()))


def _ms(act: Callable[[], object]) -> float:
    began = time.perf_counter()
    act()
    return (time.perf_counter() - began) * 1000


def measure(shots: int = 151, *, rounds: int = ROUNDS) -> Measured:
    folder = Path(tempfile.mkdtemp())
    try:
        with closing(open_book(folder)) as book:
            fill(book)
        held = multiply(folder / BOOK_FILE, shots) if shots > 151 else 151
        with closing(Storage(folder / BOOK_FILE)) as book:
            return _measured(book, held, rounds)
    finally:
        shutil.rmtree(folder)


def _measured(book: Storage, shots: int, rounds: int) -> Measured:
    index = SearchIndex(book)
    made = _ms(lambda: index.find("x")) / 1000
    kept = index._kept
    assert kept is not None

    def plain(typed: str) -> object:
        query = "SELECT title, line FROM found WHERE found MATCH ? ORDER BY rank LIMIT 20"
        return kept.execute(query, (" ".join(asked_for(typed)),)).fetchall()

    searched = {typed: statistics.median(_ms(partial(index.find, typed)) for _ in range(rounds)) for typed in TYPED}
    beside = {typed: statistics.median(_ms(partial(plain, typed)) for _ in range(rounds)) for typed in TYPED}
    with book.write() as session:
        who = devices.add_device(session, call_name="Rook", role="archer", session_hash=hash_of(new_token())).id
    with book.read() as session:
        facts = shot_facts(session, label="A40")

    def save(text: str) -> object:
        one = Operation(
            op_id=new_id(), device_id=who, action="put", noun="shot", record_id=facts[0].shot_id, base_rev=10**6, body={"note": text}
        )
        return apply_all(book, [one])

    alone, saved, taken = [], [], []
    for turn in range(rounds * 3):
        alone.append(_ms(partial(save, f"a remark {turn}")))
        index.find("remark")
        saved.append(_ms(partial(save, f"another {turn}")))
        taken.append(_ms(lambda: index.find("another")))
    return Measured(shots, made, searched, beside, *(statistics.median(one) for one in (taken, saved, alone)))


if __name__ == "__main__":
    found = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
    print(f"{found.shots} shots: made in {found.made_s:.2f} s; slowest search {found.ratio:.1f} times the plain query")
    for typed in TYPED:
        print(f"  {typed:20} {found.searched[typed]:8.2f} ms   plain {found.plain[typed]:8.2f} ms")
    print(f"a save {found.saved:.2f} ms, without an index {found.saved_alone:.2f} ms; the search after it {found.taken_in:.1f} ms")
