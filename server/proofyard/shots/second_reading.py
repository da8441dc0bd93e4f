"""What a second person read of a hit, beside what the first had read."""

from dataclasses import dataclass

from proofyard.quantities.reason import because
from proofyard.records.caveat_facts import ReadAgain
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.depth_fits import READ_TO_M
from proofyard.wording.reasons.said import said


@dataclass(frozen=True)
class AgainTold:
    """What a second person read: by whom, its outcome level, what else they said, and where that differs from the first reading."""

    reading_id: str
    read_by: str
    low: int
    high: int
    words: str
    differs: str


def again_told(one: ReadAgain, fact: ShotFact, *, reader: str) -> AgainTold:
    """A second reading beside the first."""
    words = because("read_again", depth_m=one.depth_m, at_least=one.depth_bound == "at_least", entry=one.entry)
    apart = None if one.depth_m is None or fact.depth_m is None else abs(one.depth_m - fact.depth_m)
    differs = because(
        "read_again_differs",
        outcome=fact.outcome_low is not None and (fact.outcome_low, fact.outcome_high) != (one.outcome_low, one.outcome_high),
        entry=bool(one.entry and fact.entry and one.entry != fact.entry),
        apart_m=apart if apart is not None and apart >= READ_TO_M else None,
    )
    return AgainTold(one.reading_id, one.read_by, one.outcome_low, one.outcome_high, said(words, reader), said(differs, reader))
