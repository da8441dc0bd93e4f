"""Downloads: what the book holds as CSV, what each column means, and what to mind before passing a file on."""

import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import IO, Annotated, Any

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import HTMLResponse, StreamingResponse
from pydantic import AfterValidator
from starlette.background import BackgroundTask

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.exchange.csv_writing import SOURCES, Column, Table
from proofyard.exchange.data_dictionary import FILES, ColumnTopic, OfferedFile, column_topics
from proofyard.exchange.file_forms import FILE_FORMS, FileForm, NotInThisForm, in_form, name_in_form
from proofyard.exchange.package.packing import write_package
from proofyard.pages.frame.forms import query_of
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.records.licences import LICENCES
from proofyard.views.address import Choice, Reading
from proofyard.wording.data_package import BACKUP_IS, BEFORE_PASSING_ON, PACKAGE_IS, PACKAGE_LACKS

router = APIRouter()

# What is looked for in the dictionary; nothing in it can be wrong, and no page needs more than so many letters of it.
Words = Annotated[str, AfterValidator(lambda text: text[:200]), Query()]

FORM = Choice(
    name="form",
    choices={key: one.name for key, one in FILE_FORMS.items()},
    default="analysis",
    wrong="There is no form “{}” of FILE. Take one of those below.",
)
LICENCE = Choice(
    name="licence",
    label="Licence",
    hint="What others may do with the shots. Choose only for what is yours to give.",
    choices={"": "None chosen yet", **{name: one.title for name, one in LICENCES.items()}},
    wrong="There is no licence “{}”. Choose one of those below.",
)
AT_ONCE = 1 << 16


@dataclass(frozen=True)
class DownloadPage:
    """The files on offer. chosen: the form that they are fetched in, of `forms`; `package`: what a data package is and is not; `wrong`:
    what was the matter with the address that led here."""

    files: tuple[OfferedFile, ...]
    chosen: str
    forms: tuple[tuple[str, FileForm], ...]
    only_one_trial: bool
    package: tuple[str, ...]
    licence: Choice
    wrong: str = ""


@dataclass(frozen=True)
class FileColumns:
    """A file, and its topics with the columns that were asked for."""

    file: OfferedFile
    topics: tuple[tuple[ColumnTopic, tuple[Column, ...]], ...]


@dataclass(frozen=True)
class DictionaryPage:
    """The files, as their own declarations say it. asked: the words of the filter; found: how many columns say them."""

    files: tuple[FileColumns, ...]
    sources: tuple[tuple[str, str], ...]
    asked: str
    found: int


@dataclass(frozen=True)
class ColumnsPage:
    """One topic with the columns that were asked for; beside: the other topics of its file."""

    topic: ColumnTopic
    columns: tuple[Column, ...]
    asked: str
    beside: tuple[ColumnTopic, ...]


@router.get("/download", response_class=HTMLResponse)
def download(request: Request, seat: ScopedViewerSeat) -> Any:
    """What there is to take home."""
    reading = Reading(query_of(request))
    form = reading.one(FORM)
    wrong = reading.problems.get(FORM.name, "").replace("FILE", "the files")
    return _download_page(request, only_one_trial=seat.trial_id is not None, form=form, wrong=wrong)


def _download_page(request: Request, *, only_one_trial: bool, form: str = FORM.default, wrong: str = "") -> Any:
    said = (PACKAGE_IS, PACKAGE_LACKS, BACKUP_IS, BEFORE_PASSING_ON)
    page = DownloadPage(tuple(FILES.values()), form, tuple(FILE_FORMS.items()), only_one_trial, said, LICENCE, wrong)
    frame = frame_for(request, title="Download", nav="data", wrong=bool(wrong))
    return html("download/page.html", page, frame=frame, status=422 if wrong else 200)


@router.get("/download/dictionary", response_class=HTMLResponse)
def dictionary(request: Request, seat: ScopedViewerSeat, q: Words = "") -> Any:
    """What each column means, to read on the screen: the topics; with a filter, the columns that say what was asked."""
    some = [(topic, columns) for topic in column_topics() if (columns := topic.only(q))]
    files = tuple(FileColumns(file, tuple(of)) for file, of in groupby(some, key=lambda one: one[0].file))
    page = DictionaryPage(files, tuple(SOURCES.items()), q.strip(), sum(len(columns) for _, columns in some))
    return html("download/dictionary.html", page, frame=frame_for(request, title="What each column means", nav="data"))


@router.get("/download/dictionary/{columns}", response_class=HTMLResponse)
def columns_of(request: Request, seat: ScopedViewerSeat, columns: str, q: Words = "") -> Any:
    """One topic of a file, all its columns or what the filter leaves."""
    topic = next((one for one in column_topics() if one.key == columns), None)
    if topic is None:
        raise HTTPException(404)
    beside = tuple(one for one in column_topics() if one.file == topic.file)
    page = ColumnsPage(topic, topic.only(q), q.strip(), beside)
    return html("download/columns.html", page, frame=frame_for(request, title=f"Columns of {topic.file.name}: {topic.name}", nav="data"))


@router.get("/download/package.zip")
def package(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """The data package, of what this reader may see. It is written whole before the first byte is sent."""
    reading = Reading(query_of(request))
    licence = reading.one(LICENCE)
    if wrong := reading.problems.get(LICENCE.name, ""):
        return _download_page(request, only_one_trial=seat.trial_id is not None, wrong=wrong)
    # Beside the book: where photos have room, a zip of them has too.
    file = tempfile.TemporaryFile(dir=book.path.parent)  # noqa: SIM115  it is closed when it was sent
    try:
        write_package(book, file, licence=licence, only_trial=seat.trial_id)
    except BaseException:
        file.close()
        raise
    headers = {
        "Content-Disposition": 'attachment; filename="proofyard-package.zip"',
        "Cache-Control": "no-store",
        "Content-Length": str(file.tell()),
    }
    # Closed also where no body is sent, as for HEAD.
    return StreamingResponse(_pieces(file), media_type="application/zip", headers=headers, background=BackgroundTask(file.close))


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        file.seek(0)
        while piece := file.read(AT_ONCE):
            yield piece


@router.get("/download/{name}")
def file(request: Request, name: str, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """One file. The rows are all read before the first byte is sent: a slow phone never holds the book."""
    offered = FILES.get(name)
    if offered is None:
        raise HTTPException(404)
    reading = Reading(query_of(request))
    form = reading.one(FORM)
    if wrong := reading.problems.get(FORM.name, ""):
        return _download_page(request, only_one_trial=seat.trial_id is not None, wrong=wrong.replace("FILE", name))
    table = offered.read(book, only_trial=seat.trial_id)
    try:
        return as_file(table, name, form)
    except NotInThisForm as why:
        return _download_page(request, only_one_trial=seat.trial_id is not None, wrong=str(why))


def as_file(table: Table, name: str, form: str) -> StreamingResponse:
    """The answer that a browser keeps as a file. Refuses what `in_form` refuses."""
    headers = {"Content-Disposition": f'attachment; filename="{name_in_form(name, form)}"', "Cache-Control": "no-store"}
    return StreamingResponse(in_form(table, form), media_type=FILE_FORMS[form].media_type, headers=headers)
