"""What this server did since it was started, counted for its owner: requests by route, how long they took, what phones saved.

Written as Prometheus reads it (its text format, version 0.0.4). Counts have few labels, each out of a list of ours: a route's own
template, never the address that somebody typed, so that nobody can make this grow. The library for it keeps its counts in one place for a
whole process; here each server has its own, and there is little to write.
"""

import math
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from fastapi.routing import iter_route_contexts
from starlette.routing import BaseRoute
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
METHODS = frozenset({"GET", "POST", "PUT", "DELETE", "PATCH", "OPTIONS"})
NO_ROUTE = "none"  # refused at the door, or no such page
STREAMS = "/live"  # open for hours: its time says nothing
BOUNDS_S = (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, math.inf)

Labels = tuple[tuple[str, str], ...]


class Counts:
    """The counts of one server. Any thread may count."""

    def __init__(self, routes: Callable[[], Sequence[BaseRoute]]) -> None:
        self._routes = routes
        self._lock = threading.Lock()
        self._requests: Counter[tuple[str, str, int]] = Counter()
        self._buckets: dict[str, list[int]] = {}
        self._seconds: Counter[str] = Counter()
        self._operations: Counter[str] = Counter()
        self._made_by_workers: list[tuple[object, str]] | None = None
        self.began = time.time()

    def request(self, method: str, template: str, status: int, seconds: float) -> None:
        """One request that was answered."""
        with self._lock:
            self._requests[method if method in METHODS else "other", template, status] += 1
            if template == STREAMS:
                return
            buckets = self._buckets.setdefault(template, [0] * len(BOUNDS_S))
            buckets[next(n for n, bound in enumerate(BOUNDS_S) if seconds <= bound)] += 1
            self._seconds[template] += seconds  # type: ignore[assignment]

    def operations(self, statuses: Iterable[str]) -> None:
        """What became of operations: applied, merged, clash, refused; "again" for one that had been taken before."""
        with self._lock:
            self._operations.update(statuses)

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
        return next((path for regex, path in self._made_by_workers if regex.match(scope["path"])), NO_ROUTE)  # type: ignore[attr-defined]

    def samples(self) -> Iterator["Family"]:
        """All of it, as it stands now."""
        with self._lock:
            requests, buckets = sorted(self._requests.items()), {name: list(found) for name, found in sorted(self._buckets.items())}
            seconds, operations = dict(self._seconds), sorted(self._operations.items())
        yield Family(
            "proofyard_requests_total",
            "counter",
            "Requests answered, by route and status.",
            [(_of(method=method, route=route, status=status), count) for (method, route, status), count in requests],
        )
        timed: list[tuple[Labels, float]] = []
        for route, found in buckets.items():
            so_far = 0
            for bound, count in zip(BOUNDS_S, found, strict=True):
                so_far += count
                timed.append(((("", "_bucket"), ("route", route), ("le", _number(bound))), so_far))
            timed += [((("", "_sum"), ("route", route)), seconds[route]), ((("", "_count"), ("route", route)), so_far)]
        yield Family("proofyard_request_seconds", "histogram", "Seconds until a request was answered whole, by route.", timed)
        yield Family(
            "proofyard_operations_total",
            "counter",
            "Operations of phones, by what became of them.",
            [(_of(status=status), count) for status, count in operations],
        )
        yield gauge("proofyard_started_seconds", "When this server was started, seconds since 1970.", self.began)


@dataclass(frozen=True)
class Family:
    """One metric with its samples. A label without a name is the end of the sample's own name."""

    name: str
    kind: str
    help: str
    samples: Sequence[tuple[Labels, float]]

    def lines(self) -> Iterator[str]:
        yield f"# HELP {self.name} {self.help}"
        yield f"# TYPE {self.name} {self.kind}"
        for labels, value in self.samples:
            end = "".join(said for name, said in labels if not name)
            said = ",".join(f'{name}="{_escaped(text)}"' for name, text in labels if name)
            yield f"{self.name}{end}{'{' + said + '}' if said else ''} {_number(value)}"


def gauge(name: str, help: str, value: float) -> Family:
    return Family(name, "gauge", help, [((), value)])


def gauges(name: str, help: str, label: str, values: Iterable[tuple[str, float]]) -> Family:
    return Family(name, "gauge", help, [(((label, said),), value) for said, value in values])


def written(families: Iterable[Family]) -> str:
    """As Prometheus reads it."""
    return "".join(f"{line}\n" for family in families for line in family.lines())


def _of(**labels: object) -> Labels:
    return tuple((name, str(value)) for name, value in labels.items())


def _escaped(text: str) -> str:
    return text.replace("\\", r"\\").replace('"', r"\"").replace("\n", r"\n")


def _number(value: float) -> str:
    return "+Inf" if value == math.inf else repr(value) if isinstance(value, float) and not value.is_integer() else str(int(value))


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
