"""Correcting a shot: what was loosed, what was read and its own speed, in one form; only what was changed is sent on."""

from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, HTTPException

from proofyard.answers.range.ends_to_pick import panel_build_of, setup_of_new
from proofyard.answers.range.to_pick import for_shot
from proofyard.pages.frame.form_page import WORDS, Asked, Block, Bodies, Form, form_routes, why_field
from proofyard.pages.frame.forms import FormField, FormOperations, base_rev
from proofyard.pages.speeds.corrections import worked_out_again
from proofyard.quantities.reason import because
from proofyard.records.arrows_at_the_range import NEWEST_BUILDS
from proofyard.records.end_facts import MOST_SETUPS
from proofyard.records.listing import belonging, one
from proofyard.records.shot import ENTRIES, Shot, ShotReading
from proofyard.records.shot_facts import shot_facts
from proofyard.records.speed import SpeedReading
from proofyard.wording.reasons.said import said

router = APIRouter()

LOOSE = ("archer", "bow_build", "arrow_build", "purpose", "short_draw", "aim", "shooting_end", "position", "note")
READING = (
    "hit",
    "why",
    "x",
    "y",
    "place_known",
    "touched_first",
    "entry",
    "plate",
    "layers",
    "angle",
    "yaw",
    "outcome_low",
    "outcome_high",
    "rear_check",
    "depth",
    "depth_bound",
    "depth_method",
    "reached",
    "back_face",
    "arrow_did",
    "bounced",
    "head_fate",
    "shaft_fate",
    "damage",
    "may_be_shot",
    "certainty",
    "fair_overrule",
    "fair_reason",
    "note",
)
LEAD = (
    "Change what is wrong; its history is kept. Boxes that you leave alone keep what others have changed meanwhile. A shot "
    "logged to the wrong panel is moved under “Panel, set-up and end”; look at where it hit afterwards. If the arrow or the "
    "panel itself was changed, make a new build of it instead."
)


@dataclass(frozen=True)
class Elsewhere:
    """Where its speed is better put right: address and words."""

    way: tuple[str, str] | None


@form_routes(router, "/shots/{shot_id}/correct")
def correct_shot(asked: Asked, shot_id: str) -> Form:
    """All or nothing. A form of the two phones' doing: what the other changed meanwhile stands beside it."""
    with asked.book.read() as session:
        facts = shot_facts(session, voided=True, shot_id=shot_id)
        if not facts:
            raise HTTPException(404, "The book has no such shot. It may still be on a phone that has not sent it.")
        shot, reading = one(session, Shot, shot_id), one(session, ShotReading, shot_id)
        speed: Any = next(iter(belonging(session, SpeedReading, "shot_id", shot_id)), None)
        options, many, more_setups = for_shot(session, facts[0], asked.reader)
    hints = {"arrow_build": said(because("arrows_of_many", newest=NEWEST_BUILDS))} if many else {}
    hints |= {"shooting_end": said(because("setups_of_many", most=MOST_SETUPS))} if more_setups else {}
    ways = ENTRIES.get(facts[0].construction or "", {})

    def narrowed(control: FormField) -> FormField:
        """Only the places where an arrow can go in that this construction has."""
        if control.name not in ("reading-entry", "reading-touched_first"):
            return control
        kept = tuple(way for way in control.options if not ways or way.value in ways or way.value == control.state.typed)
        return replace(control, options=kept)

    def block(table: Any, names: tuple[str, ...], prefix: str, row: Any, **labels: str) -> Block:
        rev = f"rev-{table.__tablename__}"
        more: dict[str, Any] = {"labels": labels, "hints": hints, "blank": True, "fit": narrowed, "rev": rev, "options": options}
        return Block(table=table, names=names, prefix=prefix, row=row, **more)

    blocks = (
        block(Shot, LOOSE, "", shot, note="Note on the loosing", shooting_end="Panel, set-up and end"),
        block(
            SpeedReading,
            ("value", "left_out_reason"),
            "speed-",
            speed,
            value="Speed read on this shot",
            left_out_reason="That speed is left out because",
        ),
        block(ShotReading, READING, "reading-", reading, outcome_high="Outcome, or", note="Note on the reading"),
    )
    back = f"/shots/{shot_id}"
    return Form(
        heading=f"Correct shot {facts[0].label}",
        lead=LEAD,
        back=back,
        blocks=blocks,
        nav="trials",
        template="shot/correct.html",
        classes=WORDS,
        why=why_field(label="Why it is corrected", hint="In a few words, for example: checked from behind on the bench."),
        label="This shot",
        own=lambda sent: Elsewhere(worked_out_again(speed)),
        keep=lambda operations, bodies: _keep(asked, operations, blocks, bodies, shot_id=shot_id),
    )


def _keep(asked: Asked, operations: FormOperations, blocks: tuple[Block, ...], bodies: Bodies, *, shot_id: str) -> None:
    for block in blocks:
        changed, row, rev = block.changed(asked, bodies[block.key]), block.row, base_rev(asked.form, block.rev)
        # A speed that this very form made before its answer got lost is made again, which the book knows for the same.
        made = row is None or (rev == 0 and row.id == asked.nth_id(len(operations.operations)))
        if changed.get("shooting_end"):
            changed |= _moved(asked, operations, changed, row)
        if changed and made and block.noun == "speed_reading":
            operations.new(block.noun, {**changed, "shot": shot_id, "method": "chronograph"}, of=block.key)
        elif changed:
            operations.put(block.noun, row.id if row else shot_id, changed, base_rev=rev, reason=asked.reason or None, of=block.key)


def _moved(asked: Asked, operations: FormOperations, changed: dict[str, Any], shot: Any) -> dict[str, Any]:
    """A shot that goes to another end loses its place in the order; at another panel also the spot that it was aimed at. An end of its
    own is begun for it, and is over."""
    picked = str(changed["shooting_end"])
    with asked.book.read() as session:
        elsewhere = panel_build_of(session, picked) != panel_build_of(session, shot.shooting_end_id)
    setup = setup_of_new(picked)
    if setup is not None:
        times = {"begun_at": shot.loosed_at, "at_butt_at": shot.loosed_at} if shot.loosed_at is not None else {}
        picked = operations.new("shooting_end", {"setup": setup, **times}, of="shot")
    lost = {"position": None, **({"aim": None} if elsewhere else {})}
    return {"shooting_end": picked} | {name: value for name, value in lost.items() if name not in changed}
