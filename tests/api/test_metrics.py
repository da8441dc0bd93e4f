"""/metrics: read by the parser of Prometheus's own Python client, which shares no code with what writes it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from proofyard.access.connections import Counts
from proofyard.live.metrics import Family, written
from proofyard.records.ids import new_id
from proofyard.records.operations import OP_VERSION
from starlette.testclient import TestClient

from tests.conftest import House, missing


def parsed(text: str) -> dict[str, dict[tuple[tuple[str, str], ...], float]]:
    """Sample name -> labels -> value, by the parser from outside."""
    try:
        from prometheus_client.parser import text_string_to_metric_families
    except ImportError:
        missing("prometheus-client is not installed, and reads what /metrics writes")
    found: dict[str, dict[tuple[tuple[str, str], ...], float]] = {}
    for family in text_string_to_metric_families(text):
        assert family.documentation and family.type in ("counter", "gauge", "histogram"), family
        for sample in family.samples:
            labels = tuple(sorted(sample.labels.items()))
            assert labels not in found.setdefault(sample.name, {}), f"{sample.name} {labels} twice"
            found[sample.name][labels] = sample.value
    return found


def asked(owner: TestClient) -> dict[str, dict[tuple[tuple[str, str], ...], float]]:
    answer = owner.get("/metrics")
    assert answer.status_code == 200 and answer.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    return parsed(answer.text)


def of(**labels: str) -> tuple[tuple[str, str], ...]:
    return tuple(sorted(labels.items()))


def operation(**more: Any) -> dict[str, Any]:
    body = {"call_name": "Finch"}
    return {"op_id": new_id(), "action": "put", "noun": "archer", "record_id": new_id(), "body": body, **more}


def test_requests_are_counted_by_the_routes_template_and_status(owner: TestClient, archer: TestClient, stranger: TestClient) -> None:
    before = asked(owner).get("proofyard_requests_total", {})
    for _ in range(3):
        archer.get("/kit/bow/new")
    archer.get("/kit/panel/new")
    archer.head("/kit/arrow/new")
    stranger.get("/kit/bow/new")
    stranger.get("/made/up/by/somebody")
    stranger.get("/join", headers={"Host": "evil.example"})
    after = asked(owner)["proofyard_requests_total"]

    def more(**labels: str) -> float:
        return after.get(of(**labels), 0) - before.get(of(**labels), 0)

    assert more(method="GET", route="/kit/{noun}/new", status="200") == 5, "a HEAD is answered by the same route"
    assert more(method="GET", route="/kit/{noun}/new", status="401") == 1
    assert more(method="GET", route="none", status="404") + more(method="GET", route="none", status="401") == 1
    assert more(method="GET", route="none", status="400") == 1
    assert not any("made" in dict(labels)["route"] for labels in after), "an address that somebody typed is no label"


def test_each_routes_times_add_up_and_grow_with_their_bounds(owner: TestClient) -> None:
    owner.get("/more")
    found = asked(owner)
    buckets = {
        dict(labels)["le"]: value for labels, value in found["proofyard_request_seconds_bucket"].items() if ("route", "/more") in labels
    }
    counts = [buckets[bound] for bound in sorted(buckets, key=float)]
    assert counts == sorted(counts) and counts[-1] == found["proofyard_request_seconds_count"][of(route="/more")] >= 1
    assert 0 < found["proofyard_request_seconds_sum"][of(route="/more")] < 60


def test_saves_and_refused_operations_are_counted_as_the_phone_was_told(owner: TestClient, archer: TestClient) -> None:
    def counted() -> dict[str, float]:
        return {dict(labels)["status"]: value for labels, value in asked(owner).get("proofyard_operations_total", {}).items()}

    held = asked(owner)["proofyard_operations_in_the_book"][()]
    good, bad = operation(), operation(noun="bow", body={"name": ""})
    statuses = []
    for ops in ([good, bad, {"nothing": 1}], [good]):
        answer = archer.post("/api/ops", json={"op_v": OP_VERSION, "ops": ops})
        statuses += ["again" if one["again"] else one["status"] for one in answer.json()["answers"]]
    assert statuses == ["applied", "refused", "refused", "again"], statuses
    assert counted() == {"applied": 1, "refused": 2, "again": 1}
    assert asked(owner)["proofyard_operations_in_the_book"][()] == held + 1


def test_the_book_its_seats_and_its_workers_are_told(owner: TestClient, house: House) -> None:
    found = asked(owner)
    assert found["proofyard_book_bytes"][of(file="book")] == house.storage.path.stat().st_size > 0
    seats = {dict(labels)["role"]: value for labels, value in found["proofyard_seats"].items()}
    assert seats == {"owner": 1, "archer": 1, "viewer": 1}
    assert found["proofyard_page_workers"][()] == 0 == found["proofyard_page_workers_busy"][()]
    assert found["proofyard_started_seconds"][()] > 1_700_000_000


@pytest.mark.parametrize("role", ["archer", "viewer", "stranger"])
def test_it_is_the_owners_alone(house: House, role: str) -> None:
    answer = house.client(role).get("/metrics")
    assert answer.status_code in (401, 403) and "proofyard_requests_total" not in answer.text


def test_a_page_that_a_worker_made_is_counted_under_its_route(house: House) -> None:
    counts = Counts(lambda: house.app.routes)
    assert counts.template_of({"path": "/trials/01a2-b"}, 200) == "/trials/{trial_id}"
    assert counts.template_of({"path": "/results"}, 200) == "/results"
    assert counts.template_of({"path": "/results/of/nobody/at/all"}, 200) == "none"
    assert counts.template_of({"path": "/trials/01a2-b"}, 404) == "none"


def test_labels_and_numbers_are_written_as_the_format_asks() -> None:
    def families() -> Iterator[Family]:
        yield Family("one", "gauge", "Odd.", [((("name", 'a"b\\c\nd'),), 0.25), ((("name", "e"),), 1e9)])

    assert parsed(written(families()))["one"] == {of(name='a"b\\c\nd'): 0.25, of(name="e"): 1e9}
