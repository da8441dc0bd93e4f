"""Pictures: the files themselves, the tray of those that nobody has placed yet, and one picture with what it is of."""

from collections.abc import AsyncIterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.datastructures import FormData, UploadFile

from server.access.seats import ArcherSeat, ScopedViewerSeat, Seat, TheBook
from server.exchange.picture_files import PictureFolder
from server.exchange.picture_reading import NotAPicture
from server.exchange.pictures import OtherPicture, keep
from server.findings.pictures import PictureShown, choices, named
from server.pages.forms import FormOperations, NotTaken, nth_id, operation_id
from server.pages.posted import Posted, base_rev
from server.pages.rendering import frame_for, html, own_path
from server.pages.shapes import FieldState, Wrong
from server.records.ids import new_id
from server.records.listing import one
from server.records.picture import OF, Picture
from server.records.picture_facts import PictureFact, count_in_the_tray, in_the_tray, is_of_trial, one_picture
from server.storage import Storage

router = APIRouter()

MOST_AT_ONCE = 20
# A picture is only a picture: whatever it is opened as, it may run nothing and reach nothing.
SHUT_IN = {"Content-Security-Policy": "default-src 'none'; sandbox", "X-Content-Type-Options": "nosniff", "Cache-Control": "private, max-age=86400"}
TRAY = "Leave it in the tray"


async def _files(request: Request) -> AsyncIterator[FormData]:
    async with request.form(max_files=MOST_AT_ONCE, max_fields=20) as form:
        yield form


Files = Annotated[FormData, Depends(_files)]


@dataclass(frozen=True)
class InTray:
    """A picture in the tray with the form that places it."""

    shown: PictureShown
    options: Sequence[tuple[str, str]]
    state: FieldState
    operation: str


@dataclass(frozen=True)
class TrayPage:
    pictures: Sequence[InTray]
    waiting: int
    operation: str
    taken: int
    file_error: FieldState
    errors: Sequence[Wrong]


@dataclass(frozen=True)
class OnePicture:
    shown: PictureShown
    options: Sequence[tuple[str, str]]
    may_write: bool
    of: FieldState
    note: FieldState
    reason: FieldState
    operation: str
    strike_operation: str
    corners_href: str
    errors: Sequence[Wrong]


def picture_answer(content: bytes | None, name: str) -> Response:
    """A picture's bytes, shut in."""
    if content is None:
        raise HTTPException(404, "The book has no such picture, or its file is missing. The phone that took it may still hold it.")
    return Response(content, media_type="image/jpeg", headers={**SHUT_IN, "Content-Disposition": f'inline; filename="{name}.jpg"'})


def seen_picture(book: Storage, seat: Seat, picture_id: str) -> Picture:
    """The picture, if this seat may see it; a viewer of one trial learns nothing of any other, not even that it is there."""
    with book.read() as session:
        picture = one(session, Picture, picture_id)
        if picture is None or (seat.trial_id is not None and not is_of_trial(session, picture, seat.trial_id)):
            raise HTTPException(404, "The book has no such picture.")
    return picture


@router.get("/pictures/{picture_id}", include_in_schema=False)
def picture_file(seat: ScopedViewerSeat, book: TheBook, picture_id: str) -> Response:
    picture = seen_picture(book, seat, picture_id)
    return picture_answer(PictureFolder(book.path.parent).read(picture.id), picture.id)


@router.get("/pictures/{picture_id}/small", include_in_schema=False)
def small_picture_file(seat: ScopedViewerSeat, book: TheBook, picture_id: str) -> Response:
    picture = seen_picture(book, seat, picture_id)
    folder = PictureFolder(book.path.parent)
    # A restored book has the pictures, not their small forms: the picture itself does as well.
    return picture_answer(folder.read(picture.id, "small") or folder.read(picture.id), picture.id)


@router.get("/pictures", response_class=HTMLResponse)
def tray(request: Request, seat: ArcherSeat, book: TheBook) -> Response:
    return _tray(request, book)


def _tray(
    request: Request, book: Storage, *, typed: Mapping[str, FieldState] | None = None, files: str = "", taken: int = 0, operation: str = ""
) -> Response:
    typed = typed or {}
    with book.read() as session:
        facts = in_the_tray(session)
        waiting = count_in_the_tray(session)
        possible = choices(session) if facts else None
        shown = named(session, facts)
    listed = [
        InTray(one_shown, possible.for_picture(fact.at), typed.get(fact.picture.id, FieldState()), new_id())
        for fact, one_shown in zip(facts, shown, strict=True)
        if possible is not None
    ]
    errors = [Wrong(f"of-{key}", "What it is of", state.error) for key, state in typed.items() if state.error]
    errors += [Wrong("picture", "Pictures", files)] if files else []
    page = TrayPage(listed, waiting, operation or new_id(), taken, FieldState(error=files), errors)
    return html("pictures/page.html", page, frame=frame_for(request, title="Pictures", nav="trials", wrong=bool(errors)), status=422 if errors else 200)


@router.post("/pictures", response_class=HTMLResponse)
def add_pictures(request: Request, seat: ArcherSeat, book: TheBook, form: Files) -> Response:
    """Pictures from a file, or from a camera's card. Each that can be kept is kept, whatever the others are."""
    files = [file for file in form.getlist("picture") if isinstance(file, UploadFile) and file.filename]
    of, faults, taken = _of(str(form.get("of", ""))), [], 0
    for nth, file in enumerate(files):
        try:
            keep(book, file.file.read(), picture_id=nth_id(operation_id(form), nth), device_id=seat.device_id or "", body=of)
            taken += 1
        except (NotAPicture, OtherPicture) as fault:
            faults.append(f"{_plain(file.filename or '')}: {fault}")
        except NotTaken as refusal:
            faults.append(f"{_plain(file.filename or '')}: " + " ".join(p.sentence for p in refusal.problems))
    if not files:
        faults.append("Choose a picture first: JPEG, PNG or WebP.")
    if faults:
        return _tray(request, book, files=" ".join(faults), taken=taken, operation=operation_id(form))
    return RedirectResponse(own_path(str(form.get("back", ""))) if form.get("back") else "/pictures", 303)


def _plain(name: str) -> str:
    return "".join(sign if sign.isprintable() else "?" for sign in name)[:80]


def _of(value: str) -> dict[str, Any]:
    """ "shot:<id>" as the fields of a picture; empty is the tray."""
    noun, _, record = value.partition(":")
    return {"noun": noun, "record": record} if noun in OF and record else {"noun": None, "record": None}


@router.get("/pictures/{picture_id}/about", response_class=HTMLResponse)
def about_picture(request: Request, seat: ScopedViewerSeat, book: TheBook, picture_id: str) -> Response:
    seen_picture(book, seat, picture_id)
    return _about(request, book, seat, picture_id)


def _about(
    request: Request, book: Storage, seat: Seat, picture_id: str, *, of: FieldState | None = None, note: FieldState | None = None, reason: FieldState | None = None
) -> Response:
    may_write = seat.at_least("archer")
    with book.read() as session:
        fact = _fact_or_404(one_picture(session, picture_id))
        shown = named(session, [fact])[0]
        options = choices(session).for_picture(fact.at) if may_write else []
    if shown.of and shown.of not in dict(options):
        options.insert(0, (shown.of, shown.of_words))
    states = {"of": of or FieldState(shown.of), "note": note or FieldState(shown.note), "reason": reason or FieldState()}
    labels = {"of": "What it is of", "note": "Note", "reason": "Why"}
    errors = [Wrong(name, labels[name], state.error) for name, state in states.items() if state.error]
    noun, _, record = shown.of.partition(":")
    page = OnePicture(
        shown=shown, options=options, may_write=may_write, operation=new_id(), strike_operation=new_id(), errors=errors,
        corners_href=f"/panels/{record}/photograph/{picture_id}" if noun == "panel_build" and may_write else "", **states,
    )  # fmt: skip
    frame = frame_for(request, title="A picture", nav="trials", wrong=bool(errors))
    return html("pictures/one.html", page, frame=frame, status=422 if errors else 200)


def _fact_or_404(fact: PictureFact | None) -> PictureFact:
    if fact is None:
        raise HTTPException(404, "The book has no such picture.")
    return fact


@router.post("/pictures/{picture_id}/of", response_class=HTMLResponse)
def say_what_it_is_of(request: Request, seat: ArcherSeat, book: TheBook, picture_id: str, form: Posted) -> Response:
    """From the tray to a shot, panel or arrow; from one to another; or back into the tray."""
    value, from_tray = str(form.get("of", "")), form.get("from") == "tray"
    body = _of(value)
    if from_tray and not body["noun"]:
        said = FieldState(value, error="Pick what it is of, or leave it lying here.")
        return _tray(request, book, typed={picture_id: said})
    if "note" in form:
        body["note"] = str(form["note"])
    operations = FormOperations(seat, operation_id(form))
    operations.put("picture", picture_id, body, base_rev=base_rev(form))
    try:
        operations.save(book)
    except NotTaken as refusal:
        note = FieldState(str(form.get("note", "")), error=" ".join(p.sentence for p in refusal.problems if p.field == "note"))
        said = FieldState(value, error=" ".join(p.sentence for p in refusal.problems if p.field != "note"))
        return _tray(request, book, typed={picture_id: said}) if from_tray else _about(request, book, seat, picture_id, of=said, note=note)
    return RedirectResponse("/pictures" if from_tray else f"/pictures/{picture_id}/about", 303)


@router.post("/pictures/{picture_id}/strike", response_class=HTMLResponse)
def strike_picture(request: Request, seat: ArcherSeat, book: TheBook, picture_id: str, form: Posted) -> Response:
    """Taken by mistake, or of the wrong thing: struck through with a reason; its file stays."""
    reason = str(form.get("reason", "")).strip()
    operations = FormOperations(seat, operation_id(form))
    operations.strike("picture", picture_id, reason, back=form.get("back") == "yes")
    try:
        operations.save(book)
    except NotTaken as refusal:
        said = FieldState(reason, error=" ".join(p.sentence for p in refusal.problems))
        return _about(request, book, seat, picture_id, reason=said)
    return RedirectResponse(f"/pictures/{picture_id}/about", 303)
