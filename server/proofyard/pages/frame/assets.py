"""Style, scripts and photos, each under a name that changes with its content, so a phone may keep it for ever.

The sheets of static/css are joined once, at start, in the order app.css gives: one request, no build step.
Scripts share one folder named by all of them together, so that one may import another by its plain name.
"""

import gzip
import hashlib
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from fastapi import APIRouter, Request, Response

FOREVER = "public, max-age=31536000, immutable"
MEDIA_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".jpg": "image/jpeg",
    ".webp": "image/webp",
}
# Already packed: gzip would only make them longer.
PACKED = frozenset({".png", ".jpg", ".webp"})
SHEET_IMPORT = re.compile(r'@import\s+"(?P<file>[^"]+)"\s+layer\((?P<layer>[\w-]+)\)\s*(?P<medium>[^;]*);')
# The range's page goes without the sheets of pages that it never shows: a third of what a phone would have to fetch.
OF_THE_RANGE = frozenset({"pages/range.css", "pages/line.css", "pages/butt.css", "pages/bench.css"})
NEVER_AT_THE_RANGE = frozenset(
    {f"parts/{name}.css" for name in ("chart", "tally", "steps", "revision", "facts", "heads", "find", "siblings")}
)
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
# Comments and margins: a sixth of what a phone would have to fetch. Our scripts hold no text that runs over lines or looks like these.
SCRIPT_COMMENT = re.compile(rb"^[ \t]*(?://[^\n]*|/\*\*(?:(?!\*/).)*\*/)\n", re.MULTILINE | re.DOTALL)
SCRIPT_MARGIN = re.compile(rb"^[ \t]+|[ \t]+// [^\n'\"`]*$", re.MULTILINE)


@dataclass(frozen=True)
class Body:
    """What is sent for one address: as it is, and packed if that helps."""

    plain: bytes
    packed: bytes | None
    media_type: str


def _fingerprint(*contents: bytes) -> str:
    whole = hashlib.sha256()
    for content in contents:
        whole.update(hashlib.sha256(content).digest())
    return whole.hexdigest()[:12]


def at_the_range(sheet: str) -> bool:
    """Whether the range's page has anything that this sheet is for."""
    return sheet in OF_THE_RANGE if sheet.startswith("pages/") else sheet not in NEVER_AT_THE_RANGE


def joined_sheet(folder: Path, *, takes: Callable[[str], bool] = lambda _: True) -> str:
    """Every sheet that app.css names, in its order, each inside its layer; a sheet for print inside `@media print`."""
    contents = COMMENT.sub("", (folder / "app.css").read_text(encoding="utf-8"))
    pieces = [SHEET_IMPORT.sub("", contents).strip()]
    for found in SHEET_IMPORT.finditer(contents):
        if not takes(found["file"]):
            continue
        sheet = COMMENT.sub("", (folder / found["file"]).read_text(encoding="utf-8")).strip()
        block = f"@layer {found['layer']} {{\n{sheet}\n}}"
        medium = found["medium"].strip()
        pieces.append(f"@media {medium} {{\n{block}\n}}" if medium else block)
    lines = (line.rstrip() for piece in pieces for line in piece.splitlines())
    return "\n".join(line for line in lines if line) + "\n"


def htmx_file() -> Path:
    """htmx as its package installed it: found without importing the package, which may want more than we have."""
    spec = find_spec("js_lib_htmx")
    if spec is None or not spec.submodule_search_locations:
        raise FileNotFoundError("The package django-js-lib-htmx is not installed; it brings htmx.min.js.")
    return Path(next(iter(spec.submodule_search_locations))) / "static" / "htmx" / "htmx.min.js"


def _named_files(static: Path) -> Iterator[tuple[str, str, bytes]]:
    """(name that a template asks for, its address, content) for everything that is served."""
    sheet = joined_sheet(static / "css").encode()
    yield "app.css", f"/static/app-{_fingerprint(sheet)}.css", sheet
    sheet = joined_sheet(static / "css", takes=at_the_range).encode()
    yield "range.css", f"/static/range-{_fingerprint(sheet)}.css", sheet
    htmx = htmx_file().read_bytes()
    yield "htmx.min.js", f"/static/htmx-{_fingerprint(htmx)}.min.js", htmx
    scripts = sorted((static / "js").rglob("*.js"))
    contents = [SCRIPT_MARGIN.sub(b"", SCRIPT_COMMENT.sub(b"", path.read_bytes())) for path in scripts]
    names = [path.relative_to(static / "js").as_posix() for path in scripts]
    shared = _fingerprint(*(part for name, content in zip(names, contents, strict=True) for part in (name.encode(), content)))
    for name, content in zip(names, contents, strict=True):
        yield f"js/{name}", f"/static/js-{shared}/{name}", content
    for path in sorted(static.rglob("*")):
        place = path.relative_to(static)
        if place.parts[0] in ("css", "js") or path.suffix not in MEDIA_TYPES:
            continue
        content = path.read_bytes()
        stem = place.with_suffix("").as_posix()
        yield place.as_posix(), f"/static/{stem}-{_fingerprint(content)}{path.suffix}", content


class Assets:
    """Everything under static/, read once.

    urls  name of a file under static/ -> its address: "app.css" is all sheets joined, "range.css" those of the range,
          "js/live.js" a script. Of a name that is not served there is none: a slip in a template shows at once
    """

    def __init__(self, static: Path) -> None:
        self.urls: dict[str, str] = {}
        self._bodies: dict[str, Body] = {}
        for name, url, content in _named_files(static):
            suffix = Path(url).suffix
            packed = None if suffix in PACKED else gzip.compress(content, compresslevel=9, mtime=0)
            if packed is not None and len(packed) >= len(content):
                packed = None
            self.urls[name] = url
            self._bodies[url] = Body(content, packed, MEDIA_TYPES[suffix])

    def body(self, url: str) -> Body | None:
        """What stands at an address; nothing if the address is unknown or of another version."""
        return self._bodies.get(url)


def takes_gzip(accept_encoding: str) -> bool:
    """Whether a browser said that it reads gzip; `gzip;q=0` says that it doesn't."""
    for offer in accept_encoding.split(","):
        coding, _, weight = offer.strip().partition(";")
        if coding.strip().lower() in ("gzip", "*"):
            return re.fullmatch(r"\s*q\s*=\s*0(\.0*)?\s*", weight) is None
    return False


def assets_router(assets: Assets) -> APIRouter:
    """Serves what `assets` holds, for ever, packed when the browser takes it packed."""
    router = APIRouter()

    @router.get("/static/{path:path}", include_in_schema=False)
    async def static_file(request: Request, path: str) -> Response:
        body = assets.body(f"/static/{path}")
        headers = {"X-Content-Type-Options": "nosniff"}
        if body is None:
            # Not kept: the same address may come back with the next start.
            return Response("Nothing is kept at this address.", 404, headers | {"Cache-Control": "no-store"}, "text/plain")
        headers |= {"Cache-Control": FOREVER, "Vary": "Accept-Encoding"}
        if body.packed is not None and takes_gzip(request.headers.get("accept-encoding", "")):
            return Response(body.packed, 200, headers | {"Content-Encoding": "gzip"}, body.media_type)
        return Response(body.plain, 200, headers, body.media_type)

    return router
