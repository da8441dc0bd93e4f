"""`proofyard certify`: for whom the authority may sign and for whom not, what is left of its key, and https beside plain http.

Who judges the certificates is OpenSSL, as it judges any: the limits are those of RFC 5280 (4.2.1.10, name constraints). Days: at
most 825 for any (Apple's support page 103769, "Requirements for trusted certificates"); 397 is below the 398 that public ones have.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import socket
import ssl
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import load_pem_private_key
from proofyard import authority, cli, listening
from proofyard.access.connections import HANDSHAKE_WITHIN_S, MOST_EACH_STRANGER, MOST_HANDSHAKES, Handshakes
from proofyard.access.hosts import OwnAddresses
from proofyard.access.steady_address import SteadyAddress
from proofyard.app import create_app
from proofyard.authority import NotCertified, certify, may_sign_for
from proofyard.certificate import UnfitCertificate, fingerprint_of, refuse_unfit, shown_by, to_say_of
from proofyard.serving import kept_port, listening_socket, own_https, ports_of, server_of
from proofyard.settings import Certificate, OwnHttps, Settings
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said
from starlette.testclient import TestClient

from tests.conftest import House
from tests.faults.a_real_server import HERE, serving

YARD, NAME = "192.168.8.7", "yard.local"


def made(folder: Path, *also: str, key_file: Path | None = None, again: bool = False) -> OwnHttps:
    certify(folder, has=[NAME, YARD, "192.0.2.7", "yard"], also=also, key_file=key_file, again=again)
    return Settings(folder).own_https


def shakes_hands(shown: Certificate, authority_file: Path, host: str) -> None:
    """A client that trusts this authority alone, in memory; raises what OpenSSL finds."""
    server, client = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER), ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    server.load_cert_chain(shown.shown, shown.key)
    client.load_verify_locations(cadata=authority_file.read_bytes())
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = client.wrap_bio(to_client, to_server, server_hostname=host), server.wrap_bio(to_server, to_client, server_side=True)
    for _ in range(4):
        for end in ends:
            with contextlib.suppress(ssl.SSLWantReadError):
                end.do_handshake()


def test_a_phone_that_trusts_the_authority_takes_the_laptop_by_each_name_and_nobody_else(tmp_path: Path) -> None:
    own = made(tmp_path, "192.168.43.0/28", "range.local")
    refuse_unfit(own.pair)
    for host in (YARD, NAME, "localhost", HERE, "192.168.43.9", "range.local"):
        shakes_hands(own.pair, own.authority, host)
    for host in ("192.168.8.8", "192.0.2.7", "other.local", "example.org"):
        with pytest.raises(ssl.SSLCertVerificationError, match="mismatch|doesn't match|not valid for"):
            shakes_hands(own.pair, own.authority, host)
    other = made(tmp_path / "other")
    with pytest.raises(ssl.SSLCertVerificationError):
        shakes_hands(other.pair, own.authority, YARD)


@pytest.mark.parametrize("elsewhere", ["example.org", "192.0.2.7", "yard.local.example.org", "2001:db8::7"])
def test_whoever_holds_the_kept_key_can_sign_for_private_addresses_and_local_names_alone(tmp_path: Path, elsewhere: str) -> None:
    kept = tmp_path / "stick" / "authority.key"
    kept.parent.mkdir()
    own = made(tmp_path / "book", key_file=kept)
    key = load_pem_private_key(kept.read_bytes(), None)
    signer = x509.load_der_x509_certificate(own.authority.read_bytes())
    thief, leaf = authority._signed(key, signer, [elsewhere], datetime.now(UTC))
    forged = Certificate(tmp_path / "forged.pem", tmp_path / "forged.key")
    forged.shown.write_bytes(authority._pem(leaf))
    forged.key.write_bytes(authority._pem_of(thief))
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shakes_hands(forged, own.authority, elsewhere)
    shakes_hands(own.pair, own.authority, YARD)  # the same way in order is taken


def test_the_authoritys_key_is_nowhere_and_the_laptops_is_its_owners_alone(tmp_path: Path) -> None:
    own = made(tmp_path)
    assert sorted(one.name for one in own.authority.parent.iterdir()) == ["laptop.key", "laptop.pem", "proofyard-authority.crt"]
    signer = x509.load_der_x509_certificate(own.authority.read_bytes())
    assert load_pem_private_key(own.pair.key.read_bytes(), None).public_key() != signer.public_key()
    if os.name != "nt":
        assert own.pair.key.stat().st_mode & 0o077 == 0 and own.authority.parent.stat().st_mode & 0o077 == 0


def test_what_both_kinds_of_phone_ask_of_a_certificate_is_there(tmp_path: Path) -> None:
    own = made(tmp_path)
    leaf, signer = x509.load_pem_x509_certificates(own.pair.shown.read_bytes())
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=397)
    assert signer.not_valid_after_utc == leaf.not_valid_after_utc, "an authority whose key is gone is of no use after that"
    assert signer.subject.get_attributes_for_oid(x509.NameOID.COMMON_NAME)
    limits = signer.extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical and limits.value.permitted_subtrees
    basic = signer.extensions.get_extension_for_class(x509.BasicConstraints)
    assert basic.critical and basic.value.ca and basic.value.path_length == 0
    purposes = leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(purposes) == [x509.oid.ExtendedKeyUsageOID.SERVER_AUTH]
    assert fingerprint_of(own.authority.read_bytes()) == ":".join(f"{one:02X}" for one in signer.fingerprint(x509_sha256()))


def x509_sha256() -> object:
    from cryptography.hazmat.primitives.hashes import SHA256

    return SHA256()


def test_with_a_kept_key_it_signs_again_and_no_phone_needs_anything(tmp_path: Path) -> None:
    kept = tmp_path / "authority.key"
    own = made(tmp_path / "book", key_file=kept)
    before, first = own.authority.read_bytes(), own.pair.shown.read_bytes()
    if os.name != "nt":
        assert kept.stat().st_mode & 0o077 == 0
    made(tmp_path / "book", "10.0.0.7", key_file=kept)
    assert own.authority.read_bytes() == before and own.pair.shown.read_bytes() != first
    shakes_hands(own.pair, own.authority, "10.0.0.7")


def test_what_cannot_be_certified_is_refused_in_a_sentence_and_changes_nothing(tmp_path: Path) -> None:
    book, kept, words = tmp_path / "book", tmp_path / "authority.key", tmp_path / "words"
    words.write_text("no key")
    own = made(book)
    before = [one.read_bytes() for one in (own.authority, own.pair.key, own.pair.shown)]
    other = tmp_path / "other.key"
    made(tmp_path / "other", key_file=other)
    for also, key_file, reason in (
        (["example.org"], None, "not a private address"),
        (["8.8.8.8"], None, "not a private address"),
        (["yard"], None, "not a private address"),
        (["*.local"], None, "not a private address"),
        (["192.168.0.0/16"], None, "256 at most"),
        (["192.168.8.0/99"], None, "not a network"),
        ([], None, "proofyard certify --yes"),
        ([], kept, "proofyard certify --yes"),
        ([], words, "holds no key"),
        ([], tmp_path, "can’t be read"),
        ([], book / "authority.key", "in the book’s folder"),
        ([], other, "not the one of the authority"),
    ):
        with pytest.raises(NotCertified, match=reason.replace(".", r"\.")):
            certify(book, has=[YARD], also=also, key_file=key_file)
    assert [one.read_bytes() for one in (own.authority, own.pair.key, own.pair.shown)] == before and not kept.exists()
    made(book, again=True)
    assert own.authority.read_bytes() != before[0]


def test_an_authority_at_its_end_is_not_signed_with(tmp_path: Path) -> None:
    kept, long_ago = tmp_path / "authority.key", datetime.now(UTC) - timedelta(days=6 * 365)
    certify(tmp_path / "book", has=[YARD], also=[], key_file=kept, now=long_ago)
    with pytest.raises(NotCertified, match="come to its end"):
        certify(tmp_path / "book", has=[YARD], also=[], key_file=kept)


@pytest.mark.parametrize(
    ("name", "may"),
    [
        ("10.255.255.255", True),
        ("172.31.0.1", True),
        ("172.32.0.1", False),
        ("192.169.0.1", False),
        ("fd00::7", True),
        ("2001:db8::7", False),
        ("yard.local", True),
        ("local", True),
        ("a.b.local", True),
        ("notlocal", False),
        ("-.local", False),
        ("", False),
        ("yard.local.", False),
    ],
)
def test_what_the_authority_may_sign_for(name: str, may: bool) -> None:
    assert may_sign_for(name) is may


def test_an_address_that_is_offered_and_not_named_is_said_and_so_is_a_near_end(tmp_path: Path) -> None:
    shown = shown_by(made(tmp_path).pair.shown)
    assert to_say_of(shown, [f"{YARD}:8015", f"{NAME}:8015"]) == []
    (one,) = to_say_of(shown, [f"{YARD}:8015", "192.168.8.9:8015", "[fd00::7]:8015"])
    assert "192.168.8.9, fd00::7" in one and YARD not in one
    (near,) = to_say_of(shown, [YARD], now=shown.ends - timedelta(days=29))
    assert f"ends on {shown.ends.day} {shown.ends:%B %Y}" in near
    assert to_say_of(shown, [YARD], now=shown.ends - timedelta(days=31)) == []
    (past,) = to_say_of(shown, [YARD], now=shown.ends)
    assert "no phone accepts it" in past
    with pytest.raises(UnfitCertificate):
        shown_by(tmp_path / "none.pem")


def test_the_command_says_for_whom_it_signed_and_check_says_what_is_not_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["certify", "--data", str(tmp_path / "book"), "--for", "10.9.8.7"]) == 0
    told = capsys.readouterr().out
    assert "10.9.8.7" in told and "thrown away" in told and "SHA-256" in told
    assert cli.main(["certify", "--data", str(tmp_path / "book"), "--for", "example.org"]) == 2
    assert capsys.readouterr().err.startswith("“example.org” is not a private address")
    kept = tmp_path / "authority.key"
    assert cli.main(["certify", "--data", str(tmp_path / "book"), "--yes", "--authority-key", str(kept)]) == 0
    assert f"The authority’s key is in {kept}" in capsys.readouterr().out and kept.exists()
    cli.main(["check", "--data", str(tmp_path / "book")])
    assert "https: " in capsys.readouterr().out


# Two ports


def both(port: int = 8014, now: str = YARD) -> OwnAddresses:
    return OwnAddresses(host="0.0.0.0", port=port, now=lambda: [now], also_https=port + 1)


def test_plain_http_stays_where_it_was_and_https_has_the_next_number() -> None:
    ours = both()
    assert ours.to_join() == [f"{YARD}:8014"] and ours.to_join_by_https() == [f"{YARD}:8015"]
    assert ours.is_ours(f"{YARD}:8014") and ours.is_ours(f"https://{YARD}:8015")
    assert not ours.is_ours(f"{YARD}:8015") and not ours.is_ours(f"https://{YARD}:8014")
    assert ours.allows(f"{NAME}:8015", came_in_on=(NAME, 8015), https=True) is False, "not ours: nobody announced it"
    assert ours.allows("localhost:8015", came_in_on=(HERE, 8015), https=True)
    assert OwnAddresses(host="0.0.0.0", port=8014, now=lambda: [YARD]).to_join_by_https() == []


def test_a_phone_that_logs_by_https_is_the_address_of_next_time_and_plain_http_keeps_its_number(book: Storage) -> None:
    folder = book.path.parent
    made(folder)
    steady = SteadyAddress(book, both(), certified=True)
    assert steady.is_new(f"{YARD}:8015", https=True)
    steady.remember(f"{YARD}:8015", True)
    assert SteadyAddress(book, both(), certified=True).moved() is None
    assert not steady.is_new(f"{YARD}:8014", https=False), "the kept one is still ours"
    assert kept_port(folder) == 8014 and kept_port(folder, certificate=True) == 8015
    moved = SteadyAddress(book, both(9000), certified=True).moved()
    assert moved is not None and "proofyard serve --port 8014" in said(moved.advice)
    alone = OwnAddresses(host="0.0.0.0", port=8014, now=lambda: [YARD])
    gone = SteadyAddress(book, alone, certified=True).moved()
    assert gone is not None and "proofyard certify" in said(gone.advice) and "--port 8014" in said(gone.advice)


def test_a_certificate_that_cannot_be_served_leaves_plain_http_as_it_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    settings = Settings(tmp_path, HERE, 8014)
    with own_https(settings) as (without, further):
        assert without == settings and further is None
    certify(tmp_path, has=[YARD], also=[], now=datetime.now(UTC) - timedelta(days=500))
    with own_https(settings) as (expired, further):
        assert expired == settings and further is None
    assert "NO HTTPS THIS TIME" in capsys.readouterr().out
    made(tmp_path, again=True)
    with contextlib.closing(listening_socket(HERE, 0)) as taken:
        with own_https(replace(settings, port=taken.getsockname()[1] - 1)) as (busy, further):
            assert busy.also_https is None and further is None
        assert "Another program listens" in capsys.readouterr().out


def test_the_page_has_the_steps_the_file_and_the_owners_warnings(house: House) -> None:
    own = made(house.settings.folder)
    settings = replace(house.settings, also_https=own.pair)
    app = create_app(house.storage, settings, addresses=lambda: [YARD, "192.168.8.9"])
    at = f"http://{YARD}:{settings.port}"
    with TestClient(app, base_url=at, headers={"Origin": at}, follow_redirects=False) as phone:
        page = phone.get("/https").text
        assert f"https://{YARD}:{settings.port + 1}/join" in page and "https://192.168.8.9" not in page
        assert "does not name" not in page, "that is for the owner"
        assert fingerprint_of(own.authority.read_bytes()).replace(":", " ") in page
        file = phone.get("/https/proofyard-authority.crt")
        assert file.content == own.authority.read_bytes() and file.headers["content-type"] == "application/x-x509-ca-cert"
        assert phone.post(app.state.gate.owner_link()).status_code == 303
        assert "does not name 192.168.8.9" in phone.get("/https").text
        assert 'href="/https"' in phone.get("/phones").text


def test_without_a_certificate_the_page_says_how_to_make_one_and_there_is_no_file(house: House, owner: TestClient) -> None:
    assert "proofyard certify" in owner.get("/https").text
    assert "proofyard certify" not in house.client("viewer").get("/https").text
    assert owner.get("/https/proofyard-authority.crt").status_code == 404


# Handshakes


def test_handshakes_that_never_end_are_few_and_leave_room_for_others() -> None:
    at = [0.0]
    shaking = Handshakes(clock=lambda: at[0])
    taken = sum(shaking.begin(("192.168.8.66", port), "192.168.8.66") for port in range(500))
    assert taken == MOST_EACH_STRANGER
    assert shaking.begin((YARD, 1), YARD), "another address still comes in"
    crowd = sum(shaking.begin((f"192.168.9.{n}", 1), f"192.168.9.{n}") for n in range(200))
    assert taken + 1 + crowd == MOST_HANDSHAKES
    assert shaking.begin((HERE, 1), HERE), "the laptop itself always"
    shaking.done((YARD, 1))
    at[0] = HANDSHAKE_WITHIN_S + 1
    assert shaking.begin(("192.168.8.66", 1), "192.168.8.66"), "what is over does not count"


@contextlib.contextmanager
def two_ports(house: House, own: OwnHttps) -> Iterator[tuple[int, int]]:
    listeners = [listening_socket(HERE, 0), listening_socket(HERE, 0)]
    plain, further = (one.getsockname()[1] for one in listeners)
    settings = replace(house.settings, port=plain, also_https=own.pair)
    app = create_app(house.storage, settings)
    app.state.gate.addresses.also_https = further  # two free ports need not follow each other
    server = server_of(app, ports_of(app, settings, *listeners))
    thread = threading.Thread(target=lambda: asyncio.run(server.serve()), daemon=True)
    thread.start()
    try:
        until = time.monotonic() + 20
        while not server.started:
            assert thread.is_alive() and time.monotonic() < until
            time.sleep(0.02)
        yield plain, further
    finally:
        app.state.doorbell.close()
        server.should_exit = True
        thread.join(20)
        assert not thread.is_alive()


def test_a_handshake_that_nobody_ends_is_closed_in_time_and_the_ports_speak_what_they_should(
    house: House, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(listening, "HANDSHAKE_WITHIN_S", 0.4)
    own = made(tmp_path / "certified")
    with two_ports(house, own) as (plain, further):
        with socket.create_connection((HERE, further), timeout=10) as silent:
            began = time.monotonic()
            assert silent.recv(1) == b"", "closed without a word"
            assert 0.2 < time.monotonic() - began < 8
        trusting = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        trusting.load_verify_locations(cadata=own.authority.read_bytes())
        for port, wrap in ((plain, None), (further, trusting)):
            with socket.create_connection((HERE, port), timeout=10) as raw:
                spoken = wrap.wrap_socket(raw, server_hostname=HERE) if wrap else raw
                spoken.sendall(f"GET /api/ping HTTP/1.1\r\nHost: {HERE}:{port}\r\nConnection: close\r\n\r\n".encode())
                assert spoken.recv(100).startswith(b"HTTP/1.1 200"), port
                spoken.close()


@pytest.mark.slow
def test_certify_then_serve_speaks_both_and_prints_where(tmp_path: Path) -> None:
    made(tmp_path / "book")
    for _ in range(5):  # the number after a free one may be taken
        with serving(tmp_path / "book") as server:
            text = "".join(server.said)
            if "NO HTTPS" in text:
                continue
            port = int(server.address.rpartition(":")[2]) + 1
            trusting = ssl.create_default_context(cadata=Settings(tmp_path / "book").own_https.authority.read_bytes())
            with socket.create_connection((HERE, port), timeout=10) as raw, trusting.wrap_socket(raw, server_hostname=HERE) as spoken:
                spoken.sendall(f"GET /join HTTP/1.1\r\nHost: {HERE}:{port}\r\nConnection: close\r\n\r\n".encode())
                assert spoken.recv(100).startswith(b"HTTP/1.1 200")
            with server.client() as client:
                assert client.get("/join").status_code == 200
                assert "strict-transport-security" not in client.get("/join").headers
            return
    pytest.fail("no two free ports in a row, five times")
