"""Plans: the order in which a trial is to be shot, what of it is done, and what each archer predicted."""

from typing import Any

from fastapi import Request, Response
from pydantic import Field

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.answers.planning.page import PlanRow, PlanShown, read_plan_page
from proofyard.api.v1.asked import query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.shapes import ReasonTold, Shape, shape_of
from proofyard.api.v1.told import answered, number, reason, record
from proofyard.exchange.columns_of_records import record_columns
from proofyard.records.plan import Plan
from proofyard.views.address import Free, last
from proofyard.views.predictions import SaidBefore

router = routes("plans")

PLAN = Free(name="plan", label="Id of a plan; without it, the newest")
_PLAN = record_columns(Plan, "plan", leave=("trial_id",))


class PlannedTold(Shape):
    """One shot of the order."""

    planned_shot_id: str
    place: int = Field(description="Its place in the order, from 1")
    words: str
    small: str = Field(description="Head form, archer, bow and round, in words")
    state: str = Field(description="done, skipped, next or open")
    shot_id: str | None = Field(description="The shot that was it")
    shot_label: str | None
    trouble: list[ReasonTold] = Field(description="Why it can’t be shot as planned now")


class PredictionTold(Shape):
    """What one archer expects of the trial."""

    prediction_id: str
    archer_id: str
    archer: str
    says: str
    share_ratio: float | None = Field(description="The share that goes through, 0 to 1, if they have one in mind")
    fifty_percent_energy_j: float | None = Field(description="The 50 % energy in J, if they have one in mind")
    when: ReasonTold
    late: bool = Field(description="Said after the first shot")


PlanTold = shape_of(
    "Plan",
    "An order of shots for one panel build.",
    [column for column, _ in _PLAN],
    lead=(ReasonTold, Field(description="How many are done, and which is next")),
    shots=(list[PlannedTold], Field(description="In the order planned")),
)


class PlansTold(Shape):
    """A trial’s plan and predictions."""

    trial_id: str
    plan: PlanTold | None = Field(description="The newest, or the one asked for; null without any")  # type: ignore[valid-type]
    older_plan_ids: list[str] = Field(description="The others; ask for one by plan")
    predictions: list[PredictionTold]


@router.get("/trials/{trial_id}/plan", **told(PlansTold, filters=(PLAN,), one=True))
def plan(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    """A trial’s plan

    The order of its shots with what is done, and what each archer said beforehand.
    """

    def make() -> dict[str, Any] | None:
        asked = last(query_of(request, known=(PLAN,), paged=False), PLAN.name)
        with book.read() as session:
            found = read_plan_page(session, trial_id, plan_id=asked)
        if found is None or (asked and (found.shown is None or found.shown.plan.plan.id != asked)):
            return None
        return {
            "trial_id": found.trial.id,
            "plan": _plan(found.shown) if found.shown else None,
            "older_plan_ids": [key for key, _ in found.older],
            "predictions": [_prediction(one) for one in found.predictions],
        }

    return answered(request, seat, book, make)


def _plan(shown: PlanShown) -> dict[str, Any]:
    return record(_PLAN, shown.plan.plan) | {"lead": reason(shown.lead), "shots": [_row(one) for one in shown.rows]}


def _row(row: PlanRow) -> dict[str, Any]:
    return {
        "planned_shot_id": row.planned_id,
        "place": int(row.place),
        "words": row.words,
        "small": row.small,
        "state": row.state,
        "shot_id": row.shot_id or None,
        "shot_label": row.label or None,
        "trouble": [reason(one) for one in row.trouble],
    }


def _prediction(one: SaidBefore) -> dict[str, Any]:
    return {
        "prediction_id": one.prediction_id,
        "archer_id": one.archer_id,
        "archer": one.archer,
        "says": one.says,
        "share_ratio": number(one.share),
        "fifty_percent_energy_j": number(one.fifty_percent_j),
        "when": reason(one.when),
        "late": one.late,
    }
