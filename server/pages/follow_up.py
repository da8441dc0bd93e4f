"""A trial that follows another: a form with everything taken over, to be changed before it is saved."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.datastructures import FormData

from server.access.seats import ArcherSeat, TheBook
from server.findings.trial_rules import BorrowedLine, RuleLine, borrowed_lines, default_lines
from server.findings.trials_compared.follow_up import COPIED, FollowUp, read_follow_up
from server.findings.when import day_words
from server.pages.corrections import with_blank
from server.pages.figures import reader_of
from server.pages.form_page import FormPage, form_answer
from server.pages.forms import (
    FormField,
    FormOperations,
    NotTaken,
    body_of,
    form_fields,
    heading,
    operation_id,
    shown_body,
    wrongs,
)
from server.pages.posted import Posted
from server.pages.rendering import frame_for
from server.pages.shapes import FieldState, Option, Wrong
from server.records.ids import new_id
from server.records.trial import Session as Day
from server.records.trial import Trial
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

FIELDS = (*COPIED[:3], "prediction", *COPIED[3:])
DAY_FIELDS = ("day", "place", "officer", "present")


@dataclass(frozen=True, kw_only=True)
class FollowForm(FormPage):
    """The trial's fields, then the kit and the first day, as ticks and boxes."""

    before: Trial
    kit: Sequence[Option]
    kit_state: FieldState
    kit_ticked: Sequence[str]
    setups: Sequence[Option]
    setups_state: FieldState
    setups_ticked: Sequence[str]
    day_fields: Sequence[FormField]
    last_day: str
    defaults: Sequence[RuleLine]
    borrowed: Sequence[BorrowedLine]


@dataclass(frozen=True)
class Sent:
    """What was posted, or what the form begins with."""

    trial: Mapping[str, Any]
    day: Mapping[str, Any]
    kit: tuple[str, ...]
    setups: tuple[str, ...]


def _begun(found: FollowUp) -> Sent:
    """Everything as it was, but for what must be said anew: what is expected, and the day."""
    last = shown_body(found.last_day) if found.last_day else {}
    return Sent(
        {name: value for name, value in shown_body(found.trial).items() if name in COPIED},
        {name: last.get(name, "") for name in DAY_FIELDS if name != "day"},
        tuple(one.value for one in found.kit if not one.gone),
        tuple(one.setup.id for one in found.setups if not one.gone),
    )


def _sent(form: FormData) -> Sent:
    return Sent(
        body_of(form, Trial, FIELDS),
        body_of(form, Day, DAY_FIELDS, prefix="day-"),
        tuple(str(value) for value in form.getlist("kit")),
        tuple(str(value) for value in form.getlist("setups")),
    )


def _read(request: Request, book: Storage, trial_id: str) -> FollowUp:
    with book.read() as session:
        found = read_follow_up(session, trial_id, reader=reader_of(frame_for(request, title="")))
    if found is None:
        raise HTTPException(404, "The book has no such trial.")
    return found


def _form(request: Request, found: FollowUp, sent: Sent, *, operation: str, problems: Mapping[str, Sequence[Problem]]) -> Response:
    trial_problems, day_problems = problems.get("trial", ()), problems.get("day", ())
    fields = _marked(with_blank(form_fields(Trial, FIELDS, typed=sent.trial, problems=trial_problems)), found, sent)
    day_fields = form_fields(Day, DAY_FIELDS, typed=sent.day, problems=day_problems, prefix="day-")
    # Without a day there is no session at all: the box may stay empty.
    day_fields = [replace(one, required=False, label="First day" if one.name == "day-day" else one.label) for one in day_fields]
    states = {name: FieldState(error=" ".join(one.sentence for one in problems.get(name, ()))) for name in ("kit", "setups")}
    errors = wrongs([*fields, *day_fields], [*trial_problems, *day_problems], label="This trial", at="question")
    errors += [Wrong(name, label, states[name].error) for name, label in (("kit", "Kit"), ("setups", "Set-ups")) if states[name].error]
    last = found.last_day
    page = FollowForm(
        heading="A trial that follows", lead="Everything stands as it was. Change what is to be another: what you change is marked, here and on both trials’ pages.",
        action=f"/trials/{found.trial.id}/follow", operation=operation, fields=fields, errors=errors, save="Write it down",
        back=f"/trials/{found.trial.id}", classes="form layout__words", before=found.trial,
        kit=[Option(one.value, one.words, disabled=one.gone) for one in found.kit], kit_state=states["kit"], kit_ticked=sent.kit,
        setups=[Option(one.setup.id, one.words + (f" ({one.changed})" if one.changed else ""), need=bool(one.changed), disabled=one.gone) for one in found.setups],
        setups_state=states["setups"], setups_ticked=sent.setups, day_fields=day_fields, last_day=day_words(last.day) if last else "",
        defaults=default_lines(reader=reader_of(frame_for(request, title=""))), borrowed=borrowed_lines(),
    )  # fmt: skip
    return form_answer(request, page, nav="trials", title="A trial that follows", template="trials/follow.html")


def _marked(fields: Sequence[FormField], found: FollowUp, sent: Sent) -> list[FormField]:
    """With what each changed field said before, beside it."""
    before = {name: value for name, value in shown_body(found.trial).items() if name in COPIED}
    marked = []
    for one in fields:
        was, now = _plain(before.get(one.name)), _plain(sent.trial.get(one.name))
        if one.name in COPIED and was != now:
            said = f"Changed. It was: {_in_words(one, was)}"
            one = replace(one, state=replace(one.state, said=f"{one.state.said} {said}".strip()))
        if one.name == "prediction" and found.trial.prediction:
            one = replace(one, hint="Not taken over: say it anew, before the first shot.")
        marked.append(one)
    at = [one.name for one in marked].index("next_shot_rule")
    return [*marked[:4], heading("What counts, and what is a fair hit"), *marked[4:at], heading("Which shot is next, and when to stop"), *marked[at:]]


def _plain(value: Any) -> str:
    if isinstance(value, list | tuple):
        return "[" + ", ".join(f'"{one}"' for one in value) + "]" if value else ""
    return str(value or "").strip().replace("\r\n", "\n")


def _in_words(one: FormField, was: str) -> str:
    named = {option.value: option.words for option in one.options}
    if was.startswith("["):
        return ", ".join(named.get(value.strip(' "'), value) for value in was.strip("[]").split(","))
    return named.get(was, was) or "not said"


@router.get("/trials/{trial_id}/follow", response_class=HTMLResponse)
def follow(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str) -> Response:
    """The form, with everything of the trial before in it."""
    found = _read(request, book, trial_id)
    return _form(request, found, _begun(found), operation=new_id(), problems={})


@router.post("/trials/{trial_id}/follow", response_class=HTMLResponse)
def make_follow_up(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """The trial, what it is to use, and with a day its first session and set-ups: all of it or nothing."""
    found, sent = _read(request, book, trial_id), _sent(form)
    problems = _strangers(found, sent)
    operations = FormOperations(seat, operation_id(form))
    keys, made = _planned(operations, found, sent)
    if not problems:
        try:
            operations.save(book)
            return RedirectResponse(f"/trials/{made}", 303)
        except NotTaken as error:
            for key, some in zip(keys, operations.problems_of(error), strict=True):
                problems.setdefault(key, []).extend(some)
    return _form(request, found, sent, operation=operations.operation, problems=problems)


def _strangers(found: FollowUp, sent: Sent) -> dict[str, list[Problem]]:
    """Ticks that this form did not offer."""
    problems: dict[str, list[Problem]] = {}
    if set(sent.kit) - {one.value for one in found.kit if not one.gone}:
        problems["kit"] = [Problem("kit", "One of these is not kit of the trial before, or has been retired since. Tick from those here.")]
    if set(sent.setups) - {one.setup.id for one in found.setups if not one.gone}:
        problems["setups"] = [Problem("setups", "One of these is no set-up of the trial before, or its panel has been retired since. Tick from those here.")]
    return problems


def _planned(operations: FormOperations, found: FollowUp, sent: Sent) -> tuple[list[str], str]:
    """The operations in order, each with the part of the form that it came from; and the new trial's id."""
    keys = ["trial"]
    made = operations.new("trial", {**sent.trial, "follows": found.trial.id, "state": "planned"})
    for one in found.kit:
        if one.value in sent.kit:
            noun, _, record_id = one.value.partition(":")
            operations.new("trial_uses", {"trial": made, "noun": noun, "record": record_id})
            keys.append("kit")
    if str(sent.day.get("day") or "").strip():
        session_id = operations.new("session", {**sent.day, "trial": made})
        keys.append("day")
        for setup in found.setups:
            if setup.setup.id in sent.setups:
                operations.new("setup", {**shown_body(setup.setup), "session": session_id, "panel_build": setup.build_id})
                keys.append("setups")
    return keys, made
