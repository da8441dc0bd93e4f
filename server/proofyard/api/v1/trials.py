"""Trials: the list, filtered as on the page, and one."""

from typing import Any

from fastapi import Request, Response
from pydantic import Field

from proofyard.access.seats import ScopedViewerSeat, TheBook, ViewerSeat
from proofyard.answers.trial.listed import FILTERS, read_trials
from proofyard.answers.trial.page import read_trial
from proofyard.api.v1.asked import must_be_usable, part_of, query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.shapes import ReasonTold, list_of, shape_of
from proofyard.api.v1.told import answered, reason, record
from proofyard.exchange.columns_of_records import record_columns
from proofyard.records.trial import Trial

router = routes("trials")

_COLUMNS = record_columns(Trial, "trial")
_COUNTS: dict[str, Any] = {
    "sessions": (int, Field(description="How many days it was shot on")),
    "shots": (int, Field(description="Shots loosed, all but let-downs")),
    "counted": (int, Field(description="Counted shots that hit the panel and were read")),
}
TrialLine = shape_of("Trial", "A question that shots are to answer.", [column for column, _ in _COLUMNS], **_COUNTS)
Trials = list_of("Trials", "trials", TrialLine, "The trials that were asked for, newest first")
OneTrial = shape_of(
    "TrialWithFindings",
    "One trial with what its shots say.",
    [column for column, _ in _COLUMNS],
    lead=(ReasonTold, Field(description="What its shots say so far, in counts")),
    left_out=(ReasonTold | None, Field(description="What is in no count")),
    through_means=(str, Field(description="What “through” means in this trial")),
    session_ids=(list[str], Field(description="Its days, oldest first")),
    followed_by_ids=(list[str], Field(description="The trials that follow it")),
)


@router.get("/trials", **told(Trials, filters=FILTERS))
def trials(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """The trials, newest first

    Each with how many days it was shot on and how many shots it has.
    """

    def make() -> dict[str, Any]:
        query = query_of(request, known=FILTERS)
        with book.read() as session:
            found = read_trials(session, query, only_trial=seat.trial_id)
        must_be_usable(found.asked)
        part = part_of(request, found.lines, lambda line: (line[1].trial.id,), newest_first=True)
        rows = [
            record(_COLUMNS, line.trial) | {"sessions": line.sessions, "shots": line.loosed, "counted": line.counted}
            for _, line in part.items
        ]
        return {"trials": rows, "count": part.count, "next": part.next}

    return answered(request, seat, book, make)


@router.get("/trials/{trial_id}", **told(OneTrial, one=True))
def trial(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    """One trial

    With what its shots say so far, the days it was shot on, and the trials that follow it.
    """

    def make() -> dict[str, Any] | None:
        query_of(request, known=(), paged=False)
        with book.read() as session:
            found = read_trial(session, trial_id, reader="metric", only_trial=seat.trial_id)
        if found is None:
            return None
        return record(_COLUMNS, found.trial) | {
            "lead": reason(found.lead),
            "left_out": reason(found.left_out),
            "through_means": found.through,
            "session_ids": [one.session_id for one in found.sessions],
            "followed_by_ids": [one.id for one in found.followers],
        }

    return answered(request, seat, book, make)
