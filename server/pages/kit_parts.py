"""What is written down of a record or its build one by one: readings, checks, force and draw, spots, layers.

The page comes back after each with the box empty and ready, so that ten readings are ten times a number and Enter.
"""

import re
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from server.access.seats import ArcherSeat, Seat, TheBook, ViewerSeat
from server.findings.measured import measured
from server.pages.figures import reader_of
from server.pages.forms import FormField, FormOperations, body_of, form_fields, operation_id, wrongs
from server.pages.kit_entries import EntryShown, entries, summary_facts
from server.pages.kit_nouns import KitNoun, Part
from server.pages.kit_records import address, builds_of, called, linked_names, options_for, the_noun, the_record
from server.pages.posted import Posted
from server.pages.rendering import frame_for, html
from server.pages.shapes import FieldState, Wrong
from server.records.columns import Noun
from server.records.ids import new_id
from server.records.kit_facts import BuildFact
from server.records.listing import belonging, readings_of
from server.records.speed_facts import instruments
from server.records.typed_values import Problem, take
from server.storage import Session, Storage

router = APIRouter()

PASTED = "pasted"
MOST_LINES = 60
# "28 in 95 lbf", "28 95", "31 1/2 in; 95 lb": the force is the last number of the line, the draw all before it.
_DRAW_AND_FORCE = re.compile(r"(?P<draw>.{1,40}?)(?:\s*[;\t]\s*|,?\s+)(?P<force>[\d.,]{1,12}\s{0,3}[A-Za-z#]{0,5})")


@dataclass(frozen=True)
class PartPage:
    """All entries of one part, what they say together, and the form for the next."""

    heading: str
    lead: str
    note: str
    back: str
    back_words: str
    entries: list[EntryShown]
    summary: list[tuple[str, str]]
    fields: list[FormField]
    errors: list[Wrong]
    action: str
    operation: str
    save: str
    list_heading: str
    may_change: bool


@dataclass(frozen=True)
class Whose:
    """The record that a part hangs on, its build if the part is a build's, and the address of the page."""

    kind: KitNoun
    part: Part
    record: Noun
    build: BuildFact | None

    @property
    def owner_id(self) -> str:
        return self.build.build_id if self.part.of_build and self.build else self.record.id

    @property
    def address(self) -> str:
        return address(self.kind, self.record.id, self.part.key)

    @property
    def here(self) -> str:
        return f"{self.address}?build={self.build.build_id}" if self.part.of_build and self.build else self.address

    @property
    def name(self) -> str:
        build = f", build {self.build.number}" if self.part.of_build and self.build else ""
        return called(self.kind, self.record) + build


def whose(session: Session, noun: str, record_id: str, key: str, *, build_id: str = "") -> Whose:
    kind = the_noun(noun)
    part = kind.part(key)
    if part is None:
        raise HTTPException(404)
    record = the_record(session, kind, record_id)
    found = builds_of(session, kind, record_id) if part.of_build else []
    build = next((one for one in found if one.build_id == build_id), None) if build_id else next(iter(found), None)
    if part.of_build and build is None:
        raise HTTPException(404)
    return Whose(kind, part, record, build)


def rows_of(session: Session, part: Part, owner_ids: list[str], *, struck: bool = False) -> list[Noun]:
    """The entries of a part for some owners, in the order they were made."""
    if part.link == "record":
        rows = readings_of(session, part.table, part.fixed["noun"], owner_ids)
        return [row for row in rows if not part.measured or row.measured == part.measured]  # type: ignore[attr-defined]
    rows = belonging(session, part.table, f"{part.link}_id", owner_ids, struck=struck)
    return sorted(rows, key=lambda row: row.place or 0) if part.key == "layer" else list(rows)  # type: ignore[attr-defined]


def _page(
    request: Request, seat: Seat, storage: Storage, noun: str, record_id: str, key: str, *,
    build_id: str, operation: str, typed: dict[str, Any] | None = None, problems: list[Problem] | None = None,
) -> HTMLResponse:  # fmt: skip
    reader = reader_of(frame_for(request, title=""))
    with storage.read() as session:
        at = whose(session, noun, record_id, key, build_id=build_id)
        part = at.part
        rows = rows_of(session, part, [at.owner_id], struck=True)
        tools = instruments(session) if part.shown_as else {}
        options = options_for(session, part.table, part.asks)
        linked = linked_names(session, [part.table])
        may = seat.at_least("archer")
    first = _first_typed(part, rows) if typed is None else typed
    fields = _fields(part, first, options, problems or [])
    errors = wrongs(fields, problems or [])
    page = PartPage(
        heading=f"{part.heading}: {at.name}", lead="", note=part.note, back=address(at.kind, at.record.id),
        back_words=f"Back to {called(at.kind, at.record)}", list_heading="So far",
        entries=entries(part, rows, reader, linked=linked, base=at.address if may else ""),
        summary=summary_facts(measured(rows, tools), part.shown_as, reader) if part.shown_as else [],  # type: ignore[arg-type]
        fields=fields, errors=errors, action=at.here, operation=operation, save="Save and next", may_change=may,
    )  # fmt: skip
    frame = frame_for(request, title=page.heading, nav="kit", wrong=bool(errors))
    return html("kit/part.html", page, frame=frame, status=422 if errors else 200)


def _first_typed(part: Part, rows: list[Noun]) -> dict[str, Any]:
    """What the next entry likely shares with the last: its instrument, and the next place in the order."""
    typed: dict[str, Any] = {}
    if rows and "instrument" in part.asks:
        typed["instrument"] = getattr(rows[-1], "instrument_id", None) or ""
    if part.key == "layer":
        typed["place"] = str(max((row.place for row in rows if row.struck_rev is None), default=0) + 1)  # type: ignore[attr-defined]
    return typed


def _fields(part: Part, typed: dict[str, Any], options: Any, problems: list[Problem]) -> list[FormField]:
    made = form_fields(part.table, part.asks, typed={**part.fixed, **typed}, problems=problems, options=options)
    if not problems and made and made[0].control in ("text", "number"):
        made[0] = replace(made[0], focus=True)
    if part.pasted:
        wrong = " ".join(one.sentence for one in problems if one.field == PASTED)
        state = FieldState(typed=str(typed.get(PASTED, "")), error=wrong)
        made.append(FormField(PASTED, "Or several at once", "lines", state, hint="A line each, draw then force, for example 28 in 95 lbf."))
    return made


@router.get("/kit/{noun}/{record_id}/{key}")
def entries_page(
    request: Request, seat: ViewerSeat, storage: TheBook, noun: str, record_id: str, key: str, build: str = ""
) -> HTMLResponse:
    return _page(request, seat, storage, noun, record_id, key, build_id=build, operation=new_id())


@router.post("/kit/{noun}/{record_id}/{key}")
def add_entry(
    request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str, record_id: str, key: str, build: str = ""
) -> Response:
    with storage.read() as session:
        at = whose(session, noun, record_id, key, build_id=build)
    part, operation = at.part, operation_id(form)
    typed = body_of(form, part.table, part.asks)
    pasted = str(form.get(PASTED, "")) if part.pasted else ""
    if pasted.strip():
        problems = save_pasted(seat, storage, at, pasted, typed=typed, operation=operation)
    else:
        problems = _save_one(seat, storage, at, typed, operation=operation)
    if problems:
        typed[PASTED] = pasted
        return _page(
            request, seat, storage, noun, record_id, key, build_id=build, operation=operation, typed=typed, problems=problems
        )
    return RedirectResponse(at.here, 303)


def _save_one(seat: Seat, storage: Storage, at: Whose, typed: dict[str, Any], *, operation: str) -> list[Problem]:
    said = {name: value for name, value in typed.items() if value not in ("", [])}
    if not any(name != "instrument" for name in said):
        return [Problem(at.part.asks[0], "Nothing was typed yet.")]
    operations = FormOperations(seat, operation)
    stamp = {"at": operations.moment(storage)} if at.part.stamped else {}
    operations.new(at.part.noun, {**at.part.fixed, at.part.link: at.owner_id, **said, **stamp})
    return operations.try_to_save(storage)


def save_pasted(seat: Seat, storage: Storage, at: Whose, pasted: str, *, typed: dict[str, Any], operation: str) -> list[Problem]:
    """Force and draw of many lines: all of them, or none with each fault said."""
    lines = [line.strip() for line in pasted.splitlines() if line.strip()]
    if len(lines) > MOST_LINES:
        return [Problem(PASTED, f"{len(lines)} lines are too many at once. Paste {MOST_LINES} at most.")]
    operations, problems = FormOperations(seat, operation), []
    tool = {"instrument": typed["instrument"]} if typed.get("instrument") else {}
    for n, line in enumerate(lines, 1):
        found = _DRAW_AND_FORCE.fullmatch(line)
        if found is None:
            problems.append(Problem(PASTED, f"Line {n}, “{line[:40]}”: type a draw and a force, for example 28 in 95 lbf."))
            continue
        said = {"draw": found["draw"], "force": found["force"]}
        problems += [Problem(PASTED, f"Line {n}: {one.sentence}") for one in take(at.part.table, said).problems]
        operations.new(at.part.noun, {at.part.link: at.owner_id, **said, **tool})
    return problems or operations.try_to_save(storage)


def posted_entry(form: FormData, part: Part) -> dict[str, Any]:
    """What was typed in the form that corrects an entry."""
    return body_of(form, part.table, entry_asks(part))


def entry_asks(part: Part) -> tuple[str, ...]:
    """The fields of an entry that may be corrected; why it is left out among them, where that can be said."""
    return (*part.asks, "left_out_reason") if hasattr(part.table, "left_out_reason") else part.asks
