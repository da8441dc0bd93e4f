"""A range day's kit on one page and in one save: two archers, two bows, five arrows, a panel, and what measures them.

Everything but the names may stay empty. All of it is saved, or none, with every fault beside its field.
"""

from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.answers.kit.kit_listed import kit_unusual
from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, form_routes
from proofyard.pages.frame.forms import FormField, FormOperations, Problems, Wrong
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, Head
from proofyard.records.bow import Bow
from proofyard.records.columns import Noun
from proofyard.records.instrument import Instrument, Reading
from proofyard.records.kit_named import arrows_weighed, kit_named
from proofyard.records.panel import Panel
from proofyard.records.stand import Stand
from proofyard.records.typed_values import Problem
from proofyard.storage import Session

router = APIRouter()

ARROWS = 5
# Nine keys for the form of each of five heads would be a page of keys: a list each.
AS_LISTS = ("form", "construction", "outline", "held")


def _fitted(one: FormField) -> FormField:
    return replace(one, control="select") if one.control == "choice" and one.name.endswith(AS_LISTS) else one


def _block(table: type[Noun], names: tuple[str, ...], prefix: str, title: str = "", **more: Any) -> Block:
    """Some fields of one record. One page asks once: a plate's thickness stands there before anybody said that it is a plate."""
    return Block(table=table, names=names, prefix=prefix, title=title, whole=True, fit=_fitted, **more)


def _arrow_blocks(n: int) -> tuple[Block, ...]:
    at = f"arrow{n}-"
    return (
        _block(Arrow, ("tag",), at, f"Arrow {n}", hints={} if n == 1 else {"tag": ""}),
        _block(
            Head,
            ("name", "form"),
            at + "head-",
            labels={"name": "Head", "form": "Form of the head"},
            hints={"name": "Empty: named after the arrow."} if n == 1 else {},
        ),
        _block(Reading, ("value",), at, labels={"value": "Mass"}, hints={"value": ""}, fixed={"noun": "arrow_build", "measured": "mass"}),
    )


ARCHER = _block(Archer, ("call_name",), "archer-", "Archer")
BOW = _block(Bow, ("name", "marked_weight"), "bow-", "Bow")
SECOND_ARCHER = _block(Archer, ("call_name",), "archer2-", "Second archer, if there is one", hints={"call_name": ""})
SECOND_BOW = _block(Bow, ("name", "marked_weight"), "bow2-", "Second bow, if there is one", hints={"name": "", "marked_weight": ""})
SHAFTS = _block(
    Arrow,
    ("diameter",),
    "shafts-",
    "Shafts",
    labels={"diameter": "Diameter of the shafts, at the thickest"},
    hints={"diameter": "Of all of them, for example 12.7 mm or 1/2 in. Without it nobody can tell how much speed the air takes."},
)
SCALE = _block(
    Instrument,
    ("name", "accuracy"),
    "scale-",
    "Scale, if you weigh the arrows now",
    hints={"name": "What you call it, for example small scale.", "accuracy": "How far it may be off, for example 0.1 g or 1 gr."},
    fixed={"sort": "scale"},
)
PANEL = _block(
    Panel,
    ("name", "construction", "material", "thickness", "outline", "width", "height"),
    "panel-",
    "Panel",
    hints={"thickness": "Of a plate, nominal. Leave it empty for mail or cloth."},
)
STAND = _block(Stand, ("name", "held"), "stand-", "Stand, if there is one")
CHRONOGRAPH = _block(
    Instrument,
    ("name", "accuracy_ratio"),
    "chronograph-",
    "Chronograph, if there is one",
    hints={"name": "What you call it, for example old chronograph.", "accuracy_ratio": "How far it may be off, for example 0.5 %."},
    fixed={"sort": "chronograph"},
)
EACH_ARROW = tuple(_arrow_blocks(n) for n in range(1, ARROWS + 1))
BLOCKS = (
    *(ARCHER, SECOND_ARCHER, BOW, SECOND_BOW),
    *(block for three in EACH_ARROW for block in three),
    *(SHAFTS, SCALE, PANEL, STAND, CHRONOGRAPH),
)


@dataclass(frozen=True)
class DonePage:
    """What stands in the book afterwards, and where to go from here."""

    counts: list[tuple[str, str]]
    look_again: list[tuple[str, str, str]]


@form_routes(router, "/kit/start")
def start(asked: Asked) -> Form:
    return Form(
        heading="Set up a range day",
        back="/kit",
        after="/kit/started",
        blocks=BLOCKS,
        template="quick_start/page.html",
        label="This page",
        at="main",
        named=_named,
        check=_wanting,
        sort=_beside_shafts,
        keep=lambda operations, bodies: _keep(asked, operations, bodies),
    )


def _named(wrong: Wrong) -> Wrong:
    """Of five boxes called “Mass” the summary says which: "Arrow 3, mass"."""
    prefix = wrong.id.partition("-")[0] + "-"
    whose = next((block.title.partition(",")[0] + ", " for block in BLOCKS if block.title and block.prefix == prefix), "")
    return wrong._replace(label=f"{whose}{wrong.label.lower()}")


def _wanting(bodies: Bodies) -> Problems:
    if not any(block.filled(bodies[block.key]) for block in BLOCKS):
        return {ARCHER.key: [Problem("call_name", "Nothing was typed yet. Begin with a call name, for example Wren.")]}
    arrows = any(block.filled(bodies[block.key]) for three in EACH_ARROW for block in three)
    if SHAFTS.filled(bodies[SHAFTS.key]) and not arrows:
        return {SHAFTS.key: [Problem("diameter", "No arrow has this shaft yet. Enter the tag of an arrow, or leave this empty.")]}
    return {}


def _beside_shafts(problems: Problems) -> Problems:
    """The shafts have one box for all: what is wrong with it is said there, once, not at each arrow."""
    shafts = {one.sentence: one for key, some in problems.items() if key != SHAFTS.key for one in some if one.field == "diameter"}
    rest = {key: kept for key, some in problems.items() if (kept := [one for one in some if one.field != "diameter"])}
    return {**rest, SHAFTS.key: list(shafts.values())} if shafts else rest


def _keep(asked: Asked, operations: FormOperations, bodies: Bodies) -> None:
    """What was filled: each record with its first build if it has one, and nothing of an empty block."""
    said = {block.key: block.filled(bodies[block.key]) for block in BLOCKS}

    def new(block: Block, **more: Any) -> str:
        return block.keep(asked, operations, bodies[block.key], **more)

    def with_build(block: Block, build: str, **work: str) -> None:
        if said[block.key]:
            operations.new(build, {block.noun: new(block), "number": "1", **work}, of=block.key)

    for archer in (ARCHER, SECOND_ARCHER):
        if said[archer.key]:
            new(archer)
    with_build(BOW, "bow_build")
    with_build(SECOND_BOW, "bow_build")
    tool = {"instrument": new(SCALE)} if said[SCALE.key] else {}
    for shaft, head, mass in EACH_ARROW:
        if said[shaft.key] or said[head.key] or said[mass.key]:
            tag = str(said[shaft.key].get("tag", "")).strip()
            build = {"arrow": new(shaft, **said[SHAFTS.key]), "number": "1"}
            if said[head.key]:
                build["head"] = new(head, **({"name": f"Head of {tag}"} if tag and "name" not in said[head.key] else {}))
            build_id = operations.new("arrow_build", build, of=shaft.key)
            if said[mass.key]:
                new(mass, record=build_id, **tool)
    with_build(PANEL, "panel_build", work="first")
    for block in (STAND, CHRONOGRAPH):
        if said[block.key]:
            new(block)


@router.get("/kit/started")
def done(request: Request, seat: ArcherSeat, storage: TheBook) -> HTMLResponse:
    with storage.read() as session:
        shown = _done(session)
    return html("quick_start/done.html", shown, frame=frame_for(request, title="Kit is in the book", nav="kit"))


def _done(session: Session) -> DonePage:
    kit = kit_named(session)
    counts = {
        "Archers": len(kit["archer"]),
        "Bows": len(kit["bow"]),
        "Arrows": len(kit["arrow"]),
        "Arrows weighed": arrows_weighed(session),
        "Panels": len(kit["panel"]),
        "Stands": len(kit["stand"]),
        "Instruments": len(kit["instrument"]),
    }
    return DonePage(
        [(words, str(count)) for words, count in counts.items()],
        [(f"/kit/{one.noun}/{one.record_id}", f"{one.name}, {one.label.lower()}", one.sentence) for one in kit_unusual(session, kit)],
    )
