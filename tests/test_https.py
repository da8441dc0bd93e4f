"""https with a certificate of one's own: which files are refused and why, and what follows once the server speaks it.

The certificates are made here, by trustme, which is written for tests; who judges them is OpenSSL, as in a browser.
"""

import os
import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest
from proofyard import cli
from proofyard.access.hosts import OwnAddresses
from proofyard.access.local_name import _info
from proofyard.access.seats import COOKIE, named
from proofyard.access.steady_address import SteadyAddress
from proofyard.app import create_app
from proofyard.certificate import UnfitCertificate, named_by, refuse_unfit
from proofyard.serving import kept_port
from proofyard.settings import Certificate
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said
from starlette.testclient import TestClient

from tests.conftest import House, missing
from tests.faults.a_real_server import HERE, serving

HOME = "192.0.2.20"


def made(folder: Path, name: str = "yard", *, ends: datetime | None = None, begins: datetime | None = None) -> Certificate:
    """A certificate for this machine's loopback, its key readable by nobody else, and beside it who signed it."""
    try:
        import trustme
    except ImportError:
        missing("trustme is not installed, and makes the certificates of these tests")
    authority = trustme.CA()
    leaf = authority.issue_cert(HERE, "localhost", not_before=begins, not_after=ends)
    pair = Certificate(folder / f"{name}.pem", folder / f"{name}.key")
    pair.shown.write_bytes(b"".join(one.bytes() for one in leaf.cert_chain_pems))
    pair.key.touch(mode=0o600)
    pair.key.write_bytes(leaf.private_key_pem.bytes())
    authority.cert_pem.write_to_path(str(folder / f"{name}-authority.pem"))
    return pair


def test_a_pair_in_order_is_taken(tmp_path: Path) -> None:
    pair = made(tmp_path)
    refuse_unfit(pair)
    assert named_by(pair.shown, pair.key) == pair and named_by(None, None) is None


def test_each_unfit_file_is_refused_with_its_own_reason(tmp_path: Path) -> None:
    good, other = made(tmp_path), made(tmp_path, "other")
    words = tmp_path / "words.txt"
    words.write_text("no certificate")
    cut = tmp_path / "cut.pem"
    cut.write_bytes(good.shown.read_bytes()[:200])
    gone = tmp_path / "gone.pem"
    past = made(tmp_path, "past", begins=datetime(2001, 1, 1, tzinfo=UTC), ends=datetime(2002, 1, 1, tzinfo=UTC))
    far = made(tmp_path, "far", begins=datetime(2999, 1, 1, tzinfo=UTC), ends=datetime(2999, 12, 1, tzinfo=UTC))
    for pair, reason in (
        (Certificate(gone, good.key), f"There is no file {gone}"),
        (Certificate(good.shown, gone), "Name the key after --key"),
        (Certificate(tmp_path, good.key), "can’t be read"),
        (Certificate(words, good.key), "holds no certificate"),
        (Certificate(good.shown, words), "holds no key"),
        (Certificate(cut, good.key), "cut off"),
        (Certificate(good.shown, other.key), "is not the key of the certificate"),
        (past, "has expired"),
        (far, "is not valid yet"),
    ):
        with pytest.raises(UnfitCertificate, match=re.escape(reason)):
            refuse_unfit(pair)


def test_a_key_that_everybody_may_read_is_refused(tmp_path: Path) -> None:
    pair = made(tmp_path)
    pair.key.chmod(0o644)
    if os.name == "nt":  # Windows has no such rights: the pair is as good as before
        return refuse_unfit(pair)
    with pytest.raises(UnfitCertificate, match="chmod 600"):
        refuse_unfit(pair)


def test_the_command_says_one_sentence_and_opens_no_book(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pair, book = made(tmp_path), tmp_path / "book"
    for words in (["--cert", str(pair.shown)], ["--cert", str(tmp_path / "gone.pem"), "--key", str(pair.key)]):
        assert cli.main(["serve", "--data", str(book), "--port", "0", *words]) == 1
        told = capsys.readouterr()
        assert told.out == "" and len(told.err.splitlines()) == 1 and "Traceback" not in told.err
    assert not book.exists()


def test_addresses_for_phones_say_https_and_leave_its_own_usual_number_out() -> None:
    ours = OwnAddresses(host="0.0.0.0", port=8014, now=lambda: [HOME], https=True)
    assert [ours.link(one, "/join") for one in ours.to_join()] == [f"https://{HOME}:8014/join"]
    usual = OwnAddresses(host="0.0.0.0", port=443, now=lambda: [HOME], https=True)
    assert [usual.link(one) for one in usual.to_join()] == [f"https://{HOME}"]
    assert OwnAddresses(host="0.0.0.0", port=8014, now=lambda: [HOME]).link(f"{HOME}:8014") == f"http://{HOME}:8014"


def test_another_scheme_at_the_same_number_is_another_address_and_both_ways_back_are_told(book: Storage) -> None:
    plain, secure = (OwnAddresses(host="0.0.0.0", port=8014, now=lambda: [HOME], https=https) for https in (False, True))
    SteadyAddress(book, plain).remember(f"{HOME}:8014")
    moved = SteadyAddress(book, secure).moved()
    assert moved is not None and "without --cert and --key: proofyard serve --port 8014" in said(moved.advice)
    assert f"http://{HOME}:8014" in said(moved.what) and f"https://{HOME}:8014" in said(moved.what)

    then = SteadyAddress(book, secure)
    assert then.is_new(f"{HOME}:8014"), "the first phone that logs by https is the address of next time"
    then.remember(f"{HOME}:8014")
    assert not then.is_new(f"{HOME}:8014") and SteadyAddress(book, secure).moved() is None
    assert kept_port(book.path.parent) == 8014
    back = SteadyAddress(book, plain).moved()
    assert back is not None and "--cert FILE --key FILE" in said(back.advice)


@pytest.mark.slow
def test_the_server_speaks_https_alone_and_its_cookie_and_forms_follow(tmp_path: Path) -> None:
    pair = made(tmp_path)
    with serving(tmp_path / "book", "--cert", pair.shown, "--key", pair.key, trusts=tmp_path / "yard-authority.pem") as server:
        assert server.address.startswith("https://") and server.link.startswith("https://localhost:")
        way = "/owner/" + server.link.rpartition("/")[2]
        with server.client() as client:
            plain_form = client.post(way, headers={"Origin": server.address.replace("https", "http")})
            assert plain_form.status_code == 403, "a form of the plain address is from elsewhere"
            let_in = client.post(way)
            cookie = let_in.headers["set-cookie"]
            assert let_in.status_code == 303 and cookie.startswith("__Host-") and "; Secure" in cookie and "Path=/" in cookie
            assert client.get("/phones").status_code == 200
        with httpx.Client(trust_env=False) as plain, pytest.raises(httpx.TransportError):
            plain.get(server.address.replace("https", "http"))
    assert "Traceback" not in "".join(server.said)


def test_the_sheet_for_the_range_and_the_phones_page_say_which_it_is(house: House) -> None:
    certificate = Certificate(Path("shown.pem"), Path("key.pem"))  # read by the server alone, which isn't started here
    app = create_app(house.storage, replace(house.settings, certificate=certificate), addresses=lambda: [HOME])
    at = f"https://{HOME}:{house.settings.port}"
    with TestClient(app, base_url=at, headers={"Origin": at}, follow_redirects=False) as owner:
        assert owner.post(app.state.gate.owner_link()).status_code == 303
        kept = owner.post("/units", data={"units": "metric"}).headers["set-cookie"]
        assert "Secure" not in kept, "back on plain http no page could replace it, and the choice would do nothing"
        sheet, phones = owner.get("/range-day-sheet").text, owner.get("/phones").text
    assert "This is https" in sheet and "plain http" not in sheet and f"{at}/range" in sheet
    assert f"{at}/join" in phones and "http://" not in phones.replace("http://www.w3.org/2000/svg", "")


def test_the_name_is_announced_as_what_the_port_speaks() -> None:
    pytest.importorskip("zeroconf")
    assert [_info(8014, https, [HOME]).type for https in (True, False)] == ["_https._tcp.local.", "_http._tcp.local."]


def test_a_cookie_of_https_has_a_name_that_only_https_may_give() -> None:
    assert named(COOKIE, f"{HOME}:8014", https=True) == f"__Host-{COOKIE}_8014" != named(COOKIE, f"{HOME}:8014")
