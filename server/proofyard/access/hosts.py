"""Which addresses are ours: a page elsewhere that points a name of its own at this laptop gets no answer.

Ours are this machine's names, the loopback, what `serve` was told, and the address that a connection really came in on
(so a new address from the yard's router works at once). An address alone gives no right; it is only answered.
"""

import contextlib
import ipaddress
import socket
from collections.abc import Callable, Iterable

LOOPBACK = ("localhost", "127.0.0.1", "::1")
HTTPS = "https://"


def as_link(kept: str) -> str:
    """An address as the book keeps it (plain http without its scheme, as all were before there was https), as a link."""
    return kept if kept.startswith(HTTPS) else f"http://{kept}"


def split_host(header: str) -> tuple[str, int | None] | None:
    """Name and port out of a Host header; nothing for one that isn't of that form."""
    text = header.strip().lower()
    if text.startswith("["):
        name, closed, rest = text[1:].partition("]")
        if not closed or not _is_ip(name):
            return None
    else:
        name, colon, rest = text.partition(":")
        rest = colon + rest
    if not name or "@" in name or "/" in name or (rest and not (rest[0] == ":" and rest[1:].isascii() and rest[1:].isdigit())):
        return None
    return name.rstrip("."), int(rest[1:]) if len(rest) > 1 else None


def _is_ip(text: str) -> bool:
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return False
    return True


def machine_names() -> set[str]:
    """What this machine is called, with and without `.local`."""
    name = socket.gethostname().lower().rstrip(".")
    short = name.split(".")[0]
    return {one for one in (name, short, f"{short}.local") if one}


def own_addresses() -> list[str]:
    """The addresses that phones nearby may reach this machine at, the likeliest first. Nothing is sent anywhere."""
    found: list[str] = []
    for family, beyond in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.connect((beyond, 9))  # a datagram socket's connect only picks the way out
            found.append(probe.getsockname()[0])
    with contextlib.suppress(OSError):
        found += [str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, type=socket.SOCK_STREAM)]
    reachable = [one for one in found if not ipaddress.ip_address(one.split("%")[0]).is_loopback and not one.startswith("fe80")]
    return list(dict.fromkeys(reachable))


def bracketed(name: str) -> str:
    """An IPv6 address as it stands in a link."""
    return f"[{name}]" if ":" in name else name


class OwnAddresses:
    """The allow-list of one server.

    now     this machine's addresses, asked for each time they are shown: a network may change while it is served
    steady  where phones came last time, as the book keeps it; shown first while it is ours
    https   whether this server speaks https at its port; it never speaks both at one
    also_https  the further port at which it speaks https, while its own speaks plain http
    path    what all of it stands below; in every link
    """

    def __init__(
        self,
        *,
        host: str,
        port: int,
        names: Iterable[str] = (),
        now: Callable[[], list[str]] = own_addresses,
        https: bool = False,
        also_https: int | None = None,
        path: str = "",
    ) -> None:
        told = {name.lower().strip("[]").rstrip(".") for name in (*names, host)} - {"0.0.0.0", "::", ""}
        self.port, self.https, self.also_https = port, https, also_https
        self._unsaid_port = 443 if https else 80
        self._told = list(dict.fromkeys(name.lower().strip("[]") for name in names))
        self.path = path
        self._names = told | set(LOOPBACK) | machine_names()
        self._now = now
        self._also: list[str] = []
        self.steady = ""

    def answers_to(self, name: str) -> None:
        """One more name that this server answers to, shown to nobody: phones know it from elsewhere."""
        self._names.add(name.lower().strip("[]").rstrip("."))

    def also(self, name: str) -> None:
        """One more name that this server answers to; shown after its addresses, since not every phone can ask for it."""
        self._names.add(name.lower())
        self._also.append(name.lower())

    def port_of(self, *, https: bool) -> int | None:
        """Where this server speaks https, or plain http; nothing where it doesn't."""
        return self.port if https == self.https else self.also_https if https else None

    def kept_as(self, host_and_port: str, *, https: bool | None = None) -> str:
        """One of this server's addresses as the book keeps it: with its scheme, since a phone's data belongs to that too."""
        return f"{HTTPS}{host_and_port}" if (self.https if https is None else https) else host_and_port

    def link(self, host_and_port: str, path: str = "") -> str:
        """One of this server's addresses as a phone opens it."""
        return f"{as_link(self.kept_as(host_and_port))}{self.path}{path}"

    def is_ours(self, kept: str) -> bool:
        """Whether a phone that knows this address finds this server by it now."""
        parts = split_host(kept.removeprefix(HTTPS))
        https = kept.startswith(HTTPS)
        return parts is not None and (parts[1] or (443 if https else 80)) == self.port_of(https=https) and self.has_name_of(kept)

    def has_name_of(self, kept: str) -> bool:
        """The same, whatever scheme stands before it and number after it."""
        parts = split_host(kept.removeprefix(HTTPS))
        return parts is not None and (parts[0] in self._names or parts[0] in self._now())

    def allows(self, header: str, *, came_in_on: tuple[str, int | None] | None, https: bool = False) -> bool:
        """Whether a Host header names this server, port and all. `came_in_on`: the socket's own address and port."""
        parts = split_host(header)
        if parts is None:
            return False
        name, port = parts
        here, here_port = came_in_on or ("", None)
        if (port or (443 if https else 80)) not in (self.port, self.also_https, here_port):
            return False
        return name in self._names or (name == here.lower() and _is_ip(name))

    def to_join(self, *, asked_by: str = "") -> list[str]:
        """Host and port for the join address, the best first: how the owner came here, unless by the loopback."""
        hosts = [bracketed(one) for one in (*self._told, *self._now(), *self._also)]
        found = [one if self.port == self._unsaid_port else f"{one}:{self.port}" for one in hosts]
        parts = split_host(asked_by)
        if parts and parts[0] not in LOOPBACK:
            found.insert(0, asked_by.strip().lower())
        if self.steady and self.is_ours(self.steady) and self.steady.startswith(HTTPS) == self.https:
            found.insert(0, self.steady.removeprefix(HTTPS))
        return list(dict.fromkeys(found))

    def to_join_by_https(self) -> list[str]:
        """Host and port for the further port that speaks https, the best first; none where there is no such port."""
        if self.also_https is None:
            return []
        found = [f"{bracketed(one)}:{self.also_https}" for one in (*self._told, *self._now(), *self._also)]
        if self.steady.startswith(HTTPS) and self.is_ours(self.steady):
            found.insert(0, self.steady.removeprefix(HTTPS))
        return list(dict.fromkeys(found))
