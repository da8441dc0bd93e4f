"""Every route of the app, asked by everybody whom one group has let in, and by nobody: no byte of another group's book, no change in it.

Two groups, oak and elm, each with a yard whose every word is marked. Elm's people ask
    below oak's path, with their cookies and tokens under every name that a cookie could have;
    below their own path, with the ids of oak's records;
    below their own path, with their own ids: that the marks are found where they should be shows that the others would be.
What oak's people may do in their own group is that app's own table (tests/contract/test_routes_and_roles.py).
"""

from __future__ import annotations

import hashlib
import io
import re
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import ExitStack
from functools import cached_property
from pathlib import Path
from typing import Any

import pytest
from httpx2 import Response
from proofyard import cli
from proofyard.exchange.photo_files import PHOTOS
from proofyard.groups.places import folder_of
from proofyard.records.ids import new_id
from proofyard.records.operations import OP_VERSION
from proofyard.records.packed import long_id
from proofyard.storage import Storage
from sqlalchemy import inspect, text
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.browser.demo_yard import first_of, ids_of
from tests.contract.test_routes_and_roles import TABLE
from tests.groups_for_tests import SEAT, Served, begun_in, served
from tests.postgres_for_tests import Server

ROLES = ("owner", "archer", "viewer", "guest of a trial", "program that reads", "program that logs", "nobody")
SOONER = ("guest of a trial", "program that logs")  # the most unlike an owner; the others are asked with --long
ID = re.compile(rb"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
NAMES = {
    "trial": "question",
    "archer": "call_name",
    "device": "call_name",
    "bow": "name",
    "head": "name",
    "arrow": "tag",
    "panel": "name",
    "stand": "name",
    "session": "place",
    "instrument": "name",
}
COLOURS = {"oak": "olive", "elm": "navy"}
MOMENTARY = {"alembic_version"}


class Marked:
    """A group's book and all by which it could be known: a word in all that is named, every id, the bytes of its photo."""

    def __init__(self, server: Served, name: str, *, demo: bool = False) -> None:
        self.name, self.word, self.book = name, f"{name}qz", server.book(name)
        server.let_in(name, "archer")
        self.ids = _of_the_demo(self.book) if demo else _of_a_yard(self.book, self.word, COLOURS[name])
        with self.book.write() as session:
            for table, column in NAMES.items():
                session.execute(text(f"UPDATE {table} SET {column} = '{self.word} ' || {column}"))
        self.all_ids = {found for rows in self.rows().values() for row in rows for found in ID.findall(row)}
        self.photos = [file.read_bytes() for file in (self.book.path.parent / PHOTOS).rglob("*.jpg")]
        assert self.photos and len(self.all_ids) > 40

    def rows(self) -> dict[str, list[bytes]]:
        """Every row of every table, as text."""
        with self.book.read() as session:
            tables = [name for name in inspect(session.connection()).get_table_names() if name not in MOMENTARY]
            return {
                name: sorted(repr([as_said(one) for one in row]).encode() for row in session.execute(text(f"SELECT * FROM {name}")))
                for name in tables
            }

    def state(self) -> str:
        return hashlib.sha256(repr(self.rows()).encode()).hexdigest()

    def address(self, path: str) -> str:
        """A route's path with this group's ids, and others made up where it has none."""
        for name, value in self.ids.items():
            path = path.replace("{" + name + "}", value)
        return re.sub(r"\{[^}]*\}", lambda found: "none" if ":" in found[0] else new_id(), path)

    def known_by(self, answer: Response, asked: str) -> list[str]:
        """What of this group stands in an answer, but for the ids that it was asked for by."""
        said = _unpacked(answer.content) + repr(answer.headers.raw).encode()
        found = [self.word] if self.word.encode() in said.lower() else []
        found += [one.decode() for one in self.all_ids & set(ID.findall(said)) if one.decode() not in asked]
        return [*found, *("its photo" for photo in self.photos if photo in said)]


def as_said(value: Any) -> Any:
    """What a column holds, an id as it is written where it is kept as its 16 bytes."""
    return long_id(bytes(value)) if isinstance(value, bytes | memoryview) and len(value) == 16 else value


def _of_a_yard(book: Storage, word: str, colour: str) -> dict[str, str]:
    """One of each; gives what stands for the parameters of paths."""
    yard = kit.yard(book, question="Is it seen?")
    loosed = kit.shot(book, yard, note=f"{word} said so")
    kit.reading(book, loosed, damage=f"{word} lace cut")
    series = kit.speeds(book, yard.combination, instrument_id=kit.chronograph(book, "chronograph"))
    return {
        "trial_id": yard.trial,
        "session_id": yard.session,
        "setup_id": yard.setup,
        "shot_id": loosed,
        "build_id": yard.panel.build,
        "arrow_id": yard.arrow.arrow,
        "bow_build_id": yard.bow.build,
        "combination_id": kit.combination(book, yard.combination),
        "series_id": series,
        "device_id": kit.recorder(book),
        "noun": "bow",
        "record_id": yard.bow.bow,
        "photo_id": kit.photo(book, "shot", loosed, colour=colour),
        "name": "shots.csv",
        "drawing": "order.svg",
    }


def _of_the_demo(book: Storage) -> dict[str, str]:
    with book.read() as session:
        found = {name: some[0] for name, some in ids_of(session).items() if some}
        return found | {"noun": "bow", "record_id": first_of(session, "bow")[0], "name": "shots.csv"}


def _unpacked(content: bytes) -> bytes:
    """A body, and what is in it if it is a zip or a workbook."""
    if not content.startswith(b"PK"):
        return content
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        return content + b"".join(packed.read(name) for name in packed.namelist())


class Two:
    """The server, oak's and elm's books, and how somebody of elm's asks."""

    def __init__(self, server: Served, *, demo: bool = False) -> None:
        self.server = server
        for name in ("oak", "elm"):
            assert server.client().get(f"/g/{name}/join").status_code == 200
        self.oak, self.elm = Marked(server, "oak", demo=demo), Marked(server, "elm")
        for name in ("oak", "elm"):
            server.front.opened.app_of(name).state.doorbell.closing = True  # so that a stream answers at once, and ends
        self.commits: list[None] = []
        self.oak.book.after_commit(lambda: self.commits.append(None))

    def of_elm(self, role: str) -> TestClient:
        """Shows what elm gave it wherever it asks, by every name that it could have there."""
        if role == "nobody":
            return self._client({})
        if role.startswith("program"):
            token = self.server.program("elm", "archer" if role.endswith("logs") else "viewer")
            client = self._client({})
            client.headers["Authorization"] = f"Bearer {token}"
            return client
        guest = role == "guest of a trial"
        token = self.server.let_in("elm", "viewer" if guest else role, trial_id=self.elm.ids["trial_id"] if guest else None)
        return self._client({name: token for name in (SEAT, f"elm.{SEAT}", f"oak.{SEAT}")})

    def _client(self, cookies: dict[str, str]) -> TestClient:
        client = self.server.client(cookies)
        client._transport.raise_server_exceptions = False
        return client

    def ask(self, client: TestClient, row: str, below: str, ids: Marked) -> tuple[Response, str]:
        method, _, path = row.partition(" ")
        for name in ("oak", "elm"):
            self.server.front.opened.app_of(name).state.gate.programs._pace._times.clear()  # how often isn't what is asked here
        asked = f"/g/{below}{ids.address(path)}"
        sent = {"places": "region"} if row == "POST /publish" else None
        return client.request(method, asked, data=sent), asked

    @cached_property
    def nobody_is_answered(self) -> dict[str, int]:
        nobody = self.of_elm("nobody")
        return {row: self.ask(nobody, row, "oak", self.oak)[0].status_code for row in sorted(TABLE)}

    def faults(self, role: str, client: TestClient | None = None) -> list[str]:
        """What is wrong with any route, asked by this role of elm's."""
        found, client, before = [], client or self.of_elm(role), self.oak.state()
        for row in sorted(TABLE):
            if row == "POST /leave":
                continue  # it ends the seat: see below
            theirs, asked = self.ask(client, row, "oak", self.oak)
            found += [f"{role}: {row} of oak: {known}" for known in self.oak.known_by(theirs, asked)]
            expected = self.nobody_is_answered[row]
            if (
                role != "nobody"
                and theirs.status_code != expected
                and not (theirs.status_code == 401 and "Authorization" in client.headers)
            ):
                found.append(f"{role}: {row} of oak: answered {theirs.status_code}, nobody is answered {expected}")
            mine, asked = self.ask(client, row, "elm", self.oak)
            found += [f"{role}: {row} of elm by oak’s ids: {known}" for known in self.oak.known_by(mine, asked)]
            if mine.status_code >= 500 and row != "GET /live":
                found.append(f"{role}: {row} of elm by oak’s ids: {mine.status_code}")
        if self.commits or self.oak.state() != before:
            found.append(f"{role}: oak’s book was changed")
        return found

    def seen_of_elm(self, role: str) -> set[str]:
        """The routes that show elm's marks to somebody of elm's."""
        client = self.of_elm(role)
        asked = [(row, self.ask(client, row, "elm", self.elm)) for row in sorted(TABLE) if row.startswith("GET ")]
        return {row for row, (answer, address) in asked if self.elm.known_by(answer, address)}


@pytest.fixture(scope="module")
def in_files(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path) -> Iterator[Two]:
    folder = tmp_path_factory.mktemp("groups")
    for name in ("oak", "elm"):
        assert cli.main(["group", "add", name, "--data", str(folder)]) == 0
        begun_in(folder, name, empty_book_file)
    with served(folder) as server:
        yield Two(server)


@pytest.fixture(scope="module")
def in_postgres(postgres: Server, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Two]:
    folder = tmp_path_factory.mktemp("groups")
    with ExitStack() as until_the_end:
        with pytest.MonkeyPatch.context() as patch:  # while it is begun: other fixtures make books in files
            patch.setenv("PROOFYARD_DATABASE", postgres.new_database())
            for name in ("oak", "elm"):
                assert cli.main(["group", "add", name, "--data", str(folder)]) == 0
            server = until_the_end.enter_context(served(folder))
        two = Two(server)
        assert not two.oak.book.in_a_file and not two.elm.book.in_a_file
        yield two


def test_no_route_tells_the_owner_of_one_group_anything_of_another(in_files: Two) -> None:
    assert in_files.faults("owner") == []


@pytest.mark.parametrize("role", [one if one in SOONER else pytest.param(one, marks=pytest.mark.long) for one in ROLES[1:]])
@pytest.mark.slow
def test_no_route_tells_anybody_of_one_group_anything_of_another(in_files: Two, role: str) -> None:
    assert in_files.faults(role) == []


@pytest.mark.slow
@pytest.mark.parametrize("role", [ROLES[0], *(pytest.param(one, marks=pytest.mark.long) for one in ROLES[1:])])
def test_nor_where_both_books_lie_in_one_database(in_postgres: Two, role: str) -> None:
    assert in_postgres.faults(role) == []


@pytest.mark.long
def test_a_groups_own_people_do_see_its_marks_so_that_anothers_would_be_found(in_files: Two) -> None:
    seen = {role: in_files.seen_of_elm(role) for role in ROLES}
    assert len(seen["owner"]) > 70, sorted(seen["owner"])
    assert len(seen["viewer"]) > 50 and len(seen["guest of a trial"]) > 25 and len(seen["program that reads"]) > 10
    assert seen["nobody"] == set()


@pytest.mark.long
@pytest.mark.parametrize("role", ["owner", "program that logs", "nobody"])
def test_nor_anything_of_a_book_that_has_all_that_a_book_can_have(
    tmp_path: Path, empty_book_file: Path, demo_book_file: Path, role: str
) -> None:
    """The whole demo in oak's book: films, claims, readings, photos. Its own viewer sees its marks nearly everywhere."""
    for name in ("oak", "elm"):
        assert cli.main(["group", "add", name, "--data", str(tmp_path)]) == 0
    begun_in(tmp_path, "oak", demo_book_file)
    shutil.copytree(demo_book_file.parent / PHOTOS, folder_of(tmp_path, "oak") / PHOTOS)
    begun_in(tmp_path, "elm", empty_book_file)
    with served(tmp_path) as server:
        two = Two(server, demo=True)
        # The programs' document has examples of the demo: they come with the program and are the same everywhere.
        two.oak.all_ids -= set(ID.findall(server.client().get("/g/elm/api/v1/openapi.json").content))
        assert two.faults(role) == []
        if role == "owner":
            viewer = server.seated("oak", "viewer")
            asked = [(row, two.ask(viewer, row, "oak", two.oak)) for row in sorted(TABLE) if row.startswith("GET ")]
            assert len([row for row, (answer, address) in asked if two.oak.known_by(answer, address)]) > 60


def test_an_operation_of_one_group_changes_nothing_in_another(in_files: Two) -> None:
    """Whole operations, which are taken at home: at another's door, and at home with another's records in them."""
    two, before = in_files, in_files.oak.state()
    two.commits.clear()
    archer, log = two.of_elm("archer"), two.of_elm("program that logs")

    def day_of(marked: Marked) -> dict[str, object]:
        body = {"trial": marked.ids["trial_id"], "day": "2026-10-25", "place": "Orrisholt"}
        return {"op_id": new_id(), "action": "put", "noun": "session", "record_id": new_id(), "base_rev": 0, "body": body}

    def sent(client: TestClient, address: str, marked: Marked) -> Response:
        return client.post(address, json={"op_v": OP_VERSION, "boot": "run-1", "ops": [day_of(marked)]})

    for client, address in ((archer, "/api/ops"), (log, "/api/v1/operations")):
        for marked in (two.oak, two.elm):
            assert sent(client, f"/g/oak{address}", marked).status_code == 401
        home, others = (sent(client, f"/g/elm{address}", marked).json() for marked in (two.elm, two.oak))
        assert [one["status"] for one in home.get("results", home.get("answers"))] == ["applied"]
        assert [one["status"] for one in others.get("results", others.get("answers"))] == ["refused"]
    assert two.oak.state() == before and not two.commits


@pytest.mark.long
def test_a_seat_of_one_group_that_counted_in_another_would_be_seen(in_files: Two, monkeypatch: pytest.MonkeyPatch) -> None:
    """Planted: oak's door looks up who asks in elm's book; then, elm's pages are made of oak's book."""
    opened = in_files.server.front.opened
    oak, elm = opened.app_of("oak").state, opened.app_of("elm").state
    with monkeypatch.context() as planted:
        planted.setattr(oak.gate.seats, "_storage", elm.storage)
        oak.gate.seats.forget()
        routes = {fault.split(" of ")[0] for fault in in_files.faults("viewer")}
        assert len(routes) > 60
    oak.gate.seats.forget()
    viewer = in_files.of_elm("viewer")
    with monkeypatch.context() as planted:
        planted.setitem(elm._state, "storage", oak.storage)
        assert len([fault for fault in in_files.faults("viewer", viewer) if "by oak’s ids" in fault]) > 60
    in_files.commits.clear()
    assert in_files.faults("viewer") == []


def test_leaving_one_group_leaves_no_other(in_files: Two) -> None:
    token = in_files.server.let_in("oak", "viewer")
    in_files.commits.clear()
    both = in_files.server.client({f"oak.{SEAT}": token, f"elm.{SEAT}": in_files.server.let_in("elm", "viewer")})
    assert both.post("/g/elm/leave").status_code == 303
    assert both.get("/g/elm/kit").status_code in (303, 401) and both.get("/g/oak/kit").status_code == 200
    assert not in_files.commits
