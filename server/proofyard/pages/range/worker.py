"""The script of the worker that keeps the range's page on a phone, on https alone (static/js/range_worker.js).

Its address stays; what it says changes with the page, its files and the book, and a browser that sees another byte takes
the new one. Anybody may read it, since it says nothing of anybody; the page that it keeps is an archer's.
"""

import json
import re
from functools import cache
from hashlib import sha256

from fastapi import APIRouter, Request, Response

from proofyard.access.door import HEADERS
from proofyard.access.seats import AnySeat, TheBook
from proofyard.pages.frame.rendering import assets
from proofyard.pages.range.shell import shell
from proofyard.records import devices

router = APIRouter()

STATIC = re.compile(r'"(/static/[^"#]+)')
SCRIPT = "js/range_worker.js"


@cache
def _script(demo: bool, book_id: str) -> bytes:
    page = shell(demo, https=True)
    files = sorted(set(STATIC.findall(page)))
    body = assets().body(assets().urls[SCRIPT])
    assert body is not None
    build = sha256(b"\0".join([page.encode(), body.plain, book_id.encode()])).hexdigest()[:12]
    said = f'const PAGE = "/range", BUILD = "{build}";\nconst FILES = {json.dumps(files)};\n'
    return said.encode() + body.plain


@router.get("/range-worker.js", include_in_schema=False)
def range_worker(request: Request, _: AnySeat, book: TheBook) -> Response:
    with book.read() as session:
        found = devices.the_book(session)
    demo = bool(getattr(request.app.state, "demo", False))
    script = _script(demo, found.book_id if found else "")
    # A worker is no part of a page, as other scripts are: it is held to the policy that comes with it.
    policy = {name.decode(): value.decode() for name, value in HEADERS}
    return Response(script, headers=policy | {"cache-control": "no-cache"}, media_type="text/javascript; charset=utf-8")
