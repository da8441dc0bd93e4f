"""Speeds: what belongs to a bow build, an arrow build and an archer together; read one by one, left out with a reason."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proofyard.access.seats import ArcherSeat, Seat, TheBook, ViewerSeat
from proofyard.answers.speeds.page import CombinationRead, line_of, read_combination
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, form_routes
from proofyard.pages.frame.forms import FieldState, FormOperations, Posted, Wrong, operation_id, query_of
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.pages.kit.found import options_for
from proofyard.pages.speeds import corrections as speed_corrections
from proofyard.pages.speeds import several as several_arrows
from proofyard.pages.speeds.typed_readings import METHODS, split_readings, too_many
from proofyard.quantities.reason import Reason, because
from proofyard.records.archer import Archer
from proofyard.records.ids import new_id
from proofyard.records.instrument import Instrument
from proofyard.records.kit_facts import combination_of
from proofyard.records.kit_to_pick import arrows_to_pick, bows_to_pick
from proofyard.records.listing import all_of, count_of, one
from proofyard.records.speed import Combination, SpeedSeries
from proofyard.records.speed_facts import CombinationFact
from proofyard.shots.combination_speeds import newest_combinations
from proofyard.storage import Storage
from proofyard.views.address import AskedPage, Free, Reading, Tick, asked_page_of, last

router = APIRouter()

POOL = Tick(name="pool", label="Pool with like combinations")
AT = Free(name="at", label="Series")
A_PAGE = 100
THREE = ("bow_build", "arrow_build", "archer")
SERIES = ("instrument", "stood_at", "day", "air_temperature", "note")


@dataclass(frozen=True)
class CombinationsPage:
    """What speeds/page.html shows: a page of the combinations, and what is said of each.

    page, pages  which page it is of how many; told: which of all combinations stand on it
    """

    lines: list[tuple[CombinationFact, Reason]]
    asked: AskedPage
    page: int
    pages: int
    told: Reason
    reader: str
    may_change: bool


@dataclass(frozen=True)
class CombinationPage:
    """What speeds/combination.html shows, and the part that comes back after each reading: the answer, and the box for the next one.

    focus  the series whose box is in focus
    """

    read: CombinationRead
    reader: str
    base: str
    boxes: Mapping[str, tuple[FieldState, str]]
    focus: str
    errors: list[Wrong]
    may_change: bool


@router.get("/combinations")
def combinations(request: Request, seat: ViewerSeat, storage: TheBook, reader: Reader) -> HTMLResponse:
    asked = asked_page_of(query_of(request))
    with storage.read() as session:
        count = count_of(session, "combination")
        pages = max(1, -(-count // A_PAGE))
        page = min(asked.page, pages)
        lines = newest_combinations(session, (page - 1) * A_PAGE, A_PAGE)
    first = (page - 1) * A_PAGE + 1
    told = because("shots_on_page", first=first, last=first + len(lines) - 1, count=count)
    shown = CombinationsPage([(line.fact, line_of(line)) for line in lines], asked, page, pages, told, reader, seat.at_least("archer"))
    return html("speeds/page.html", shown, frame=frame_for(request, title="Speeds of combinations", nav="kit"))


router.include_router(several_arrows.router)  # before a place of the address that takes any word


@form_routes(router, "/combinations/new")
def begin(asked: Asked) -> Form:
    """The combination, if these three have none yet, and its first series."""
    words = last(query_of(asked.request), "find").strip()
    with asked.book.read() as session:
        arrows, more = arrows_to_pick(session, words=words, keep={str(asked.form.get("arrow_build", ""))} - {""})
        options: dict[str, Any] = {"bow_build": bows_to_pick(session), "arrow_build": arrows}
        options["archer"] = [(person.id, person.call_name) for person in all_of(session, Archer, retired=False)]
        series_options = options_for(session, SpeedSeries, SERIES)
        there = combination_of(session, **{f"{name}_id": str(asked.form.get(name, "")) for name in THREE})
    combination = Block(table=Combination, names=THREE, options=options)
    series = Block(table=SpeedSeries, names=SERIES, options=series_options, title="How the speed is read")
    # The same form sent twice finds the combination that it made itself, and must ask for the same again.
    made = there is None or there == asked.nth_id()

    def keep(operations: FormOperations, bodies: Bodies) -> None:
        combination_id = combination.keep(asked, operations, bodies[combination.key]) if made else str(there)
        series.keep(asked, operations, bodies[series.key], combination=combination_id)

    return Form(
        heading="Read speeds",
        lead="Which bow, arrow and archer, and where the chronograph stands. Then type the readings one by one.",
        back="/combinations",
        after=f"/combinations/{asked.nth_id() if made else there}?at={asked.nth_id(1 if made else 0)}",
        template="speeds/of_arrows.html",
        own=lambda sent: several_arrows.ArrowsFound(words, more),
        blocks=[combination, series],
        save="Start the series",
        at="main",
        keep=keep,
    )


@dataclass(frozen=True)
class _Box:
    """A series whose box comes back: with what was typed and what is wrong with it, or empty and in focus."""

    series_id: str = ""
    typed: str = ""
    error: str = ""
    operation: str = ""


def _shown(seat: Seat, storage: Storage, combination_id: str, *, reader: str, pool: bool, box: _Box) -> CombinationPage:
    with storage.read() as session:
        read = read_combination(session, combination_id, reader=reader, pool=pool)
    if read is None:
        raise HTTPException(404)
    boxes = {one.found.series.id: (FieldState(), new_id()) for one in read.series}
    if box.series_id in boxes:
        boxes[box.series_id] = FieldState(typed=box.typed, error=box.error), box.operation or new_id()
    return CombinationPage(
        read=read,
        reader=reader,
        base=f"/combinations/{combination_id}",
        boxes=boxes,
        focus="" if box.error else box.series_id or next(iter(boxes), ""),
        errors=[Wrong(f"value-{box.series_id}", "Speed", box.error)] if box.error else [],
        may_change=seat.at_least("archer"),
    )


@router.get("/combinations/{combination_id}")
def combination(request: Request, seat: ViewerSeat, storage: TheBook, reader: Reader, combination_id: str) -> HTMLResponse:
    """`?pool=yes` with the readings of similar arrows, `?at=` a series whose box is in focus."""
    reading = Reading(query_of(request))
    page = _shown(seat, storage, combination_id, reader=reader, pool=reading.one(POOL), box=_Box(reading.one(AT)))
    return html("speeds/combination.html", page, frame=frame_for(request, title=page.read.name, nav="kit"))


@router.post("/combinations/{combination_id}/series/{series_id}/readings")
def add_readings(
    request: Request, seat: ArcherSeat, storage: TheBook, reader: Reader, form: Posted, combination_id: str, series_id: str
) -> Response:
    """One reading, or several at once: all of them, or none with each fault said."""
    with storage.read() as session:
        series = one(session, SpeedSeries, series_id)
        if series is None or series.combination_id != combination_id:
            raise HTTPException(404)
        tool = one(session, Instrument, series.instrument_id) if series.instrument_id else None
    typed, pooled = str(form.get("value", "")), Reading(query_of(request)).one(POOL)
    operations = FormOperations(seat, operation_id(form))
    sort = (tool.sort or "") if tool else ""
    error = _save_readings(storage, operations, series_id, typed, first=str(form.get("place", "1")), method=METHODS.get(sort, ""))
    box = _Box(series_id, typed, error, operations.operation) if error else _Box(series_id)
    if not error and not wants_part(request):
        return RedirectResponse(f"/combinations/{combination_id}?at={series_id}" + ("&pool=yes" if pooled else ""), 303)
    page = _shown(seat, storage, combination_id, reader=reader, pool=pooled, box=box)
    status = 422 if error else 200
    if wants_part(request):
        return part("speeds/_found.html", page, status=status, said="" if error else "Saved.")
    return html("speeds/combination.html", page, frame=frame_for(request, title=page.read.name, nav="kit", wrong=True), status=status)


def _save_readings(storage: Storage, operations: FormOperations, series_id: str, typed: str, *, first: str, method: str) -> str:
    """What is wrong, or nothing."""
    pieces = split_readings(typed)
    if not pieces:
        return "Enter the speed, for example 52.6 m/s."
    if said := too_many(pieces):
        return said
    start = int(first) if first.isascii() and first.isdigit() and len(first) < 6 else 1
    for n, piece in enumerate(pieces):
        body = {"series": series_id, "value": piece, "place": str(start + n), **({"method": method} if method else {})}
        operations.new("speed_reading", body)
    return " ".join(dict.fromkeys(problem.sentence for problem in operations.try_to_save(storage)))


@form_routes(router, "/combinations/{combination_id}/series")
def begin_series(asked: Asked, combination_id: str) -> Form:
    with asked.book.read() as session:
        if one(session, Combination, combination_id) is None:
            raise HTTPException(404)
        options = options_for(session, SpeedSeries, SERIES)
    return Form(
        heading="Another series",
        lead="Another day, another place of the chronograph, or another chronograph.",
        back=f"/combinations/{combination_id}",
        after=f"/combinations/{combination_id}?at={asked.nth_id()}",
        blocks=[Block(table=SpeedSeries, names=SERIES, options=options, fixed={"combination": combination_id})],
        save="Start the series",
        at="main",
    )


router.include_router(speed_corrections.router)
