"""Downloads: what the book holds as CSV, what each column means, and what to mind before passing a file on."""

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, StreamingResponse

from server.access.seats import ScopedViewerSeat, TheBook
from server.exchange.csv_writing import FORMS, SOURCES, csv_bytes
from server.exchange.data_dictionary import FILES, OfferedFile
from server.exchange.fetched import fetch
from server.pages.rendering import frame_for, html
from server.pages.shapes import Column

router = APIRouter()


@dataclass(frozen=True)
class DownloadPage:
    """The files on offer. `wrong`: what was the matter with the address that led here."""

    files: tuple[OfferedFile, ...]
    forms: tuple[tuple[str, str], ...]
    only_one_trial: bool
    wrong: str = ""


@dataclass(frozen=True)
class DictionaryPage:
    """Every column of every file, as the files' own declarations say it."""

    files: tuple[OfferedFile, ...]
    sources: tuple[tuple[str, str], ...]
    columns: tuple[Column, ...]


@router.get("/download", response_class=HTMLResponse)
def download(request: Request, seat: ScopedViewerSeat) -> Any:
    """What there is to take home."""
    return _download_page(request, only_one_trial=seat.trial_id is not None)


def _download_page(request: Request, *, only_one_trial: bool, wrong: str = "") -> Any:
    page = DownloadPage(tuple(FILES.values()), tuple(FORMS.items()), only_one_trial, wrong)
    frame = frame_for(request, title="Download", nav="download", wrong=bool(wrong))
    return html("download/page.html", page, frame=frame, status=422 if wrong else 200)


@router.get("/download/dictionary", response_class=HTMLResponse)
def dictionary(request: Request, seat: ScopedViewerSeat) -> Any:
    """What each column means, to read on the screen."""
    columns = (Column("Column"), Column("Meaning"), Column("Unit"), Column("Source"), Column("Values"))
    page = DictionaryPage(tuple(FILES.values()), tuple(SOURCES.items()), columns)
    return html("download/dictionary.html", page, frame=frame_for(request, title="What each column means", nav="download"))


@router.get("/download/{name}")
def file(request: Request, name: str, seat: ScopedViewerSeat, book: TheBook, form: str = "analysis") -> Any:
    """One file. The rows are all read before the first byte is sent: a slow phone never holds the book."""
    offered = FILES.get(name)
    if offered is None:
        raise HTTPException(404)
    if form not in FORMS:
        wrong = f"There is no form “{form[:40]}” of {name}. Take one of those below."
        return _download_page(request, only_one_trial=seat.trial_id is not None, wrong=wrong)
    table = offered.make(fetch(book, tables=offered.tables, only_trial=seat.trial_id))
    shown = name if form == "analysis" else name.replace(".csv", "_spreadsheet.csv")
    headers = {"Content-Disposition": f'attachment; filename="{shown}"', "Cache-Control": "no-store"}
    return StreamingResponse(csv_bytes(table, form), media_type="text/csv; charset=utf-8; header=present", headers=headers)
