"""Several groups on one server, each with a book of its own: begun, reached, shut, broken and idle, and the one seen from the other."""

from __future__ import annotations

import contextlib
import re
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

import pytest
from proofyard import cli
from proofyard.book_file import library as sqlite3
from proofyard.groups.front import NOT_FOUND, NOT_NOW, ONE_SENTENCE
from proofyard.groups.names import wrong_with
from proofyard.groups.register import open_register
from proofyard.groups.shares import Shares
from proofyard.live.shortest_first import ShortestFirst
from proofyard.opening import HeldFolder
from proofyard.settings import BOOK_FILE
from proofyard.storage import BookBusy

from tests import kit_for_tests as kit
from tests.conftest import ADDRESS
from tests.groups_for_tests import SEAT, Served, begun_in, served

# The names


@pytest.mark.parametrize("name", ["", "Oak", "oak yard", "-oak", "oak-", "oak_yard", "öak", "../oak", "oak/elm", "con", "a" * 31])
def test_a_name_that_cant_stand_in_an_address_is_refused(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert wrong_with(name)
    assert cli.main(["group", "add", f"--data={tmp_path}", "--", name]) == 2
    assert "for example" in capsys.readouterr().err.replace("Use 30 at most", "for example")
    assert open_register(tmp_path).all() == {}


def test_the_command_begins_lists_shuts_and_opens_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def said(*words: str, code: int = 0) -> str:
        assert cli.main(["group", *words, "--data", str(tmp_path)]) == code
        shown = capsys.readouterr()
        return shown.out + shown.err

    assert "No group yet" in said("list")
    first = said("add", "oak", "--call", "Oak & yard", "--at", "https://yard.example/")
    assert "https://yard.example/g/oak/owner/" in first
    assert "already" in said("add", "oak", code=2)
    assert "Oak & yard" in said("list") and "open:" in said("list")
    assert "first page" in said("show", "oak") and "on the first page" in said("list")
    assert "no longer" in said("hide", "oak")
    assert "stays in" in said("shut", "oak") and "shut:" in said("list")
    for part in ("shut", "show", "owner-link"):
        assert "No group called" in said(part, "oak", code=2)
    assert "“Oak & yard” is open" in said("add", "oak")


# The server


@pytest.fixture
def two(tmp_path: Path, empty_book_file: Path) -> Iterator[Served]:
    """The groups oak and elm, served."""
    for name in ("oak", "elm"):
        assert cli.main(["group", "add", name, "--data", str(tmp_path)]) == 0
        begun_in(tmp_path, name, empty_book_file)
    with served(tmp_path) as server:
        yield server


def test_an_owners_link_is_made_by_the_command_and_works_once_in_its_group_alone(two: Served, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert cli.main(["group", "owner-link", "oak", "--at", ADDRESS, "--data", str(two.folder)]) == 0
    link = capsys.readouterr().out.split()[-1]
    client = two.client()
    assert client.post(link.replace("/g/oak/", "/g/elm/")).status_code == 404
    assert client.get(link).status_code == 200
    let_in = client.post(link)
    assert (let_in.status_code, let_in.headers["location"]) == (303, "/g/oak/")
    cookie = let_in.headers["set-cookie"]
    assert cookie.startswith(f"oak.{SEAT}=") and "; Path=/g/oak;" in cookie
    assert client.post(link).status_code == 404, "a second time"
    token = cookie.partition("=")[2].partition(";")[0]
    assert two.client({f"oak.{SEAT}": token}).get("/g/oak/phones").status_code == 200
    for name in (SEAT, f"oak.{SEAT}", f"elm.{SEAT}"):
        assert two.client({name: token}).get("/g/elm/phones").status_code in (303, 401), "nothing in another group"
    assert two.client({SEAT: token}).get("/g/oak/phones").status_code in (303, 401), "a cookie of a book that stood at the root"


def test_what_the_owner_shows_to_phones_leads_below_the_groups_path(two: Served) -> None:
    two.client().get("/g/oak/join")
    owner = two.seated("oak", "owner")
    assert "http://192.0.2.7:8014/g/oak/join" in owner.get("/g/oak/phones").text
    assert "/g/oak/join" in owner.get("/g/oak/range-day-sheet").text


def test_figures_and_news_of_a_group_are_its_own(two: Served) -> None:
    for name in ("oak", "elm"):
        two.client().get(f"/g/{name}/join")
    owner = two.seated("oak", "owner")
    oak = two.front.opened.app_of("oak").state

    def figures() -> list[str]:
        lines = owner.get("/g/oak/metrics").text.splitlines()
        return [line for line in lines if not line.startswith("#") and "/metrics" not in line and "_bytes" not in line]

    before, rings = figures(), oak.doorbell._rings
    elms = two.seated("elm", "archer")
    kit.yard(two.book("elm"))
    for page in ("/kit", "/api/changes", "/notebook"):
        assert elms.get(f"/g/elm{page}").status_code == 200
    assert figures() == before and oak.doorbell._rings == rings
    assert two.front.opened.app_of("elm").state.doorbell._rings > 0
    assert '{route="/kit"' not in "".join(before)


def test_what_a_phone_is_told_to_keep_and_where_a_program_goes_on_lies_below_the_groups_path(two: Served) -> None:
    two.client().get("/g/oak/join")
    worker = two.client().get("/g/oak/range-worker.js").text
    assert 'PAGE = "/g/oak/range"' in worker and '"/static' not in worker and "/g/oak/static/" in worker
    assert re.search(r'"/g/oak/static/[^"]*/faults\.js"', worker), "the page would not open with the server away"
    yard = kit.yard(two.book("oak"))
    kit.shot(two.book("oak"), yard)
    kit.shot(two.book("oak"), yard)
    program = two.client()
    program.headers["Authorization"] = f"Bearer {two.program('oak', 'viewer')}"
    further = program.get("/g/oak/api/v1/shots?limit=1").json()["next"]
    assert "/g/oak/api/v1/shots?" in further
    assert len(program.get(further).json()["shots"]) == 1


def test_a_group_that_is_shut_and_one_that_never_was_are_told_alike(two: Served) -> None:
    two.client().get("/g/oak/join")
    seated = two.seated("oak", "owner")
    assert seated.get("/g/oak/kit").status_code == 200
    assert cli.main(["group", "shut", "oak", "--data", str(two.folder)]) == 0
    two.look()
    until = time.monotonic() + 10
    while "oak" in two.front.opened.names:
        assert time.monotonic() < until
        time.sleep(0.02)
    for rest in ("", "/", "/kit", "/api/ping", "/static/none", "/owner/x", "/live", "/metrics", "/api/v1/trials"):
        for method in ("GET", "POST", "HEAD", "PUT"):
            shut, never = (seated.request(method, f"/g/{name}{rest}") for name in ("oak", "ash"))
            assert (shut.status_code, shut.text, shut.headers) == (404, "" if method == "HEAD" else NOT_FOUND, never.headers)
            assert never.text == shut.text
    with HeldFolder(two.folder / "groups" / "oak"):
        pass  # nobody holds its folder: a backup can be put back
    assert two.client().get("/g/elm/join").status_code == 200


def test_the_first_page_names_nobody_until_somebody_is_shown(two: Served) -> None:
    page = two.client().get("/")
    assert page.status_code == 200 and ONE_SENTENCE in page.text
    assert "oak" not in page.text and "elm" not in page.text
    assert cli.main(["group", "show", "elm", "--data", str(two.folder)]) == 0
    two.look()
    page = two.client().get("/")
    assert '<a href="/g/elm/">elm</a>' in page.text and "oak" not in page.text
    for other in ("/kit", "/phones", "/g", "/g/", "/groups", "/static/x", "/g/oak%2f..%2felm/join"):
        assert two.client().get(other).status_code == 404, other
    assert two.client().get("/", headers={"Host": "evil.example"}).status_code == 400


def broken(book: Path) -> None:
    book.write_bytes(b"no book at all, but bytes" * 500)


def newer(book: Path) -> None:
    with contextlib.closing(sqlite3.connect(book)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")


def emptied(book: Path) -> None:
    book.write_bytes(b"")
    book.with_name("proofyard-20261024-100000.zip").write_bytes(b"a copy")


@pytest.mark.parametrize("harm", [broken, newer, emptied])
def test_a_book_that_cant_be_opened_is_its_groups_trouble_alone(
    two: Served, caplog: pytest.LogCaptureFixture, capsys: pytest.CaptureFixture[str], harm: Callable[[Path], None]
) -> None:
    book = two.folder / "groups" / "oak" / BOOK_FILE
    harm(book)
    before = book.read_bytes()
    said = two.client().get("/g/oak/join")
    assert (said.status_code, said.text) == (503, NOT_NOW)
    assert str(two.folder) not in said.text and "the book of group oak" in caplog.text and "Traceback" not in caplog.text
    again = two.client().get("/g/oak/join")
    assert again.status_code == 503 and int(again.headers["retry-after"]) <= 16
    assert book.read_bytes() == before, "it was left as it is"
    assert cli.main(["group", "check", "--quick", "--data", str(two.folder)]) == 1
    assert "oak: to look at\n! Book: " in capsys.readouterr().out
    assert two.client().get("/g/elm/join").status_code == 200
    with pytest.raises(BookBusy), HeldFolder(two.folder / "groups" / "elm"):
        pass


def test_a_book_that_nobody_asks_for_is_closed_and_opened_again(tmp_path: Path, empty_book_file: Path) -> None:
    assert cli.main(["group", "add", "oak", "--data", str(tmp_path)]) == 0
    begun_in(tmp_path, "oak", empty_book_file)
    before = set(threading.enumerate())  # an app of another test may not be closed yet
    with served(tmp_path, closed_after_s=0.05) as server:
        server.client().get("/g/oak/join")
        seated = server.seated("oak", "archer")
        for _ in range(3):
            assert seated.get("/g/oak/kit").status_code == 200
            time.sleep(0.06)
            server.look()
            until = time.monotonic() + 10
            while server.front.opened.names:
                assert time.monotonic() < until
                time.sleep(0.01)
            with HeldFolder(tmp_path / "groups" / "oak"):
                assert not (tmp_path / "groups" / "oak" / f"{BOOK_FILE}-wal").exists(), "all of it is in the book’s own file"
        of_a_book = ("copies", "saving", "listening", "working-out")
        assert [one.name for one in threading.enumerate() if one.name.startswith(of_a_book) and one not in before] == []


# Nobody keeps the others out


def test_groups_that_want_everything_come_to_equal_shares_with_one_left_for_the_next() -> None:
    """k groups that ask all the time, each of whose requests ends at random: 1/(k + 1) each. The rule is that of dynamic thresholds for
    shared buffers, with a factor of 1 (Choudhury and Hahne, 1998; from memory)."""
    shares, random = Shares(96), Random(1)
    greedy = [f"greedy{n}" for n in range(5)]
    for name in greedy:
        while shares.begin(name):
            pass
    for _ in range(2000):
        busy = random.choice([name for name in greedy for _ in range(shares.held(name))])
        shares.end(busy)
        for name in random.sample(greedy, len(greedy)):
            shares.begin(name)
    assert [name for name in greedy if not 14 <= shares.held(name) <= 18] == []
    got = 0
    while shares.begin("new"):
        got += 1
    assert got >= 6


def test_one_group_alone_holds_half_and_what_it_gives_back_is_free() -> None:
    shares = Shares(96)
    held = 0
    while shares.begin("oak"):
        held += 1
    assert held == 48
    shares.end("oak")
    assert shares.begin("oak") and not shares.begin("oak")


def test_a_group_that_asks_for_hundreds_of_long_pages_costs_another_one_page() -> None:
    order: list[str] = []
    goes_on, all_done = threading.Event(), threading.Event()

    def job(name: str) -> float:
        if not order:
            goes_on.wait(10)
        order.append(name)
        if len(order) == 104:
            all_done.set()
        return 1.0

    threads = ShortestFirst(1, "test")
    threads.submit("page", lambda: job("oak"), whose="oak")
    for _ in range(99):
        threads.submit("page", lambda: job("oak"), whose="oak")
    for _ in range(4):
        threads.submit("page", lambda: job("elm"), whose="elm")
    goes_on.set()
    assert all_done.wait(10)
    threads.close()
    places = [n for n, name in enumerate(order) if name == "elm"]
    assert places[0] == 1 and places[-1] <= 8, order[:12]


def test_a_group_that_fills_its_share_is_told_so_and_another_answers(two: Served) -> None:
    for name in ("oak", "elm"):
        two.client().get(f"/g/{name}/join")
    while two.front._in_hand.begin("oak"):
        pass
    assert two.client().get("/g/oak/join").status_code == 503
    assert two.client().get("/g/elm/join").status_code == 200
    while two.front._in_hand.held("oak"):
        two.front._in_hand.end("oak")


@pytest.mark.long
def test_long_pages_of_both_groups_are_made_by_the_servers_workers(tmp_path: Path, empty_book_file: Path) -> None:
    from functools import partial

    from proofyard.groups.reading import AppsThatRead
    from proofyard.live.page_workers import PageWorkers
    from proofyard.settings import Settings

    for name in ("oak", "elm"):
        assert cli.main(["group", "add", name, "--data", str(tmp_path)]) == 0
        begun_in(tmp_path, name, empty_book_file)
    workers = PageWorkers(partial(AppsThatRead, Settings(tmp_path)), 1)
    with served(tmp_path, workers=workers) as server:
        for name in ("oak", "elm"):
            server.client().get(f"/g/{name}/join")
            kit.yard(server.book(name), question=f"Does {name} hold?")
        for name, other in (("oak", "elm"), ("elm", "oak"), ("oak", "elm")):
            page = server.seated(name, "owner").get(f"/g/{name}/kit")
            assert page.status_code == 200 and f'href="/g/{name}/' in page.text and f"/g/{other}/" not in page.text
            server.closed(other)  # no process holds its file: it can be put back from a backup
            server.client().get(f"/g/{other}/join")
        assert workers.made == 1
