"""A hit read by a second person, who did not see what the first had said. Striking such a reading through: shots.py."""

from dataclasses import replace

from fastapi import APIRouter, HTTPException

from proofyard.pages.frame.form_page import WORDS, Asked, Block, Form, form_routes
from proofyard.pages.frame.forms import FormField
from proofyard.records.archer import Archer
from proofyard.records.listing import all_of
from proofyard.records.shot import ENTRIES, SecondReading
from proofyard.records.shot_facts import shot_facts

router = APIRouter()

FIELDS = ("read_by", "outcome_low", "outcome_high", "entry", "depth", "note")
LEAD = (
    "Fill this in from the panel alone, without looking at what was read before: it isn’t shown here. The count keeps the first reading; "
    "the two together show how sure a reading is."
)


@form_routes(router, "/shots/{shot_id}/read-again")
def read_again(asked: Asked, shot_id: str) -> Form:
    with asked.book.read() as session:
        facts = shot_facts(session, shot_id=shot_id)
        archers = [(one.id, one.call_name) for one in all_of(session, Archer, retired=False)]
    if not facts:
        raise HTTPException(404, "The book has no such shot. It may still be on a phone that has not sent it.")
    ways = ENTRIES.get(facts[0].construction or "", {})

    def of_this_construction(one: FormField) -> FormField:
        kept = tuple(way for way in one.options if not ways or way.value in ways or not way.value)
        return replace(one, options=kept) if one.name == "entry" else one

    block = Block(
        table=SecondReading,
        names=FIELDS,
        fixed={"shot": shot_id},
        options={"read_by": archers},
        labels={"outcome_high": "Outcome, or"},
        blank=True,
        fit=of_this_construction,
    )
    back = f"/shots/{shot_id}"
    return Form(
        heading=f"Read {facts[0].label} again",
        lead=LEAD,
        back=back,
        after=f"{back}#shot-again",
        blocks=[block],
        nav="trials",
        classes=WORDS,
        label="This reading",
    )
