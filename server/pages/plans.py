"""A trial's plan: how many shots, what each archer expects, a balanced random order with spots to aim at, what is done."""

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, Seat, TheBook, ViewerSeat
from server.findings.planning.aim_spots import aim_spots
from server.findings.planning.making import MOST_SHOTS, Asked, make_plan
from server.findings.planning.page import PlanPageRead, panel_state, read_plan_page
from server.findings.planning.shots_asked import FIELDS, ShotsAsked, settled_by_arrows, shots_asked
from server.findings.range_kit import soundness
from server.pages.figures import reader_of
from server.pages.forms import FormField, FormOperations, body_of, form_fields, operation_id, wrongs
from server.pages.found import found
from server.pages.posted import Posted, base_rev
from server.pages.rendering import frame_for, html
from server.pages.shapes import FieldState, Option, Wrong
from server.records.ids import new_id
from server.records.plan import Plan, PlannedShot, Prediction
from server.records.trial import CAUTIONS, Trial
from server.records.typed_values import Problem, take
from server.storage import Storage

router = APIRouter()

PLAN_FIELDS = ("panel_build", "mixed", "rounds", "bow_build", "group", "note", "seed")
PREDICTION_FIELDS = ("archer", "says", "share", "half_energy")
NO_SUCH = "The book has no such trial."


@dataclass(frozen=True)
class PlanPage:
    """The plan, and its small forms: asking how many, saying what you expect, making the order.

    open_form    which of the small forms stands open: the one that was sent back
    """

    read: PlanPageRead
    asked: ShotsAsked
    arrows_settle: Sequence[str]
    ask_fields: Sequence[FormField]
    may_write: bool
    cautions: Sequence[str]
    plan_fields: Sequence[FormField]
    prediction_fields: Sequence[FormField]
    errors: Sequence[Wrong]
    operation: str
    prediction_operation: str
    skip_operation: str
    open_form: str


@dataclass(frozen=True)
class _Sent:
    """A form that was sent back: what was typed, and what is wrong."""

    form: str = ""
    typed: Mapping[str, Any] | None = None
    problems: Sequence[Problem] = ()


@router.get("/trials/{trial_id}/plan", response_class=HTMLResponse)
def plan(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    """The newest plan, or `?plan=` an older one; `?share=` and its like ask how many shots an answer takes."""
    return _page(request, seat, book, trial_id, sent=_Sent())


def _page(request: Request, seat: Seat, book: Storage, trial_id: str, *, sent: _Sent) -> Response:
    query = dict(request.query_params)
    with book.read() as session:
        read = read_plan_page(session, trial_id, plan_id=query.get("plan", ""), reader=reader_of(frame_for(request, title="")))
    if read is None:
        raise HTTPException(404, NO_SUCH)
    asked = shots_asked(query)
    plan_fields = _plan_fields(read, sent if sent.form == "plan" else _Sent())
    said = sent if sent.form == "prediction" else _Sent()
    prediction_fields = form_fields(
        Prediction, PREDICTION_FIELDS, typed=said.typed, problems=said.problems, options={"archer": list(read.archers)}, prefix="said-"
    )
    ask_fields = [_ask(name, label, asked) for name, label in FIELDS.items()]
    errors = wrongs([*prediction_fields, *plan_fields], sent.problems, label="This plan", at="plan-new") + wrongs(ask_fields)
    page = PlanPage(
        read=read, asked=asked, arrows_settle=settled_by_arrows(read.arrows), ask_fields=ask_fields, may_write=seat.at_least("archer"), cautions=tuple(CAUTIONS.values()), plan_fields=plan_fields,
        prediction_fields=prediction_fields, errors=errors, operation=new_id(), prediction_operation=new_id(), skip_operation=new_id(),
        open_form=sent.form or ("ask" if any(query.get(name) for name in FIELDS) else ""),
    )  # fmt: skip
    frame = frame_for(request, title=f"Plan: {read.trial.question}", nav="trials", wrong=bool(errors))
    return html("plan/page.html", page, frame=frame, status=422 if errors else 200)


def _ask(name: str, label: str, asked: ShotsAsked) -> FormField:
    percent = name != "shots"
    return FormField(
        name, label, "number", FieldState(typed=asked.typed[name], error=asked.problems.get(name, "")), unit="%" if percent else "",
        unit_words="in percent" if percent else "",
    )  # fmt: skip


def _plan_fields(read: PlanPageRead, sent: _Sent) -> list[FormField]:
    """The plan's own fields, and who and what goes into the order."""
    typed = dict(sent.typed or {"mixed": "heads_archers", "rounds": "3", "seed": str(secrets.randbelow(900_000) + 100_000), "spots": "yes"})
    options = {"panel_build": list(read.panels), "bow_build": list(read.bows)}
    fields = form_fields(Plan, PLAN_FIELDS, typed=typed, problems=sent.problems, options=options, prefix="plan-")
    people = tuple(Option(key, name) for key, name in read.archers)
    sound = tuple(
        Option(one.build, f"{one.tag}, {one.head or one.form or 'head not said'}", f"head-{one.form or 'other'}", disabled=soundness(one) != "sound",
               unseen="" if soundness(one) == "sound" else ", to check first")
        for one in read.arrows
    )  # fmt: skip
    more = [
        FormField("plan-archers", "Who looses", "several", _state("archers", typed, sent), "Nobody ticked: the order names nobody.", options=people),
        FormField("plan-arrows", "Arrows", "several", _state("arrows", typed, sent), "Only sound ones. Those of one form take turns.", options=sound),
        FormField("plan-spots", "Spots to aim at, so that hits stay fair", "tick", _state("spots", typed, sent), "Drawn on the panel: its width and height must be in the book."),
    ]
    return [*fields[:2], *more[:2], *fields[2:4], more[2], *fields[4:]]


def _state(name: str, typed: Mapping[str, Any], sent: _Sent) -> FieldState:
    return FieldState(typed=typed.get(name, ""), error=" ".join(p.sentence for p in sent.problems if p.field == name))


@router.post("/trials/{trial_id}/plan", response_class=HTMLResponse)
def make(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """The order is made here and kept shot by shot, with its seed."""
    trial = found(book, Trial, trial_id)
    body = {**body_of(form, Plan, PLAN_FIELDS, prefix="plan-")}
    picked = {name: [str(one) for one in form.getlist(f"plan-{name}")] for name in ("archers", "arrows")}
    typed = {**body, **picked, "spots": "yes" if form.get("plan-spots") else ""}
    taken = take(Plan, {**dict.fromkeys(PLAN_FIELDS, ""), **body})
    problems = list(taken.problems)
    if not problems and not 1 <= taken.values["rounds"] <= MOST_SHOTS:
        problems = [Problem("rounds", f"“{body['rounds']}” is no number of shots for each: give 1 to {MOST_SHOTS}.")]
    if not problems:
        made, problems = _made(book, trial, taken.values, picked=picked, on_spots=bool(typed["spots"]))
    if problems:
        return _page(request, seat, book, trial_id, sent=_Sent("plan", typed, problems))
    operations = FormOperations(seat, operation_id(form))
    plan_id = operations.new("plan", {**body, "trial": trial_id})
    for shot in made:
        operations.new("planned_shot", {**shot, "plan": plan_id})
    if refused := operations.try_to_save(book):
        return _page(request, seat, book, trial_id, sent=_Sent("plan", typed, refused))
    return RedirectResponse(f"/trials/{trial_id}/plan", 303)


def _made(
    book: Storage, trial: Trial, values: Mapping[str, Any], *, picked: Mapping[str, list[str]], on_spots: bool
) -> tuple[Sequence[dict[str, Any]], list[Problem]]:
    with book.read() as session:
        read = read_plan_page(session, trial.id)
        state = panel_state(session, trial, build_id=values["panel_build_id"])
    if read is None or state is None:
        return (), [Problem("panel_build", "Pick the panel that you will shoot at.")]
    sound = tuple(one for one in read.arrows if one.build in picked["arrows"] and soundness(one) == "sound")
    people = tuple(pair for pair in read.archers if pair[0] in picked["archers"])
    spots = aim_spots(state.panel, state.rules, facts=state.facts, group_m=values.get("group_m") or 0.0)
    asked = Asked(values["mixed"], values["rounds"], people, sound, values.get("bow_build_id"), on_spots, values["seed"])
    made = make_plan(asked, spots)
    return made.shots, list(made.problems)


@router.post("/trials/{trial_id}/predictions", response_class=HTMLResponse)
def predict(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """What an archer expects; said again by the same archer, it is corrected, and the notebook keeps what it said."""
    found(book, Trial, trial_id)
    body = body_of(form, Prediction, PREDICTION_FIELDS, prefix="said-")
    with book.read() as session:
        read = read_plan_page(session, trial_id)
    before = next((one.prediction for one in read.facts if one.prediction.archer_id == body.get("archer")), None) if read else None
    operations = FormOperations(seat, operation_id(form))
    if before is None:
        operations.new("prediction", {**body, "trial": trial_id})
    else:
        operations.put("prediction", before.id, body, base_rev=before.rev)
    if refused := operations.try_to_save(book):
        return _page(request, seat, book, trial_id, sent=_Sent("prediction", body, refused))
    return RedirectResponse(f"/trials/{trial_id}/plan#plan-said", 303)


@router.post("/trials/{trial_id}/plan/skip", response_class=HTMLResponse)
def skip(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """Leave a planned shot out, or take it in again."""
    planned = found(book, PlannedShot, str(form.get("planned", "")))
    operations = FormOperations(seat, operation_id(form))
    skipped = "yes" if form.get("skip") == "yes" else "no"
    operations.put("planned_shot", planned.id, {"skipped": skipped}, base_rev=base_rev(form))
    if refused := operations.try_to_save(book):
        return _page(request, seat, book, trial_id, sent=_Sent("skip", {}, [replace(one, field="") for one in refused]))
    return RedirectResponse(f"/trials/{trial_id}/plan#plan-order", 303)
