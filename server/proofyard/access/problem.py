"""The programs' interface and what is said there when something can't be had: problem details, RFC 9457.

Whoever asks under `/api/v1` shows a token in the Authorization header (RFC 6750), and then no cookie of the same request counts.
A token counts nowhere else.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

INTERFACE = "/api/v1"
MEDIA_TYPE = "application/problem+json"
MOST_ASKED_A_MINUTE = 120
_CODES: Mapping[int, str] = {
    400: "not_understood",
    401: "no_token",
    403: "not_allowed",
    404: "not_found",
    405: "not_possible_here",
    409: "changed_meanwhile",
    413: "too_big",
    422: "not_usable",
    429: "too_often",
    500: "our_fault",
    503: "try_again",
    507: "book_full",
}


@dataclass(frozen=True)
class FieldProblem:
    """What is wrong with one parameter, or one field of what was sent."""

    field: str
    sentence: str


def is_for_programs(path: str) -> bool:
    """Whether a path belongs to the programs' interface."""
    return path == INTERFACE or path.startswith(INTERFACE + "/")


def problem(status: int, detail: str, *, code: str = "", fields: Iterable[FieldProblem] = (), fault: str = "") -> dict[str, Any]:
    """The problem as JSON. `code` is for programs, `detail` for people; `fault` stands in the server's log too."""
    said: dict[str, Any] = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "code": code or _CODES.get(status, "not_done"),
        "detail": detail,
    }
    if found := [{"field": one.field, "sentence": one.sentence} for one in fields]:
        said["fields"] = found
    if fault:
        said["fault"] = fault
    return said


def problem_bytes(said: Mapping[str, Any]) -> bytes:
    return json.dumps(said, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "replace")
