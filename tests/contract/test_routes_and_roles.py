"""Who may do what: every route of the app against every role, each cell tried for real.

The table gives the smallest role that a route lets in; those above it may do the same. A route without a row fails,
and so does a row without a route. Whoever adds a route says here who may use it.
"""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.routing import iter_route_contexts
from httpx2 import Response
from proofyard.access.seats import ORDER, hash_of, new_token
from proofyard.app import create_app
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.records.ids import new_id
from proofyard.settings import Settings
from starlette.testclient import TestClient
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tests import kit_for_tests as kit
from tests.conftest import HOST, PORT, House

# method and path -> the smallest role that may
TABLE = {
    "GET /static/{path:path}": "stranger",
    "GET /": "stranger",
    "GET /join": "stranger",
    "POST /join": "stranger",
    "GET /owner/{token}": "stranger",
    "POST /owner/{token}": "stranger",
    "GET /leave": "viewer",
    "POST /leave": "viewer",
    "GET /metrics": "owner",
    "GET /https": "stranger",
    "GET /range-worker.js": "stranger",
    "GET /https/proofyard-authority.crt": "stranger",
    "GET /phones": "owner",
    "GET /phones/{device_id}": "owner",
    "POST /phones/refuse-all": "owner",
    "POST /phones/{device_id}/answer": "owner",
    "POST /phones/{device_id}/remove": "owner",
    "GET /programs": "owner",
    "POST /programs": "owner",
    "POST /programs/{device_id}/remove": "owner",
    "GET /publish": "owner",
    "POST /publish/preview": "owner",
    "POST /publish": "owner",
    "GET /pool": "viewer",
    "GET /pool/drawings/{drawing}": "viewer",
    "GET /pool/table.csv": "viewer",
    "GET /other-books": "viewer",
    "POST /other-books": "owner",
    "GET /other-books/{their_book}": "viewer",
    "POST /other-books/{their_book}/remove": "owner",
    "GET /other-books/{their_book}/trials/{their_trial}": "viewer",
    "GET /other-books/{their_book}/trials/{their_trial}/report.html": "viewer",
    "GET /bring-in": "owner",
    "POST /bring-in": "owner",
    "GET /bring-in/sheet/{held_id}": "owner",
    "POST /bring-in/sheet/{held_id}": "owner",
    "GET /bring-in/batches/{batch_id}": "owner",
    "POST /bring-in/batches/{batch_id}/cross-out": "owner",
    "POST /theme": "stranger",
    "POST /units": "stranger",
    "GET /more": "viewer",
    "GET /trials": "viewer",
    "GET /trials/new": "archer",
    "POST /trials/new": "archer",
    "GET /trials/compare": "viewer",
    "GET /trials/{trial_id}/kit": "archer",
    "POST /trials/{trial_id}/kit": "archer",
    "GET /trials/{trial_id}/claim": "archer",
    "POST /trials/{trial_id}/claim": "archer",
    "POST /trials/{trial_id}/claim/fields": "archer",
    "POST /trials/{trial_id}/claim/cross-out": "archer",
    "GET /trials/{trial_id}/follow": "archer",
    "POST /trials/{trial_id}/follow": "archer",
    "GET /trials/{trial_id}/report": "viewer",
    "GET /trials/{trial_id}/report/fields": "archer",
    "POST /trials/{trial_id}/report/fields": "archer",
    "GET /trials/{trial_id}/report.html": "viewer",
    "GET /trials/{trial_id}/report.csv": "viewer",
    "GET /trials/{trial_id}": "viewer",
    "POST /trials/{trial_id}/state": "archer",
    "GET /trials/{trial_id}/plan": "viewer",
    "POST /trials/{trial_id}/plan": "archer",
    "POST /trials/{trial_id}/plan/skip": "archer",
    "POST /trials/{trial_id}/predictions": "archer",
    "GET /trials/{trial_id}/next": "viewer",
    "POST /trials/{trial_id}/next": "archer",
    "GET /trials/{trial_id}/correct": "archer",
    "POST /trials/{trial_id}/correct": "archer",
    "GET /trials/{trial_id}/sessions/new": "archer",
    "POST /trials/{trial_id}/sessions/new": "archer",
    "GET /sessions/{session_id}": "viewer",
    "GET /sessions/{session_id}/day": "viewer",
    "GET /sessions/{session_id}/shots": "viewer",
    "GET /sessions/{session_id}/drawings/{drawing}": "viewer",
    "GET /sessions/{session_id}/cautions": "viewer",
    "GET /sessions/{session_id}/close-of-day": "viewer",
    "GET /sessions/{session_id}/claim": "viewer",
    "POST /sessions/{session_id}/cautions": "archer",
    "POST /sessions/{session_id}/incidents": "archer",
    "POST /sessions/{session_id}/order": "archer",
    "GET /sessions/{session_id}/correct": "archer",
    "POST /sessions/{session_id}/correct": "archer",
    "GET /sessions/{session_id}/setups": "archer",
    "POST /sessions/{session_id}/setups": "archer",
    "GET /sessions/{session_id}/setups/{setup_id}": "archer",
    "POST /sessions/{session_id}/setups/{setup_id}": "archer",
    "GET /sync-card": "archer",
    "GET /sync-card/codes": "archer",
    "GET /sessions/{session_id}/films/new": "archer",
    "POST /sessions/{session_id}/films/new": "archer",
    "GET /sessions/{session_id}/films/{film_id}": "viewer",
    "GET /sessions/{session_id}/films/{film_id}/files/{film_file}": "viewer",
    "GET /sessions/{session_id}/films/{film_id}/correct": "archer",
    "POST /sessions/{session_id}/films/{film_id}/correct": "archer",
    "POST /sessions/{session_id}/films/{film_id}/correct/cross-out": "archer",
    "GET /sessions/{session_id}/films/{film_id}/card": "archer",
    "POST /sessions/{session_id}/films/{film_id}/card": "archer",
    "GET /sessions/{session_id}/films/{film_id}/shot": "archer",
    "POST /sessions/{session_id}/films/{film_id}/shot": "archer",
    "GET /sessions/{session_id}/films/{film_id}/marks/{film_mark_id}": "archer",
    "POST /sessions/{session_id}/films/{film_id}/marks/{film_mark_id}": "archer",
    "POST /sessions/{session_id}/films/{film_id}/marks/{film_mark_id}/cross-out": "archer",
    "GET /sessions/{session_id}/sheet": "archer",
    "GET /sessions/{session_id}/type-in": "archer",
    "POST /sessions/{session_id}/type-in": "archer",
    "GET /find": "viewer",
    "GET /photos/all": "viewer",
    "GET /shots": "viewer",
    "GET /shots.csv": "viewer",
    "GET /shots/{shot_id}": "viewer",
    "GET /shots/{shot_id}/cards/{card}": "viewer",
    "GET /shots/{shot_id}/correct": "archer",
    "POST /shots/{shot_id}/correct": "archer",
    "POST /shots/{shot_id}/cross-out": "archer",
    "GET /shots/{shot_id}/read-again": "archer",
    "POST /shots/{shot_id}/read-again": "archer",
    "POST /shots/{shot_id}/read-again/{second_reading_id}/cross-out": "archer",
    "POST /shots/{shot_id}/clashes/{clash_id}": "archer",
    "GET /panels/{build_id}": "viewer",
    "GET /panels/{build_id}/drawings/{drawing}": "viewer",
    "GET /arrows/{arrow_id}": "viewer",
    "GET /what-if": "viewer",
    "GET /blunt": "viewer",
    "GET /combinations": "viewer",
    "GET /combinations/new": "archer",
    "POST /combinations/new": "archer",
    "GET /combinations/several": "archer",
    "POST /combinations/several": "archer",
    "GET /combinations/{combination_id}": "viewer",
    "GET /combinations/{combination_id}/drawings/{drawing}": "viewer",
    "GET /combinations/{combination_id}/series": "archer",
    "POST /combinations/{combination_id}/series": "archer",
    "POST /combinations/{combination_id}/series/{series_id}/readings": "archer",
    "GET /combinations/{combination_id}/{what}/{record_id}": "archer",
    "POST /combinations/{combination_id}/{what}/{record_id}": "archer",
    "POST /combinations/{combination_id}/{what}/{record_id}/cross-out": "archer",
    "GET /bows/{bow_build_id}": "viewer",
    "POST /bows/{bow_build_id}/points": "archer",
    "GET /speeds/{tool}": "archer",
    "POST /speeds/{tool}": "archer",
    "GET /notebook": "viewer",
    "POST /notebook/clashes/{clash_id}": "archer",
    "GET /log": "archer",
    "POST /log": "archer",
    "GET /kit": "viewer",
    "GET /kit/start": "archer",
    "POST /kit/start": "archer",
    "GET /kit/started": "archer",
    "GET /kit/{noun}/new": "archer",
    "POST /kit/{noun}/new": "archer",
    "POST /kit/{noun}/new/fields": "archer",
    "GET /kit/{noun}/{record_id}": "viewer",
    "GET /kit/{noun}/{record_id}/copy": "archer",
    "GET /kit/{noun}/{record_id}/correct": "archer",
    "POST /kit/{noun}/{record_id}/correct": "archer",
    "POST /kit/{noun}/{record_id}/correct/fields": "archer",
    "GET /kit/{noun}/{record_id}/rebuild": "archer",
    "POST /kit/{noun}/{record_id}/rebuild": "archer",
    "GET /kit/{noun}/{record_id}/retire": "archer",
    "POST /kit/{noun}/{record_id}/retire": "archer",
    "GET /kit/{noun}/{record_id}/cross-out": "archer",
    "POST /kit/{noun}/{record_id}/cross-out": "archer",
    "GET /kit/{noun}/{record_id}/{key}": "viewer",
    "POST /kit/{noun}/{record_id}/{key}": "archer",
    "GET /kit/{noun}/{record_id}/{key}/{row_id}": "archer",
    "POST /kit/{noun}/{record_id}/{key}/{row_id}": "archer",
    "POST /kit/{noun}/{record_id}/{key}/{row_id}/cross-out": "archer",
    "GET /download": "viewer",
    "GET /download/dictionary": "viewer",
    "GET /download/dictionary/{columns}": "viewer",
    "GET /download/package.zip": "viewer",
    "GET /download/{name}": "viewer",
    "GET /results": "viewer",
    "GET /results/found": "viewer",
    "GET /results/shots": "viewer",
    "GET /results/{way}": "viewer",
    "GET /compare": "viewer",
    "GET /compare/wear": "viewer",
    "GET /results/drawings/{drawing}": "viewer",
    "GET /what-if/drawings/{drawing}": "viewer",
    "GET /blunt/drawings/{drawing}": "viewer",
    "GET /bows/{bow_build_id}/drawings/{drawing}": "viewer",
    "GET /arrow-damage": "viewer",
    "GET /arrow-damage/drawings/{drawing}": "viewer",
    "GET /measures": "viewer",
    "GET /measures/drawings/{drawing}": "viewer",
    "GET /another-bow": "viewer",
    "GET /another-bow.csv": "viewer",
    "GET /another-bow/drawings/{drawing}": "viewer",
    "GET /protection": "viewer",
    "GET /protection/drawings/{drawing}": "viewer",
    "GET /fifty-percent": "viewer",
    "GET /fifty-percent/drawings/{drawing}": "viewer",
    "GET /incidents": "viewer",
    "GET /range-day-sheet": "viewer",
    "GET /photos": "archer",
    "POST /photos": "archer",
    "GET /photos/{photo_id}": "viewer",
    "GET /photos/{photo_id}/small": "viewer",
    "GET /photos/{photo_id}/about": "viewer",
    "GET /photos/{photo_id}/straight": "viewer",
    "GET /panels/{build_id}/photograph/{photo_id}": "archer",
    "POST /panels/{build_id}/photograph/{photo_id}": "archer",
    "POST /photos/{photo_id}/of": "archer",
    "POST /photos/{photo_id}/cross-out": "archer",
    "PUT /api/photos/{photo_id}": "archer",
    "GET /health": "owner",
    "GET /range": "archer",
    "GET /range/butt": "archer",
    "GET /range/bench": "archer",
    "GET /parts": "stranger",
    "GET /methods": "stranger",
    "GET /methods/of/{method}": "stranger",
    "GET /methods/{topic}": "stranger",
    "GET /guide": "stranger",
    "GET /guide/{name}": "stranger",
    "POST /api/ops": "archer",
    "POST /api/holds": "archer",
    "POST /api/sound-levels": "archer",
    "POST /api/faults": "viewer",
    "GET /api/range": "archer",
    "GET /api/range/shots/{shot_id}": "archer",
    "GET /api/changes": "viewer",
    "GET /api/ping": "stranger",
    "GET /api/v1": "viewer",
    "GET /api/v1/openapi.json": "stranger",
    "GET /api/v1/trials": "viewer",
    "GET /api/v1/trials/{trial_id}": "viewer",
    "GET /api/v1/trials/{trial_id}/plan": "viewer",
    "GET /api/v1/kit/arrows": "viewer",
    "GET /api/v1/kit/heads": "viewer",
    "GET /api/v1/kit/bows": "viewer",
    "GET /api/v1/kit/panels": "viewer",
    "GET /api/v1/kit/instruments": "viewer",
    "GET /api/v1/kit/readings": "viewer",
    "GET /api/v1/kit/speeds": "viewer",
    "GET /api/v1/results": "viewer",
    "GET /api/v1/fifty-percent": "viewer",
    "GET /api/v1/comparisons": "viewer",
    "POST /api/v1/operations": "archer",
    "GET /api/v1/sessions": "viewer",
    "GET /api/v1/sessions/{session_id}": "viewer",
    "GET /api/v1/shots": "viewer",
    "GET /api/v1/shots/{shot_id}": "viewer",
    "GET /live": "viewer",
}

# Open to a viewer of one trial whatever trial that is: these narrow what they show (see server/proofyard/access/seats.py).
NARROW_THEMSELVES = {
    "POST /api/faults",
    "GET /trials",
    "GET /trials/compare",
    "GET /leave",
    "POST /leave",
    "GET /api/changes",
    "GET /live",
    "GET /panels/{build_id}",
    "GET /panels/{build_id}/drawings/{drawing}",
    "GET /arrows/{arrow_id}",
    "GET /results",
    "GET /results/drawings/{drawing}",
    "GET /what-if/drawings/{drawing}",
    "GET /blunt/drawings/{drawing}",
    "GET /photos/{photo_id}",
    "GET /photos/{photo_id}/small",
    "GET /photos/{photo_id}/about",
    "GET /photos/{photo_id}/straight",
    "GET /incidents",
    "GET /range-day-sheet",
    "GET /compare",
    "GET /compare/wear",
    "GET /what-if",
    "GET /blunt",
    "GET /results/found",
    "GET /results/shots",
    "GET /results/{way}",
    "GET /arrow-damage",
    "GET /arrow-damage/drawings/{drawing}",
    "GET /measures",
    "GET /measures/drawings/{drawing}",
    "GET /another-bow",
    "GET /another-bow/drawings/{drawing}",
    "GET /another-bow.csv",
    "GET /api/v1",
    "GET /api/v1/trials",
    "GET /api/v1/kit/arrows",
    "GET /api/v1/kit/heads",
    "GET /api/v1/kit/bows",
    "GET /api/v1/kit/panels",
    "GET /api/v1/kit/instruments",
    "GET /api/v1/kit/readings",
    "GET /api/v1/kit/speeds",
    "GET /api/v1/results",
    "GET /api/v1/fifty-percent",
    "GET /api/v1/comparisons",
    "GET /api/v1/sessions",
    "GET /api/v1/shots",
    "GET /find",
    "GET /photos/all",
    "GET /shots",
    "GET /shots.csv",
    "GET /protection",
    "GET /protection/drawings/{drawing}",
    "GET /fifty-percent",
    "GET /fifty-percent/drawings/{drawing}",
    "GET /download",
    "GET /download/dictionary",
    "GET /download/dictionary/{columns}",
    "GET /download/package.zip",
    "GET /download/{name}",
}


UNSEEN = "Is this question seen from elsewhere?"


def routes_of(house: House) -> list[str]:
    found = []
    for route in iter_route_contexts(house.app.routes):
        found += [f"{method} {route.path}" for method in sorted(route.methods or {"?"})]
    return found


class Door:
    """The house, with ids for the parameters of paths, and a new device for every try."""

    def __init__(self, house: House, ids: dict[str, str], other_trial: str) -> None:
        self.house, self.ids, self.other_trial = house, ids, other_trial

    def client(self, role: str, *, trial_id: str | None = None) -> TestClient:
        if role == "stranger":
            return self.house.client(raise_server_exceptions=False)
        token = new_token()
        with self.house.storage.write() as session:
            devices.add_device(session, call_name=f"A {role}", role=role, session_hash=hash_of(token), trial_id=trial_id)
        self.house.tokens[f"try {role}"] = token
        return self.house.client(f"try {role}", raise_server_exceptions=False)

    def answer(self, client: TestClient, row: str) -> Response:
        method, _, path = row.partition(" ")
        # A region without a name is asked for again: what a publishing makes is tested by itself.
        sent = {"places": "region"} if row == "POST /publish" else None
        return client.request(method, self.address(path), data=sent)

    def address(self, path: str) -> str:
        for name, value in self.ids.items():
            path = path.replace("{" + name + "}", value)
        while "{" in path:
            start, end = path.index("{"), path.index("}")
            path = path[:start] + ("none" if ":" in path[start:end] else new_id()) + path[end + 1 :]
        return path

    def ask(self, client: TestClient, row: str) -> int:
        answer = self.answer(client, row)
        if answer.status_code == 303 and answer.headers["location"] == "/join" and row not in ("GET /", "POST /join", "POST /leave"):
            return 401
        return answer.status_code


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path) -> Iterator[Door]:
    folder = tmp_path_factory.mktemp("door")
    shutil.copyfile(empty_book_file, folder / empty_book_file.name)
    storage = open_book(folder)
    settings = Settings(folder=folder, host=HOST, port=PORT)
    house = House(create_app(storage, settings), storage, settings, {}, {})
    yard = kit.yard(storage, question=UNSEEN)
    loosed = kit.shot(storage, yard, label="QZ77")
    kit.reading(storage, loosed, damage="a lace cut by the unseen shot")
    house.app.state.doorbell.closing = True  # so that a stream answers at once, and ends
    ids = {
        "trial_id": yard.trial,
        "session_id": yard.session,
        "setup_id": yard.setup,
        "shot_id": loosed,
        "build_id": yard.panel.build,
        "arrow_id": yard.arrow.arrow,
        "combination_id": kit.combination(storage, yard.combination),
        "noun": "bow",
        "record_id": yard.bow.bow,
        "name": "shots.csv",
    }
    yield Door(house, ids, kit.trial(storage, "Another?"))
    storage.close()


def test_every_route_has_a_row_and_every_row_a_route(door: Door) -> None:
    routes = routes_of(door.house)
    assert len(routes) == len(set(routes)), "two routes answer to one address"
    assert sorted(set(routes) - set(TABLE)) == [], "routes without a row: say who may use them"
    assert sorted(set(TABLE) - set(routes)) == [], "rows without a route"
    assert set(TABLE.values()) <= set(ORDER)


@pytest.mark.parametrize("row", sorted(TABLE))
def test_each_role_may_what_the_table_says_and_no_more(door: Door, row: str) -> None:
    least = TABLE[row]
    for role in ORDER:
        status = door.ask(door.client(role), row)
        if ORDER.index(role) >= ORDER.index(least):
            assert status not in (401, 403), f"{role} is refused"
            assert status < 500 or (row == "GET /live" and status == 503), f"{role} meets a fault of ours"
        else:
            assert status == (401 if role == "stranger" else 403), f"{role} is let in"


@pytest.mark.parametrize("row", sorted(row for row, least in TABLE.items() if least == "viewer"))
def test_a_viewer_of_another_trial_is_let_in_only_where_the_route_narrows(door: Door, row: str) -> None:
    status = door.ask(door.client("viewer", trial_id=door.other_trial), row)
    assert (status == 403) is (row not in NARROW_THEMSELVES)


@pytest.mark.parametrize("row", sorted(row for row in NARROW_THEMSELVES if row.startswith("GET ")))
def test_what_narrows_itself_shows_nothing_of_another_trial(door: Door, row: str) -> None:
    told = (UNSEEN, "QZ77", "unseen shot", door.ids["trial_id"], door.ids["session_id"], door.ids["shot_id"])
    shown = door.answer(door.client("viewer", trial_id=door.other_trial), row).text
    assert [words for words in told if words in shown] == []


def test_a_viewer_of_the_trial_does_see_it(door: Door) -> None:
    client = door.client("viewer", trial_id=door.ids["trial_id"])
    assert UNSEEN in door.answer(client, "GET /trials/{trial_id}").text
    assert UNSEEN in door.answer(client, "GET /trials").text
    for row in ("GET /download/{name}", "GET /panels/{build_id}", "GET /arrows/{arrow_id}"):
        assert "QZ77" in door.answer(client, row).text, row


MOMENTARY = {"proofyard-clock"}  # the moment of each answer
OF_THE_MOMENT = {"GET /phones", "GET /metrics"}  # how long ago phones were heard, in words; what was asked so far


class Sent:
    """Around the app: how many bytes of the last answer's body went out. A client throws a HEAD's body away unseen."""

    def __init__(self, app: ASGIApp) -> None:
        self.app, self.bytes = app, 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.bytes = 0

        async def counted(message: Message) -> None:
            self.bytes += len(message.get("body", b""))
            await send(message)

        await self.app(scope, receive, counted)


@pytest.mark.parametrize("role", ["owner", "stranger"])
@pytest.mark.parametrize("row", sorted(row for row in TABLE if row.startswith("GET ")))
def test_head_answers_where_get_does_with_the_same_headers_and_no_body(door: Door, row: str, role: str) -> None:
    client = door.client(role)
    sent = Sent(door.house.app)
    client._transport.app = sent
    client.headers["Accept-Encoding"] = "identity"  # packed, a form's fresh ids would make it a few bytes longer or shorter
    address = door.address(row.removeprefix("GET "))
    got = client.get(address)
    assert sent.bytes > 0 or got.status_code in (303, 304)
    head = client.head(address)
    assert head.status_code == got.status_code
    told = {name for name in got.headers if name not in MOMENTARY and not (row in OF_THE_MOMENT and name == "content-length")}
    assert {name: head.headers.get(name) for name in told} == {name: got.headers[name] for name in told}
    assert set(head.headers) == set(got.headers)
    assert sent.bytes == 0


def test_a_change_is_never_asked_for_by_a_get(door: Door) -> None:
    """Each GET is tried by every role above; here none of them may have saved anything."""
    saves: list[None] = []
    client = door.client("owner")
    door.house.storage.after_commit(lambda: saves.append(None))
    for row in sorted(TABLE):
        if row.startswith("GET "):
            door.ask(client, row)
    assert saves == []
