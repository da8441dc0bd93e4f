"""What this server did since it was started, counted for its owner: requests by route, how long they took, what phones saved.

Written as Prometheus reads it (its text format, version 0.0.4). The library for it keeps its counts in one place for a whole process;
here each server has its own (server/proofyard/access/connections.py), and there is little to write.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from proofyard.access.connections import BOUNDS_S, Counts

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"

Labels = tuple[tuple[str, str], ...]


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


def samples(counts: Counts) -> Iterator[Family]:
    """All of it, as it stands now."""
    requests, buckets, seconds, operations = counts.now()
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
    yield gauge("proofyard_started_seconds", "When this server was started, seconds since 1970.", counts.began)
