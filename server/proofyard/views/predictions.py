"""What was said before the first shot, and whether it was before it."""

from dataclasses import dataclass

from proofyard.quantities import unit_for_reader, written
from proofyard.quantities.reason import Reason, because
from proofyard.records.plan_facts import PredictionFact, predictions_of
from proofyard.storage import Session


@dataclass(frozen=True)
class SaidBefore:
    """One archer's prediction; `when` says after how many shots, if not before the first."""

    prediction_id: str
    rev: int
    archer_id: str
    archer: str
    says: str
    figures: str
    when: Reason
    late: bool
    share: float | None = None
    fifty_percent_j: float | None = None


def said_before(session: Session, trial_id: str, *, reader: str) -> tuple[SaidBefore, ...]:
    """What each archer expects of a trial, as every page that asks says it. One statement."""
    return tuple(_said(fact, reader) for fact in predictions_of(session, trial_id))


def said_at(before: int, unclear: int) -> Reason:
    """Whether something was said before the first shot, by when the shots were loosed."""
    return because("said_before_shots", before=before, unclear=unclear)


def _said(fact: PredictionFact, reader: str) -> SaidBefore:
    said, changed = fact.prediction, fact.prediction.rev > 1
    figures = []
    if said.share_ratio is not None:
        figures.append(f"{written(said.share_ratio, '%')} get through")
    if said.fifty_percent_energy_j is not None:
        figures.append(f"50\N{NO-BREAK SPACE}% energy {written(said.fifty_percent_energy_j, unit_for_reader('energy', reader))}")
    before, unclear = (fact.shots_before_change, fact.unclear_change) if changed else (fact.shots_before, fact.unclear)
    when = because(
        "prediction_said",
        changed=changed,
        at_ms=fact.changed_at if changed else fact.said_at,
        before_it=said_at(before, unclear),
        kept_first=changed and fact.shots_before < before,
    )
    numbers = said.share_ratio, said.fifty_percent_energy_j
    return SaidBefore(said.id, said.rev, said.archer_id, fact.archer, said.says, "; ".join(figures), when, before + unclear > 0, *numbers)
