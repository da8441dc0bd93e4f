"""A range day's kit on one page and in one save: an archer, a bow, five arrows, a panel, and what measures them.

Everything but the names may stay empty. All of it is saved, or none, with every fault beside its field.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from server.access.seats import ArcherSeat, TheBook
from server.findings.kit_state import kit_state
from server.pages.forms import (
    FormField,
    FormOperations,
    NotTaken,
    body_of,
    form_fields,
    heading,
    operation_id,
    wrongs,
)
from server.pages.posted import Posted
from server.pages.rendering import frame_for, html
from server.pages.shapes import Wrong
from server.records.archer import Archer
from server.records.arrow import Arrow, Head
from server.records.bow import Bow
from server.records.columns import Noun
from server.records.ids import new_id
from server.records.instrument import Instrument, Reading
from server.records.panel import Panel
from server.records.stand import Stand
from server.records.typed_values import Problem
from server.storage import Session

router = APIRouter()

ARROWS = 5


@dataclass(frozen=True)
class Block:
    """Some fields of one record. `prefix` keeps their names apart; `needs` is the field that a filled block must have."""

    prefix: str
    table: type[Noun]
    names: tuple[str, ...]
    needs: str = ""
    title: str = ""
    labels: Mapping[str, str] = field(default_factory=dict)
    hints: Mapping[str, str] = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)


def _arrow_blocks(n: int) -> tuple[Block, ...]:
    at = f"arrow{n}-"
    return (
        Block(at, Arrow, ("tag",), "tag", f"Arrow {n}", hints={} if n == 1 else {"tag": ""}),
        Block(
            at + "head-", Head, ("name", "form"), labels={"name": "Head", "form": "Form of the head"},
            hints={"name": "Empty: named after the arrow."} if n == 1 else {},
        ),
        Block(at, Reading, ("value",), labels={"value": "Mass"}, hints={"value": ""}, fixed={"noun": "arrow_build", "measured": "mass"}),
    )  # fmt: skip


ARCHER = Block("archer-", Archer, ("call_name",), "call_name", "Archer")
BOW = Block("bow-", Bow, ("name", "marked_weight"), "name", "Bow")
SCALE = Block(
    "scale-", Instrument, ("name", "accuracy"), "name", "Scale, if you weigh the arrows now",
    hints={"name": "What you call it, for example S1.", "accuracy": "How far it may be off, for example 0.1 g."}, fixed={"sort": "scale"},
)  # fmt: skip
PANEL = Block(
    "panel-", Panel, ("name", "construction", "thickness", "outline", "width", "height"), "name", "Panel",
    hints={"thickness": "Of a plate, as sold. Leave it empty for mail or cloth."},
)  # fmt: skip
STAND = Block("stand-", Stand, ("name", "held"), "name", "Stand, if there is one")
CHRONOGRAPH = Block(
    "chronograph-", Instrument, ("name", "accuracy_ratio"), "name", "Chronograph, if there is one",
    hints={"name": "What you call it, for example C1.", "accuracy_ratio": "How far it may be off, for example 0.5 %."}, fixed={"sort": "chronograph"},
)  # fmt: skip
EACH_ARROW = tuple(_arrow_blocks(n) for n in range(1, ARROWS + 1))
BLOCKS = (ARCHER, BOW, *(block for three in EACH_ARROW for block in three), SCALE, PANEL, STAND, CHRONOGRAPH)

Typed = dict[str, dict[str, Any]]


@dataclass(frozen=True)
class QuickStartPage:
    """What quick_start/page.html shows."""

    operation: str
    fields: list[FormField]
    errors: list[Wrong]


@dataclass(frozen=True)
class DonePage:
    """What stands in the book afterwards, and where to go from here."""

    counts: list[tuple[str, str]]
    look_again: list[tuple[str, str, str]]


def _key(block: Block) -> str:
    return f"{block.prefix}{block.table.__tablename__}"


def _fields(typed: Typed, problems: Mapping[str, list[Problem]]) -> list[FormField]:
    made: list[FormField] = []
    for block in BLOCKS:
        if block.title:
            made.append(heading(block.title))
        said = typed.get(_key(block), {})
        # One page asks once: a plate's thickness stands there before anybody said that it is a plate.
        controls = form_fields(
            block.table, block.names, typed={**block.fixed, **said}, problems=problems.get(_key(block), ()),
            prefix=block.prefix, whatever_is_chosen=True,
        )  # fmt: skip
        made += [_fitted(block, one) for one in controls]
    return made


def _fitted(block: Block, one: FormField) -> FormField:
    name = one.name.removeprefix(block.prefix)
    # Nine keys for the form of each of five heads would be a page of keys: a list each.
    control = "select" if one.control == "choice" and name in ("form", "construction", "outline", "held") else one.control
    return replace(one, control=control, label=block.labels.get(name, one.label), hint=block.hints.get(name, one.hint))


def _typed(form: FormData) -> Typed:
    return {_key(block): body_of(form, block.table, block.names, prefix=block.prefix) for block in BLOCKS}


def _filled(said: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in said.items() if str(value or "").strip()}


class _Plan:
    """The operations that follow from what was filled, and which block each one came from."""

    def __init__(self, operations: FormOperations, typed: Typed) -> None:
        self.operations, self.typed = operations, typed
        self.keys: list[str] = []
        self.problems: dict[str, list[Problem]] = {}

    def said(self, block: Block) -> dict[str, Any]:
        return _filled(self.typed.get(_key(block), {}))

    def new(self, block: Block, noun: str, body: Mapping[str, Any]) -> str:
        self.keys.append(_key(block))
        return self.operations.new(noun, body)

    def plain(self, block: Block, *, build: str = "", work: Mapping[str, str] | None = None) -> str | None:
        """A record of its own, with its first build if it has one; nothing if its block is empty."""
        said = self.said(block)
        if not said:
            return None
        noun = str(block.table.__tablename__)
        record_id = self.new(block, noun, {**block.fixed, **said})
        if build:
            self.new(block, build, {noun: record_id, "number": "1", **(work or {})})
        return record_id

    def arrow(self, three: tuple[Block, ...], scale_id: str | None) -> None:
        shaft, head, mass = three
        tag = str(self.said(shaft).get("tag", "")).strip()
        if not (tag or self.said(head) or self.said(mass)):
            return
        arrow_id = self.new(shaft, "arrow", self.said(shaft))
        build: dict[str, Any] = {"arrow": arrow_id, "number": "1"}
        if self.said(head):
            named = {"name": f"Head of {tag}"} if tag else {}
            build["head"] = self.new(head, "head", {**named, **self.said(head)})
        build_id = self.new(shaft, "arrow_build", build)
        if self.said(mass):
            tool = {"instrument": scale_id} if scale_id else {}
            self.new(mass, "reading", {**mass.fixed, "record": build_id, **tool, **self.said(mass)})

    def made(self) -> bool:
        return bool(self.keys)


def _planned(operations: FormOperations, typed: Typed) -> _Plan:
    plan = _Plan(operations, typed)
    plan.plain(ARCHER)
    plan.plain(BOW, build="bow_build")
    scale_id = plan.plain(SCALE)
    for three in EACH_ARROW:
        plan.arrow(three, scale_id)
    plan.plain(PANEL, build="panel_build", work={"work": "first"})
    plan.plain(STAND)
    plan.plain(CHRONOGRAPH)
    return plan


def _page(request: Request, *, operation: str, typed: Typed, problems: Mapping[str, list[Problem]]) -> HTMLResponse:
    fields = _fields(typed, problems)
    errors = [
        one._replace(label=f"{_whose(one.id)}{one.label.lower()}")
        for one in wrongs(fields, [one for some in problems.values() for one in some], label="This page")
    ]
    frame = frame_for(request, title="Set up a range day", nav="kit", wrong=bool(errors))
    return html("quick_start/page.html", QuickStartPage(operation, fields, errors), frame=frame, status=422 if errors else 200)


def _whose(control: str) -> str:
    """Of five boxes called “Mass” the summary says which: "Arrow 3, "."""
    prefix = control.partition("-")[0] + "-"
    return next((block.title.partition(",")[0] + ", " for block in BLOCKS if block.title and block.prefix == prefix), "")


@router.get("/kit/start")
def start(request: Request, seat: ArcherSeat) -> HTMLResponse:
    return _page(request, operation=new_id(), typed={}, problems={})


@router.post("/kit/start")
def save(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted) -> Response:
    typed = _typed(form)
    plan = _planned(FormOperations(seat, operation_id(form)), typed)
    problems: dict[str, list[Problem]] = {}
    if plan.made():
        try:
            plan.operations.save(storage)
            return RedirectResponse("/kit/started", 303)
        except NotTaken as error:
            for key, some in zip(plan.keys, plan.operations.problems_of(error), strict=True):
                problems.setdefault(key, []).extend(some)
    else:
        problems[_key(ARCHER)] = [Problem("call_name", "Nothing was typed yet. Begin with a call name, for example Wren.")]
    return _page(request, operation=plan.operations.operation, typed=typed, problems=problems)


@router.get("/kit/started")
def done(request: Request, seat: ArcherSeat, storage: TheBook) -> HTMLResponse:
    with storage.read() as session:
        shown = _done(session)
    return html("quick_start/done.html", shown, frame=frame_for(request, title="Kit is in the book", nav="kit"))


def _done(session: Session) -> DonePage:
    kit = kit_state(session)
    weighed = [one for one in kit.arrows if one.mass]
    rows = {
        "Archers": kit.archers, "Bows": kit.bows, "Arrows": kit.arrows, "Arrows weighed": weighed, "Panels": kit.panels,
        "Stands": kit.stands, "Instruments": kit.instruments,
    }  # fmt: skip
    return DonePage([(words, str(len(some))) for words, some in rows.items()], [(f"/kit/{one.noun}/{one.record_id}", f"{one.name}, {one.label.lower()}", one.sentence) for one in kit.look_again])
