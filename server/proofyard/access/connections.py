"""Whose connection may stay: how many there are, how long one may be silent, and which one gives way to the next.

Anybody in the network may open connections, and one costs the laptop little, so nobody is asked who they are. But they
are counted by address, those that ask nothing are closed, and where all places are taken the one that has been idle
longest gives way. Places of the laptop's own browser and of phones that are in are never given to strangers.

Plain bookkeeping on the event loop's thread: what speaks HTTP is server/listening.py.
"""

import asyncio
import math
import re
import threading
import time
from collections import Counter, defaultdict, deque
from collections.abc import Callable, Iterable, Sequence
from typing import Protocol

from fastapi.routing import iter_route_contexts
from starlette.routing import BaseRoute
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST = 768  # each holds a file open; systems give a program at least 1024 of them
MOST_OF_STRANGERS = 256
MOST_EACH = 64  # a browser keeps six
MOST_EACH_STRANGER = 24
HEADERS_WITHIN_S = 10.0
IDLE_S = 30.0  # between two requests
BODY_SILENT_S = 20.0  # a photo on a bad line stops and goes on
STRANGERS_BODY_WITHIN_S = 20.0  # a stranger has a name to send, no more
UNREAD_S = 60.0  # nobody takes what we send
HANDSHAKE_WITHIN_S = 10.0
MOST_HANDSHAKES = 64
SWEEP_EVERY_S = 1.0
METHODS = frozenset({"GET", "POST", "PUT", "DELETE", "PATCH", "OPTIONS"})
NO_ROUTE = "none"  # refused at the door, or no such page
STREAMS = "/live"  # open for hours: its time says nothing
BOUNDS_S = (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, math.inf)
OWN = frozenset({"127.0.0.1", "::1"})
# In which order connections give way: those that ask nothing, then those that only listen for changes.
NEW, IDLE, BODY, ANSWERING, LISTENING = "new", "idle", "body", "answering", "listening"
GIVES_WAY = {NEW: 0, IDLE: 0, LISTENING: 1}


class Closable(Protocol):
    """What holds the connection itself."""

    def close_now(self) -> None:
        """Let go of it at once."""


class Connection:
    """One connection: where it stands in its request and since when.

    seated  a request on it came from a phone that is in, or the owner
    whose   the group that it sits in, where a server has several
    """

    __slots__ = ("address", "began", "hand", "seated", "since", "state", "unread_since", "whose")

    def __init__(self, address: str, hand: Closable, now: float) -> None:
        self.address, self.hand, self.since, self.began = address, hand, now, now
        self.state, self.seated, self.whose = NEW, False, ""
        self.unread_since: float | None = None

    def overdue(self, now: float) -> bool:
        """Whether it has been silent, or slow, for longer than it may."""
        if self.unread_since is not None and now - self.unread_since > UNREAD_S:
            return True
        if self.state == NEW:
            return now - self.began > HEADERS_WITHIN_S
        if self.state == IDLE:
            return now - self.since > IDLE_S
        if self.state == BODY:
            return now - self.since > BODY_SILENT_S or (not self.seated and now - self.began > STRANGERS_BODY_WITHIN_S)
        return False


class Places(Protocol):
    """What the gate of one book tells of connections, and may know of them."""

    def __len__(self) -> int: ...

    def seated(self, key: object) -> None: ...

    def listens(self, key: object) -> None: ...


class Connections:
    """All connections of one server."""

    def __init__(self, *, clock: Callable[[], float] = time.monotonic, proxies: Iterable[str] = ()) -> None:
        self._clock = clock
        self._own = OWN | frozenset(proxies)  # whoever stands in front counts those behind itself
        self._all: dict[object, Connection] = {}
        self.most = MOST
        self.handshakes = Handshakes(clock=clock)

    def __len__(self) -> int:
        return len(self._all)

    def begin(self, key: object, address: str, hand: Closable) -> Connection | None:
        """A place for a new connection, for which an idle one may give way; None if there is none."""
        if address not in self._own:
            here = [one for one in self._all.values() if one.address == address]
            strangers = [one for one in here if not one.seated]
            if len(here) >= MOST_EACH and not self._gives_way(here):
                return None
            if len(strangers) >= MOST_EACH_STRANGER and not self._gives_way(strangers):
                return None
            outside = [one for one in self._all.values() if not one.seated and one.address not in self._own]
            if len(outside) >= MOST_OF_STRANGERS and not self._gives_way(_of_the_fullest(outside)):
                return None
        if len(self._all) >= self.most and not self._makes_room(address):
            return None
        made = self._all[key] = Connection(address, hand, self._clock())
        return made

    def _makes_room(self, address: str) -> bool:
        everyone = list(self._all.values())
        outside = [one for one in everyone if not one.seated and one.address not in self._own]
        seated = [one for one in everyone if one.seated and one.address not in self._own]
        own = everyone if address in self._own else []
        return any(self._gives_way(some) for some in (_of_the_fullest(outside), _of_the_fullest(seated), own))

    def _gives_way(self, some: list[Connection]) -> bool:
        """Close the one that asks nothing for longest, or else listens for longest; whether there was one."""
        idle = [one for one in some if one.state in GIVES_WAY]
        if not idle:
            return False
        self._close(min(idle, key=lambda one: (GIVES_WAY[one.state], one.since)))
        return True

    def _close(self, one: Connection) -> None:
        for key in [key for key, other in self._all.items() if other is one]:
            del self._all[key]
        one.hand.close_now()

    def end(self, key: object) -> None:
        self._all.pop(key, None)

    def seated(self, key: object) -> None:
        """Whoever is at the other end of this connection is in."""
        found = self._all.get(key)
        if found is not None:
            found.seated = True

    def seated_in(self, whose: str, key: object) -> None:
        """The same, in one group of several."""
        self.seated(key)
        found = self._all.get(key)
        if found is not None:
            found.whose = whose

    def of(self, whose: str) -> int:
        """How many connections sit in this group."""
        return sum(one.whose == whose for one in self._all.values())

    def listens(self, key: object) -> None:
        """This connection waits for changes and asks nothing else."""
        found = self._all.get(key)
        if found is not None:
            found.state = LISTENING

    def now(self) -> float:
        return self._clock()

    def sweep(self) -> int:
        """Close those that are overdue; how many."""
        now = self._clock()
        late = [one for one in self._all.values() if one.overdue(now)]
        for one in late:
            self._close(one)
        return len(late)


class Handshakes:
    """Connections that have not shown yet whether they speak https: no protocol has seen them, so they are counted apart.

    One that fails is not heard of, so each counts as long as one may take. The laptop's own are never refused.
    """

    def __init__(self, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._since: dict[object, tuple[str, float]] = {}

    def begin(self, key: object, address: str) -> bool:
        """Whether one more may begin."""
        now = self._clock()
        for old in [old for old, (_, since) in self._since.items() if now - since > HANDSHAKE_WITHIN_S]:
            del self._since[old]
        here = sum(at == address for at, _ in self._since.values())
        if address not in OWN and (len(self._since) >= MOST_HANDSHAKES or here >= MOST_EACH_STRANGER):
            return False
        self._since[key] = (address, now)
        return True

    def done(self, key: object) -> None:
        self._since.pop(key, None)


async def sweep_for_ever(connections: Connections) -> None:
    while True:
        await asyncio.sleep(SWEEP_EVERY_S)
        connections.sweep()


def _of_the_fullest(some: list[Connection]) -> list[Connection]:
    """Those of the address that has most of them: whoever takes the most gives way first."""
    if not some:
        return []
    fullest = Counter(one.address for one in some if one.state in GIVES_WAY).most_common(1)
    return [one for one in some if fullest and one.address == fullest[0][0]]


# How much one address may ask of the laptop at once. For pace only: no right ever comes from an address.

MOST_ADDRESSES = 1000


class Pace:
    """At most `most` times in `within_s` seconds, for each address."""

    def __init__(self, most: int, within_s: float, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._most, self._within, self._clock = most, within_s, clock
        self._times: dict[str, deque[float]] = {}

    def wait_s(self, address: str) -> float:
        """0 and counted, or the seconds until it may be tried again."""
        now = self._clock()
        times = self._times.setdefault(address, deque())
        while times and now - times[0] >= self._within:
            times.popleft()
        if len(times) >= self._most:
            return self._within - (now - times[0])
        times.append(now)
        if len(self._times) > MOST_ADDRESSES:
            self._forget_idle(now)
        return 0.0

    def _forget_idle(self, now: float) -> None:
        for address in [one for one, times in self._times.items() if not times or now - times[-1] >= self._within]:
            del self._times[address]


class InHand:
    """Requests that are being answered now: in all, and for each address. Used on one thread, the event loop's."""

    def __init__(self, *, most: int, most_each: int) -> None:
        self._most, self._most_each = most, most_each
        self._all = 0
        self._each: dict[str, int] = {}

    def begin(self, address: str, *, leave: int = 0) -> bool:
        """Whether one more may begin, with so many places left for others; if so it counts until `end`."""
        here = self._each.get(address, 0)
        if self._all >= self._most - leave or here >= self._most_each:
            return False
        self._all += 1
        self._each[address] = here + 1
        return True

    def end(self, address: str) -> None:
        self._all -= 1
        left = self._each[address] - 1
        if left:
            self._each[address] = left
        else:
            del self._each[address]


class Counts:
    """What one server did, for its owner; any thread may count.

    Counts have few labels, each out of a list of ours: a route's own template, never the address that somebody typed, so that
    nobody can make this grow.
    """

    def __init__(self, routes: Callable[[], Sequence[BaseRoute]]) -> None:
        self._routes = routes
        self._lock = threading.Lock()
        self._requests: Counter[tuple[str, str, int]] = Counter()
        self._buckets: dict[str, list[int]] = {}
        self._seconds: defaultdict[str, float] = defaultdict(float)
        self._operations: Counter[str] = Counter()
        self._made_by_workers: list[tuple[re.Pattern[str], str]] | None = None
        self.began = time.time()

    def request(self, method: str, template: str, status: int, seconds: float) -> None:
        """One request that was answered."""
        with self._lock:
            self._requests[method if method in METHODS else "other", template, status] += 1
            if template == STREAMS:
                return
            buckets = self._buckets.setdefault(template, [0] * len(BOUNDS_S))
            buckets[next(n for n, bound in enumerate(BOUNDS_S) if seconds <= bound)] += 1
            self._seconds[template] += seconds

    def operations(self, statuses: Iterable[str]) -> None:
        """What became of operations: applied, merged, clash, refused; "again" for one that had been taken before."""
        with self._lock:
            self._operations.update(statuses)

    def now(self) -> tuple[list[tuple[tuple[str, str, int], int]], dict[str, list[int]], dict[str, float], list[tuple[str, int]]]:
        """Requests by (method, route, status); by route how many took up to each of `BOUNDS_S`, and seconds in all; operations."""
        with self._lock:
            buckets = {name: list(found) for name, found in sorted(self._buckets.items())}
            return sorted(self._requests.items()), buckets, dict(self._seconds), sorted(self._operations.items())

    def template_of(self, scope: Scope, status: int) -> str:
        """The route that answered. A page of a worker was routed there, so its route is looked for here."""
        route = scope.get("route")
        if route is not None or status >= 400:
            return str(getattr(route, "path", NO_ROUTE))
        if self._made_by_workers is None:
            found = [
                (getattr(one, "path_regex", None), str(one.path))
                for one in iter_route_contexts(self._routes())
                if "GET" in (one.methods or ())
            ]
            self._made_by_workers = [(regex, path) for regex, path in found if regex is not None]
        return next((path for regex, path in self._made_by_workers if regex.match(scope["path"])), NO_ROUTE)


class CountsRequests:
    """Around the door, so that what it refuses is counted too."""

    def __init__(self, app: ASGIApp, counts: Counts) -> None:
        self.app, self.counts = app, counts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        began, status = time.perf_counter(), 500  # what raises has answered nothing

        async def watched(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, watched)
        finally:
            template = self.counts.template_of(scope, status)
            self.counts.request(scope["method"], template, status, time.perf_counter() - began)
