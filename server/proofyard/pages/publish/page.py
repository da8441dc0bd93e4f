"""Publishing, for the owner: choose, see what goes out, and only then get the pages as one zip."""

import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.concurrency import run_in_threadpool

from proofyard.access.seats import OwnerSeat, TheBook
from proofyard.pages.frame.forms import FieldState, Posted, Wrong
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.publishing.choices import NAMES, PLACES, Choices
from proofyard.publishing.elsewhere import packed_elsewhere
from proofyard.publishing.site import NotPublished, WordsFound
from proofyard.publishing.what_goes import WhatGoes, what_goes
from proofyard.records.licences import LICENCES
from proofyard.storage import Storage

router = APIRouter()

FILE = "proofyard-trials.zip"
BUSY = "Pages are being made already, and that takes a minute. Wait for them, then press again."
NO_REGION = "Enter the region, for example Northern England, or choose no place."
_one_at_a_time = threading.Lock()


@dataclass(frozen=True)
class PublishPage:
    """The choices as they were typed, what goes out with them, and why nothing was made, if so."""

    goes: WhatGoes
    choices: Choices
    withheld: str
    region: FieldState
    errors: Sequence[Wrong]
    refused: str
    leaving: Sequence[tuple[str, str]]
    shown: bool
    names: Mapping[str, str]
    places: Mapping[str, str]
    licences: Sequence[tuple[str, str]]


@router.get("/publish", response_class=HTMLResponse)
def publish(request: Request, seat: OwnerSeat, book: TheBook) -> Response:
    """The choices, with the most careful ones made."""
    return _page(request, book, Choices(), shown=False)


@router.post("/publish/preview", response_class=HTMLResponse)
def preview(request: Request, seat: OwnerSeat, book: TheBook, form: Posted) -> Response:
    """What would go out with these choices."""
    return _page(request, book, _choices(form), shown=True)


@router.post("/publish", response_class=Response)
async def make(request: Request, seat: OwnerSeat, book: TheBook, form: Posted) -> Response:
    """The pages as one zip, made in a process of its own; or why not, with the choices still there."""
    choices = _choices(form)
    if _wrongs(choices):
        return await run_in_threadpool(_page, request, book, choices, shown=True)
    if not _one_at_a_time.acquire(blocking=False):
        return await run_in_threadpool(_page, request, book, choices, shown=True, refused=BUSY, status=503)
    try:
        make_app, kept = request.app.state.app_to_publish, {"address": book.address, "photos": book.photos_at}
        content = await run_in_threadpool(packed_elsewhere, book.path, choices, make_app, **kept)
    except WordsFound as why:
        words = tuple(dict.fromkeys(one.word for one in why.found))
        return await run_in_threadpool(_page, request, book, choices, shown=True, refused=str(why), found=words, status=422)
    except NotPublished as why:
        return await run_in_threadpool(_page, request, book, choices, shown=True, refused=str(why), status=422)
    finally:
        _one_at_a_time.release()
    return Response(content, media_type="application/zip", headers={"Content-Disposition": f'attachment; filename="{FILE}"'})


def _choices(form: Posted) -> Choices:
    """What was chosen; a word that no choice has counts as the most careful one."""

    def one_of(name: str, known: Mapping[str, object], careful: str) -> str:
        said = str(form.get(name, ""))
        return said if said in known else careful

    def lines(name: str) -> tuple[str, ...]:
        return tuple(line.strip() for line in str(form.get(name, "")).splitlines() if line.strip())

    return Choices(
        trials=tuple(dict.fromkeys(str(one) for one in form.getlist("trial"))),
        names=one_of("names", NAMES, "invented"),
        places=one_of("places", PLACES, "none"),
        region=str(form.get("region", "")).strip(),
        notes=form.get("notes") == "yes",
        photos=frozenset(str(one) for one in form.getlist("photo")),
        also_withheld=lines("withheld"),
        left_standing=frozenset(str(one) for one in form.getlist("leave")),
        licence=one_of("licence", LICENCES, ""),
        authors=str(form.get("authors", "")).strip(),
    )


def _wrongs(choices: Choices) -> tuple[Wrong, ...]:
    return (Wrong("region", "Region", NO_REGION),) if choices.places == "region" and not choices.region else ()


def _page(
    request: Request, book: Storage, choices: Choices, *, shown: bool, refused: str = "", found: Sequence[str] = (), status: int = 200
) -> Response:
    with book.read() as session:
        goes = what_goes(session, choices)
    errors = _wrongs(choices)
    page = PublishPage(
        goes,
        choices,
        "\n".join(choices.also_withheld),
        FieldState(choices.region, error=errors[0].message if errors else ""),
        errors,
        refused,
        # What was left standing before stays to be seen and taken back, also when nothing was found this time.
        tuple((word, word) for word in dict.fromkeys((*found, *sorted(choices.left_standing)))),
        shown,
        NAMES,
        PLACES,
        (("", "No licence yet"), *((name, one.title) for name, one in LICENCES.items())),
    )
    frame = frame_for(request, title="Publish", nav="data", wrong=len(errors))
    return html("publish/page.html", page, frame=frame, status=422 if errors else status)
