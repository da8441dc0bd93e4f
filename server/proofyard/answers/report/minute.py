"""A report in one minute: what to read aloud before anybody opens it. Every figure in it stands in the report as well."""

from collections.abc import Sequence

from proofyard.caveats.caveat import Caveat
from proofyard.quantities.reason import Reason, because
from proofyard.records.trial import Trial
from proofyard.shots.loosed import LoosedShot

MOST_TO_CHECK = 3


def minute_of(
    trial: Trial,
    shots: Sequence[LoosedShot],
    *,
    answer: Reason,
    found: Sequence[tuple[str, Reason]],
    to_check: Sequence[Caveat],
    said_before: bool,
) -> tuple[Reason, ...]:
    """Sentence by sentence. shots: those that stand; found: panel type -> what its results are headed by."""
    loosed = [shot.fact for shot in shots if shot.fact.purpose != "let_down"]
    asked = because(
        "minute_asked",
        question=trial.question,
        days=tuple(dict.fromkeys(fact.day for fact in loosed)),
        archers=tuple(dict.fromkeys(fact.archer for fact in loosed)),
        shots=len(loosed),
        panels=len({fact.panel_id for fact in loosed}),
        bows=len({fact.bow_id for fact in loosed}),
    )
    results = tuple(because("minute_found", on=on if len(found) > 1 else "", title=title) for on, title in found[:2])
    check = tuple(one.title for one in to_check[:MOST_TO_CHECK])
    return (
        asked,
        because("minute_answer", answer=answer),
        *results,
        because("minute_check", said_before=said_before, titles=check, more=max(0, len(to_check) - MOST_TO_CHECK)),
        because("minute_ends"),
    )
