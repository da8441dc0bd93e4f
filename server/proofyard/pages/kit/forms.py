"""A record of kit is made, copied, or corrected. A correction is a revision; a change to the thing itself is a new build."""

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, draw, form_routes, why_field
from proofyard.pages.frame.forms import FormOperations, shown_body
from proofyard.pages.kit.found import address, builds_of, called, options_for, the_noun, the_record
from proofyard.pages.kit.nouns import HEAD_FIRST, KitNoun
from proofyard.records.listing import NAMED_BY, name_of, one

router = APIRouter()

BUILD = "build-"  # before the names of the first build's fields, where a form fills a record and its build
# A panel's construction decides which fields are asked, an instrument's sort the units of its accuracy.
# noun -> why a record of it may have to be corrected, as an example
MISTAKEN = {
    "archer": "typed Wern for Wren",
    "bow": "the mark says 110 lb, not 101",
    "head": "the width was read across the wrong way",
    "arrow": "the tag says 11, not 17",
    "panel": "the sheet is 1.6 mm, not 1.2",
    "stand": "the gap is 60 mm, not 16",
    "instrument": "it shows steps of 0.1 g, not 1 g",
}
REFRESHES = {"panel": {"construction": "Show its fields"}, "instrument": {"sort": "Show its units"}}


def _new(asked: Asked, kind: KitNoun, typed: dict[str, Any], first: dict[str, Any], copy_of: str = "") -> Form:
    with asked.book.read() as session:
        before = one(session, kind.table, asked.request.query_params.get("saved", ""))
        blocks = [Block(table=kind.table, names=kind.asks, typed=typed, options=options_for(session, kind.table, kind.names))]
        if kind.build:
            options = options_for(session, kind.build, kind.first_asks)
            title = "Its first build" if kind.first_asks else ""
            blocks.append(Block(table=kind.build, names=kind.first_asks, typed=first, options=options, prefix=BUILD, title=title))

    def keep(operations: FormOperations, bodies: Bodies) -> None:
        record_id = blocks[0].keep(asked, operations, bodies[blocks[0].key])
        for build in blocks[1:]:
            work = {"work": "first"} if kind.noun == "panel" else {}
            build.keep(asked, operations, bodies[build.key], **{kind.noun: record_id, "number": "1", **work})

    article = "An" if kind.one[0] in "aeiou" else "A"
    lead = "Give it its own name, and change what differs." if copy_of else "Only the name is needed now. Add the rest later."
    return Form(
        heading=f"{article} {kind.one} like {copy_of}" if copy_of else f"A new {kind.one}",
        lead=f"Saved: {called(kind, before)}. {lead}" if before else lead,
        back="/kit",
        after=f"/kit/{kind.noun}/new?saved={asked.nth_id()}" if asked.form.get("another") else address(kind, asked.nth_id()),
        blocks=blocks,
        action=f"/kit/{kind.noun}/new",
        save=f"Save the {kind.one}",
        another="Save and add another",
        caution=HEAD_FIRST if kind.noun == "arrow" else "",
        refreshes=REFRESHES.get(kind.noun, {}),
        at="main",
        keep=keep,
    )


@form_routes(router, "/kit/{noun}/new", fields=True)
def new(asked: Asked, noun: str) -> Form:
    return _new(asked, the_noun(noun), {}, {})


@router.get("/kit/{noun}/{record_id}/copy")
def copy(request: Request, seat: ArcherSeat, storage: TheBook, noun: str, record_id: str) -> HTMLResponse:
    """A new one that begins as another is: all but its name, its head, and what was read of it."""
    kind = the_noun(noun)
    with storage.read() as session:
        row = the_record(session, kind, record_id)
        found = builds_of(session, kind, record_id)
        build = one(session, kind.build, found[0].build_id) if kind.build and found else None
    # One real head sits on one shaft, so a copied arrow is without.
    first = {name: text for name, text in shown_body(build).items() if name != "head"} if build else {}
    asked = Asked(request, seat, storage)
    return draw(asked, _new(asked, kind, {**shown_body(row), NAMED_BY.get(noun, "name"): ""}, first, copy_of=name_of(row)))


@form_routes(router, "/kit/{noun}/{record_id}/correct", fields=True)
def correct(asked: Asked, noun: str, record_id: str) -> Form:
    kind = the_noun(noun)
    with asked.book.read() as session:
        row = the_record(session, kind, record_id)
        options = options_for(session, kind.table, kind.names)
    return Form(
        heading=f"Correct {called(kind, row)}",
        lead="For something entered wrong. If the thing itself changed, cancel this and "
        + ("make a new build." if kind.build else "copy it."),
        back=address(kind, record_id),
        blocks=[Block(table=kind.table, names=kind.asks, row=row, options=options)],
        action=address(kind, record_id, "correct"),
        refreshes=REFRESHES.get(noun, {}),
        why=why_field(hint=f"Optional. For example: {MISTAKEN[noun]}."),
        at="main",
    )
