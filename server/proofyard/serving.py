"""A book, served: the folder held, the port taken, the book opened, the links printed, then the server until it is told to stop.

Errors
    StorageTrouble  the folder or the book: see server/proofyard/storage.py
    CantServe       the address or the port
    NotEmpty        example data asked for in a book that holds somebody's own
"""

import contextlib
import io
import ipaddress
import os
import signal
import socket
import sys
import threading
import time
import webbrowser
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proofyard import book_file, owners_alone
from proofyard.certificate import UnfitCertificate, https_with, refuse_unfit, shown_by, to_say_of
from proofyard.demo import load_demo
from proofyard.exchange.photo_files import take_former
from proofyard.exchange.photo_store import place_of
from proofyard.opening import HeldFolder, open_book, refuse_damaged, refuse_emptied
from proofyard.settings import Certificate, Settings, database, next_port, photos_setting
from proofyard.storage import Durability, Storage, StorageTrouble, durability_here

if TYPE_CHECKING:
    import uvicorn

    from proofyard.listening import Port

App = Any  # what server/proofyard/app.py makes; its package has no place here

LOOPBACKS = ("localhost", "127.0.0.1", "::1")
EVERYWHERE = ("0.0.0.0", "::", "")
# Addresses of machines inside this one: a phone in the yard can't reach them.
INSIDE = ("docker", "br-", "veth", "virbr", "vmnet", "vboxnet", "lxc", "podman", "cni")
STOP_WITHIN_S = 1
USUAL_PORT = 8014
PAGE_WORKERS = min(2, os.cpu_count() or 1)  # more would take the processor from whoever saves


class CantServe(Exception):
    """Why nothing listens, and what to do."""


class NotEmpty(StorageTrouble):
    pass


def own_addresses(host: str = "0.0.0.0") -> list[str]:
    """The addresses that a phone may reach this machine at, the likeliest first: private IPv4 before all others."""
    if host in LOOPBACKS:
        return []
    if host not in EVERYWHERE:
        return [host]
    import ifaddr

    found = []
    for adapter in ifaddr.get_adapters():
        inside = adapter.name.lower().startswith(INSIDE)
        for one in adapter.ips:
            # An IPv6 address comes as (address, flow, scope).
            text = one.ip if isinstance(one.ip, str) else one.ip[0]
            address = ipaddress.ip_address(text)
            if address.is_loopback or address.is_unspecified or (address.version == 6 and (address.is_link_local or host != "::")):
                continue
            found.append(((inside, address.is_link_local, address.version, not address.is_private), text))
    # Sorted by rank alone: within one rank the system's own order stands.
    return list(dict.fromkeys(text for _, text in sorted(found, key=lambda pair: pair[0])))


def listening_socket(host: str, port: int) -> socket.socket:
    """A socket that listens at the address and port that `serve` was told.

    Refuses
        CantServe  taken, not allowed, or not an address of this machine
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Said by its number, or asyncio doesn't know that it is TCP, leaves small packets waiting for each other, and every
    # answer takes 40 ms longer.
    made = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name != "nt":  # there this option lets two programs have one port
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
        made.listen(128)
    except OSError as error:
        made.close()
        raise CantServe(_why_not(error, host, port)) from error
    return made


def _why_not(error: OSError, host: str, port: int) -> str:
    import errno

    if error.errno in (errno.EADDRINUSE, 10048):  # 10048: Windows' own number for it
        return (
            f"Another program listens at port {port} already. Is Proofyard running in another window? "
            f"Stop that one, or choose another port: proofyard serve --port {port + 1 if port < 65535 else 8014}"
        )
    if error.errno in (errno.EACCES, 10013):
        return f"This system lets no ordinary program listen at port {port}. Choose one above 1024: proofyard serve --port 8014"
    return (
        f"{host} is not an address of this machine. Leave --host out to be reached by phones, or use --host 127.0.0.1 for this laptop "
        f"alone."
    )


@contextlib.contextmanager
def at_its_ports(settings: Settings) -> Iterator[tuple[Settings, socket.socket, socket.socket | None]]:
    """The folder held; the settings with their ports, a socket that listens, a second one if there is to be https of its own."""
    owners_alone.from_now_on()
    if photos_setting():
        place_of(photos_setting())  # a setting that can't be right is refused before anybody takes a photo
    if settings.certificate:
        refuse_unfit(settings.certificate)
    with (
        HeldFolder(settings.folder),
        contextlib.closing(listening_socket(settings.host, settings.port)) as listener,
        own_https(replace(settings, port=listener.getsockname()[1])) as (settings, further),
    ):
        yield settings, listener, further


def serve(settings: Settings, *, open_browser: bool = False) -> None:
    """Serve one book until Ctrl+C or a signal to stop. Returns when the book is closed."""
    with at_its_ports(settings) as (settings, listener, further):
        if not database():
            refuse_emptied(settings.book)
            refuse_damaged(settings.book)
        mended = owners_alone.mend(settings.folder)
        if mended:
            print(mended, flush=True)
        storage = open_book(settings.folder)
        take_former(settings.folder)
        try:
            if settings.demo:
                _fill_if_empty(storage)
            _serve(storage, settings, listener, further, open_browser=open_browser)
        finally:
            storage.close()
    print("Stopped. The book is closed.", flush=True)


def serve_groups(settings: Settings) -> None:
    """Serve every group of a folder, or of the database that is set, each below a path of its own, until a signal to stop."""
    from proofyard.groups.front import Front
    from proofyard.groups.reading import AppsThatRead
    from proofyard.groups.register import open_register
    from proofyard.live.page_workers import PageWorkers

    with at_its_ports(settings) as (settings, listener, further), contextlib.closing(open_register(settings.folder)) as register:
        workers = PageWorkers(partial(AppsThatRead, settings), PAGE_WORKERS)
        front = Front(register, settings, workers=workers, addresses=partial(own_addresses, settings.host))
        address = front_address(front, settings)
        register.keep_address(address)
        print(greeting_of_groups(address, sum(one.is_open for one in register.all().values())), flush=True)
        with stopping_is_no_failure():
            server_of(front, ports_of(front, settings, listener, further)).run()
    print("Stopped. Every group’s book is closed.", flush=True)


def front_address(front: App, settings: Settings) -> str:
    """What a link to one of the groups begins with: the name that proxies have, who speak https, or the server's own address."""
    if settings.names and settings.proxies:
        return f"https://{settings.names[0]}{settings.path}"
    addresses = front.state.gate.addresses
    best = next(iter(addresses.to_join()), _host_and_port("localhost", settings))
    return str(addresses.link(best))


def greeting_of_groups(address: str, many: int) -> str:
    """What `serve --groups` prints."""
    lines = [f"Groups that are open: {many}. Each stands below {address}/g/ and its name."]
    lines += ["In another window: proofyard group add NAME begins one and prints its owner’s link.", ""]
    lines += durability_line(durability_here()) if not database() else []
    return "\n".join([*lines, "Ctrl+C stops the server."])


@contextlib.contextmanager
def own_https(settings: Settings) -> Iterator[tuple[Settings, socket.socket | None]]:
    """The settings with the certificate of `proofyard certify` and a socket for it, where there is one that can be served.

    One that can't be is said, and plain http goes on: it is complete, and nobody can mend a certificate at the range.
    """
    pair = settings.own_https.pair
    if settings.certificate or not pair.shown.exists():
        yield settings, None
        return
    with contextlib.ExitStack() as held:
        try:
            refuse_unfit(pair)
            further = held.enter_context(contextlib.closing(listening_socket(settings.host, next_port(settings.port))))
        except (UnfitCertificate, CantServe, OverflowError) as trouble:
            print(f"NO HTTPS THIS TIME: phones that use it can’t come. {trouble}", flush=True)
            yield settings, None
        else:
            yield replace(settings, also_https=pair), further


def kept_port(folder: Path, *, certificate: bool = False) -> int:
    """The port that phones came to last time; the usual one for a new book, or one that can't be read.

    certificate  one was named, so https has this port itself
    """
    book = Settings(folder).book
    with contextlib.suppress(book_file.Error, ValueError):
        if book.exists():
            with contextlib.closing(book_file.look(book)) as connection:
                row = connection.execute("SELECT address FROM book").fetchone()
            said = str(row[0] or "") if row else ""
            https, host = said.startswith("https://"), said.removeprefix("https://")
            port = int(host.rpartition(":")[2]) if ":" in host else USUAL_PORT if not said else 443 if https else 80
            if https and not certificate and Settings(folder).own_https.pair.shown.exists():
                port -= 1  # a phone came by the further port
            return port if 0 < port < 65536 else USUAL_PORT
    return USUAL_PORT


def _serve(
    storage: Storage, settings: Settings, listener: socket.socket, further: socket.socket | None = None, *, open_browser: bool
) -> None:
    from proofyard.app import create_app

    app = create_app(storage, settings, addresses=partial(own_addresses, settings.host), page_workers=PAGE_WORKERS)
    with _name(app, settings):
        link = owner_link(app, settings)
        print(greeting(app, settings, link), flush=True)
        server = server_of(app, ports_of(app, settings, listener, further))
        if open_browser:
            threading.Thread(target=_open_when_started, args=(server, link), daemon=True).start()
        with stopping_is_no_failure():
            server.run()


@contextlib.contextmanager
def _name(app: App, settings: Settings) -> Iterator[None]:
    """The name `proofyard.local` for as long as the server runs, where phones could ask for it."""
    from proofyard.access.local_name import announced

    if settings.host not in EVERYWHERE:
        yield
        return
    with announced(settings.port, partial(own_addresses, settings.host), https=settings.certificate is not None) as name:
        if name:
            app.state.gate.addresses.also(name)
        yield


def ports_of(app: App, settings: Settings, listener: socket.socket, further: socket.socket | None) -> list["Port"]:
    """What listens, and which of it speaks https."""
    from proofyard.listening import Port, counted

    def speaking(one: socket.socket, certificate: Certificate | None) -> Port:
        if certificate is None:
            return Port(one)
        return Port(counted(one, app.state.gate.connections.handshakes), https_with(certificate))

    found = [speaking(listener, settings.certificate)]
    return found if further is None else [*found, speaking(further, settings.also_https)]


def server_of(app: App, ports: Sequence["Port"] = ()) -> "uvicorn.Server":
    """The server, not running yet, at these ports; or at the sockets that it is then run with."""
    import uvicorn

    from proofyard.access.connections import IDLE_S, MOST
    from proofyard.listening import ServerOfPorts, protocol_for, room_for

    connections = app.state.gate.connections
    connections.most = room_for(MOST)
    config = uvicorn.Config(
        app,
        http=protocol_for(connections),  # on h11, plain Python: the same code on every machine that this may be installed on
        loop="asyncio",
        ws="none",
        lifespan="on",
        access_log=False,
        log_level="warning",
        proxy_headers=False,  # an address that a header claims is nobody's address
        server_header=False,
        timeout_keep_alive=int(IDLE_S),
        timeout_graceful_shutdown=STOP_WITHIN_S,
    )
    return ServerOfPorts(config, ports)


@contextlib.contextmanager
def stopping_is_no_failure() -> Iterator[None]:
    """After its clean stop the server sends itself the signal again; that second one must not look like a crash."""
    before = {number: signal.signal(number, lambda *_: None) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, hand in before.items():
            signal.signal(number, hand)


def _open_when_started(server: "uvicorn.Server", link: str) -> None:
    while not server.started:
        if server.should_exit:
            return
        time.sleep(0.05)
    webbrowser.open(link)


def owner_link(app: App, settings: Settings) -> str:
    """A new one-time link for the owner, at an address that this laptop reaches itself by."""
    here = "localhost" if settings.host in (*LOOPBACKS, *EVERYWHERE) else settings.host
    link: str = app.state.gate.addresses.link(_host_and_port(here, settings), app.state.gate.owner_link())
    return link


def _host_and_port(address: str, settings: Settings) -> str:
    host = f"[{address}]" if ":" in address else address
    return host if settings.port == (443 if settings.certificate else 80) else f"{host}:{settings.port}"


def greeting(app: App, settings: Settings, link: str) -> str:
    """What `serve` prints: where the book is, the two links, the square code, how to stop."""
    from proofyard.wording.reasons.said import said

    lines = [f"The book: {app.state.storage.called}"]
    lines += ["Example data: people, makers and figures are invented."] if app.state.demo else []
    lines += ["", "On this laptop, open this link. It works once, and makes this browser the owner’s:", f"  {link}", ""]
    moved = app.state.gate.steady.moved()
    lines += ["THE ADDRESS HAS CHANGED.", said(moved.what), said(moved.advice), ""] if moved else []
    addresses = app.state.gate.addresses
    phones = [addresses.link(one, "/join") for one in addresses.to_join()]
    if phones:
        lines += ["On phones in the same network:", f"  {phones[0]}", "", square_code(phones[0])]
        lines += ["If that one doesn’t answer, try:", *(f"  {one}" for one in phones[1:]), ""] if phones[1:] else []
    elif settings.proxies:
        lines += ["Phones come by the proxy: open the owner’s pages that way too, and Phones shows the address.", ""]
    elif settings.host in LOOPBACKS:
        lines += ["Phones can’t reach it: it listens to this laptop alone, as --host says.", ""]
    else:
        lines += ["This laptop has no network yet. Join one, or open a hot spot on a phone; the Phones page then shows the address.", ""]
    lines += https_lines(app, settings)
    lines += durability_line(durability_here())
    return "\n".join([*lines, "Ctrl+C stops the server."])


def https_lines(app: App, settings: Settings) -> list[str]:
    """Where phones come by https, and what is amiss with the certificate; nothing without one."""
    addresses = app.state.gate.addresses
    certificate = settings.also_https or settings.certificate
    if certificate is None:
        return []
    offered = addresses.to_join_by_https() if settings.also_https else addresses.to_join()
    shown = shown_by(certificate.shown)
    named = [one for one in offered if shown.covers_host(one)]
    lines = ["Phones that were told to trust this laptop’s certificate may use https:", *(f"  https://{one}/join" for one in named[:3]), ""]
    said = to_say_of(shown, offered)
    return [*(lines if named and settings.also_https else []), *said, *([""] if said else [])]


def durability_line(mode: Durability) -> list[str]:
    """A sentence where the newer journal can't be trusted on this machine; nothing otherwise."""
    if mode.journal == "WAL":
        return []
    return [f"Saves are as safe, but a little slower, on this machine: {mode.why}."]


def square_code(address: str) -> str:
    """The address for a phone's camera, in half blocks of text; nothing where the terminal can't show them."""
    import segno

    text = io.StringIO()
    segno.make(address, micro=False, error="m").terminal(out=text, compact=True)
    try:
        text.getvalue().encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        return ""
    return text.getvalue()


def _fill_if_empty(storage: Storage) -> None:
    """Example data into an empty book; a book that has some already is served as it is."""
    from proofyard.records import devices

    with storage.read() as session:
        book = devices.the_book(session)
        filled = book is not None and bool(book.demo)
    if filled and records_in(storage):
        return
    fill_with_demo(storage)


def records_in(storage: Storage) -> int:
    """How many records of what was seen a book holds, crossed-out ones left out."""
    from proofyard.records import listing, nouns

    with storage.read() as session:
        return sum(listing.count_of(session, str(noun)) for noun in nouns.TABLES)


def fill_with_demo(storage: Storage) -> str:
    """Fill an empty book with the invented example, which marks it as such for ever; what it holds now, in words.

    Refuses
        NotEmpty  the book holds records
    """
    fill = load_demo().fill

    held = records_in(storage)
    if held:
        raise NotEmpty(f"{storage.called} holds {held} records already, so no example was put among them. Use --data with an empty folder.")
    print("Writing the example into the book …", flush=True)
    made = fill(storage)
    return f"{made.trials} trials, {made.panels} panels, {made.shots} shots"


def fill_folder(folder: Path) -> str:
    """The command `demo`: the folder's book, which no server may have open."""
    owners_alone.from_now_on()
    with HeldFolder(folder), contextlib.closing(open_book(folder)) as storage:
        return fill_with_demo(storage)
