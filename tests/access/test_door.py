"""What every request passes: the address it names, the page it comes from, its size, and the headers of each answer."""

import threading
from collections.abc import Iterator
from statistics import median
from time import perf_counter

import pytest
from fastapi.routing import APIRoute, iter_route_contexts
from proofyard.access.door import CSP, MOST_BODY
from proofyard.access.seats import TheBook
from proofyard.storage import BookFull, Storage
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from tests.conftest import ADDRESS, House

POLICY = {"content-security-policy": CSP, "x-content-type-options": "nosniff", "referrer-policy": "same-origin"}


@pytest.mark.parametrize("host", ["127.0.0.1:8014", "localhost:8014", "LOCALHOST:8014", "[::1]:8014"])
def test_our_own_addresses_are_answered(stranger: TestClient, host: str) -> None:
    assert stranger.get("/join", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "evil.example:8014",
        "127.0.0.1",
        "127.0.0.1:80",
        "127.0.0.1:8014.evil.example",
        "127.0.0.1:8014@evil.example",
        "",
        "[::1",
        "localhost:8014:8014",
        "192.0.2.77:8014",
        "[::1]:8014]",
        "localhost:80a14",
    ],
)
def test_a_name_that_is_not_ours_gets_no_page(owner: TestClient, host: str) -> None:
    answer = owner.get("/phones", headers={"Host": host})
    assert answer.status_code == 400
    assert "Type the address" in answer.text
    assert "Connected phones" not in answer.text


def test_the_address_that_the_connection_came_in_on_is_ours_even_if_it_is_new(house: House) -> None:
    moved = TestClient(house.app, base_url="http://192.0.2.77:8014", headers={"Origin": "http://192.0.2.77:8014"})
    assert moved.get("/join").status_code == 200
    named = TestClient(house.app, base_url="http://evil.example:8014")
    assert named.get("/join").status_code == 400


@pytest.mark.parametrize(
    "origin",
    [
        None,
        "null",
        "",
        "http://evil.example",
        "http://127.0.0.1",
        "https://127.0.0.1:8014",
        "http://127.0.0.1:8014.evil.example",
        "http://localhost:8014",
    ],
)
def test_a_change_asked_for_from_elsewhere_changes_nothing(owner: TestClient, origin: str | None) -> None:
    if origin is None:
        del owner.headers["Origin"]
    else:
        owner.headers["Origin"] = origin
    refused = owner.post("/leave")
    assert refused.status_code == 403
    assert "another page" in refused.text
    owner.headers["Origin"] = ADDRESS
    assert owner.get("/phones").status_code == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_browser_that_says_the_request_is_from_another_site_is_believed(owner: TestClient, site: str) -> None:
    assert owner.post("/leave", headers={"Sec-Fetch-Site": site}).status_code == 403


def test_no_answer_lets_another_origin_read_it(owner: TestClient) -> None:
    answer = owner.get("/api/ping", headers={"Origin": "http://evil.example"})
    assert not [name for name in answer.headers if name.startswith("access-control")]
    asked_first = owner.options("/api/ping", headers={"Origin": "http://evil.example", "Access-Control-Request-Method": "GET"})
    assert asked_first.status_code == 403


def test_every_page_and_every_refusal_carries_the_policy(house: House) -> None:
    house.app.state.doorbell.close()  # so that the stream answers at once
    paths = sorted(
        {
            route.path.replace("{", "").replace("}", "").replace(":path", "")
            for route in iter_route_contexts(house.app.routes)
            if isinstance(route.original_route, APIRoute) and "GET" in (route.methods or ()) and route.path
        }
    )
    assert len(paths) > 8
    for role in ("owner", "stranger"):
        client = house.client(role, raise_server_exceptions=False)
        for path in [*paths, "/nothing/here"]:
            answer = client.get(path)
            for name, value in POLICY.items():
                assert answer.headers.get(name) == value, (role, path, name)
            assert "permissions-policy" in answer.headers
            assert "cache-control" in answer.headers, path
            # The range's shell holds nothing of the book and is kept, so that it opens where there is no signal.
            if "text/html" in answer.headers.get("content-type", "") and not path.startswith("/range"):
                assert "no-store" in answer.headers["cache-control"], path


def test_a_fault_of_ours_shows_a_code_and_never_its_cause(house: House, caplog: pytest.LogCaptureFixture) -> None:
    @house.app.get("/breaks")
    @house.app.get("/api/breaks")
    def breaks() -> None:
        raise RuntimeError("the secret cause")

    client = house.client("owner", raise_server_exceptions=False)
    page = client.get("/breaks")
    assert page.status_code == 500
    assert "secret cause" not in page.text
    assert page.headers["content-security-policy"] == CSP
    code = caplog.records[-1].args[0]
    assert isinstance(code, str) and code in page.text
    told = client.get("/api/breaks")
    assert told.json()["code"] in told.json()["detail"]
    assert "secret cause" not in told.text


def test_a_full_disk_is_told_in_its_own_words(house: House) -> None:
    @house.app.post("/api/full")
    @house.app.post("/full")
    def full(book: TheBook) -> None:
        raise BookFull("There is no room left on the disk. Nothing was saved.")

    client = house.client("archer")
    page = client.post("/full")
    assert page.status_code == 507
    assert "There is no room left on the disk." in page.text
    assert page.headers["retry-after"] == "30"
    assert client.post("/api/full").json()["detail"].startswith("There is no room left")


def test_a_locked_file_is_told_even_when_it_shows_while_reading(house: House) -> None:
    @house.app.get("/locked")
    def locked() -> None:
        from sqlalchemy.exc import OperationalError

        raise OperationalError("SELECT 1", {}, Exception("database is locked"))

    page = house.client("archer", raise_server_exceptions=False).get("/locked")
    assert page.status_code == 503
    assert "Another program holds the book" in page.text
    assert "SELECT" not in page.text


def test_a_body_over_a_megabyte_is_refused_in_words(archer: TestClient) -> None:
    said = archer.post(
        "/theme", content=b"theme=sun&next=" + b"a" * MOST_BODY, headers={"Content-Type": "application/x-www-form-urlencoded"}
    )
    assert said.status_code == 413
    assert "1 MB" in said.text


def test_a_body_that_hides_its_length_is_stopped_while_it_comes(archer: TestClient) -> None:
    sent = 0

    def pieces() -> Iterator[bytes]:
        nonlocal sent
        for _ in range(100):
            sent += 1
            yield b"x" * 100_000

    for path in ("/theme", "/join"):
        refused = archer.post(path, content=pieces(), headers={"Content-Type": "application/x-www-form-urlencoded"})
        assert refused.status_code == 413, path


def test_more_requests_than_hands_are_told_to_come_again(house: House) -> None:
    in_hand = house.app.state.gate.in_hand
    held = 0
    while in_hand.begin("testclient"):
        held += 1
    assert held == 24
    busy = house.client("archer").get("/api/ping")
    assert busy.status_code == 503
    assert busy.headers["retry-after"] == "2"
    assert "try again" in busy.json()["detail"]
    for _ in range(held):
        in_hand.end("testclient")
    assert house.client("archer").get("/api/ping").status_code == 200


def test_hands_are_freed_after_a_fault_too(house: House) -> None:
    @house.app.get("/breaks")
    def breaks() -> None:
        raise RuntimeError

    client = house.client("archer", raise_server_exceptions=False)
    for _ in range(30):
        assert client.get("/breaks").status_code == 500


def test_a_web_socket_is_not_spoken_here(stranger: TestClient) -> None:
    with pytest.raises(WebSocketDisconnect), stranger.websocket_connect("/live"):
        pass


@pytest.mark.parametrize(
    "path", ["/phones/not-an-id", "/phones/%00", "/%2e%2e/%2e%2e/etc/passwd", "/static/../proofyard.db", "/phones/" + "x" * 5000]
)
def test_a_strange_address_is_one_where_nothing_stands(owner: TestClient, path: str) -> None:
    assert owner.get(path).status_code == 404


def test_a_stranger_is_shown_the_way_to_the_door(stranger: TestClient) -> None:
    page = stranger.get("/phones")
    assert page.status_code == 401
    assert 'href="/join"' in page.text
    assert stranger.get("/api/changes").json()["detail"].startswith("Ask to join")


def test_the_fault_pages_of_the_interface_are_json(archer: TestClient) -> None:
    assert archer.get("/api/nothing").json() == {"detail": "Page not found."}
    unread = archer.get("/api/changes?since=soon")
    assert unread.status_code == 422
    assert unread.json()["fields"] == ["since"]
    assert "soon" not in unread.json()["detail"]


@pytest.mark.parametrize(
    "cookie",
    [
        "proofyard_seat=",
        "proofyard_seat=" + "a" * 300,
        'proofyard_seat="\\"',
        "proofyard_seat=\x80\xff",
        "proofyard_seat",
        "a=b; proofyard_seat=guessed; c",
    ],
)
def test_a_cookie_that_means_nothing_is_a_strangers(stranger: TestClient, cookie: str) -> None:
    assert stranger.get("/phones", headers={"Cookie": cookie.encode("latin-1")}).status_code == 401


def test_a_guessed_cookie_can_not_fill_the_memory(house: House) -> None:
    client = house.client()
    for number in range(600):
        client.get("/api/ping", headers={"Cookie": f"proofyard_seat=guess{number}"})
    assert len(house.app.state.gate.seats._held) <= 512


def test_the_door_adds_less_than_a_fifth_of_a_millisecond(house: House) -> None:
    import asyncio

    from proofyard.access.door import Door
    from proofyard.access.seats import COOKIE, named

    async def inside(scope, receive, send):  # type: ignore[no-untyped-def]
        await send({"type": "http.response.start", "status": 200, "headers": [(b"content-type", b"text/plain")]})
        await send({"type": "http.response.body", "body": b"here"})

    async def receive():  # type: ignore[no-untyped-def]
        return {"type": "http.request", "body": b""}

    async def send(_) -> None:  # type: ignore[no-untyped-def]
        return None

    cookie = f"theme=sun; units=metric; {named(COOKIE, '127.0.0.1:8014')}={house.tokens['archer']}".encode()
    scope = {
        "type": "http",
        "method": "POST",
        "path": "/api/ops",
        "scheme": "http",
        "server": ("127.0.0.1", 8014),
        "client": ("192.0.2.9", 5),
        "headers": [
            (b"host", b"127.0.0.1:8014"),
            (b"origin", ADDRESS.encode()),
            (b"cookie", cookie),
            (b"content-length", b"400"),
            (b"user-agent", b"x" * 120),
            (b"accept", b"*/*"),
            (b"accept-language", b"en-GB"),
            (b"accept-encoding", b"gzip"),
        ],
    }

    async def times(app) -> float:  # type: ignore[no-untyped-def]
        took = []
        for _ in range(500):
            began = perf_counter()
            await app(dict(scope), receive, send)
            took.append(perf_counter() - began)
        return median(took)

    async def both() -> tuple[float, float]:
        return await times(inside), await times(Door(inside, house.app.state.gate))

    without, with_door = asyncio.run(both())
    assert with_door - without < 0.0002


def test_a_role_read_just_before_it_was_changed_is_not_kept(house: House, book: Storage) -> None:
    seats = house.app.state.gate.seats
    token, device_id = house.tokens["archer"], house.device_ids["archer"]
    began, may_go_on = threading.Event(), threading.Event()
    plain_read = book.read

    def slow_read():  # type: ignore[no-untyped-def]
        import contextlib

        @contextlib.contextmanager
        def opened():  # type: ignore[no-untyped-def]
            with plain_read() as session:
                yield session
            began.set()
            may_go_on.wait(5)

        return opened()

    book.read = slow_read  # type: ignore[method-assign]
    reader = threading.Thread(target=seats.read, args=(token,))
    reader.start()
    assert began.wait(5)
    book.read = plain_read  # type: ignore[method-assign]
    house.app.state.gate.joining.remove(device_id, by=house.device_ids["owner"], why="lost in the yard")
    may_go_on.set()
    reader.join()
    assert seats.seat_of(token).role == "stranger"
