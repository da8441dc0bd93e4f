"""Help pages: plain text files under static/guide with headings, paragraphs, tables, code and links, printed as pages."""

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import FileResponse, HTMLResponse, Response

from proofyard.access.seats import AnySeat
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.settings import data_folder

router = APIRouter()

NOTEBOOK = "programs.ipynb"  # beside the page that leads to it: a file to take along

_LINK = re.compile(r"\[([^\]]+)\]\((/[^)\s]*)\)")


@dataclass(frozen=True)
class Block:
    """One piece of a help page: a heading, a paragraph of (words, href) pieces, code, or the rows of a table, the first its head."""

    sort: str
    pieces: tuple[tuple[str, str], ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class GuidePage:
    title: str
    blocks: tuple[Block, ...]

    @property
    def first_words(self) -> str:
        """Its first sentence."""
        first = next(("".join(words for words, _ in block.pieces) for block in self.blocks if block.sort == "words"), "")
        return re.split(r"(?<=[.?!])\s", first)[0]


@dataclass(frozen=True)
class GuideContents:
    """Every help page: its address and title, and how it begins."""

    pages: tuple[tuple[str, str, str], ...]


@router.get("/guide", response_class=HTMLResponse)
def contents(request: Request, seat: AnySeat) -> HTMLResponse:
    """Those of the worked examples first, by title; the words have a place of their own."""
    read = ((path.stem, read_page(path)) for path in _files().values())
    pages = sorted((page.title, f"/guide/{name}", page.first_words) for name, page in read if name != "glossary")
    shown = GuideContents(tuple((href, title, words) for title, href, words in pages))
    return html("guide/contents.html", shown, frame=frame_for(request, title="Guide", nav="more"))


def _files() -> dict[str, Path]:
    return {path.stem: path for path in (data_folder("static") / "guide").glob("*.md")}


@router.get("/guide/{name}", response_class=HTMLResponse)
def guide(request: Request, seat: AnySeat, name: str) -> Response:
    """It tells nothing of the book, so whoever got a printed figure may read how such a figure comes about."""
    if name == NOTEBOOK:
        file = data_folder("static") / "guide" / NOTEBOOK
        return FileResponse(file, media_type="application/x-ipynb+json", filename=NOTEBOOK, headers={"Cache-Control": "no-cache"})
    known = _files()
    if name not in known:
        raise HTTPException(404, "There is no such help page.")
    page = read_page(known[name])
    return html("guide/page.html", page, frame=frame_for(request, title=page.title, nav="more"))


@cache
def read_page(path: Path) -> GuidePage:
    title, _, rest = path.read_text(encoding="utf-8").partition("\n")
    parts = (part for part in re.split(r"\n{2,}", rest.strip()) if not part.startswith("<!--"))
    blocks = tuple(_block(part) for part in parts)
    return GuidePage(title.removeprefix("# "), blocks)


def _block(part: str) -> Block:
    if part.startswith("## "):
        return Block("heading", ((part[3:], ""),))
    if part.startswith("```"):  # to be copied as it stands: no blank line within
        return Block("code", (("\n".join(part.splitlines()[1:-1]), ""),))
    if part.startswith("|"):
        rows = [tuple(cell.strip() for cell in line.strip().strip("|").split("|")) for line in part.splitlines()]
        return Block("table", rows=(rows[0], *rows[2:]))
    return Block("words", tuple(_pieces(" ".join(part.splitlines()))))


def _pieces(text: str) -> list[tuple[str, str]]:
    """Words and links, in order; words have no address."""
    found, at = [], 0
    for link in _LINK.finditer(text):
        found += [(text[at : link.start()], "")] if link.start() > at else []
        found.append((link[1], link[2]))
        at = link.end()
    return found + ([(text[at:], "")] if at < len(text) else [])
