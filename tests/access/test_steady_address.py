"""An address that stays: kept where phones log, compared at the next start, shown while it is ours, warned of when it isn't."""

import importlib
import secrets
import sys
from pathlib import Path

import pytest
from proofyard import cli, serving
from proofyard.access.hosts import OwnAddresses
from proofyard.access.local_name import NAME, announced
from proofyard.access.seats import COOKIE, named
from proofyard.access.steady_address import SteadyAddress
from proofyard.app import create_app
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.settings import Settings
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

from tests.conftest import House, missing

HOME, YARD = "192.0.2.20", "192.0.2.77"


def kept(book: Storage) -> str | None:
    with book.read() as session:
        row = devices.the_book(session)
        assert row is not None
        return row.address


def addresses(*now: str, port: int = 8014, names: tuple[str, ...] = ()) -> OwnAddresses:
    return OwnAddresses(host="0.0.0.0", port=port, names=names, now=lambda: list(now))


def came_to(book: Storage, host: str, ours: OwnAddresses) -> SteadyAddress:
    steady = SteadyAddress(book, ours)
    if steady.is_new(host):
        steady.remember(host)
    return steady


def test_a_new_book_warns_of_nothing_and_remembers_where_the_first_phone_came_to(book: Storage) -> None:
    steady = came_to(book, f"{HOME}:8014", addresses(HOME))
    assert steady.moved() is None and kept(book) == f"{HOME}:8014"


def test_another_address_at_the_next_start_is_told_with_what_to_do(book: Storage) -> None:
    came_to(book, f"{HOME}:8014", addresses(HOME))
    moved = SteadyAddress(book, addresses(YARD)).moved()
    assert moved is not None and (moved.before, moved.now) == (f"{HOME}:8014", f"{YARD}:8014")
    assert f"http://{HOME}:8014" in said(moved.what) and f"http://{YARD}:8014" in said(moved.what)
    assert f"http://{HOME}:8014/range" in said(moved.advice) and "network" in said(moved.advice)


def test_another_port_is_another_address(book: Storage) -> None:
    came_to(book, f"{HOME}:8014", addresses(HOME))
    moved = SteadyAddress(book, addresses(HOME, port=8015)).moved()
    assert moved is not None and "proofyard serve --port 8014" in said(moved.advice)
    assert "network" not in said(moved.advice), "the network is the same: nobody needs to look for another"


@pytest.mark.parametrize("ours", [(YARD, 8014), (HOME, 8015)])
def test_owner_and_phone_are_told_what_to_do_and_that_what_a_phone_holds_is_safe(book: Storage, ours: tuple[str, int]) -> None:
    came_to(book, f"{HOME}:8014", addresses(HOME))
    moved = SteadyAddress(book, addresses(ours[0], port=ours[1])).moved()
    assert moved is not None
    owner, phone = said(moved.advice), said(moved.for_a_phone)
    assert "is safe" in owner and "is safe" in phone
    assert "Each phone then goes on by itself" in owner and "show what is not in the book as a text" in owner
    assert f"http://{HOME}:8014" in phone and "ask the owner" in phone and "--port" not in phone, "a phone can start no server"


def test_the_same_address_among_new_ones_is_no_move_and_stands_first(book: Storage) -> None:
    came_to(book, f"{HOME}:8014", addresses(HOME))
    ours = addresses(YARD, HOME)
    steady = SteadyAddress(book, ours)
    assert steady.moved() is None and ours.to_join() == [f"{HOME}:8014", f"{YARD}:8014"]
    assert not steady.is_new(f"{YARD}:8014"), "a phone by another way changes nothing while the kept address is ours"


def test_once_phones_come_by_the_new_address_that_one_is_kept_and_this_run_still_warns(book: Storage) -> None:
    came_to(book, f"{HOME}:8014", addresses(HOME))
    steady = came_to(book, f"{YARD}:8014", addresses(YARD))
    assert kept(book) == f"{YARD}:8014"
    assert steady.moved() is not None, "phones that are still away have not heard of it"
    assert SteadyAddress(book, addresses(YARD)).moved() is None


def test_the_loopback_and_what_is_no_host_are_never_kept(book: Storage) -> None:
    for host in ("localhost:8014", "127.0.0.1:8014", "[::1]:8014", ""):
        assert not SteadyAddress(book, addresses(HOME)).is_new(host)


def test_a_network_that_comes_back_ends_the_warning_without_a_restart(book: Storage) -> None:
    came_to(book, f"{HOME}:8014", addresses(HOME))
    now = [YARD]
    steady = SteadyAddress(book, OwnAddresses(host="0.0.0.0", port=8014, now=lambda: list(now)))
    assert steady.moved() is not None
    now.append(HOME)
    assert steady.moved() is None


def app_at(house: House, *now: str) -> House:
    app = create_app(house.storage, Settings(folder=house.settings.folder, port=8014), addresses=lambda: list(now))
    return House(app, house.storage, house.settings, house.tokens, house.device_ids)


def test_a_logging_phone_s_first_request_keeps_the_address_and_a_viewer_s_does_not(house: House) -> None:
    from starlette.testclient import TestClient

    served = app_at(house, HOME)
    for role, wanted in (("viewer", None), ("archer", f"{HOME}:8014")):
        client = TestClient(served.app, base_url=f"http://{HOME}:8014", headers={"Origin": f"http://{HOME}:8014"}, client=(HOME, 50000))
        client.cookies.set(named(COOKIE, f"{HOME}:8014"), house.tokens[role], domain=HOME)
        assert client.get("/api/ping").status_code == 200
        assert kept(house.storage) == wanted


def test_the_phones_page_shows_the_addresses_of_now_and_warns(house: House, book: Storage) -> None:
    came_to(book, f"{HOME}:8014", addresses(HOME))
    now = [YARD]
    app = create_app(book, Settings(folder=house.settings.folder, port=8014), addresses=lambda: list(now))
    owner = House(app, book, house.settings, house.tokens, house.device_ids).client("owner")
    page = owner.get("/phones").text
    assert "The address has changed." in page and f"http://{YARD}:8014/join" in page
    now[:] = [HOME]
    page = owner.get("/phones").text
    assert "The address has changed." not in page and f"http://{HOME}:8014/join" in page and YARD not in page


def test_the_owners_first_page_and_the_door_say_it_and_nobody_else_is_troubled(house: House, book: Storage) -> None:
    came_to(book, f"{HOME}:8014", addresses(HOME))
    now = [YARD]
    app = create_app(book, Settings(folder=house.settings.folder, port=8014), addresses=lambda: list(now))
    served = House(app, book, house.settings, house.tokens, house.device_ids)
    told = 'id="home-moved"'
    assert told in served.client("owner").get("/").text
    assert told not in served.client("archer").get("/").text and told not in served.client("viewer").get("/").text
    assert f"it knew the laptop as http://{HOME}:8014" in served.client("stranger").get("/join").text
    now[:] = [HOME]
    assert told not in served.client("owner").get("/").text
    assert 'id="join-moved"' not in served.client("stranger").get("/join").text


def test_serve_prints_the_warning_and_keeps_the_port(house: House, book: Storage) -> None:
    came_to(book, f"{HOME}:8099", addresses(HOME, port=8099))
    assert serving.kept_port(house.settings.folder) == 8099
    settings = Settings(folder=house.settings.folder, port=8099)
    app = create_app(book, settings, addresses=lambda: [YARD])
    printed = serving.greeting(app, settings, "http://localhost:8099/owner/x")
    assert "THE ADDRESS HAS CHANGED." in printed and f"http://{HOME}:8099" in printed and f"http://{YARD}:8099/join" in printed
    assert "is safe on it" in printed


def test_a_new_folder_or_an_unreadable_book_takes_the_usual_port(tmp_path: Path) -> None:
    assert serving.kept_port(tmp_path) == 8014
    (tmp_path / "proofyard.db").write_bytes(b"no book")
    assert serving.kept_port(tmp_path) == 8014
    other = tmp_path / "other"
    other.mkdir()
    open_book(other).close()
    assert serving.kept_port(other) == 8014
    assert cli._parser().parse_args(["serve"]).port is None


# --- the name


def test_the_name_is_answered_to_and_leads_here(monkeypatch: pytest.MonkeyPatch) -> None:
    zeroconf = pytest.importorskip("zeroconf")
    name_of_our_own = f"proofyard-{secrets.token_hex(4)}.local"  # a Proofyard that runs here now keeps its own
    monkeypatch.setattr("proofyard.access.local_name.NAME", name_of_our_own)
    with announced(8014, lambda: ["127.0.0.1"], interfaces=["127.0.0.1"]) as name:
        if not name:
            missing("no multicast on this machine's loopback")
        assert name == name_of_our_own
        asking = zeroconf.Zeroconf(interfaces=["127.0.0.1"])
        try:
            asked = zeroconf.AddressResolverIPv4(f"{name}.")
            assert asked.request(asking, 3000) and asked.parsed_addresses() == ["127.0.0.1"]
        finally:
            asking.close()


def test_without_the_package_or_a_network_there_is_no_name_and_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    with announced(8014, lambda: []) as name:
        assert name == ""
    monkeypatch.setitem(sys.modules, "zeroconf", None)
    importlib.reload(importlib.import_module("proofyard.access.local_name"))
    with announced(8014, lambda: [HOME]) as name:
        assert name == ""


def test_the_name_is_ours_once_it_is_announced_and_stands_after_the_addresses() -> None:
    ours = addresses(HOME)
    assert not ours.allows(f"{NAME}:8014", came_in_on=None)
    ours.also(NAME)
    assert ours.allows(f"{NAME}:8014", came_in_on=None) and ours.to_join() == [f"{HOME}:8014", f"{NAME}:8014"]
