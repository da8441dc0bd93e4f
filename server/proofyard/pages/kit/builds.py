"""A change to the thing itself is a new build: another head, another string, another lacing. Earlier shots keep theirs."""

from dataclasses import replace

from fastapi import APIRouter, HTTPException

from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, form_routes
from proofyard.pages.frame.forms import FormField, Problems, shown_body
from proofyard.pages.kit.found import address, builds_of, called, options_for, the_noun, the_record
from proofyard.pages.kit.nouns import HEAD_FIRST
from proofyard.records.kit_facts import BuildFact
from proofyard.records.listing import one
from proofyard.records.typed_values import Problem

router = APIRouter()

WORK_WANTED = {
    "bow": "Enter what was changed, for example: new linen string.",
    "arrow": "Enter what was done, for example: reground.",
    "panel": "Choose what was done.",
}
# What was done, and what is read again, begin empty; these are as they were.
AS_BEFORE = ("head", "string", "string_mass", "brace_height")


def _not_first(field: FormField) -> FormField:
    """ "As first made" is what a new build is not."""
    return replace(field, options=tuple(one for one in field.options if one.value != "first")) if field.name == "work" else field


def next_number(found: list[BuildFact]) -> int:
    return max((build.number for build in found), default=0) + 1


@form_routes(router, "/kit/{noun}/{record_id}/rebuild")
def rebuild(asked: Asked, noun: str, record_id: str) -> Form:
    kind = the_noun(noun)
    if kind.build is None:
        raise HTTPException(404)
    with asked.book.read() as session:
        name = called(kind, the_record(session, kind, record_id))
        found = builds_of(session, kind, record_id)
        build = one(session, kind.build, found[0].build_id) if found else None
        options = options_for(session, kind.build, kind.build_asks)
    text = str(asked.form.get("number", ""))
    held = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else next_number(found)
    # The same form sent twice finds its own build; anyone else's of that number came in between.
    late = any(one.number >= held and one.build_id != asked.nth_id() for one in found)
    number = next_number(found) if late else held
    shown = shown_body(build) if build else {}
    block = Block(
        table=kind.build,
        names=kind.build_asks,
        typed={key: shown.get(key, "") for key in kind.build_asks if key in AS_BEFORE},
        fixed={noun: record_id, "number": str(number)},
        options=options,
        fit=_not_first,
    )

    def check(bodies: Bodies) -> Problems:
        problems = [] if str(bodies[block.key].get("work") or "").strip() else [Problem("work", WORK_WANTED[noun])]
        if late:
            said = f"Somebody made build {held} in the meantime. Look at it; if yours is another one, save this as build {number}."
            problems.append(Problem("", said))
        return {block.key: problems} if problems else {}

    return Form(
        heading=f"{name[:1].upper()}{name[1:]}, a new build",
        lead=(
            f"For when {kind.rebuilt_when}: this is a new thing, build {number}. Shots with build {number - 1} stay as they were. "
            f"{kind.rebuilt_note}"
        ),
        back=address(kind, record_id),
        # Where set-ups still stand on the build before, the page begins with them.
        after=address(kind, record_id) + ("#record-older" if noun == "panel" else ""),
        blocks=[block],
        save=f"Save build {number}",
        unseen={"number": str(number)},
        caution=HEAD_FIRST if noun == "arrow" else "",
        at="main",
        check=check,
    )
