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
from starlette.testclient import TestClient

from server.access.seats import ORDER
from server.access.sessions import hash_of, new_token
from server.app import create_app
from server.opening import open_book
from server.records import devices
from server.records.ids import new_id
from server.settings import Settings
from tests import kit_for_tests as kit
from tests.conftest import HOST, PORT, House

# method and path -> the smallest role that may
TABLE = {
    "GET /static/{path:path}": "stranger",
    "HEAD /static/{path:path}": "stranger",
    "GET /": "stranger",
    "GET /join": "stranger",
    "POST /join": "stranger",
    "GET /owner/{token}": "stranger",
    "POST /owner/{token}": "stranger",
    "POST /leave": "viewer",
    "GET /phones": "owner",
    "GET /phones/{device_id}": "owner",
    "POST /phones/{device_id}/answer": "owner",
    "POST /phones/{device_id}/put-out": "owner",
    "POST /theme": "stranger",
    "POST /units": "stranger",
    "GET /trials": "viewer",
    "GET /trials/new": "archer",
    "POST /trials/new": "archer",
    "GET /trials/compare": "viewer",
    "GET /trials/{trial_id}/kit": "archer",
    "POST /trials/{trial_id}/kit": "archer",
    "GET /trials/{trial_id}/follow": "archer",
    "POST /trials/{trial_id}/follow": "archer",
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
    "GET /sessions/{session_id}/evening": "viewer",
    "GET /sessions/{session_id}/shots": "viewer",
    "GET /sessions/{session_id}/drawings/{drawing}": "viewer",
    "GET /sessions/{session_id}/cautions": "viewer",
    "GET /sessions/{session_id}/close-of-day": "viewer",
    "POST /sessions/{session_id}/cautions": "archer",
    "POST /sessions/{session_id}/incidents": "archer",
    "POST /sessions/{session_id}/order": "archer",
    "GET /sessions/{session_id}/correct": "archer",
    "POST /sessions/{session_id}/correct": "archer",
    "GET /sessions/{session_id}/setups": "archer",
    "POST /sessions/{session_id}/setups": "archer",
    "GET /sessions/{session_id}/setups/{setup_id}": "archer",
    "POST /sessions/{session_id}/setups/{setup_id}": "archer",
    "GET /sessions/{session_id}/sheet": "archer",
    "GET /sessions/{session_id}/type-in": "archer",
    "POST /sessions/{session_id}/type-in": "archer",
    "GET /shots/{shot_id}": "viewer",
    "GET /shots/{shot_id}/correct": "archer",
    "POST /shots/{shot_id}/correct": "archer",
    "POST /shots/{shot_id}/strike": "archer",
    "GET /shots/{shot_id}/read-again": "archer",
    "POST /shots/{shot_id}/read-again": "archer",
    "POST /shots/{shot_id}/read-again/{second_reading_id}/strike": "archer",
    "POST /shots/{shot_id}/clashes/{clash_id}": "archer",
    "GET /panels/{build_id}": "viewer",
    "GET /panels/{build_id}/drawings/{drawing}": "viewer",
    "GET /arrows/{arrow_id}": "viewer",
    "GET /what-if": "viewer",
    "GET /blow-behind": "viewer",
    "GET /pairings": "viewer",
    "GET /pairings/new": "archer",
    "POST /pairings/new": "archer",
    "GET /pairings/{pairing_id}": "viewer",
    "GET /pairings/{pairing_id}/drawings/{drawing}": "viewer",
    "GET /pairings/{pairing_id}/series": "archer",
    "POST /pairings/{pairing_id}/series": "archer",
    "POST /pairings/{pairing_id}/series/{series_id}/readings": "archer",
    "GET /pairings/{pairing_id}/{what}/{record_id}": "archer",
    "POST /pairings/{pairing_id}/{what}/{record_id}": "archer",
    "POST /pairings/{pairing_id}/{what}/{record_id}/strike": "archer",
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
    "GET /kit/{noun}/{record_id}/strike": "archer",
    "POST /kit/{noun}/{record_id}/strike": "archer",
    "GET /kit/{noun}/{record_id}/{key}": "viewer",
    "POST /kit/{noun}/{record_id}/{key}": "archer",
    "GET /kit/{noun}/{record_id}/{key}/{entry_id}": "archer",
    "POST /kit/{noun}/{record_id}/{key}/{entry_id}": "archer",
    "POST /kit/{noun}/{record_id}/{key}/{entry_id}/strike": "archer",
    "GET /download": "viewer",
    "GET /download/dictionary": "viewer",
    "GET /download/{name}": "viewer",
    "GET /results": "viewer",
    "GET /results/found": "viewer",
    "GET /results/shots": "viewer",
    "GET /compare": "viewer",
    "GET /compare/wear": "viewer",
    "GET /results/drawings/{drawing}": "viewer",
    "GET /half": "viewer",
    "GET /half/drawings/{drawing}": "viewer",
    "GET /incidents": "viewer",
    "GET /range-card": "viewer",
    "GET /pictures": "archer",
    "POST /pictures": "archer",
    "GET /pictures/{picture_id}": "viewer",
    "GET /pictures/{picture_id}/small": "viewer",
    "GET /pictures/{picture_id}/about": "viewer",
    "GET /pictures/{picture_id}/straight": "viewer",
    "GET /panels/{build_id}/photograph/{picture_id}": "archer",
    "POST /panels/{build_id}/photograph/{picture_id}": "archer",
    "POST /pictures/{picture_id}/of": "archer",
    "POST /pictures/{picture_id}/strike": "archer",
    "PUT /api/pictures/{picture_id}": "archer",
    "GET /health": "owner",
    "GET /range": "archer",
    "GET /range/butt": "archer",
    "GET /range/bench": "archer",
    "GET /parts": "stranger",
    "GET /methods": "stranger",
    "GET /guide/{name}": "stranger",
    "POST /api/ops": "archer",
    "POST /api/holds": "archer",
    "POST /api/sound-levels": "archer",
    "GET /api/range": "archer",
    "GET /api/changes": "viewer",
    "GET /api/ping": "stranger",
    "GET /live": "viewer",
}

# Open to a viewer of one trial whatever trial that is: these narrow what they show (see server/access/seats.py).
NARROW_THEMSELVES = {
    "GET /trials", "GET /trials/compare", "POST /leave", "GET /api/changes", "GET /live", "GET /panels/{build_id}", "GET /panels/{build_id}/drawings/{drawing}", "GET /arrows/{arrow_id}", "GET /results", "GET /results/drawings/{drawing}",
    "GET /pictures/{picture_id}", "GET /pictures/{picture_id}/small", "GET /pictures/{picture_id}/about",
    "GET /pictures/{picture_id}/straight", "GET /incidents", "GET /range-card", "GET /compare", "GET /compare/wear", "GET /what-if", "GET /blow-behind", "GET /results/found", "GET /results/shots", "GET /half", "GET /half/drawings/{drawing}", "GET /download", "GET /download/dictionary", "GET /download/{name}",
}  # fmt: skip", "GET /arrows/{arrow_id}"}


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
        for name, value in self.ids.items():
            path = path.replace("{" + name + "}", value)
        while "{" in path:
            start, end = path.index("{"), path.index("}")
            path = path[:start] + ("none" if ":" in path[start:end] else new_id()) + path[end + 1 :]
        return client.request(method, path)

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
        "trial_id": yard.trial, "session_id": yard.session, "setup_id": yard.setup, "shot_id": loosed, "build_id": yard.panel.build,
        "arrow_id": yard.arrow.arrow, "pairing_id": kit.pairing(storage, yard.pairing), "noun": "bow", "record_id": yard.bow.bow, "name": "shots.csv",
    }  # fmt: skip
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


def test_a_change_is_never_asked_for_by_a_get(door: Door) -> None:
    """Each GET is tried by every role above; here none of them may have saved anything."""
    saves: list[None] = []
    client = door.client("owner")
    door.house.storage.after_commit(lambda: saves.append(None))
    for row in sorted(TABLE):
        if row.startswith("GET "):
            door.ask(client, row)
    assert saves == []
