"""What a phone is told at once, packed, by its parts: with the ids of the multiplied book, and with ids of chance in their place.

    python -m tests.bench.phones_snapshot FOLDER [shots,shots,…]

FOLDER as for pages_by_size.py, whose books these are. The copies' ids differ from their pattern in a few digits and pack much better
than a real book's: so each is given a tail of its own as well, and that is what counts. Beside both, how it was while each id stood
wherever it is named. A second table is of the same book with all but two trials closed.

Wanted: at most 32 KB packed with 40 open set-ups, at most 12 KB with two open trials.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import re
import shutil
import sys
import tempfile
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

from proofyard import book_file
from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.api.packed_ids import with_ids_once
from proofyard.app import create_app
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.settings import BOOK_FILE, Settings
from starlette.testclient import TestClient

from tests.api.test_snapshot import with_its_ids
from tests.bench.pages_by_size import ADDRESS, HOST, book_of

LEVEL = 5  # as the app packs
ID = re.compile(rb"([0-9a-f]{8}-[0-9a-f]{4}-7)[0-9a-f]{3}-([0-9a-f])[0-9a-f]{3}-[0-9a-f]{12}")
NEWEST_OPEN = (
    "SELECT trial.id FROM trial JOIN session ON session.trial_id = trial.id WHERE trial.state = 'open' "
    "ORDER BY day DESC, trial.id DESC LIMIT "
)


def told(folder: Path) -> Mapping[str, Any]:
    """What a phone that asks for the first time is told of this book."""
    token = new_token()
    with closing(open_book(folder)) as book:
        with book.write() as session:
            devices.make_book(session)
            devices.add_device(session, call_name="Laptop", role="owner", session_hash=hash_of(token))
        client = TestClient(create_app(book, Settings(folder, HOST, 8014)), base_url=ADDRESS, headers={"Origin": ADDRESS})
        client.cookies.set(named(COOKIE, ADDRESS), token, domain=HOST)
        told_once: Mapping[str, Any] = json.loads(with_its_ids(client.get("/api/range", params={"form": 2}).text))
    return told_once


def of_two_trials(folder: Path, to: Path) -> Path:
    """A copy of a book in which all but two trials are closed."""
    shutil.copytree(folder, to)
    with closing(book_file.connect(to / BOOK_FILE)) as connection, connection:
        connection.execute(f"UPDATE trial SET state = 'closed' WHERE id NOT IN ({NEWEST_OPEN}2)")
    return to


def packed(one: object, *, of_chance: bool = False, once: bool = True) -> int:
    """Bytes. of_chance: with a random tail for each id. once: as phones are told it."""
    text = json.dumps(one, ensure_ascii=False, separators=(",", ":")).encode()

    def other(found: re.Match[bytes]) -> bytes:
        tail = hashlib.sha256(found.group()).hexdigest().encode()
        return b"%s%s-%s%s-%s" % (found[1], tail[:3], found[2], tail[3:6], tail[6:18])

    text = ID.sub(other, text) if of_chance else text
    return len(gzip.compress(with_ids_once(text.decode()).encode() if once else text, LEVEL))


def table(said: Mapping[str, Any]) -> str:
    parts = {"all": said, **{name: part for name, part in said.items() if isinstance(part, (list, dict)) and part}}

    def row(name: str, part: Any) -> str:
        figures = [packed(part, of_chance=chance, once=once) for chance, once in ((True, True), (False, True), (True, False))]
        return f"{''.join(f'{one:8d}' for one in figures)}  {len(part):5d}  {name}"

    return "\n".join(row(name, part) for name, part in parts.items())


if __name__ == "__main__":
    keep = Path(sys.argv[1])
    print("packed, bytes, with ids of chance; with the copies' ids; with ids of chance, each wherever it is named; how many; what")
    for size in (int(one) for one in (sys.argv[2] if len(sys.argv) > 2 else "1000,100000").split(",")):
        book = book_of(keep, size)
        print(f"{size} shots, all open set-ups (40 at most)\n{table(told(book))}")
        with tempfile.TemporaryDirectory() as place:
            print(f"{size} shots, two open trials\n{table(told(of_two_trials(book, Path(place) / 'two')))}", flush=True)
