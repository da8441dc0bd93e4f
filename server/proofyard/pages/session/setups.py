"""Set-ups: which panel build stands on which stand at which distance, and where the chronograph is."""

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException

from proofyard.answers.range.to_pick import for_setup
from proofyard.pages.frame.form_page import WORDS, Asked, Block, Form, form_routes
from proofyard.pages.frame.forms import shown_body
from proofyard.quantities.reason import because
from proofyard.records.kit_to_pick import MOST_OFFERED
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup
from proofyard.records.trial_days import on_older_builds
from proofyard.wording.reasons.said import said as reason_words
from proofyard.wording.when import day_words

router = APIRouter()

FIELDS = ("panel_build", "stand", "distance", "angle", "chronograph", "chronograph_at")


@dataclass(frozen=True)
class Panels:
    none: bool


def _form(asked: Asked, heading: str, session_id: str, *, keep: list[str | None], **said: Any) -> Form:
    day = asked.found(Day, session_id)
    with asked.book.read() as session:
        options, more = for_setup(session, day.trial_id, keep=[key for key in keep if key])
    said["hints"] = {"panel_build": reason_words(because("panels_of_many", most=MOST_OFFERED))} if more else {}
    return Form(
        heading=heading,
        lead=f"{day_words(day.day)}{', ' + day.place if day.place else ''}",
        back=f"/sessions/{session_id}",
        after=f"/sessions/{session_id}#session-setups",
        blocks=[Block(table=Setup, names=FIELDS, options=options, fixed={"session": session_id}, **said)],
        nav="trials",
        template="session/setup.html",
        classes=WORDS,
        label="This set-up",
        own=lambda sent: Panels(none=not options["panel_build"]),
    )


@form_routes(router, "/sessions/{session_id}/setups")
def new_setup(asked: Asked, session_id: str) -> Form:
    """Empty; or as one of the day stands (`?like=`), with the newest build of its panel."""
    like = asked.request.query_params.get("like", "")
    with asked.book.read() as session:
        older = next((one for one in on_older_builds(session, session_id=session_id) if one.setup.id == like), None)
    typed = {**shown_body(older.setup), "panel_build": older.newest.id} if older else {"angle": "0"}
    return _form(asked, "A new set-up", session_id, keep=[], typed=typed)


@form_routes(router, "/sessions/{session_id}/setups/{setup_id}")
def correct_setup(asked: Asked, session_id: str, setup_id: str) -> Form:
    row = asked.found(Setup, setup_id)
    if row.session_id != session_id:
        raise HTTPException(404, "This session has no such set-up.")
    return _form(asked, "Correct this set-up", session_id, keep=[row.panel_build_id, row.stand_id, row.chronograph_id], row=row)
