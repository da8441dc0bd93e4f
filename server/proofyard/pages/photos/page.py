"""Photos: the files themselves, the tray of those that nobody has placed yet, and one photo with what it is of."""

from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.datastructures import FormData, UploadFile

from proofyard.access.seats import ArcherSeat, ScopedViewerSeat, Seat, TheBook
from proofyard.answers.photos.page import Gallery, PhotoShown, choices, named, read_gallery
from proofyard.exchange.kept_photos import photos_of, whole
from proofyard.exchange.photo_reading import NotAPicture
from proofyard.exchange.photo_store import PhotosAway
from proofyard.exchange.photos import OtherPhoto, keep
from proofyard.pages.frame.form_page import Asked
from proofyard.pages.frame.forms import FieldState, FormField, Posted, Wrong, base_rev, controls_of, nth_id, operation_id, query_of, wrongs
from proofyard.pages.frame.rendering import frame_for, html, own_path
from proofyard.records.apply import NotTaken
from proofyard.records.ids import new_id
from proofyard.records.listing import one
from proofyard.records.photo import OF, SEEN_FROM, Photo
from proofyard.records.photo_facts import PhotoFact, count_in_the_tray, in_the_tray, is_of_trial, one_photo
from proofyard.storage import Storage
from proofyard.wording.photos_away import NOT_NOW, drawn_words

router = APIRouter()

MOST_AT_ONCE = 20
# A photo is only a photo: whatever it is opened as, it may run nothing and reach nothing.
SHUT_IN = {
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "private, max-age=86400",
}


async def _files(request: Request) -> AsyncIterator[FormData]:
    async with request.form(max_files=MOST_AT_ONCE, max_fields=20) as form:
        yield form


Files = Annotated[FormData, Depends(_files)]


@dataclass(frozen=True)
class InTray:
    """A photo in the tray with the form that places it."""

    shown: PhotoShown
    options: Sequence[tuple[str, str]]
    state: FieldState
    operation: str


@dataclass(frozen=True)
class TrayPage:
    photos: Sequence[InTray]
    waiting: int
    operation: str
    taken: int
    file_error: FieldState
    held: Mapping[str, str]
    errors: Sequence[Wrong]


@dataclass(frozen=True)
class OnePhoto:
    shown: PhotoShown
    options: Sequence[tuple[str, str]]
    may_write: bool
    of: FieldState
    seen_from: FieldState
    seen_options: Sequence[tuple[str, str]]
    note: FieldState
    reason: FieldState
    operation: str
    void_operation: str
    corners_href: str
    errors: Sequence[Wrong]


def photo_answer(read: Callable[[], bytes | None], name: str) -> Response:
    """A photo's bytes, shut in; a drawing of words where its store doesn't give it out now, so that a page says it in the photo's place."""
    try:
        content = read()
    except PhotosAway as away:
        said = {**SHUT_IN, "Cache-Control": "no-store", "Retry-After": str(away.retry_after_s)}
        return Response(drawn_words(NOT_NOW, str(away)), 503, headers=said, media_type="image/svg+xml")
    if content is None:
        raise HTTPException(404, "The book has no such photo, or its file is missing or damaged. The phone that took it may still hold it.")
    return Response(content, media_type="image/jpeg", headers={**SHUT_IN, "Content-Disposition": f'inline; filename="{name}.jpg"'})


def seen_photo(book: Storage, seat: Seat, photo_id: str) -> Photo:
    """The photo, if this seat may see it; a viewer of one trial learns nothing of any other, not even that it is there."""
    with book.read() as session:
        photo = one(session, Photo, photo_id)
        if photo is None or (seat.trial_id is not None and not is_of_trial(session, photo, seat.trial_id)):
            raise HTTPException(404, "The book has no such photo.")
    return photo


@dataclass(frozen=True)
class GalleryPage:
    gallery: Gallery
    trial: FormField
    wrongs: Sequence[Wrong]
    reader: str


@router.get("/photos/all", response_class=HTMLResponse)
def gallery(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """All photos, each with what it shows. Before /photos/{photo_id}, which would take "all" for a photo."""
    with book.read() as session:
        found = read_gallery(session, query_of(request), only_trial=seat.trial_id)
    controls = controls_of(found.asked)
    frame = frame_for(request, title="All photos", nav="more", wrong=len(found.asked.problems))
    page = GalleryPage(found, controls["trial"], wrongs(controls.values()), frame.reader)
    return html("photos/all.html", page, frame=frame, status=422 if page.wrongs else 200)


@router.get("/photos/{photo_id}", include_in_schema=False)
def photo_file(seat: ScopedViewerSeat, book: TheBook, photo_id: str) -> Response:
    photo = seen_photo(book, seat, photo_id)
    return photo_answer(lambda: whole(photos_of(book).read(photo.id), photo.sha256), photo.id)


@router.get("/photos/{photo_id}/small", include_in_schema=False)
def small_photo_file(seat: ScopedViewerSeat, book: TheBook, photo_id: str) -> Response:
    photo = seen_photo(book, seat, photo_id)
    kept = photos_of(book)
    # A restored book has the photos, not their small forms: the photo itself does as well.
    return photo_answer(lambda: kept.read(photo.id, "small") or whole(kept.read(photo.id), photo.sha256), photo.id)


@router.get("/photos", response_class=HTMLResponse)
def tray(request: Request, seat: ArcherSeat, book: TheBook) -> Response:
    return _tray(request, book)


def _tray(
    request: Request,
    book: Storage,
    *,
    typed: Mapping[str, FieldState] | None = None,
    files: str = "",
    taken: int = 0,
    operation: str = "",
    held: Mapping[str, str] = {},
) -> Response:
    typed = typed or {}
    with book.read() as session:
        facts = in_the_tray(session)
        waiting = count_in_the_tray(session)
        possible = choices(session) if facts else None
        shown = named(session, facts)
    listed = [
        InTray(one_shown, possible.for_photo(fact.at), typed.get(fact.photo.id, FieldState()), new_id())
        for fact, one_shown in zip(facts, shown, strict=True)
        if possible is not None
    ]
    errors = [Wrong(f"of-{key}", "What it shows", state.error) for key, state in typed.items() if state.error]
    errors += [Wrong("photo", "Photos", files)] if files else []
    page = TrayPage(listed, waiting, operation or new_id(), taken, FieldState(error=files), held or {}, errors)
    return html(
        "photos/page.html", page, frame=frame_for(request, title="Photos", nav="more", wrong=len(errors)), status=422 if errors else 200
    )


@router.post("/photos", response_class=HTMLResponse)
def add_photos(request: Request, seat: ArcherSeat, book: TheBook, form: Files) -> Response:
    """Photos from a file, or from a camera's card. Each that can be kept is kept, whatever the others are."""
    files = [file for file in form.getlist("photo") if isinstance(file, UploadFile) and file.filename]
    of, faults, taken = _of(str(form.get("of", ""))), [], 0
    if form.get("seen_from") in SEEN_FROM:  # a list of three: anything else was not picked by hand, and the photo is worth more
        of["seen_from"] = str(form["seen_from"])
    for nth, file in enumerate(files):
        try:
            photo_id = nth_id(operation_id(form), nth)
            kept = keep(book, file.file.read(), photo_id=photo_id, device_id=seat.device_id or "", body=of)
            taken += 1
            if kept.photo.id != photo_id:
                faults.append(f"{_plain(file.filename or '')} is in the book already, so it was not added again.")
                taken -= 1
        except (NotAPicture, OtherPhoto) as fault:
            faults.append(f"{_plain(file.filename or '')}: {fault}")
        except NotTaken as refusal:
            faults.append(f"{_plain(file.filename or '')}: " + " ".join(p.sentence for p in refusal.problems))
    if not files:
        faults.append("Choose a photo first: JPEG, PNG or WebP.")
    if faults:
        return _tray(request, book, files=" ".join(faults), taken=taken, operation=operation_id(form), held=_held(form))
    return RedirectResponse(own_path(str(form.get("back", ""))) if form.get("back") else "/photos", 303)


def _held(form: FormData) -> dict[str, str]:
    """What a form on another page said of its photos, kept for the next try."""
    return {name: str(form[name]) for name in ("of", "back", "seen_from") if form.get(name)}


def _plain(name: str) -> str:
    return "".join(sign if sign.isprintable() else "?" for sign in name)[:80]


def _of(value: str) -> dict[str, Any]:
    """ "shot:<id>" as the fields of a photo; empty is the tray."""
    noun, _, record = value.partition(":")
    return {"noun": noun, "record": record} if noun in OF and record else {"noun": None, "record": None}


@router.get("/photos/{photo_id}/about", response_class=HTMLResponse)
def about_photo(request: Request, seat: ScopedViewerSeat, book: TheBook, photo_id: str) -> Response:
    seen_photo(book, seat, photo_id)
    return _about(request, book, seat, photo_id)


def _about(
    request: Request,
    book: Storage,
    seat: Seat,
    photo_id: str,
    *,
    of: FieldState | None = None,
    note: FieldState | None = None,
    reason: FieldState | None = None,
    seen_from: str | None = None,
) -> Response:
    may_write = seat.at_least("archer")
    with book.read() as session:
        fact = _fact_or_404(one_photo(session, photo_id))
        shown = named(session, [fact])[0]
        options = choices(session).for_photo(fact.at) if may_write else []
    if shown.of and shown.of not in dict(options):
        options.insert(0, (shown.of, shown.of_words))
    states = {"of": of or FieldState(shown.of), "note": note or FieldState(shown.note), "reason": reason or FieldState()}
    labels = {"of": "What it shows", "note": "Note", "reason": "Why"}
    errors = [Wrong(name, labels[name], state.error) for name, state in states.items() if state.error]
    noun, _, record = shown.of.partition(":")
    page = OnePhoto(
        shown=shown,
        options=options,
        may_write=may_write,
        operation=new_id(),
        void_operation=new_id(),
        errors=errors,
        seen_from=FieldState(shown.seen_from if seen_from is None else seen_from),
        seen_options=tuple(SEEN_FROM.items()),
        corners_href=f"/panels/{record}/photograph/{photo_id}" if noun == "panel_build" and may_write else "",
        **states,
    )
    frame = frame_for(request, title="A photo", nav="more", wrong=len(errors))
    return html("photos/one.html", page, frame=frame, status=422 if errors else 200)


def _fact_or_404(fact: PhotoFact | None) -> PhotoFact:
    if fact is None:
        raise HTTPException(404, "The book has no such photo.")
    return fact


@router.post("/photos/{photo_id}/of", response_class=HTMLResponse)
def say_what_it_is_of(request: Request, seat: ArcherSeat, book: TheBook, photo_id: str, form: Posted) -> Response:
    """From the tray to a shot, panel or arrow; from one to another; or back into the tray."""
    value, from_tray = str(form.get("of", "")), form.get("from") == "tray"
    body = _of(value)
    if from_tray and not body["noun"]:
        said = FieldState(value, error="Choose what it shows, or leave it in the tray.")
        return _tray(request, book, typed={photo_id: said})
    body |= {name: str(form[name]) for name in ("note", "seen_from") if name in form}
    asked = Asked(request, seat, book, form)
    operations = asked.operations()
    operations.put("photo", photo_id, body, base_rev=base_rev(form))
    if refused := operations.try_to_save(book):
        note = FieldState(str(form.get("note", "")), error=" ".join(one.sentence for one in refused if one.field == "note"))
        said = FieldState(value, error=" ".join(one.sentence for one in refused if one.field != "note"))
        return (
            _tray(request, book, typed={photo_id: said})
            if from_tray
            else _about(request, book, seat, photo_id, of=said, note=note, seen_from=str(form.get("seen_from", "")))
        )
    return RedirectResponse("/photos" if from_tray else f"/photos/{photo_id}/about", 303)


@router.post("/photos/{photo_id}/cross-out", response_class=HTMLResponse)
def void_photo(request: Request, seat: ArcherSeat, book: TheBook, photo_id: str, form: Posted) -> Response:
    """Taken by mistake, or of the wrong thing: crossed out with a reason; its file stays."""
    said = Asked(request, seat, book, form).crossed_out("photo", photo_id)
    return _about(request, book, seat, photo_id, reason=said) if said.error else RedirectResponse(f"/photos/{photo_id}/about", 303)
