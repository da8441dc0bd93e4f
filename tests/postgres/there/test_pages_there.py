"""Every page of the demo says of a book in PostgreSQL what it says of the same book in a file, byte for byte.

What differs by itself is made equal: ids that a page made for what comes next, which are newer than any of the book, and the seed that
a new order is drawn by.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from proofyard.app import create_app
from proofyard.opening import open_book
from proofyard.records.ids import new_id
from proofyard.storage import Storage
from sqlalchemy import text
from starlette.testclient import TestClient

from seed_demo import fill
from tests.browser.pages_of_the_demo import PAGES as IN_BROWSERS
from tests.conftest import House, copied, house_of
from tests.demo_for_tests import called
from tests.pages.test_reviewed_texts import PAGES
from tests.postgres.there.conftest import given_back, on_a_database, with_the_rows_of
from tests.postgres_for_tests import Server

FILES = tuple(
    ("viewer", address) for address in ("/notebook", "/download/shots.csv", "/download/shots.csv?form=workbook", "/download/arrows.csv")
)
PHONES = (("archer", "/api/range"), ("archer", "/range"), ("owner", "/phones"))
EVERY = tuple(dict.fromkeys((*PAGES.values(), *(("owner", one.address) for one in IN_BROWSERS), *FILES, *PHONES)))
# One of each way of asking the book, for an ordinary run: what the file answers by SQLite's own words, or sorts by what may be empty.
SOME = ("/api/range", "/log", "/kit", "/bows/{bow}", "/sessions/{first day}", "/notebook")
_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}")
_SEED = re.compile(r'(id="plan-seed"[^>]*value=")[0-9]+')


@dataclass(frozen=True)
class Both:
    """The demo in a file and in a database, the same people at both doors."""

    file: House
    there: House
    ids: dict[str, str]
    begun: str  # an id that is newer than all of the book's: they sort by when they were made

    def answers(self, role: str, address: str) -> tuple[tuple[int, object], tuple[int, object]]:
        def of(house: House) -> tuple[int, object]:
            client: TestClient = house.client(role, raise_server_exceptions=False)
            answer = client.get(address.format_map(self.ids))
            if not answer.headers["content-type"].startswith("text/html"):
                return answer.status_code, answer.content
            same = _ID.sub(lambda found: "NEW" if found[0] > self.begun else found[0], answer.text)
            return answer.status_code, _SEED.sub(r"\1SEED", same)

        return of(self.file), of(self.there)


@pytest.fixture(scope="module")
def both(postgres: Server, demo_book_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Both]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "UTC")
        time.tzset()
        at = tmp_path_factory.mktemp("both")
        file = open_book(copied(demo_book_file, at / "file"))
        house = house_of(file, demo=True)
        (copied(demo_book_file, at / "there") / file.path.name).unlink()  # its photos alone
        there = with_the_rows_of(file, postgres, at / "there")
        settings = replace(house.settings, folder=at / "there")
        with file.read() as session:
            ids = called(session)
        yield Both(house, House(create_app(there, settings), there, settings, house.tokens, house.device_ids), ids, new_id())
        file.close()
        given_back(there)
    time.tzset()


def differing(both: Both, addresses: tuple[tuple[str, str], ...]) -> list[str]:
    told = []
    for role, address in addresses:
        (file, said), (there, said_there) = both.answers(role, address)
        if (file, said) != (there, said_there) or file not in (200, 422):  # 422: what was typed is wrong, and the page says so
            lines = zip(str(said).splitlines(), str(said_there).splitlines(), strict=False)
            first = next((f"{one[:150]!r} and {other[:150]!r}" for one, other in lines if one != other), "")
            told.append(f"{role} {address}: {file} and {there}, {first}")
    return told


@pytest.mark.slow
def test_some_pages_say_the_same(both: Both) -> None:
    assert differing(both, tuple(one for one in EVERY if one[1] in SOME)) == []


@pytest.mark.long
def test_every_page_says_the_same(both: Both) -> None:
    wanted = tuple(one for one in EVERY if "other book}" not in one[1] and "trial of it}" not in one[1])
    assert len(wanted) > 130 and differing(both, wanted) == []


@pytest.mark.long
def test_the_demo_is_written_there_as_it_is_into_a_file(postgres: Server, tmp_path: Path, demo_book: Storage) -> None:
    there = on_a_database(postgres, tmp_path / "there")
    made = fill(there)
    assert (made.shots, made.trials, made.panels) == (151, 3, 12)
    asked = text("SELECT label, purpose, hit, x_m, y_m, outcome_low FROM shot LEFT JOIN shot_reading r ON r.id = shot.id ORDER BY label")
    with there.read() as here, demo_book.read() as file:
        assert here.execute(asked).all() == file.execute(asked).all()
    given_back(there)
