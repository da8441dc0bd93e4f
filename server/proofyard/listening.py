"""HTTP with a clock: uvicorn's own protocol, whose connections are counted and closed by server/proofyard/access/connections.py;
and the server at one port or two, of which one may speak https.

uvicorn itself has one limit for all and none for a request that never ends, so that a few hundred silent connections
would shut everybody out.
"""

import asyncio
import logging
import socket
import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import h11
from uvicorn import Config
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.server import Server, ServerState

from proofyard.access.connections import ANSWERING, BODY, HANDSHAKE_WITHIN_S, IDLE, NEW, Connection, Connections, Handshakes

LEFT_FOR_FILES = 128  # the book, photos, copies, threads
FULL = b"The laptop has as many connections as it takes. Nothing was lost: try again in a moment."
REFUSED = (
    b"HTTP/1.1 503 Service Unavailable\r\ncontent-type: text/plain; charset=utf-8\r\nconnection: close\r\nretry-after: 2\r\n"
    b"content-length: " + str(len(FULL)).encode() + b"\r\n\r\n" + FULL
)


@dataclass(frozen=True)
class Port:
    """A socket that listens, and how it speaks https; plain http without."""

    listener: socket.socket
    speaks: ssl.SSLContext | None = None


class CountedListener(socket.socket):
    """Lets in no more that have yet to show whether they speak https than `handshakes` takes.

    asyncio tells nobody of a connection before that, and each holds a file open. (On Windows asyncio accepts by other means:
    there only the time is limited.)
    """

    handshakes: Handshakes

    def accept(self) -> tuple[socket.socket, Any]:
        made, address = super().accept()
        if self.handshakes.begin(tuple(address[:2]), str(address[0])):
            return made, address
        made.close()
        raise BlockingIOError  # to asyncio: none more for now


def counted(listener: socket.socket, handshakes: Handshakes) -> CountedListener:
    """The same listening socket, counted; `listener` itself is let go of."""
    made = CountedListener(listener.family, listener.type, listener.proto, fileno=listener.detach())
    made.handshakes = handshakes
    return made


class OneLineOfAStop(logging.Filter):
    """What a stop cuts off is no fault: one line of all of it, in place of a trace for each answer."""

    said = "Stopped before %s answers were out: pages that take long. Whoever waits for one asks again."

    def filter(self, record: logging.LogRecord) -> bool:
        if record.exc_info and isinstance(record.exc_info[1], asyncio.CancelledError):
            return False
        if str(record.msg).startswith("Cancel %s running task(s)"):
            record.msg = self.said
        return True


ONE_LINE_OF_A_STOP = OneLineOfAStop()


class ServerOfPorts(Server):
    """uvicorn's server, at ports of which each speaks http or https, with a limit for how long a handshake may take.

    Without `ports` it serves the sockets that it is run with, by plain http.
    """

    def __init__(self, config: Config, ports: Sequence[Port] = ()) -> None:
        super().__init__(config)
        self._ports = ports
        logging.getLogger("uvicorn.error").addFilter(ONE_LINE_OF_A_STOP)  # the config is made, and has set logging up

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=[])
        self.started = False

        def speaker() -> asyncio.Protocol:
            return self.config.http_protocol_class(  # type: ignore[call-arg]
                config=self.config, server_state=self.server_state, app_state=self.lifespan.state
            )

        loop, backlog = asyncio.get_running_loop(), self.config.backlog
        for port in self._ports or [Port(one) for one in sockets or []]:
            within = HANDSHAKE_WITHIN_S if port.speaks else None
            self.servers.append(
                await loop.create_server(speaker, sock=port.listener, ssl=port.speaks, backlog=backlog, ssl_handshake_timeout=within)
            )
        self.started = True


def protocol_for(connections: Connections) -> type[H11Protocol]:
    """The protocol class that a server is told to speak."""

    class Counted(CountedProtocol):
        places = connections

    return Counted


class CountedProtocol(H11Protocol):
    """One connection, which tells the count where it stands."""

    places: Connections

    def __init__(
        self, config: Config, server_state: ServerState, app_state: dict[str, Any], _loop: asyncio.AbstractEventLoop | None = None
    ) -> None:
        super().__init__(config, server_state, app_state, _loop)
        self._place: Connection | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self.places.handshakes.done(self.client)
        # The client's address and port are what the app sees of a connection, so they are its name.
        self._place = self.places.begin(self.client, self.client[0] if self.client else "", self)
        if self._place is None:
            transport.write(REFUSED)
            transport.close()

    def connection_lost(self, exc: Exception | None) -> None:
        if self._place is not None:
            self.places.end(self.client)
        super().connection_lost(exc)

    def close_now(self) -> None:
        """Without a word: whoever is silent hears nothing either."""
        self._place = None  # its name may be another's by the time it is lost
        if not self.transport.is_closing():
            self.transport.abort()

    def data_received(self, data: bytes) -> None:
        if self.transport.is_closing():
            return
        place, now = self._place, self.places.now()
        if place is not None:
            if place.state == IDLE:
                place.state, place.began = NEW, now  # the next request begins: its headers have their own time
            place.since = now
        super().data_received(data)

    def handle_events(self) -> None:
        super().handle_events()
        place = self._place
        if place is None or self.cycle is None:
            return
        if self.cycle.response_complete:
            if place.state == BODY and self.conn.their_state is not h11.SEND_BODY:  # the rest of a body answered early
                place.state, place.since = IDLE, self.places.now()
        elif self.conn.their_state is h11.SEND_BODY:
            if place.state != BODY:
                place.state, place.began = BODY, self.places.now()
        elif place.state in (NEW, IDLE, BODY):
            place.state = ANSWERING

    def on_response_complete(self) -> None:
        # An answer may be out before its body came whole: the body's own time goes on, or half of one would hold a place.
        if self._place is not None and self.conn.their_state is not h11.SEND_BODY:
            self._place.state, self._place.since = IDLE, self.places.now()
        super().on_response_complete()

    def pause_writing(self) -> None:
        if self._place is not None:
            self._place.unread_since = self.places.now()
        super().pause_writing()

    def resume_writing(self) -> None:
        if self._place is not None:
            self._place.unread_since = None
        super().resume_writing()


def room_for(most: int) -> int:
    """How many connections this system lets the program hold, `most` at most; its limit of open files is raised for it."""
    try:
        import resource
    except ImportError:  # Windows has no such limit
        return most
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = most + LEFT_FOR_FILES
    if soft != resource.RLIM_INFINITY and soft < wanted:
        soft = wanted if hard == resource.RLIM_INFINITY else min(hard, wanted)
        try:
            resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
        except (OSError, ValueError):
            soft = resource.getrlimit(resource.RLIMIT_NOFILE)[0]
    return most if soft == resource.RLIM_INFINITY else max(32, min(most, soft - LEFT_FOR_FILES))
