"""The five steps from an empty book to the first shot: what is done of each, told from what the book holds."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import because
from proofyard.records.archer import Archer
from proofyard.records.arrow import ArrowBuild
from proofyard.records.bow import BowBuild
from proofyard.records.devices import devices
from proofyard.records.listing import all_of
from proofyard.records.panel import PanelBuild
from proofyard.records.trial import CAUTIONS
from proofyard.records.trial_days import DayFact, days_of, trial_lines
from proofyard.storage import Session
from proofyard.wording.counts import counted
from proofyard.wording.reasons.said import said

LOGGERS = ("archer",)  # the laptop is the owner's, and is no phone


@dataclass(frozen=True)
class Step:
    """One step. found: what is there of it, in words; href: where it is done, or looked at again; "" while an earlier one is missing."""

    key: str
    done: bool
    found: str = ""
    href: str = ""


@dataclass(frozen=True)
class FirstSteps:
    """In the order in which they are usually taken."""

    steps: tuple[Step, ...]

    @property
    def done(self) -> int:
        return sum(step.done for step in self.steps)

    @property
    def next(self) -> str:
        """The key of the first that is not done."""
        return next((step.key for step in self.steps if not step.done), "")


def read_first_steps(session: Session) -> FirstSteps:
    """Nine statements; asked only while no shot is in the book."""
    days = days_of(session)
    return FirstSteps((_kit(session), _trial(session), _phones(session), _day(session, days), _line(days)))


def _kit(session: Session) -> Step:
    """Done once there is one of each that a shot needs, in a first build."""
    tables = ((Archer, "archer"), (BowBuild, "bow"), (ArrowBuild, "arrow"), (PanelBuild, "panel"))
    counts = [(len(all_of(session, table)), noun) for table, noun in tables]
    found = ", ".join(counted(n, noun) for n, noun in counts if n)
    done = all(n for n, _ in counts)
    return Step("kit", done, found, "/kit" if done else "/kit/start")


def _trial(session: Session) -> Step:
    lines = trial_lines(session)
    if not lines:
        return Step("trial", False, href="/trials/new")
    return Step("trial", True, f"“{lines[0].trial.question}”", f"/trials/{lines[0].trial.id}")


def _phones(session: Session) -> Step:
    phones = sum(one.role in LOGGERS for one in devices(session))
    return Step("phones", bool(phones), counted(phones, "phone") if phones else "", "/phones")


def _ready(day: DayFact) -> bool:
    return day.trial.state == "open" and day.ticked >= len(CAUTIONS) and bool(day.setups)


def _day(session: Session, days: Sequence[DayFact]) -> Step:
    """Done once a day of an open trial has all its cautions ticked and a set-up; else the newest day says what it lacks."""
    ready = next((day for day in reversed(days) if _ready(day)), None)
    shown = ready or (days[-1] if days else None)
    if shown is None:
        newest = trial_lines(session)
        return Step("day", False, href=f"/trials/{newest[0].trial.id}/sessions/new" if newest else "")
    lacks = [] if shown.trial.state == "open" else [said(because("step_trial_not_open"))]
    lacks += [said(because("step_cautions", ticked=shown.ticked, of=len(CAUTIONS)))] if shown.ticked < len(CAUTIONS) else []
    lacks += [] if shown.setups else [said(because("step_no_setup"))]
    done = [counted(len(CAUTIONS), "caution") + " ticked", counted(len(shown.setups), "set-up")]
    return Step("day", ready is not None, ", ".join(done if ready else lacks), f"/sessions/{shown.day.id}")


def _line(days: Sequence[DayFact]) -> Step:
    return Step("line", False, href="/range" if any(map(_ready, days)) else "")
