"""Sessions: the days of trials, with how each panel was set up."""

from typing import Any

from fastapi import Request, Response
from pydantic import Field

from proofyard.access.seats import ScopedViewerSeat, TheBook, ViewerSeat
from proofyard.api.v1.asked import part_of, query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.shapes import list_of, shape_of
from proofyard.api.v1.told import answered, record
from proofyard.exchange.columns_of_records import record_columns
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup
from proofyard.records.trial_days import DayFact, SetupFact, days_of
from proofyard.views.address import Free, last

router = routes("sessions")

TRIAL = Free(name="trial", label="Id of the trial; without it, the days of all trials")
_DAY = record_columns(Day, "session", leave=("trial_id",))
_SETUP = record_columns(Setup, "setup", leave=("session_id", "panel_build_id", "stand_id", "chronograph_id"))
OneSetup = shape_of(
    "Setup",
    "A panel on a stand at a distance.",
    [column for column, _ in _SETUP],
    panel=(str, Field(description="The panel")),
    panel_id=(str, Field(description="Identifier of the panel")),
    panel_build_id=(str, Field(description="Identifier of the panel’s build")),
    stand=(str | None, Field(description="The stand that held it")),
    chronograph=(str | None, Field(description="The chronograph")),
)
OneSession = shape_of(
    "Session",
    "One day of a trial.",
    [column for column, _ in _DAY],
    trial_id=(str, Field(description="Identifier of the trial")),
    trial=(str, Field(description="The trial’s question")),
    cautions_ticked=(int, Field(description="How many of the day’s cautions are ticked")),
    setups=(list[OneSetup], Field(description="Its set-ups, in the order they were made")),  # type: ignore[valid-type]
)
Sessions = list_of("Sessions", "sessions", OneSession, "The days that were asked for, oldest record first")


@router.get("/sessions", **told(Sessions, filters=(TRIAL,)))
def sessions(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """The days of trials

    Each with its weather as it was typed and its set-ups.
    """

    def make() -> dict[str, Any]:
        asked = last(query_of(request, known=(TRIAL,)), TRIAL.name) or None
        with book.read() as session:
            found = days_of(session, trial_id=seat.trial_id or asked)
        if asked and seat.trial_id not in (None, asked):
            found = []
        part = part_of(request, found, lambda one: (one.day.id,))
        return {"sessions": [_session(one) for one in part.items], "count": part.count, "next": part.next}

    return answered(request, seat, book, make)


@router.get("/sessions/{session_id}", **told(OneSession, one=True))
def session(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    """One day of a trial

    With its weather as it was typed and its set-ups.
    """

    def make() -> dict[str, Any] | None:
        query_of(request, known=(), paged=False)
        with book.read() as reading:
            found = days_of(reading, session_id=session_id)
        return _session(found[0]) if found else None

    return answered(request, seat, book, make)


def _session(one: DayFact) -> dict[str, Any]:
    return record(_DAY, one.day) | {
        "trial_id": one.trial.id,
        "trial": one.trial.question,
        "cautions_ticked": one.ticked,
        "setups": [_setup(setup) for setup in one.setups],
    }


def _setup(one: SetupFact) -> dict[str, Any]:
    return record(_SETUP, one.setup) | {
        "panel": one.panel.name,
        "panel_id": one.panel.id,
        "panel_build_id": one.build.id,
        "stand": one.stand,
        "chronograph": one.chronograph,
    }
