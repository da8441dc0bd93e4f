"""All routes of the programs' interface, and the document that describes them (OpenAPI 3.1): served to anybody, since it tells nothing
of a book.
"""

import copy
import json
from functools import cache
from importlib import resources
from importlib.metadata import version
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.openapi.utils import get_openapi

from proofyard.access.problem import INTERFACE, MEDIA_TYPE, problem
from proofyard.api.v1 import book, comparisons, fifty_percent, kit, operations, plans, results, sessions, shots, trials
from proofyard.api.v1.asked import outside
from proofyard.api.v1.documented import FINDS_NOTHING
from proofyard.api.v1.operations import OperationsSent
from proofyard.api.v1.shapes import Problem

ROUTES = APIRouter()
for _part in (book, trials, plans, sessions, shots, kit, results, fifty_percent, comparisons, operations):
    ROUTES.include_router(_part.router)

router = APIRouter()
router.include_router(ROUTES)

ABOUT = (
    "What the pages and the files of this book show, for programs. Quantities are in SI with the unit in the field’s name, and the "
    "standard uncertainty beside the value; why something can’t be told comes as a code and in words. Every answer has an ETag: ask again "
    "with If-None-Match, and 304 says that nothing changed. Lists come in parts: follow “next”. A token may ask 120 times in a minute."
)
# What every route may answer beside what is asked: name -> status, words, an example's detail.
_TROUBLES: dict[str, tuple[int, str, str]] = {
    "NoToken": (401, "No token, or one that no longer holds.", "Send a token that holds: “Authorization: Bearer …”."),
    "NotAllowed": (403, "The token may not do that.", "This token may only read."),
    "NotFound": (404, "Nothing of that id, or not for this token.", "The book has nothing of that id, or this token may not see it."),
    "NotUsable": (422, "A filter, a cursor or what was sent can’t be used: see “fields”.", "Part of the address can’t be used."),
    "TooOften": (429, "Asked too often: wait as “Retry-After” says.", "A program may ask 120 times in a minute. Wait 12 s, then go on."),
    "OurFault": (500, "A fault of ours, with a code that stands in the log.", "The laptop could not do that, and it is not your doing."),
    "TooBig": (413, "More than is taken at once.", "More than 512 KB in one go. Nothing was taken. Send fewer operations at once."),
    "BookFull": (507, "The disk is full.", "The disk is full: nothing was saved."),
    "TryAgain": (503, "The book can’t be read now, or too much is in hand.", "The laptop has its hands full. Try again in a moment."),
}


@router.get(f"{INTERFACE}/openapi.json", include_in_schema=False)
def openapi(request: Request) -> Response:
    """This interface as an OpenAPI document."""
    here = [{**document()["servers"][0], "url": outside(request, "") or "/"}]
    content = json.dumps(document() | {"servers": here}, ensure_ascii=False, separators=(",", ":")).encode()
    return Response(content, media_type="application/json", headers={"Cache-Control": "public, max-age=300"})


@cache
def document() -> dict[str, Any]:
    """The document, made once."""
    said = get_openapi(
        title="Proofyard",
        version=version("proofyard"),
        openapi_version="3.1.0",
        summary="Shots of reproduction arrows at reproduction armour",
        description=ABOUT,
        routes=ROUTES.routes,
        servers=[{"url": "/", "description": "The laptop that this document came from"}],
        license_info={"name": "MIT", "identifier": "MIT"},
    )
    parts = said.setdefault("components", {})
    parts["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer", "description": "Made by the owner under More, Programs."}}
    parts["responses"] = {name: _trouble(*told) for name, told in _TROUBLES.items()}
    for sort in (Problem, OperationsSent):
        shape = sort.model_json_schema(ref_template="#/components/schemas/{model}")
        parts["schemas"] |= shape.pop("$defs", {}) | {sort.__name__: shape}
    for unused in ("HTTPValidationError", "ValidationError"):
        parts["schemas"].pop(unused, None)
    said["security"] = [{"token": []}]
    examples = json.loads(resources.files(__package__).joinpath("examples.json").read_text(encoding="utf-8"))
    for path, methods in said["paths"].items():
        for method, one in methods.items():
            _finish(one, examples.get(f"{method.upper()} {path}"))
    return said


def _trouble(status: int, words: str, detail: str) -> dict[str, Any]:
    shape = {"$ref": "#/components/schemas/Problem"}
    headers = {"Retry-After": {"description": "Seconds to wait", "schema": {"type": "integer"}}} if status in (429, 503) else {}
    said = {"description": words, "content": {MEDIA_TYPE: {"schema": shape, "example": problem(status, detail)}}}
    return said | ({"headers": headers} if headers else {})


def _finish(one: dict[str, Any], example: Any) -> None:
    """What all routes have: the first line as summary, what else they may answer, the example."""
    summary, _, description = one.get("description", "").partition("\n")
    one["summary"], one["description"] = summary.strip(), " ".join(description.split())
    may_find_nothing = one.pop(FINDS_NOTHING, False)
    sends = "requestBody" in one
    left = (set() if may_find_nothing else {404}) | (set() if sends else {413, 507})
    for name, (status, _, _) in _TROUBLES.items():
        if status not in left:
            one["responses"][str(status)] = {"$ref": f"#/components/responses/{name}"}
    found = one["responses"]["200"]
    if example is not None:
        found["content"]["application/json"]["example"] = copy.deepcopy(example["answer"])
    if sends:
        one["requestBody"]["content"]["application/json"]["example"] = copy.deepcopy(example and example["sent"])
        return
    found["headers"] = {"ETag": {"description": "The mark of this answer", "schema": {"type": "string"}}}
    one["responses"]["304"] = {"description": "Nothing changed since the answer whose mark was sent as If-None-Match."}
