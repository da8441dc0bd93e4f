"""An error of a page's script lands in the log: one line, from devices that are in, and no more than a few."""

import logging

import pytest
from proofyard.api.faults import MOST_EACH_MINUTE
from starlette.testclient import TestClient

FAULT = {
    "message": "Cannot read properties of null",
    "where": "line.js:61:12",
    "stack": "TypeError: …\n    at drawArrows",
    "page": "/range",
    "at": 1_792_000_000_000,
}


def lines(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [record.getMessage() for record in caplog.records if "script of a page" in record.getMessage()]


def test_what_a_phone_tells_is_one_line_of_the_log(archer: TestClient, caplog: pytest.LogCaptureFixture) -> None:
    hostile = FAULT | {"message": "no\r\n2026-10-17 ERROR all is lost \x1b[2J\u202e"}
    with caplog.at_level(logging.ERROR, "proofyard"):
        assert archer.post("/api/faults", json=hostile).status_code == 204
    (line,) = lines(caplog)
    assert "line.js:61:12" in line and "archer" in line and line.isascii() and line.isprintable()


def test_a_viewer_is_in_and_a_stranger_or_another_site_is_not(
    viewer: TestClient, stranger: TestClient, archer: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    assert viewer.post("/api/faults", json=FAULT).status_code == 204
    assert stranger.post("/api/faults", json=FAULT).status_code == 401
    assert archer.post("/api/faults", json=FAULT, headers={"Origin": "http://elsewhere.example"}).status_code == 403
    assert len(lines(caplog)) == 1


def test_a_device_fills_no_log(archer: TestClient, viewer: TestClient, caplog: pytest.LogCaptureFixture) -> None:
    answers = [archer.post("/api/faults", json=FAULT) for _ in range(MOST_EACH_MINUTE + 3)]
    assert [answer.status_code for answer in answers] == [204] * MOST_EACH_MINUTE + [429] * 3
    assert len(lines(caplog)) == MOST_EACH_MINUTE
    assert viewer.post("/api/faults", json=FAULT).status_code == 204, "one device's faults keep no other's out"


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"[1]", 422),
        (b"{", 422),
        (b'{"message": ""}', 422),
        (b'{"message": 3}', 422),
        (b'{"message": "' + b"x" * 301 + b'"}', 422),
        (b"x" * 8001, 413),
    ],
)
def test_what_is_no_fault_or_too_long_is_refused_and_not_logged(
    archer: TestClient, caplog: pytest.LogCaptureFixture, body: bytes, status: int
) -> None:
    assert archer.post("/api/faults", content=body, headers={"Content-Type": "application/json"}).status_code == status
    assert lines(caplog) == []
