"""A trial's plan: how many shots, what each archer expects, a balanced random order with spots to aim at, what is done."""

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import ArcherSeat, TheBook, ViewerSeat
from proofyard.answers.claims.page import claim_needs
from proofyard.answers.claims.words import claim_words
from proofyard.answers.planning.aim_spots import aim_spots
from proofyard.answers.planning.making import MOST_SHOTS, make_plan
from proofyard.answers.planning.making import Asked as ShotsWanted
from proofyard.answers.planning.page import PlanPageRead, panel_state, read_plan_page
from proofyard.answers.planning.shots_asked import ShotsAsked, settled_by_arrows, shots_asked
from proofyard.pages.frame.form_page import Asked, Block, Bodies, Form, FormPage, Sent, form_page, tried
from proofyard.pages.frame.forms import (
    FieldState,
    FormField,
    FormOperations,
    Option,
    Posted,
    Problems,
    Wrong,
    base_rev,
    controls_of,
    query_of,
    wrongs,
)
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.quantities.reason import Reason, because
from proofyard.records.ids import new_id
from proofyard.records.kit_to_pick import MOST_OFFERED
from proofyard.records.plan import Plan, PlannedShot, Prediction
from proofyard.records.trial import CAUTIONS, NEXT_SHOT_RULES
from proofyard.records.typed_values import Problem, take
from proofyard.shots.soundness import soundness
from proofyard.views.address import last
from proofyard.wording.reasons.said import said

router = APIRouter()

PLAN_FIELDS = ("panel_build", "mixed", "rounds", "bow_build", "group", "note", "seed")
PREDICTION_FIELDS = ("archer", "says", "share", "fifty_percent_energy")
NO_SUCH = "The book has no such trial."
SOUND_ALONE = "Only sound arrows. Arrows with the same form of head take turns."


@dataclass(frozen=True)
class PlanPage:
    """The plan, and its small forms: asking how many, saying what you expect, making the order.

    rule         what chooses the next shot instead of an order, in the words of its choice; "" where nothing does
    open_form    which of the small forms stands open: the one that was sent back
    """

    read: PlanPageRead
    claim: Reason | None
    claim_needs: Reason | None
    asked: ShotsAsked
    arrows_settle: Sequence[Reason]
    ask_fields: Sequence[FormField]
    may_write: bool
    cautions: Sequence[str]
    order: FormPage
    prediction: FormPage
    errors: Sequence[Wrong]
    skip_operation: str
    open_form: str
    rule: str = ""


@router.get("/trials/{trial_id}/plan", response_class=HTMLResponse)
def plan(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    """The newest plan, or `?plan=` an older one; `?share=` and its like ask how many shots an answer takes."""
    return _page(Asked(request, seat, book), trial_id)


def _read(asked: Asked, trial_id: str, *, plan_id: str = "") -> PlanPageRead:
    with asked.book.read() as session:
        read = read_plan_page(session, trial_id, plan_id=plan_id, reader=asked.reader)
    if read is None:
        raise HTTPException(404, NO_SUCH)
    return read


def _page(asked: Asked, trial_id: str, form: str = "", sent: Sent | None = None) -> Response:
    """`form`: which of the small forms was sent back, and `sent` what was in it."""
    query = query_of(asked.request)
    read, shots = _read(asked, trial_id, plan_id=last(query, "plan")), shots_asked(query)
    order = form_page(asked, _order(asked, read), sent if form == "plan" else None)
    prediction = form_page(asked, _prediction(asked, read), sent if form == "prediction" else None)
    ask_fields = list(controls_of(shots).values())
    skipped = sent.problems.get("skip", ()) if sent else ()
    loose = [Wrong("plan-new", "This plan", one.sentence) for one in skipped]
    errors = [*prediction.errors, *order.errors, *loose, *wrongs(ask_fields)]
    page = PlanPage(
        read=read,
        claim=claim_words(read.claim) if read.claim else None,
        claim_needs=claim_needs(read.claim) if read.claim else None,
        asked=shots,
        arrows_settle=(*settled_by_arrows(read.arrows), *([read.of_many] if read.of_many else [])),
        ask_fields=ask_fields,
        may_write=asked.seat.at_least("archer"),
        cautions=tuple(CAUTIONS.values()),
        order=order,
        prediction=prediction,
        errors=errors,
        skip_operation=new_id(),
        open_form=form or ("ask" if any(shots.typed.values()) else ""),
        rule=NEXT_SHOT_RULES[read.trial.next_shot_rule] if read.trial.next_shot_rule not in (None, "none") else "",
    )
    frame = frame_for(asked.request, title=f"Plan: {read.trial.question}", nav="trials", wrong=len(errors))
    return html("planning/page.html", page, frame=frame, status=422 if errors else 200)


def _order(asked: Asked, read: PlanPageRead) -> Form:
    """The plan's own fields, and who and what goes into the order, which is made here and kept shot by shot, with its seed."""
    block = Block(
        table=Plan,
        names=PLAN_FIELDS,
        typed={"mixed": "heads_archers", "rounds": "3", "seed": str(secrets.randbelow(900_000) + 100_000)},
        fixed={"trial": read.trial.id},
        options={"panel_build": list(read.panels), "bow_build": list(read.bows)},
        hints={"panel_build": said(because("panels_of_many", most=MOST_OFFERED))} if read.more_panels else {},
        prefix="plan-",
    )
    picked = {name: [str(one) for one in asked.form.getlist(f"plan-{name}")] for name in ("archers", "arrows")}
    made: list[Mapping[str, object]] = []

    def check(bodies: Bodies) -> Problems:
        shots, problems = _made(asked, read, bodies[block.key], picked)
        made[:] = shots
        return {block.key: problems} if problems else {}

    def keep(operations: FormOperations, bodies: Bodies) -> None:
        plan_id = block.keep(asked, operations, bodies[block.key])
        for shot in made:
            operations.new("planned_shot", {**shot, "plan": plan_id}, of=block.key)

    def arrange(fields: list[FormField], sent: Sent) -> list[FormField]:
        ticks = {**picked, "spots": str(asked.form.get("plan-spots", "")) if sent.bodies else "yes"}
        people, arrows, spots = _picks(read, ticks, sent.problems.get(block.key, ()))
        return [*fields[:2], people, arrows, *fields[2:4], spots, *fields[4:]]

    return Form(blocks=[block], label="This plan", at="plan-new", check=check, keep=keep, arrange=arrange)


def _picks(read: PlanPageRead, ticks: Mapping[str, Any], problems: Sequence[Problem]) -> list[FormField]:
    people = tuple(Option(key, name) for key, name in read.archers)
    sound = tuple(
        Option(
            one.build,
            f"{one.tag}, {one.head or one.form or 'head not recorded'}",
            f"head-{one.form or 'other'}",
            disabled=soundness(one) != "sound",
            unseen="" if soundness(one) == "sound" else ", to check first",
        )
        for one in read.arrows
    )
    drawn = "Drawn on the panel: its width and height must be recorded."
    controls = [
        ("archers", "Archers", "several", "If none is ticked, the order names no archer.", people),
        ("arrows", "Arrows", "several", f"{SOUND_ALONE} {said(read.of_many) if read.of_many else ''}".strip(), sound),
        ("spots", "Spots to aim at, so that hits stay fair", "tick", drawn, ()),
    ]
    wrong = {name: " ".join(one.sentence for one in problems if one.field == name) for name in ticks}
    return [
        FormField(f"plan-{name}", label, control, FieldState(ticks[name], error=wrong[name]), hint, options=options)
        for name, label, control, hint, options in controls
    ]


def _made(
    asked: Asked, read: PlanPageRead, body: Mapping[str, Any], picked: Mapping[str, list[str]]
) -> tuple[Sequence[Mapping[str, object]], list[Problem]]:
    """The shots of the order, or what is wrong with what was asked for."""
    taken = take(Plan, {**dict.fromkeys(PLAN_FIELDS, ""), **body})
    values = taken.values
    if taken.problems:
        return (), list(taken.problems)
    if not 1 <= values["rounds"] <= MOST_SHOTS:
        return (), [Problem("rounds", f"“{body['rounds']}” is not a number of shots: enter 1 to {MOST_SHOTS}.")]
    with asked.book.read() as session:
        state = panel_state(session, read.trial, build_id=values["panel_build_id"])
    if state is None:
        return (), [Problem("panel_build", "Choose the panel that you will shoot at.")]
    sound = tuple(one for one in read.arrows if one.build in picked["arrows"] and soundness(one) == "sound")
    people = tuple(pair for pair in read.archers if pair[0] in picked["archers"])
    spots = aim_spots(state.panel, state.rules, facts=state.facts, group_m=values.get("group_m") or 0.0)
    on_spots = bool(asked.form.get("plan-spots"))
    wanted = ShotsWanted(values["mixed"], values["rounds"], people, sound, values.get("bow_build_id"), on_spots, values["seed"])
    made = make_plan(wanted, spots)
    return made.shots, list(made.problems)


def _prediction(asked: Asked, read: PlanPageRead) -> Form:
    """What an archer expects; said again by the same archer, it is corrected, and the notebook keeps what it said."""
    fixed = {"trial": read.trial.id}
    block = Block(table=Prediction, names=PREDICTION_FIELDS, fixed=fixed, options={"archer": list(read.archers)}, prefix="said-")

    def keep(operations: FormOperations, bodies: Bodies) -> None:
        body = bodies[block.key]
        before = next((one for one in read.predictions if one.archer_id == body.get("archer")), None)
        if before is None:
            block.keep(asked, operations, body)
        else:
            operations.put("prediction", before.prediction_id, body, base_rev=before.rev, of=block.key)

    return Form(blocks=[block], label="This plan", at="plan-new", keep=keep)


@router.post("/trials/{trial_id}/plan", response_class=HTMLResponse)
def make(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    return _take(Asked(request, seat, book, form), trial_id, "plan", _order, after="")


@router.post("/trials/{trial_id}/predictions", response_class=HTMLResponse)
def predict(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    return _take(Asked(request, seat, book, form), trial_id, "prediction", _prediction, after="#plan-said")


def _take(asked: Asked, trial_id: str, name: str, describe: Callable[[Asked, PlanPageRead], Form], *, after: str) -> Response:
    sent = tried(asked, describe(asked, _read(asked, trial_id)))
    return _page(asked, trial_id, name, sent) if sent.problems else RedirectResponse(f"/trials/{trial_id}/plan{after}", 303)


@router.post("/trials/{trial_id}/plan/skip", response_class=HTMLResponse)
def skip(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """Leave a planned shot out, or take it in again."""
    asked = Asked(request, seat, book, form)
    planned, operations = asked.found(PlannedShot, str(form.get("planned", ""))), asked.operations()
    skipped = "yes" if form.get("skip") == "yes" else "no"
    operations.put("planned_shot", planned.id, {"skipped": skipped}, base_rev=base_rev(form), of="skip")
    if problems := operations.refused_by(book):
        return _page(asked, trial_id, "skip", Sent({}, problems))
    return RedirectResponse(f"/trials/{trial_id}/plan#plan-order", 303)
