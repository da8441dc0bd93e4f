"""Behind a reverse proxy: whose word about the phone is taken, and an address below which all of it stands.

The app itself knows nothing of either. Each of its addresses is written in our own templates and scripts as a whole, from `/` on, so
one place can put the path before them on the way out, and take it away on the way in.
"""

import ipaddress
import re
from collections.abc import Iterable, Sequence
from typing import Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send

PROXIED = "proofyard.proxied"  # in the scope of a request that a named proxy handed on
PATH = re.compile(r"(/[a-z0-9](?:[a-z0-9._-]*[a-z0-9])?)+", re.IGNORECASE)
MOST_PATH = 100
# Attributes of ours that hold an address. What somebody typed stands in none of them: a quotation mark of theirs is escaped.
ATTRIBUTES = rb"href|src|action|formaction|poster|hx-get|hx-post|data-live|data-glyphs|data-worker|data-scope"
IN_A_PAGE = re.compile(rb"(\s(?:" + ATTRIBUTES + rb')=")/(?!/)')
# In our scripts: a text that begins with an address. A test reads all of them.
IN_A_SCRIPT = re.compile(rb"([\"'`])/(?=[a-z])")
REWRITTEN = {b"text/html": IN_A_PAGE, b"text/javascript": IN_A_SCRIPT}
OURS = re.compile(rb"^(__Host-)?(proofyard_)")  # the cookies of a seat, and of asking for one
ADDRESSES = frozenset({b"location", b"hx-redirect"})
FOR, PROTO, HOST = b"x-forwarded-for", b"x-forwarded-proto", b"x-forwarded-host"


class BehindProxies:
    """Takes a named proxy's word for who asks, by which scheme and at which host. From anybody else such words are nothing.

    Each is added by the proxy that is nearest at the end of the line, so it is read from there: what a client put before it
    is nobody's word. uvicorn's own way takes no host, and believes the first scheme.
    """

    def __init__(self, app: ASGIApp, proxies: Iterable[str]) -> None:
        self.app, self.proxies = app, frozenset(map(same_address, proxies))

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and same_address((scope.get("client") or ("", 0))[0]) in self.proxies:
            scope = self._as_it_says(scope)
        await self.app(scope, receive, send)

    def _as_it_says(self, scope: Scope) -> Scope:
        said = {name: _listed(scope, name) for name in (FOR, PROTO, HOST)}
        headers = [pair for pair in scope["headers"] if pair[0] not in said]
        scope = {**scope, "headers": headers, PROXIED: scope["client"]}
        client = next((one for one in reversed(said[FOR]) if same_address(one) not in self.proxies), "")
        if is_address(client):
            scope["client"] = (same_address(client), 0)
        if said[PROTO] and said[PROTO][-1].lower() in ("http", "https"):
            scope["scheme"] = said[PROTO][-1].lower()
        if said[HOST]:
            headers[:] = [pair for pair in headers if pair[0] != b"host"]
            headers.append((b"host", said[HOST][-1].encode("latin-1")))
        # The port that phones know is the proxy's: a Host header is held to our names, not to our port.
        host = next((value for name, value in headers if name == b"host"), b"").decode("latin-1")
        port = host.rpartition(":")[2]
        scope["server"] = ("", int(port) if port.isdigit() and len(port) < 6 else 443 if scope.get("scheme") == "https" else 80)
        return scope


def _listed(scope: Scope, wanted: bytes) -> list[str]:
    whole = b",".join(value for name, value in scope["headers"] if name == wanted)
    return [one.strip() for one in whole.decode("latin-1").split(",") if one.strip()]


def is_address(text: str) -> bool:
    """Whether this is an IP address."""
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return False
    return True


def same_address(text: str) -> str:
    """An address in its one form: an IPv4 address that came by IPv6 is that IPv4 address."""
    try:
        address = ipaddress.ip_address(text.strip("[]").partition("%")[0])
    except ValueError:
        return text
    mapped = getattr(address, "ipv4_mapped", None)
    return str(mapped or address)


class BelowPath:
    """All of it below one path: taken off what is asked, put before where an answer leads and where its cookies hold.

    A proxy may take the path off itself, or hand it on: both come here alike.
    """

    def __init__(self, app: ASGIApp, path: str) -> None:
        self.app, self.path = app, path

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        asked = scope["path"]
        if asked == self.path:
            await _lead_to(send, self.path + "/")
            return
        if asked.startswith(self.path + "/"):
            raw = scope.get("raw_path") or b""
            scope = {**scope, "path": asked[len(self.path) :], "raw_path": raw.removeprefix(self.path.encode())}
        # A cookie for a path can't have the prefix that is for whole hosts (RFC 6265bis, 4.1.3.2), so outside it has another.
        headers = [(name, value.replace(b"__Secure-", b"__Host-") if name == b"cookie" else value) for name, value in scope["headers"]]

        async def below(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [self._header(name, value) for name, value in message.get("headers", ())]
            await send(message)

        await self.app({**scope, "headers": headers}, receive, below)

    def _header(self, name: bytes, value: bytes) -> tuple[bytes, bytes]:
        path, lower = self.path.encode(), name.lower()
        if lower in ADDRESSES and value.startswith(b"/") and not value.startswith(b"//"):
            return name, path + value
        if lower == b"set-cookie":
            value = value.replace(b"__Host-", b"__Secure-", 1) if value.startswith(b"__Host-") else value
            return name, re.sub(rb"; path=/(?=;|$)", b"; Path=" + path, value, flags=re.IGNORECASE)
        return name, value


class OwnCookies:
    """The seats of one group on a server of several: each cookie of ours has the group's name before its own.

    A browser sends it to the group's path alone. But a book that stood at the root of the same address before had cookies for every
    path, and of two of one name only one is read. Stands within `BelowPath`. The units and the light of pages are nobody's secret, and
    scripts read them by their names.
    """

    def __init__(self, app: ASGIApp, group: str) -> None:
        self.app, self.mark = app, group.encode() + b"."

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = [(name, self._read(value) if name == b"cookie" else value) for name, value in scope["headers"]]

        async def marked(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [
                    (name, OURS.sub(rb"\g<1>" + self.mark + rb"\g<2>", value, count=1) if name.lower() == b"set-cookie" else value)
                    for name, value in message.get("headers", ())
                ]
            await send(message)

        await self.app({**scope, "headers": headers}, receive, marked)

    def _read(self, header: bytes) -> bytes:
        """What a browser shows, without seats of others, and ours by the names that the app knows."""
        kept = []
        for one in map(bytes.strip, header.split(b";")):
            secure, name = (b"__Host-", one.removeprefix(b"__Host-")) if one.startswith(b"__Host-") else (b"", one)
            if name.startswith(self.mark):
                kept.append(secure + name.removeprefix(self.mark))
            elif b"proofyard_" not in name.partition(b"=")[0]:
                kept.append(one)
        return b"; ".join(kept)


class AddressesBelow:
    """Puts the path before each address in a page or a script of ours. Stands within what packs answers."""

    def __init__(self, app: ASGIApp, path: str) -> None:
        self.app, self.path = app, path.encode()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        if scope["path"].endswith(".js"):  # kept packed, but here it is read
            scope = {**scope, "headers": [pair for pair in scope["headers"] if pair[0] != b"accept-encoding"]}
        held: list[Message] = []
        pieces: list[bytes] = []

        async def rewritten(message: Message) -> None:
            if message["type"] == "http.response.start" and _kind(message["headers"]) in REWRITTEN:
                held.append(message)
                return
            if not held or message["type"] != "http.response.body":
                await send(message)
                return
            pieces.append(message.get("body", b""))
            if not message.get("more_body"):
                await self._send(held[0], b"".join(pieces), send)

        await self.app(scope, receive, rewritten)

    async def _send(self, start: Message, body: bytes, send: Send) -> None:
        body = REWRITTEN[_kind(start["headers"])].sub(rb"\g<1>" + self.path + b"/", body)
        headers = [(name, str(len(body)).encode() if name.lower() == b"content-length" else value) for name, value in start["headers"]]
        await send({**start, "headers": headers})
        await send({"type": "http.response.body", "body": body})


def _kind(headers: Sequence[tuple[bytes, bytes]]) -> bytes:
    """What an answer is, unless it is packed already or a file to keep."""
    named: dict[bytes, Any] = {name.lower(): value for name, value in headers}
    if b"content-encoding" in named or b"content-disposition" in named:
        return b""
    return bytes(named.get(b"content-type", b"").partition(b";")[0].strip())


async def _lead_to(send: Send, where: str) -> None:
    await send({"type": "http.response.start", "status": 308, "headers": [(b"location", where.encode()), (b"content-length", b"0")]})
    await send({"type": "http.response.body", "body": b""})


def path_of(text: str) -> str | None:
    """What somebody gave as a path, as it is used: with a `/` before it and none behind; nothing if it is none."""
    said = "/" + text.strip("/")
    if said == "/":
        return ""
    return said if len(said) <= MOST_PATH and PATH.fullmatch(said) and ".." not in said else None
