"""Kit is retired and comes back, is struck through and taken back in, each with its reason. Nothing is rubbed out."""

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from server.access.seats import ArcherSeat, TheBook
from server.pages.form_page import FormPage, form_answer
from server.pages.forms import FormField, FormOperations, operation_id, wrongs
from server.pages.kit_nouns import KitNoun
from server.pages.kit_records import address, called, the_noun, the_record
from server.pages.posted import Posted, base_rev
from server.pages.shapes import FieldState
from server.records.ids import new_id
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

# act -> for (in use, ended): heading before the name, lead, button, an example of a reason
WORDS = {
    "retire": (
        ("Retire", "It stays in the book with all its shots, and is no longer offered at the range.", "Retire it", "shaft cracked"),
        ("Back into use:", "It is offered at the range again.", "Put it back into use", "mended and looked at"),
    ),
    "strike": (
        ("Strike through", "For what was written down and never was, such as one thing twice. It stays to be read, struck through.", "Strike it through", "written down twice"),
        ("Take back in:", "It counts again as it did before.", "Take it back in", "it was the other one that was doubled"),
    ),
}  # fmt: skip


def reason_field(reason: str, problem: str, example: str) -> FormField:
    return FormField("reason", "Why", "text", FieldState(typed=reason, error=problem), hint=f"A few words, for example: {example}.", required=True)


def _ended(row: Any, act: str) -> bool:
    return bool(row.retired) if act == "retire" else row.struck_rev is not None


def _page(
    request: Request, storage: Storage, kind: KitNoun, record_id: str, *, act: str, operation: str,
    reason: str = "", problems: list[Problem] | None = None,
) -> HTMLResponse:  # fmt: skip
    with storage.read() as session:
        row = the_record(session, kind, record_id)
        ended, name, rev = _ended(row, act), called(kind, row), row.rev
    before, lead, button, example = WORDS[act][ended]
    sentence = " ".join(one.sentence for one in problems or [] if one.field == "reason")
    fields = [reason_field(reason, sentence, example)]
    errors = wrongs(fields, problems or [])
    page = FormPage(
        heading=f"{before} {name}", lead=lead, action=address(kind, record_id, act), operation=operation, fields=fields,
        errors=errors, save=button, back=address(kind, record_id),
        unseen={"base_rev": str(rev), "back": "yes" if ended else "no"},
    )  # fmt: skip
    return form_answer(request, page, nav="kit")


@router.get("/kit/{noun}/{record_id}/retire")
def retire(request: Request, seat: ArcherSeat, storage: TheBook, noun: str, record_id: str) -> HTMLResponse:
    return _page(request, storage, the_noun(noun), record_id, act="retire", operation=new_id())


@router.get("/kit/{noun}/{record_id}/strike")
def strike(request: Request, seat: ArcherSeat, storage: TheBook, noun: str, record_id: str) -> HTMLResponse:
    return _page(request, storage, the_noun(noun), record_id, act="strike", operation=new_id())


@router.post("/kit/{noun}/{record_id}/retire")
def save_retire(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str, record_id: str) -> Response:
    kind, reason = the_noun(noun), str(form.get("reason", "")).strip()
    operations = FormOperations(seat, operation_id(form))
    back = form.get("back") == "yes"
    problems = [] if reason else [Problem("reason", "Say why, in a few words, for example: " + WORDS["retire"][back][3] + ".")]
    operations.put(kind.noun, record_id, {"retired": "no" if back else "yes"}, base_rev=base_rev(form), reason=reason)
    return _save(request, storage, kind, record_id, act="retire", operations=operations, reason=reason, problems=problems)


@router.post("/kit/{noun}/{record_id}/strike")
def save_strike(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str, record_id: str) -> Response:
    kind, reason = the_noun(noun), str(form.get("reason", "")).strip()
    operations = FormOperations(seat, operation_id(form))
    operations.strike(kind.noun, record_id, reason, back=form.get("back") == "yes")
    return _save(request, storage, kind, record_id, act="strike", operations=operations, reason=reason, problems=[])


def _save(
    request: Request, storage: Storage, kind: KitNoun, record_id: str, *,
    act: str, operations: FormOperations, reason: str, problems: list[Problem],
) -> Response:  # fmt: skip
    with storage.read() as session:
        the_record(session, kind, record_id)
    problems = problems or operations.try_to_save(storage)
    if not problems:
        return RedirectResponse(address(kind, record_id), 303)
    return _page(request, storage, kind, record_id, act=act, operation=operations.operation, reason=reason, problems=problems)
