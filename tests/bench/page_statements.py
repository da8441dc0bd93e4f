"""How many statements each page asks of the book, in a small book and in the example. Wanted: at most 12, and no more with more rows.

python -m tests.bench.page_statements
"""

from __future__ import annotations

import re
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.opening import open_book
from proofyard.records import devices, listing, nouns
from proofyard.settings import Settings
from proofyard.storage import Storage
from sqlalchemy import Connection, Engine, event
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

HOST = "127.0.0.1"
ADDRESS = f"http://{HOST}:8014"
PAGES = (
    "/trials",
    "/trials/compare",
    "/trials/{trial}",
    "/trials/{trial}/plan",
    "/trials/{trial}/next",
    "/trials/{trial}/follow",
    "/sessions/{session}",
    "/sessions/{session}/day",
    "/shots/{shot}",
    "/panels/{panel_build}",
    "/arrows/{arrow}",
    "/kit",
    "/kit/start",
    "/combinations",
    "/combinations/{combination}",
    "/bows/{bow_build}",
    "/speeds/frames",
    "/results",
    "/what-if?panel={panel_build}&thickness=1.2+mm",
    "/blunt?trial={trial}",
    "/fifty-percent",
    "/download",
    "/download/shots.csv",
    "/notebook",
    "/health",
    "/phones",
    "/range",
    "/log",
    "/api/range",
    "/api/changes?since=0",
)


@dataclass(frozen=True)
class Asked:
    """Statements and status of one page, in a book of a few rows and in the example's."""

    page: str
    few: int
    many: int
    status: int


def measure(pages: tuple[str, ...] = PAGES) -> list[Asked]:
    found = []
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place:
        few, many = Path(place) / "few", Path(place) / "many"
        for folder in (few, many):
            folder.mkdir()
        with closing(open_book(few)) as storage:
            yard = kit.yard(storage)
            kit.read_shot(storage, yard)
            kit.speeds(storage, yard.combination)
            counts = _counts(storage, few, pages)
        with closing(open_book(many)) as storage:
            from seed_demo import fill

            fill(storage)
            more = _counts(storage, many, pages)
    for page in pages:
        found.append(Asked(page, counts[page][0], more[page][0], more[page][1]))
    return found


def _counts(storage: Storage, folder: Path, pages: tuple[str, ...]) -> dict[str, tuple[int, int]]:
    from proofyard.app import create_app

    token = new_token()
    with storage.write() as session:
        devices.make_book(session)
        devices.add_device(session, call_name="Laptop", role="owner", session_hash=hash_of(token))
    with storage.read() as session:
        ids = {str(noun): row.id for noun, table in nouns.TABLES.items() for row in list(listing.all_of(session, table))[:1]}
    client = TestClient(
        create_app(storage, Settings(folder, HOST, 8014)), base_url=ADDRESS, headers={"Origin": ADDRESS}, follow_redirects=False
    )
    client.cookies.set(named(COOKIE, ADDRESS), token, domain=HOST)
    counts = {}
    for page in pages:
        address = re.sub(r"\{(\w+)\}", lambda found: ids[found[1]], page)
        client.get(address)  # what is kept in memory is kept from here on
        with counted(storage) as asked:
            status = client.get(address).status_code
        counts[page] = (len(asked), status)
    return counts


@contextmanager
def counted(book: Storage | None = None) -> Iterator[list[str]]:
    """Every statement that this book is asked meanwhile, or any book; the opening of a turn is none."""
    asked: list[str] = []
    wanted = str(book.path) if book else None

    def note(connection: Connection, _cursor: object, statement: str, *_: object) -> None:
        if statement.startswith(("BEGIN", "PRAGMA")) or wanted not in (None, connection.engine.url.database):
            return
        asked.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield asked
    finally:
        event.remove(Engine, "before_cursor_execute", note)


if __name__ == "__main__":
    for one in measure():
        flag = "" if one.many <= 12 and one.many <= one.few + 3 else "  <- look"
        print(f"{one.few:4d} {one.many:4d}  {one.status}  {one.page}{flag}")
    sys.exit(0)
