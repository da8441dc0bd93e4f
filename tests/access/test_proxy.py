"""Behind a reverse proxy: whose word is taken, what the allow-list and the origin check then hold to, and all of it below a path.

The proxy of these tests is small and real: it listens, asks the server over a socket of its own and hands the answer on.
"""

from __future__ import annotations

import asyncio
import contextlib
import http.client
import http.server
import re
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest
from proofyard import cli
from proofyard.access.connections import MOST_EACH_STRANGER, Connections
from proofyard.access.proxy import ATTRIBUTES, IN_A_PAGE, IN_A_SCRIPT, BehindProxies, path_of
from proofyard.access.seats import COOKIE
from proofyard.app import create_app
from proofyard.pages.frame.assets import SCRIPT_COMMENT, SCRIPT_MARGIN
from proofyard.serving import listening_socket, ports_of, server_of
from starlette.types import Message, Receive, Scope, Send

from tests import kit_for_tests as kit
from tests.conftest import House, with_known_routes
from tests.faults.a_real_server import HERE

OUTSIDE = "yard.example"
PATH = "/proofyard"


async def heard(proxies: tuple[str, ...], client: str, headers: dict[str, str]) -> Scope:
    """What the app hears of a request that came from `client` with these headers."""
    got: list[Scope] = []

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        got.append(scope)

    async def nothing(*_: Any) -> Message:
        return {}

    raw = [(name.lower().encode(), value.encode("latin-1")) for name, value in {"Host": "inside:8014", **headers}.items()]
    scope = {"type": "http", "scheme": "http", "client": (client, 40_000), "server": (HERE, 8014), "headers": raw, "path": "/"}
    await BehindProxies(app, proxies)(scope, nothing, nothing)
    return got[0]


def said(scope: Scope) -> tuple[str, str, str]:
    return scope["client"][0], scope["scheme"], dict(scope["headers"])[b"host"].decode()


CLAIMS = {"X-Forwarded-For": "203.0.113.9", "X-Forwarded-Proto": "https", "X-Forwarded-Host": OUTSIDE}


@pytest.mark.parametrize(
    ("proxies", "client", "headers", "expected"),
    [
        ((HERE,), HERE, CLAIMS, ("203.0.113.9", "https", OUTSIDE)),
        ((HERE,), "192.168.8.66", CLAIMS, ("192.168.8.66", "http", "inside:8014")),
        # What a client put before it is nobody's word: the nearest proxy writes at the end.
        ((HERE,), HERE, {"X-Forwarded-For": "127.0.0.1, 10.0.0.1, 203.0.113.9"}, ("203.0.113.9", "http", "inside:8014")),
        ((HERE,), HERE, {**CLAIMS, "X-Forwarded-Host": f"evil.example, {OUTSIDE}"}, ("203.0.113.9", "https", OUTSIDE)),
        ((HERE,), HERE, {**CLAIMS, "X-Forwarded-Proto": "https, http"}, ("203.0.113.9", "http", OUTSIDE)),
        ((HERE,), HERE, {**CLAIMS, "X-Forwarded-Proto": "gopher"}, ("203.0.113.9", "http", OUTSIDE)),
        # Two proxies in a row, both named; and one that is not.
        ((HERE, "192.0.2.8"), HERE, {"X-Forwarded-For": "203.0.113.9, 192.0.2.8"}, ("203.0.113.9", "http", "inside:8014")),
        ((HERE,), HERE, {"X-Forwarded-For": "203.0.113.9, 192.0.2.8"}, ("192.0.2.8", "http", "inside:8014")),
        ((HERE,), f"::ffff:{HERE}", CLAIMS, ("203.0.113.9", "https", OUTSIDE)),
        ((HERE,), HERE, {"X-Forwarded-For": "unknown"}, (HERE, "http", "inside:8014")),
        ((HERE,), HERE, {}, (HERE, "http", "inside:8014")),
    ],
)
def test_a_named_proxys_word_is_taken_and_nobody_elses(
    proxies: tuple[str, ...], client: str, headers: dict[str, str], expected: tuple[str, str, str]
) -> None:
    assert said(asyncio.run(heard(proxies, client, headers))) == expected


def test_a_proxys_connections_are_not_held_to_what_one_stranger_may_open() -> None:
    class Hand:
        def close_now(self) -> None: ...

    def taken(places: Connections) -> int:
        return sum(places.begin(("192.0.2.8", port), "192.0.2.8", Hand()) is not None for port in range(100))

    behind, alone = Connections(proxies=("192.0.2.8",)), Connections()
    assert taken(behind) == 100
    taken(alone)
    assert len(alone) == MOST_EACH_STRANGER


@pytest.mark.parametrize(
    ("typed", "path"),
    [("/proofyard", "/proofyard"), ("a/b.c/", "/a/b.c"), ("/", ""), ("/..", None), ("/a b", None), ('/"x', None), ("/a//b", None)],
)
def test_a_path_is_read_or_refused(typed: str, path: str | None) -> None:
    assert path_of(typed) == path


def test_the_command_refuses_a_proxy_that_is_no_address(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["--proxy", "nginx"], ["--path", "/a b"]):
        with pytest.raises(SystemExit):
            cli.main(["serve", *words])
        assert "is not a" in capsys.readouterr().err


# Through a real proxy


@contextlib.contextmanager
def served(house: House, **behind: Any) -> Iterator[int]:
    """The server of ours on a port; `behind`: what of its settings is about proxies."""
    listener = listening_socket(HERE, 0)
    settings = replace(house.settings, port=listener.getsockname()[1], **behind)
    app = with_known_routes(create_app(house.storage, settings))
    house.app.state.gate.seats.forget()
    server = server_of(app, ports_of(app, settings, listener, None))
    thread = threading.Thread(target=lambda: asyncio.run(server.serve()), daemon=True)
    thread.start()
    until = time.monotonic() + 20
    while not server.started:
        assert thread.is_alive() and time.monotonic() < until
        time.sleep(0.02)
    try:
        house.app.state.behind = app
        yield settings.port
    finally:
        app.state.doorbell.close()
        server.should_exit = True
        thread.join(20)


@contextlib.contextmanager
def proxied(port: int, *, strips: bool = False, speaks: str = "https") -> Iterator[int]:
    """A reverse proxy before `port`, which speaks https to the outside (so it says; it is asked over plain sockets)."""

    class Hand(http.server.BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def hand_on(self) -> None:
            body = self.rfile.read(int(self.headers.get("content-length") or 0))
            headers = {name: value for name, value in self.headers.items() if name.lower() not in ("connection", "x-forwarded-proto")}
            before = headers.pop("X-Forwarded-For", "")
            headers |= {"X-Forwarded-For": f"{before}, {self.client_address[0]}".lstrip(", "), "X-Forwarded-Proto": speaks}
            headers["X-Forwarded-Host"] = headers.pop("Host")
            way = self.path.removeprefix(PATH) or "/" if strips else self.path
            with contextlib.closing(http.client.HTTPConnection(HERE, port, timeout=10)) as inside:
                inside.request(self.command, way, body or None, {**headers, "Host": f"inside:{port}"})
                answer = inside.getresponse()
                content = answer.read()
            self.send_response(answer.status)
            for name, value in answer.getheaders():
                if name.lower() not in ("content-length", "transfer-encoding", "connection", "date"):
                    self.send_header(name, value)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        do_GET = do_POST = do_PUT = hand_on

        def log_message(self, *_: Any) -> None: ...

    server = http.server.ThreadingHTTPServer((HERE, 0), Hand)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield server.server_address[1]
    finally:
        server.shutdown()
        server.server_close()
        thread.join(10)


def outside(port: int, host: str = OUTSIDE) -> httpx.Client:
    """Somebody who knows the proxy alone, and believes to speak https with it."""
    return httpx.Client(base_url=f"http://{HERE}:{port}", headers={"Host": host, "Origin": f"https://{host}"}, trust_env=False, timeout=20)


def test_behind_a_named_proxy_the_owner_comes_in_and_the_checks_hold_to_what_phones_know(house: House) -> None:
    with served(house, proxies=(HERE,), names=(OUTSIDE,)) as port, proxied(port) as front, outside(front) as client:
        link = house.app.state.behind.state.gate.owner_link()
        assert client.post(link, headers={"Origin": f"http://{OUTSIDE}"}).status_code == 403, "https is what the phone sees"
        assert client.post(link, headers={"Origin": "https://evil.example"}).status_code == 403
        for host in ("evil.example", f"{OUTSIDE}.evil.example"):
            assert client.get("/join", headers={"Host": host}).status_code == 400
        let_in = client.post(link)
        cookie = let_in.headers["set-cookie"]
        assert let_in.status_code == 303 and cookie.startswith(f"__Host-{COOKIE}=") and "; Secure" in cookie
        shown = {"Cookie": cookie.partition(";")[0]}
        phones = client.get("/phones", headers=shown).text
        assert f"https://{OUTSIDE}/join" in phones
        assert f"http://{OUTSIDE}" not in phones
        # And past the proxy: whoever speaks to the port itself is believed nothing.
        with outside(port) as straight:
            forged = {"X-Forwarded-Host": OUTSIDE, "X-Forwarded-Proto": "https", "X-Forwarded-For": "10.9.9.9"}
            with served(house, proxies=("192.0.2.8",), names=()) as other, outside(other, "evil.example") as stranger:
                assert stranger.get("/join", headers=forged).status_code == 400
            assert straight.get("/join", headers={"Host": f"localhost:{port}"}).status_code == 200


@pytest.mark.parametrize("strips", [False, True], ids=["hands the path on", "takes it off"])
def test_below_a_path_every_link_stays_below_it_and_opens(house: House, strips: bool) -> None:
    kit.yard(house.storage)
    with (
        served(house, proxies=(HERE,), names=(OUTSIDE,), path=PATH) as port,
        proxied(port, strips=strips) as front,
        outside(front) as client,
    ):
        link = house.app.state.behind.state.gate.owner_link()
        let_in = client.post(PATH + link)
        assert let_in.headers["location"] == f"{PATH}/"
        cookie = let_in.headers["set-cookie"]
        assert cookie.startswith(f"__Secure-{COOKIE}=") and f"Path={PATH}" in cookie and "__Host-" not in cookie
        shown = {"Cookie": cookie.partition(";")[0]}
        seen: dict[str, int] = {}
        for page in ("/", "/more", "/kit", "/trials", "/range", "/phones", "/kit/start"):
            answer = client.get(PATH + page, headers=shown)
            assert answer.status_code == 200, page
            for name, to in re.findall(r'\s([a-z-]+)="(/[^"]*)"', answer.text):
                if name in ("value", "content") or to.startswith("//"):
                    continue
                assert to.startswith(f"{PATH}/"), (page, name, to)
                seen[to.partition("#")[0]] = 0
        files = [one for one in seen if "/static/" in one]
        assert len(files) > 40 and len(seen) - len(files) > 40
        for one in [*files[::6], *sorted(set(seen) - set(files))[::4]]:
            assert client.get(one, headers=shown).status_code in (200, 303, 405, 422), one
        script = next(one for one in files if one.endswith("/queue.js"))
        assert f'"{PATH}/api/ops"' in client.get(script).text and '"/api/ops"' not in client.get(script).text
        worker = client.get(f"{PATH}/range-worker.js").text
        assert f'PAGE = "{PATH}/range"' in worker and '"/static' not in worker and f'"{PATH}/static/' in worker
        assert f'data-worker="{PATH}/range-worker.js" data-scope="{PATH}/range"' in client.get(f"{PATH}/range", headers=shown).text
        away = client.get(f"{PATH}/kit", follow_redirects=False)
        assert away.status_code in (401, 303) and away.headers.get("location", f"{PATH}/").startswith(f"{PATH}/")
        form = client.post(f"{PATH}/units", data={"units": "metric", "next": "/kit"}, headers=shown)
        assert form.status_code == 303 and form.headers["location"] == f"{PATH}/kit"


# What is rewritten is what is written


def test_every_address_in_our_templates_stands_in_an_attribute_that_takes_the_path() -> None:
    known = set(ATTRIBUTES.decode().split("|")) | {"value"}  # a value comes back to us, and is an address within
    for file in sorted(Path("templates").rglob("*.html")):
        for name in re.findall(r'\s([a-z-]+)="/[a-z]', file.read_text(encoding="utf-8")):
            assert name in known, (file, name)


def test_every_address_in_our_scripts_takes_the_path_and_nothing_else_does() -> None:
    firsts = {"api", "range", "trials", "sessions", "shots", "static", "live", "log", "kit", "join", "panels", "photos", "arrows"}
    begun = []
    for file in sorted(Path("static/js").rglob("*.js")):
        text = SCRIPT_MARGIN.sub(b"", SCRIPT_COMMENT.sub(b"", file.read_bytes()))
        begun += [(file.name, text[at.end() : at.end() + 12].decode("utf-8", "replace")) for at in IN_A_SCRIPT.finditer(text)]
        left = IN_A_SCRIPT.sub(rb"\g<1>/below/", text)
        for first in firsts - {"log"}:
            outside_of_it = re.findall(rb"(?<!/below)(?<!\.)(?<![a-z}])/" + first.encode() + rb"(?:[/?\"'`#]|$)", left)
            assert not outside_of_it, (file, first)
    assert len(begun) > 15
    for name, begins in begun:
        assert re.split(r"[/?\"'`#&$]", begins)[0] in firsts, (name, begins)


def test_what_somebody_typed_is_never_taken_for_an_address() -> None:
    typed = b'<p title="a href=&#34;/x&#34;">href=&quot;/y&quot; src="</p><a href="/z">'
    assert IN_A_PAGE.sub(rb"\g<1>/below/", typed) == typed.replace(b'href="/z', b'href="/below/z')
