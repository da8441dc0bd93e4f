"""What phones at the range ask for instead of a stream."""

import time

import pytest
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit


def test_changes_are_told_in_order_and_nothing_is_204(archer: TestClient, book: Storage) -> None:
    seq = archer.get("/api/changes").json()["seq"]
    nothing = archer.get(f"/api/changes?since={seq}")
    assert (nothing.status_code, nothing.content) == (204, b"")
    wren = kit.archer(book, "Wren")
    kit.put(book, "archer", {"hand": "left"}, record_id=wren, base_rev=1)
    told = archer.get(f"/api/changes?since={seq}").json()
    assert told["seq"] == seq + 2
    assert [(one["noun"], one["id"], one["rev"], one["action"]) for one in told["changes"]] == [
        ("archer", wren, 1, "make"),
        ("archer", wren, 2, "change"),
    ]


def test_a_phone_that_was_away_long_asks_on_until_it_has_all(archer: TestClient, book: Storage) -> None:
    since = archer.get("/api/changes").json()["seq"]
    made = set(kit.put_all(book, [("archer", {"call_name": f"Archer {n}"}) for n in range(1100)]))
    seen, asked = [], 0
    while (answer := archer.get(f"/api/changes?since={since}")).status_code == 200:
        told = answer.json()
        seen += [one["id"] for one in told["changes"]]
        since, asked = told["seq"], asked + 1
    assert asked == 3
    assert len(seen) == 1100 and set(seen) == made


def test_a_number_beyond_the_book_is_answered_with_nothing(viewer: TestClient) -> None:
    assert viewer.get("/api/changes?since=999999").status_code == 204


@pytest.mark.parametrize("since", ["-1", "x", "1.5", "1" * 40])
def test_what_is_no_number_is_said_to_be_so(archer: TestClient, since: str) -> None:
    assert archer.get(f"/api/changes?since={since}").status_code == 422


def test_the_ping_gives_the_time_to_anyone_and_the_book_to_those_let_in(stranger: TestClient, viewer: TestClient) -> None:
    now = time.time() * 1000
    assert set(stranger.get("/api/ping").json()) == {"now_ms"}
    told = viewer.get("/api/ping").json()
    assert abs(told["now_ms"] - now) < 5000
    assert {"book_id", "epoch", "seq", "op_version"} <= set(told)
