"""Speeds: what belongs to a bow build, an arrow build and an archer together; read one by one, left out with a reason."""

import re
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from server.access.seats import ArcherSeat, Seat, TheBook, ViewerSeat
from server.findings.drawing_of_speeds import pairing_speeds_drawn
from server.findings.kit_state import build_names, kit_state
from server.findings.pairing_speeds import all_pairings, pairing_found
from server.pages import speed_corrections
from server.pages.figures import reader_of
from server.pages.form_page import FormPage, form_answer
from server.pages.forms import (
    FormField,
    FormOperations,
    NotTaken,
    body_of,
    form_fields,
    heading,
    nth_id,
    operation_id,
    wrongs,
)
from server.pages.kit_records import options_for
from server.pages.posted import Posted
from server.pages.rendering import frame_for, html, part, wants_part
from server.pages.shapes import Column, Wrong
from server.pages.speed_shown import (
    LineShown,
    PairingShown,
    builds_words,
    doubts_shown,
    finding_words,
    line_shown,
    name_of_pairing,
    reading_shown,
    results_shown,
    series_shown,
)
from server.quantities import unit_for_reader
from server.records.ids import new_id
from server.records.instrument import Instrument
from server.records.kit_facts import pairing_of
from server.records.listing import one
from server.records.speed import Pairing, SpeedSeries
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

THREE = ("bow_build", "arrow_build", "archer")
SERIES = ("instrument", "stood_at", "day", "air_temperature", "note")
MOST_AT_ONCE = 40
METHODS = {"frame_count": "frames", "sound": "sound", "chronograph": "chronograph"}


@dataclass(frozen=True)
class PairingsPage:
    """What speeds/page.html shows."""

    lines: list[LineShown]
    may_change: bool


@dataclass(frozen=True)
class PairingPage:
    """What speeds/pairing.html shows: the name, and the part that comes back after each reading."""

    name: str
    builds: str
    bow_href: str
    arrow_href: str
    found: PairingShown
    doubt_columns: tuple[Column, ...]


@router.get("/pairings")
def pairings(request: Request, seat: ViewerSeat, storage: TheBook) -> HTMLResponse:
    frame = frame_for(request, title="Speeds of pairings", nav="kit")
    with storage.read() as session:
        lines = all_pairings(session)
    shown = PairingsPage([line_shown(line, reader_of(frame)) for line in lines], seat.at_least("archer"))
    return html("speeds/page.html", shown, frame=frame)


def _new_page(
    request: Request, storage: Storage, *, operation: str, typed: dict[str, Any], problems: list[list[Problem]] | None = None
) -> HTMLResponse:
    said = [*(problems or []), [], []]
    with storage.read() as session:
        kit = kit_state(session)
        options: dict[str, Any] = {"bow_build": build_names(kit, "bow"), "arrow_build": build_names(kit, "arrow")}
        options["archer"] = [(person.id, person.call_name) for person in kit.archers if not person.retired]
        series_options = options_for(session, SpeedSeries, SERIES)
    fields = form_fields(Pairing, THREE, typed=typed, problems=said[0], options=options)
    fields.append(heading("How the speed is read"))
    fields += form_fields(SpeedSeries, SERIES, typed=typed, problems=said[1], options=series_options)
    errors = wrongs(fields, [one for some in said for one in some])
    page = FormPage(
        heading="Read speeds", lead="Which bow, arrow and archer, and where the chronograph stands. Then type the readings one by one.",
        action="/pairings/new", operation=operation, fields=fields, errors=errors, save="Begin the series", back="/pairings",
    )  # fmt: skip
    return form_answer(request, page, nav="kit")


@router.get("/pairings/new")
def new(request: Request, seat: ArcherSeat, storage: TheBook) -> HTMLResponse:
    return _new_page(request, storage, operation=new_id(), typed={})


@router.post("/pairings/new")
def begin(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted) -> Response:
    """The pairing, if these three have none yet, and its first series."""
    three, said = body_of(form, Pairing, THREE), body_of(form, SpeedSeries, SERIES)
    operations = FormOperations(seat, operation_id(form))
    own = nth_id(operations.operation, 0)
    with storage.read() as session:
        there = pairing_of(session, bow_build_id=three.get("bow_build", ""), arrow_build_id=three.get("arrow_build", ""), archer_id=three.get("archer", ""))
    # The same form sent twice finds the pairing that it made itself, and must ask for the same again.
    made = there is None or there == own
    pairing_id = operations.new("pairing", three) if made else str(there)
    operations.new("speed_series", {"pairing": pairing_id, **{name: value for name, value in said.items() if value}})
    try:
        operations.save(storage)
    except NotTaken as error:
        problems = operations.problems_of(error)
        return _new_page(
            request, storage, operation=operations.operation, typed={**three, **said}, problems=problems if made else [[], *problems]
        )
    return RedirectResponse(f"/pairings/{pairing_id}?at={operations.operations[-1].record_id}", 303)


@dataclass(frozen=True)
class _Box:
    """A series whose box comes back: with what was typed and what is wrong with it, or empty and in focus."""

    series_id: str = ""
    typed: str = ""
    error: str = ""
    operation: str = ""


def _shown(request: Request, seat: Seat, storage: Storage, pairing_id: str, *, pool: bool, box: _Box) -> PairingPage:
    reader = reader_of(frame_for(request, title=""))
    with storage.read() as session:
        found = pairing_found(session, pairing_id, pool=pool)
    if found is None:
        raise HTTPException(404)
    base, may = f"/pairings/{pairing_id}", seat.at_least("archer")
    focused = box.series_id or (found.series[0].series.id if found.series else "")
    series = [
        series_shown(
            one, reader, base=base, pool=pool, focus=one.series.id == focused and not box.error,
            typed=box.typed if one.series.id == box.series_id else "", error=box.error if one.series.id == box.series_id else "",
            operation=box.operation if box.operation and one.series.id == box.series_id else new_id(),
        )
        for one in found.series
    ]  # fmt: skip
    errors = [Wrong(f"value-{box.series_id}", "Speed", box.error)] if box.error else []
    pooled = ""
    if found.pooled_with:
        arrows = ", ".join(fact.arrow_tag for fact in found.pooled_with)
        pooled = f"Pooled with like pairings (arrows {arrows}): same bow build, archer and fletching, masses within ±2 %. How far their means lie apart is in the doubt, which is wider for it."
    elif pool:
        pooled = "No like pairing has readings, so there is nothing to pool with."
    shown = PairingShown(
        finding=finding_words(found, reader), why=found.why_no_doubt, few=found.few, pooled=pooled,
        pool_href=base if pool else f"{base}?pool=yes",
        pool_words="Its own readings only" if pool else "Pool with like pairings" if found.may_pool_with else "",
        results=results_shown(found, reader), doubts=doubts_shown(found, reader), series=series,
        on_shots=[reading_shown(f, reader, mark=str(n), href=f"/shots/{f.shot_id}") for n, f in enumerate(found.on_shots, 1)],
        errors=errors, may_change=may, new_series=f"{base}/series", drawing_path=f"{base}/drawings/speeds",
        drawing=pairing_speeds_drawn(found, name=name_of_pairing(found.fact), reader=reader),
    )  # fmt: skip
    fact = found.fact
    unit = unit_for_reader("speed", reader)
    columns = (Column("Cause"), Column("Type"), Column(f"u, {unit}", number=True), Column("Degrees of freedom", number=True))
    return PairingPage(name_of_pairing(fact), builds_words(fact), f"/bows/{fact.bow_build_id}", f"/kit/arrow/{fact.arrow_id}", shown, columns)


@router.get("/pairings/{pairing_id}")
def pairing(request: Request, seat: ViewerSeat, storage: TheBook, pairing_id: str, pool: str = "", at: str = "") -> HTMLResponse:
    page = _shown(request, seat, storage, pairing_id, pool=pool == "yes", box=_Box(at))
    return html("speeds/pairing.html", page, frame=frame_for(request, title=page.name, nav="kit"))


@router.post("/pairings/{pairing_id}/series/{series_id}/readings")
def add_readings(
    request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, pairing_id: str, series_id: str, pool: str = ""
) -> Response:
    """One reading, or several at once: all of them, or none with each fault said."""
    with storage.read() as session:
        series = one(session, SpeedSeries, series_id)
        if series is None or series.pairing_id != pairing_id:
            raise HTTPException(404)
        tool = one(session, Instrument, series.instrument_id) if series.instrument_id else None
    typed, pooled = str(form.get("value", "")), pool == "yes"
    operations = FormOperations(seat, operation_id(form))
    sort = (tool.sort or "") if tool else ""
    error = _save_readings(storage, operations, series_id, typed, first=str(form.get("place", "1")), method=METHODS.get(sort, ""))
    box = _Box(series_id, typed, error, operations.operation) if error else _Box(series_id)
    if not error and not wants_part(request):
        return RedirectResponse(f"/pairings/{pairing_id}?at={series_id}" + ("&pool=yes" if pooled else ""), 303)
    page = _shown(request, seat, storage, pairing_id, pool=pooled, box=box)
    status = 422 if error else 200
    if wants_part(request):
        return part("speeds/_found.html", page, status=status, said="" if error else "Saved.")
    return html("speeds/pairing.html", page, frame=frame_for(request, title=page.name, nav="kit", wrong=True), status=status)


def split_readings(text: str) -> list[str]:
    """Several numbers as people put them down: a line each, or with spaces, semicolons or ", " between.

    A space before a unit parts nothing, so 52.6 m/s 53.1 m/s are two readings.
    """
    found = re.split(r"[;\n\r\t]+|,\s+|\s+(?=[\d.,]*\d)", text)
    return [one for one in (piece.strip().rstrip(",") for piece in found) if one]


def _save_readings(storage: Storage, operations: FormOperations, series_id: str, typed: str, *, first: str, method: str) -> str:
    """What is wrong, or nothing."""
    pieces = split_readings(typed)
    if not pieces:
        return "Type the speed, for example 52.6 m/s."
    if len(pieces) > MOST_AT_ONCE:
        return f"{len(pieces)} readings are too many at once. Type {MOST_AT_ONCE} at most."
    start = int(first) if first.isascii() and first.isdigit() and len(first) < 6 else 1
    for n, piece in enumerate(pieces):
        body = {"series": series_id, "value": piece, "place": str(start + n), **({"method": method} if method else {})}
        operations.new("speed_reading", body)
    return " ".join(dict.fromkeys(problem.sentence for problem in operations.try_to_save(storage)))


def _series_fields(storage: Storage, typed: dict[str, Any], problems: list[Problem]) -> list[FormField]:
    with storage.read() as session:
        options = options_for(session, SpeedSeries, SERIES)
    return form_fields(SpeedSeries, SERIES, typed=typed, problems=problems, options=options)


def _series_page(
    request: Request, storage: Storage, pairing_id: str, *, operation: str, typed: dict[str, Any], problems: list[Problem]
) -> HTMLResponse:
    with storage.read() as session:
        if one(session, Pairing, pairing_id) is None:
            raise HTTPException(404)
    fields = _series_fields(storage, typed, problems)
    errors = wrongs(fields, problems)
    page = FormPage(
        heading="Another series", lead="Another day, another place of the chronograph, or another chronograph.", action=f"/pairings/{pairing_id}/series",
        operation=operation, fields=fields, errors=errors, save="Begin the series", back=f"/pairings/{pairing_id}",
    )  # fmt: skip
    return form_answer(request, page, nav="kit")


@router.get("/pairings/{pairing_id}/series")
def new_series(request: Request, seat: ArcherSeat, storage: TheBook, pairing_id: str) -> HTMLResponse:
    return _series_page(request, storage, pairing_id, operation=new_id(), typed={}, problems=[])


@router.post("/pairings/{pairing_id}/series")
def begin_series(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, pairing_id: str) -> Response:
    said = body_of(form, SpeedSeries, SERIES)
    operations = FormOperations(seat, operation_id(form))
    series_id = operations.new("speed_series", {"pairing": pairing_id, **{name: value for name, value in said.items() if value}})
    if refused := operations.try_to_save(storage):
        return _series_page(request, storage, pairing_id, operation=operations.operation, typed=said, problems=refused)
    return RedirectResponse(f"/pairings/{pairing_id}?at={series_id}", 303)


router.include_router(speed_corrections.router)
