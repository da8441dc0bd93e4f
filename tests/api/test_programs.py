"""Programs at their own interface: what a token opens, what it never opens, and how the book answers."""

import pytest
from proofyard.access.programs import PREFIX, Programs
from proofyard.access.seats import COOKIE, named, program_hash_of
from proofyard.records import devices
from proofyard.records.book import Device, Revision
from proofyard.records.ids import new_id
from proofyard.records.operations import OP_VERSION
from proofyard.storage import Storage
from sqlmodel import select
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import ADDRESS, HOST, House, house_of


def token_of(house: House, scope: str = "read", **more: str | None) -> str:
    programs: Programs = house.app.state.gate.programs
    return programs.let_in("A notebook", scope, days=3, by=house.device_ids["owner"], **more)


def program(house: House, token: str) -> TestClient:
    """A program: no cookie, no Origin."""
    client = house.client()
    del client.headers["Origin"]
    client.headers["Authorization"] = f"Bearer {token}"
    return client


@pytest.fixture
def reader(house: House) -> TestClient:
    return program(house, token_of(house))


def test_the_book_keeps_a_tokens_hash_and_nothing_else_of_it(house: House) -> None:
    token = token_of(house)
    with house.storage.read() as session:
        held = session.execute(select(Device.session_hash).where(Device.kind == "program")).scalars().all()
    assert held == [program_hash_of(token)]
    assert token.startswith(PREFIX) and token.encode() not in house.storage.path.read_bytes()


def test_a_token_opens_the_programs_interface_and_no_page(house: House, reader: TestClient) -> None:
    assert reader.get("/api/v1/trials").json() == {"trials": [], "count": 0, "next": None}
    for path in ("/trials", "/api/range", "/download/shots.csv", "/phones"):
        assert reader.get(path).status_code in (303, 401), path


def test_a_token_is_no_cookie_and_a_cookie_no_token(house: House) -> None:
    token = token_of(house)
    for shown in (token, f"program:{token}"):
        client = house.client()
        client.cookies.set(named(COOKIE, ADDRESS), shown, domain=HOST)
        assert client.get("/api/v1/trials").status_code == 401
        assert client.get("/api/changes").status_code == 401
    assert program(house, house.tokens["owner"]).get("/api/v1/trials").status_code == 401


def test_where_a_token_is_shown_no_cookie_counts(house: House) -> None:
    client = house.client("owner")
    assert client.get("/api/v1/trials").status_code == 200
    assert client.get("/api/v1/trials", headers={"Authorization": "Bearer nonsense"}).status_code == 401
    assert client.get("/api/v1/trials", headers={"Authorization": "Basic b3duZXI6"}).status_code == 401


def test_a_removed_token_and_one_that_ended_are_worth_nothing(house: House, reader: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    other = program(house, token_of(house))
    with house.storage.read() as session:
        first = session.execute(select(Device.id).where(Device.kind == "program").order_by(Device.id)).scalars().first()
    assert house.app.state.gate.programs.remove(first, by=house.device_ids["owner"])
    assert [one.get("/api/v1").status_code for one in (reader, other)] == [401, 200]
    later = devices.now_ms() + 4 * 24 * 3600 * 1000
    monkeypatch.setattr("proofyard.records.devices.now_ms", lambda: later)
    assert other.get("/api/v1").status_code == 401


def test_a_refusal_is_a_problem_in_json_wherever_it_arises(house: House, reader: TestClient) -> None:
    asked = [
        (house.client().get("/api/v1/trials"), 401, "no_token"),
        (reader.get("/api/v1/nothing/here"), 404, "not_found"),
        (reader.get("/api/v1/trials/nobody"), 404, "not_found"),
        (reader.get("/api/v1/shots?bow=nobody"), 422, "not_usable"),
        (reader.get("/api/v1/shots?trail=x"), 422, "not_usable"),
        (reader.get("/api/v1/shots?cursor=x"), 422, "not_usable"),
        (reader.get("/api/v1/shots?limit=501"), 422, "not_usable"),
        (reader.delete("/api/v1/trials"), 405, "not_possible_here"),
        (reader.get("/api/v1", headers={"Host": "elsewhere.example"}), 400, "not_understood"),
        (house.client().post("/api/v1/trials", headers={"Origin": "http://elsewhere.example"}), 403, "not_allowed"),
    ]
    for answer, status, code in asked:
        assert answer.status_code == status, answer.url
        assert answer.headers["content-type"] == "application/problem+json", answer.url
        said = answer.json()
        assert (said["status"], said["code"]) == (status, code) and said["detail"] and said["type"] == "about:blank"
    assert asked[0][0].headers["www-authenticate"] == "Bearer"
    assert reader.get("/api/v1/shots?trail=x").json()["fields"][0]["field"] == "trail"


def test_a_token_may_ask_so_often_and_is_told_when_to_come_again(house: House, reader: TestClient) -> None:
    other = program(house, token_of(house))
    statuses = [reader.get("/api/v1/openapi.json").status_code for _ in range(121)]
    assert statuses == [200] * 120 + [429]
    answer = reader.get("/api/v1")
    assert 1 <= int(answer.headers["retry-after"]) <= 61 and answer.json()["code"] == "too_often"
    assert other.get("/api/v1").status_code == 200


def test_guesses_from_one_address_are_slowed_down(house: House) -> None:
    statuses = {program(house, f"{PREFIX}{n}").get("/api/v1").status_code for n in range(125)}
    assert statuses == {401, 429}
    assert len(house.app.state.gate.programs._pace._times) == 1, "a guess more is nothing more to remember"


def test_what_is_held_is_not_sent_again_until_the_book_changes(house: House, reader: TestClient) -> None:
    first = reader.get("/api/v1/trials")
    mark = first.headers["etag"]
    held = reader.get("/api/v1/trials", headers={"If-None-Match": mark})
    assert (held.status_code, held.content, held.headers["etag"]) == (304, b"", mark)
    assert reader.get("/api/v1/shots", headers={"If-None-Match": mark}).status_code == 200
    assert house.client("owner").get("/api/v1/trials").headers["etag"] != mark
    kit.trial(house.storage, "Does it change?")
    again = reader.get("/api/v1/trials", headers={"If-None-Match": mark})
    assert again.status_code == 200 and again.json()["trials"][0]["trial_question"] == "Does it change?"
    assert "no-cache" in again.headers["cache-control"]


def test_parts_of_a_list_have_each_item_once_also_when_shots_come_in_between(house: House, book: Storage) -> None:
    reader = program(house, token_of(house))
    yard = kit.yard(book)
    first = [kit.shot(book, yard, label=f"A{n}", loosed_at=1_000_000 + n) for n in range(1, 8)]
    seen, address = [], "/api/v1/shots?limit=3"
    while address:
        answer = reader.get(address)
        part = answer.json()
        seen += [one["shot_id"] for one in part["shots"]]
        assert answer.links.get("next", {}).get("url") == part["next"]
        address = part["next"]
        late = kit.shot(book, yard, label=f"B{len(seen)}", loosed_at=500_000 + len(seen))
        assert late not in seen
    assert seen == first
    newest = reader.get("/api/v1/shots?limit=2&sort=newest").json()
    assert [one["shot_id"] for one in newest["shots"]] == first[:-3:-1]


def test_a_program_let_in_to_one_trial_sees_nothing_of_another(house: House, book: Storage) -> None:
    yard = kit.yard(book, question="Is this seen?")
    shot = kit.shot(book, yard, label="QZ77")
    other = kit.trial(book, "Another?")
    client = program(house, token_of(house, trial_id=other))
    assert [one["trial_id"] for one in client.get("/api/v1/trials").json()["trials"]] == [other]
    assert client.get("/api/v1/shots").json()["shots"] == client.get("/api/v1/sessions").json()["sessions"] == []
    for path in (f"trials/{yard.trial}", f"shots/{shot}", f"sessions/{yard.session}"):
        assert client.get(f"/api/v1/{path}").status_code == 403, path
    mine = program(house, token_of(house, trial_id=yard.trial))
    assert mine.get(f"/api/v1/shots/{shot}").json()["shot_label"] == "QZ77"


def test_below_a_path_the_addresses_it_gives_are_those_that_a_program_has_to_ask_for(book: Storage) -> None:
    house = house_of(book, path="/proofyard")
    reader = program(house, token_of(house))
    yard = kit.yard(book)
    for n in range(2):
        kit.shot(book, yard, label=f"A{n}")
    assert reader.get("/api/v1/shots?limit=1").json()["next"].startswith("/proofyard/api/v1/shots?limit=1&cursor=")
    assert reader.get("/api/v1").json()["document"] == "/proofyard/api/v1/openapi.json"
    assert reader.get("/api/v1/openapi.json").json()["servers"][0]["url"] == "/proofyard"


def test_a_program_that_may_log_logs_as_a_phone_does_and_one_that_may_read_does_not(house: House, book: Storage) -> None:
    operation = {"op_id": new_id(), "action": "put", "noun": "head", "record_id": new_id(), "body": {"name": "leaf L9", "form": "leaf"}}
    sent = {"op_v": OP_VERSION, "ops": [operation, {"op_id": "x"}]}
    assert program(house, token_of(house)).post("/api/v1/operations", json=sent).status_code == 403
    logger = program(house, token_of(house, "log"))
    first, again = (logger.post("/api/v1/operations", json=sent).json()["answers"] for _ in range(2))
    assert [one["status"] for one in first] == ["applied", "refused"] and first[1]["problems"]
    assert again[0]["again"] is True and again[0]["rev"] == 1
    with book.read() as session:
        letter = session.execute(select(Device.letter).where(Device.kind == "program", Device.role == "archer")).scalar_one()
        held = session.execute(
            select(Revision.device_id, Device.letter).join(Device, Device.id == Revision.device_id).where(Revision.op_id.is_not(None))
        ).all()
    assert logger.get("/api/v1").json()["letter"] == letter and held[-1][1] == letter
    assert logger.get("/api/v1/kit/heads").json()["heads"][0]["head_name"] == "leaf L9"
    assert logger.post("/api/v1/operations", content=b"{").json()["code"] == "not_usable"
