"""A trial that follows another: a form with everything taken over, to be changed before it is saved."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, HTTPException

from proofyard.answers.trial_comparison.follow_up import FollowUp, SetupOffered, read_follow_up
from proofyard.pages.frame.corrections import only_changed
from proofyard.pages.frame.form_page import WORDS, Asked, Block, Bodies, Form, Sent, form_routes
from proofyard.pages.frame.forms import FieldState, FormField, FormOperations, Option, Problems, Wrong, heading, shown_body
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Trial
from proofyard.records.typed_values import Problem
from proofyard.shots.rule_words import BorrowedLine, RuleLine, borrowed_lines, default_lines
from proofyard.wording.trial_changes import COPIED
from proofyard.wording.when import day_words

router = APIRouter()

FIELDS = (*COPIED[:3], "prediction", *COPIED[3:])
DAY_FIELDS = ("day", "place", "officer", "present")
TICKS = {"kit": "Kit", "setups": "Set-ups"}
Ticked = Mapping[str, Sequence[str]]


@dataclass(frozen=True)
class Ticks:
    """What may be taken over, and what of it is: the kit, or the set-ups."""

    options: Sequence[Option]
    ticked: Sequence[str]
    state: FieldState


@dataclass(frozen=True)
class FollowForm:
    """Beside the trial's fields the kit and the first day, as ticks and boxes."""

    before: Trial
    kit: Ticks
    setups: Ticks
    day_fields: Sequence[FormField]
    last_day: str
    defaults: Sequence[RuleLine]
    borrowed: Sequence[BorrowedLine]


@form_routes(router, "/trials/{trial_id}/follow")
def follow(asked: Asked, trial_id: str) -> Form:
    """Everything as it was, but for what must be said again: what is expected, and the day."""
    with asked.book.read() as session:
        found = read_follow_up(session, trial_id, reader=asked.reader)
    if found is None:
        raise HTTPException(404, "The book has no such trial.")
    last = shown_body(found.last_day) if found.last_day else {}
    began = {name: value for name, value in shown_body(found.trial).items() if name in COPIED}
    fixed = {"follows": trial_id, "state": "planned"}
    trial = Block(table=Trial, names=FIELDS, typed=began, fixed=fixed, blank=True, fit=_prediction(found))
    day = Block(
        table=Day,
        names=DAY_FIELDS,
        typed={name: last.get(name, "") for name in DAY_FIELDS if name != "day"},
        prefix="day-",
        labels={"day": "First day"},
        # Without a day there is no session at all: the box may stay empty.
        fit=lambda one: replace(one, required=False),
    )
    if asked.request.method == "POST":
        ticked = {name: [str(value) for value in asked.form.getlist(name)] for name in TICKS}
    else:
        ticked = {"kit": [one.value for one in found.kit if not one.gone], "setups": [one.setup.id for one in found.setups if not one.gone]}

    def own(sent: Sent) -> FollowForm:
        return FollowForm(
            before=found.trial,
            kit=Ticks([Option(one.value, one.words, disabled=one.gone) for one in found.kit], ticked["kit"], sent.state("kit")),
            setups=Ticks([_setup(one) for one in found.setups], ticked["setups"], sent.state("setups")),
            day_fields=sent.controls(day),
            last_day=day_words(found.last_day.day) if found.last_day else "",
            defaults=default_lines(reader=asked.reader),
            borrowed=borrowed_lines(),
        )

    return Form(
        heading="Follow-up trial",
        lead="Everything is copied. Change what differs; changes are marked here and on both trials’ pages.",
        back=f"/trials/{trial_id}",
        after=f"/trials/{asked.nth_id()}",
        blocks=[trial],
        apart=[day],
        nav="trials",
        template="trial/follow.html",
        classes=WORDS,
        label="This trial",
        at="question",
        own=own,
        arrange=lambda fields, sent: _marked(fields, began, sent.bodies.get("trial", began)),
        also=lambda sent: [Wrong(name, TICKS[name], sent.state(name).error) for name in TICKS if sent.problems.get(name)],
        check=lambda bodies: _strangers(found, ticked),
        keep=lambda operations, bodies: _keep(asked, operations, found, ticked, trial=trial, day=day, bodies=bodies),
    )


def _setup(one: SetupOffered) -> Option:
    return Option(one.setup.id, one.words + (f" ({one.changed})" if one.changed else ""), need=bool(one.changed), disabled=one.gone)


def _prediction(found: FollowUp) -> Callable[[FormField], FormField]:
    again = bool(found.trial.prediction)
    return lambda one: replace(one, hint="Not copied: enter it again before the first shot.") if again and one.name == "prediction" else one


def _marked(fields: Sequence[FormField], before: Mapping[str, Any], now: Mapping[str, Any]) -> list[FormField]:
    """With what each changed field said before, beside it."""
    changed = only_changed(Trial, {name: now.get(name) for name in COPIED}, before)
    marked = []
    for one in fields:
        if one.name in changed:
            said = f"Changed. It was: {_in_words(one, before.get(one.name))}"
            one = replace(one, state=replace(one.state, said=f"{one.state.said} {said}".strip()))
        marked.append(one)
    at = [one.name for one in marked].index("next_shot_rule")
    return [
        *marked[:4],
        heading("What counts, and what is a fair hit"),
        *marked[4:at],
        heading("Which shot is next, and when to stop"),
        *marked[at:],
    ]


def _in_words(one: FormField, was: Any) -> str:
    named = {option.value: option.words for option in one.options}
    said = was if isinstance(was, list) else [str(was or "").strip()]
    return ", ".join(named.get(value, value) for value in said) or "not recorded"


def _strangers(found: FollowUp, ticked: Ticked) -> Problems:
    """Ticks that this form did not offer."""
    problems = {}
    if set(ticked["kit"]) - {one.value for one in found.kit if not one.gone}:
        problems["kit"] = [Problem("kit", "One of these is not kit of the trial before, or has been retired since. Tick from those here.")]
    if set(ticked["setups"]) - {one.setup.id for one in found.setups if not one.gone}:
        problems["setups"] = [
            Problem("setups", "One of these is no set-up of the trial before, or its panel has been retired since. Tick from those here.")
        ]
    return problems


def _keep(asked: Asked, operations: FormOperations, found: FollowUp, ticked: Ticked, *, trial: Block, day: Block, bodies: Bodies) -> None:
    """The trial, what it is to use, and with a day its first session and set-ups."""
    made = trial.keep(asked, operations, bodies[trial.key])
    for one in found.kit:
        if one.value in ticked["kit"]:
            noun, _, record_id = one.value.partition(":")
            operations.new("trial_uses", {"trial": made, "noun": noun, "record": record_id}, of="kit")
    if str(bodies[day.key].get("day") or "").strip():
        session_id = day.keep(asked, operations, bodies[day.key], trial=made)
        for setup in found.setups:
            if setup.setup.id in ticked["setups"]:
                operations.new("setup", {**shown_body(setup.setup), "session": session_id, "panel_build": setup.build_id}, of="setups")
