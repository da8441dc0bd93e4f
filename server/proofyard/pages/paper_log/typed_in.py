"""Typing a sheet of paper in: many shots and readings at once, their order known by their rows, their times not."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, HTTPException

from proofyard.access.seats import Seat
from proofyard.answers.range.to_pick import arrows_of_sheet
from proofyard.answers.session.page import SessionRead, read_session
from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, Sent, form_routes
from proofyard.pages.frame.forms import FieldState, FormField, FormOperations, Problems, Wrong, nth_id
from proofyard.pages.paper_log.plain_log import READ, SHOT_FIELDS, bow_options, said_of_hit
from proofyard.quantities.reason import Reason, because
from proofyard.records import range_facts
from proofyard.records.arrows_at_the_range import NEWEST_BUILDS
from proofyard.records.columns import Noun
from proofyard.records.listing import one
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.speed import SpeedReading
from proofyard.records.trial import ShootingEnd
from proofyard.records.typed_values import Problem
from proofyard.storage import Session

router = APIRouter()

ROWS, MOST_ROWS = 8, 40
SHOT_PLACE = 2000  # shots' own numbers among the ids that follow from the form's
CARRIED = ("archer", "bow_build", "purpose")  # empty means: as in the row above; so does the number of the end
READ_MAIN = ("hit", "x", "y", "entry", "outcome_low", "outcome_high", "depth")
OF_SHEET = ("shooting_end", "setup", "session")


@dataclass(frozen=True)
class TypedRow:
    """One shot of the sheet: how it was shot, what it did, and what is read more seldom."""

    number: int
    label: str
    shot: Sequence[FormField]
    reading: Sequence[FormField]
    more: Sequence[FormField]
    more_open: bool


@dataclass(frozen=True)
class TypeIn:
    """The sheet: where it was shot, its rows. of_many: that not all arrows are offered, and which are; or None."""

    read: SessionRead
    setups: Sequence[tuple[str, str]]
    setup: FieldState
    rows: Sequence[TypedRow]
    of_many: Reason | None
    reader: str


@dataclass(frozen=True)
class Row:
    """The boxes of one row, record by record."""

    number: int
    end: Block
    shot: Block
    speed: Block
    reading: Block

    @property
    def blocks(self) -> tuple[Block, ...]:
        return (self.end, self.shot, self.speed, self.reading)

    def used(self, bodies: Bodies) -> bool:
        """Whether anything was written in it; what is carried down from the row above does not count."""
        return any(block.filled(bodies.get(block.key, {})) for block in self.blocks)


def _row(n: int, options: Mapping[str, Any]) -> Row:
    def block(table: type[Noun], names: Sequence[str], letter: str) -> Block:
        return Block(table=table, names=names, prefix=f"{letter}{n}-", options=options, blank=True, fit=_as_list)

    return Row(
        n,
        block(ShootingEnd, ["number"], "w"),
        block(Shot, ["position", *SHOT_FIELDS], "s"),
        block(SpeedReading, ["value"], "v"),
        block(ShotReading, READ, "r"),
    )


def _as_list(control: FormField) -> FormField:
    """A picker with an empty line, also where an answer is needed: empty means as in the row above."""
    return replace(control, control="select", required=False) if control.control == "choice" else control


def _offered(session: Session, read: SessionRead) -> tuple[Mapping[str, Any], Reason | None]:
    """What the pickers of a row offer, and which arrows those are, where many are in use."""
    offered, many = arrows_of_sheet(session, read.trial.id, {line.panel_build_id for line in read.setups})
    bows = [*bow_options(session), *offered["bow_build"]]
    options = {"archer": range_facts.archers_here(session), "bow_build": bows, "arrow_build": offered["arrow_build"]}
    return options, because("arrows_of_many", newest=NEWEST_BUILDS) if many else None


@form_routes(router, "/sessions/{session_id}/type-in", most_fields=MOST_ROWS * 60)
def type_in(asked: Asked, session_id: str) -> Form:
    """All rows or none: the page comes back with every message, and with all that was typed."""
    with asked.book.read() as session:
        read = read_session(session, session_id, reader=asked.reader)
        if read is None:
            raise HTTPException(404, "The book has no such session.")
        options, of_many = _offered(session, read)
        highest = range_facts.where_it_stands(session, asked.seat.device_id, asked.seat.letter).highest_label
    rows = [_row(n, options) for n in range(1, _row_count(asked) + 1)]
    setups, setup = [(line.setup_id, f"{line.mark}: {line.words}") for line in read.setups], str(asked.form.get("setup", ""))
    picked = setup or (setups[0][0] if len(setups) == 1 else "")

    def own(sent: Sent) -> TypeIn:
        used = [row.number for row in rows if row.used(sent.bodies)]
        labels = {number: f"{asked.seat.letter}{highest + nth}" for nth, number in enumerate(used, 1)}
        return TypeIn(
            read,
            setups,
            sent.state("setup", picked),
            [_shown(row, sent, labels.get(row.number, "")) for row in rows],
            of_many,
            asked.reader,
        )

    def check(bodies: Bodies) -> Problems:
        said = _wrong_sheet(asked, session_id, setup) if any(row.used(bodies) for row in rows) else "Enter at least one row."
        return {"setup": [Problem("setup", said)]} if said else {}

    def keep(operations: FormOperations, bodies: Bodies) -> None:
        used = [row for row in rows if row.used(bodies)]
        with asked.book.read() as session:
            # A second tap, or a lost reply: it is in the book already.
            if one(session, Shot, nth_id(operations.operation, SHOT_PLACE + used[0].number)) is None:
                _keep(session, asked.seat, operations, used, bodies, setup=setup)

    def also(sent: Sent) -> list[Wrong]:
        said = sent.state("setup").error
        return [Wrong("setup", "This sheet", said)] if said else []

    return Form(
        heading=f"Type in a log sheet: {read.heading}",
        back=f"/sessions/{session_id}",
        after=f"/sessions/{session_id}#session-shots",
        apart=[block for row in rows for block in row.blocks],
        nav="trials",
        title=f"Type in: {read.heading}",
        template="paper_log/typed_in.html",
        unseen={"rows": str(len(rows))},
        own=own,
        named=lambda wrong: wrong._replace(label=f"Row {wrong.id[1:].partition('-')[0]}, {wrong.label}"),
        also=also,
        check=check,
        sort=_sorted,
        keep=keep,
    )


def _row_count(asked: Asked) -> int:
    """How many rows there are to type in: at first as many as the address asks for."""
    posted = asked.request.method == "POST"
    text = str((asked.form if posted else asked.request.query_params).get("rows", "" if posted else ROWS))
    count = int(text) if text.isascii() and text.isdigit() and len(text) < 4 else 0
    if posted:
        return min(MOST_ROWS, max(1, count or ROWS))
    if not 1 <= count <= MOST_ROWS:
        raise HTTPException(422, f"A sheet has 1 to {MOST_ROWS} rows.")
    return count


def _sorted(problems: Problems) -> Problems:
    """Each to its row; what belongs to the whole sheet to its set-up."""
    found: dict[str, list[Problem]] = {}
    for key, some in problems.items():
        for problem in some:
            found.setdefault("setup" if problem.field in OF_SHEET else key, []).append(problem)
    return found


def _wrong_sheet(asked: Asked, session_id: str, setup: str) -> str:
    with asked.book.read() as session:
        days = {each.setup.id: each.day.id for each in range_facts.open_setups(session)}
    return "" if days.get(setup) == session_id else "Choose the set-up that this sheet was shot at. A closed trial takes no more shots."


def _keep(session: Session, seat: Seat, operations: FormOperations, used: Sequence[Row], bodies: Bodies, *, setup: str) -> None:
    """The operations of every used row."""
    there = {
        str(w["said"]["number"]): w["id"]
        for w in range_facts.shooting_ends_of(session, [setup])
        if w["said"].get("number") is not None and not w["voided"]
    }
    highest = range_facts.where_it_stands(session, seat.device_id, seat.letter).highest_label
    made: dict[str, str] = {}
    above: dict[str, Any] = {"purpose": "counted"}
    number, places = "1", dict[str, int]()
    for nth, row in enumerate(used, 1):
        shot = dict(bodies[row.shot.key])
        number = str(bodies[row.end.key].get("number", "")).strip() or number
        above |= {name: shot[name] for name in CARRIED if shot.get(name)}
        places[number] = places.get(number, 0) + 1
        if number not in there and number not in made:
            made[number] = nth_id(operations.operation, SHOT_PLACE + MOST_ROWS + nth)
            operations.put("shooting_end", made[number], {"setup": setup, "number": number}, of=row.end.key)
        # An end that another sheet began: a person says which shot came first across the two.
        position = str(shot.get("position", "")).strip() or ("" if number in there else str(places[number]))
        carried = {name: above.get(name, "") for name in CARRIED}
        ours = {"label": f"{seat.letter}{highest + nth}", "shooting_end": there.get(number) or made[number], "position": position}
        _keep_shot(operations, row, bodies, {**shot, **carried, **ours})


def _keep_shot(operations: FormOperations, row: Row, bodies: Bodies, shot: Mapping[str, Any]) -> None:
    shot_id = nth_id(operations.operation, SHOT_PLACE + row.number)
    operations.put("shot", shot_id, shot, of=row.shot.key)
    speed = str(bodies[row.speed.key].get("value", ""))
    if speed.strip():
        body = {"shot": shot_id, "value": speed, "method": "chronograph"}
        operations.put("speed_reading", nth_id(shot_id, 1), body, of=row.speed.key)
    if said := said_of_hit(bodies[row.reading.key]):
        operations.put("shot_reading", shot_id, said, of=row.reading.key)


def _shown(row: Row, sent: Sent, label: str) -> TypedRow:
    shot = [control for block in (row.end, row.shot, row.speed) for control in sent.controls(block)]
    reading, cut = sent.controls(row.reading), len(row.reading.prefix)
    more = [control for control in reading if control.name[cut:] not in READ_MAIN]
    filled = row.reading.filled(sent.bodies.get(row.reading.key, {}))
    is_open = any(name not in READ_MAIN for name in filled) or any(control.state.error for control in more)
    return TypedRow(row.number, label, shot, [control for control in reading if control not in more], more, is_open)
