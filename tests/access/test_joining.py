"""From a stranger's phone to a seat, and out again."""

import re
import time

import pytest
from proofyard.access.connections import Pace
from proofyard.access.joining import ASKING_LASTS_MS, DAY_MS, MOST_WAITING, Joining
from proofyard.access.seats import hash_of, named
from proofyard.records import devices, notebook
from proofyard.records.book import Device
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House

COOKIE = named("proofyard_seat", "127.0.0.1:8014")
ASKING_COOKIE = named("proofyard_ask", "127.0.0.1:8014")


def asks(client: TestClient, call_name: str = "Tallow") -> str:
    """Ask, and give the two words that the phone shows."""
    assert client.post("/join", data={"call_name": call_name}).status_code == 303
    return shown_words(client.get("/join").text)


def shown_words(page: str) -> str:
    found = re.search(r'class="join__words">(\w+) <br>(\w+)<', page)
    assert found, page
    return f"{found[1]} {found[2]}"


def asking_id(owner: TestClient) -> str:
    found = re.search(r"/phones/([0-9a-f-]{36})/answer", owner.get("/phones").text)
    assert found
    return found[1]


def device_named(book: Storage, call_name: str) -> Device:
    with book.read() as session:
        return next(one for one in devices.devices(session) if one.call_name == call_name)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Moves the book's clock forward: clock[0] is added to it, in milliseconds."""
    ahead, plain = [0], time.time_ns
    monkeypatch.setattr(time, "time_ns", lambda: plain() + 1_000_000 * ahead[0])
    return ahead


def test_a_phone_shows_the_words_that_the_owner_sees_and_is_let_in(house: House, owner: TestClient, stranger: TestClient) -> None:
    words = asks(stranger)
    assert shown_words(owner.get("/phones").text) == words
    assert stranger.get("/api/changes").status_code == 401, "asking opens nothing"
    let_in = owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "archer"})
    assert (let_in.status_code, let_in.headers["location"]) == (303, "/phones")
    came = stranger.get("/join")
    assert (came.status_code, came.headers["location"]) == (303, "/range")
    ping = stranger.get("/api/ping").json()
    assert (ping["role"], ping["letter"], ping["call_name"]) == ("archer", "C", "Tallow")


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites_and_lasts(owner: TestClient, stranger: TestClient) -> None:
    asks(stranger)
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "archer"})
    given = stranger.get("/join").headers["set-cookie"]
    name, _, rest = given.partition("=")
    assert name == COOKIE
    said = {part.strip().lower() for part in rest.split(";")[1:]}
    assert {"httponly", "samesite=strict", "path=/", f"max-age={400 * 24 * 3600}"} <= said
    assert not any(part.startswith("domain") for part in said)
    assert "secure" not in said, "a browser would drop it on plain http"


def test_over_https_the_cookie_is_never_sent_without_it(house: House) -> None:
    link = house.app.state.gate.owner_link()
    client = TestClient(house.app, base_url="https://127.0.0.1:8014", headers={"Origin": "https://127.0.0.1:8014"}, follow_redirects=False)
    assert "secure" in client.post(link).headers["set-cookie"].lower()


def test_the_seat_has_another_secret_than_the_asking_and_the_book_keeps_neither(
    book: Storage, owner: TestClient, stranger: TestClient
) -> None:
    asks(stranger)
    asked_with = stranger.cookies[ASKING_COOKIE]
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "archer"})
    stranger.get("/join")
    sits_with = stranger.cookies[COOKIE]
    assert asked_with != sits_with
    assert device_named(book, "Tallow").session_hash == hash_of(sits_with)
    stored = book.path.read_bytes()
    assert asked_with.encode() not in stored
    assert sits_with.encode() not in stored


def test_an_asking_cookie_is_never_a_seat(house: House, owner: TestClient, stranger: TestClient) -> None:
    asks(stranger)
    other = house.client()
    other.cookies.set(COOKIE, stranger.cookies[ASKING_COOKIE], domain="127.0.0.1")
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "archer"})
    assert other.get("/phones").status_code == 401


def test_a_phone_whose_answer_was_lost_fetches_its_cookie_again(owner: TestClient, stranger: TestClient) -> None:
    asks(stranger)
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "viewer"})
    first = stranger.get("/join").headers["set-cookie"]
    del stranger.cookies[COOKIE]
    assert stranger.get("/join").headers["set-cookie"] == first
    assert stranger.get("/api/ping").json()["role"] == "viewer"


def test_the_waiting_page_goes_on_by_itself_with_and_without_script(owner: TestClient, stranger: TestClient) -> None:
    words = asks(stranger)
    page = stranger.get("/join").text
    assert '<noscript><meta http-equiv="refresh" content="5"></noscript>' in page
    part = stranger.get("/join", headers={"HX-Request": "true"}).text
    assert "<html" not in part and shown_words(part) == words
    assert part.strip() in page
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "archer"})
    assert stranger.get("/join", headers={"HX-Request": "true"}).headers["hx-redirect"] == "/range"


def test_turned_away_is_told_and_may_ask_again(owner: TestClient, stranger: TestClient) -> None:
    asks(stranger)
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "none"})
    page = stranger.get("/join").text
    assert "turned this phone away" in page
    assert 'name="call_name"' in page
    assert "turned away" in owner.get("/phones").text


def test_asking_lapses_after_a_quarter_of_an_hour(
    house: House, book: Storage, owner: TestClient, stranger: TestClient, clock: list[int]
) -> None:
    asks(stranger)
    late = asking_id(owner)
    clock[0] = ASKING_LASTS_MS
    assert "nobody answered within 15 minutes" in stranger.get("/join").text
    assert "A phone calling itself" not in owner.get("/phones").text
    assert owner.post(f"/phones/{late}/answer", data={"role": "archer"}).status_code == 409
    asks(house.client(), "Merrow")
    assert device_named(book, "Tallow").role == "out"


def test_a_seat_fetched_too_late_is_not_given(owner: TestClient, stranger: TestClient, clock: list[int]) -> None:
    asks(stranger)
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "archer"})
    clock[0] = ASKING_LASTS_MS + 1000
    assert COOKIE not in stranger.get("/join").headers.get("set-cookie", "")


def test_asking_again_withdraws_the_first(owner: TestClient, stranger: TestClient) -> None:
    first = asks(stranger, "Talow")
    second = asks(stranger, "Tallow")
    page = owner.get("/phones").text
    assert first != second
    assert page.count("A phone calling itself") == 1
    assert shown_words(page) == second


def test_at_most_twenty_wait_at_the_door(house: House) -> None:
    joining: Joining = house.app.state.gate.joining
    for number in range(MOST_WAITING):
        joining.ask(f"Phone {number}", agent="", address=f"192.0.2.{number}")
    one_more = house.client().post("/join", data={"call_name": "Late"})
    assert one_more.status_code == 429
    assert "20 phones wait" in one_more.text
    assert 'value="Late"' in one_more.text
    with house.storage.read() as session:
        words = [one.words for one in devices.devices(session) if one.role == "asking"]
    assert len(set(words)) == MOST_WAITING


def test_a_crowd_at_the_door_is_refused_in_one_go_and_the_owner_sees_where_it_came_from(house: House, owner: TestClient) -> None:
    joining: Joining = house.app.state.gate.joining
    for number in range(MOST_WAITING - 1):
        joining._pace = Pace(100, 60.0)
        joining.ask(f"Phone {number}", agent="", address="192.0.2.7")
    asks(house.client(), "Wren’s friend")
    page = owner.get("/phones").text
    assert "20 phones ask to join" in page and "19 from 192.0.2.7" in page
    shown = re.findall(r'name="phone" value="([0-9a-f-]{36})"', page)
    assert len(shown) == MOST_WAITING
    joining.remove(shown[0], by=house.device_ids["owner"], why="makes room")
    late = house.client()
    asks(late, "Late")
    assert owner.post("/phones/refuse-all", data={"phone": shown}).status_code == 303
    with house.storage.read() as session:
        assert [one.call_name for one in devices.devices(session) if one.role == "asking"] == ["Late"], "nobody saw this one yet"
    assert "No phone asks" not in owner.get("/phones").text


def test_refusing_all_removes_nobody_who_is_in(house: House, owner: TestClient, archer: TestClient) -> None:
    owner.post("/phones/refuse-all", data={"phone": [house.device_ids["archer"], house.device_ids["owner"]]})
    assert archer.get("/api/ping").json()["role"] == "archer"


def test_a_phone_removed_soon_after_it_was_let_in_is_told_so_and_may_ask_again(
    house: House, owner: TestClient, stranger: TestClient
) -> None:
    asks(stranger)
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "archer"})
    assert stranger.get("/join").headers["location"] == "/range"
    device_id = device_named(house.storage, "Tallow").id
    owner.post(f"/phones/{device_id}/remove", data={"reason": "the wrong phone"})
    assert stranger.get("/range").status_code in (303, 401)
    told = stranger.get("/join")
    assert told.status_code == 200, "sent to the range again, which sends it back here, for ever"
    assert "removed it" in told.text and 'name="call_name"' in told.text
    asks(stranger, "Tallow again")


@pytest.mark.parametrize("role", ["owner", "archer", "viewer"])
def test_leaving_is_offered_in_the_footing_and_takes_one_page_and_one_button(house: House, role: str) -> None:
    client = house.client(role)
    assert 'href="/leave"' in client.get("/trials").text
    page = client.get("/leave").text
    assert 'action="/leave"' in page and 'method="post"' in page
    assert client.get("/api/ping").json()["role"] == role, "looking at the page ends nothing"
    assert client.post("/leave").status_code == 303
    assert client.get("/api/ping").json().get("role") in (None, "stranger")


def test_a_viewer_of_one_trial_and_no_stranger_is_offered_to_leave(house: House, book: Storage, stranger: TestClient) -> None:
    trial_id = kit.yard(book).trial
    with book.write() as session:
        devices.device(session, house.device_ids["viewer"]).trial_id = trial_id
    assert 'href="/leave"' in house.client("viewer").get(f"/trials/{trial_id}").text
    assert 'href="/leave"' not in stranger.get("/join").text


def test_one_address_asks_six_times_a_minute_and_no_more(house: House) -> None:
    for number in range(6):
        assert house.client().post("/join", data={"call_name": f"Phone {number}"}).status_code == 303
    too_often = house.client().post("/join", data={"call_name": "Phone 6"})
    assert too_often.status_code == 429
    assert 0 < int(too_often.headers["retry-after"]) <= 61


@pytest.mark.parametrize(
    ("call_name", "said"),
    [
        ("", "Type what you are called"),
        ("   ", "Type what you are called"),
        ("x" * 41, "41 letters are too many"),
        ("Wren\u202egnorw", "can’t be shown"),
        ("Wr\u0000en", "can’t be shown"),
        ("Wr\u200den", "can’t be shown"),
    ],
)
def test_a_name_that_can_not_stand_is_refused_beside_its_field(stranger: TestClient, call_name: str, said: str) -> None:
    page = stranger.post("/join", data={"call_name": call_name})
    assert page.status_code == 422
    assert page.text.count(said) == 2, "in the summary and by the field"
    assert "1 field to check" in page.text
    assert ASKING_COOKIE not in stranger.cookies


@pytest.mark.parametrize("call_name", ["<script>alert(1)</script>", '"><img src=x>', "{{ 7*7 }}", "'; DROP TABLE device;--", "Zoë Ōrris"])
def test_a_hostile_name_is_only_ever_text(owner: TestClient, stranger: TestClient, call_name: str) -> None:
    asks(stranger, call_name)
    for page in (stranger.get("/join").text, owner.get("/phones").text, owner.get(f"/phones/{asking_id(owner)}").text):
        assert "<script>alert" not in page
        assert "<img src=x" not in page
        assert "49" not in re.findall(r"itself (.*?) asks", page)
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "archer"})
    stranger.get("/join")
    assert stranger.get("/api/ping").json()["call_name"] == call_name


def test_spaces_in_a_name_are_squeezed(book: Storage, stranger: TestClient) -> None:
    asks(stranger, "  Old \t Tallow ")
    assert device_named(book, "Old Tallow").role == "asking"


def test_putting_out_ends_a_seat_at_once_and_is_written_down(house: House, book: Storage, owner: TestClient, archer: TestClient) -> None:
    assert archer.get("/api/ping").json()["role"] == "archer"
    wren = house.device_ids["archer"]
    no_reason = owner.post(f"/phones/{wren}/remove", data={"reason": "  "})
    assert no_reason.status_code == 422
    assert "Enter the reason" in no_reason.text
    assert archer.get("/api/changes").status_code == 200
    assert owner.post(f"/phones/{wren}/remove", data={"reason": "lost in the <yard>"}).status_code == 303
    assert archer.get("/api/changes").status_code == 401
    assert "role" not in archer.get("/api/ping").json()
    page = owner.get("/phones").text
    assert "lost in the &lt;yard&gt;" in page
    with book.read() as session:
        newest = notebook.lately(session)[0]
    assert (newest.record_id, newest.reason, newest.who) == (wren, "lost in the <yard>", "Laptop")


def test_a_phone_that_was_removed_stays_out_until_it_is_let_in_again(house: House, owner: TestClient, archer: TestClient) -> None:
    owner.post(f"/phones/{house.device_ids['archer']}/remove", data={"reason": "lost"})
    assert owner.post(f"/phones/{house.device_ids['archer']}/answer", data={"role": "archer"}).status_code == 409
    assert archer.get("/").headers["location"] == "/join"
    asks(archer, "Wren")
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "archer"})
    archer.get("/join")
    assert archer.get("/api/ping").json()["letter"] == "C", "another phone's letter stands on its shots"


def limits(book: Storage, device_id: str) -> tuple[str, str | None, int | None]:
    with book.read() as session:
        held = devices.device(session, device_id)
        assert held is not None
        return held.role, held.trial_id, held.expires_at


def test_an_archer_keeps_no_viewers_limits_whatever_the_form_said(house: House, book: Storage, owner: TestClient) -> None:
    trial, client = kit.trial(book), house.client()
    asks(client)
    device_id = asking_id(owner)
    assert owner.post(f"/phones/{device_id}/answer", data={"role": "archer", "trial": trial, "days": "1"}).status_code == 303
    assert limits(book, device_id) == ("archer", None, None)


def test_an_archer_who_joins_again_keeps_no_viewers_limits(house: House, book: Storage, owner: TestClient, clock: list[int]) -> None:
    """A viewer of one trial for a day is let in later as an archer: the whole book, and no end on the next day."""
    trial, client = kit.trial(book), house.client()
    asks(client)
    device_id = asking_id(owner)
    door = house.app.state.gate.joining
    door.let_in(device_id, "viewer", by=house.device_ids["owner"], trial_id=trial, days=1)
    assert limits(book, device_id)[:2] == ("viewer", trial) and limits(book, device_id)[2]
    with book.write() as session:
        held = devices.device(session, device_id)
        assert held is not None
        held.role, held.session_hash, held.expires_at = "asking", hash_of("another"), devices.now_ms() + ASKING_LASTS_MS
    door.let_in(device_id, "archer", by=house.device_ids["owner"])
    assert limits(book, device_id) == ("archer", None, None)


def test_a_viewer_who_becomes_the_owner_keeps_no_viewers_limits(house: House, book: Storage) -> None:
    viewer, trial = house.device_ids["viewer"], kit.trial(book)
    with book.write() as session:
        held = devices.device(session, viewer)
        assert held is not None
        held.trial_id, held.expires_at = trial, devices.now_ms() + DAY_MS
    house.app.state.gate.joining.make_owner(call_name="Laptop", agent="", device_id=viewer)
    assert limits(book, viewer) == ("owner", None, None)


def test_nobody_can_be_let_in_as_owner(owner: TestClient, stranger: TestClient) -> None:
    asks(stranger)
    assert owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "owner"}).status_code == 422
    assert stranger.get("/join").status_code == 200


def test_only_the_owner_answers_the_door(archer: TestClient, viewer: TestClient, owner: TestClient, stranger: TestClient) -> None:
    asks(stranger)
    at_the_door = asking_id(owner)
    for client, status in ((archer, 403), (viewer, 403), (stranger, 401)):
        assert client.post(f"/phones/{at_the_door}/answer", data={"role": "archer"}).status_code == status
        assert client.get("/phones").status_code == status
    assert "A phone calling itself" in owner.get("/phones").text


def test_a_viewers_seat_ends_on_its_day(owner: TestClient, stranger: TestClient, clock: list[int]) -> None:
    asks(stranger)
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "viewer", "days": "3"})
    stranger.get("/join")
    clock[0] = 3 * DAY_MS - 60_000
    assert stranger.get("/api/changes").status_code == 200
    clock[0] = 3 * DAY_MS + 1000
    assert stranger.get("/api/changes").status_code == 401
    assert "ended" in owner.get("/phones").text


@pytest.mark.parametrize("days", ["0", "401", "-1", "three", "1.5", "٣", "9" * 50])
def test_days_that_are_no_count_are_refused_and_kept_as_typed(owner: TestClient, stranger: TestClient, days: str) -> None:
    asks(stranger)
    page = owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "viewer", "days": days})
    assert page.status_code == 422
    assert "is not a count of days" in page.text
    assert f'value="{days[:40]}"' in page.text
    assert "A phone calling itself" in owner.get("/phones").text


def test_a_viewer_of_one_trial_sees_that_one_and_no_other(house: House, book: Storage, owner: TestClient, stranger: TestClient) -> None:
    seen, unseen = kit.yard(book, question="Seen?"), kit.trial(book, "Unseen?")
    loosed = kit.shot(book, seen)
    asks(stranger)
    no_such = owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "viewer", "trial": unseen[:-1] + "x"})
    assert no_such.status_code == 422
    owner.post(f"/phones/{asking_id(owner)}/answer", data={"role": "viewer", "trial": seen.trial})
    stranger.get("/join")
    assert stranger.get("/").headers["location"] == f"/trials/{seen.trial}"

    from proofyard.access.seats import ViewerSeat

    @house.app.get("/sees/trial/{trial_id}")
    @house.app.get("/sees/session/{session_id}")
    @house.app.get("/sees/shot/{shot_id}")
    @house.app.get("/sees/all")
    def sees(_: ViewerSeat) -> str:
        return "seen"

    for path, status in (
        (f"trial/{seen.trial}", 200),
        (f"trial/{unseen}", 403),
        ("trial/nothing", 403),
        (f"session/{seen.session}", 200),
        ("session/nothing", 403),
        (f"session/{kit.session(book, unseen)}", 403),
        (f"shot/{loosed}", 200),
        ("shot/nothing", 403),
        ("all", 403),
    ):
        assert stranger.get(f"/sees/{path}").status_code == status, path
    told = stranger.get("/api/changes?since=0").json()
    assert told["changes"] == []
    assert told["seq"] == told["latest"] > 0
    refused = stranger.get("/sees/all")
    assert "one trial" in refused.text
    assert f'href="/trials/{seen.trial}"' in refused.text


def test_the_owners_page_and_its_live_part_are_the_same_words(owner: TestClient, stranger: TestClient) -> None:
    asks(stranger)
    owner.get("/phones")
    page, part = owner.get("/phones").text, owner.get("/phones", headers={"HX-Request": "true"}).text
    assert 'id="phones-lists" hx-get="/phones" hx-trigger="proofyard:changed from:body"' in part
    unhurried = re.compile(r"\d+ seconds? ago")
    assert unhurried.sub("", part).strip() in unhurried.sub("", page)
    assert "style=" not in page and "<style" not in page


def test_when_a_phone_was_last_heard_is_written_at_most_once_a_minute_and_not_while_others_save(
    house: House, book: Storage, archer: TestClient, clock: list[int]
) -> None:
    seats = house.app.state.gate.seats
    archer.get("/api/ping")
    with book.write():
        pass
    assert seats.write_heard() == 0, "somebody saved a moment ago"
    assert seats.write_heard(quiet_s=0.0) == 1
    assert device_named(book, "Wren").heard_at is not None
    archer.get("/api/ping")
    assert seats.write_heard(quiet_s=0.0) == 0
    clock[0] = 61_000
    archer.get("/api/ping")
    assert seats.write_heard(quiet_s=0.0) == 1


def test_reading_pages_writes_nothing(house: House, book: Storage, archer: TestClient, stranger: TestClient) -> None:
    saves: list[None] = []
    book.after_commit(lambda: saves.append(None))
    for client in (archer, stranger):
        for path in ("/", "/join", "/api/ping", "/api/changes", "/owner/guess"):
            client.get(path)
    assert saves == []


def test_a_seat_at_one_port_is_no_seat_at_another_and_puts_nobody_out() -> None:
    # Browsers keep one jar for a host, whatever the port (RFC 6265, 8.5): a demo must not take the real book's place.
    assert named("proofyard_seat", "192.0.2.7:8014") != named("proofyard_seat", "192.0.2.7:8015")
    assert named("proofyard_seat", "yard.local") == "proofyard_seat"
