"""What is written down of a record or its build one by one: readings, checks, force and draw, spots, layers.

The page comes back after each with the box empty and ready, so that ten readings are ten times a number and Enter.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, HTTPException

from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, Sent, form_routes
from proofyard.pages.frame.forms import FieldState, FormField, FormOperations, Problems
from proofyard.pages.frame.row_page import Row, row_routes
from proofyard.pages.kit.found import address, builds_of, called, linked_names, options_for, the_noun, the_record
from proofyard.pages.kit.nouns import KitNoun, Part
from proofyard.pages.kit.part_rows import PartRow, part_rows, row_words, summary_facts
from proofyard.records.bow import DrawPoint
from proofyard.records.columns import Noun
from proofyard.records.kit_facts import BuildFact
from proofyard.records.listing import belonging, one, readings_of
from proofyard.records.speed_facts import instruments
from proofyard.records.typed_values import Problem, take
from proofyard.shots.readings import measured
from proofyard.storage import Session

router = APIRouter()

PASTED = "pasted"
MOST_LINES = 60
# "28 in 95 lbf", "28 95", "31 1/2 in; 95 lb": the force is the last number of the line, the draw all before it.
_DRAW_AND_FORCE = re.compile(r"(?P<draw>.{1,40}?)(?:\s*[;\t]\s*|,?\s+)(?P<force>[\d.,]{1,12}\s{0,3}[A-Za-z#]{0,5})")


@dataclass(frozen=True)
class PartOwn:
    """Beside the form for the next row: all rows of one part, and what they say together."""

    note: str
    back_words: str
    rows: list[PartRow]
    summary: list[tuple[str, str]]
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


def rows_of(session: Session, part: Part, owner_ids: list[str], *, voided: bool = False) -> list[Noun]:
    """The rows of a part for some owners, in the order they were made."""
    if part.link == "record":
        rows = readings_of(session, part.table, part.fixed["noun"], owner_ids)
        return [row for row in rows if not part.measured or row.measured == part.measured]  # type: ignore[attr-defined]
    rows = belonging(session, part.table, f"{part.link}_id", owner_ids, voided=voided)
    return sorted(rows, key=lambda row: row.place or 0) if part.key == "layer" else list(rows)  # type: ignore[attr-defined]


@form_routes(router, "/kit/{noun}/{record_id}/{key}", shown_to="viewer")
def entries(asked: Asked, noun: str, record_id: str, key: str) -> Form:
    with asked.book.read() as session:
        at = whose(session, noun, record_id, key, build_id=asked.request.query_params.get("build", ""))
        part = at.part
        rows = rows_of(session, part, [at.owner_id], voided=True)
        tools = instruments(session) if part.shown_as else {}
        linked = linked_names(session, [part.table])
        kept = [getattr(row, "instrument_id", None) for row in rows]
        options = options_for(session, part.table, part.asks, measured=part.measured, kept=kept)
    block = Block(
        table=part.table, names=part.asks, typed=_first_typed(part, rows), fixed={**part.fixed, part.link: at.owner_id}, options=options
    )
    pasted, may = str(asked.form.get(PASTED, "")) if part.pasted else "", asked.seat.at_least("archer")

    def check(bodies: Bodies) -> Problems:
        if pasted.strip():
            return {block.key: problems} if (problems := pasted_points(pasted)[1]) else {}
        said = block.filled(bodies[block.key])
        return {} if any(name != "instrument" for name in said) else {block.key: [Problem(part.asks[0], "Nothing was typed yet.")]}

    def keep(operations: FormOperations, bodies: Bodies) -> None:
        if pasted.strip():
            add_points(operations, at.owner_id, pasted, bodies[block.key])
        else:
            block.keep(asked, operations, bodies[block.key], **({"at": operations.moment(asked.book)} if part.stamped else {}))

    def arrange(fields: list[FormField], sent: Sent) -> list[FormField]:
        if not sent.problems and fields and fields[0].control in ("text", "number"):
            fields[0] = replace(fields[0], focus=True)
        problems = [one for one in sent.problems.get(block.key, ()) if one.field == PASTED]
        return [*fields, pasted_field(pasted, problems)] if part.pasted else fields

    own = PartOwn(
        note=part.note,
        back_words=f"Back to {called(at.kind, at.record)}",
        rows=part_rows(part, rows, asked.reader, linked=linked, base=at.address if may else ""),
        summary=summary_facts(measured(rows, tools), part.shown_as, asked.reader) if part.shown_as else [],  # type: ignore[arg-type]
        may_change=may,
    )
    return Form(
        heading=f"{part.heading}: {at.name}",
        lead="",
        back=address(at.kind, record_id),
        after=at.here,
        blocks=[block],
        action=at.here,
        save="Save and next",
        template="kit/part.html",
        at="main",
        own=lambda sent: own,
        check=check,
        keep=keep,
        arrange=arrange,
    )


def _first_typed(part: Part, rows: list[Noun]) -> dict[str, Any]:
    """What the next row likely shares with the last: its instrument, and the next place in the order."""
    typed: dict[str, Any] = {}
    if rows and "instrument" in part.asks:
        typed["instrument"] = getattr(rows[-1], "instrument_id", None) or ""
    if part.key == "layer":
        typed["place"] = str(max((row.place for row in rows if row.voided_rev is None), default=0) + 1)  # type: ignore[attr-defined]
    return typed


def pasted_field(
    typed: str,
    problems: Iterable[Problem],
    *,
    label: str = "Or several at once",
    hint: str = "A line each, draw then force, for example 28 in 95 lbf.",
) -> FormField:
    """The box for many points at once."""
    return FormField(PASTED, label, "lines", FieldState(typed, error=" ".join(one.sentence for one in problems)), hint=hint)


def pasted_points(pasted: str) -> tuple[list[dict[str, str]], list[Problem]]:
    """Draw and force of each line, and each fault by its line."""
    lines = [line.strip() for line in pasted.splitlines() if line.strip()]
    if len(lines) > MOST_LINES:
        return [], [Problem(PASTED, f"{len(lines)} lines are too many at once. Paste {MOST_LINES} at most.")]
    points, problems = [], []
    for n, line in enumerate(lines, 1):
        found = _DRAW_AND_FORCE.fullmatch(line)
        if found is None:
            problems.append(Problem(PASTED, f"Line {n}, “{line[:40]}”: type a draw and a force, for example 28 in 95 lbf."))
            continue
        points.append({"draw": found["draw"], "force": found["force"]})
        problems += [Problem(PASTED, f"Line {n}: {one.sentence}") for one in take(DrawPoint, points[-1]).problems]
    return points, problems


def add_points(operations: FormOperations, bow_build_id: str, pasted: str, typed: Mapping[str, Any]) -> None:
    """Force and draw of many lines: all of them, or none."""
    tool = {"instrument": typed["instrument"]} if typed.get("instrument") else {}
    for point in pasted_points(pasted)[0]:
        operations.new("draw_point", {"bow_build": bow_build_id, **point, **tool}, of="draw_point")


@row_routes(router, "/kit/{noun}/{record_id}/{key}/{row_id}")
def entry(asked: Asked, noun: str, record_id: str, key: str, row_id: str) -> Row:
    """One row looked at again; 404 where it is another's."""
    with asked.book.read() as session:
        at = whose(session, noun, record_id, key)
        part = at.part
        row = one(session, part.table, row_id)
        owner = getattr(row, "record_id" if part.link == "record" else f"{part.link}_id", None)
        if row is None or owner is None:
            raise HTTPException(404)
        at = whose(session, noun, record_id, key, build_id=owner) if part.of_build else at
        linked = linked_names(session, [part.table])
        options = options_for(session, part.table, part.asks, measured=part.measured, kept=[getattr(row, "instrument_id", None)])
    words, _ = row_words(part, row, asked.reader, linked=linked)
    return Row(
        row=row,
        # Why it is left out is among the fields, where that can be said.
        names=(*part.asks, "left_out_reason") if hasattr(part.table, "left_out_reason") else part.asks,
        heading=f"{part.heading}: {words}",
        lead=f"Of {at.name}." + (" It is crossed out." if row.voided_rev is not None else ""),
        address=f"{at.address}/{row.id}",
        back=at.here,
        options=options,
        linked=linked,
        fixed=part.fixed,
    )
