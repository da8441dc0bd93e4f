"""What a trial is to use: ticks that plans, the next shot and the phones go by."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, TheBook
from server.findings.kit_meant import KIT_WORDS, KitMeant, read_kit_meant
from server.pages.form_page import FormPage, form_answer
from server.pages.forms import FormOperations, operation_id
from server.pages.found import found
from server.pages.posted import Posted
from server.pages.shapes import FieldState, Option, Wrong
from server.records.ids import new_id
from server.records.trial import Trial
from server.storage import Storage

router = APIRouter()

STRUCK = "not to be used in this trial"


@dataclass(frozen=True)
class KitChoice:
    """One sort of kit as ticks."""

    name: str
    label: str
    options: Sequence[Option]
    ticked: Sequence[str]
    state: FieldState


@dataclass(frozen=True, kw_only=True)
class KitForm(FormPage):
    sorts: Sequence[KitChoice]


def _form(request: Request, trial: Trial, held: KitMeant, *, ticked: Mapping[str, Sequence[str]], wrong: Mapping[str, str]) -> Response:
    sorts = [
        KitChoice(noun, label, [Option(*pair) for pair in held.offered[noun]], ticked[noun], FieldState(error=wrong.get(noun, "")))
        for noun, label in KIT_WORDS.items()
    ]
    page = KitForm(
        heading="What this trial is to use", lead=trial.question, action=f"/trials/{trial.id}/kit", operation=new_id(), fields=(),
        errors=[Wrong(noun, KIT_WORDS[noun], words) for noun, words in wrong.items()], save="Keep it so", back=f"/trials/{trial.id}",
        classes="form layout__words", sorts=sorts,
    )  # fmt: skip
    return form_answer(request, page, nav="trials", template="trials/kit.html")


def _held(book: Storage, trial_id: str) -> tuple[Trial, KitMeant]:
    trial = found(book, Trial, trial_id)
    with book.read() as session:
        return trial, read_kit_meant(session, trial_id)


@router.get("/trials/{trial_id}/kit", response_class=HTMLResponse)
def kit_of_trial(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str) -> Response:
    trial, held = _held(book, trial_id)
    return _form(request, trial, held, ticked={noun: held.ticked(noun) for noun in KIT_WORDS}, wrong={})


@router.post("/trials/{trial_id}/kit", response_class=HTMLResponse)
def keep_kit(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """Only what was changed is written down; what is unticked is struck through, and can come back."""
    trial, held = _held(book, trial_id)
    ticked = {noun: [str(value) for value in form.getlist(noun)] for noun in KIT_WORDS}
    wrong = {
        noun: "One of these is not in the book any more, or was retired. Tick from those here."
        for noun, values in ticked.items()
        if set(values) - {key for key, _ in held.offered[noun]}
    }
    if wrong:
        return _form(request, trial, held, ticked=ticked, wrong=wrong)
    operations = FormOperations(seat, operation_id(form))
    for noun, values in ticked.items():
        _changes(operations, trial_id, noun, held=held, wanted=set(values))
    if operations.operations and (refused := operations.try_to_save(book)):
        words = " ".join(dict.fromkeys(one.sentence for one in refused))
        return _form(request, trial, held, ticked=ticked, wrong={next(iter(KIT_WORDS)): words})
    return RedirectResponse(f"/trials/{trial_id}#trial-kit", 303)


def _changes(operations: FormOperations, trial_id: str, noun: str, *, held: KitMeant, wanted: set[str]) -> None:
    for key, _ in held.offered[noun]:
        row = held.rows.get((noun, key))
        if row is None and key in wanted:
            operations.new("trial_uses", {"trial": trial_id, "noun": noun, "record": key})
        elif row is not None and (row.struck_rev is None) != (key in wanted):
            operations.strike("trial_uses", row.id, STRUCK if row.struck_rev is None else "to be used after all", back=row.struck_rev is not None)
