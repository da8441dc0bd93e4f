"""Typing a sheet of paper in: many shots and readings at once, their order known by their rows, their times not."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Annotated, Any

from fastapi import APIRouter, Depends, HTTPException, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.datastructures import FormData

from server.access.seats import ArcherSeat, Seat, TheBook
from server.findings import range_kit
from server.findings.session_page import SessionRead, read_session
from server.pages.corrections import with_blank
from server.pages.figures import reader_of
from server.pages.forms import FormField, FormOperations, NotTaken, body_of, form_fields, nth_id, operation_id, wrongs
from server.pages.plain_log import LOOSE, READ
from server.pages.rendering import frame_for, html
from server.pages.shapes import FieldState, Wrong
from server.pages.sheet import ORDER
from server.records import range_facts
from server.records.columns import Noun
from server.records.ids import new_id
from server.records.listing import one
from server.records.shot import Shot, ShotReading
from server.records.speed import SpeedReading
from server.records.trial import Walk
from server.records.typed_values import Problem
from server.storage import Session

router = APIRouter()

ROWS, MOST_ROWS = 8, 40
SHOT_PLACE = 2000  # shots' own numbers among the ids that follow from the form's
CARRIED = ("number", "archer", "bow_build", "purpose")  # empty means: as in the row above
READ_MAIN = ("hit", "x", "y", "way_in", "outcome_low", "outcome_high", "depth")
READ_MORE = tuple(name for name in READ if name not in READ_MAIN)


async def _many(request: Request) -> FormData:
    return await request.form(max_fields=MOST_ROWS * 60, max_files=0)


Many = Annotated[FormData, Depends(_many)]


@dataclass(frozen=True)
class TypedRow:
    """One shot of the sheet: what was loosed, what was read, and what is read more seldom."""

    number: int
    label: str
    loose: Sequence[FormField]
    reading: Sequence[FormField]
    more: Sequence[FormField]
    more_open: bool


@dataclass(frozen=True)
class TypeInPage:
    read: SessionRead
    setups: Sequence[tuple[str, str]]
    setup: FieldState
    rows: Sequence[TypedRow]
    row_count: int
    operation: str
    errors: Sequence[Wrong]


@dataclass
class Row:
    """What was typed in one row, by the names of its fields."""

    number: int
    order: dict[str, Any]
    shot: dict[str, Any]
    speed: str
    reading: dict[str, Any]
    problems: dict[str, list[Problem]] = field(default_factory=dict)  # by prefix

    @property
    def used(self) -> bool:
        """Whether anything was written in it; what is carried down from the row above does not count."""
        own = [self.speed, *self.shot.values(), *self.reading.values(), *self.order.values()]
        return any(value not in ("", "no", [], None) for value in own)


def prefix(number: int, table: type[Noun]) -> str:
    return {Walk: f"w{number}-", Shot: f"s{number}-", SpeedReading: f"v{number}-", ShotReading: f"r{number}-"}[table]


@router.get("/sessions/{session_id}/type-in", response_class=HTMLResponse)
def type_in(
    request: Request, seat: ArcherSeat, book: TheBook, session_id: str, rows: Annotated[int, Query(ge=1, le=MOST_ROWS)] = ROWS
) -> Response:
    with book.read() as session:
        empty = [Row(n, {}, {}, "", {}) for n in range(1, rows + 1)]
        page = _page(request, session, seat, session_id, empty, setup="", operation=new_id())
    return _answer(request, page)


@router.post("/sessions/{session_id}/type-in", response_class=HTMLResponse)
def take_sheet(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, form: Many) -> Response:
    """All rows or none: the page comes back with every message, and with all that was typed."""
    operation, setup = operation_id(form), str(form.get("setup", ""))
    rows = [_row(form, n) for n in range(1, _row_count(form) + 1)]
    used = [row for row in rows if row.used]
    done = RedirectResponse(f"/sessions/{session_id}#session-shots", 303)
    with book.read() as session:
        if used and one(session, Shot, nth_id(operation, SHOT_PLACE + used[0].number)) is not None:
            return done  # a second tap, or a lost reply: it is in the book already
        asked = Asked(FormOperations(seat, operation))
        setup_problem = _ask_for(asked, session, seat, session_id, used, setup)
    if not setup_problem:
        try:
            asked.operations.save(book)
            return done
        except NotTaken as refusal:
            setup_problem = asked.hand_out(refusal)
    with book.read() as session:
        page = _page(request, session, seat, session_id, rows, setup=setup, operation=operation, setup_problem=setup_problem)
    return _answer(request, page)


def _row_count(form: FormData) -> int:
    text = str(form.get("rows", ""))
    return min(MOST_ROWS, max(1, int(text))) if text.isascii() and text.isdigit() and len(text) < 4 else ROWS


def _row(form: FormData, n: int) -> Row:
    return Row(
        number=n,
        order={name: str(form.get(prefix(n, table) + name, "")).strip() for table, name in ORDER},
        shot=body_of(form, Shot, LOOSE, prefix=prefix(n, Shot)),
        speed=str(form.get(f"{prefix(n, SpeedReading)}value", "")),
        reading=body_of(form, ShotReading, READ, prefix=prefix(n, ShotReading)),
    )


@dataclass
class Asked:
    """The operations of the sheet, and for each whose it is, so that its problems find their row and box."""

    operations: FormOperations
    whose: list[tuple[Row | None, str]] = field(default_factory=list)

    def put(self, row: Row | None, where: str, noun: str, record_id: str, body: Mapping[str, Any]) -> None:
        self.operations.put(noun, record_id, body)
        self.whose.append((row, where))

    def hand_out(self, refusal: NotTaken) -> str:
        """Each problem to its row; what belongs to the whole sheet is given back."""
        whole = []
        for (row, where), problems in zip(self.whose, self.operations.problems_of(refusal), strict=True):
            for problem in problems:
                if row is None or problem.field in ("walk", "setup", "session"):
                    whole.append(problem.sentence)
                elif not problem.sentence.startswith("The book does not have this shot yet"):
                    row.problems.setdefault(where, []).append(problem)
        return " ".join(dict.fromkeys(whole))


def _ask_for(asked: Asked, session: Session, seat: Seat, session_id: str, used: Sequence[Row], setup: str) -> str:
    """The operations of every used row; a sentence if the sheet as a whole can't be taken."""
    if not used:
        return "Nothing is typed yet. Type at least one row."
    days = {one_setup.setup.id: one_setup.day.id for one_setup in range_facts.open_setups(session)}
    if days.get(setup) != session_id:
        return "Pick the set-up that this sheet was shot at. A set-up of a closed trial takes no shots."
    there = {str(w["said"]["number"]): w["id"] for w in range_facts.walks_of(session, [setup]) if w["said"].get("number") is not None and not w["struck"]}
    highest = range_facts.where_it_stands(session, seat.device_id, seat.letter).highest_label
    made: dict[str, str] = {}
    above: dict[str, Any] = {"number": "1", "purpose": "counted"}
    places: dict[str, int] = {}
    for nth, row in enumerate(used, 1):
        said = {name: value for name, value in {**row.order, **row.shot}.items() if name in CARRIED and value}
        above |= said
        number = str(above["number"])
        places[number] = places.get(number, 0) + 1
        if number not in there and number not in made:
            made[number] = nth_id(asked.operations.operation, SHOT_PLACE + MOST_ROWS + nth)
            asked.put(row, prefix(row.number, Walk), "walk", made[number], {"setup": setup, "number": number})
        walk = there.get(number) or made[number]
        # A walk that another sheet has begun: which came first across the two is for a person to say.
        position = row.order["position"] or ("" if number in there else str(places[number]))
        _ask_for_shot(asked, row, walk, {**row.shot, **{name: above.get(name, "") for name in CARRIED[1:]}}, position, f"{seat.letter}{highest + nth}")
    return ""


def _ask_for_shot(asked: Asked, row: Row, walk: str, shot: Mapping[str, Any], position: str, label: str) -> None:
    shot_id = nth_id(asked.operations.operation, SHOT_PLACE + row.number)
    asked.put(row, prefix(row.number, Shot), "shot", shot_id, {**shot, "label": label, "walk": walk, "position": position})
    if row.speed.strip():
        body = {"shot": shot_id, "value": row.speed, "method": "chronograph"}
        asked.put(row, prefix(row.number, SpeedReading), "speed_reading", nth_id(shot_id, 1), body)
    read = {name: value for name, value in row.reading.items() if value not in ("", [], "no")}
    if read:
        known = {"place_known": "yes"} if read.get("x") or read.get("y") else {}
        asked.put(row, prefix(row.number, ShotReading), "shot_reading", shot_id, {**read, **known})


# --- the page


def _answer(request: Request, page: TypeInPage) -> Response:
    frame = frame_for(request, title=f"Type in: {page.read.heading}", nav="trials", wrong=bool(page.errors))
    return html("sheet/type_in.html", page, frame=frame, status=422 if page.errors else 200)


def _page(
    request: Request, session: Session, seat: Seat, session_id: str, rows: Sequence[Row], *, setup: str, operation: str, setup_problem: str = ""
) -> TypeInPage:
    read = read_session(session, session_id, reader=reader_of(frame_for(request, title="")))
    if read is None:
        raise HTTPException(404, "The book has no such session.")
    setups = [(one_line.setup_id, f"{one_line.mark}: {one_line.words}") for one_line in read.setups]
    bows = range_kit.bows_for_phone(range_facts.current_bows(session))
    arrows = range_kit.arrows_for_phone(session)
    options = {
        "archer": range_facts.archers_here(session),
        "bow_build": [(b["build"], f"{b['weight']} lb, {b['name']}" if b["weight"] else b["name"]) for b in bows],
        "arrow_build": [(a["build"], f"{a['tag']}, {a['head'] or a['form']}") for a in arrows],
    }
    highest = range_facts.where_it_stands(session, seat.device_id, seat.letter).highest_label
    shown = []
    nth = 0
    for row in rows:
        nth += row.used
        shown.append(_shown(row, options, f"{seat.letter}{highest + nth}" if row.used else ""))
    picked = setup or (setups[0][0] if len(setups) == 1 else "")
    errors = [Wrong("setup", "This sheet", setup_problem)] if setup_problem else []
    errors += [
        Wrong(wrong.id, f"Row {row.number}, {wrong.label}", wrong.message) for row in shown for wrong in wrongs([*row.loose, *row.reading, *row.more])
    ]
    return TypeInPage(read, setups, FieldState(picked, error=setup_problem), shown, len(rows), operation, errors)


def _shown(row: Row, options: Mapping[str, Sequence[tuple[str, str]]], label: str) -> TypedRow:
    n = row.number

    def fields(table: Any, names: Sequence[str], typed: Mapping[str, Any]) -> list[FormField]:
        at = prefix(n, table)
        found = form_fields(table, names, typed=typed, problems=row.problems.get(at, ()), options=options, prefix=at)
        return [_as_list(one_field) for one_field in with_blank(found)]

    order = [one_field for table, name in ORDER for one_field in fields(table, [name], row.order)]
    speed = fields(SpeedReading, ["value"], {"value": row.speed})
    more = fields(ShotReading, READ_MORE, row.reading)
    is_open = any(row.reading.get(name) not in ("", "no", [], None) for name in READ_MORE) or any(f.state.error for f in more)
    return TypedRow(n, label, [*order, *fields(Shot, LOOSE, row.shot), *speed], fields(ShotReading, READ_MAIN, row.reading), more, is_open)


def _as_list(one_field: FormField) -> FormField:
    """A picker with an empty line, also where an answer is needed: empty means as in the row above."""
    return replace(one_field, control="select", required=False) if one_field.control == "choice" else one_field

